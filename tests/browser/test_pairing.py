"""Two phones, one closed book: let in by a code, kept apart by a role, one lost and shut out."""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Error, Page, Route, expect

from ringside.book.devices import HELPER
from tests.browser.phone import POCKET, Phone, asked, assert_level
from tests.support import Server, offer, pair_page

SECRET = "Left hock turns out when he is tired"
REFUSED = "status of 403"
SHUT_OUT = "status of 401"
GONE = "net::ERR_"


@pytest.fixture
def server(start_server: Callable[..., Server]) -> Server:
    """Somebody's own book, which is closed."""
    return start_server("serve")


@pytest.fixture
def phone(page: Callable[..., Page], server: Server) -> Callable[[], Phone]:
    """A factory of phones, each with a profile of its own."""
    return lambda: Phone(page(**POCKET), server.url)


def pair(phone: Phone, server: Server, role: str = "owner", name: str = "") -> Phone:
    pair_page(phone.page, server, role, name)
    phone.until(lambda: phone.meta("synced"), "the book was met")
    return phone


def problem(page: Page) -> str:
    place = page.locator(".form-problem")
    expect(place).to_be_visible()
    return place.inner_text()


@pytest.mark.plain_too
def test_two_phones_pair_share_a_dog_and_one_is_lost(
    server: Server,
    phone: Callable[[], Phone],
    allowed_errors: list[str],
    tmp_path: Path,
) -> None:
    allowed_errors += [SHUT_OUT]
    # The first by the link that the server printed, as the browser it opens is.
    mine, yours = phone(), phone()
    printed = re.search(r"#/pair/(\w+)", server.output)
    assert printed
    mine.page.goto(f"{server.url}#/pair/{printed[1]}")
    expect(mine.page.get_by_role("heading", name="Pair this device")).to_be_visible()
    assert mine.page.evaluate("location.hash") == "#/pair"
    assert printed[1] not in mine.page.content()
    expect(mine.page.get_by_label("Code")).to_be_hidden()
    mine.page.get_by_role("button", name="Pair", exact=True).click()
    expect(mine.page.get_by_text("This device sees the whole book")).to_be_visible()
    # The second by a code made at the desk and typed in the app, which asks for it by itself.
    mine.page.get_by_role("link", name="To the desk").click()
    mine.page.get_by_role("link", name="Devices").click()
    mine.page.get_by_role("button", name="Make a code").click()
    code = mine.page.locator("#code").inner_text()
    expect(mine.page.locator("#picture svg")).to_be_visible()
    yours.page.goto(server.url)
    expect(yours.page.get_by_role("heading", name="Pair this device")).to_be_visible()
    yours.page.get_by_label("Name of this device").fill("Robin's phone")
    yours.type_code(code.lower().replace("-", " "))
    expect(yours.page.get_by_text("This device sees the whole book")).to_be_visible()
    yours.page.get_by_role("link", name="To the kennel", exact=True).click()
    # Both edit one dog.
    mine.open()
    mine.add_dog("Juniper", "Pug")
    mine.sync(server.data)
    yours.sync(server.data)
    yours.rename("Juniper", "June")
    yours.sync(server.data)
    mine.sync(server.data)
    mine.dog("June")
    for one in (mine, yours):
        assert_level(one, server.data)
    # One is lost.
    mine.page.goto(f"{server.url}desk/devices")
    row = mine.page.get_by_role("listitem").filter(has_text="Robin's phone")
    row.get_by_text("Revoke", exact=True).click()
    row.get_by_role("button", name="Revoke Robin's phone").click()
    expect(row.get_by_text("Revoked")).to_be_visible()
    yours.rename("June", "Junebug")
    yours.nudge()
    yours.go()
    expect(yours.page.get_by_text("This phone was removed from the book.")).to_be_visible()
    expect(yours.page.locator(".sync-line")).to_contain_text("1 change saved on it")
    assert asked(server.data, "SELECT 1 FROM change WHERE value = ?", '"Junebug"') == []
    yours.dog("Junebug")
    # It still says so where there is no server, and gives a copy of all it holds.
    yours.page.reload()
    yours.go("sync")
    expect(yours.page.get_by_text("removed from the book").first).to_be_visible()
    with yours.page.expect_download() as download:
        yours.page.get_by_role("button", name="Save a copy").click()
    download.value.save_as(tmp_path / "copy.json")
    copy = json.loads((tmp_path / "copy.json").read_text(encoding="utf-8"))
    assert [row["values"]["name"] for row in copy["records"]] == ["Junebug"]
    # Paired again, it sends what it kept.
    yours.page.get_by_role("button", name="Pair again").click()
    yours.type_code(offer(server.place).typed)
    yours.page.get_by_role("link", name="To the kennel", exact=True).click()
    yours.sync(server.data)
    expect(yours.page.get_by_text("removed from the book")).to_have_count(0)
    assert_level(yours, server.data)


def test_a_helper_never_sees_a_note(server: Server, phone: Callable[[], Phone]) -> None:
    mine, yours = pair(phone(), server), phone()
    wire: list[str] = []

    def pass_on(route: Route) -> None:
        answer = route.fetch()
        wire.append(answer.text())
        with contextlib.suppress(Error):  # the page that asked may be gone by now
            route.fulfill(response=answer)

    yours.page.route("**/api/sync", pass_on)
    mine.open()
    mine.add_dog("Juniper", "Pug")
    mine.station("Juniper", "Bite")
    mine.write_note(SECRET)
    mine.sync(server.data)
    pair(yours, server, HELPER)
    yours.sync(server.data)
    yours.dog("Juniper")
    yours.station("Juniper", "Bite")
    assert yours.records("note") == []
    assert wire
    assert not any(SECRET in body for body in wire)
    # What a helper writes all the same stays, and says why.
    yours.write_note("He was calm today")
    yours.until(lambda: yours.changes("refused"), "the note was refused")
    yours.go("sync")
    expect(yours.page.get_by_text("A helper cannot write a note").first).to_be_visible()
    # The desk is not a helper's.
    yours.page.goto(f"{server.url}desk")
    expect(yours.page.get_by_role("heading", name="Pair this device")).to_be_visible()
    # Made an owner, the phone gets what it was not shown.
    pair(yours, server)
    yours.until(lambda: SECRET in json.dumps(yours.records("note")), "the note came")
    assert len(yours.records("dog")) == 1


def test_a_phone_that_was_never_paired_works_and_asks_to_be(
    server: Server, phone: Callable[[], Phone]
) -> None:
    mine = phone()
    mine.page.goto(server.url)
    expect(mine.page.get_by_role("heading", name="Pair this device")).to_be_visible()
    mine.page.get_by_role("link", name="Back to the kennel").click()
    mine.add_dog("Juniper", "Pug")
    # It holds something now, so it begins in the kennel.
    mine.open()
    expect(mine.page.get_by_text("This phone is not paired with the book.")).to_be_visible()
    expect(mine.page.locator(".sync-line")).to_contain_text("saved on it")
    mine.page.get_by_role("button", name="Pair", exact=True).click()
    mine.type_code(offer(server.place).typed)
    mine.page.get_by_role("link", name="To the kennel", exact=True).click()
    mine.sync(server.data)
    assert_level(mine, server.data)


def test_what_is_wrong_with_a_code_is_said(
    server: Server, phone: Callable[[], Phone], allowed_errors: list[str]
) -> None:
    allowed_errors += [REFUSED, "status of 429", GONE]
    mine = phone()
    code = offer(server.place)
    mine.page.goto(f"{server.url}#/pair/{code.link}")
    mine.page.get_by_label("Name of this device").fill("My phone")
    server.stop()
    mine.page.get_by_role("button", name="Pair", exact=True).click()
    assert "cannot reach the server" in problem(mine.page)
    server.start()
    mine.page.get_by_role("button", name="Pair", exact=True).click()
    expect(mine.page.get_by_text("This device sees the whole book")).to_be_visible()
    # The same link again, in a window opened from it.
    mine.page.goto("about:blank")
    mine.page.goto(f"{server.url}#/pair/{code.link}")
    mine.page.get_by_role("button", name="Pair", exact=True).click()
    assert "has been used" in problem(mine.page)
    expect(mine.page.get_by_label("Code")).to_be_focused()
    mine.page.get_by_label("Code").fill("")
    mine.page.get_by_role("button", name="Pair", exact=True).click()
    assert problem(mine.page) == "Type the code first."
    for number in range(19):
        with mine.page.expect_response("**/api/pair"):
            mine.type_code(f"0000{number:04}")
    expect(mine.page.locator(".form-problem")).to_contain_text("not a code for this book")
    mine.type_code(offer(server.place).typed)
    expect(mine.page.locator(".form-problem")).to_contain_text("Try again in 60 minutes")
    # None of that has touched what the phone has.
    mine.open()
    expect(mine.page.locator(".sync-line")).to_contain_text("All synced")


def test_a_closed_desk_leads_to_the_code(server: Server, phone: Callable[[], Phone]) -> None:
    mine = phone()
    for path in ("desk", "desk/devices", "desk?next=https://elsewhere.example"):
        mine.page.goto(server.url + path)
        expect(mine.page.get_by_role("heading", name="Pair this device")).to_be_visible()
        assert mine.page.url == f"{server.url}#/pair"


def test_what_the_server_prints_holds_no_secret_but_the_link(
    server: Server, phone: Callable[[], Phone]
) -> None:
    mine = pair(phone(), server)
    mine.page.goto(f"{server.url}desk/devices")
    mine.page.get_by_role("button", name="Make a code").click()
    made = mine.page.locator("#code").inner_text(), mine.page.locator("#link").inner_text()
    (token,) = [cookie for cookie in mine.page.context.cookies() if "device" in cookie["name"]]
    assert token["httpOnly"]
    assert token["sameSite"] == "Strict"
    assert mine.page.evaluate("document.cookie") == ""
    assert len(re.findall("#/pair/", server.output)) == 1
    files = filter(Path.is_file, server.data.rglob("*"))
    kept = "".join(path.read_bytes().decode("latin-1") for path in files)
    for secret in (made[0], made[0].replace("-", ""), made[1].rpartition("/")[2], token["value"]):
        assert secret not in server.output
        assert secret not in kept
