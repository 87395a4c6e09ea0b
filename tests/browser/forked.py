"""Starts servers as forks of itself, in which every module is read already; tests/browser/warm.py
asks for them, a line of JSON for each."""

from __future__ import annotations

import json
import os
import runpy
import signal
import sys
import time
from typing import Any

import tests.https_demo  # noqa: F401  For what it reads.


def main() -> None:
    """Answer each line with the pid of the fork that runs what it asks for."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # Nobody here waits for them.
    while line := sys.stdin.readline():
        pid = os.fork()
        if pid == 0:
            become(json.loads(line))
        print(pid, flush=True)


def become(asked: dict[str, Any]) -> None:
    """Be the process that `python WORDS` would be, with its log, folder and environment."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    log = os.open(asked["log"], os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    for old, new in ((os.open(os.devnull, os.O_RDONLY), 0), (log, 1), (log, 2)):
        os.dup2(old, new)
    sys.stdout.reconfigure(line_buffering=True)  # type: ignore[union-attr]
    os.environ.clear()
    os.environ.update(asked["env"])
    time.tzset()
    os.chdir(asked["cwd"])
    first, *rest = asked["words"]
    name, *sys.argv[1:] = rest if first == "-m" else [first, *rest]
    sys.argv[0] = name
    run = runpy.run_module if first == "-m" else runpy.run_path
    run(name, run_name="__main__")
    sys.exit()


if __name__ == "__main__":
    main()
