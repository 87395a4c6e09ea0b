"""The desk's home in a browser: what is ahead, what waits and what changed, wide and narrow."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from playwright.sync_api import Locator, Page, expect

from ringside.web.desk.moments import say_weekday
from tests.browser.measures import axe
from tests.browser.phone import Phone
from tests.browser.tour import PHONE, WINDOW
from tests.support import Server


def side(box: Locator) -> dict[str, float]:
    found = box.bounding_box()
    assert found
    return dict(found)


def test_the_desk_shows_the_day(server: Server, page: Callable[..., Page]) -> None:
    phone = Phone(page(viewport=WINDOW), server.url).open()
    phone.until(lambda: phone.meta("synced"), "the book was met")
    bramble = phone.dogs["Bramble"]
    values = {"dog": bramble, "station": "bite", "text": "Show the right side first"}
    phone.store("write('note', null, it)", values)
    phone.store("write('dog', it, { pedigree: 'Marrowby Bramble Way' })", bramble)
    phone.sync(server.data)
    desk = phone.page
    desk.goto(f"{server.url}desk")
    shows, waits, dogs, latest = (
        desk.locator(f"section:has(> #{name})") for name in ("shows", "waits", "dogs", "latest")
    )

    # Wide: shows and changes on the left, what waits and the dogs on the right.
    for left, right in ((shows, waits), (shows, dogs), (latest, dogs)):
        assert side(left)["x"] + side(left)["width"] <= side(right)["x"]
    assert side(waits)["y"] == side(shows)["y"]
    assert side(latest)["y"] > side(shows)["y"]

    expect(desk.get_by_text(say_weekday(date.today()))).to_be_visible()
    expect(shows.get_by_role("heading", level=3)).to_have_text(
        ["Hollow Meadow Open Show", "Old Quarry Kennel Club"]
    )
    today = shows.locator("article").first
    expect(today).to_contain_text("Today")
    expect(today.locator("li strong")).to_have_text(["Puddle", "Drift", "Bramble", "Cobble"])
    expect(today.locator("li").first).to_contain_text("Been in")
    expect(today.locator("li").nth(1)).to_contain_text("In the ring")
    expect(waits).to_contain_text("Nothing")
    expect(dogs.locator(f"#dog-{bramble}")).to_contain_text("Today Hollow Meadow Open Show")

    # In words, and a note stays veiled.
    newest = latest.locator("li").first
    expect(newest).to_contain_text("Bramble dog")
    expect(newest).to_contain_text("registered name Marrowby Bramble Way")
    expect(latest.get_by_text("Bite: (private)")).to_be_visible()
    assert "Show the right side first" not in latest.inner_text()
    assert re.fullmatch(r"\d\d:\d\d", newest.locator(".desk-time").inner_text())

    # Narrow: one below the other, and nothing beside the page.
    desk.set_viewport_size(PHONE)
    tops = [side(part)["y"] for part in (shows, waits, dogs, latest)]
    assert tops == sorted(tops)
    assert len({side(part)["x"] for part in (shows, waits, dogs, latest)}) == 1
    assert desk.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    for size in (PHONE, WINDOW):
        desk.set_viewport_size(size)
        assert axe(desk) == []

    # What is named leads to where it is changed.
    today.get_by_role("link", name="Bramble").click()
    expect(desk.get_by_role("heading", level=1, name="Bramble at the show")).to_be_visible()
