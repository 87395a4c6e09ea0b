"""Condition and checks in the hand, without a signal: a weight for the day or why not, a score in
two taps, a litter at once, and a testis that is missing on the way to the gate."""

from __future__ import annotations

import re
from datetime import date, timedelta

from playwright.sync_api import expect

from tests.browser.phone import Phone

TODAY = date.today()


def test_condition_checks_and_a_litter(phone: Phone) -> None:
    weigh_and_score(phone)
    look_over(phone)
    enter_a_litter(phone)


def weigh_and_score(phone: Phone) -> None:
    page = phone.page
    phone.go(f"dog/{phone.dogs['Bramble']}/measures")
    expect(page.get_by_text("The weight jumped by 7.4 %")).to_be_visible()
    expect(page.locator(".on-day .lead")).to_have_count(0)

    phone.go(f"dog/{phone.dogs['Gustav']}/measures")
    lead = page.locator(".on-day .lead")
    expect(lead).to_have_text(re.compile(r"^13\.\d to 13\.\d kg$"))
    chart = page.get_by_role("img", name=re.compile("^Weight from .* Forecast for .*AKC: at most"))
    expect(chart.locator("circle")).to_have_count(8)
    expect(page.get_by_text("No target is drawn: leave it out of this show")).to_be_visible()
    page.get_by_text("The weighings in a table").click()
    forecast = page.locator("tbody tr").first
    expect(forecast).to_contain_text("forecast")
    expect(page.locator(".condition-table tbody tr")).to_have_count(9)

    # A weight: the button leads to the field, Save saves it.
    page.get_by_role("button", name="Weigh", exact=True).click()
    page.keyboard.type("13.6")
    page.get_by_role("button", name="Save", exact=True).click()
    now = page.locator(".condition-now")
    expect(now).to_contain_text("13.6 kg")
    expect(chart.locator("circle")).to_have_count(9)
    # A score: two taps.
    page.locator(".condition-scores label", has_text="5").click()
    expect(page.locator(".condition-point")).to_contain_text("tucked up")
    page.get_by_role("button", name="Save the score").click()
    expect(now).to_contain_text("5 of 9")
    expect(page.get_by_text("By its score the dog should not be brought")).to_be_visible()
    # A score without a number is asked for, and nothing typed is lost.
    page.get_by_label("Note (optional)").fill("After a bath")
    page.get_by_role("button", name="Save the score").click()
    expect(page.get_by_text("Choose a number from 1 to 9.")).to_be_visible()
    expect(page.get_by_label("Note (optional)")).to_have_value("After a bath")

    page.get_by_label("What changes its weight by itself").select_option(label="Ill")
    expect(page.get_by_text("While a dog is ill its weight cannot be forecast")).to_be_visible()
    expect(lead).to_have_count(0)


def look_over(phone: Phone) -> None:
    page = phone.page
    phone.go(f"dog/{phone.dogs['Puddle']}/checks")
    due = page.locator("[data-part=due-part]")
    expect(due.get_by_role("heading", name="Ears")).to_be_visible()
    expect(page.get_by_role("heading", name="Both testes")).to_have_count(0)
    page.get_by_role("button", name="Ears: Carried as asked").click()
    expect(due.get_by_role("heading", name="Ears")).to_have_count(0)
    done = page.locator("[data-part=done-part] .check-row", has_text="Ears")
    expect(done).to_contain_text("Carried as asked")
    page.get_by_role("button", name=re.compile("^Remove .*: Ears, carried as asked")).click()
    expect(due.get_by_role("heading", name="Ears")).to_be_visible()


def enter_a_litter(phone: Phone) -> None:
    page = phone.page
    phone.go("dog/new")
    page.get_by_role("link", name="Enter a whole litter").click()
    page.get_by_label("Breed of the dam").fill("Border Terrier")
    page.get_by_label("Date of birth").fill((TODAY - timedelta(weeks=9)).isoformat())
    save = page.get_by_role("button", name="Save the litter")
    save.click()
    expect(page.get_by_text("Write how many dogs and bitches there are.")).to_be_visible()
    page.get_by_label("Dogs", exact=True).fill("2")
    page.get_by_label("Bitches", exact=True).fill("1")
    page.get_by_label("Dog 2").fill("Blue collar")
    save.click()
    expect(page.get_by_role("heading", name="Dogs", exact=True)).to_be_visible()
    born = (TODAY - timedelta(weeks=9)).isoformat()
    litter = {row["values"]["name"]: row["id"] for row in phone.records("dog", born=born)}
    assert sorted(litter) == ["Bitch 1", "Blue collar", "Dog 1"]
    # Entered once more, it is asked about.
    phone.go("litter/new")
    page.get_by_label("Breed of the dam").fill("Border Terrier")
    page.get_by_label("Date of birth").fill(born)
    page.get_by_label("Dogs", exact=True).fill("1")
    save.click()
    expect(page.get_by_text("3 dogs of this breed, born that day, are here")).to_be_visible()

    # What is felt at nine weeks stands at the gate, before what the dog's record says.
    dog = litter["Blue collar"]
    page.context.set_offline(False)  # the store's module is none of the shipped files
    phone.store("write('dog', it, { testes: 'both', testes_on: '2020-01-01' })", dog)
    phone.go(f"dog/{dog}/checks")
    page.get_by_role("button", name="Both testes: One down").click()
    kept = page.locator("[data-part=due-part] .check-row", has_text="Both testes")
    expect(kept).to_contain_text("One down")
    expect(kept).to_contain_text("again from")
    show = min(row["id"] for row in phone.records("show", day=TODAY.isoformat()))
    entry = phone.store("write('entry', null, it)", {"dog": dog, "show": show})
    phone.go(f"gate/{entry}")
    expect(page.get_by_text("One testis down, not both")).to_be_visible()
