"""A ringside's link: a few kilobytes a second, with cuts. All comes home; every screen works."""

from __future__ import annotations

import os
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uuid6
from playwright.sync_api import BrowserContext, Playwright, Request, expect

from ringside.book import clock
from ringside.book.keeping import open_book
from ringside.book.store import Book
from tests.browser.phone import Phone, asked, body_of, places
from tests.browser.weaklink import WeakLink
from tests.support import Server

LONG = 240.0  # seconds: an end for what would never come, and no measure of speed


@pytest.fixture
def link(server: Server) -> Iterator[WeakLink]:
    made = WeakLink(server.port)
    yield made
    made.close()


@pytest.fixture
def pocket(
    playwright: Playwright,
    launch: dict[str, Any],
    watch: Any,
    server: Server,
    link: WeakLink,
    tmp_path: Path,
) -> Phone:
    """A phone that reaches the server by the link alone, under the server's own name."""
    way = f"--host-resolver-rules=MAP localhost:{server.port} 127.0.0.1:{link.port}"
    options = {**launch, "args": [*launch["args"], way]}
    context: BrowserContext = playwright.chromium.launch_persistent_context(
        tmp_path / "profile", **options, viewport={"width": 360, "height": 800}
    )
    watch.add(context)
    watch.allowed_errors += ["net::ERR_", "Failed to load resource"]
    return Phone(context.pages[0], server.url).open().ready_offline()


def write_notes(phone: Phone, number: int) -> None:
    """So many notes, three changes each, as a season writes them."""
    phone.page.evaluate(
        """async ([dog, number]) => {
          const main = document.querySelector("script[type=module]").src;
          const store = await import(new URL("../js/store.js", main));
          for (let one = 0; one < number; one += 1) {
            // Words that squeeze no better than words do.
            const words = Array.from({ length: 2 + (one % 4) }, () => crypto.randomUUID());
            const text = words.join(" and ");
            await store.write("note", null, { dog, station: "bite", text });
          }
        }""",
        [phone.dogs["Bramble"], number],
    )


def words() -> list[str]:
    return [str(uuid.uuid4()) for _ in range(48)]


def fill_book(server: Server, number: int) -> None:
    """Notes of two kilobytes that another phone brought to the book."""
    book: Book = open_book(server.place)
    device = str(uuid6.uuid7())
    (dog, *_), *_ = asked(server.data, "SELECT id FROM record WHERE kind = 'dog' ORDER BY id")
    with book.session():
        for _ in range(number):
            values = {"dog": dog, "station": "eyes", "text": " and ".join(words())}
            record, now = str(uuid6.uuid7()), clock.wall()
            made = [
                {
                    "id": str(uuid6.uuid7()), "kind": "note", "record": record, "field": field,
                    "value": value, "stamp": clock.tick("", now, clock.node_of(device)),
                    "base": "", "device": device,
                }
                for field, value in values.items()
            ]  # fmt: skip
            for count, change in enumerate(made):
                change["stamp"] = f"{now:012x}-{2 * count:04x}-{clock.node_of(device)}"
            assert not book.append(made, now).refused
    book.close()


def until_level(phone: Phone, server: Server, screens: list[str]) -> None:
    """Wait until phone and book are in step; meanwhile every screen opens, again and again."""
    deadline, nudged = time.monotonic() + LONG, 0.0
    while phone.changes("unsent") or phone.meta("cursor") not in places(server.data):
        assert time.monotonic() < deadline, "the two never come into step"
        if time.monotonic() > nudged + 2:
            phone.nudge()
            nudged = time.monotonic()
        phone.show(screens[0])
        screens.append(screens.pop(0))
        expect(phone.page.locator("#main h1").first).to_be_visible()
        expect(phone.page.get_by_text("That did not work")).to_have_count(0)
        phone.page.wait_for_timeout(400)


# Bytes a second, seconds between cuts, notes of the phone's (three changes each), notes of others'.
LINKS = [
    pytest.param(2_000, None, 20, 6, id="2 kB/s"),
    pytest.param(6_000, 4.0, 167, 20, id="6 kB/s with cuts"),
]
if os.environ.get("RINGSIDE_LONG") == "1":
    LINKS += [
        pytest.param(2_000, 6.0, 20, 9, id="2 kB/s with cuts"),
        pytest.param(12_000, 3.0, 60, 60, id="12 kB/s with cuts"),
    ]


@pytest.mark.parametrize(("rate", "cuts", "mine", "theirs"), LINKS)
def test_all_comes_home(
    rate: int,
    cuts: float | None,
    mine: int,
    theirs: int,
    pocket: Phone,
    link: WeakLink,
    server: Server,
) -> None:
    dog = pocket.dogs["Bramble"]
    pocket.store("status()")  # the shipped app does not keep the module that this imports
    pocket.page.context.set_offline(True)
    write_notes(pocket, mine)
    fill_book(server, theirs)
    link.rate, link.cuts = rate, cuts
    pocket.page.context.set_offline(False)
    screens = ["", f"dog/{dog}", f"dog/{dog}/station/eyes", "shows", "sync", f"dog/{dog}/card"]
    until_level(pocket, server, screens)
    assert (link.cut > 0) is bool(cuts)
    sql = "SELECT COUNT(*) FROM record WHERE kind = 'note' AND NOT deleted"
    assert len(pocket.records("note")) == asked(server.data, sql)[0][0]
    sent = {row["id"] for row in pocket.changes("sent")}
    assert len(sent) == 3 * mine
    kept = [row[0] for row in asked(server.data, "SELECT id FROM change")]
    assert sent <= set(kept)
    assert len(kept) == len(set(kept))


def test_what_is_written_while_much_arrives_does_not_wait_for_its_end(
    pocket: Phone, link: WeakLink, server: Server
) -> None:
    """Pages are asked for ahead, each once, but not before what is there to send."""
    fill_book(server, 900)
    bodies: list[Any] = []

    def note(request: Request) -> None:
        if request.url.endswith("/api/sync"):
            bodies.append(body_of(request))

    pocket.page.on("request", note)
    link.rate = 100_000
    pocket.nudge()
    pocket.until(lambda: len(bodies) > 2, "pages arrive")
    write_notes(pocket, 1)
    until_level(pocket, server, [""])
    sent = [place for place, body in enumerate(bodies) if body["changes"]]
    assert sent[0] < len(bodies) - 1, "it was sent last"
    cursors = [body["cursor"] for body in bodies[: sent[0]]]
    assert len(cursors) == len(set(cursors)) > 2


def test_a_good_link_is_used(pocket: Phone, link: WeakLink, server: Server) -> None:
    """What a weak link gets in drops, a good one gets in a few requests."""
    before = int(asked(server.data, "SELECT COUNT(*) FROM change")[0][0])
    write_notes(pocket, 1_000)
    requests: list[str] = []
    pocket.page.on("request", lambda request: requests.append(request.url))
    until_level(pocket, server, [""])
    assert int(asked(server.data, "SELECT COUNT(*) FROM change")[0][0]) == before + 3_000
    assert sum(url.endswith("/api/sync") for url in requests) < 20
