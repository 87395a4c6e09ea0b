"""Laws that hold for whatever others may send, run where memory and time are short.

Each is a function that raises if it does not hold. A test runs it in a process of its own, which
the system ends if it takes more than it may: a file that costs everybody else is seen by that.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings

from tests.support import ROOT

MB = 1024 * 1024
RUN = """
import importlib, resource, sys
module, law, memory, seconds = sys.argv[1:]
found = getattr(importlib.import_module(module), law)
resource.setrlimit(resource.RLIMIT_AS, (int(memory),) * 2)
resource.setrlimit(resource.RLIMIT_CPU, (int(seconds),) * 2)
found()
"""
# The same files each time, as many as fit into the time.
few = settings(
    max_examples=40,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def confined(law: Callable[[], None], memory: int = 1024 * MB, seconds: int = 120) -> None:
    """Run a law of one of the modules beside with so many bytes and seconds of a processor."""
    if sys.platform == "win32":
        pytest.skip("Windows sets no such limits")
    words = [law.__module__, law.__name__, memory, seconds]
    done = subprocess.run(
        [sys.executable, "-c", RUN, *map(str, words)], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, f"{law.__name__} ended by {done.returncode}\n{done.stderr[-3000:]}"
