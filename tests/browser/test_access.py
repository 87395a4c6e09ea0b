"""Ringside can be used by everybody: axe finds nothing on any screen in any mode, the keyboard does
all that a finger does, and a screen reader is told what happens.

The tour of all screens (SCREENS) is used by test_looks.py as well.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests import pictures
from tests.browser.conftest import Watch
from tests.browser.phone import Phone
from tests.support import Server

PHONE = {"width": 360, "height": 800}
WINDOW = {"width": 1280, "height": 800}

JUST_NOW = f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%S}.000Z"

# Seconds; notes shall not veil themselves while they are looked at.
LONG_VEIL = 600
OTHER_NODE = "0000000000aa"


# --- Phones, and the tour of their screens ---------------------------------------------------


class TourPhone(Phone):
    """A phone that comes back from the desk by itself."""

    def start(self) -> None:
        """Open the app, and wait until the kennel stands."""
        self.page.goto(self.url)
        expect(self.page.locator(".sync-line")).to_be_visible()

    def meet(self) -> None:
        """Wait until the phone has what the book has."""
        expect(self.page.locator(".sync-line")).to_contain_text("All synced")

    def store(self, call: str, it: Any = None) -> Any:
        self._leave_desk()
        return super().store(call, it)

    def show(self, path: str) -> None:
        self._leave_desk()
        super().show(path)

    def first(self, kind: str) -> str:
        """The id of a record of this kind."""
        self._leave_desk()
        return min(row["id"] for row in self.records(kind))

    def _leave_desk(self) -> None:
        if "/desk" in self.page.url:
            self.start()


Open = Callable[[TourPhone], None]
SCREENS: dict[str, Open] = {}

# Screens of a phone that has never met its book, or has trouble with it; the others are of one
# that is in touch with the demo's.
BARE = {"kennel-empty"}
TROUBLED = {"kennel-trouble", "book-trouble", "station-apart"}


def screen(act: Open) -> Open:
    """Add a stop to the tour, named as the function is."""
    SCREENS[act.__name__.replace("_", "-")] = act
    return act


@screen
def kennel(phone: TourPhone) -> None:
    phone.show("")


@screen
def kennel_empty(phone: TourPhone) -> None:
    phone.show("")


@screen
def kennel_trouble(phone: TourPhone) -> None:
    phone.show("")
    expect(phone.page.locator(".notice")).to_have_count(3)


@screen
def dog(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}")


@screen
def dog_with_order(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}")


@screen
def dog_new(phone: TourPhone) -> None:
    phone.show("dog/new")


@screen
def note_new(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/note")


@screen
def dog_edit(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/edit")


@screen
def dog_form_wrong(phone: TourPhone) -> None:
    phone.show("dog/new")
    drop = phone.page.get_by_role("button", name="Discard")
    if drop.count():  # what another stop of the tour typed and left
        drop.click()
    phone.page.get_by_role("button", name="Save").click()
    expect(phone.page.locator(".hint.wrong")).to_have_count(4)


@screen
def dog_form_breeds(phone: TourPhone) -> None:
    phone.show("dog/new")
    phone.page.get_by_role("combobox", name="Breed").fill("te")
    phone.page.get_by_role("combobox", name="Breed").press("ArrowDown")
    expect(phone.page.locator("[role=option][aria-selected=true]")).to_be_visible()


@screen
def countdown(phone: TourPhone) -> None:
    phone.show(f"entry/{phone.first('entry')}/countdown")


@screen
def heat(phone: TourPhone) -> None:
    phone.show(f"entry/{phone.first('entry')}/heat")
    phone.page.get_by_text("The dog is too hot").click()


@screen
def calendar(phone: TourPhone) -> None:
    phone.show(f"show/{phone.first('show')}/calendar")


@screen
def card(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/card")


@screen
def station(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/station/bite")


@screen
def station_open(phone: TourPhone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="Show note").click()
    for summary in phone.page.locator("#main summary").all():
        summary.click()


@screen
def station_editing(phone: TourPhone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="Show note").click()
    phone.page.get_by_role("button", name="Change").click()


@screen
def station_apart(phone: TourPhone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="show both").click()
    expect(phone.page.locator(".apart")).to_be_visible()


@screen
def station_own(phone: TourPhone) -> None:
    """A station with a cue of one's own, and the ring drawn instead of a dog."""
    phone.show(f"dog/{phone.dogs['Bramble']}/station/head")


@screen
def station_ring(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Gustav']}/station/down_and_back")


@screen
def order_new(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/order/new")


@screen
def order_wrong(phone: TourPhone) -> None:
    order_new(phone)
    phone.page.get_by_role("button", name="Save").click()


@screen
def ring_start(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/ring")


@screen
def ring(phone: TourPhone) -> None:
    ticks = {"head": "done", "eyes": "skipped"}
    phone.show(f"ring/{phone.put_walk('ring', 'Bramble', 'bite', ticks)}")


@screen
def ring_list(phone: TourPhone) -> None:
    ring(phone)
    phone.page.get_by_role("button", name="List").click()


@screen
def ring_more(phone: TourPhone) -> None:
    ring(phone)
    phone.page.get_by_role("button", name="More", exact=True).click()


@screen
def ring_end(phone: TourPhone) -> None:
    ticks = dict.fromkeys(("outline", "free_stack", "approach", "lift", "walk_up"), "done")
    phone.show(f"ring/{phone.put_walk('ring', 'Bramble', 'end-of-first_look', ticks)}")
    expect(phone.page.locator("#main").get_by_text("Complete")).to_be_visible()


@screen
def ring_end_missed(phone: TourPhone) -> None:
    ticks = {"outline": "done"}
    phone.show(f"ring/{phone.put_walk('ring', 'Bramble', 'end-of-first_look', ticks)}")
    expect(phone.page.get_by_role("button", name="Skip").first).to_be_visible()


@screen
def rehearse_start(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/rehearse")


@screen
def rehearse(phone: TourPhone) -> None:
    phone.show(f"rehearsal/{phone.put_walk('rehearse', 'Bramble', 'bite', {})}")


@screen
def rehearse_end(phone: TourPhone) -> None:
    walk = phone.put_walk("rehearse", "Drift", "end", {})
    for station, grade in (("head", "easy"), ("bite", "needs work"), ("ears", "not yet")):
        values = {"dog": phone.dogs["Drift"], "walk": walk, "station": station}
        phone.store("write('practice', null, it)", values | {"grade": grade, "at": JUST_NOW})
    phone.show(f"rehearsal/{walk}")


@screen
def practice(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/practice")


@screen
def ear_start(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/ear")


@screen
def ear_end(phone: TourPhone) -> None:
    phone.show(f"ear/{phone.put_walk('rehearse', 'Bramble', 'end', {})}")
    expect(phone.page.get_by_role("button", name="Finish")).to_be_visible()


@screen
def settings(phone: TourPhone) -> None:
    phone.show("settings")


@screen
def book(phone: TourPhone) -> None:
    phone.show("sync")


@screen
def book_trouble(phone: TourPhone) -> None:
    phone.show("sync")
    expect(phone.page.get_by_role("button", name="Keep here only")).to_be_visible()


@screen
def removed(phone: TourPhone) -> None:
    values = {"dog": phone.dogs["Puddle"], "station": "head", "line": "Chin up, breathe out"}
    cue = phone.store("write('cue', null, it)", values)
    phone.store("write('cue', it, { deleted: true })", cue)
    phone.show("removed")


@screen
def elsewhere(phone: TourPhone) -> None:
    dog = phone.dogs["Puddle"]
    phone.store("write('cue', null, it)", {"dog": dog, "station": "wings", "line": "Fold them"})
    phone.store("write('note', null, it)", {"dog": dog, "station": "wings", "text": "Flaps."})
    phone.show(f"dog/{dog}/elsewhere")


@screen
def enter(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/enter")


@screen
def awards(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/awards")


@screen
def award_new(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/award/new")


@screen
def measures(phone: TourPhone) -> None:
    """A dog whose weight can be foretold, with its chart."""
    phone.show(f"dog/{phone.dogs['Gustav']}/measures")


@screen
def checks(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Puddle']}/checks")


SHADES = itertools.count()


def answer_look(phone: TourPhone) -> None:
    for words in ("Yes", "Right"):
        for label in phone.page.locator("fieldset label", has_text=words).all():
            label.click()


@screen
def photo_views(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/photo")


@screen
def photo_how(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/photo/side")


@screen
def photo_look(phone: TourPhone) -> None:
    """What is asked of a photo that was taken just now, and not answered."""
    photo_how(phone)
    another = pictures.jpeg(400, 300, shade=next(SHADES))  # what was answered of the last one stays
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": another}
    phone.page.locator("[data-part=camera]").set_input_files(picture)  # type: ignore[arg-type]
    phone.page.get_by_role("button", name="Save photo").click()
    expect(phone.page.locator(".hint.wrong")).to_have_count(3)
    phone.page.locator("label", has_text="No").first.click()


@screen
def photo(phone: TourPhone) -> None:
    photo_look(phone)
    answer_look(phone)
    phone.page.get_by_role("button", name="Save photo").click()
    phone.page.wait_for_url("**/mark")
    phone.show(f"photo/{phone.page.evaluate('location.hash').split('/')[2]}")
    expect(phone.page.locator(".photo-frame img")).to_be_visible()
    phone.page.get_by_text("Correct what was said").click()


def marked(phone: TourPhone, by: str = "Anna", **draft: Any) -> str:
    """The demo's photo of Sorrel, its marks begun as `draft` says; gives its id."""
    photo = min(row["id"] for row in phone.records("photo", dog=phone.dogs["Sorrel"]))
    phone.store("putDraft('who marks photos', it)", {"by": by})
    phone.store("putDraft(...it)", [f"marks {photo}", {"by": by, "round": 1, **draft}])
    return photo


def sorrels(phone: TourPhone) -> dict[str, Any]:
    """The marks that the demo has on it."""
    photo = min(row["id"] for row in phone.records("photo", dog=phone.dogs["Sorrel"]))
    row = phone.records("marking", photo=photo, by="Marrowby Lane")[0]
    marks: dict[str, Any] = json.loads(row["values"]["marks"])
    return marks


@screen
def mark_who(phone: TourPhone) -> None:
    photo = marked(phone, by="", marks={}, at="nose")
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_label("Your name or initials")).to_be_visible()


@screen
def mark(phone: TourPhone) -> None:
    photo = marked(phone, marks={}, at="withers")
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_role("heading", level=1, name="Withers")).to_be_visible()


@screen
def mark_line(phone: TourPhone) -> None:
    photo = marked(phone, marks=sorrels(phone), at="topline", more=True)
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_role("heading", level=1, name="Topline")).to_be_visible()


@screen
def mark_end(phone: TourPhone) -> None:
    photo = marked(phone, marks={**sorrels(phone), "brisket": None}, at="end", more=True)
    phone.show(f"photo/{photo}/mark")
    phone.page.get_by_text("All marks, to change one").click()


@screen
def mark_done(phone: TourPhone) -> None:
    photo = marked(phone, by="Marrowby Lane")
    phone.store("dropDraft(it)", f"marks {photo}")
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_role("heading", level=1, name="Marked")).to_be_visible()


@screen
def proportions(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Sorrel']}/proportions")
    phone.page.get_by_role("button", name="Show proportions").click()
    expect(phone.page.locator(".proportion").first).to_be_visible()
    for each in phone.page.locator(".proportions-open summary:visible").all():
        each.click()


@screen
def proportions_empty(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/proportions")
    expect(phone.page.get_by_text("No photo is marked yet.")).to_be_visible()


@screen
def photos(phone: TourPhone) -> None:
    """Two photos, of which one is lost and one waits to be saved."""
    values = {"dog": phone.dogs["Bramble"], "day": "2026-01-02", "view": "front", "stickers": True}
    phone.store("write('photo', null, it)", values)
    photo_look(phone)
    phone.show(f"dog/{phone.dogs['Bramble']}/photos")
    expect(phone.page.locator(".photo-small.gone").first).to_be_visible()


@screen
def litter_new(phone: TourPhone) -> None:
    phone.show("litter/new")


@screen
def shows(phone: TourPhone) -> None:
    phone.show("shows")


@screen
def show_new(phone: TourPhone) -> None:
    phone.show("show/new")


@screen
def show(phone: TourPhone) -> None:
    phone.show(f"show/{phone.first('show')}")


@screen
def entry_new(phone: TourPhone) -> None:
    phone.show(f"show/{phone.first('show')}/enter/{phone.dogs['Teasel']}")


@screen
def entry(phone: TourPhone) -> None:
    phone.show(f"entry/{phone.first('entry')}")


@screen
def gate(phone: TourPhone) -> None:
    phone.show(f"gate/{phone.first('entry')}")


@screen
def sources(phone: TourPhone) -> None:
    phone.show("sources")


@screen
def learn(phone: TourPhone) -> None:
    phone.show("learn")


@screen
def learn_walk(phone: TourPhone) -> None:
    phone.show("learn/walk")


@screen
def learn_round(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/learn/round")


@screen
def words(phone: TourPhone) -> None:
    phone.show("words")


@screen
def lost(phone: TourPhone) -> None:
    phone.show("nowhere/at/all")


@screen
def desk(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk")


@screen
def desk_dog(phone: TourPhone) -> None:
    """A dog with marks of practice; that with a chart of its weight is `desk_dog_weighed`."""
    phone.page.goto(f"{phone.url}desk/dog/{phone.dogs['Teasel']}")


@screen
def desk_dog_weighed(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/dog/{phone.dogs['Gustav']}")


@screen
def desk_devices(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/devices")


@screen
def desk_own(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/own")


@screen
def pocket_card(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/print")
    expect(phone.page.locator(".pocket-panel h3").first).to_be_visible()


@screen
def desk_season(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/season")


@screen
def desk_card(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/dog/{phone.dogs['Bramble']}/card")
    expect(phone.page.locator(".pocket-panel h3").first).to_be_visible()


@screen
def desk_import(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/dogs/import")


@screen
def desk_import_preview(phone: TourPhone) -> None:
    """A table with rows of every kind, a date to ask about, and a column to leave out."""
    desk_import(phone)
    phone.page.get_by_label("cells copied").fill(
        "id,Name,Registered name,Breed,Sex,Born,Vet\n"
        f"{phone.dogs['Teasel']},Teasel,,,,,Fernside\n"
        f"{phone.dogs['Gustav']},Gustav,Marrowby Pocket Thunder of the Long Lane,,,,\n"
        ",Juniper,Marrowby Juniper Wine,Wippet,bitch,14 March 2024,\n"
        ",Sorrel,,Pug,dog,03/04/2024,\n"
    )
    phone.page.get_by_role("button", name="Show what it will do").click()
    expect(phone.page.locator("[data-action]")).to_have_count(4)


@contextmanager
def phones(
    browser: Browser, server: Server
) -> Iterator[Callable[[str, dict[str, int]], TourPhone]]:
    """A function that gives the phone for a screen of the tour, in a window of some size. There
    is one demo for all of them, and a phone that is there already is used again; it starts anew
    for a window of another size, so tests of one size come one after another."""
    watch = Watch()
    # A book that is out of reach is meant to be.
    watch.allowed_errors.append("Failed to load resource: net::ERR_FAILED")
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

    try:
        yield phone_for
        unexpected = watch.unexpected()
    finally:
        # As the other fixtures do: pages first, or they would complain; how a server stops is
        # looked at elsewhere.
        watch.close()
        server.kill()
    assert not unexpected, "\n".join(unexpected)


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


@pytest.fixture(scope="module")
def phone_for(browser, make_server, tmp_path_factory):
    with phones(browser, make_server(tmp_path_factory.mktemp("tour") / "data")) as phone_for:
        yield phone_for


# --- axe -------------------------------------------------------------------------------------

MODES: dict[str, dict[str, str]] = {
    "light": {},
    "dark": {"color_scheme": "dark"},
    "more contrast": {"contrast": "more"},
    "forced colours": {"forced_colors": "active"},
}
PLAIN = {"color_scheme": "light", "contrast": "no-preference", "forced_colors": "none"}


def dress(page: Page, mode: str) -> None:
    """Show the page in one of the MODES."""
    media = PLAIN | MODES[mode]
    page.emulate_media(**media, reduced_motion="reduce")
    if "/desk" not in page.url:
        page.evaluate(
            "theme => { document.documentElement.dataset.theme = theme }", media["color_scheme"]
        )


# What a mode can change. The other rules look at the structure, which is the same in all of them.
COLOUR_RULES = ["color-contrast", "color-contrast-enhanced", "link-in-text-block"]
# All of WCAG 2.2, also what axe leaves out unless asked (color-contrast-enhanced, target-size).
# One rule is left out: p-as-heading is a guess that axe itself calls experimental, and takes the
# bold line that opens a list's entry for a heading.
LEFT_OUT = ["p-as-heading"]
TAGS = ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe(page: Page, rules: list[str] | None = None, but: str = "") -> list[str]:
    """What axe finds, one line for each element; all its rules unless some are named, on the
    whole page unless a part of it is spared.
    """
    if not page.evaluate("'axe' in window"):
        # Evaluated by the browser's tools, so the page's policy need not allow it.
        page.evaluate(Axe().axe_script)
    found = page.evaluate(
        """async ([rules, tags, without, but]) => {
          const all = axe.getRules(tags).map((rule) => rule.ruleId);
          const values = rules ?? all.filter((rule) => !without.includes(rule));
          const { violations } = await axe.run(but ? { exclude: [[but]] } : document, {
            runOnly: { type: "rule", values }, resultTypes: ["violations"], preload: false,
          });
          return violations.flatMap(({ id, nodes }) =>
            nodes.map((node) => `${id}: ${node.html.slice(0, 120)} ${node.failureSummary}`));
        }""",
        [rules, TAGS, LEFT_OUT, but],
    )
    return list(found)


@pytest.mark.parametrize("name", SCREENS)
@pytest.mark.parametrize("size", [PHONE, WINDOW], ids=["phone", "window"])
def test_axe_finds_nothing(phone_for, name: str, size: dict[str, int]) -> None:
    phone = phone_for(name, size)
    SCREENS[name](phone)
    # The side of a wide window is the same beside every screen: two of them stand for all.
    but = "" if name in ("kennel", "dog") else "#side"
    found = {}
    for mode in MODES:
        dress(phone.page, mode)
        found[mode] = axe(phone.page, None if mode == "light" else COLOUR_RULES, but)
    dress(phone.page, "light")
    assert {mode: lines for mode, lines in found.items() if lines} == {}


# --- Large text and narrow screens -----------------------------------------------------------

NARROW = {"width": 320, "height": 640}
# What does not fit: words cut off at the side, and anything that makes the page scroll sideways.
LOST = """() => {
  const found = [];
  const page = document.documentElement;
  if (page.scrollWidth > page.clientWidth) found.push(`The page is ${page.scrollWidth} wide.`);
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  while (texts.nextNode()) {
    const element = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim()) continue;
    if (element.closest(".unseen, .scroll, [inert], option")) continue;
    if (!element.checkVisibility({ visibilityProperty: true })) continue;
    range.selectNodeContents(texts.currentNode);
    for (const box of range.getClientRects()) {
      let left = 0;
      let right = page.clientWidth;
      for (let at = element; at; at = at.parentElement) {
        if (getComputedStyle(at).overflowX === "visible") continue;
        const edge = at.getBoundingClientRect();
        left = Math.max(left, edge.left);
        right = Math.min(right, edge.right);
      }
      if (box.left < left - 1 || box.right > right + 1) {
        const words = texts.currentNode.data.trim().slice(0, 40);
        found.push(`"${words}" reaches from ${Math.round(box.left)} to ${Math.round(box.right)}`);
        break;
      }
    }
  }
  return found;
}"""


@pytest.mark.parametrize("name", SCREENS)
def test_nothing_is_lost_on_a_narrow_screen_or_in_large_type(phone_for, name: str) -> None:
    phone = phone_for(name, NARROW)
    SCREENS[name](phone)
    found = {"320 px": phone.page.evaluate(LOST)}
    phone.page.set_viewport_size(PHONE)
    # 200 % of the browser's own size: rem and px are told apart by it as on a phone.
    phone.page.evaluate("document.documentElement.style.fontSize = '200%'")
    found["200 %"] = phone.page.evaluate(LOST)
    phone.page.evaluate("document.documentElement.style.fontSize = ''")
    phone.page.set_viewport_size(NARROW)
    assert {how: lines for how, lines in found.items() if lines} == {}


# --- Names, titles and the keyboard ----------------------------------------------------------

TITLES = {
    "kennel": "Ringside",
    "dog": "Bramble · Ringside",
    "dog-new": "New dog · Ringside",
    "dog-edit": "Edit dog · Ringside",
    "card": "Teasel: exam card · Ringside",
    "station": "Bite: Bramble · Ringside",
    "order-new": "Order · Ringside",
    "ring-start": "Ring · Ringside",
    "ring": "Ring: Bramble · Ringside",
    "rehearse-start": "Rehearse · Ringside",
    "rehearse": "Rehearse: Bramble · Ringside",
    "settings": "Settings · Ringside",
    "book": "The book · Ringside",
    "removed": "Removed · Ringside",
    "learn": "Learn · Ringside",
    "learn-walk": "First walk · Ringside",
    "learn-round": "Round · Ringside",
    "words": "Words · Ringside",
    "lost": "No such page · Ringside",
    "desk": "The book · Ringside",
}


@pytest.mark.parametrize("name", TITLES)
def test_each_screen_has_a_title_one_heading_and_takes_the_focus(phone_for, name: str) -> None:
    phone = phone_for(name, PHONE)
    SCREENS[name](phone)
    expect(phone.page).to_have_title(TITLES[name])
    expect(phone.page.get_by_role("heading", level=1)).to_have_count(1)
    if name != "desk":
        expect(phone.page.locator("main:focus, main :focus")).to_have_count(1)


SNAPSHOTS = {
    "dog": """
      - main:
        - link "Back to the kennel"
        - heading "Bramble" [level=1]
        - link "Edit"
        - link /^Ring/
        - link /^Rehearse/
        - link "Exam card"
        - link "Learn"
        - region "What matters now":
          - heading "What matters now" [level=2]
          - list:
            - listitem:
              - link /Hollow Meadow.* Next show/
            - listitem:
              - link /Work on Bite, Knees, then Head. Practice/
        - region "Orders of your own":
          - link "Add an order"
      """,
    "dog-new": """
      - main:
        - heading "New dog" [level=1]
        - textbox "Call name"
        - combobox "Breed"
        - group "Sex":
          - radio "Dog"
          - radio "Bitch"
        - textbox "Date of birth"
        - group "Examined on":
          - radio "As usual" [checked]
          - radio "Table"
          - radio "Ground"
          - radio "Ramp"
        - combobox "Standard to read"
        - textbox "Registered name (optional)"
        - button "Save"
      """,
    "card": """
      - main:
        - heading "Exam card" [level=1]
        - combobox "Order"
        - heading "First look" [level=2]
        - heading "Hands-on exam" [level=2]
        - list:
          - listitem:
            - link /1 Head .* caution Easy/
      """,
    "station": """
      - main:
        - link "Back to the exam card"
        - heading "Bite" [level=1]
        - heading "What you do" [level=2]
        - heading "Avoid" [level=2]
        - heading "What the standard asks" [level=2]
        - heading "Your note on Bramble" [level=2]
        - button "Show note"
        - textbox "Own cue, up to five words"
        - navigation "Stations":
          - link "Ears"
          - link "Neck"
      """,
    "order-new": """
      - main:
        - textbox "Name of this order"
        - list:
          - listitem:
            - button "Head earlier" [disabled]
            - button "Head later"
      """,
    "rehearse": """
      - main:
        - heading "Bite" [level=1]
        - timer "Time at this station"
        - group "How did Bramble take it?":
          - button "Easy"
          - button "Needs work"
          - button "Not yet"
        - button "Undo"
        - button "Skip"
      """,
    "settings": """
      - main:
        - heading "Settings" [level=1]
        - group "Theme":
          - radio "Light" [checked]
          - radio "Dark"
          - radio "As phone"
        - group "Hand that holds the phone"
        - group "Type size"
      """,
}


@pytest.mark.parametrize("name", SNAPSHOTS)
def test_a_screen_reader_hears_the_names(phone_for, name: str) -> None:
    phone = phone_for(name, PHONE)
    SCREENS[name](phone)
    expect(phone.page.locator("body")).to_match_aria_snapshot(SNAPSHOTS[name])


VISIBLE_FOCUS = """() => {
  const at = document.activeElement;
  if (!at || at === document.body) return "Nothing has the focus.";
  const drawn = (element) => {
    const { outlineStyle, outlineWidth } = getComputedStyle(element);
    return outlineStyle !== "none" && parseFloat(outlineWidth) >= 2;
  };
  const label = at.nextElementSibling;  // What stands for a choice.
  if (!drawn(at) && !(label && drawn(label))) return `No outline: ${at.outerHTML.slice(0, 90)}`;
  const box = at.getBoundingClientRect();
  const inside = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
  return inside ? "" : `Out of sight: ${at.outerHTML.slice(0, 90)}`;
}"""


def tab_to(page: Page, name: str, most: int = 60) -> None:
    """Press Tab until what has the focus is named so; it is seen at every step."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            continue  # The end of the page; from here Tab goes to its start.
        assert page.evaluate(VISIBLE_FOCUS) == ""
        if (
            page.locator(":focus")
            .and_(page.get_by_role(ROLE_OF.get(name, "link"), name=name))
            .count()
        ):
            return
    pytest.fail(f"Tab never came to {name}.")


ROLE_OF = {
    name: role
    for role, names in {
        "textbox": ["Call name", "Date of birth", "Private note", "Name of this order"],
        "combobox": ["Breed", "Order"],
        "radio": ["Dog"],
        "button": [
            "Save",
            "Go in",
            "Done",
            "List",
            "Save note",
            "Show note",
            "Change",
            "Remove",
            "Bite earlier",
            "Easy",
            "Begin",
            "Use this one",
            "Bring back",
            "Keep here only",
        ],
    }.items()
    for name in names
}


def tab_to_summary(page: Page, words: str) -> None:
    """As tab_to, for what opens and closes: it has no role that all browsers agree on."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.locator("summary:focus", has_text=words).count():
            return
    pytest.fail(f"Tab never came to {words}.")


def heard(phone: TourPhone, words: str) -> None:
    """The live region says it."""
    expect(phone.page.locator("#voice")).to_contain_text(words)


def drop_drafts(phone: TourPhone) -> None:
    """Forget what other tests typed on this phone and did not save."""
    for row in phone.rows("meta"):
        if row["key"].startswith("draft "):
            phone.store("dropDraft(it)", row["key"].removeprefix("draft "))


def test_what_has_the_focus_goes_and_the_focus_stays(phone_for) -> None:
    """After a removal or a choice, the focus is on the heading above, and the voice says so."""
    phone = phone_for("removed", PHONE)
    page = phone.page
    drop_drafts(phone)
    SCREENS["removed"](phone)
    page.get_by_role("button", name="Bring back").last.press("Enter")
    heard(phone, "Brought back.")
    expect(page.get_by_role("heading", name="Removed", level=1)).to_be_focused()

    phone.show(f"dog/{phone.dogs['Puddle']}/station/head")
    page.get_by_role("button", name="Remove").first.press("Enter")
    heard(phone, "Removed.")
    expect(page.get_by_role("heading", name="Your own cue")).to_be_focused()

    phone.show(f"dog/{phone.dogs['Drift']}/station/neck")
    page.get_by_role("button", name="Show note").press("Enter")
    page.get_by_role("button", name="Change").press("Enter")
    expect(page.get_by_role("textbox", name="Private note").first).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Show note")).to_be_visible()
    expect(page.get_by_role("heading", name="Your note on Drift")).to_be_focused()
    page.get_by_role("button", name="Show note").press("Enter")
    page.get_by_role("button", name="Remove").press("Enter")
    heard(phone, "Note removed.")
    expect(page.get_by_role("heading", name="Your note on Drift")).to_be_focused()

    phone.show("dog/new")
    page.get_by_role("button", name="Save").press("Enter")
    expect(page.get_by_label("Call name")).to_be_focused()
    expect(page.get_by_label("Call name")).to_have_accessible_description(
        "Write the name you call the dog by."
    )
    expect(page.get_by_role("alert")).to_contain_text("4 fields need a look")
    # The name mended, its hint is gone; the breed's own hint comes back with the breed.
    page.get_by_label("Call name").fill("Bracken")
    page.get_by_role("combobox", name="Breed").fill("Whippet")
    page.get_by_role("button", name="Save").press("Enter")
    expect(page.locator("#f-breed-hint")).to_contain_text("Type a few letters")
    expect(page.get_by_label("Call name")).to_have_accessible_description("")

    troubled = phone_for("book-trouble", PHONE)
    SCREENS["book-trouble"](troubled)
    troubled.page.get_by_role("button", name="Keep here only").press("Enter")
    expect(troubled.page.get_by_role("button", name="Keep here only")).to_have_count(0)
    expect(troubled.page.get_by_role("heading", name="The book", level=1)).to_be_focused()


def test_a_rehearsal_by_keyboard(phone_for) -> None:
    phone = phone_for("rehearse", PHONE)
    page = phone.page
    phone.show(f"rehearsal/{phone.put_walk('rehearse', 'Gustav', 'head', {})}")
    tab_to(page, "Easy")
    page.keyboard.press("Enter")
    heard(phone, "Head: easy.")
    expect(page.get_by_role("heading", name="Eyes", level=1)).to_be_visible()
    expect(page.get_by_role("button", name="Easy")).to_be_focused()
    page.get_by_role("button", name="Undo").press("Enter")
    heard(phone, "Undone.")
    expect(page.get_by_role("heading", name="Head", level=1)).to_be_visible()


def test_the_keyboard_does_it_all(phone_for) -> None:
    """Add a dog, write and show a note, change the order, open the card, walk the ring."""
    phone = phone_for("kennel", PHONE)
    page = phone.page
    press = page.keyboard.press
    drop_drafts(phone)
    phone.show("")

    def follow(link: str) -> None:
        tab_to(page, link)
        press("Enter")
        expect(page.locator("main")).to_be_focused()

    # A new dog's form begins in its first field.
    tab_to(page, "Add a dog")
    press("Enter")
    expect(page.get_by_role("textbox", name="Call name")).to_be_focused()
    page.keyboard.type("Kestrel")
    tab_to(page, "Breed")
    page.keyboard.type("border")
    press("ArrowDown")
    press("Enter")
    expect(page.get_by_role("combobox", name="Breed")).to_have_value(re.compile("Border"))
    tab_to(page, "Dog")
    press("Space")
    tab_to(page, "Date of birth")
    page.keyboard.type("03142024")
    tab_to(page, "Save")
    press("Enter")
    expect(page.get_by_role("heading", name="Kestrel", level=1)).to_be_visible()
    heard(phone, "Kestrel was saved.")
    expect(page.locator("main")).to_be_focused()

    follow("Exam card")
    follow("Bite")
    tab_to_summary(page, "Write a note")
    press("Enter")
    tab_to(page, "Private note")
    page.keyboard.type("Breathe first.")
    tab_to(page, "Save note")
    press("Enter")
    heard(phone, "Saved.")
    press("Shift+Tab")
    press("Shift+Tab")
    press("Shift+Tab")
    expect(page.get_by_role("button", name="Show note")).to_be_focused()
    press("Enter")
    expect(page.get_by_text("Breathe first.")).to_be_visible()
    press("Enter")
    expect(page.get_by_text("Breathe first.")).to_have_count(0)

    follow("Back to the exam card")
    follow("Back to the dog")
    follow("Add an order")
    tab_to(page, "Name of this order")
    page.keyboard.type("Bite first")
    tab_to(page, "Bite earlier")
    for place in (3, 2, 1):
        press("Enter")
        heard(phone, f"Bite is now number {place}.")
        expect(page.locator(".order-row :focus")).to_have_count(1)
    tab_to(page, "Save")
    press("Enter")
    heard(phone, "The order was saved.")
    expect(page.get_by_role("link", name="Bite first")).to_be_visible()

    follow("Ring")
    follow("Go in")
    expect(page.get_by_role("heading", name="Outline")).to_be_visible()
    tab_to(page, "Done")
    for station in ("Free stack", "Approach"):
        press("Enter")
        expect(page.get_by_role("heading", name=station)).to_be_visible()
        phone.wait_out_guard()
    tab_to(page, "List")
    press("Enter")
    expect(page.get_by_role("heading", name="Stations")).to_be_focused()
    phone.wait_out_guard()
    press("Escape")
    expect(page.get_by_role("button", name="List")).to_be_focused()
