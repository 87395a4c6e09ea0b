"""Shows from the day their entries close: the list by what comes next, the form, the time zone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from playwright.sync_api import Page, expect

from tests.browser.phone import POCKET, Phone
from tests.support import Server


def in_days(count: int) -> str:
    return (date.today() + timedelta(count)).isoformat()


def test_a_show_is_followed_from_the_day_its_entries_close(
    start_server: Callable[..., Server], page: Callable[..., Page]
) -> None:
    server = start_server("demo")
    phone = page(viewport={"width": 360, "height": 800}, locale="en-GB")
    phone.goto(f"{server.url}#/shows/new")
    zone = phone.get_by_label("Time zone")
    here = phone.evaluate("Intl.DateTimeFormat().resolvedOptions().timeZone")
    expect(zone).to_have_value(here)
    phone.get_by_label("Name of the show").fill("Saltmarsh")
    phone.get_by_label("First day").fill(in_days(48))
    phone.get_by_label("Day entries close").fill(in_days(49))
    zone.fill("Atlantis")
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_text("Entries close before the show begins.")).to_be_visible()
    expect(phone.get_by_text("No time zone has the name Atlantis.")).to_be_visible()
    phone.get_by_label("Day entries close").fill(in_days(5))
    zone.fill("new york")
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_text("Entries close", exact=False)).to_be_visible()
    phone.get_by_role("link", name="Edit").click()
    expect(zone).to_have_value("America/New_York")
    phone.goto(f"{server.url}#/shows")
    rows = phone.locator(".plain-list").first.locator(".row-words")
    # Today's show first, then the day entries close, then a show that is nearer than that one.
    expect(rows).to_contain_text(["Today", "Entries close in 5 days", "In 15 days"])
    # A file for the calendar, in the time of the show.
    phone.get_by_role("link", name="Saltmarsh").click()
    phone.get_by_role("link", name="Calendar").click()
    expect(phone.get_by_text("in the time of America/New_York", exact=False)).to_be_visible()
    with phone.expect_download() as saved:
        phone.get_by_role("link", name="Save this show").click()
    text = saved.value.path().read_text(encoding="utf-8")
    assert "SUMMARY:Saltmarsh\n" in text
    assert "DTSTART;TZID=America/New_York:" in text


def test_older_shows_come_on_a_tap_and_stay(
    start_server: Callable[..., Server], page: Callable[..., Page]
) -> None:
    phone = Phone(page(**POCKET), start_server("demo").url).open().ready_offline()
    held = [row["values"] for row in phone.records("show")]
    before = sum((one.get("until") or one["day"]) < in_days(0) for one in held)
    many = 130
    shows = [
        {"name": f"Of old {number:03}", "body": "KC", "day": in_days(-900 - number)}
        for number in range(many)
    ]
    # Before those that are over: one that runs for days still, and one without a day.
    shows += [{"name": "Runs on", "body": "KC", "day": in_days(-2), "until": in_days(2)}]
    shows += [{"name": "Not said when", "body": "KC"}]
    writes = [{"kind": "show", "id": None, "values": values} for values in shows]
    phone.store("writeAll(it)", writes)
    phone.show("shows")
    rows = phone.page.locator("[data-part=past] strong")
    older = phone.page.get_by_role("button", name="Show older")
    for count in (60, 120):
        expect(rows).to_have_count(count)
        older.click()
    expect(rows).to_have_count(before + many)
    expect(older).to_be_hidden()
    names = rows.all_inner_texts()
    assert names[before:] == [show["name"] for show in shows[:many]]
    assert not {"Runs on", "Not said when"} & set(names)
    phone.store("write('show', null, it)", {"name": "Late", "body": "KC", "day": in_days(-2000)})
    expect(rows.last).to_have_text("Late")
    expect(rows).to_have_count(before + many + 1)


def test_a_day_that_cannot_be_believed_is_told_in_one_way(
    start_server: Callable[..., Server], page: Callable[..., Page]
) -> None:
    """A title, a score, testes: none before birth, none to come. An entry: at its show."""
    phone = Phone(page(**POCKET), start_server("demo").url).open().ready_offline()
    born = {"name": "Wren", "breed": "pug", "sex": "dog", "born": in_days(-400)}
    dog = phone.store("write('dog', null, it)", born)
    show = {"name": "Two days", "body": "KC", "day": in_days(5), "until": in_days(6)}
    key = phone.store("write('show', null, it)", show)
    main = phone.page.locator("#main")
    before, ahead = "The dog was born on", "That day is in the future. Check the date."
    long_ago = "That is too long ago for a living dog. Check the year."
    for path, field, days in (
        (f"dog/{dog}/title/new", "day", {in_days(-401): before, in_days(1): ahead}),
        (f"dog/{dog}/edit", "testes_on", {in_days(-401): before, in_days(1): ahead}),
        (f"dog/{dog}/edit", "born", {"1989-12-31": long_ago, in_days(1): ahead}),
        (f"show/{key}/enter/{dog}", "day", {in_days(7): "The show does not run on that day."}),
    ):
        phone.show(path)
        for day, words in days.items():
            main.locator(f'form [name="{field}"]').fill(day)
            main.get_by_role("button", name="Save", exact=True).click()
            expect(main.locator(f'[data-part="hint-{field}"]')).to_contain_text(words)
    phone.show(f"dog/{dog}/measures")
    scoring = main.locator('[data-part="score-form"]')
    for day, words in {in_days(-401): before, in_days(1): ahead}.items():
        scoring.locator('[name="day"]').fill(day)
        scoring.get_by_role("button", name="Save").click()
        expect(scoring.locator('[data-part="hint-day"]')).to_contain_text(words)


def test_heat_has_first_aid_on_top_and_says_what_is_known_of_this_dog(
    start_server: Callable[..., Server], page: Callable[..., Page]
) -> None:
    server = start_server("demo")
    phone = page(viewport={"width": 360, "height": 800})
    phone.goto(f"{server.url}#/shows")
    phone.get_by_role("link", name="Old Quarry").click()
    phone.get_by_role("link", name="Gustav Gate check").click()
    expect(phone.get_by_role("heading", name="Gate: Gustav")).to_be_visible()
    phone.get_by_role("link", name="Heat").click()
    phone.get_by_text("The dog is too hot").click()
    steps = phone.locator(".heat-steps b")
    expect(steps.first).to_have_text("Stop. Shade. Call the vet now.")
    expect(steps.first).to_be_in_viewport()
    risks = phone.locator('[data-part="risks"]')
    expect(risks).to_contain_text("French Bulldog: about 6 times the risk")
    expect(risks).to_contain_text("A short face raises the risk")
    expect(risks).not_to_contain_text("over 50 kg")
    expect(phone.get_by_text("We found no temperature that the AKC publishes")).to_be_visible()
    expect(phone.get_by_text("No time is safe in a parked car.")).to_be_visible()
