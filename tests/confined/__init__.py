"""Laws that hold for whatever others may send, run where memory and time are short.

Each is a function that raises if it does not hold. A test runs it in a process of its own, which
the system ends if it takes more than it may: a file that costs everybody else is seen by that.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

MB = 1024 * 1024
# The same files each time, as many as fit into the time.
few = settings(
    max_examples=40,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


@cache
def forks() -> Any:
    """Processes that are forks of one that has read every law, and has run none."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.confined.test_confined"])
    return context


def confined(law: Callable[[], None], memory: int = 1024 * MB, seconds: int = 120) -> None:
    """Run a law of one of the modules beside with so many bytes and seconds of a processor."""
    if sys.platform == "win32":
        pytest.skip("Windows sets no such limits")
    with tempfile.TemporaryDirectory() as folder:
        said = Path(folder, "said")
        process = forks().Process(
            target=_obey, args=(law.__module__, law.__name__, memory, seconds, said)
        )
        process.start()
        process.join()
        told = said.read_text(encoding="utf-8", errors="replace") if said.exists() else ""
    assert process.exitcode == 0, f"{law.__name__} ended by {process.exitcode}\n{told[-3000:]}"


def _obey(module: str, law: str, memory: int, seconds: int, said: Path) -> None:
    import resource

    os.dup2(os.open(said, os.O_WRONLY | os.O_CREAT), 2)
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    getattr(sys.modules[module], law)()
