"""Stops of the tour: photos, their marks, and what they come to."""

from __future__ import annotations

import itertools
import json
from typing import Any

from playwright.sync_api import expect

from tests import pictures
from tests.browser.tour.phone import TourPhone, screen

SHADES = itertools.count()


def answer_look(phone: TourPhone) -> None:
    for words in ("Yes", "Right"):
        for label in phone.page.locator("fieldset label", has_text=words).all():
            label.click()


@screen
def photo_views(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/photo")


@screen
def photo_how(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/photo/side")


@screen
def photo_look(phone: TourPhone) -> None:
    """What is asked of a photo that was taken just now, and not answered."""
    photo_how(phone)
    another = pictures.jpeg(400, 300, shade=next(SHADES))  # what was answered of the last one stays
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": another}
    phone.page.locator("[data-part=camera]").set_input_files(picture)  # type: ignore[arg-type]
    phone.page.get_by_role("button", name="Save photo").click()
    expect(phone.page.locator(".hint.wrong")).to_have_count(3)
    phone.page.locator("label", has_text="No").first.click()


@screen
def photo(phone: TourPhone) -> None:
    photo_look(phone)
    answer_look(phone)
    phone.page.get_by_role("button", name="Save photo").click()
    phone.page.wait_for_url("**/mark")
    phone.show(f"photo/{phone.page.evaluate('location.hash').split('/')[2]}")
    expect(phone.page.locator(".photo-frame img")).to_be_visible()
    phone.page.get_by_text("Correct what was said").click()


def marked(phone: TourPhone, by: str = "Anna", **draft: Any) -> str:
    """The demo's photo of Sorrel, its marks begun as `draft` says; gives its id."""
    photo = min(row["id"] for row in phone.records("photo", dog=phone.dogs["Sorrel"]))
    phone.store("putDraft('who marks photos', it)", {"by": by})
    phone.store("putDraft(...it)", [f"marks {photo}", {"by": by, "round": 1, **draft}])
    return photo


def sorrels(phone: TourPhone) -> dict[str, Any]:
    """The marks that the demo has on it."""
    photo = min(row["id"] for row in phone.records("photo", dog=phone.dogs["Sorrel"]))
    row = phone.records("marking", photo=photo, by="Marrowby Lane")[0]
    marks: dict[str, Any] = json.loads(row["values"]["marks"])
    return marks


@screen
def mark_who(phone: TourPhone) -> None:
    photo = marked(phone, by="", marks={}, at="nose")
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_label("Your name or initials")).to_be_visible()


@screen
def mark(phone: TourPhone) -> None:
    photo = marked(phone, marks={}, at="withers")
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_role("heading", level=1, name="Withers")).to_be_visible()


@screen
def mark_line(phone: TourPhone) -> None:
    photo = marked(phone, marks=sorrels(phone), at="topline", more=True)
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_role("heading", level=1, name="Topline")).to_be_visible()


@screen
def mark_end(phone: TourPhone) -> None:
    photo = marked(phone, marks={**sorrels(phone), "brisket": None}, at="end", more=True)
    phone.show(f"photo/{photo}/mark")
    phone.page.get_by_text("All marks, to change one").click()


@screen
def mark_done(phone: TourPhone) -> None:
    photo = marked(phone, by="Marrowby Lane")
    phone.store("dropDraft(it)", f"marks {photo}")
    phone.show(f"photo/{photo}/mark")
    expect(phone.page.get_by_role("heading", level=1, name="Marked")).to_be_visible()


@screen
def proportions(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Sorrel']}/proportions")
    phone.page.get_by_role("button", name="Show proportions").click()
    expect(phone.page.locator(".proportion").first).to_be_visible()
    for each in phone.page.locator(".proportions-open summary:visible").all():
        each.click()


@screen
def proportions_empty(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/proportions")
    expect(phone.page.get_by_text("No photo is marked yet.")).to_be_visible()


@screen
def photos(phone: TourPhone) -> None:
    """Two photos, of which one is lost and one waits to be saved."""
    values = {"dog": phone.dogs["Bramble"], "day": "2026-01-02", "view": "front", "stickers": True}
    phone.store("write('photo', null, it)", values)
    photo_look(phone)
    phone.show(f"dog/{phone.dogs['Bramble']}/photos")
    expect(phone.page.locator(".photo-small.gone").first).to_be_visible()
