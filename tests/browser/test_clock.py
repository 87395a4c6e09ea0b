"""The day of a show, from its closing date to the results: two dogs in two rings at about one time,
a lunch, a pause, an absent dog, no server from morning to evening and three kills; afterwards all
of it is in the book, once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.phone import OUT_OF_REACH, Phone, assert_level, kill_browser
from tests.support import Server

SMALL = {"viewport": {"width": 360, "height": 640}}
SHOW = "Quarry Field Open Show"


class Clock:
    """A ring clock in somebody's hand."""

    def __init__(self, phone: Phone, entry: str) -> None:
        self.phone, self.page, self.entry = phone, phone.page, entry
        self.tapped: list[str] = []

    def open(self) -> Clock:
        self.phone.show(f"entry/{self.entry}/clock")
        return self

    def set_up(self, **typed: str) -> Clock:
        self.open().page.get_by_role("link", name="Set up the clock").click()
        for name, words in typed.items():
            self.page.locator(f'#main form [name="{name}"]').fill(words)
        self.page.locator("#main form").get_by_role("button", name="Save").click()
        expect(self.page.locator("[data-role=clock]")).to_be_visible()
        return self

    def tap(self, *names: str) -> None:
        """Tap buttons, one after the other, each long after the one before."""
        for name in names:
            button = self.page.get_by_role("button", name=name, exact=True)
            if not button.is_visible():
                self.page.locator("summary", has_text="More:").click()
            self.phone.wait_out_guard()
            button.click()
            self.tapped.append(name)

    def ahead(self) -> str:
        return self.page.locator("[data-part=ahead]").inner_text()

    def kept(self) -> list[str]:
        """What the phone has, in the order of the taps."""
        taps = [row["values"] for row in self.phone.records("ringtap", ringday=self.ring())]
        alive = [tap for tap in taps if not tap.get("deleted")]
        return [tap["what"] for tap in sorted(alive, key=lambda tap: tap["at"])]

    def ring(self) -> str:
        (entry,) = [row for row in self.phone.records("entry") if row["id"] == self.entry]
        found = [
            row["id"]
            for row in self.phone.records("ringday")
            if row["values"].get("ring") == entry["values"]["ring"]
        ]
        assert len(found) == 1
        return str(found[0])


def plan_a_show(phone: Phone) -> None:
    """Write a show down whose entries closed three weeks ago, and which is today."""
    page, today = phone.page, date.today()
    phone.show("shows/new")
    page.get_by_label("Name of the show").fill(SHOW)
    page.get_by_label("Under the rules of").select_option("KC")
    page.get_by_label("First day").fill(today.isoformat())
    closing = page.get_by_label("Day entries close")
    closing.fill((today + timedelta(1)).isoformat())
    page.get_by_role("button", name="Save").click()
    expect(closing).to_have_attribute("aria-invalid", "true")
    closing.fill((today - timedelta(21)).isoformat())
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1, name=SHOW)).to_be_visible()


def enter(phone: Phone, dog: str, ring: str, judge: str) -> str:
    """Enter a dog from the page of the show, which is left open; gives the entry's id."""
    page = phone.page
    (show,) = phone.records("show", name=SHOW)
    phone.show(f"show/{show['id']}")
    page.get_by_role("link", name=dog, exact=True).click()
    page.get_by_label("Class").select_option("open")
    page.get_by_text(re.compile("^May enter")).click()
    expect(page.locator("[data-part=ruling-source]")).to_contain_text("Show Regulations F")
    page.get_by_label("Ring").fill(ring)
    page.get_by_label("Judge").fill(judge)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1, name=f"Gate: {dog}")).to_be_visible()
    (entry,) = phone.records("entry", dog=phone.dogs[dog], show=show["id"])
    return str(entry["id"])


def tick_a_task(phone: Phone, entry: str) -> None:
    phone.show(f"entry/{entry}/countdown")
    phone.page.locator(".gate-tick").first.click()
    phone.until(lambda: len(phone.records("task", entry=entry)) == 1, "the tick is kept")


def write_result(phone: Phone, entry: str, placing: str, critique: str) -> None:
    page = phone.page
    phone.show(f"entry/{entry}/result")
    page.get_by_role("button", name=placing, exact=True).click()
    page.get_by_label("Critique").fill(critique)
    page.get_by_label("Dogs in the class").fill("9")
    page.get_by_role("button", name="Topline", exact=True).click()
    wanted = {"entry": entry, "critique": critique, "competing": 9}
    kept = phone.until(lambda: phone.records("result", **wanted), "the result is kept")
    phone.until(lambda: phone.records("lesson", result=kept[0]["id"]), "the lesson is kept")


def test_a_day_at_two_rings(
    server: Server,
    persistent_context: Callable[..., BrowserContext],
    tmp_path: Path,
    allowed_errors: list[str],
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    profile = tmp_path / "profile"
    context = persistent_context(profile, **SMALL)
    phone = Phone(context.pages[0], server.url).open().ready_offline()
    plan_a_show(phone)
    teasel = enter(phone, "Teasel", "4", "M. Alder")
    gustav = enter(phone, "Gustav", "Ring 5", "Mrs M. Alder")
    tick_a_task(phone, teasel)
    phone.sync(server.data)
    server.kill()

    # Both go in after about as many dogs: the clock says so, and the show's page too.
    Clock(phone, gustav).set_up(ahead="3", before="6")
    one = Clock(phone, teasel).set_up(ahead="3, 4", before="2", lunch_from="0:00", lunch_to="0:01")
    expect(phone.page.locator("[data-part=minutes]")).to_have_text("No time")
    one.tap("Judging began")
    expect(phone.page.locator("[data-part=minutes]")).to_contain_text("min")
    assert "9 dogs before yours in 3 classes" in one.ahead()
    one.tap("Dog judged", "Absent", "Dog judged", "Dog judged", "Undo", "Absent")
    assert "5 dogs before yours in 2 classes, 4 seen, 2 of them absent" in one.ahead()
    wanted = ["begun", "judged", "absent", "judged", "absent"]
    phone.until(lambda: one.kept() == wanted, "all taps are kept")
    kill_browser(context, profile)

    # The same again after a kill; and at the very moment of a tap, with it or without it.
    context = persistent_context(profile, **SMALL)
    phone = Phone(context.pages[0], server.url).open(f"entry/{teasel}/clock")
    one = Clock(phone, teasel)
    expect(phone.page.locator("[data-part=ahead]")).to_contain_text("4 seen")
    assert one.kept() == wanted
    one.tap("Dog judged")
    kill_browser(context, profile)

    context = persistent_context(profile, **SMALL)
    phone = Phone(context.pages[0], server.url).open(f"entry/{teasel}/clock")
    one = Clock(phone, teasel)
    expect(phone.page.locator("[data-part=ahead]")).to_contain_text("seen")
    assert one.kept() in (wanted, [*wanted, "judged"])
    wanted = one.kept()
    one.tap("Lunch")
    expect(phone.page.locator("[data-part=range]")).to_contain_text("min")
    one.tap("Goes on", "Ring paused")
    expect(phone.page.get_by_text("Paused. If it goes on now")).to_be_visible()
    one.tap("Goes on")
    phone.page.get_by_label("Starts late").fill("soon")
    phone.wait_out_guard()
    phone.page.get_by_role("button", name="Set", exact=True).click()
    expect(phone.page.get_by_text("Write a time like 13:30.")).to_be_visible()
    wanted += ["lunch", "goes on", "paused", "goes on"]
    phone.until(lambda: one.kept() == wanted, "all taps are kept")

    # Into the ring and out again: the clock is one tap away.
    phone.page.get_by_role("link", name="Ring", exact=True).click()
    phone.page.get_by_role("button", name="Go in").click()
    phone.leave_card()
    expect(phone.page.get_by_role("button", name="Dog judged")).to_be_visible()

    other = Clock(phone, gustav).open()
    other.tap("Judging began", "Dog judged")
    expect(
        phone.page.get_by_text("Gustav and Teasel (ring 4) may be called at once")
    ).to_be_visible()
    phone.until(lambda: other.kept() == ["begun", "judged"], "all taps are kept")
    (show,) = phone.records("show", name=SHOW)
    phone.show(f"show/{show['id']}")
    expect(phone.page.locator(".notice", has_text="Teasel").first).to_be_visible()

    write_result(phone, teasel, "1st", "Clean outline, topline a shade soft.")
    write_result(phone, gustav, "Unplaced", "Good head. Topline rises.")
    kill_browser(context, profile)

    context = persistent_context(profile, **SMALL)
    phone = Phone(context.pages[0], server.url).open(f"entry/{gustav}/clock")
    server.start()
    phone.sync(server.data)
    assert_level(phone, server.data)
    assert Clock(phone, teasel).kept() == wanted
    assert Clock(phone, gustav).kept() == ["begun", "judged"]
    undone = [row for row in phone.records("ringtap") if row["values"].get("deleted")]
    assert len(undone) == 1
    assert max(Counter(row["id"] for row in phone.records("ringtap")).values()) == 1
    for entry, placing in ((teasel, "1"), (gustav, "unplaced")):
        (kept,) = phone.records("result", entry=entry)
        assert kept["values"]["placing"] == placing
        assert len(phone.records("lesson", result=kept["id"])) == 1
    assert (
        len(phone.records("award", entry=teasel)) == len(phone.records("task", entry=teasel)) == 1
    )
    # A month later: what this judge said before, however the name was written.
    phone.show("judge/m%20alder")
    for words in ("Clean outline", "Good head"):
        expect(phone.page.get_by_text(words, exact=False).first).to_be_visible()


def test_what_to_do_changes_as_the_turn_comes(server: Server, page: Callable[..., Page]) -> None:
    """Bramble's ring in the demo, whose clock runs: minutes, steps, the gate, and done."""
    phone = Phone(page(**SMALL), server.url).open()
    phone.until(lambda: phone.meta("synced"), "the demo is here, which comes in pages")
    (ring,) = phone.records("ringday")
    entry = phone.entry_to_come("Bramble")
    clock = Clock(phone, entry).open()
    view = phone.page
    minutes, name = view.locator("[data-part=minutes]"), view.locator(".clock-name")
    size = "node => parseFloat(getComputedStyle(node).fontSize)"
    assert minutes.evaluate(size) >= 50
    assert "8 dogs before yours in 3 classes, 5 seen, 1 of them absent" in clock.ahead()
    expect(view.locator("[data-part=undo]")).to_be_enabled()
    assert view.evaluate("document.documentElement.scrollWidth") <= 360
    judged = view.get_by_role("button", name="Dog judged").bounding_box()
    assert judged
    assert judged["height"] >= 80
    assert judged["y"] + judged["height"] <= 640
    broken = Axe().run(view, options={"preload": False}).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in broken] == []

    first = name.inner_text()
    clock.tap(*["Dog judged"] * 6)
    expect(name).to_have_text("Go to the gate")
    assert first != "Go to the gate"
    clock.tap(*["Dog judged"] * 2)
    expect(minutes).to_have_text("Now")
    clock.tap("Dog judged")
    expect(minutes).to_have_text("Shown")
    expect(view.get_by_role("link", name="Write the result")).to_be_visible()
    clock.tap("Undo")
    expect(minutes).to_have_text("Now")
    assert {row["values"]["ringday"] for row in phone.records("ringtap")} == {ring["id"]}
