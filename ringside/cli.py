"""The `ringside` command: serve the book, let a phone in, show the demo, check what there is."""

from __future__ import annotations

import argparse
import contextlib
import errno
import os
import re
import signal
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Sequence
from pathlib import Path

import segno
from platformdirs import user_data_path

from ringside import __version__
from ringside.app import MOST_BODY, Settings, create_app
from ringside.book import clock, keeping
from ringside.book.devices import OWNER, ROLES, Devices, Offer
from ringside.book.store import FILE_NAME, Book, BookError
from ringside.check import CheckError, add_options, check_book, check_knowledge, check_text
from ringside.demo import BOOK_ID, fill
from ringside.knowledge import Knowledge, KnowledgeError, load
from ringside.knowledge.own import OWN_BREEDS
from ringside.web import log
from ringside.web.announce import Announcer
from ringside.web.certs import fingerprint
from ringside.web.lan import Lan
from ringside.web.serving import STOPPED_IN, THIS_COMPUTER, Server, everywhere, why_not

# The demo has a port of its own: a browser keeps its data by address, and the two must not mix.
SERVE_PORT = 8470
DEMO_PORT = 8471
LOOKED_AT = 0.5  # seconds: how often we see whether the servers still run
PUBLIC = re.compile(r"https://(?P<name>[a-z0-9]([a-z0-9.-]*[a-z0-9])?)(?P<port>:[0-9]{1,5})?/?")


class Trouble(Exception):
    """Something the person at the keyboard can mend; the message says how."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command. Returns 0, 1 when a check found problems, 2 for trouble to be mended."""
    options = _parser().parse_args(arguments)
    try:
        result: int = options.run(options)
        return result
    except (Trouble, BookError, CheckError) as error:
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
    own_book = user_data_path("ringside", appauthor=False)
    _add_place(serve, own_book)
    serve.set_defaults(run=_serve, port=SERVE_PORT)
    reach = serve.add_mutually_exclusive_group()
    reach.add_argument("--lan", action="store_true", help="serve phones on the local network too")
    reach.add_argument(
        "--behind-proxy", metavar="ADDRESS", help="be reached at this public https address"
    )
    serve.add_argument(
        "--hops", type=int, default=1, help="how many proxies stand before it (default: 1)"
    )
    demo = commands.add_parser("demo", help="serve an invented kennel in a throw-away book")
    demo.add_argument("--data", type=Path, help="keep the demo's book here instead")
    demo.set_defaults(run=_demo, port=DEMO_PORT, database="")
    for command in (serve, demo):
        command.add_argument("--port", type=int, help="default: %(default)s")
        command.add_argument("--no-browser", action="store_true", help="do not open a browser")
        command.add_argument(
            "--log",
            metavar="FILE",
            default="",
            help="write a line of JSON for each request there; - is this terminal",
        )
    pair = commands.add_parser("pair", help="make a code that lets one more phone in")
    pair.add_argument("--role", choices=ROLES, default=OWNER, help="default: %(default)s")
    _add_place(pair, own_book)
    pair.set_defaults(run=_pair)
    _add_keeping(commands, own_book)
    check = commands.add_parser("check", help="check the knowledge files, and a book if named")
    add_options(check)
    check.set_defaults(run=_check)
    return parser


def _add_keeping(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], own_book: Path
) -> None:
    backup = commands.add_parser("backup", help="copy the book, also while it is served")
    backup.add_argument("file", type=Path, nargs="?", help="default: in copies/ beside the book")
    backup.set_defaults(run=_backup)
    restore = commands.add_parser("restore", help="put a copy in the book's place")
    restore.add_argument("file", type=Path)
    restore.set_defaults(run=_restore)
    export = commands.add_parser("export", help="write everything as JSON, or records as CSV")
    export.add_argument("target", type=Path, metavar="FILE.json|FOLDER")
    export.add_argument("--csv", action="store_true", help="one CSV file a kind, in a folder")
    export.set_defaults(run=_export)
    take = commands.add_parser("import", help="take in an export, into an empty or the same book")
    take.add_argument("file", type=Path, metavar="FILE.json")
    take.set_defaults(run=_import)
    for command in (backup, restore, export, take):
        _add_place(command, own_book)


def _add_place(command: argparse.ArgumentParser, own_book: Path) -> None:
    """Let a command be told where the book is."""
    command.add_argument(
        "--data", type=Path, default=own_book, help="the folder (default: %(default)s)"
    )
    command.add_argument(
        "--database",
        metavar="URL",
        # What stands on a command line is seen by everybody on the computer.
        default=os.environ.get("RINGSIDE_DATABASE", ""),
        help="postgresql://…, for a book in PostgreSQL; RINGSIDE_DATABASE in the environment "
        "says the same without showing a password to others",
    )


def _serve(options: argparse.Namespace) -> int:
    return _run(options, options.data, load(own=options.data / OWN_BREEDS), is_demo=False)


def _demo(options: argparse.Namespace) -> int:
    with contextlib.ExitStack() as stack:
        # On Windows a file still held open cannot be removed; the system clears it later.
        data = options.data or Path(
            stack.enter_context(
                tempfile.TemporaryDirectory(prefix="ringside-demo-", ignore_cleanup_errors=True)
            )
        )
        stack.enter_context(keeping.serving(data))
        return _run(options, data, load(own=data / OWN_BREEDS), is_demo=True)


def _pair(options: argparse.Namespace) -> int:
    keeping.need(options.data / FILE_NAME, options.database)
    with keeping.serving(options.data, options.database):
        book = _present(options)
        with book.session():
            devices = Devices(book)
            address = devices.address()
            if not address:
                raise Trouble("This book was never served; start `ringside serve` first.")
            _show_offer(devices.offer(options.role, clock.wall()), address)
    return 0


def _present(options: argparse.Namespace) -> Book:
    """Return the book there is; none is made."""
    path = options.data / FILE_NAME if options.data else Path(FILE_NAME)
    keeping.need(path, options.database)
    return Book(path, options.database)


def _backup(options: argparse.Namespace) -> int:
    copy = keeping.backup(options.data / FILE_NAME, options.file, options.database)
    print(f"Copied and checked: {copy}")
    _tell_breeds(len(keeping.breeds_in(copy)), "copied with it", options.data)
    return 0


def _tell_breeds(number: int, done: str, data: Path) -> None:
    """Say how many own breed files went along, and what of those in the folder did not."""
    print(f"Own breed files {done}: {number or 'none'}")
    problems: list[str] = []
    keeping.own_breeds(data / FILE_NAME, problems)
    if problems:
        print("Left out, until it is mended:", *problems, sep="\n  ")


def _restore(options: argparse.Namespace) -> int:
    done = keeping.restore(options.data / FILE_NAME, options.file, options.database)
    print(f"Restored: {options.file}")
    if done.aside:
        print(f"The book before it is kept: {done.aside}")
    print(f"Own breed files put back: {len(done.breeds) or 'none'}")
    for old in done.old:
        print(f"One of them differed; the file before it is kept: {old}")
    if done.is_rebuilt:
        print("Its records did not match its changes; they were made anew from them.")
    if done.has_devices_of_copy:
        print("Phones are let in as when the copy was made; look at the desk's list of devices.")
    return 0


def _export(options: argparse.Namespace) -> int:
    given = options.data / FILE_NAME, options.target, options.database
    if options.csv:
        print(f"{keeping.export_csv(*given)} records in {options.target}")
        return 0
    done = keeping.export(*given)
    print(f"{done.changes} changes in {options.target}")
    _tell_breeds(done.breeds, "in it", options.data)
    return 0


def _import(options: argparse.Namespace) -> int:
    done = keeping.import_(options.data / FILE_NAME, options.file, options.database)
    print(f"{done.new} changes taken in; the book had {done.known} of them already.")
    print(f"Own breed files taken in: {len(done.breeds) or 'none'}")
    for name in sorted(done.differing):
        print(f"Here {name} is another one; it was left as it is.")
    return 0


def _show_offer(offer: Offer, address: str) -> str:
    """Print an invitation, with a picture where the terminal has the signs for it; its link."""
    link = f"{address}#/pair/{offer.link}"
    print(f"Pair:    {link}")
    print(f"Code:    {offer.shown}  (role: {offer.role}; once, within ten minutes)")
    with contextlib.suppress(UnicodeEncodeError):
        "▀▄█".encode(sys.stdout.encoding or "ascii")
        segno.make(link, error="m", micro=False).terminal(compact=True)
    sys.stdout.flush()
    return link


def _check(options: argparse.Namespace) -> int:
    if options.text:
        return check_text(Path(options.text[0]), options.text[1], options.standard)
    result = check_knowledge(options.data, options.all)
    if options.data or options.database:
        check_book(_present(options))
    return result


def _run(options: argparse.Namespace, data: Path, knowledge: Knowledge, is_demo: bool) -> int:
    if not 0 < options.port < 65536:
        raise Trouble("The port must be a number from 1 to 65535.")
    try:
        log.set_up(options.log)
    except OSError as error:
        raise Trouble(f"Cannot write the log {options.log}: {error.strerror}.") from error
    _refuse_taken(options.port, _host(options))
    with contextlib.nullcontext() if is_demo else keeping.serving(data, options.database):
        return _open_and_serve(options, data, knowledge, is_demo)


def _open_and_serve(
    options: argparse.Namespace, data: Path, knowledge: Knowledge, is_demo: bool
) -> int:
    book = Book(data / FILE_NAME, options.database)
    if is_demo:
        _refuse_own(book)
        fill(book)
    lan = _lan(options, data) if not is_demo and options.lan else None
    settings = _settings(options, data, is_demo, lan)
    app = create_app(settings, book, knowledge)
    servers = [Server(_host(options), options.port, app.wsgi_app, MOST_BODY)]
    neighbourhood = _Neighbourhood(lan, options.port) if lan else None
    if lan and neighbourhood:
        servers[0].ssl_adapter = lan.tls(neighbourhood.changed)
        servers.append(_serve_trust_page(lan, options.port))
    address = settings.address
    print(f"Book:    {book.place}")
    print(f"Open:    {address}")
    print(f"Desk:    {address}desk")
    if knowledge.set_aside:
        print("Left out, until it is mended:", *knowledge.set_aside, sep="\n  ")
    if not is_demo:
        with book.session():
            devices = Devices(book)
            devices.served_at(address)
            address = _show_offer(devices.offer(OWNER, clock.wall()), address)
    print("Stop it with Ctrl+C.", flush=True)
    # This computer's browser need not trust the certificate; the link is for a phone then.
    if not options.no_browser and not lan:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    with contextlib.nullcontext() if is_demo else keeping.kept_daily(book.path, book.url):
        _serve_until_stopped(*servers)
    if neighbourhood:
        neighbourhood.announcer.end()
    return 0


def _host(options: argparse.Namespace) -> str:
    return everywhere() if getattr(options, "lan", False) else THIS_COMPUTER


def _settings(options: argparse.Namespace, data: Path, is_demo: bool, lan: Lan | None) -> Settings:
    """Return how this server is reached: on this computer, the local network, or a public name."""
    if lan:
        links = lan.links(options.port)
        return Settings(data, options.port, origin=links[0], names=lambda: lan.hosts(options.port))
    if is_demo or options.behind_proxy is None:
        return Settings(data, options.port, is_open=is_demo)
    if options.hops < 1:
        raise Trouble("--hops is the number of proxies before this server: 1 or more.")
    name = _public_name(options.behind_proxy)
    names = frozenset({name})
    return Settings(
        data, options.port, origin=f"https://{name}/", names=lambda: names, hops=options.hops
    )


def _public_name(address: str) -> str:
    """Return the name (with port, if it is not the usual one) that browsers will call us by."""
    found = PUBLIC.fullmatch(address.lower())
    if found is None:
        raise Trouble("Name the public address as https://ring.example, without a path.")
    return found["name"] + (found["port"] if found["port"] not in (None, ":443") else "")


def _lan(options: argparse.Namespace, data: Path) -> Lan:
    if options.port == 65535:
        raise Trouble("--lan needs the next port as well; choose one below 65535.")
    _refuse_taken(options.port + 1, everywhere())
    return Lan(data)


class _Neighbourhood:
    """Makes this machine found on the local network, and tells of each new address once."""

    def __init__(self, lan: Lan, port: int) -> None:
        self.lan, self.port = lan, port
        self.told = set(lan.links(port))
        self.announcer = Announcer(lan.names[0], port, lambda: lan.addresses, self._taken)
        self.announcer.start()

    def changed(self) -> None:
        """See what there is to tell."""
        for link in self.lan.links(self.port):
            if link not in self.told:
                self.told.add(link)
                print(f"New address: {link}", flush=True)
        self.announcer.start()

    def _taken(self) -> None:
        print(
            f"Another machine on this network is called {self.lan.names[0]} too: rename one "
            "of them, or phones may not find this one by its name.",
            flush=True,
        )


def _serve_trust_page(lan: Lan, port: int) -> Server:
    """Say where the way to trust us is, with what a phone must compare; return its server."""
    if lan.is_anew:
        print("The authority was made anew: the old one ran out, or may not vouch for this")
        print("machine's present name. Every phone has to trust it again.")
    print("Phones on this network first open one of these, and follow it:")
    for link in lan.links(port + 1):
        print(f"  {link.replace('https:', 'http:', 1)}")
    print(f"Fingerprint to compare: {fingerprint(lan.authority.certificate)}")
    return lan.trust_server(port + 1, port)


def _refuse_own(book: Book) -> None:
    """Keep the demo, which is open to everything on this computer, away from somebody's book."""
    with book.session():
        if book.newest() and book.id != BOOK_ID:
            raise Trouble(
                f"{book.path} is not the demo's book; it was left as it is. "
                "Serve it with `ringside serve`, or name another folder with --data."
            )


def _refuse_taken(port: int, host: str) -> None:
    """Look before we start: the address is part of a phone's data, so it is never chosen anew."""
    reason = why_not(host, port)
    if reason == errno.EADDRINUSE:
        raise Trouble(
            f"Port {port} is in use. Is Ringside running already? "
            f"Stop the other program, or choose a port with --port {port + 10}."
        )
    if reason:
        raise Trouble(f"Port {port} cannot be used here: {os.strerror(reason)}.")


def _serve_until_stopped(*servers: Server) -> None:
    stopping = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stopping.set())
    for server in servers:
        server.begin()
    while not stopping.wait(LOOKED_AT):
        for server in servers:
            server.check()
    print("Stopping: open requests are being finished.", flush=True)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, signal.SIG_DFL)  # who asks a second time is obeyed at once
    cut = sum(server.end() for server in servers)
    if cut:
        print(f"Requests cut off, because they took more than {STOPPED_IN} seconds: {cut}.")
