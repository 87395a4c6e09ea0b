"""The demo tells a day, whatever the day and the hour are."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest

from ringside.book.kinds import KINDS
from ringside.demo import changes
from ringside.files import folder
from tests.known import shipped

Records = dict[str, dict[str, dict[str, Any]]]


def told(now: datetime) -> Records:
    """The demo's records at a moment: {kind: {id: values}}."""
    data = tomllib.loads((folder("demo_data") / "kennel.toml").read_text(encoding="utf-8"))
    found: Records = defaultdict(lambda: defaultdict(dict))
    for change in changes(data, now):
        field = KINDS[change["kind"]].fields[change["field"]]
        assert field.problem(change["value"]) is None
        found[change["kind"]][change["record"]][change["field"]] = change["value"]
    return found


@pytest.mark.parametrize(
    "now",
    [
        datetime(2026, 11, 28, 14, 30, tzinfo=UTC),
        datetime(2028, 2, 29, 23, 55, tzinfo=timezone(timedelta(hours=11))),
    ],
)
def test_the_demo_tells_a_day(now: datetime) -> None:
    """A show today: one has been in and won, one is in the ring, in order, and one is next."""
    book = told(now)
    today = now.date().isoformat()
    name = {key: dog["name"] for key, dog in book["dog"].items()}
    (show,) = (key for key, show in book["show"].items() if show["day"] == today)
    entries = {name[one["dog"]]: key for key, one in book["entry"].items() if one["show"] == show}
    assert set(entries) == {"Puddle", "Drift", "Bramble", "Cobble"}
    times = [
        book["entry"][entries[each]]["time"] for each in ("Puddle", "Drift", "Bramble", "Cobble")
    ]
    at = f"{now:%H:%M}"
    # However near midnight is, they go in today and one after the other.
    assert times == sorted(times)
    assert times[1] <= at <= times[2]
    if at == "14:30":
        assert times == ["13:15", "14:15", "14:55", "15:50"]
    walks = {walk["entry"]: walk for walk in book["walk"].values()}
    moment = now.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    assert walks[entries["Puddle"]]["ended"] < moment
    assert "ended" not in walks[entries["Drift"]]
    assert walks[entries["Drift"]]["began"] < moment
    ticks = [tick for tick in book["gate"].values() if tick["entry"] == entries["Drift"]]
    assert {tick["state"] for tick in ticks} == {"ready"}
    assert {tick["item"] for tick in ticks} == {item.id for item in shipped().gate.item} - {
        "season"
    }
    assert any(award["day"] == today for award in book["award"].values())
    assert book["note"]


def test_nothing_in_the_demo_leads_nowhere() -> None:
    book = told(datetime(2026, 11, 28, 14, 30, tzinfo=UTC))
    for kind, records in book.items():
        for values in records.values():
            for field, declared in KINDS[kind].fields.items():
                if declared.kind == "ref" and field in values:
                    assert values[field] in book[declared.limits()["to"]], (kind, field)
