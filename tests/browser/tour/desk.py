"""Stops of the tour: the desk."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.tour.phone import TourPhone, screen


@screen
def desk(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk")


@screen
def desk_dog(phone: TourPhone) -> None:
    """A dog with marks of practice; that with a chart of its weight is `desk_dog_weighed`."""
    phone.page.goto(f"{phone.url}desk/dog/{phone.dogs['Teasel']}")


@screen
def desk_dog_weighed(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/dog/{phone.dogs['Gustav']}")


@screen
def desk_devices(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/devices")


@screen
def desk_own(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/own")


@screen
def desk_season(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/season")


@screen
def desk_card(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/dog/{phone.dogs['Bramble']}/card")
    expect(phone.page.locator(".pocket-panel h3").first).to_be_visible()


@screen
def desk_import(phone: TourPhone) -> None:
    phone.page.goto(f"{phone.url}desk/dogs/import")


@screen
def desk_import_preview(phone: TourPhone) -> None:
    """A table with rows of every kind, a date to ask about, and a column to leave out."""
    desk_import(phone)
    phone.page.get_by_label("cells copied").fill(
        "id,Name,Registered name,Breed,Sex,Born,Vet\n"
        f"{phone.dogs['Teasel']},Teasel,,,,,Fernside\n"
        f"{phone.dogs['Gustav']},Gustav,Marrowby Pocket Thunder of the Long Lane,,,,\n"
        ",Juniper,Marrowby Juniper Wine,Wippet,bitch,14 March 2024,\n"
        ",Sorrel,,Pug,dog,03/04/2024,\n"
    )
    phone.page.get_by_role("button", name="Show what it will do").click()
    expect(phone.page.locator("[data-action]")).to_have_count(4)
