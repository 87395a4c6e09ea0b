"""Stops of the tour: the card, station by station, in the ring, at home and to be learned."""

from __future__ import annotations

from datetime import UTC, datetime

from playwright.sync_api import expect

from tests.browser.tour.phone import TourPhone, screen

JUST_NOW = f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%S}.000Z"


@screen
def card(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/card")


@screen
def station(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/station/bite")


@screen
def station_open(phone: TourPhone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="Show note").click()
    for summary in phone.page.locator("#main summary").all():
        summary.click()


@screen
def station_editing(phone: TourPhone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="Show note").click()
    phone.page.get_by_role("button", name="Change").click()


@screen
def station_apart(phone: TourPhone) -> None:
    station(phone)
    phone.page.get_by_role("button", name="show both").click()
    expect(phone.page.locator(".apart")).to_be_visible()


@screen
def station_own(phone: TourPhone) -> None:
    """A station with a cue of one's own, and the ring drawn instead of a dog."""
    phone.show(f"dog/{phone.dogs['Bramble']}/station/head")


@screen
def station_ring(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Gustav']}/station/down_and_back")


@screen
def order_new(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/order/new")


@screen
def order_wrong(phone: TourPhone) -> None:
    order_new(phone)
    phone.page.get_by_role("button", name="Save").click()


@screen
def ring_start(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/ring")


@screen
def ring(phone: TourPhone) -> None:
    ticks = {"head": "done", "eyes": "skipped"}
    phone.show(f"ring/{phone.put_walk('ring', 'Bramble', 'bite', ticks)}")


@screen
def ring_list(phone: TourPhone) -> None:
    ring(phone)
    phone.page.get_by_role("button", name="List").click()


@screen
def ring_more(phone: TourPhone) -> None:
    ring(phone)
    phone.page.get_by_role("button", name="More", exact=True).click()


@screen
def ring_end(phone: TourPhone) -> None:
    ticks = dict.fromkeys(("outline", "free_stack", "approach", "lift", "walk_up"), "done")
    phone.show(f"ring/{phone.put_walk('ring', 'Bramble', 'end-of-first_look', ticks)}")
    expect(phone.page.locator("#main").get_by_text("Complete")).to_be_visible()


@screen
def ring_end_missed(phone: TourPhone) -> None:
    ticks = {"outline": "done"}
    phone.show(f"ring/{phone.put_walk('ring', 'Bramble', 'end-of-first_look', ticks)}")
    expect(phone.page.get_by_role("button", name="Skip").first).to_be_visible()


@screen
def rehearse_start(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Teasel']}/rehearse")


@screen
def rehearse(phone: TourPhone) -> None:
    phone.show(f"rehearsal/{phone.put_walk('rehearse', 'Bramble', 'bite', {})}")


@screen
def rehearse_end(phone: TourPhone) -> None:
    walk = phone.put_walk("rehearse", "Drift", "end", {})
    for station, grade in (("head", "easy"), ("bite", "needs work"), ("ears", "not yet")):
        values = {"dog": phone.dogs["Drift"], "walk": walk, "station": station}
        phone.store("write('practice', null, it)", values | {"grade": grade, "at": JUST_NOW})
    phone.show(f"rehearsal/{walk}")


@screen
def practice(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/practice")


@screen
def ear_start(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/ear")


@screen
def ear_end(phone: TourPhone) -> None:
    phone.show(f"ear/{phone.put_walk('rehearse', 'Bramble', 'end', {})}")
    expect(phone.page.get_by_role("button", name="Finish")).to_be_visible()


@screen
def elsewhere(phone: TourPhone) -> None:
    dog = phone.dogs["Puddle"]
    phone.store("write('cue', null, it)", {"dog": dog, "station": "wings", "line": "Fold them"})
    phone.store("write('note', null, it)", {"dog": dog, "station": "wings", "text": "Flaps."})
    phone.show(f"dog/{dog}/elsewhere")


@screen
def gate(phone: TourPhone) -> None:
    phone.show(f"gate/{phone.first('entry')}")


@screen
def learn(phone: TourPhone) -> None:
    phone.show("learn")


@screen
def learn_walk(phone: TourPhone) -> None:
    phone.show("learn/walk")


@screen
def learn_round(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/learn/round")


@screen
def words(phone: TourPhone) -> None:
    phone.show("words")


@screen
def pocket_card(phone: TourPhone) -> None:
    phone.show(f"dog/{phone.dogs['Bramble']}/print")
    expect(phone.page.locator(".pocket-panel h3").first).to_be_visible()
