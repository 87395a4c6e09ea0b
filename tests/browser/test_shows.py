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
    phone = page(viewport={"width": 360, "height": 800}, timezone_id="Europe/Prague")
    phone.goto(f"{server.url}#/show/new")
    zone = phone.get_by_label("Time zone")
    expect(zone).to_have_value("Europe/Prague")
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
