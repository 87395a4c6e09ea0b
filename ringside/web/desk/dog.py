"""One dog over time, to be read at the desk or printed: condition, checks and practice."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import Any

from flask import Blueprint, abort, render_template

from ringside.book.blobs import Blobs
from ringside.book.store import Book
from ringside.domain.care import care_book
from ringside.domain.condition import outlook
from ringside.domain.condition_words import CONDITION
from ringside.domain.days import say_day
from ringside.domain.limits import UNITS, in_unit, limits, newest, tidy
from ringside.domain.practice import (
    AHEAD,
    FORGOTTEN,
    GRADES,
    Grade,
    Mark,
    is_mark,
    readiness,
    ready_words,
    sums_of,
)
from ringside.domain.puppies import TESTES, due
from ringside.domain.says import sentence
from ringside.knowledge import Knowledge
from ringside.web.desk.charts import marks_chart, weight_chart
from ringside.web.desk.coming import next_entry
from ringside.web.library import Library

Data = dict[str, Any]

DRAWN = timedelta(weeks=26)
MOST = 200  # of a kind the newest, as many as the phone reads (static/js/views/measures.js)
LISTED = 60  # rows of a table
FOUND = {
    "both": "both down", "one": "one down", "none": "none felt", "not yet": "not yet",
    "ask the vet": "for the vet",
}  # fmt: skip


def make_dog(book: Book, library: Library) -> Blueprint:
    """Return the route of a dog's page."""
    routes = Blueprint("dog", __name__, url_prefix="/dog")

    @routes.get("/<key>")
    def page(key: str) -> str:
        knowledge, today, now = library.knowledge, date.today(), datetime.now(UTC)
        with book.session():
            dog = book.record("dog", key)
            if not dog or dog.get("deleted"):
                abort(404)
            kept = {
                kind: list(book.about(kind, key, MOST).values())
                for kind in ("measure", "score", "state")
            }
            checks = list(book.about("check", key).values())
            marks = marks_that_tell(book, key, now)
            portrait = dog.get("portrait") or ""
            has_portrait = Blobs(book).has(portrait)
            following = _show_data(next_entry(book, key, today))
        breed = knowledge.breeds.profiles.get(dog.get("breed") or "")
        return render_template(
            "desk/dog.html",
            root=library.edition().build.root,
            dog=dog,
            key=key,
            breed=breed.name if breed else dog.get("breed") or "",
            portrait=portrait if has_portrait else "",
            born=_said(dog.get("born")),
            today=say_day(today),
            condition=_condition(knowledge, dog, kept, following),
            checks=_checks(knowledge, dog, checks, today),
            practice=_practice(knowledge, marks, now),
        )

    return routes


def marks_that_tell(book: Book, dog: str, now: datetime) -> list[Data]:
    """Return the marks of a dog that weigh anything beside its newest one, newest first."""
    until = (now + timedelta(days=AHEAD)).date().isoformat()
    newest = next(iter(book.about("practice", dog, 1, until=until).values()), {})
    if not newest.get("at"):
        return []
    # A year typed in part may be one before which there is no day.
    first = max(date.fromisoformat(newest["at"][:10]).toordinal() - int(FORGOTTEN), 1)
    since = date.fromordinal(first).isoformat()
    return list(book.about("practice", dog, since=since, until=until).values())


def _said(day: str | None) -> str:
    return say_day(date.fromisoformat(day)) if day else ""


def _show_data(coming: tuple[str, Data, Data] | None) -> Data | None:
    """Return {"day", "name", "body"} of a dog's next show."""
    if coming is None:
        return None
    day, _, show = coming
    return {"day": day, "name": show.get("name") or "the show", "body": show.get("body")}


# --- condition ---------------------------------------------------------------------------------


def _condition(knowledge: Knowledge, dog: Data, kept: Data, show: Data | None) -> Data | None:
    weighings = [one for one in kept["measure"] if newest([one], "weight")]
    scores, states = (
        [one for one in kept[kind] if one.get(kind) and one.get("day")]
        for kind in ("score", "state")
    )
    if not (weighings or scores):
        return None
    body = (show or {}).get("body") or dog.get("body") or "FCI"
    breed = knowledge.breeds.get(dog.get("breed") or "")
    every = limits(breed, dog.get("sex"), dog.get("variety") or "")
    mine = [one for one in every if one["what"] == "weight" and one["of"] == body]
    told = outlook(
        weighings,
        show=show["day"] if show else None,
        born=dog.get("born"),
        state=states[0]["state"] if states else None,
        score=int(scores[0]["score"]) if scores else None,
        limits=mine,
    )
    unit = weighings[0]["unit"] if weighings else "kg"
    return {
        "show": show and f"{show['name']}, {_said(show['day'])}",
        "will": _range(told["forecast"], unit),
        "told": _told(told, mine),
        "chart": _chart(weighings, told["forecast"], show, mine, unit),
        "weighings": [
            (_said(one["day"]), f"{tidy(one['value'])} {one['unit']}") for one in weighings[:LISTED]
        ],
        "scores": [(_said(one["day"]), _score(one)) for one in scores[:LISTED]],
        "listed": LISTED if max(len(weighings), len(scores)) > LISTED else None,
    }


def _range(forecast: Data | None, unit: str) -> str:
    if not forecast:
        return ""
    kg, half = forecast["kg"], forecast["half"]
    low, middle, high = (tidy(in_unit(one, "kg", unit)) for one in (kg - half, kg, kg + half))
    if low == high:
        return sentence(CONDITION, {"says": "will-weigh-about", "kg": middle, "unit": unit})
    return sentence(CONDITION, {"says": "will-weigh", "low": low, "high": high, "unit": unit})


def _told(told: Data, mine: list[Data]) -> list[str]:
    stands = [
        {"says": how, "of": limit["of"]} for how, limit in zip(told["limits"], mine, strict=False)
    ]
    target = [told["target"]["words"]] if told["target"] else []
    sayings = [*([told["why"]] if told["why"] else []), *stands, *told["flags"], *target]
    return [sentence(CONDITION, saying) for saying in sayings]


def _score(values: Data) -> str:
    tuck = {True: "tuck-up seen", False: "tuck-up not seen"}.get(values.get("tuck_up", ""))
    return ", ".join(filter(None, [f"{values['score']} of 9", tuck, values.get("note")]))


def _chart(
    weighings: list[Data], forecast: Data | None, show: Data | None, mine: list[Data], unit: str
) -> Data | None:
    series = sorted(
        (date.fromisoformat(one["day"]), in_unit(one["value"], one["unit"], unit))
        for one in weighings
        if one["unit"] in UNITS["weight"] and one["value"]
    )
    if not series:
        return None
    # No day is so early that half a year before it cannot be counted.
    points = [point for point in series if series[-1][0] - point[0] <= DRAWN]
    lines = [
        (
            in_unit(limit[end], limit["unit"], unit),
            f"{limit['of']}: {says} {limit[end]:g} {limit['unit']}",
        )
        for limit in mine
        for end, says in (("low", "at least"), ("high", "at most"))
        if end in limit
    ]
    near = [one for one in lines if any(abs(value - one[0]) < value / 4 for _, value in points)]
    ahead = None
    if forecast and show and forecast["days"]:
        ends = (
            forecast["kg"] - forecast["half"],
            forecast["kg"],
            forecast["kg"] + forecast["half"],
        )
        low, middle, high = (in_unit(one, "kg", unit) for one in ends)
        ahead = (date.fromisoformat(show["day"]), low, middle, high)
    values = [value for _, value in points]
    words = [
        f"Weight from {say_day(points[0][0])} to {say_day(points[-1][0])}: "
        f"{tidy(min(values))} to {tidy(max(values))} {unit}.",
        *([f"Forecast: {_range(forecast, unit)}."] if ahead else []),
        *(f"{said}." for _, said in near),
    ]
    return weight_chart(points, limits=near, ahead=ahead, words=" ".join(words))


# --- checks and practice -----------------------------------------------------------------------


def _checks(knowledge: Knowledge, dog: Data, records: list[Data], today: date) -> list[Data]:
    if not dog.get("born"):
        return []
    care = care_book(knowledge)
    names = {check["id"]: check for check in care["checks"]}
    on_record = {"what": TESTES, "found": dog.get("testes"), "day": dog.get("testes_on")}
    rows = due(
        care["checks"],
        care["looks"],
        born=dog["born"],
        sex=dog.get("sex"),
        records=[on_record, *reversed(records)],
        today=today.isoformat(),
    )
    return [
        {
            "name": names[row["check"]]["name"],
            "found": _found(names[row["check"]], row["last"]),
            "when": f"due since {_said(row['day'])}"
            if row["state"] == "due"
            else f"from {_said(row['day'])}"
            if row["day"]
            else "",
        }
        for row in rows
        if row["state"] != "past"
    ]


def _found(check: Data, last: Data | None) -> str:
    if not last:
        return ""
    found = check["good"].lower() if last["found"] == "good" else FOUND.get(last["found"], "")
    return f"{found}, {_said(last['day'])}"


def _practice(knowledge: Knowledge, marks: Iterable[Data], now: datetime) -> Data | None:
    """Return how ready each station is, in the order of the card, with how often each grade was
    given in the half year to the newest mark. `marks` are the newest first."""
    by_station = _by_station(marks, now)
    if not by_station:
        return None
    last = max(found[0][0] for found in by_station.values())
    rows: dict[str, list[tuple[date, Grade]]] = {}
    table: list[Data] = []
    for key in [*knowledge.stations, *sorted(by_station.keys() - knowledge.stations.keys())]:
        if found := by_station.get(key):
            name = knowledge.stations[key].name if key in knowledge.stations else key
            lately = [(day, mark.grade) for day, mark in reversed(found) if last - day <= DRAWN]
            rows |= {name: lately} if lately else {}
            table.append(_station(name, found, lately, now))
    count, until = sum(map(len, rows.values())), say_day(last)
    words = f"{_few(count, 'mark')} at {_few(len(rows), 'station')} in the half year to {until}; "
    words += "the table below has them in numbers."
    return {"chart": marks_chart(rows, words), "table": table, "until": until}


def _by_station(marks: Iterable[Data], now: datetime) -> dict[str, list[tuple[date, Mark]]]:
    """Return the marks that count by station, each with its day, in the order given."""
    found: dict[str, list[tuple[date, Mark]]] = defaultdict(list)
    for one in marks:
        if one.get("station") and one.get("at"):
            at, grade = datetime.fromisoformat(one["at"]), one.get("grade")
            if grade and is_mark(grade, _days(at), _days(now)):
                mark = Mark(_days(at), grade, one.get("hands"))
                found[one["station"]].append((at.date(), mark))
    return found


def _station(
    name: str, found: list[tuple[date, Mark]], lately: list[tuple[date, Grade]], now: datetime
) -> Data:
    """Return the row of a station: its marks of late, the last, and how ready it is by all."""
    (day, last), sums = found[0], sums_of(mark for _, mark in found)
    return {
        "name": name,
        "counts": _counts(grade for _, grade in lately) or "none",
        "last": f"{last.grade}, {say_day(day)}",
        "ready": ready_words(readiness(sums, _days(now))),
        "for_stranger": ready_words(readiness(sums, _days(now), stranger=True)),
    }


def _few(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _counts(grades: Iterable[Grade]) -> str:
    counted = Counter(grades)
    return ", ".join(f"{counted[grade]} {grade}" for grade in GRADES if counted[grade])


def _days(moment: datetime) -> float:
    return moment.timestamp() / 86_400
