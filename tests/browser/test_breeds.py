"""A breed is found by any of its names, and a name typed in full needs no picking."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from ringside.knowledge.own import OWN_BREEDS
from tests.browser.phone import OUT_OF_REACH, POCKET, Phone, body_of
from tests.support import ROOT, Server
from tests.unit.test_knowledge import BREED

BREEDS = len(list((ROOT / "ringside" / "knowledge" / "breeds").glob("*.toml")))
NAMES = 'also = ["Großer Fenmaster", "Épagneul du Marais"]\n'


@pytest.fixture
def phone(start_server: Callable[..., Server], tmp_path: Path, page: Callable[..., Page]) -> Phone:
    data = tmp_path / "data"
    (data / OWN_BREEDS).mkdir(parents=True)
    named = BREED.replace("examined_on = ", f"{NAMES}examined_on = ", 1)
    (data / OWN_BREEDS / "otter-hound.toml").write_text(named, encoding="utf-8")
    made = Phone(page(**POCKET), start_server("demo", data=data).url)
    made.open("dog/new")
    return made


def test_another_name_finds_the_breed(phone: Phone) -> None:
    field = phone.page.get_by_label("Breed", exact=True)
    options = phone.page.get_by_role("listbox", name="Breeds").get_by_role("option")
    field.fill("epag")  # eight spaniels are called so
    expect(options.filter(has_text="Otter Hound of the Moor")).to_have_count(1)
    expect(options.filter(has_text="Brittany Spaniel")).to_have_count(1)
    for typed in ("marais epa", "GROSSER fen", "otter ma"):
        field.fill(typed)
        expect(options).to_have_count(1)
        expect(options).to_contain_text("Otter Hound of the Moor")
    options.click()
    expect(field).to_have_value("Otter Hound of the Moor")


def test_an_empty_field_lists_all_and_a_strange_name_is_asked_about(phone: Phone) -> None:
    field = phone.page.get_by_label("Breed", exact=True)
    options = phone.page.get_by_role("listbox", name="Breeds").get_by_role("option")
    field.click()
    expect(options).to_have_count(BREEDS + 1)
    field.press("ArrowUp")  # the last
    expect(options.last).to_have_attribute("aria-selected", "true")
    field.press("Escape")
    expect(options.first).to_be_hidden()
    short = phone.page.get_by_label("Short face")
    field.fill("daschund")
    expect(options.first).to_have_text("Dachshund")
    field.fill("Gnarfle Wump")
    expect(phone.page.get_by_text("We do not know this breed")).to_be_visible()
    expect(short).to_be_visible()
    field.fill("dachsund")
    field.press("Escape")
    phone.page.get_by_role("button", name="Dachshund").click()
    expect(field).to_have_value("Dachshund")
    expect(short).to_be_hidden()
    expect(phone.page.get_by_label("Variety")).to_be_visible()
    field.fill("Frenchie")
    expect(phone.page.get_by_label("Variety")).to_be_hidden()
    expect(phone.page.get_by_text("Usual for the French Bulldog: table")).to_be_visible()


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("epagneul du marais", "Otter Hound of the Moor"),
        ("pug", "Pug"),
        ("A breed of our own", "A breed of our own"),
    ],
)
def test_a_name_typed_in_full_is_the_breed(typed: str, name: str, phone: Phone) -> None:
    phone.page.get_by_label("Call name").fill("Sorrel")
    phone.page.get_by_label("Breed", exact=True).fill(typed)
    phone.page.locator(".choices label", has_text="Bitch").click()
    phone.page.get_by_label("Date of birth").fill("2024-05-17")
    phone.page.get_by_role("button", name="Save").click()
    expect(phone.page.get_by_role("heading", level=1, name="Sorrel")).to_be_visible()
    expect(phone.page.get_by_text(name, exact=True)).to_be_visible()


def test_a_second_dog_of_the_breed_has_its_whole_card_without_a_signal(
    server: Server, context: Callable[..., BrowserContext], allowed_errors: list[str]
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    opened = context(**POCKET)
    mine = Phone(opened.new_page(), server.url).open().ready_offline()
    opened.set_offline(True)
    for name, sex, other in (("Tansy", "Dog", "Bitch"), ("Sedge", "Bitch", "Dog")):
        mine.add_dog(name, "Border Terrier", sex=sex)
        expect(mine.page.get_by_text("general card")).to_have_count(0)
        mine.station(name, "Outline")
        expect(mine.page.get_by_text(f"{sex} weighs").first).to_be_attached()
        expect(mine.page.get_by_text(f"{other} weighs")).to_have_count(0)


def test_a_phone_without_its_cards_is_not_called_synced(
    server: Server, context: Callable[..., BrowserContext], allowed_errors: list[str]
) -> None:
    allowed_errors += ["net::ERR_", OUT_OF_REACH]
    page = context(**POCKET).new_page()
    asked_for_cards: list[bool] = []

    def lose(route: Route) -> None:
        asks = isinstance(body_of(route.request)["packs"], dict)
        asked_for_cards.append(asks)
        route.abort() if asks else route.continue_()

    page.route("**/api/sync", lose)
    mine = Phone(page, server.url).open()
    mine.until(lambda: any(asked_for_cards), "the answer with the cards is lost")
    expect(mine.page.locator(".sync-line")).to_contain_text("not synced yet", ignore_case=True)
    assert mine.dogs
    page.unroute("**/api/sync")
    mine.nudge()
    expect(mine.page.locator(".sync-line")).to_contain_text("All synced")
    assert mine.count("packs")
