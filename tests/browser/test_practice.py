"""Practice as a handler meets it: what to work on and why, the phone as the judge while both hands
are on the dog, marks that are kept up, and what matters now on the dog's page."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.browser.phone import POCKET, Phone
from tests.browser.watch import watched
from tests.support import Server

WAIT = 60  # s at each station: longer than any test takes, so that only its clock brings the next
STATIONS = ["bite", "knees", "ears"]
CALLS = ["Show the bite.", "Now knees and rear.", "Now the ears."]

# Before the app's first line: voices that tell what they were given to say. A voice that is made
# elsewhere comes first in the list, and is never to be used.
VOICES = """{
  globalThis.said = [];
  globalThis.hasVoice = true;
  globalThis.SpeechSynthesisUtterance = class extends EventTarget {
    constructor(text) { super(); this.text = text; }
  };
  const far = { name: "Far", lang: "en-GB", localService: false };
  const near = { name: "Near", lang: "en-GB", localService: true };
  const speech = {
    getVoices: () => (hasVoice ? [far, near] : [far]),
    addEventListener() {},
    cancel() {},
    speak(one) {
      said.push([one.voice.name, one.text]);
      queueMicrotask(() => one.dispatchEvent(new Event("end")));
    },
  };
  Object.defineProperty(globalThis, "speechSynthesis", { value: speech, configurable: true });
  globalThis.tones = 0;
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...given) {
    tones += 1;
    return start.apply(this, given);
  };
}"""


@pytest.fixture(scope="module")
def phone(
    browser: Browser, make_server: Callable[..., Server], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Phone]:
    """One phone with the demo for all tests here, in their order."""
    server = make_server(tmp_path_factory.mktemp("practice") / "data", "demo")
    with watched(server) as watch:
        page = watch.add(browser.new_context(**POCKET)).new_page()
        page.clock.install()
        page.add_init_script(VOICES)
        yield Phone(page, server.url).open().ready_offline()


def session(phone: Phone, **more: Any) -> str:
    """Begin a rehearsal by ear of a few stations, and open it."""
    began = phone.page.evaluate("new Date().toISOString()")
    values = {"dog": phone.dogs["Bramble"], "mode": "rehearse", "stations": STATIONS, "only": True}
    walk: str = phone.store(
        "write('walk', null, it)",
        {**values, "ear": True, "wait": WAIT, "place": "bite", "began": began, **more},
    )
    phone.show(f"ear/{walk}")
    return walk


def said(phone: Phone, many: int) -> list[list[str]]:
    """All that was said, once it is so much."""
    phone.until(lambda: len(phone.page.evaluate("said")) >= many, f"{many} calls")
    found: list[list[str]] = phone.page.evaluate("said")
    return found


def place(phone: Phone, walk: str) -> str:
    found: str = phone.store("get('walk', it)", walk)["values"]["place"]
    return found


def test_what_to_work_on_is_said_drawn_and_listed(phone: Phone) -> None:
    page = phone.page
    dog = phone.dogs["Bramble"]
    phone.show(f"dog/{dog}")
    page.get_by_role("link", name="Work on Bite, Knees, then Head.").click()
    expect(page.locator(".lead")).to_have_text("Work on Bite, Knees, then Head.")
    expect(page.locator(".reasons")).to_contain_text(re.compile(r"Bite: easy \d in 10"))
    # On the drawing each station of the exam is a number in a shape; the list says the same.
    expect(page.locator(".figure .badge")).to_have_count(8)
    drawn = page.locator(".figure .badge").evaluate_all(
        "all => Object.fromEntries(all.map((one) => [one.textContent, one.classList[1]]))"
    )
    assert drawn["4"] == "notyet"
    assert drawn["1"] == "ready"
    bite = page.locator(".practice-row").filter(has_text="Bite")
    expect(bite).to_contain_text("Not yet")
    expect(bite).to_contain_text(re.compile("Last: .*needs work; 2 days ago"))
    assert bite.locator(".trend circle").count() == 6
    page.get_by_role("radio", name="For a stranger").check()
    head = page.locator(".practice-row").filter(has_text="Head")
    expect(head).to_contain_text("Needs work")
    expect(page.get_by_text("may help")).to_be_visible()
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        assert Axe().run(page).violations_count == 0

    # A dog without a mark is told what to do first.
    phone.show(f"dog/{phone.dogs['Gustav']}/practice")
    expect(page.get_by_text("No marks yet.")).to_be_visible()
    expect(page.get_by_role("link", name="Rehearse", exact=True)).to_be_visible()


def test_orders_of_the_judge(phone: Phone) -> None:
    """The usual one, only what needs work, and that of an unknown judge, who says so."""
    page = phone.page
    dog = phone.dogs["Bramble"]
    phone.show(f"dog/{dog}/ear")
    expect(page.get_by_text("Never leave the dog alone on the table")).to_be_visible()
    expect(page.get_by_label("Seconds at each station")).to_have_value("8")
    page.get_by_label("An unknown judge").check()
    page.get_by_role("radio", name="Stranger").check()
    page.get_by_label("Where (optional)").fill("The big barn")
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_text("An unknown judge: this order was made by chance.")).to_be_visible()
    (walk,) = phone.records("walk", dog=dog, unknown=True)
    values = walk["values"]
    assert (values["hands"], values["where"], values["wait"]) == ("stranger", "The big barn", 8)
    orders = """async (seeds) => {
      const main = document.querySelector("script[type=module]").src;
      const js = (name) => import(new URL(`../js/${name}.js`, main));
      const { chanceFrom, unknownOrder } = await js("core/ear");
      const { practice } = await (await js("shipped")).homeBook();
      const usual = ["lift", "head", "eyes", "ears", "bite", "neck", "topline", "knees", "testes"];
      return seeds.map((seed) => unknownOrder(practice, usual, chanceFrom(seed)));
    }"""
    made = page.evaluate(orders, [7, 7, *range(100)])
    assert made[0] == made[1]
    assert len({tuple(order) for order in made}) > 20
    for order in made:
        assert (order[0], order[5:7]) == ("lift", ["neck", "topline"])
        assert sorted(order[1:5]) == ["bite", "ears", "eyes", "head"]

    # Begun from what needs work, it is those stations and no other; the walk before is finished.
    phone.show(f"dog/{dog}/practice")
    expect(page.get_by_text("The big barn, a stranger's hands.")).to_be_visible()
    page.get_by_role("button", name="Only what needs work").click()
    names = []
    while not page.get_by_role("heading", name="Rehearsal done").count():
        names.append(page.locator(".rehearse h1").inner_text())
        page.get_by_role("button", name="Skip").click()
        expect(page.locator("h1").filter(has_text=re.compile(f"^{names[-1]}$"))).to_have_count(0)
    assert names == ["Bite", "Knees", "Head"]
    assert phone.store("get('walk', it)", walk["id"])["values"]["ended"]


def test_an_open_walk_is_offered_with_its_place(phone: Phone) -> None:
    page = phone.page
    walk = session(phone)
    for path, name in (("", "Go on with Bramble Rehearsal, at Bite"), (None, "go on at Bite")):
        phone.show(f"dog/{phone.dogs['Bramble']}" if path is None else path)
        page.get_by_role("link", name=name).click()
        expect(page.get_by_role("button", name="Go on at Bite")).to_be_visible()
        assert page.evaluate("location.hash") == f"#/ear/{walk}"
    phone.show(f"dog/{phone.dogs['Bramble']}")
    page.get_by_role("link", name="Start over: Rehearse").click()
    expect(page.get_by_role("button", name="Start over")).to_be_visible()


def test_the_phone_plays_the_judge(phone: Phone) -> None:
    """It says each step with its own voice, in the order, and waits; a tap anywhere stops it;
    killed, it goes on at the very step; at the end one screen takes the marks."""
    page = phone.page
    walk = session(phone, hands="stranger")
    assert page.evaluate("said") == []  # Nothing is said before somebody taps.
    page.get_by_role("button", name="Go on at Bite").click()
    assert said(phone, 1) == [["Near", CALLS[0]]]
    expect(page.get_by_text(CALLS[0])).to_be_visible()
    page.clock.fast_forward(1000 * (WAIT - 10))
    expect(page.get_by_role("heading", level=1, name="Bite")).to_be_visible()
    assert len(page.evaluate("said")) == 1
    page.clock.fast_forward(11_000)
    assert said(phone, 2)[1:] == [["Near", CALLS[1]]]

    # A tap on the picture pauses: the clock runs on, and nothing comes of it.
    page.locator(".ear .picture").click()
    expect(page.get_by_role("button", name="Go on at Knees")).to_be_visible()
    page.clock.fast_forward(5000 * WAIT)
    assert len(page.evaluate("said")) == 2
    assert place(phone, walk) == "knees"

    page.reload()
    page.get_by_role("button", name="Go on at Knees").click()
    assert said(phone, 1) == [["Near", CALLS[1]]]
    page.clock.fast_forward(1000 * WAIT + 1000)
    assert said(phone, 2)[1:] == [["Near", CALLS[2]]]
    page.clock.fast_forward(1000 * WAIT + 1000)

    expect(page.get_by_role("heading", name="How did Bramble take it?")).to_be_visible()
    assert place(phone, walk) == "end"
    assert page.locator(".mark-row legend").all_inner_texts() == ["Bite", "Knees", "Ears"]
    for row, grade in enumerate(("Not yet", "Needs work", "Easy")):
        button = page.locator(".mark-row").nth(row).get_by_role("button", name=grade)
        button.click()
        expect(button).to_have_attribute("aria-pressed", "true")
    marks = {
        one["values"]["station"]: one["values"] for one in phone.records("practice", walk=walk)
    }
    grades = {station: mark["grade"] for station, mark in marks.items()}
    assert grades == {"bite": "not yet", "knees": "needs work", "ears": "easy"}
    assert {mark["hands"] for mark in marks.values()} == {"stranger"}
    # Tapped again, a mark is taken back.
    page.locator(".mark-row").nth(2).get_by_role("button", name="Easy").click()
    expect(page.locator(".mark-row").nth(2).locator("[aria-pressed=true]")).to_have_count(0)
    page.get_by_role("button", name="Finish").click()
    expect(page.get_by_role("heading", level=1, name="Practice: Bramble")).to_be_visible()
    assert phone.store("get('walk', it)", walk)["values"]["ended"]


def test_without_a_voice_of_its_own_a_tone_sounds_and_the_words_stand_large(
    phone: Phone,
) -> None:
    page = phone.page
    page.evaluate("hasVoice = false; said.length = 0")
    phone.show(f"dog/{phone.dogs['Bramble']}/ear")
    page.clock.fast_forward(1_000)
    expect(page.get_by_text("has no English voice of its own")).to_be_visible()
    session(phone)
    page.get_by_role("button", name="Go on at Bite").click()
    page.clock.fast_forward(1_000)
    phone.until(lambda: page.evaluate("tones"), "a tone")
    assert page.evaluate("said") == []
    size = page.locator(".ear-says").evaluate(
        "(node) => parseFloat(getComputedStyle(node).fontSize)"
    )
    assert size >= 30
    page.clock.fast_forward(1000 * WAIT + 1000)
    expect(page.get_by_text(CALLS[1])).to_be_visible()


def test_stack_and_lead_by_one_large_target(phone: Phone) -> None:
    """The clock runs on over a kill; what is kept is told as last time."""
    page = phone.page
    dog = phone.dogs["Bramble"]
    phone.show(f"dog/{dog}/floor")
    page.get_by_label("Free stack").check()
    target = page.get_by_role("button", name="Start")
    assert target.bounding_box()["height"] >= 100
    target.click()
    page.clock.fast_forward(12_000)
    page.get_by_role("button", name="One correction more").click()
    expect(page.get_by_text("1 correction", exact=True)).to_be_visible()
    phone.until(
        lambda: (phone.store(f"draft('floor {dog}')") or {})["values"].get("corrections"), "a draft"
    )
    page.reload()
    page.get_by_role("button", name="Stop").click()
    assert Axe().run(page).violations_count == 0
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".floor-row").filter(has_text="Free stack")).to_contain_text("1 correction")
    (row,) = phone.records("floor", dog=dog, what="free stack")
    assert row["values"]["seconds"] >= 12
    assert row["values"]["corrections"] == 1


STANDINGS = """async ([dog, station]) => {
  const main = document.querySelector("script[type=module]").src;
  const js = (name) => import(new URL(`../js/${name}.js`, main));
  const [store, practice] = [await js("store"), await js("core/practice")];
  const kept = (await store.standings(dog, [station])).get(station);
  const marks = (await store.about("practice", dog)).map((row) => row.values);
  const own = marks.filter((mark) => mark.station === station && mark.grade && mark.at);
  const now = Date.now();
  const told = (sums) => practice.readiness(sums, now);
  return { kept: told(kept), whole: told(own.reduce(practice.addMark, practice.NOTHING)) };
}"""


def test_the_sums_are_kept_up_with_every_mark(phone: Phone) -> None:
    """A mark more, one changed, one removed, one that comes late or is dated ahead: what is kept
    is what all marks come to."""
    dog = phone.dogs["Bramble"]

    def check() -> dict[str, float]:
        found = phone.page.evaluate(STANDINGS, [dog, "bite"])
        assert found["kept"] == pytest.approx(found["whole"], rel=1e-9)
        kept: dict[str, float] = found["kept"]
        return kept

    def day(back: int) -> str:
        instant: str = phone.page.evaluate(
            "(back) => new Date(Date.now() - back * 86_400_000).toISOString()", back
        )
        return instant

    def mark(grade: str, back: int) -> str:
        values = {"dog": dog, "station": "bite", "grade": grade, "at": day(back)}
        made: str = phone.store("write('practice', null, it)", values)
        return made

    before = check()
    new = mark("easy", 0)
    assert check()["mean"] > before["mean"]
    mark("not yet", 300)
    check()
    phone.store("write('practice', it, { grade: 'not yet' })", new)
    assert check()["mean"] < before["mean"]
    phone.store("write('practice', it, { deleted: true })", new)
    check()
    phone.store("write('practice', it, { deleted: false })", new)
    kept = check()
    ahead = mark("easy", -400)
    now = phone.page.evaluate(STANDINGS, [dog, "bite"])["kept"]
    assert now == pytest.approx(kept, rel=1e-6), "its day has not come"
    phone.store("write('practice', it, { deleted: true })", ahead)


def test_a_half_mark_hides_no_whole_one(phone: Phone) -> None:
    """A newer mark without a grade, and one without a moment: the older whole one is shown."""
    dog = phone.dogs["Puddle"]
    whole = {"dog": dog, "station": "bite", "grade": "not yet"}
    moments = phone.page.evaluate(
        "[-2, -1, 0].map((hours) => new Date(Date.now() + hours * 3_600_000).toISOString())"
    )
    walk = {"dog": dog, "mode": "rehearse", "stations": [], "place": "eyes", "began": moments[0]}
    made = phone.store("write('walk', null, it)", walk)
    marks = [
        {**whole, "walk": made, "at": moments[1]},
        {"dog": dog, "walk": made, "station": "bite", "at": moments[2]},
        {"dog": dog, "walk": made, "station": "bite", "grade": "easy"},
    ]
    for values in marks:
        phone.store("write('practice', null, it)", values)
    phone.show(f"dog/{dog}/card")
    row = phone.page.get_by_role("link", name=re.compile(r"\bBite\b"))
    expect(row.get_by_role("img", name="Not yet")).to_have_count(1)
    phone.show(f"dog/{dog}/practice")
    expect(phone.page.locator(".practice-row", has_text="Bite").first).to_contain_text(
        "Last: not yet"
    )
    phone.show(f"dog/{dog}/rehearse")
    expect(phone.page.get_by_text("Last: Bite not yet, 1 h ago")).to_be_visible()
