"""Letting one more phone in."""

from __future__ import annotations

import argparse
import contextlib
import sys

from ringside.book import clock, keeping
from ringside.book.devices import OWNER, ROLES, Devices, Offer
from ringside.cli.options import Commands, Trouble, add_place, place_of


def add(commands: Commands) -> None:
    """Add the command that makes a code."""
    pair = commands.add_parser("pair", help="make a code that lets one more phone in")
    pair.add_argument("--role", choices=ROLES, default=OWNER, help="default: %(default)s")
    add_place(pair)
    pair.set_defaults(run=_pair)


def _pair(options: argparse.Namespace) -> int:
    place = place_of(options)
    keeping.need(place)
    with keeping.serving(place), keeping.opened_as_it_is(place) as book:
        devices = Devices(book)
        address = devices.address()
        if not address:
            raise Trouble("This book has never been served. Start `ringside serve` first.")
        if not book.is_kept_by_us():
            raise Trouble(
                "Another version of Ringside has this book. Pair with that version, or start "
                "`ringside serve` with this one first."
            )
        show_offer(devices.offer(options.role, clock.wall()), address)
    return 0


def show_link(offer: Offer, address: str) -> str:
    """Print an invitation for a browser of this computer, and return its link."""
    link = f"{address}#/pair/{offer.link}"
    print(f"Pair:    {link}  (once, within ten minutes)")
    sys.stdout.flush()
    return link


def show_offer(offer: Offer, address: str) -> str:
    """Print an invitation, with a picture where the terminal has the signs for it; its link."""
    link = f"{address}#/pair/{offer.link}"
    print(f"Pair:    {link}")
    print(f"Code:    {offer.shown}  (role: {offer.role}; once, within ten minutes)")
    with contextlib.suppress(UnicodeEncodeError):
        "▀▄█".encode(sys.stdout.encoding or "ascii")
        import segno  # here: most that are started show none

        segno.make(link, error="m", micro=False).terminal(compact=True)
    sys.stdout.flush()
    return link
