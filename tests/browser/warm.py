"""Servers that start at once: what a start costs is reading the modules, and here that is done
once for all of them (tests/browser/forked.py)."""

from __future__ import annotations

import contextlib
import filecmp
import json
import os
import select
import signal
import subprocess
import sys
from pathlib import Path
from typing import IO, Any

from tests.support import ROOT, Server

CAN_FORK = hasattr(os, "fork") and hasattr(os, "pidfd_open")


class Fork:
    """A process that is another's child, as Server handles one."""

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self._handle = os.pidfd_open(pid)

    def poll(self) -> int | None:
        return 0 if self._ended(0) else None

    def wait(self, timeout: float | None = None) -> int:
        if not self._ended(None if timeout is None else timeout * 1000):
            raise subprocess.TimeoutExpired("a fork", timeout or 0)
        return 0

    def terminate(self) -> None:
        self._send(signal.SIGTERM)

    def kill(self) -> None:
        self._send(signal.SIGKILL)

    def __del__(self) -> None:
        with contextlib.suppress(AttributeError, OSError):
            os.close(self._handle)

    def _ended(self, timeout_ms: float | None) -> bool:
        ends = select.poll()
        ends.register(self._handle, select.POLLIN)
        return bool(ends.poll(timeout_ms))

    def _send(self, number: signal.Signals) -> None:
        with contextlib.suppress(ProcessLookupError):
            signal.pidfd_send_signal(self._handle, number)


def network() -> int:
    """What tells apart the network that this thread is in (test_two_phones.py goes to another)."""
    return Path("/proc/thread-self/ns/net").stat().st_ino


class Nursery:
    """The process that forks; it ends when it is closed, and the forks go on."""

    def __init__(self) -> None:
        self.network = network()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.browser.forked"],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self, server: Server) -> Fork:
        assert self._process.stdin
        assert self._process.stdout
        asked = {
            "words": server.command[1:],
            "log": str(server.log),
            "cwd": str(server.cwd),
            "env": server.env,
        }
        self._process.stdin.write(json.dumps(asked) + "\n")
        self._process.stdin.flush()
        return Fork(int(self._process.stdout.readline()))

    def close(self) -> None:
        with self._process:
            assert self._process.stdin
            self._process.stdin.close()


def program_of(checkout: Path) -> list[Path]:
    """The files that a fork has read already, and takes from nowhere else."""
    whole = (checkout / "ringside").rglob("*")
    return sorted(
        path.relative_to(checkout)
        for path in whole
        if path.is_file() and "__pycache__" not in path.parts
    )


def is_ours(checkout: Path) -> bool:
    """Whether this is our checkout, or a copy in which the program is the same."""
    if checkout == ROOT:
        return True
    files = program_of(ROOT)
    return files == program_of(checkout) and filecmp.cmpfiles(ROOT, checkout, files)[0] == files


class WarmServer(Server):
    """A server of this checkout, or of a copy with another app for the phone, is a fork of the
    nursery's; one of another program, or in another network than the nursery's, is started as any
    is."""

    def __init__(self, *where: Any, nursery: Nursery, **options: Any) -> None:
        self.nursery = nursery
        super().__init__(*where, **options)

    def _spawn(self, log: IO[bytes]) -> Any:
        is_near = network() == self.nursery.network
        if is_near and self.command[0] == sys.executable and is_ours(self.cwd):
            return self.nursery.start(self)
        return super()._spawn(log)
