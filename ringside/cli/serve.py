"""Serving: one's own book, or the demo's."""

from __future__ import annotations

import argparse
import contextlib
import errno
import os
import re
import signal
import tempfile
import threading
from datetime import date
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from ringside.app import Settings, create_app
from ringside.book import clock, keeping
from ringside.book.devices import OWNER, Devices
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.cli.options import Commands, Trouble, add_place, place_of
from ringside.cli.pair import show_link, show_offer
from ringside.demo import BOOK_ID, fill
from ringside.knowledge import Knowledge, load
from ringside.web import log
from ringside.web.answers import MOST_BODY
from ringside.web.serve.bounds import STOPPED_IN
from ringside.web.serve.server import THIS_COMPUTER, Server, everywhere, why_not

# What only --lan needs is imported where it is: its libraries are a fifth of the memory at rest.
if TYPE_CHECKING:
    from ringside.cli.lan import Neighbourhood
    from ringside.web.serve.lan import Lan

# The demo has a port of its own: a browser keeps its data by address, and the two must not mix.
SERVE_PORT = 8470
DEMO_PORT = 8471
LOOKED_AT = 0.5  # seconds: how often we see whether the servers still run
WAY = "way-in.html"  # leads this computer's browser to the link of the present start

PUBLIC = re.compile(r"https://(?P<name>[a-z0-9]([a-z0-9.-]*[a-z0-9])?)(?P<port>:[0-9]{1,5})?/?")


def add(commands: Commands) -> None:
    """Add the commands that serve."""
    serve = commands.add_parser("serve", help="serve your own book")
    add_place(serve)
    serve.set_defaults(run=_serve, port=SERVE_PORT)
    reach = serve.add_mutually_exclusive_group()
    reach.add_argument("--lan", action="store_true", help="serve phones on the local network too")
    reach.add_argument(
        "--behind-proxy", metavar="ADDRESS", help="let phones reach it at this public https address"
    )
    serve.add_argument(
        "--hops", type=int, default=1, help="how many proxies are in front of it (default: 1)"
    )
    serve.add_argument(
        "--new", action="store_true", help="begin a new book even though there are copies of one"
    )
    demo = commands.add_parser("demo", help="serve an invented kennel in a throwaway book")
    demo.add_argument("--data", type=Path, help="put the demo's book here instead")
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


def _serve(options: argparse.Namespace) -> int:
    place = place_of(options)
    return _run(options, place, load(own=place.own_breeds), is_demo=False)


def _demo(options: argparse.Namespace) -> int:
    with contextlib.ExitStack() as stack:
        # On Windows a file still held open cannot be removed; the system clears it later.
        data = options.data or Path(
            stack.enter_context(
                tempfile.TemporaryDirectory(prefix="ringside-demo-", ignore_cleanup_errors=True)
            )
        )
        place = Place(data)
        stack.enter_context(keeping.serving(place))
        return _run(options, place, load(own=place.own_breeds), is_demo=True)


def _run(options: argparse.Namespace, place: Place, knowledge: Knowledge, is_demo: bool) -> int:
    if not 0 < options.port < 65536:
        raise Trouble("The port must be a number from 1 to 65535.")
    try:
        log.set_up(options.log)
    except OSError as error:
        raise Trouble(f"Cannot write the log {options.log}: {error.strerror}.") from error
    _refuse_taken(options.port, _host(options))
    keeping.tidy(place)
    with contextlib.nullcontext() if is_demo else keeping.serving(place):
        return _open_and_serve(options, place, knowledge, is_demo)


def _open_and_serve(
    options: argparse.Namespace, place: Place, knowledge: Knowledge, is_demo: bool
) -> int:
    is_new = getattr(options, "new", False)
    begin = keeping.begin_anew if is_new else keeping.refuse_to_forget
    book = keeping.open_book(place, begin=begin)
    if is_demo:
        _refuse_own(book)
        fill(book)
    lan = _lan(options, place.data) if not is_demo and options.lan else None
    settings = settings_of(options, place.data, is_demo, lan)
    notices = keeping.Notices(place)
    app = create_app(settings, book, knowledge, notices)
    servers = [Server(_host(options), options.port, app.wsgi_app, MOST_BODY)]
    neighbourhood = _join(lan, options.port, servers) if lan else None
    address = settings.address
    print(f"Book:    {book.place}")
    print(f"Open:    {address}")
    print(f"Desk:    {address}desk")
    if knowledge.set_aside:
        print("Left out until it is fixed:", *knowledge.set_aside, sep="\n  ")
    with book.session():
        for words in notices.at_start(book, date.today()):
            print(f"\nCareful: {words}\n")
    if not is_demo:
        with book.session():
            devices = Devices(book)
            devices.served_at(address)
            offer = devices.offer(OWNER, clock.wall())
            # No phone reaches an address of this computer alone: its browser has the link.
            is_for_phones = bool(lan or options.behind_proxy)
            address = show_offer(offer, address) if is_for_phones else show_link(offer, address)
    print("Stop it with Ctrl+C.", flush=True)
    # This computer's browser need not trust the certificate; the link is for a phone then.
    if not options.no_browser and not lan:
        threading.Thread(target=open_in_browser, args=(address, place.data), daemon=True).start()
    with contextlib.nullcontext() if is_demo else keeping.kept_daily(place, notices):
        serve_until_stopped(*servers)
    if neighbourhood:
        neighbourhood.announcer.end()
    return 0


def open_in_browser(address: str, folder: Path) -> None:
    """Have the browser open an address that everybody on this computer may see, or a link that
    nobody may: what stands on a command line is seen by all, so a private file leads to it.
    """
    import webbrowser  # seldom needed, as where a server is at rest for days

    if "#" not in address:
        webbrowser.open(address)
        return
    way = folder / WAY
    way.unlink(missing_ok=True)
    handle = os.open(way, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    with open(handle, "w", encoding="utf-8") as file:
        file.write(f'<!doctype html><meta http-equiv="refresh" content="0;url={escape(address)}">')
    webbrowser.open(way.as_uri())


def _host(options: argparse.Namespace) -> str:
    return everywhere() if getattr(options, "lan", False) else THIS_COMPUTER


def settings_of(
    options: argparse.Namespace, data: Path, is_demo: bool, lan: Lan | None
) -> Settings:
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
    from ringside.web.serve.lan import Lan

    return Lan(data)


def _join(lan: Lan, port: int, servers: list[Server]) -> Neighbourhood:
    """Have the first of `servers` speak TLS, and one more show phones the way to trust it."""
    from ringside.cli.lan import Neighbourhood, serve_trust_page

    neighbourhood = Neighbourhood(lan, port)
    servers[0].ssl_adapter = lan.tls(neighbourhood.changed)
    servers.append(serve_trust_page(lan, port))
    return neighbourhood


def _refuse_own(book: Book) -> None:
    """Keep the demo, which is open to everything on this computer, away from somebody's book."""
    with book.session():
        if book.newest() and book.id != BOOK_ID:
            raise Trouble(
                f"{book.place} is not the demo's book; it was left as it is. "
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


def serve_until_stopped(*servers: Server) -> None:
    """Serve until the system or Ctrl+C says to stop; then let open requests end."""
    stopping = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stopping.set())
    for server in servers:
        server.begin()
    while not stopping.wait(LOOKED_AT):
        for server in servers:
            server.check()
    print("Stopping: finishing open requests.", flush=True)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, signal.SIG_DFL)  # who asks a second time is obeyed at once
    cut = sum(server.end() for server in servers)
    if cut:
        print(f"Requests cut off because they took more than {STOPPED_IN} seconds: {cut}.")
