"""One odd value closes no page: a phone and a desk that hold every odd and half record there can be
show every screen, with the neighbours of what is odd on it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date
from urllib.parse import quote

import pytest
from playwright.sync_api import Page, expect

from tests.browser.phone import Phone, places, told
from tests.odd import JUDGE, NEIGHBOUR, Kennel, changes, new_id, send
from tests.support import Server

NARROW = {"viewport": {"width": 360, "height": 800}}
OF_A_DOG = (
    "", "/edit", "/card", "/station/bite", "/station/testes", "/order/new", "/ring", "/rehearse",
    "/enter", "/measures", "/checks", "/awards", "/award/new", "/learn", "/learn/round",
    "/practice", "/ear", "/floor", "/record", "/elsewhere",
)  # fmt: skip
ALONE = ("", "dog/new", "shows", "shows/new", "removed", "sync", "settings", "learn", "learn/round",
         "litter/new")  # fmt: skip

# Opens each address and tells, for each, its heading, its words, how wide it is, and what was
# complained of meanwhile.
TOUR = """async (paths) => {
  const main = document.getElementById("main");
  const told = [];
  let faults = [];
  const complain = console.error;
  const tell = (fault) => faults.push(String(fault?.stack ?? fault));
  console.error = (...words) => words.forEach(tell);
  addEventListener("unhandledrejection", ({ reason }) => tell(reason));
  addEventListener("error", ({ message, error }) => tell(error ?? message));
  for (const path of paths) {
    const shown = new Promise((done) => {
      const late = setTimeout(() => done(false), 20_000);
      const watch = new MutationObserver(() => {
        watch.disconnect();
        clearTimeout(late);
        done(true);
      });
      watch.observe(main, { childList: true });
    });
    if (location.hash === `#/${path}`) dispatchEvent(new HashChangeEvent("hashchange"));
    else location.hash = `#/${path}`;
    const isShown = await shown;
    await new Promise((done) => setTimeout(done));
    told.push({
      path,
      heading: isShown ? main.querySelector("h1")?.textContent ?? "" : "nothing was shown",
      words: main.textContent,
      over: document.documentElement.scrollWidth - innerWidth,
      faults,
    });
    faults = [];
  }
  console.error = complain;
  return told;
}"""


# What a screen says of what is not there, if nobody has thought of it.
MISSING = re.compile(r"\b(undefined|null|NaN|Invalid Date|\[object|function )")

GUARDED = """async ([kind, id]) => {
  const main = document.querySelector('script[type="module"]').src;
  const { rowsOf, sectionOf } = await import(new URL("../js/parts/guard.js", main));
  const store = await import(new URL("../js/store.js", main));
  const complain = console.error;
  let told = 0;
  console.error = () => told++;
  const row = await store.get(kind, id);
  const draw = (one) => {
    if (one === row) throw new Error("odd");
    const made = document.createElement("li");
    made.textContent = one;
    return made;
  };
  const nodes = rowsOf(["first", row, "last"], draw);
  const section = sectionOf(() => { throw new Error("odd"); });
  console.error = complain;
  // What it is called comes in a moment, and with it the way to remove it.
  const button = nodes[1].querySelector("button");
  while (button.hidden) await new Promise((done) => setTimeout(done));
  const rows = nodes.map((node) => node.textContent);
  button.click();
  const isThere = async () => !(await store.get(kind, id)).values.deleted;
  while (await isThere()) await new Promise((done) => setTimeout(done));
  return { rows, section: section.map((node) => node.textContent), told, removed: true };
}"""


@pytest.fixture(scope="module")
def kennel() -> Kennel:
    return Kennel(today=date.today().isoformat())


@pytest.fixture
def odd_server(server: Server, kennel: Kennel) -> Server:
    """A server whose book has all that is odd, taken in through the sync."""
    device = new_id()
    send(server, changes(kennel.records, device), device)
    return server


def screens(kennel: Kennel) -> Iterator[str]:
    yield from ALONE
    for dog in kennel.ids("dog"):
        yield from (f"dog/{dog}{rest}" for rest in OF_A_DOG)
    for show in kennel.ids("show"):
        yield from (f"show/{show}", f"show/{show}/edit")
    for entry in kennel.ids("entry"):
        yield from (f"entry/{entry}{rest}" for rest in ("", "/clock", "/clock/set", "/result"))
        yield f"gate/{entry}"
    for entry in (kennel.entry, *kennel.ids("entry")[::5]):
        yield from (f"entry/{entry}/countdown", f"entry/{entry}/heat")
    yield f"show/{kennel.show}/calendar"
    for key in {record.values.get("judge_key") for record in kennel.records} - {None, ""}:
        yield f"judge/{quote(key, safe='')}"
    for walk in kennel.ids("walk"):
        yield from (f"ring/{walk}", f"rehearsal/{walk}", f"ear/{walk}")
    for kind in ("order", "award"):
        yield from (f"dog/{kennel.dog}/{kind}/{key}" for key in kennel.ids(kind))


def test_every_screen_is_shown(
    odd_server: Server, kennel: Kennel, page: Callable[..., Page]
) -> None:
    phone = Phone(page(**NARROW), odd_server.url).open("settings")
    phone.until(lambda: phone.meta("cursor") in places(odd_server.data), "all changes are here")
    visits = told(phone.page, TOUR, list(screens(kennel)))
    wrong = [
        (one["path"], *map(kennel.why, one["path"].split("/")[1:2]), one["heading"], one["faults"])
        for one in visits
        if one["faults"]
        or one["heading"] in ("That did not work", "nothing was shown")
        or MISSING.search(one["words"])
        or "cannot be shown" in one["words"]
    ]
    wide = {one["path"]: one["over"] for one in visits if one["over"] > 0}
    assert not wide, "wider than the window"
    assert not wrong, "\n".join(map(str, wrong[:20]))
    words = {one["path"]: one["words"] for one in visits}
    for path in ("", "shows", f"show/{kennel.show}"):
        assert NEIGHBOUR in words[path], path
    assert NEIGHBOUR in words[f"judge/{quote(JUDGE)}"]
    for rest in ("station/bite", "awards", "rehearse", "record"):
        assert NEIGHBOUR in words[f"dog/{kennel.dog}/{rest}"], rest
    assert "5 May 2026: weight 6.4 kg" in words[f"dog/{kennel.dog}/measures"]
    assert NEIGHBOUR in words[f"gate/{kennel.entry}"]


def test_lines_for_stations_that_the_card_lacks_are_shown_and_can_be_moved(
    server: Server, page: Callable[..., Page]
) -> None:
    """Of a bitch, of another version's station, of none: notes, hidden as ever, and cues."""
    phone = Phone(page(**NARROW), server.url).open().ready_offline()
    dog = phone.dogs["Bramble"]
    bitch = phone.store("write('dog', null, it)", {"name": "Wren", "breed": "pug", "sex": "bitch"})
    phone.show(f"dog/{bitch}/card")
    link = phone.page.get_by_role("link", name="for other stations")
    expect(phone.page.get_by_role("heading", name="Exam card")).to_be_visible()
    expect(link).to_have_count(0)
    note = {"dog": bitch, "station": "testes", "text": "Both felt at the vet."}
    phone.store("write('note', null, it)", note)
    phone.store("write('cue', null, it)", {"dog": bitch, "station": "wings", "line": "Fold them"})
    phone.store("write('cue', null, it)", {"dog": bitch, "line": "Breathe out"})
    phone.store("write('cue', null, it)", {"dog": bitch, "station": "bite", "line": "Lips up"})
    phone.store("write('cue', null, it)", {"dog": dog, "station": "wings", "line": "Not hers"})
    expect(link).to_have_text("3 lines for other stations")
    link.click()
    rows = phone.page.locator("#main li")
    expect(rows.locator("h2")).to_have_text(["Testes", "wings", "No station"])
    expect(rows.nth(0)).not_to_contain_text("Both felt")
    rows.nth(0).get_by_role("button", name="Show note").click()
    expect(rows.nth(0)).to_contain_text("Both felt at the vet.")
    rows.nth(1).get_by_label("Move to").select_option("ears")
    # What comes in meanwhile draws the list anew, and leaves the choice as it is.
    phone.store("write('cue', null, it)", {"dog": bitch, "station": "wings", "line": "And wait"})
    expect(rows).to_have_count(4)
    expect(rows.nth(1)).to_contain_text("Fold them")
    rows.filter(has_text="And wait").get_by_role("button", name="Remove").click()
    expect(rows).to_have_count(3)
    rows.nth(1).get_by_role("button", name="Move", exact=True).click()
    expect(rows).to_have_count(2)
    assert phone.records("cue", line="Fold them")[0]["values"]["station"] == "ears"
    rows.nth(1).get_by_role("button", name="Remove").click()
    expect(rows).to_have_count(1)
    assert phone.records("cue", line="Breathe out")[0]["values"]["deleted"] is True
    phone.show(f"dog/{bitch}/station/ears")
    expect(phone.page.locator(".lead")).to_have_text("Fold them")


def test_an_address_cut_off_in_a_letter_says_that_it_leads_nowhere(
    odd_server: Server, page: Callable[..., Page]
) -> None:
    phone = page(**NARROW)
    phone.goto(f"{odd_server.url}#/%E0%A4%A")
    expect(phone.locator("#main h1")).to_have_text("No such page")
    phone.get_by_role("link", name="To the kennel", exact=True).click()
    expect(phone.get_by_text(NEIGHBOUR).first).to_be_visible()


def test_a_row_that_fails_is_told_and_costs_no_other(
    odd_server: Server, kennel: Kennel, page: Callable[..., Page]
) -> None:
    """The guard of rows and of sections, with a drawing that fails."""
    phone = Phone(page(**NARROW), odd_server.url).open("settings")
    phone.until(lambda: phone.meta("cursor") in places(odd_server.data), "all changes are here")
    half = {"photo": new_id(), "marks": "no marks"}
    odd = {
        ("kit", kennel.neighbours["kit"]): "Own item for the gate",
        ("marking", phone.store("write('marking', null, it)", half)): "Marks on a photo",
    }
    for (kind, key), name in odd.items():
        shown = phone.page.evaluate(GUARDED, [kind, key])
        assert shown["rows"] == ["first", f"{name}: This line cannot be shown.Remove", "last"]
        assert shown["section"] == ["This part cannot be shown; the rest can be used."]
        assert shown["told"] == 2
        assert shown["removed"] is True


def test_a_last_day_that_is_a_slip_of_the_pen_is_asked_about(
    odd_server: Server, page: Callable[..., Page]
) -> None:
    phone = Phone(page(**NARROW), odd_server.url).open("shows/new").page
    for name, value in {"name": "Long", "day": "2026-06-06", "until": "2206-06-06"}.items():
        phone.locator(f'#main form [name="{name}"]').fill(value)
    phone.locator("#main form").get_by_role("button", name="Save").click()
    expect(phone.get_by_text("A show has at most 31 days")).to_be_visible()
