"""The desk's home: the shows ahead, the dogs and what waits, composed from rows, half ones too."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from ringside.book.devices import Device
from ringside.web.desk import overview
from ringside.web.desk.coming import next_entries
from ringside.web.desk.latest import by_day
from ringside.web.desk.moments import say_near, say_span, say_weekday
from tests.known import shipped

TODAY = date(2026, 11, 28)
NOW = int(datetime(2026, 11, 28, 12, tzinfo=UTC).timestamp() * 1000)
DAY_MS = 86_400_000
KNOWLEDGE = shipped()
DOGS = {
    "b": {"name": "Bramble", "breed": "border-terrier", "sex": "bitch", "born": "2024-08-28"},
    "d": {"name": "Drift"},
    "x": {},
}
SHOWS: dict[str, dict[str, Any]] = {
    "later": {"name": "Old Quarry", "day": "2026-12-22", "body": "AKC", "place": "Quarry Field"},
    "over": {"name": "Gone By", "day": "2026-11-27"},
    "days": {"name": "Three Days", "day": "2026-11-27", "until": "2026-11-29", "body": "KC"},
    "undated": {"name": "Some Day"},
    "unnamed": {"day": "2026-11-29"},
    "odd": {"name": "Odd", "day": "one day", "until": 7},
}
ENTRIES: dict[str, dict[str, Any]] = {
    "e1": {"dog": "d", "show": "days", "time": "2:30 pm", "klass": "open", "day": "2026-11-28"},
    "e2": {
        **{"dog": "b", "show": "days", "time": "9.45", "klass": "puppy", "day": "2026-11-28"},
        **{"ring": "3", "armband": "41", "judge": "N. Tallow"},
    },
    "e3": {"dog": "b", "show": "later"},
    "e4": {"dog": "gone", "show": "days"},
    "e5": {"dog": "x", "show": "days", "time": "after the Beagles", "day": "2026-11-28"},
    "e6": {"dog": "b"},
}
WALKS = {
    "b": {
        "w2": {"mode": "rehearse", "began": "2026-11-28T11:00:00.000Z"},
        "w1": {"mode": "ring", "entry": "e2", "ended": "2026-11-28T10:00:00.000Z"},
    },
    "d": {"w3": {"mode": "ring", "entry": "e1"}},
}
NOTES = {"b": {"n": {"dog": "b", "station": "bite", "text": "Left side"}}, "gone": {"m": {}}}


def about(kind: str, owner: str, most: int) -> dict[str, dict[str, Any]]:
    rows = {"walk": WALKS, "note": NOTES}.get(kind, {}).get(owner, {})
    return dict(list(rows.items())[:most])


def ahead() -> list[dict[str, Any]]:
    return overview.shows_ahead(SHOWS, ENTRIES, DOGS, about, KNOWLEDGE, TODAY)


def test_the_next_show_is_first_and_one_without_a_day_last() -> None:
    assert [(show["name"], show["when"], show["days"]) for show in ahead()] == [
        ("Three Days", "Today", "27 to 29 November 2026"),
        ("A show without a name", "Tomorrow", "29 November 2026"),
        ("Old Quarry", "In 24 days", "22 December 2026"),
        ("Odd", "No day yet", ""),
        ("Some Day", "No day yet", ""),
    ]
    assert ahead()[2]["facts"] == ["AKC", "Quarry Field"]


def test_entries_go_by_time_and_say_who_was_in() -> None:
    rows = ahead()[0]["entries"]
    assert [(row["name"], row["state"]) for row in rows] == [
        ("Bramble", "Been in"),
        ("Drift", "In the ring"),
        ("No name yet", ""),
    ]
    assert rows[0]["facts"] == ["28 November 2026", "Puppy", "ring 3", "armband 41", "N. Tallow"]
    # Of a show to come nobody has been in the ring.
    (entry,) = ahead()[2]["entries"]
    assert (entry["name"], entry["state"], entry["facts"]) == ("Bramble", "", [])


def test_a_dog_names_its_next_show() -> None:
    coming = next_entries(SHOWS, ENTRIES, TODAY)
    rows = overview.dog_rows(DOGS, coming, about, KNOWLEDGE, TODAY)
    assert [row["name"] for row in rows] == ["Bramble", "Drift", "No name yet"]
    bramble, drift, nameless = rows
    assert bramble["facts"] == ["Border Terrier", "bitch", "born 28 August 2024"]
    assert [row["next"] for row in rows] == [{"name": "Three Days", "when": "Today"}] * 3
    assert [(note["station_name"], note["text"]) for note in bramble["notes"]] == [
        ("Bite", "Left side")
    ]
    assert (drift["facts"], nameless["notes"]) == ([], [])


def test_a_dog_whose_day_at_a_show_is_over_goes_to_the_next() -> None:
    """As its own page says for which day its weight is forecast, and as the phone has it."""
    gone = {"e1": {"dog": "d", "show": "days", "day": "2026-11-27"}}
    later = {"e2": {"dog": "d", "show": "later"}, "e3": {"dog": "b", "show": "undated"}}
    coming = next_entries(SHOWS, gone | later, TODAY)
    drift = {"name": "Old Quarry", "when": "In 24 days"}
    rows = overview.dog_rows(DOGS, coming, about, KNOWLEDGE, TODAY)
    assert [row["next"] for row in rows] == [None, drift, None]
    assert next_entries(SHOWS, gone, TODAY) == {}


def test_a_last_day_that_is_a_slip_of_the_pen_keeps_no_show_on() -> None:
    """A year too late: it is over after 31 days, at home and as what a dog goes to."""
    slip = {"s": {"name": "Slip", "day": "2026-10-28", "until": "2027-10-29"}}
    entries = {"e": {"dog": "b", "show": "s"}}
    for today, is_on in ((date(2026, 11, 27), True), (date(2026, 11, 28), False)):
        told = overview.shows_ahead(slip, entries, DOGS, about, KNOWLEDGE, today)
        assert [show["when"] for show in told] == ["Today"] * is_on
        assert list(next_entries(slip, entries, today)) == ["b"] * is_on


def waiting(**given: Any) -> list[str]:
    calm: dict[str, Any] = {"apart": [], "contested": 0, "devices": [], "set_aside": ()}
    names = {"n": "Bramble"}
    told = {**calm, **given}
    found = overview.waiting(
        told["apart"],
        lambda kind, record: names.get(record, ""),
        told["contested"],
        told["devices"],
        told["set_aside"],
        NOW,
    )
    assert all(one["link"] for one in found if one["path"])
    return [one["words"] for one in found]


def test_what_waits_is_told_with_what_to_do() -> None:
    assert waiting() == []
    apart = {"kind": "note", "record": "n", "field": "text", "texts": ["One", "Two"]}
    (told,) = waiting(apart=[apart])
    assert told.startswith("Private note for Bramble: 2 texts")
    assert "One" not in told
    assert waiting(contested=1)[0].startswith("1 change had")
    assert waiting(contested=3)[0].startswith("3 changes had")
    assert "was left out" in waiting(set_aside=["own.toml: no name"])[0]


def test_a_phone_that_was_long_away_is_named_until_it_is_shut_out() -> None:
    def device(name: str, days: int, revoked: int | None = None) -> Device:
        return Device(id=name, name=name, role="owner", seen=NOW - days * DAY_MS, revoked=revoked)

    told = waiting(devices=[device("Here", 13), device("Away", 15), device("Shut out", 99, NOW)])
    assert len(told) == 1
    assert told[0].startswith("Away was last here 15 days ago.")


def line(minute: int, phrase: str, kind: str = "practice mark", about: str = "Bramble") -> Any:
    when = datetime(2026, 11, 28, 12, minute, tzinfo=UTC)
    return {"under": kind, "about": about, "phrase": phrase, "when": when, "by": ""}


def test_neighbours_about_one_thing_are_one_line() -> None:
    lines = [
        line(9, "Ears: easy"),
        line(8, ""),
        line(7, "Bite: not yet"),
        line(7, "Bite: not yet"),
        line(6, "in the ring", "walk through the card"),
        line(5, "Head: easy"),
        line(4, "Head: easy", about="Drift"),
    ]
    told = by_day(lines, TODAY, 3)
    assert sum(len(day["lines"]) for day in told) == 3
    first = told[0]["lines"][0]
    assert first["phrases"] == ["Bite: not yet", "Ears: easy"]
    assert (first["kind"], first["about"], first["more"]) == ("practice mark", "Bramble", 0)


def test_a_long_run_says_how_much_more_there_is() -> None:
    (day,) = by_day([line(1, f"Item {number}: ready") for number in range(20)], TODAY, 9)
    (only,) = day["lines"]
    assert len(only["phrases"]) + only["more"] == 20
    assert only["more"] == 12


def test_days_as_one_says_them() -> None:
    assert [say_near(TODAY.replace(day=day), TODAY) for day in (26, 27, 28, 29, 30)] == [
        "26 November 2026",
        "Yesterday",
        "Today",
        "Tomorrow",
        "In 2 days",
    ]
    assert say_span(TODAY, TODAY) == "28 November 2026"
    assert say_span(TODAY, date(2026, 12, 1)) == "28 November 2026 to 1 December 2026"
    assert say_weekday(TODAY) == "Saturday, 28 November 2026"
