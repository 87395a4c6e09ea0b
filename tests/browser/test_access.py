"""Ringside can be used by everybody: axe finds nothing on any screen in any mode, the keyboard does
all that a finger does, and a screen reader is told what happens.

The tour of all screens (SCREENS) is used by test_looks.py as well.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Watch
from tests.support import Server

PHONE = {"width": 360, "height": 800}
WINDOW = {"width": 1280, "height": 800}

JUST_NOW = f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%S}.000Z"

SLOW = 20_000  # Milliseconds, on a busy machine.
# Seconds; notes shall not veil themselves while they are looked at.
LONG_VEIL = 600
OTHER_NODE = "0000000000aa"


# --- Phones, and the tour of their screens ---------------------------------------------------


@dataclass
class Phone:
    """A page of the app, its store within reach, and the demo's dogs by name."""

    page: Page
    url: str
    dogs: dict[str, str] = field(default_factory=dict)

    def start(self) -> None:
        """Open the app, and wait until the kennel stands."""
        self.page.goto(self.url)
        expect(self.page.locator(".sync-line")).to_be_visible()

    def meet(self) -> None:
        """Wait until the phone has what the book has."""
        expect(self.page.locator(".sync-line")).to_contain_text(
            "All kept in the book", timeout=SLOW
        )
        self.dogs = {row["values"]["name"]: row["id"] for row in self.store("byKind('dog')")}

    def store(self, call: str, argument: Any = None) -> Any:
        """What a call of the app's own store gives; `it` stands for the argument."""
        return self.page.evaluate(
            f"""async (it) => {{
              const main = document.querySelector("script[type=module]").src;
              const store = await import(new URL("store.js", main));
              return store.{call};
            }}""",
            argument,
        )

    def go(self, path: str) -> None:
        """Open a screen (anew, if it is open) and wait until it is shown."""
        if "/desk" in self.page.url:
            self.start()
        self.page.evaluate(
            """async (path) => {
              const main = document.getElementById("main");
              const shown = new Promise((done) => {
                new MutationObserver((_, watch) => {
                  watch.disconnect();
                  done();
                }).observe(main, { childList: true });
              });
              if (location.hash === `#/${path}`) dispatchEvent(new HashChangeEvent("hashchange"));
              else location.hash = `#/${path}`;
              await shown;
            }""",
            path,
        )

    def walk(self, mode: str, dog: str, place: str, ticks: dict[str, str]) -> str:
        """A walk through the card that stands at `place`, with `ticks` of its stations."""
        values = {"dog": self.dogs[dog], "mode": mode, "stations": [], "place": place}
        walk: str = self.store("write('walk', null, it)", values | {"began": JUST_NOW})
        self.store(
            "writeAll(it)",
            [
                {"kind": "tick", "id": None, "values": {"walk": walk, "station": station}
                    | {"state": state, "at": JUST_NOW}}
                for station, state in ticks.items()
            ],
        )
        return walk


Open = Callable[[Phone], None]
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
def kennel(phone: Phone) -> None:
    phone.go("")


@screen
def kennel_empty(phone: Phone) -> None:
    phone.go("")


@screen
def kennel_trouble(phone: Phone) -> None:
    phone.go("")
    expect(phone.page.locator(".notice")).to_have_count(3)


@screen
def dog(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Bramble']}")


@screen
def dog_with_order(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Teasel']}")


@screen
def dog_new(phone: Phone) -> None:
    phone.go("dog/new")


@screen
def dog_edit(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Bramble']}/edit")


@screen
def dog_form_wrong(phone: Phone) -> None:
    phone.go("dog/new")
    phone.page.get_by_role("button", name="Save").click()
    expect(phone.page.locator(".hint.wrong")).to_have_count(4)


@screen
def dog_form_breeds(phone: Phone) -> None:
    phone.go("dog/new")
    phone.page.get_by_role("combobox", name="Breed").fill("te")
    phone.page.get_by_role("combobox", name="Breed").press("ArrowDown")
    expect(phone.page.locator("[role=option][aria-selected=true]")).to_be_visible()


@screen
def card(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Teasel']}/card")


@screen
def station(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Bramble']}/station/bite")


@screen
def station_open(phone: Phone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="Show note").click()
    for summary in phone.page.locator("#main summary").all():
        summary.click()


@screen
def station_editing(phone: Phone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="Show note").click()
    phone.page.get_by_role("button", name="Change").click()


@screen
def station_apart(phone: Phone) -> None:
    station(phone)
    expect(phone.page.locator(".apart")).to_be_visible()


@screen
def station_own(phone: Phone) -> None:
    """A station with a cue of one's own, and the ring drawn instead of a dog."""
    phone.go(f"dog/{phone.dogs['Bramble']}/station/head")


@screen
def station_ring(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Gustav']}/station/down_and_back")


@screen
def order_new(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Teasel']}/order/new")


@screen
def order_wrong(phone: Phone) -> None:
    order_new(phone)
    phone.page.get_by_role("button", name="Save").click()


@screen
def ring_start(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Teasel']}/ring")


@screen
def ring(phone: Phone) -> None:
    ticks = {"head": "done", "eyes": "skipped"}
    phone.go(f"ring/{phone.walk('ring', 'Bramble', 'bite', ticks)}")


@screen
def ring_list(phone: Phone) -> None:
    ring(phone)
    phone.page.get_by_role("button", name="List").click()


@screen
def ring_more(phone: Phone) -> None:
    ring(phone)
    phone.page.get_by_role("button", name="More", exact=True).click()


@screen
def ring_end(phone: Phone) -> None:
    ticks = dict.fromkeys(("outline", "free_stack", "approach", "lift", "walk_up"), "done")
    phone.go(f"ring/{phone.walk('ring', 'Bramble', 'end-of-first_look', ticks)}")
    expect(phone.page.get_by_text("Complete")).to_be_visible()


@screen
def ring_end_missed(phone: Phone) -> None:
    ticks = {"outline": "done"}
    phone.go(f"ring/{phone.walk('ring', 'Bramble', 'end-of-first_look', ticks)}")
    expect(phone.page.get_by_role("button", name="Skip").first).to_be_visible()


@screen
def rehearse_start(phone: Phone) -> None:
    phone.go(f"dog/{phone.dogs['Teasel']}/rehearse")


@screen
def rehearse(phone: Phone) -> None:
    phone.go(f"rehearsal/{phone.walk('rehearse', 'Bramble', 'bite', {})}")


@screen
def rehearse_end(phone: Phone) -> None:
    walk = phone.walk("rehearse", "Drift", "end", {})
    for station, grade in (("head", "easy"), ("bite", "needs work"), ("ears", "not yet")):
        values = {"dog": phone.dogs["Drift"], "walk": walk, "station": station}
        phone.store("write('practice', null, it)", values | {"grade": grade, "at": JUST_NOW})
    phone.go(f"rehearsal/{walk}")


@screen
def settings(phone: Phone) -> None:
    phone.go("settings")


@screen
def book(phone: Phone) -> None:
    phone.go("sync")


@screen
def book_trouble(phone: Phone) -> None:
    phone.go("sync")
    expect(phone.page.get_by_role("button", name="Let it be")).to_be_visible()


@screen
def removed(phone: Phone) -> None:
    values = {"dog": phone.dogs["Puddle"], "station": "head", "line": "Chin up, breathe out"}
    cue = phone.store("write('cue', null, it)", values)
    phone.store("write('cue', it, { deleted: true })", cue)
    phone.go("removed")


@screen
def lost(phone: Phone) -> None:
    phone.go("nowhere/at/all")


@screen
def desk(phone: Phone) -> None:
    phone.page.goto(f"{phone.url}desk")


@contextmanager
def phones(browser: Browser, data: Path) -> Iterator[Callable[[str, dict[str, int]], Phone]]:
    """A function that gives the phone for a screen of the tour, in a window of some size. There
    is one demo for all of them, and a phone that is there already is used again."""
    watch = Watch()
    # The books that are out of reach are meant to be.
    watch.allowed_errors.append("Failed to load resource")
    made: dict[str, Phone] = {}
    with Server(data) as server:

        def phone_for(name: str, size: dict[str, int]) -> Phone:
            kind = "bare" if name in BARE else "troubled" if name in TROUBLED else "kept"
            if kind not in made:
                made[kind] = new_phone(browser, watch, server.url, kind)
            phone = made[kind]
            if phone.page.viewport_size != size:
                phone.page.set_viewport_size(size)
                phone.start()
            return phone

        yield phone_for
        unexpected = watch.unexpected()
        watch.close()
        assert not unexpected, "\n".join(unexpected)


def new_phone(browser: Browser, watch: Watch, url: str, kind: str) -> Phone:
    veil = {"name": "ringside-look", "value": json.dumps({"veil": str(LONG_VEIL)})}
    state = {"origins": [{"origin": url.rstrip("/"), "localStorage": [veil]}]}
    context = watch.add(browser.new_context(viewport=PHONE, storage_state=state))
    # No worker: nothing here is about being offline, and filling its cache takes time.
    context.add_init_script("delete Navigator.prototype.serviceWorker")
    if kind == "bare":
        context.route("**/api/**", lambda route: route.abort())
    phone = Phone(context.new_page(), url)
    phone.start()
    if kind != "bare":
        phone.meet()
    if kind == "troubled":
        context.route("**/api/**", lambda route: route.abort())
        make_trouble(phone)
    return phone


def make_trouble(phone: Phone) -> None:
    """Something waits, something was refused, two texts are apart, and the clock is off."""
    dog = phone.dogs["Bramble"]
    note = next(row for row in phone.store("byAbout(it)", dog) if row["values"].get("text"))
    text = next(iter(note["cells"]["text"]["heads"]))
    phone.store("write('dog', it, { pedigree: 'Marrowby Bramble Patch' })", dog)
    refused = phone.store("outgoing(1, 1000)")["changes"]
    other = {
        "id": refused[0]["id"], "kind": "note", "record": note["id"], "field": "text",
        "value": "Canines meet late. Show the left side first.", "stamp": f"{text[:18]}{OTHER_NODE}",
        "base": "", "device": f"00000000-0000-7000-8000-{OTHER_NODE}",
    }
    answer = {
        "taken": [], "refused": [{"id": refused[0]["id"], "reason": "That name is too long."}],
        "restamped": {}, "changes": [other], "more": False, "book": "a", "cursor": "",
    }
    phone.store("incoming(it, 25 * 60_000)", answer)
    phone.store("write('dog', it, { pedigree: 'Marrowby Bramble Path' })", phone.dogs["Gustav"])


@pytest.fixture(scope="module")
def phone_for(browser, tmp_path_factory):
    with phones(browser, tmp_path_factory.mktemp("tour") / "data") as phone_for:
        yield phone_for


# --- axe -------------------------------------------------------------------------------------

MODES: dict[str, dict[str, str]] = {
    "light": {},
    "dark": {"color_scheme": "dark"},
    "more contrast": {"contrast": "more"},
    "more contrast, dark": {"contrast": "more", "color_scheme": "dark"},
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
# No rule is left out.
TAGS = ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe(page: Page, rules: list[str] | None = None) -> list[str]:
    """What axe finds, one line for each element; all its rules unless some are named."""
    if not page.evaluate("'axe' in window"):
        # Evaluated by the browser's tools, so the page's policy need not allow it.
        page.evaluate(Axe().axe_script)
    found = page.evaluate(
        """async ([rules, tags]) => {
          const values = rules ?? axe.getRules(tags).map((rule) => rule.ruleId);
          const { violations } = await axe.run({
            runOnly: { type: "rule", values }, resultTypes: ["violations"], preload: false,
          });
          return violations.flatMap(({ id, nodes }) =>
            nodes.map((node) => `${id}: ${node.html.slice(0, 120)} ${node.failureSummary}`));
        }""",
        [rules, TAGS],
    )
    return list(found)


@pytest.mark.parametrize("size", [PHONE, WINDOW], ids=["phone", "window"])
@pytest.mark.parametrize("name", SCREENS)
def test_axe_finds_nothing(phone_for, name: str, size: dict[str, int]) -> None:
    phone = phone_for(name, size)
    SCREENS[name](phone)
    found = {}
    for mode in MODES:
        dress(phone.page, mode)
        found[mode] = axe(phone.page, None if mode == "light" else COLOUR_RULES)
    dress(phone.page, "light")
    assert {mode: lines for mode, lines in found.items() if lines} == {}
