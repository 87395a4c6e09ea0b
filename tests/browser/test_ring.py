"""How Ring begins and ends in the day: what the steward calls, a walk that was broken off, a note
between two stations, and where Finish leads. What one station shows is in test_glance.py."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.browser.phone import Phone
from tests.browser.watch import Watch
from tests.support import Server

HOUR_MS = 60 * 60_000
PHONE = {"viewport": {"width": 360, "height": 800}, "has_touch": True}
SECRET = "Toes out a little; do not let on."

# In the page: what the badge for the sync ever said.
BADGE = """() => {
  globalThis.badges = new Set();
  const look = () => {
    const words = document.querySelector("#main [data-role=sync]")?.textContent;
    if (words) badges.add(words);
  };
  new MutationObserver(look).observe(document.body, {
    subtree: true, childList: true, characterData: true,
  });
}"""


@pytest.fixture(scope="module")
def demo(
    make_server: Callable[..., Server], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Server]:
    with make_server(tmp_path_factory.mktemp("ring") / "data") as server:
        yield server


@pytest.fixture
def phone(demo: Server, watch: Watch, browser: Browser) -> Phone:
    context = watch.add(browser.new_context(**PHONE))
    started = Phone(context.new_page(), demo.url).open()
    expect(started.page.locator("#main .sync-line")).to_contain_text("All synced")
    return started


def main(phone: Phone) -> Any:
    return phone.page.locator("#main")


def role(phone: Phone, name: str) -> Any:
    return main(phone).locator(f"[data-role={name}]").first


def tap(phone: Phone, name: str) -> None:
    phone.wait_out_guard()
    role(phone, name).tap()


# Before every other entry of the demo's day, whatever the time is.
EARLY = "0:01"


def enter(phone: Phone, dog: str, **values: Any) -> str:
    """Enter a dog in a show of today; gives the entry's id."""
    today = phone.page.evaluate("new Date().toLocaleDateString('sv')")
    show = phone.store(
        "write('show', null, it)", {"name": "Fen Show", "body": "KC", "day": today, "place": "Fen"}
    )
    called = {"klass": "open", "ring": "4", "time": EARLY, "armband": "77", "judge": "A. Reed"}
    values = {"dog": phone.dogs[dog], "show": show, **called, **values}
    entry: str = phone.store("write('entry', null, it)", values)
    return entry


def walk_on(phone: Phone, until: str = "") -> None:
    """Tap Done until a station (or the last Finish) is shown."""
    for _ in range(40):
        primary = role(phone, "primary")
        if (
            primary.inner_text() == "Finish"
            or main(phone).locator(".ring-station").inner_text() == until
        ):
            return
        phone.tap_done()


def test_a_walk_of_an_entry_from_the_call_to_the_end(phone: Phone, demo: Server) -> None:
    """The steward's words, a walk in which the sync says nothing, and back to the entry."""
    entry = enter(phone, "Drift")
    phone.show(f"entry/{entry}/ring")
    called = main(phone).get_by_role("region", name="What the steward calls")
    expect(called).to_have_text(
        re.compile(r"Armband\s*77\s*Ring\s*4\s*Time\s*0:01\s*Class\s*Open\s*Judge\s*A\. Reed")
    )
    assert Axe().run(phone.page).violations_count == 0
    # The dog's own way in finds the entry of the day as well.
    phone.show(f"dog/{phone.dogs['Drift']}/ring")
    expect(called).to_contain_text("77")
    main(phone).get_by_role("button", name="Go in").tap()
    expect(role(phone, "primary")).to_be_visible()
    walk = phone.page.evaluate("location.hash").split("/")[2]
    phone.page.evaluate(BADGE)
    # Slow enough for the sync to send and to answer in between.
    for _ in range(4):
        phone.tap_done()
        phone.until(lambda: not phone.changes("unsent"), "the book has the tap")
    walk_on(phone)
    phone.until(lambda: not phone.changes("unsent"), "the book has the walk")
    assert phone.page.evaluate("[...badges]") == []
    assert phone.records("walk", entry=entry)[0]["id"] == walk
    phone.tap_done()
    phone.until(
        lambda: phone.page.evaluate("location.hash") == f"#/gate/{entry}",
        "Finish leads to the entry",
    )
    # An entry that is gone leaves the dog.
    phone.store("write('entry', it, { deleted: true })", entry)
    phone.store("write('walk', it, { ended: null })", walk)
    phone.show(f"ring/{walk}")
    tap(phone, "primary")
    expect(main(phone).get_by_role("heading", level=1, name="Drift")).to_be_visible()


def test_what_is_not_known_yet_is_said(phone: Phone) -> None:
    entry = enter(phone, "Teasel", armband=None, time=None)
    phone.show(f"entry/{entry}/ring")
    called = main(phone).get_by_role("region", name="What the steward calls")
    expect(called).to_have_text(re.compile(r"Armband\s*none yet\s*Ring\s*4\s*Time\s*not known"))


def test_a_broken_off_walk_goes_on_or_starts_anew(phone: Phone) -> None:
    """How far it came and what was last; two ways on, and the old walk is over by the second."""
    dog = phone.dogs["Puddle"]
    walk = phone.put_walk("ring", "Puddle", "bite", {"head": "done", "eyes": "done"}, HOUR_MS)
    phone.show(f"dog/{dog}/ring")
    expect(main(phone)).to_contain_text("Hands-on exam: 2 of 8 done")
    expect(role(phone, "last")).to_have_text("Last: Eyes done, 1 h ago")
    main(phone).get_by_role("button", name="Go on at Bite").tap()
    expect(main(phone).locator(".ring-station")).to_have_text("Bite")
    assert phone.page.evaluate("location.hash") == f"#/ring/{walk}"
    phone.show(f"dog/{dog}/ring")
    main(phone).get_by_role("button", name="Start over").tap()
    expect(main(phone).locator(".ring-station")).to_have_text("Outline")
    assert phone.page.evaluate("location.hash") != f"#/ring/{walk}"
    assert phone.store("get('walk', it)", walk)["values"]["ended"]


def test_a_walk_left_alone_for_twelve_hours_is_closed_and_can_be_reopened(phone: Phone) -> None:
    """Counted from the last thing done, at the time that is given; another day it is not offered as
    open anywhere, and one tap brings it back. A rehearsal likewise."""
    rule = """async (cases) => {
      const main = document.querySelector("script[type=module]").src;
      const { isOver } = await import(new URL("../js/core/walk.js", main));
      return cases.map(([walk, touched, now]) => isOver(walk, touched, Date.parse(now)));
    }"""
    cases = [
        ({}, "2027-03-04T09:00:00Z", "2027-03-04T20:59:59Z", False),
        ({}, "2027-03-04T09:00:00Z", "2027-03-04T21:00:00Z", True),
        ({"ended": None}, "2027-03-04T09:00:00Z", "2027-03-04T09:00:00Z", False),
        ({"ended": "2027-03-04T09:00:00Z"}, "2027-03-04T09:00:00Z", "2027-03-04T09:00:00Z", True),
    ]
    assert phone.page.evaluate(rule, [case[:3] for case in cases]) == [case[3] for case in cases]

    dog = phone.dogs["Cobble"]
    ticks = {"head": "done", "eyes": "done"}
    walk = phone.put_walk("ring", "Cobble", "ears", ticks, 11 * HOUR_MS)
    phone.show(f"dog/{dog}/ring")
    expect(main(phone).get_by_role("button", name="Go on at Ears")).to_be_visible()
    # Begun long ago, but touched since.
    old = phone.put_walk("ring", "Cobble", "ears", ticks, 10 * HOUR_MS)
    long_ago = phone.page.evaluate("(ago) => new Date(Date.now() - ago).toISOString()", 9 * HOUR_MS)
    phone.store("write('walk', it[0], { began: it[1] })", [old, long_ago])
    phone.show(f"dog/{dog}/ring")
    expect(main(phone).get_by_role("button", name="Go on at Ears")).to_be_visible()
    for past in (walk, old):
        phone.store("write('walk', it, { deleted: true })", past)
    walk = phone.put_walk("ring", "Cobble", "ears", ticks, 13 * HOUR_MS)
    phone.show(f"dog/{dog}")
    expect(main(phone).get_by_role("link", name="Ring", exact=True)).to_be_visible()
    phone.show(f"dog/{dog}/ring")
    expect(main(phone).get_by_role("button", name="Go in")).to_be_visible()
    again = "Reopen the last walk at Ears, left 13 h ago"
    main(phone).get_by_role("button", name=again).tap()
    expect(main(phone).locator(".ring-station")).to_have_text("Ears")
    assert phone.tick_states(walk) == ticks

    rehearsal = phone.put_walk("rehearse", "Cobble", "ears", {}, 13 * HOUR_MS)
    phone.show(f"dog/{dog}/rehearse")
    expect(main(phone).get_by_role("button", name="Begin")).to_be_visible()
    main(phone).get_by_role("button", name=again).tap()
    phone.until(
        lambda: phone.page.evaluate("location.hash") == f"#/rehearsal/{rehearsal}", "it is reopened"
    )


def test_the_gate_begins_anew_where_a_walk_was_left_alone(phone: Phone) -> None:
    """Go in takes up a walk of this entry that is not over, however much older one lies about."""
    entry = enter(phone, "Cobble", ring="4")
    for hours, is_taken_up in ((13, False), (1, True)):
        walk = phone.put_walk("ring", "Cobble", "ears", {"head": "done"}, hours * HOUR_MS)
        phone.store(f"write('walk', it, {{ entry: '{entry}' }})", walk)
        phone.show(f"gate/{entry}")
        main(phone).get_by_role("button", name="Go in").click()
        expect(role(phone, "primary")).to_be_visible()
        assert phone.page.url.endswith(walk) is is_taken_up
        phone.store("write('walk', it, { ended: new Date().toISOString() })", walk_shown(phone))


def walk_shown(phone: Phone) -> str:
    return phone.page.url.rpartition("/")[2]


def test_home_tells_each_walk_that_is_open(phone: Phone) -> None:
    """The newest three, and the names of the others, who have them on their pages."""
    for minutes, dog in enumerate(("Cobble", "Gustav", "Teasel", "Bramble"), start=1):
        phone.put_walk("ring", dog, "ears", {}, minutes * 60_000)
    phone.go()
    rows = main(phone).locator(".onward-row")
    expect(rows).to_have_count(4)
    for place, dog in enumerate(("Cobble", "Gustav", "Teasel")):
        expect(rows.nth(place)).to_contain_text(f"Go on with {dog}")
    expect(rows.nth(3)).to_have_text(re.compile(r"and \d+ more.*Bramble"))
    assert rows.nth(3).get_attribute("href") is None


def test_a_line_of_another_body_is_told_as_such(phone: Phone, demo: Server) -> None:
    """A dog under the AKC has its own line at the bite, and the FCI's at the eyes."""
    dog = phone.dogs["Bramble"]
    phone.store("write('dog', it, { body: 'AKC' })", dog)
    phone.sync(demo.data)
    for station, words in (("bite", "Asked: large teeth"), ("eyes", "FCI asks: dark")):
        phone.show(f"ring/{phone.put_walk('ring', 'Bramble', station, {})}")
        expect(role(phone, "asked")).to_contain_text(words)


def test_a_private_note_in_two_taps_from_ring_and_rehearse(phone: Phone) -> None:
    """Note, then Save note: hidden at once, out of the page; a half-written one outlives a kill."""
    dog = phone.dogs["Gustav"]
    phone.show(f"ring/{phone.put_walk('ring', 'Gustav', 'knees', {})}")
    tap(phone, "note")
    field = main(phone).get_by_label("Private note")
    expect(field).to_be_focused()
    assert Axe().run(phone.page).violations_count == 0
    field.type(SECRET)
    # Half written, it is there again after a kill; on the card nothing of it is seen.
    tap(phone, "close")
    assert SECRET not in phone.page.content()
    drafted = f"draft('new note {dog} knees')"
    phone.until(lambda: (phone.store(drafted) or {}).get("values") == {"text": SECRET}, "a draft")
    phone.page.reload()
    expect(role(phone, "primary")).to_be_visible()
    tap(phone, "note")
    expect(field).to_have_value(SECRET)
    tap(phone, "keep")
    expect(main(phone).locator("[data-role=sheet]")).to_have_count(0)
    assert [row["values"]["text"] for row in phone.records("note", dog=dog, station="knees")][
        -1:
    ] == [SECRET]
    assert SECRET not in phone.page.content()
    # Saved, it is no draft any more: it is hidden under the field, and at the end of More.
    for sheet in ("note", "more"):
        tap(phone, sheet)
        veils = main(phone).get_by_role("button", name="Show note")
        expect(veils.last).to_be_visible()
        assert SECRET not in phone.page.content()
        veils.last.tap()
        expect(main(phone).get_by_text(SECRET)).to_be_visible()
        tap(phone, "close")

    phone.show(f"rehearsal/{phone.put_walk('rehearse', 'Gustav', 'knees', {})}")
    main(phone).get_by_role("button", name="Note", exact=True).tap()
    expect(field).to_be_focused()
    expect(field).to_have_value("")
    field.type("Better on grass.")
    tap(phone, "keep")
    expect(field).to_have_count(0)
    assert phone.records("note", dog=dog, station="knees", text="Better on grass.")
    assert "Better on grass." not in phone.page.content()


def test_more_opens_with_the_standard_and_shows_that_it_goes_on(phone: Phone) -> None:
    """What is asked first, then what disqualifies, then hands, care and avoid."""
    phone.show(f"ring/{phone.put_walk('ring', 'Gustav', 'bite', {})}")
    tap(phone, "more")
    sheet = role(phone, "sheet")
    heads = sheet.get_by_role("heading", level=2).all_inner_texts()
    wanted = ["The standard asks", "Disqualifies", "Faults", "Do", "Take care", "Avoid"]
    assert heads[:2] == wanted[:2]
    assert [head for head in heads if head in wanted] == [head for head in wanted if head in heads]
    below = sheet.locator("[data-part=below]")
    expect(below).to_be_visible()
    body = sheet.locator(".ring-sheet-body")
    body.evaluate("(body) => body.scrollTo(0, body.scrollHeight)")
    expect(below).to_be_hidden()
    # The list leads to a station of another phase.
    tap(phone, "close")
    tap(phone, "list")
    phone.wait_out_guard()
    main(phone).get_by_role("button", name="Triangle to come").tap()
    expect(main(phone).locator(".ring-station")).to_have_text("Triangle")


def test_what_waits_is_counted_as_what_was_done(phone: Phone, watch: Watch) -> None:
    """A dog of five fields that was written in one go is one thing that waits."""
    watch.allowed_errors += ("Failed to load resource", "net::ERR_")
    phone.store("count('dog', '')")  # The store itself is fetched while the server is there.
    phone.page.context.set_offline(True)
    values = {"name": "Moss", "breed": "pug", "sex": "dog", "born": "2024-05-17", "body": "FCI"}
    phone.store("write('dog', null, it)", values)
    phone.go()
    expect(main(phone).locator(".sync-line")).to_contain_text("1 change to send")
    phone.store("write('dog', null, it)", {**values, "name": "Fern"})
    expect(main(phone).locator(".sync-line")).to_contain_text("2 changes to send")
