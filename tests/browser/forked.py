"""Starts servers as forks of itself, in which every module is read already; tests/browser/warm.py
asks for them, a line of JSON for each.

What follows from the text of a file alone is computed once for all of them: what it says, how a
template reads as code, and its compressed form, which takes longer than all else of a start.
"""

from __future__ import annotations

import gc
import json
import os
import runpy
import signal
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import tests.https_demo  # noqa: F401  For what it reads.
from ringside import files
from ringside.app import Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.packs import PackShelf
from ringside.book.place import Place
from ringside.demo import fill
from ringside.knowledge import load
from ringside.web.pocket import publish
from tests.compiled import remembered


def main() -> None:
    """Answer each line with the pid of the fork that runs what it asks for."""
    remember()
    visit()
    gc.freeze()  # What is here stays: no fork goes through it again.
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # Nobody here waits for them.
    while line := sys.stdin.readline():
        pid = os.fork()
        if pid == 0:
            become(json.loads(line))
        print(pid, flush=True)


def remember() -> None:
    """Have what follows from the text of a file alone worked out once."""
    for whose, name, what in remembered():
        setattr(whose, name, what)


def visit() -> None:
    """Be the demo that a phone visits first."""
    with tempfile.TemporaryDirectory() as folder:
        book, knowledge = open_book(Place(Path(folder))), load()
        fill(book)
        app = create_app(Settings(Path(folder), 1), book, knowledge)
        with book.session():
            PackShelf(knowledge).offer(book, {})
        book.close()
        build = publish(app, knowledge).build
        kept = {file["sha256"] for file in build.precache()}
        for file in (build.shell, *build.files.values()):
            if file.sha256 in kept:
                file.encoded("br")


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
    files._CHECKOUT = Path(asked["cwd"])  # a copy may have another app for the phone
    first, *rest = asked["words"]
    name, *sys.argv[1:] = rest if first == "-m" else [first, *rest]
    sys.argv[0] = name
    run = runpy.run_module if first == "-m" else runpy.run_path
    run(name, run_name="__main__")
    sys.exit()


if __name__ == "__main__":
    main()
