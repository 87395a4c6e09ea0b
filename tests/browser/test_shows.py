"""Shows from the day their entries close: the list by what comes next, the form, the time zone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from playwright.sync_api import Page, expect

from tests.support import Server


def in_days(count: int) -> str:
    return (date.today() + timedelta(count)).isoformat()


def test_a_show_is_followed_from_the_day_its_entries_close(
    start_server: Callable[..., Server], page: Callable[..., Page]
) -> None:
    server = start_server("demo")
    phone = page(viewport={"width": 360, "height": 800}, locale="en-GB")
    phone.goto(f"{server.url}#/show/new")
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
