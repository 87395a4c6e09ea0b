"""The tour of all screens: a phone, and what brings it to each of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser

from tests.browser.tour import cards, desk, dogs, photos  # noqa: F401  For their stops.
from tests.browser.tour.phone import SCREENS, TourPhone
from tests.browser.watch import Watch, watched
from tests.support import Server

__all__ = ["PHONE", "SCREENS", "WINDOW", "TourPhone", "phones"]

PHONE = {"width": 360, "height": 800}
WINDOW = {"width": 1280, "height": 800}

# Seconds; notes shall not veil themselves while they are looked at.
LONG_VEIL = 600
OTHER_NODE = "0000000000aa"

# Screens of a phone that has never met its book, or has trouble with it; the others are of one
# that is in touch with the demo's.
BARE = {"kennel-empty"}
TROUBLED = {"kennel-trouble", "book-trouble", "station-apart"}


@contextmanager
def phones(
    browser: Browser, server: Server
) -> Iterator[Callable[[str, dict[str, int]], TourPhone]]:
    """A function that gives the phone for a screen of the tour, in a window of some size. There
    is one demo for all of them, and a phone that is there already is used again; it starts anew
    for a window of another size, so tests of one size come one after another."""
    made: dict[str, TourPhone] = {}
    broken: dict[str, Exception] = {}

    def phone_for(name: str, size: dict[str, int]) -> TourPhone:
        kind = "bare" if name in BARE else "troubled" if name in TROUBLED else "kept"
        if kind in broken:
            pytest.fail(f"The {kind} phone could not be made: {broken[kind]}")
        if kind not in made:
            try:
                made[kind] = new_phone(browser, watch, server.url, kind)
            except Exception as error:
                broken[kind] = error
                raise
        phone = made[kind]
        if phone.page.viewport_size != size:
            phone.page.set_viewport_size(size)
            phone.start()
        return phone

    # A book that is out of reach is meant to be.
    with watched(server, "Failed to load resource: net::ERR_FAILED") as watch:
        yield phone_for


def new_phone(browser: Browser, watch: Watch, url: str, kind: str) -> TourPhone:
    veil = {"name": "ringside-look", "value": json.dumps({"veil": str(LONG_VEIL)})}
    state = {"origins": [{"origin": url.rstrip("/"), "localStorage": [veil]}]}
    context = watch.add(browser.new_context(viewport=PHONE, storage_state=state))
    # No worker: nothing here is about being offline, and filling its cache takes time.
    context.add_init_script("delete Navigator.prototype.serviceWorker")
    if kind == "bare":
        context.route("**/api/**", lambda route: route.abort())
    phone = TourPhone(context.new_page(), url)
    phone.start()
    if kind != "bare":
        phone.meet()
    if kind == "troubled":
        context.route("**/api/**", lambda route: route.abort())
        make_trouble(phone)
    return phone


def make_trouble(phone: TourPhone) -> None:
    """Something waits, something was refused, two texts are apart, and the clock is off."""
    dog = phone.dogs["Bramble"]
    note = next(row for row in phone.store("about('note', it)", dog) if row["values"].get("text"))
    text = next(iter(note["cells"]["text"]["heads"]))
    phone.store("write('dog', it, { pedigree: 'Marrowby Bramble Patch' })", dog)
    refused = phone.store("outgoing(1, 1000)")["changes"]
    other = {
        "id": refused[0]["id"],
        "kind": "note",
        "record": note["id"],
        "field": "text",
        "value": "Canines meet late. Show the left side first.",
        "stamp": f"{text[:18]}{OTHER_NODE}",
        "base": "",
        "device": f"00000000-0000-7000-8000-{OTHER_NODE}",
    }
    answer = {
        "taken": [],
        "refused": [{"id": refused[0]["id"], "reason": "That name is too long."}],
        "restamped": {},
        "changes": [other],
        "more": False,
        "book": "a",
        "cursor": "",
    }
    phone.store("incoming(it, 25 * 60_000)", answer)
    phone.store("write('dog', it, { pedigree: 'Marrowby Bramble Path' })", phone.dogs["Gustav"])
