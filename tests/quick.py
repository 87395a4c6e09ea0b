"""Which tests `--quick` runs, and in which order, until its time is up.

First a smoke of each room: the first test of every folder, and the first that wants a browser, a
server or PostgreSQL started. Then the files of tests that are near what was changed, whole: those
that were changed themselves, that import what was, or that bear its name (`views/gate.js` and
`test_gate.py`). Then the other unit and published tests that need no such thing. What was changed
is what git has not got yet, or else its last commit.
"""

from __future__ import annotations

import ast
import functools
import os
import shutil
import subprocess
import time
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.support import ROOT

NEEDS = {"browser", "start_server", "postgres"}
LIGHT = {"unit", "published"}
LEFT_OUT = {"engines"}  # folders whose tests take too long, whatever was changed


def chosen(items: Iterable[pytest.Item]) -> tuple[list[pytest.Item], list[pytest.Item]]:
    """The tests to run, in their order, and the others."""
    changed = what_was_changed()
    ranked: dict[int, list[pytest.Item]] = {0: [], 1: [], 2: [], 3: []}
    smoked: set[str] = set()
    for item in sorted(items, key=lambda item: item.path.parent.name not in LIGHT):
        folder, needs = item.path.parent.name, needs_of(item)
        if folder in LEFT_OUT:
            rank = 3
        elif not {folder, *needs} <= smoked:
            smoked |= {folder, *needs}
            rank = 0
        elif any(is_near(item.path, path) for path in changed):
            rank = 1
        else:
            rank = 3 if needs or folder not in LIGHT else 2
        ranked[rank].append(item)
    return [item for rank in range(3) for item in ranked[rank]], ranked[3]


def is_over() -> bool:
    """Whether the time that tests/run.py gave is up."""
    return time.time() > float(os.environ.get("RINGSIDE_QUICK_UNTIL", "inf"))


def needs_of(item: pytest.Item) -> frozenset[str]:
    """What this test wants started."""
    names = NEEDS & set(getattr(item, "fixturenames", ()))
    call = getattr(item, "callspec", None)
    is_in_postgres = call is not None and "postgres" in call.params.values()
    return frozenset(names | {"postgres"} if is_in_postgres else names)


def what_was_changed() -> frozenset[Path]:
    """Files below the checkout; none where git does not tell."""
    if shutil.which("git") is None:
        return frozenset()
    # The checkout may belong to another user than the one who runs the tests.
    git = ("git", "-c", f"safe.directory={ROOT}")
    for words in (
        ("ls-files", "--modified", "--others", "--exclude-standard", "--", "."),
        ("diff", "--name-only", "--relative", "HEAD~1", "HEAD"),
    ):
        found = subprocess.run([*git, *words], cwd=ROOT, capture_output=True, text=True)
        if found.stdout.strip():
            return frozenset(Path(line) for line in found.stdout.splitlines())
    return frozenset()


@functools.cache
def is_near(test: Path, changed: Path) -> bool:
    module = ".".join(changed.with_suffix("").parts).removesuffix(".__init__")
    return (
        test == ROOT / changed
        or changed.stem.removeprefix("test_") in test.stem.split("_")
        or (changed.suffix == ".py" and module in imports_of(test))
    )


@functools.cache
def imports_of(test: Path) -> frozenset[str]:
    """The modules that a file imports, and what it imports from them, by their whole names."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(test.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
    return frozenset(found)
