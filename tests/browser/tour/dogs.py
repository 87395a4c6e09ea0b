"""Stops of the tour: the kennel, its dogs and shows, and what the phone says of itself."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.tour.phone import TourPhone, screen


@screen
def kennel(phone: TourPhone) -> None:
    phone.show("")


@screen
def kennel_empty(phone: TourPhone) -> None:
    phone.show("")


@screen
def kennel_trouble(phone: TourPhone) -> None:
    phone.show("")
    expect(phone.page.locator(".notice")).to_have_count(3)


@screen
def dog(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}")


@screen
def dog_with_order(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}")


@screen
def dog_new(phone: TourPhone) -> None:
    phone.show("dog/new")


@screen
def note_new(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/note")


@screen
def dog_edit(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/edit")


@screen
def dog_form_wrong(phone: TourPhone) -> None:
    phone.show("dog/new")
    drop = phone.page.get_by_role("button", name="Discard")
    if drop.count():  # what another stop of the tour typed and left
        drop.click()
    phone.page.get_by_role("button", name="Save").click()
    expect(phone.page.locator(".hint.wrong")).to_have_count(4)


@screen
def dog_form_breeds(phone: TourPhone) -> None:
    phone.show("dog/new")
    phone.page.get_by_role("combobox", name="Breed").fill("te")
    phone.page.get_by_role("combobox", name="Breed").press("ArrowDown")
    expect(phone.page.locator("[role=option][aria-selected=true]")).to_be_visible()


@screen
def countdown(phone: TourPhone) -> None:
    phone.show(f"entry/{phone.first('entry')}/countdown")


@screen
def heat(phone: TourPhone) -> None:
    phone.show(f"entry/{phone.first('entry')}/heat")
    phone.page.get_by_text("The dog is too hot").click()


@screen
def calendar(phone: TourPhone) -> None:
    phone.show(f"show/{phone.first('show')}/calendar")


@screen
def settings(phone: TourPhone) -> None:
    phone.show("settings")


@screen
def book(phone: TourPhone) -> None:
    phone.show("sync")


@screen
def book_trouble(phone: TourPhone) -> None:
    phone.show("sync")
    expect(phone.page.get_by_role("button", name="Keep here only")).to_be_visible()


@screen
def removed(phone: TourPhone) -> None:
    values = {"dog": phone.dogs["Puddle"], "station": "head", "line": "Chin up, breathe out"}
    cue = phone.store("write('cue', null, it)", values)
    phone.store("write('cue', it, { deleted: true })", cue)
    phone.show("removed")


@screen
def enter(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/enter")


@screen
def awards(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/awards")


@screen
def award_new(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/award/new")


@screen
def measures(phone: TourPhone) -> None:
    """A dog whose weight can be forecast, with its chart."""
    phone.show(f"dog/{phone.dogs['Gustav']}/measures")


@screen
def checks(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Puddle']}/checks")


@screen
def litter_new(phone: TourPhone) -> None:
    phone.show("litter/new")


@screen
def shows(phone: TourPhone) -> None:
    phone.show("shows")


@screen
def show_new(phone: TourPhone) -> None:
    phone.show("shows/new")


@screen
def show(phone: TourPhone) -> None:
    phone.show(f"show/{phone.first('show')}")


@screen
def entry_new(phone: TourPhone) -> None:
    phone.show(f"show/{phone.first('show')}/enter/{phone.dogs['Teasel']}")


@screen
def entry(phone: TourPhone) -> None:
    phone.show(f"entry/{phone.first('entry')}")


@screen
def sources(phone: TourPhone) -> None:
    phone.show("sources")


@screen
def lost(phone: TourPhone) -> None:
    phone.show("nowhere/at/all")
