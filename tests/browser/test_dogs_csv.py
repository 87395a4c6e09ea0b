"""A breeder's spreadsheet at the desk: chosen, looked at, written, and then on the phones."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.browser.measures import LOST, MODES, TARGET, TARGETS, axe, dress
from tests.browser.phone import OUT_OF_REACH, POCKET, Phone, assert_level
from tests.browser.tour import PHONE, WINDOW
from tests.support import Server, pair_page

CHIP = "826 000 000 000 123"
# What the browser says of a page that came with a status of its own; the page says why.
UNREADABLE = "status of 422"
CHANGED = "status of 409"


@pytest.fixture
def server(start_server: Callable[..., Server]) -> Server:
    """Somebody's own book."""
    return start_server("serve")


@pytest.fixture
def phone(page: Callable[..., Page], server: Server) -> Phone:
    """An owner's phone, which has met the book."""
    made = Phone(page(**POCKET), server.url)
    pair_page(made.page, server)
    made.until(lambda: made.meta("synced"), "the book was met")
    return made


@pytest.fixture
def desk(context: Callable[..., BrowserContext], server: Server) -> Page:
    """An owner's browser at the import, as wide as a phone."""
    window = context(viewport=PHONE).new_page()
    pair_page(window, server)
    window.goto(f"{server.url}desk")
    window.get_by_role("link", name="Import dogs from a table").click()
    return window


def table(*rows: tuple[str, ...]) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=";").writerows(rows)
    return text.getvalue()


def show(desk: Page, text: str) -> None:
    desk.get_by_label("cells copied").fill(text)
    desk.get_by_role("button", name="Show what it will do").click()
    expect(desk.get_by_role("heading", name="Before you import")).to_be_visible()


def row(desk: Page, name: str) -> Locator:
    return desk.get_by_role("row").filter(has=desk.get_by_text(name, exact=True))


def test_a_spreadsheet_becomes_dogs_on_the_phone(
    server: Server, phone: Phone, desk: Page, tmp_path: Path
) -> None:
    key = phone.add_dog("Bramble", "Border Terrier")
    phone.sync(server.data)
    file = tmp_path / "kennel.csv"
    rows = [
        ("ID", "Call name", "Breed", "Sex", "DOB", "Chip", "Colour"),
        ("", "Zoë", "Retriever (Labrador)", "F", "03/04/2024", CHIP, "black"),
        (key, "Bramble", "", "", "", "900 000 000 000 456", ""),
        ("", "Moss", "Fen Hound", "M", "2025-01-31", "", ""),
        ("", "Sorrel", "Pug", "bitch", "2025-01-31", "9.00085E+14", ""),
    ]
    file.write_bytes(table(*rows).encode("windows-1252"))

    desk.get_by_label("A CSV file").set_input_files(file)
    desk.get_by_role("button", name="Show what it will do").click()
    expect(desk.get_by_text("read as Windows-1252")).to_be_visible()
    expect(desk.get_by_text("Ignored, because a dog has no such field: Colour.")).to_be_visible()
    expect(row(desk, "Zoë")).to_contain_text("Refused")
    desk.get_by_role("button", name="Day first").click()
    expect(row(desk, "Zoë")).to_contain_text("Add")
    expect(row(desk, "Zoë")).to_contain_text("Labrador Retriever")
    expect(row(desk, "Zoë")).to_contain_text("3 April 2024")
    expect(row(desk, "Bramble")).to_contain_text("Microchip: nothing")
    expect(row(desk, "Moss")).to_contain_text("Fen Hound is not a breed we know")
    expect(row(desk, "Sorrel")).to_contain_text("Format the column as text")
    expect(row(desk, "Sorrel").get_by_role("checkbox")).to_have_count(0)
    assert list(phone.dogs) == ["Bramble"]

    # By keyboard, as at a laptop.
    desk.get_by_role("checkbox", name="Import row 4").focus()
    desk.keyboard.press("Space")
    desk.get_by_role("button", name="Import").press("Enter")
    expect(desk.get_by_role("status")).to_contain_text("1 dog added, 1 changed.")
    expect(desk.get_by_role("status")).to_contain_text("1 row was not ticked.")
    expect(desk.get_by_role("status")).to_contain_text("1 row could not be imported.")
    desk.get_by_role("link", name="Zoë").click()
    expect(desk.locator(":target")).to_contain_text("Labrador Retriever")

    phone.sync(server.data)
    assert_level(phone, server.data)
    assert {dog["values"]["name"] for dog in phone.records("dog")} == {"Bramble", "Zoë"}
    assert phone.records("dog", name="Bramble")[0]["values"]["microchip"].endswith("456")
    phone.go()
    phone.page.locator("#main").get_by_role("link", name=re.compile("^Zoë")).click()
    expect(phone.page.get_by_text("Labrador Retriever").first).to_be_visible()


def test_what_a_phone_wrote_meanwhile_is_not_written_over(
    server: Server, phone: Phone, desk: Page, allowed_errors: list[str]
) -> None:
    allowed_errors += [CHANGED, OUT_OF_REACH]
    key = phone.add_dog("Bramble", "Border Terrier")
    phone.sync(server.data)
    show(desk, table(("id", "Name", "Reg no"), (key, "Bracken", "MB 1")))
    phone.rename("Bramble", "Bee")
    phone.sync(server.data)
    desk.get_by_role("button", name="Import").click()
    expect(desk.get_by_role("alert")).to_contain_text("The book has changed since you looked")
    expect(row(desk, "Bracken")).to_contain_text("Bee")
    phone.sync(server.data)
    assert phone.records("dog")[0]["values"]["name"] == "Bee"
    phone.page.route("**/api/**", lambda route: route.abort())
    # Seen, and meant.
    desk.get_by_role("button", name="Import").click()
    expect(desk.get_by_role("status")).to_contain_text("0 dogs added, 1 changed.")
    # A phone that wrote another field without having seen it loses nothing.
    phone.edit("Bee", "Registered name", "Marrowby Bee Line")
    phone.page.unroute("**/api/**")
    phone.sync(server.data)
    assert_level(phone, server.data)
    values = phone.records("dog")[0]["values"]
    assert (values["name"], values["registration"], values["pedigree"]) == (
        "Bracken", "MB 1", "Marrowby Bee Line",
    )  # fmt: skip


def test_the_table_to_begin_with_can_be_taken_in(desk: Page) -> None:
    with desk.expect_download() as found:
        desk.get_by_role("link", name="Download one to begin with").click()
    assert found.value.suggested_filename == "dogs.csv"
    desk.get_by_label("A CSV file").set_input_files(found.value.path())
    desk.get_by_role("button", name="Show what it will do").click()
    expect(row(desk, "Example Biscuit")).to_contain_text("Add")


def look(desk: Page) -> None:
    """Look at the screen in both windows and all modes, as test_screens.py does at the others."""
    found: dict[str, list[str]] = {}
    for size in (PHONE, WINDOW):
        desk.set_viewport_size(size)
        for mode in MODES:
            dress(desk, mode)
            found[f"{mode}, {size['width']}"] = axe(desk)
        found[f"lost, {size['width']}"] = desk.evaluate(LOST)
        found[f"small, {size['width']}"] = desk.evaluate(TARGETS, TARGET)
    dress(desk, "light")
    assert {how: lines for how, lines in found.items() if lines} == {}


def test_the_screens_that_come_after_can_be_used_by_everybody(
    desk: Page, allowed_errors: list[str]
) -> None:
    """The first two are on the tour; these need a refusal or a change."""
    allowed_errors += [UNREADABLE, CHANGED]
    desk.get_by_role("button", name="Show what it will do").click()
    expect(desk.get_by_role("alert")).to_contain_text("Choose a file, or paste a table.")
    look(desk)
    rows = [(f"Juniper {number}", "Whippet", "bitch", "2024-03-14") for number in range(14)]
    show(desk, table(("Name", "Breed", "Sex", "Born"), *rows))
    expect(desk.get_by_role("button", name="Import")).to_have_count(2)
    with desk.context.expect_page() as opened:
        desk.evaluate("open(location.origin + '/desk/dogs/import')")
    other = opened.value
    show(other, table(("Name", "Breed", "Sex", "Born"), *rows))
    desk.get_by_role("button", name="Import").first.click()
    expect(desk.get_by_role("status")).to_contain_text("14 dogs added")
    expect(desk.get_by_role("link", name="and 6 more")).to_be_visible()
    look(desk)
    other.get_by_role("button", name="Import").first.click()
    expect(other.get_by_role("alert")).to_contain_text("nothing was written")
    expect(other.get_by_text("There is nothing to import.")).to_be_visible()
    look(other)
