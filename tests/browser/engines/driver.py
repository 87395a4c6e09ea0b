"""What both engines are asked for, and what they are started with."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol, TypeVar

# The name by which the W3C's WebDriver, and Marionette after it, hands out an element.
ELEMENT = "element-6066-11e4-a52e-4f735466cecf"

# Seconds for one journey, after which its browser is ended and the test with it.
LONGEST = 120.0

WIDTH, HEIGHT = 360, 800

Found = TypeVar("Found")


class TooLong(Exception):
    """The journey's time is up."""


class EngineError(Exception):
    """The engine answered with an error."""


class Stale(EngineError):
    """The page was drawn anew between finding an element and touching it."""


def error_of(kind: str, words: str) -> EngineError:
    """What an engine's answer is raised as."""
    is_stale = kind in ("stale element reference", "no such element")
    return (Stale if is_stale else EngineError)(f"{kind}: {words}")


class Clock:
    """The time that one journey has. Nothing here waits any longer than this."""

    def __init__(self, seconds: float = LONGEST) -> None:
        self.seconds = seconds
        self._end = time.monotonic() + seconds

    def left(self, what: str) -> float:
        left = self._end - time.monotonic()
        if left <= 0:
            raise TooLong(f"The journey took longer than {self.seconds:.0f} s, at: {what}")
        return left

    def until(self, holds: Callable[[], Found], what: str) -> Found:
        """Wait for `holds` to give something true, and give it."""
        while not (found := holds()):
            self.left(what)
            time.sleep(0.05)
        return found


class Driver(Protocol):
    """A browser with one window, which keeps its data in a folder."""

    name: str

    def start(self) -> None:
        """Start it, with what its folder holds."""

    def kill(self) -> None:
        """End it and all its processes at once, as a flat battery would."""

    def go(self, url: str) -> None: ...

    def run(self, script: str, *given: Any) -> Any:
        """What the body of an async function gives in the page; `given` are its `arguments`."""

    def tap(self, css: str) -> None:
        """Click the only element, or the first, that `css` finds, as a finger would."""

    def type(self, css: str, words: str) -> None:
        """Type into a field, as a keyboard would."""

    def picture(self) -> bytes:
        """The window's content as PNG."""


# The script as both protocols take it: their last argument hears the result.
AS_ASYNC = """const given = [...arguments], done = given.pop();
(async function () { %s }).apply(null, given).then(
  (value) => done({ value: value === undefined ? null : value }),
  (error) => done({ error: `${error}` }));"""


def value_of(answer: Any) -> Any:
    """What a script in AS_ASYNC gave."""
    if not isinstance(answer, dict) or "error" in answer:
        raise EngineError(str(answer))
    return answer["value"]


def spawn(
    words: Sequence[str | Path], log: Path, env: Mapping[str, str] | None = None
) -> subprocess.Popen[bytes]:
    """Start a program in a group of its own."""
    with log.open("ab") as out:
        return subprocess.Popen(
            [str(word) for word in words],
            env={**os.environ, **(env or {})},
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )


def end(process: subprocess.Popen[bytes] | None) -> None:
    """End a program with all that it started, at once."""
    if process is None:
        return
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
