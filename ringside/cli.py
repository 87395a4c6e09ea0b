"""The `ringside` command: serve the book, show the demo, check what is installed."""

from __future__ import annotations

import argparse
import contextlib
import signal
import socket
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Sequence
from pathlib import Path

from cheroot.wsgi import Server
from platformdirs import user_data_path

from ringside import __version__
from ringside.app import Settings, create_app
from ringside.book.store import FILE_NAME, Book, BookError
from ringside.demo import fill
from ringside.knowledge import Knowledge, KnowledgeError, load
from ringside.web.library import OWN_BREEDS

# The demo has a port of its own: a browser keeps its data by address, and the two must not mix.
SERVE_PORT = 8470
DEMO_PORT = 8471


class Trouble(Exception):
    """Something the person at the keyboard can mend; the message says how."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command. Returns 0, 1 when a check found problems, 2 for trouble to be mended."""
    options = _parser().parse_args(arguments)
    try:
        result: int = options.run(options)
        return result
    except (Trouble, BookError) as error:
        print(f"ringside: {error}", file=sys.stderr)
    except KnowledgeError as error:
        print("ringside: the knowledge files cannot be used:", file=sys.stderr)
        print(*(f"  {problem}" for problem in error.problems), sep="\n", file=sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="ringside", description=__doc__)
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(required=True, metavar="command")
    serve = commands.add_parser("serve", help="serve your own book")
    serve.add_argument("--data", type=Path, default=user_data_path("ringside", appauthor=False))
    serve.set_defaults(run=_serve, port=SERVE_PORT)
    demo = commands.add_parser("demo", help="serve an invented kennel in a throw-away book")
    demo.add_argument("--data", type=Path, help="keep the demo's book here instead")
    demo.set_defaults(run=_demo, port=DEMO_PORT)
    for command in (serve, demo):
        command.add_argument("--port", type=int, help="default: %(default)s")
        command.add_argument("--no-browser", action="store_true", help="do not open a browser")
    check = commands.add_parser("check", help="check the knowledge files, and a book if named")
    check.add_argument("--data", type=Path, help="also open the book in this folder")
    check.set_defaults(run=_check)
    return parser


def _serve(options: argparse.Namespace) -> int:
    return _run(options, options.data, load(own=options.data / OWN_BREEDS), is_demo=False)


def _demo(options: argparse.Namespace) -> int:
    with contextlib.ExitStack() as stack:
        # On Windows a file still held open cannot be removed; the system clears it later.
        temporary = tempfile.TemporaryDirectory(prefix="ringside-demo-", ignore_cleanup_errors=True)
        data = options.data or Path(stack.enter_context(temporary))
        return _run(options, data, load(), is_demo=True)


def _check(options: argparse.Namespace) -> int:
    knowledge = load()
    print(
        f"Knowledge: {len(knowledge.breeds)} breeds, {len(knowledge.cues)} cues, "
        f"{len(knowledge.sources)} sources; nothing wrong found."
    )
    if options.data:
        path = options.data / FILE_NAME
        if not path.exists():
            raise Trouble(f"There is no book in {options.data}; name the folder that holds one.")
        book = Book(path)
        with book.session():
            print(f"Book: {path} opens; {book.newest()} changes, {len(book.records('dog'))} dogs.")
    return 0


def _run(options: argparse.Namespace, data: Path, knowledge: Knowledge, is_demo: bool) -> int:
    if not 0 < options.port < 65536:
        raise Trouble("The port must be a number from 1 to 65535.")
    _refuse_taken(options.port)
    book = Book(data / FILE_NAME)
    if is_demo:
        fill(book)
    app = create_app(Settings(data, options.port), book, knowledge)
    server = Server(("127.0.0.1", options.port), app.wsgi_app, numthreads=8, server_name="ringside")
    server.max_request_body_size = app.config["MAX_CONTENT_LENGTH"] + 1024
    address = f"http://localhost:{options.port}/"
    print(f"Book:    {book.path}")
    print(f"Open:    {address}")
    print(f"Desk:    {address}desk")
    print("Stop it with Ctrl+C.", flush=True)
    if not options.no_browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    _serve_until_stopped(server)
    return 0


def _refuse_taken(port: int) -> None:
    """Look before we start: the address is part of a phone's data, so it is never chosen anew."""
    with socket.socket() as probe:
        probe.settimeout(1)
        if probe.connect_ex(("127.0.0.1", port)) == 0:
            raise Trouble(
                f"Port {port} is in use. Is Ringside running already? "
                f"Stop the other program, or choose a port with --port {port + 10}."
            )


def _serve_until_stopped(server: Server) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, stop)
    try:
        server.start()
    except KeyboardInterrupt:
        print("Stopping: open requests are being finished.", flush=True)
    finally:
        server.stop()
