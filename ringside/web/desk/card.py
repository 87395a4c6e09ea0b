"""The pocket card of a dog, from the book: the same lines as static/js/views/print.js makes on a
phone, laid onto the sheet by the same script.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import Any

from flask import Blueprint, abort, render_template, request

from ringside.book.packs import as_dog
from ringside.book.store import Book
from ringside.domain.days import say_day
from ringside.domain.exam import Own, compose
from ringside.knowledge import Knowledge
from ringside.web.desk.coming import next_entry
from ringside.web.desk.overview import class_name
from ringside.web.library import Library

Data = dict[str, Any]
# What is left out where all is too much, the greatest first; as in print.js, which says why.
RANKS = {"do": 3, "care": 2, "own": 1}


def make_card(book: Book, library: Library) -> Blueprint:
    """Return the route of the card. Private notes are on it only as the answer to a form."""
    routes = Blueprint("card", __name__, url_prefix="/dog/<key>/card")

    @routes.route("", methods=["GET", "POST"])
    def page(key: str) -> str:
        knowledge, today = library.knowledge, date.today()
        with_notes = request.method == "POST" and "notes" in request.form
        chosen = request.form.get("order", "")
        with book.session():
            dog = book.record("dog", key)
            if not dog or dog.get("deleted"):
                abort(404)
            orders, notes = book.about("order", key), book.about("note", key)
            own = Own(
                order=tuple(orders.get(chosen, {}).get("stations") or ()),
                cues=_by_station(book.about("cue", key), "line"),
                asks=_by_station(book.about("ask", dog.get("breed") or ""), "says"),
            )
            coming = next_entry(book, key, today)
        card = compose(knowledge, as_dog(dog, ()), own)
        return render_template(
            "desk/card.html",
            root=library.edition().build.root,
            dog=dog,
            key=key,
            orders={order: one.get("label") or "" for order, one in sorted(orders.items())},
            chosen=chosen,
            has_notes=bool(notes),
            with_notes=with_notes,
            lines=[
                *_head(knowledge, dog, card, coming),
                *_stations(card, _by_station(notes, "text") if with_notes else {}, today),
            ],
        )

    return routes


def _by_station(rows: dict[str, Data], name: str) -> dict[str, tuple[str, ...]]:
    """Return {station: (words, ...)}, the oldest first."""
    found: dict[str, tuple[str, ...]] = defaultdict(tuple)
    for _, row in sorted(rows.items()):
        if (row.get(name) or "").strip() and row.get("station"):
            found[row["station"]] += (row[name],)
    return found


def _line(kind: str, words: str, group: str, rank: int = 0, label: str = "") -> Data:
    return {"kind": kind, "words": words, "group": group, "rank": rank, "label": label}


def _head(
    knowledge: Knowledge, dog: Data, card: Data, coming: tuple[str, Data, Data] | None
) -> list[Data]:
    born = dog.get("born") and f"born {say_day(date.fromisoformat(dog['born']))}"
    about = (card["breed"], dog.get("variety"), dog.get("sex"), born)
    standard = card["standard"]
    asked = (
        f"Asked: in our own words, from {_short_source(standard)}."
        if standard
        else "The general card: no breed standard."
    )
    said = [
        ("name", (dog.get("name") or "").strip() or "No name yet"),
        ("entry", dog.get("pedigree")),
        ("entry", ", ".join(filter(None, about))),
        *(_show(knowledge, *coming) if coming else ()),
        ("small", f"{asked} The source of each line is in the app."),
        (
            "small",
            "If something looks wrong with a dog, see a vet. "
            "The judge, the show's rules and the law decide.",
        ),
    ]
    return [_line(kind, words, "head") for kind, words in said if words]


def _show(knowledge: Knowledge, day: str, entry: Data, show: Data) -> list[tuple[str, str]]:
    ring, armband, judge = (entry.get(name) for name in ("ring", "armband", "judge"))
    where = (
        ring and f"Ring {ring}",
        entry.get("time"),
        class_name(entry.get("klass"), show.get("body"), knowledge),
        armband and f"armband {armband}",
    )
    name = (show.get("name") or "").strip() or "A show without a name"
    return [
        ("show", f"{name}, {say_day(date.fromisoformat(day))}"),
        ("entry", " · ".join(filter(None, where))),
        ("entry", f"Judge: {judge}" if judge else ""),
    ]


def _short_source(source: Data) -> str:
    """As shortSource in static/js/parts/lines.js."""
    title, number, day = (source.get(name, "") for name in ("title", "number", "date"))
    shown = f"no. {number}" if number.isdecimal() else number
    parts = (title, "" if number in title else shown, day)
    return f"{source.get('of') or source['body']}: {', '.join(filter(None, parts))}"


def _stations(card: Data, notes: dict[str, tuple[str, ...]], today: date) -> Iterator[Data]:
    is_puppy = bool(card["puppy_until"]) and today.isoformat() < card["puppy_until"]
    for phase in card["phases"]:
        for number, station in enumerate(phase["stations"], start=1):
            if number == 1:
                yield _line("phase", phase["name"], station["id"])
            yield from _station(station, number, notes.get(station["id"], ()), is_puppy)


def _station(station: Data, number: int, notes: tuple[str, ...], is_puppy: bool) -> Iterator[Data]:
    cues, cautions = (
        [line for line in station[part] if is_puppy or not line.get("puppy")]
        for part in ("cues", "cautions")
    )
    name, group = station["name"], station["id"]
    headline = next((cue["headline"] for cue in cues if cue.get("headline")), name)
    own = [cue["do"] for cue in cues if cue.get("own") and cue["headline"] != headline]
    leading = next((cue for cue in cues if not cue.get("own") and not cue.get("home")), None)
    yield _line("station", headline, group, label=f"{number} {name}:")
    for place, words in enumerate(own):
        yield _line("own", words, group, RANKS["own"] if place else 0, "Own:")
    if leading:
        yield _line("do", leading["do"], group, RANKS["do"])
    if station["glance"]:
        of = station.get("glance_of")
        yield _line("ask", station["glance"], group, label=f"{of} asks:" if of else "Asked:")
    for ask in station["asks"]:
        if ask.get("own"):
            yield _line("ask", ask["says"], group, RANKS["own"], "Yours:")
    for place, caution in enumerate(cautions):
        yield _line("care", caution["text"], group, RANKS["care"] if place else 0, "Care:")
    for words in notes:
        yield _line("note", words, group, label="Note:")
