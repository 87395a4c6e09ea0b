"""The countdown to a show: ticked, moved, skipped, added and taken back, and kept over a reload."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from playwright.sync_api import Locator, Page, expect

from ringside.domain.days import say_day
from tests.browser.phone import Phone
from tests.support import Server


def test_tasks_are_ticked_moved_skipped_and_added(
    start_server: Callable[..., Server], page: Callable[..., Page]
) -> None:
    server = start_server("demo")
    phone = page(viewport={"width": 360, "height": 800})
    phone.goto(f"{server.url}#/shows")
    phone.get_by_role("link", name="Old Quarry").click()
    phone.get_by_role("link", name="Countdown: Gustav").click()
    expect(phone.get_by_text("Day counts are habit, not science", exact=False)).to_be_visible()

    def rows(part: str, words: str) -> Locator:
        return phone.locator(f'[data-part="{part}"] > li', has_text=words)

    def settled() -> None:
        phone.wait_for_timeout(450)  # the guard against a second tap where a row went away

    # Ticked, and taken back.
    due = rows("today", "nails")
    due.locator(".gate-tick").click()
    expect(phone.locator('[data-part="count"]')).to_have_text(" Nothing due today")
    expect(rows("done", "nails")).to_have_count(1)
    phone.get_by_role("button", name="Undo").click()
    expect(due).to_have_count(1)
    settled()
    # What can hurt says so, and leaves it to the vet.
    due.locator(".gate-more").click()
    expect(due.get_by_text("is for the vet", exact=False)).to_be_visible()
    # Moved to tomorrow.
    tomorrow = date.today() + timedelta(1)
    schedule = rows("later", "Read the schedule")
    schedule.locator(".gate-more").click()
    schedule.get_by_label("Move to").fill(tomorrow.isoformat())
    expect(rows("week", f"Read the schedule {say_day(tomorrow)}")).to_be_visible()
    settled()
    # Skipped.
    ears = rows("later", "ears").first
    ears.locator(".gate-more").click()
    ears.get_by_role("button", name="Skip", exact=True).click()
    expect(rows("done", "Look into the ears")).to_have_count(1)
    # Added, to come again.
    phone.get_by_text("Add a task").click()
    phone.get_by_role("button", name="Add", exact=True).click()
    expect(phone.get_by_role("alert").filter(has_text="Write what to do")).to_be_visible()
    phone.get_by_label("What to do").fill("Walk on grass")
    phone.get_by_label("Again after days").fill("5")
    phone.get_by_role("button", name="Add", exact=True).click()
    expect(rows("today", "Walk on grass")).to_have_count(1)
    expect(rows("week", "Walk on grass")).to_have_count(1)
    settled()
    held = Phone(phone, server.url)
    before = len(held.records("task", state="done"))
    rows("today", "Walk on grass").locator(".gate-tick").click()
    expect(rows("done", "Walk on grass")).to_have_count(1)
    held.until(lambda: len(held.records("task", state="done")) > before, "the tick is kept")
    phone.reload()
    expect(rows("done", "Walk on grass")).to_have_count(1)
    expect(rows("week", f"Read the schedule {say_day(tomorrow)}")).to_have_count(1)
    expect(rows("done", "Look into the ears")).to_have_count(1)
