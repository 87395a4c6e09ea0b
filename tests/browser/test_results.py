"""A result in the hand, without a signal: one screen, each tap undone, no award twice; then the
record of the dog, what the judge said before, and a word found again."""

from __future__ import annotations

import re
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, expect

from tests.browser.phone import Phone

SHOW = "Hollow Meadow Open Show"


def test_a_result_and_the_record_it_makes(phone: Phone) -> None:
    entry = of_today(phone, "Puddle")
    place_and_award(phone, entry)
    words_and_stations(phone, entry)
    look_back(phone)
    bear_half_a_result(phone)


def of_today(phone: Phone, dog: str) -> str:
    (show,) = phone.records("show", name=SHOW)
    (entry,) = phone.records("entry", dog=phone.dogs[dog], show=show["id"])
    return str(entry["id"])


def values(phone: Phone, kind: str, **wanted: Any) -> dict[str, Any]:
    (record,) = phone.records(kind, **wanted)
    found: dict[str, Any] = record["values"]
    return found


def button(phone: Phone, name: str) -> Locator:
    return phone.page.locator("#main").get_by_role("button", name=name, exact=True)


def place_and_award(phone: Phone, entry: str) -> None:
    page, puddle = phone.page, phone.dogs["Puddle"]
    (typed,) = phone.records("award", dog=puddle)
    phone.go(f"gate/{entry}")
    page.get_by_role("link", name="Write the result").click()
    # The award that was typed elsewhere is the one of this result.
    prize = button(phone, "First prize in a class")
    expect(prize).to_have_attribute("aria-pressed", "true")
    button(phone, "1st").click()
    expect(button(phone, "1st")).to_have_attribute("aria-pressed", "true")
    kept = values(phone, "result", entry=entry)
    assert {**kept, "placing": "1", "judge": "H. Rushlight", "judge_key": "h rushlight"} == kept
    (award,) = phone.records("award", dog=puddle)
    assert (award["id"], award["values"]["entry"]) == (typed["id"], entry)
    # Undo takes all of the tap back; another placing takes the prize.
    button(phone, "Undo").click()
    expect(button(phone, "1st")).to_have_attribute("aria-pressed", "false")
    expect(button(phone, "Undo")).to_be_hidden()
    assert values(phone, "result", entry=entry)["deleted"] is True
    assert values(phone, "award", dog=puddle)["entry"] is None
    button(phone, "1st").click()
    button(phone, "2nd").click()
    expect(prize).to_have_attribute("aria-pressed", "false")
    button(phone, "Undo").click()
    expect(prize).to_have_attribute("aria-pressed", "true")
    expect(button(phone, "1st")).to_have_attribute("aria-pressed", "true")
    # An award that is won, taken back and won again is one record.
    best = button(phone, "Best Puppy in Breed")
    for pressed in ("true", "false", "true"):
        best.click()
        expect(best).to_have_attribute("aria-pressed", pressed)
    phone.until(lambda: len(phone.records("award", dog=puddle)) == 2, "two awards are kept")
    made = values(phone, "award", what="best-puppy")
    wanted = {"dog": puddle, "entry": entry, "body": "KC", "level": "open", "klass": "puppy"}
    assert {**made, **wanted, "judge": "H. Rushlight", "show": SHOW, "deleted": None} == made
    expect(button(phone, "Challenge Certificate")).to_be_hidden()


def words_and_stations(phone: Phone, entry: str) -> None:
    page = phone.page
    page.get_by_label("Dogs in the class").fill("four")
    page.get_by_label("Critique").fill("Sweet head, lovely Öhrchen. Topline soft yet.")
    expect(page.get_by_text("This must be a number.")).to_be_visible()
    page.get_by_label("Dogs in the class").fill("4")
    page.get_by_label("What went well").fill("Stood like a rock")
    phone.until(lambda: "critique" in values(phone, "result", entry=entry), "what is left is kept")
    button(phone, "Bite").click()
    page.locator(".choices label", has_text="Faulted").click()
    button(phone, "Topline").click()
    expect(button(phone, "Topline")).to_have_attribute("aria-pressed", "true")
    assert not Axe().run(page).violations_count
    # What is not left yet outlives the page.
    page.get_by_label("What went well").fill("Stood like a rock, and free")
    phone.until(lambda: phone.store(f"draft('result {entry}')"), "the draft is kept")
    page.reload()
    expect(page.get_by_label("What went well")).to_have_value("Stood like a rock, and free")
    phone.go(f"dog/{phone.dogs['Puddle']}/record")
    kept = values(phone, "result", entry=entry)
    assert (kept["competing"], kept["well"]) == (4, "Stood like a rock, and free")
    found = phone.records("lesson", dog=phone.dogs["Puddle"])
    lessons = {(one["values"]["station"], one["values"]["says"]) for one in found}
    assert lessons == {("bite", "practise"), ("topline", "named")}
    expect(page.get_by_text("1st of 4", exact=False)).to_be_visible()
    # The next session goes by it.
    phone.go(f"dog/{phone.dogs['Puddle']}/practice")
    expect(page.get_by_text("named in a recent result").first).to_be_visible()


def look_back(phone: Phone) -> None:
    page = phone.page
    phone.go(f"gate/{of_today(phone, 'Bramble')}")
    page.get_by_role("link", name="What N. Tallow said before").click()
    expect(page.get_by_role("heading", level=1, name="Ms N. Tallow")).to_be_visible()
    expect(page.get_by_text("Topline could be more level", exact=False)).to_be_visible()
    phone.go(f"dog/{phone.dogs['Bramble']}/record")
    expect(page.locator(".said-row").first).to_have_text(re.compile("Topline.*3 judges faulted it"))
    chart = page.get_by_role("img", name=re.compile("^The last 3 placings"))
    expect(chart.locator("circle")).to_have_count(3)
    page.get_by_text("The placings in a table").click()
    expect(page.locator("tbody tr").first).to_contain_text("2nd of 4H. Rushlight")
    rows = page.locator(".result-row")
    expect(rows).to_have_count(3)
    search = page.get_by_label("Search the critiques")
    for typed, count in (("STÍF topl", 1), ("topline", 2), ("opline", 0), ("", 3)):
        search.fill(typed)
        expect(rows).to_have_count(count)
    assert not Axe().run(page).violations_count
    rows.first.click()
    expect(page.get_by_label("Critique")).to_have_value(re.compile("^Otter head"))


def bear_half_a_result(phone: Phone) -> None:
    """Of an entry that is gone, without a day, with a grade that nobody knows."""
    drift = phone.dogs["Drift"]
    phone.store("write('result', null, it)", {"dog": drift, "grade": "constructor", "placing": "3"})
    phone.store("write('lesson', null, it)", {"dog": drift, "says": "liked", "station": "wings"})
    phone.go(f"dog/{drift}/record")
    expect(phone.page.get_by_text("No day yet: 3rd, constructor")).to_be_visible()
    expect(phone.page.get_by_text("wings")).to_be_visible()
    # One that is half on its own screen: the entry and its result are Gustav's.
    (bridge,) = phone.records("result", dog=phone.dogs["Gustav"], competing=3)
    half = {"grade": "constructor", "day": None, "judge": None, "klass": "toString"}
    phone.store(f"write('result', '{bridge['id']}', it)", half)
    phone.go(f"entry/{bridge['values']['entry']}/result")
    expect(button(phone, "2nd")).to_have_attribute("aria-pressed", "true")
    button(phone, "Good").click()
    expect(button(phone, "Good")).to_have_attribute("aria-pressed", "true")
    phone.go("judge/nobody%20known")
    expect(phone.page.get_by_text("No results under this judge yet.")).to_be_visible()
