"""Home and the short ways from it: the day of a show, taps to what one comes for, drafts that stay,
and what a form does not believe."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, Route, expect

from ringside.domain.days import say_day
from tests.browser.phone import POCKET, Phone
from tests.support import Server

TODAY = date.today()


@pytest.fixture
def phone(page: Callable[..., Page], server: Server) -> Phone:
    return Phone(page(**POCKET), server.url).open().ready_offline()


class Taps:
    """A finger that counts. Typing is no tap, and the keyboard's own keys are not."""

    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        self.count = 0

    @property
    def page(self) -> Page:
        return self.phone.page

    def begin(self) -> Taps:
        """Stand at home, with nothing tapped yet."""
        self.phone.go()
        self.count = 0
        return self

    def tap(self, what: Locator) -> Taps:
        expect(what).to_be_visible()
        what.click()
        self.count += 1
        return self

    def link(self, name: str) -> Taps:
        return self.tap(self.page.get_by_role("link", name=name, exact=True))

    def row(self, name: str) -> Taps:
        """Tap the row of a dog in the list of dogs."""
        return self.tap(self.page.locator(".dog-row", has_text=name))

    def button(self, name: str) -> Taps:
        return self.tap(self.page.get_by_role("button", name=name, exact=True))

    def choose(self, label: str, **option: Any) -> Taps:
        """Open a list and take one of it: two taps."""
        self.page.get_by_label(label, exact=True).select_option(**option)
        self.count += 2
        return self


def test_the_short_ways(phone: Phone) -> None:
    """Taps from the list of dogs to what one came for."""
    taps, page = Taps(phone), phone.page

    taps.begin().link("Ring: Gustav").button("Go in")
    expect(page.locator(".ring-done")).to_be_visible()
    assert taps.count == 2
    phone.leave_card()

    taps.begin().tap(page.locator(".day-gate", has_text="Bramble"))
    expect(page).to_have_url(re.compile("#/gate/"))
    assert taps.count == 1

    taps.begin().row("Teasel").link("Write a note")
    page.get_by_label("Private note").fill("Bait in the left pocket")
    taps.button("Save note")
    expect(page.get_by_role("heading", level=1, name="Teasel")).to_be_visible()
    assert taps.count == 3
    assert phone.records("note", text="Bait in the left pocket")
    assert "Bait in the left pocket" not in page.content()

    taps.begin().link("Add a dog")
    expect(page.get_by_label("Call name")).to_be_focused()
    page.keyboard.type("Quill")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Breed", exact=True)).to_be_focused()
    page.keyboard.type("whippe")
    taps.tap(page.get_by_role("option", name="Whippet", exact=True))
    taps.tap(page.locator(".choices label", has_text=re.compile("^Bitch$")))
    taps.tap(page.get_by_label("Date of birth"))
    page.get_by_label("Date of birth").fill("2024-05-17")
    taps.button("Save")
    expect(page.get_by_role("heading", level=1, name="Quill")).to_be_visible()
    assert taps.count == 5
    quill = phone.records("dog", name="Quill")[0]

    taps.begin().row("Quill")
    taps.tap(page.get_by_role("link", name=re.compile("^Enter in Hollow Meadow Open Show")))
    expect(page.get_by_role("heading", level=1, name="Enter Quill")).to_be_visible()
    assert not phone.records("entry", dog=quill["id"])  # nothing is written before it is saved
    taps.choose("Class", value="open").button("Save")
    expect(page).to_have_url(re.compile("#/gate/"))
    assert taps.count == 5
    assert phone.records("entry", dog=quill["id"])


def test_home_is_the_day_of_a_show(phone: Phone) -> None:
    """By time, the next one largest, each with its gate and Ring; on other days what comes next."""
    page = phone.page
    rows = page.locator(".day-entry")
    expect(rows.locator("strong")).to_have_text(["Puddle", "Drift", "Bramble", "Cobble"])
    expect(rows.nth(0)).to_contain_text("Shown")
    expect(rows.nth(1)).to_contain_text("In the ring, at Bite")
    expect(page.get_by_role("link", name="Go on: Drift")).to_be_visible()
    # In one look: the list may be drawn again between two.
    sizes = page.evaluate(
        "[...document.querySelectorAll('.day-entry strong')].map((it) =>"
        " parseFloat(getComputedStyle(it).fontSize))"
    )
    assert sizes[1] > sizes[0] == sizes[2] == sizes[3]

    # She comes out, and the next is the one after her.
    page.get_by_role("link", name="Go on: Drift").click()
    phone.walk_to_the_end()
    phone.go()
    expect(page.locator(".next strong")).to_have_text("Bramble")
    expect(page.locator(".next")).to_contain_text("Next: gate check")
    bramble = phone.entry_to_come("Bramble")
    ring = page.get_by_role("link", name="Ring: Bramble").first
    assert ring.get_attribute("href") == f"#/entry/{bramble}/ring"

    # Drawn at once when the app is opened, from what was remembered.
    remembered = page.evaluate("JSON.parse(localStorage.getItem('ringside-home'))")
    assert [row["name"] for row in remembered["entries"]] == [
        "Puddle",
        "Drift",
        "Bramble",
        "Cobble",
    ]

    # Tomorrow the list of dogs is first again, and the next show is named.
    (entry,) = (row for row in phone.records("entry") if row["id"] == bramble)
    show = entry["values"]["show"]
    phone.store("write('show', it, { day: '2020-01-01' })", show)
    expect(rows).to_have_count(0)
    ahead = page.get_by_role("link", name=re.compile("^Old Quarry Kennel Club Next show"))
    expect(ahead).to_be_visible()
    phone.dog("Gustav")
    expect(
        page.get_by_role("link", name=re.compile(r"^Old Quarry.* · ring 7 · 9:45"))
    ).to_be_visible()
    phone.dog("Teasel")
    expect(page.get_by_role("link", name=re.compile("^Enter in Old Quarry"))).to_be_visible()


def put_show(phone: Phone, name: str, first: int | None, last: int | None = None) -> str:
    """A show by its first and last day, days from today."""
    days = {"day": first, "until": last}
    told = {part: str(TODAY + timedelta(away)) for part, away in days.items() if away is not None}
    return str(phone.store("write('show', null, it)", {"name": name, "body": "KC", **told}))


def test_all_screens_go_by_the_day_of_an_entry(phone: Phone) -> None:
    """One whose day at a show that is on is over goes to the next, whatever one asks."""
    page, dog = phone.page, phone.dogs["Teasel"]
    later, yesterday = TODAY + timedelta(14), str(TODAY - timedelta(1))

    def enter(show: str, **values: str) -> None:
        phone.store("write('entry', null, it)", {"dog": dog, "show": show, **values})

    enter(put_show(phone, "Three Days", -1, 1), day=yesterday)
    phone.dog("Teasel")
    expect(page.get_by_role("link", name=re.compile("^Enter in Hollow Meadow"))).to_be_visible()

    enter(put_show(phone, "Tarn Side", 14))
    phone.dog("Teasel")
    words = f"Tarn Side · {say_day(later)}"
    expect(page.get_by_role("link", name=re.compile(f"^{words}"))).to_be_visible()
    phone.go(f"dog/{dog}/enter")
    expect(page.get_by_label("On", exact=True)).to_have_value(str(later))
    expect(page.get_by_label("Under the rules of")).to_have_value("KC")
    phone.go(f"dog/{dog}/print")
    expect(page.get_by_text(f"Tarn Side, {say_day(later)}").first).to_be_attached()
    phone.go(f"dog/{dog}/ring")
    expect(page.get_by_role("heading", level=1, name="Ring: Teasel")).to_be_visible()
    expect(page.get_by_label("What the steward calls")).to_have_count(0)
    phone.go()
    expect(page.locator(".day-entry", has_text="Teasel")).to_have_count(0)

    # Its own day is that of an entry, also at a show that has none yet.
    enter(put_show(phone, "No Day Yet", None), day=str(TODAY), armband="77")
    expect(page.locator(".day-entry", has_text="Teasel")).to_contain_text("armband 77")
    phone.go(f"dog/{dog}/ring")
    expect(page.get_by_label("What the steward calls")).to_contain_text("77")


def test_a_result_is_written_without_typing_the_show_again(phone: Phone) -> None:
    page = phone.page
    (entry,) = phone.records("entry", dog=phone.dogs["Drift"])
    phone.go(f"dog/{phone.dogs['Drift']}/awards")
    page.get_by_role("link", name=re.compile("^Hollow Meadow Open Show")).click()
    expect(page.get_by_label("Day")).to_have_value(TODAY.isoformat())
    expect(page.get_by_label("Judge", exact=True)).to_have_value("H. Rushlight")
    page.get_by_label("Award", exact=True).select_option("best-of-breed")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1, name="Titles")).to_be_visible()
    (award,) = phone.records("award", what="best-of-breed")
    assert (
        award["values"]
        | {
            "body": "KC",
            "day": TODAY.isoformat(),
            "judge": "H. Rushlight",
            "show": "Hollow Meadow Open Show",
            "klass": entry["values"]["klass"],
            "dog": phone.dogs["Drift"],
        }
        == award["values"]
    )
    expect(page.get_by_role("heading", name="Add a result")).to_be_hidden()


# --- drafts


def test_what_is_half_written_stays(
    persistent_context: Callable[..., BrowserContext], server: Server, tmp_path: Path
) -> None:
    """Over another screen, a kill and a week; on this phone alone; until it is saved or dropped."""
    context = persistent_context(tmp_path / "profile", **POCKET)
    phone = Phone(context.pages[0], server.url).open().ready_offline()
    drift, bramble = phone.dogs["Drift"], phone.dogs["Bramble"]
    written = {
        "dog/new": {"Call name": "Hazel", "Registered name (optional)": "Marrowby Half"},
        f"dog/{drift}/edit": {"Registration number (optional)": "EX 77"},
        "shows/new": {"Name of the show": "Three Elms", "Place (optional)": "By the elms"},
        f"dog/{drift}/award/new": {"Judge": "T. Wick"},
        f"dog/{drift}/measures": {"Value": "24.5"},
        f"dog/{bramble}/note": {"Private note": "Half a thought"},
    }
    for path, fields in written.items():
        phone.go(path)
        for label, words in fields.items():
            phone.page.get_by_label(label, exact=True).press_sequentially(words)
    phone.go(f"dog/{drift}/station/bite")
    phone.add_own("Own cue, up to five words", "Thumb under")
    phone.page.get_by_text("Write a note").click()
    phone.page.get_by_label("Private note").press_sequentially("Half a bite")
    drafts = len(written) + 1
    kept = lambda: [row for row in phone.rows("meta") if row["key"].startswith("draft ")]  # noqa: E731
    phone.until(lambda: len(kept()) == drafts, "the drafts are kept")
    assert not any("Half" in str(change) for change in phone.rows("changes"))
    context.close()

    context = persistent_context(tmp_path / "profile", **POCKET)
    phone = Phone(context.pages[0], server.url).open()
    page = phone.page
    for path, fields in written.items():
        phone.go(path)
        expect(page.get_by_text("You typed this")).to_be_visible()
        for label, words in fields.items():
            expect(page.get_by_label(label, exact=True)).to_have_value(words)
    phone.go(f"dog/{drift}/station/bite")
    expect(page.get_by_label("Private note")).to_be_hidden()
    page.get_by_text("Finish your note").click()
    expect(page.get_by_label("Private note")).to_have_value("Half a bite")
    page.get_by_role("button", name="Save note").click()
    expect(page.get_by_label("Private note")).to_have_value("")

    # Dropped, the form shows what is saved; saved, the draft is gone as well.
    phone.go("shows/new")
    page.get_by_role("button", name="Discard").click()
    expect(page.get_by_label("Name of the show")).to_have_value("")
    phone.go(f"dog/{bramble}/note")
    page.get_by_role("button", name="Save note").click()
    expect(page.get_by_role("heading", level=1, name="Bramble")).to_be_visible()
    phone.until(lambda: len(kept()) == drafts - 3, "three drafts are gone")
    phone.go("shows/new")
    expect(page.get_by_text("You typed this")).to_have_count(0)
    phone.go(f"dog/{bramble}/note")
    expect(page.get_by_label("Private note")).to_have_value("")


# --- what is not believed


def test_what_cannot_be_is_refused_at_its_field(phone: Phone) -> None:
    page = phone.page
    drift = phone.dogs["Drift"]

    def refused(fields: dict[str, str], reason: str) -> None:
        for label, words in fields.items():
            page.get_by_label(label, exact=True).fill(words)
        page.get_by_role("button", name="Save", exact=True).click()
        hint = page.locator(".hint.wrong", has_text=reason)
        expect(hint).to_be_visible()
        for label, words in fields.items():
            expect(page.get_by_label(label, exact=True)).to_have_value(words)

    phone.go(f"dog/{drift}/measures")
    refused({"Value": "500"}, "500 kg is too heavy for any dog")
    refused({"Value": "24", "Day": "2010-01-01"}, "The dog was born on")
    page.get_by_label("Height", exact=True).check()
    refused({"Value": "0.5", "Day": TODAY.isoformat()}, "0.5 cm is too low for any dog")

    phone.go("shows/new")
    refused({"Name of the show": "Old", "First day": "1900-05-01"}, "That is too long ago")
    last = (TODAY + timedelta(days=3653)).isoformat()
    until = {"First day": TODAY.isoformat(), "Last day (if more than one)": last}
    refused(until, "A show has at most 31 days")

    (entry,) = phone.records("entry", dog=drift)
    phone.go(f"entry/{entry['id']}")
    refused({"Time": "25:99"}, "There is no such time as 25:99")

    phone.go(f"dog/{drift}/award/new")
    page.get_by_label("Under the rules of").select_option("AKC")
    refused({"Day": TODAY.isoformat(), "Points": "99"}, "One show gives 5 points at most")
    refused({"Day": "2010-01-01", "Points": "3"}, "The dog was born on")
    page.get_by_label("Under the rules of").select_option("FCI")
    page.get_by_label("Points").fill("")
    refused({"Day": TODAY.isoformat(), "Country of the show": "UK"}, "write GB")

    phone.go(f"dog/{drift}/station/bite")
    page.get_by_label("Own cue, up to five words").fill("Put the thumb under and never over")
    page.get_by_label("Own cue, up to five words").press("Enter")
    expect(page.get_by_text("That is 7 words.")).to_be_visible()
    assert not phone.records("cue", dog=drift)

    # What may be right is asked about, once.
    bramble = phone.store("get('dog', it)", phone.dogs["Bramble"])["values"]
    count = len(phone.records("dog"))
    phone.go("dog/new")
    page.get_by_label("Call name").fill("bramble")
    page.get_by_label("Breed", exact=True).fill("Border Terrier")
    page.locator(".choices label", has_text=re.compile("^Bitch$")).click()
    refused({"Date of birth": bramble["born"]}, "Bramble, born that day, is already in the book")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1, name="bramble", exact=True)).to_be_visible()
    assert len(phone.records("dog")) == count + 1


def test_no_long_word_widens_a_page(phone: Phone) -> None:
    """3,000 letters without a break, and an address of 95."""
    word = "Unbroken" * 375
    puddle = phone.dogs["Puddle"]
    address = "https://" + "ring.example/" * 7
    show = {"name": "W" * 80, "body": "FCI", "day": TODAY.isoformat(), "place": address[:95]}
    show_id = phone.store("write('show', null, it)", show)
    now = datetime.now().strftime("%H:%M")
    entry = {"dog": puddle, "show": show_id, "time": now, "ring": "R" * 20, "judge": "J" * 60}
    entry_id = phone.store("write('entry', null, it)", entry | {"armband": "A" * 12})
    note = {"dog": puddle, "station": "bite", "text": word}
    phone.store("write('note', null, it)", note)
    phone.store(
        "write('ask', null, it)", {"breed": "labrador-retriever", "station": "bite", "says": word}
    )
    phone.store(
        "write('dog', it, { pedigree: 'P'.repeat(120), registration: 'R'.repeat(60) })", puddle
    )
    phone.store("write('kit', null, it)", {"dog": puddle, "line": "K" * 40})
    page = phone.page
    page.set_viewport_size({"width": 320, "height": 568})
    paths = ["", "shows", f"show/{show_id}", f"show/{show_id}/edit", f"entry/{entry_id}"]
    paths += [f"gate/{entry_id}", f"dog/{puddle}", f"dog/{puddle}/edit", f"dog/{puddle}/card"]
    paths += [
        f"dog/{puddle}/station/bite",
        f"dog/{puddle}/awards",
        f"entry/{entry_id}/award",
        "book",
    ]
    wide = {}
    for path in paths:
        phone.show(path)
        if veil := page.get_by_role("button", name="Show note").all():
            veil[0].click()
        measure = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        if over := page.evaluate(measure):
            wide[path] = over
    assert not wide


FRAMES = """
() => {
  localStorage.setItem("ringside-look", JSON.stringify({ theme: "dark" }));
  window.themes = [];
  const look = () => {
    themes.push(document.documentElement?.dataset.theme);
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}
"""


def test_a_dark_app_never_flashes_white(
    server: Server, context: Callable[..., BrowserContext]
) -> None:
    """Nothing is painted before the look is there, however late its script comes."""
    page = context(**POCKET).new_page()

    def late(route: Route) -> None:
        page.wait_for_timeout(400)
        route.continue_()

    page.route("**/early.js", late)
    page.add_init_script(f"({FRAMES})()")
    page.goto(server.url)
    expect(page.locator(".dog-row").first).to_be_visible()
    themes = page.evaluate("themes")
    assert len(themes) > 2
    assert set(themes) == {"dark"}


PRESS_WHILE_READING = """
async () => {
  window.row = document.querySelector(".dog-row");
  const { getAll } = IDBIndex.prototype;
  const read = new Promise((resolve) => {
    IDBIndex.prototype.getAll = function (...given) {
      IDBIndex.prototype.getAll = getAll;
      row.dispatchEvent(new PointerEvent("pointerdown", { bubbles: true }));
      resolve();
      return getAll.apply(this, given);
    };
  });
  new BroadcastChannel("ringside-store").postMessage("changed");
  await read;
}
"""


# Comes to its end when what was put off is drawn.
LIFT = """
async () => {
  row.dispatchEvent(new PointerEvent("pointerup", { bubbles: true }));
  while (row.isConnected) await new Promise((resolve) => setTimeout(resolve, 50));
}
"""


def test_nothing_is_drawn_anew_under_a_finger_that_came_while_it_was_read(phone: Phone) -> None:
    page = phone.page
    page.wait_for_timeout(1_000)  # what the sync of the first visit brought is drawn
    page.evaluate(PRESS_WHILE_READING)
    page.wait_for_timeout(1_000)  # in which the list would be drawn
    assert page.evaluate("row.isConnected")
    page.evaluate(LIFT)


def test_what_was_unfolded_to_be_read_stays_so_when_news_comes(phone: Phone) -> None:
    phone.show(f"dog/{phone.dogs['Drift']}/awards")
    folds = phone.page.locator("#main details")
    folds.first.locator("summary").click()
    phone.page.evaluate("document.querySelector('#main h1').classList.add('as-it-was')")
    phone.store("write('dog', it, { pedigree: 'Of another phone' })", phone.dogs["Drift"])
    expect(phone.page.locator(".as-it-was")).to_have_count(0)
    expect(folds.first).to_have_attribute("open", "")
    assert folds.evaluate_all("(all) => all.filter((one) => one.open).length") == 1


# `stayed`: whether the first row that was drawn is there still when the true list is. It is looked
# at in that moment: news, be it that the book is out of reach, draws the list anew soon after.
STAYED = """
new MutationObserver((_, watch) => {
  window.row ??= document.querySelector(".dog-row");
  if (!document.querySelector(".sync-line")?.textContent.trim()) return;
  window.stayed = { row: row.isConnected };
  watch.disconnect();
}).observe(document, { childList: true, characterData: true, subtree: true });
"""


def test_a_list_that_is_as_it_was_is_not_drawn_anew_and_another_is(phone: Phone) -> None:
    page = phone.page
    page.add_init_script(STAYED)

    def stayed() -> Any:
        page.reload()
        return phone.until(lambda: page.evaluate("globalThis.stayed"), "told")["row"]

    stayed()  # the first visit may have been left before what its sync brought was drawn
    assert stayed()
    expect(page.locator(".dog-row svg g").first).to_be_attached()
    page.evaluate(  # the last that this page keeps of its list
        "localStorage.setItem('ringside-home',"
        " localStorage.getItem('ringside-home').replaceAll('Bramble', 'Bracken'));"
        "Storage.prototype.setItem = () => {}"
    )
    assert not stayed()
    expect(page.locator(".dog-row", has_text="Bramble")).to_be_visible()
    expect(page.locator(".dog-row", has_text="Bracken")).to_have_count(0)
