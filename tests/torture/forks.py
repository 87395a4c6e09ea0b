"""What starts at once: forks of a process that has read the modules (tests/browser/forked.py) and
tells how each of them ended, which theirs does not."""

from __future__ import annotations

import atexit
import gc
import json
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from ringside.knowledge import load_whole
from tests.browser import warm
from tests.browser.forked import become, remember, visit
from tests.support import ROOT

READY = "-m", "tests.torture.forks"


def main() -> None:
    """Answer each line with the pid of the fork that runs what it asks for; or, where it asks of
    one that has ended, with that one's exit code."""
    remember()
    visit()
    load_whole()  # for `ringside check`
    gc.freeze()  # What is here stays: no fork goes through it again.
    while line := sys.stdin.readline():
        asked = json.loads(line)
        if "ended" in asked:
            answer = os.waitstatus_to_exitcode(os.waitpid(asked["ended"], 0)[1])
        elif not (answer := os.fork()):
            become(asked)
        print(answer, flush=True)


class Parent:
    """The process that forks; it ends with ours."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, *READY],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        atexit.register(self._end)

    def ask(self, **what: Any) -> int:
        assert self._process.stdin
        assert self._process.stdout
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()
        return int(self._process.stdout.readline())

    def _end(self) -> None:
        with self._process:
            assert self._process.stdin
            self._process.stdin.close()


parent = cache(Parent)


class Fork(warm.Fork):
    """What runs `python WORDS`, as Popen handles it."""

    def __init__(self, words: Sequence[str], log: Path, cwd: Path, env: Mapping[str, str]) -> None:
        asked = {"words": [*words], "log": str(log), "cwd": str(cwd), "env": dict(env)}
        super().__init__(parent().ask(**asked))

    @cached_property
    def returncode(self) -> int:
        """How it ended."""
        return parent().ask(ended=self.pid)


def started(words: Sequence[str], log: Path, cwd: Path, env: Mapping[str, str]) -> Any:
    """Run `python WORDS`, of our program or of a copy in which it is the same, as a fork; another
    program, and where there are no forks, by itself."""
    if warm.CAN_FORK and warm.is_ours(cwd):
        return Fork(words, log, cwd, env)
    with log.open("ab") as said:
        return subprocess.Popen(
            [sys.executable, *words],
            cwd=cwd, env=env, stdin=subprocess.DEVNULL, stdout=said, stderr=subprocess.STDOUT,
        )  # fmt: skip


if __name__ == "__main__":
    main()
