"""What was removed: all of it can be found again, and what nobody would look for hides none."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.phone import POCKET, Phone
from tests.support import Server

AT_ONCE = 60
DAY = "2026-05-05"


def remove_many(phone: Phone, kind: str, values: dict[str, str], many: int) -> None:
    write = {"kind": kind, "id": None, "values": {**values, "deleted": True}}
    phone.store("writeAll(it)", [write] * many)


def test_many_removed_marks_hide_no_removed_dog(server: Server, page: Callable[..., Page]) -> None:
    phone = Phone(page(**POCKET), server.url).open().ready_offline()
    dog, other = phone.dogs["Puddle"], phone.dogs["Gustav"]
    phone.store("write('dog', it, { deleted: true })", dog)
    station = {"dog": other, "station": "bite"}
    remove_many(phone, "lesson", {**station, "says": "named", "day": DAY}, 250)
    phone.show("removed")
    rows = phone.page.locator("#main li")
    gone = rows.filter(has_text="Dog: Puddle")
    older = phone.page.get_by_role("button", name="Show older")
    expect(rows).to_have_count(1)
    expect(gone).to_be_visible()
    expect(older).to_be_hidden()

    remove_many(phone, "practice", {**station, "grade": "easy", "at": f"{DAY}T10:00:00.000Z"}, 130)
    expect(rows).to_have_count(AT_ONCE)
    expect(gone).to_have_count(0)
    older.click()
    expect(rows).to_have_count(2 * AT_ONCE)
    older.click()
    expect(rows).to_have_count(131)
    expect(older).to_be_hidden()
    # What was opened stays so, whatever comes in.
    phone.store("write('dog', it, { deleted: true })", other)
    expect(rows).to_have_count(132)
    gone.get_by_role("button", name="Bring back").click()
    expect(gone).to_have_count(0)
    assert not phone.records("dog", name="Puddle")[0]["values"]["deleted"]
