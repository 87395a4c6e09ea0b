"""The exam card: what happens at each station of the judge's exam, for one dog.

The order of the hands-on exam (head, eyes, ears, bite, neck, shoulders, topline, knees, testes)
is common practice; no rule fixes it, and a dog's own order may change it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, get_args

from ringside.domain.dog import Dog
from ringside.domain.glance import FALLBACK, NO_LINE, Line, glance_line, short_ask
from ringside.domain.traits import Traits, suits, traits, wanted
from ringside.domain.varieties import holds, others_than, pack_choices
from ringside.domain.variety_looks import variety_looks
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import (
    Applies,
    Ask,
    Body,
    Breed,
    Caution,
    Cue,
    Drawing,
    Profile,
    Sex,
    Source,
    Standard,
    Station,
    Surface,
    Weight,
)

Data = dict[str, Any]
Points = Mapping[str, Sequence[Ask]]  # the asks of a breed by point
Asked = Sequence[tuple[Ask, Body | None]]  # asks of a station, with the body where it is another's

WEIGHTS: Mapping[str, int] = {weight: rank for rank, weight in enumerate(get_args(Weight))}
# A puppy in the ring is under a year old (common practice: puppy classes end at twelve months).
PUPPY_YEARS = 1


@dataclass(frozen=True)
class Own:
    """The handler's own additions: `order` of station ids, cue lines and asks by station id."""

    order: tuple[str, ...] = ()
    cues: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    asks: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def compose(knowledge: Knowledge, dog: Dog, own: Own | None = None) -> Data:
    """Return the card of `dog` as plain data (see the contributors' guide for its shape).

    Lines for puppies are marked, and `puppy_until` is the first day on which they no longer hold,
    so that whoever shows the card needs only compare dates. An unknown breed gives the general
    card.
    """
    breed = knowledge.breeds.get(dog.breed)
    card = _compose(knowledge, dog, breed, traits(breed, dog.variety))
    return personalise(card, own) if own else card


def compose_general(knowledge: Knowledge, dog: Dog) -> Data:
    """Return the card of a dog of any breed: as `compose` has it, with the cues for dogs of every
    build, each marked `for` which it is ({trait: values}, see `traits.suits`)."""
    return _compose(knowledge, dog, None, None)


def _compose(knowledge: Knowledge, dog: Dog, breed: Breed | None, of_dog: Traits | None) -> Data:
    head = _head(breed, dog)
    surface, short_faced = head["surface"], head["short_faced"]
    points = _by_point(breed)
    stations = [
        _station(knowledge, station, dog, breed, points, surface, short_faced, of_dog)
        for station in knowledge.stations.values()
        if _held(station, dog.sex, surface)
    ]
    card: Data = {
        **head,
        "phases": [
            {
                "id": phase.id,
                "name": phase.name,
                "says": phase.says,
                "stations": [item for item in stations if item["phase"] == phase.id],
            }
            for phase in knowledge.phases
        ],
    }
    card["sources"] = _sources_used(knowledge, breed, stations)
    return card


def compose_asks(knowledge: Knowledge, dog: Dog) -> Data:
    """Return what of a card is the breed's: no phases, but "asks" by station and their sources,
    "glance", the one line of what is asked, by station, "glance_of", the body that asks it, and
    "looks", how the drawing of a variety differs.

    They are those of dogs and bitches of every variety, so that a phone can lay them over the card
    of another dog of the breed; "choices" tells which are left out for which (see
    `varieties.choices`), and an ask of one sex says so.
    """
    breed = knowledge.breeds.get(dog.breed)
    card: Data = {**_head(breed, dog), "asks": {}, "glance": {}, "glance_of": {}}
    card |= {"choices": {}, "looks": {}, "sources": {}}
    if breed is None:
        return card
    card["choices"] = pack_choices(breed)
    card["looks"] = variety_looks(breed)
    points = _by_point(breed)
    for station in knowledge.stations.values():
        asked = _asked(breed, points, station, dog.body)
        if asked:
            card["asks"][station.id] = _asks(breed, asked)
        line, of = _glance(breed, asked, station, dog)
        if line:
            card["glance"][station.id] = line
            card["glance_of"][station.id] = of
    used = {ask["source"] for asks in card["asks"].values() for ask in asks}
    standards = {_standard_key(breed, item.id): item for item in breed.standard}
    card["sources"] = {key: source_of(standards[key]) for key in sorted(used)}
    return card


def _head(breed: Breed | None, dog: Dog) -> Data:
    short_faced = breed.short_faced if breed else bool(dog.short_faced)
    return {
        "breed": breed.name if breed else dog.breed,
        "general": breed is None,
        "figure": figure(breed, short_faced),
        "sex": dog.sex,
        "short_faced": short_faced,
        "puppy_until": puppy_until(dog.born).isoformat() if dog.born else None,
        "surface": dog.surface or (breed.examined_on if breed else "ground"),
        "standard": _chosen_standard(breed, dog.body),
        **_coverage(breed, dog.body),
    }


def _coverage(breed: Breed | None, body: Body) -> Data:
    """Return how much of the card a body's own text was read for, where that is not all of it.

    Points of which any body's text says something are counted; `unread` names those that another
    body's text fills, or that were written from memory.
    """
    if breed is None:
        return {}
    of = {standard.id: standard.of for standard in breed.standard}
    asked = dict.fromkeys(ask.point for ask in breed.ask)
    read = {ask.point for ask in breed.ask if of[ask.standard] == body and ask.read != "memory"}
    unread = [point for point in asked if point not in read]
    if not unread:
        return {}
    others = [known for known in FALLBACK if known != body and known in of.values()]
    rest = f"; the rest is another body's, named as such ({', '.join(others)})" if others else ""
    says = f"{body}: {len(read)} of {len(asked)} points read in its text{rest}."
    return {"coverage": {"says": says, "unread": unread}}


def personalise(card: Data, own: Own) -> Data:
    """Return `card` in the handler's order, with their own cues and asks in front.

    Stations of a phase that the order names come first, in its order; the rest keep theirs.
    The phone does the same with records it holds; shared vectors keep the two alike.
    """
    rank = {station: place for place, station in enumerate(own.order)}
    phases = []
    for phase in card["phases"]:
        stations = sorted(phase["stations"], key=lambda item: rank.get(item["id"], len(own.order)))
        phases.append({**phase, "stations": [_with_own(item, own) for item in stations]})
    return {**card, "phases": phases}


def puppy_until(born: date) -> date:
    """Return the first day on which a dog born on `born` is no longer shown as a puppy."""
    try:
        return born.replace(year=born.year + PUPPY_YEARS)
    except ValueError:  # born on 29 February
        return date(born.year + PUPPY_YEARS, 3, 1)


def figure(breed: Profile | None, short_faced: bool) -> Data:
    """Return what the phone puts the dog's line drawing together from; null is the usual part."""
    drawing = breed.drawing if breed else None
    return {
        **(dict(drawing) if drawing else dict.fromkeys(Drawing.model_fields)),
        "coat": breed.coat if breed else None,
        "topline": breed.topline if breed else None,
        "short_faced": short_faced,
    }


def _held(station: Station, sex: Sex | None, surface: Surface) -> bool:
    fits_sex = station.sex is None or sex is None or station.sex == sex
    return fits_sex and (not station.surface or surface in station.surface)


def _station(
    knowledge: Knowledge,
    station: Station,
    dog: Dog,
    breed: Breed | None,
    points: Points,
    surface: Surface,
    short_faced: bool,
    of_dog: Traits | None,
) -> Data:
    def here(entries: Mapping[str, Iterable[Any]]) -> list[Any]:
        return [
            entry
            for entry in entries.get(station.id, ())
            if _applies(entry.applies, dog.sex, surface, short_faced)
            and (of_dog is None or suits(wanted(entry.applies), of_dog))
        ]

    marked = of_dog is None
    asked = _asked(breed, points, station, dog.body) if breed else []

    return {
        "id": station.id,
        "phase": station.phase,
        "name": station.name,
        "looks": station.looks,
        "source": station.source,
        "cues": [_cue(cue) | _marks(cue, marked) for cue in here(knowledge.cues_at)],
        "cautions": [_caution(row) | _marks(row, marked) for row in here(knowledge.cautions_at)],
        "asks": _own_asks(breed, asked, dog) if breed else [],
        **_glance_named(breed, asked, station, dog),
    }


def _applies(applies: Applies, sex: Sex | None, surface: Surface, short_faced: bool) -> bool:
    return (
        (applies.sex is None or sex is None or applies.sex == sex)
        and (not applies.surface or surface in applies.surface)
        and (applies.short_faced is None or applies.short_faced == short_faced)
    )


def _marks(entry: Cue | Caution, with_traits: bool) -> Data:
    asked = wanted(entry.applies) if with_traits else {}
    return {
        **({"puppy": True} if entry.applies.puppy else {}),
        **({"home": True} if getattr(entry, "home", False) else {}),
        **({"for": asked} if asked else {}),
    }


def _cue(cue: Cue) -> Data:
    headline = {"headline": cue.headline} if cue.headline else {}
    return {
        **headline,
        "do": cue.do,
        "avoid": cue.avoid,
        "why": cue.why,
        "source": cue.source,
    }


def _caution(caution: Caution) -> Data:
    return {"risk": caution.risk, "text": caution.text, "source": caution.source}


def _by_point(breed: Breed | None) -> Points:
    """Return the asks of a breed by the point they are of, each in the order of the file."""
    found: dict[str, list[Ask]] = {}
    for ask in breed.ask if breed else ():
        found.setdefault(ask.point, []).append(ask)
    return found


def _asks(breed: Breed, asked: Asked) -> list[Data]:
    return [_ask(ask, breed, other) for ask, other in asked]


def _own_asks(breed: Breed, asked: Asked, dog: Dog) -> list[Data]:
    others = others_than(breed, dog.variety)
    return [ask for ask in _asks(breed, asked) if holds(ask, dog.sex, others)]


def _glance(breed: Breed, asked: Asked, station: Station, dog: Dog) -> Line:
    line = glance_line(breed, station, dog.body)
    if line != NO_LINE:
        return line
    return short_ask(((ask, other or dog.body) for ask, other in asked), dog.sex)


def _glance_named(breed: Breed | None, asked: Asked, station: Station, dog: Dog) -> Data:
    """Return the one line, with its body where that is not the dog's."""
    line, of = _glance(breed, asked, station, dog) if breed else NO_LINE
    return {"glance": line, **({"glance_of": of} if of and of != dog.body else {})}


def _asked(breed: Breed, points: Points, station: Station, body: Body) -> Asked:
    """Return what the chosen body's standard asks here, most weighty first.

    Asks of another body, named beside them, appear only for points of which the chosen one says
    nothing.
    """
    of = {standard.id: standard.of for standard in breed.standard}
    found: list[tuple[int, int, Ask, Body | None]] = []
    for place, point in enumerate(station.points):
        here = points.get(point, ())
        bodies = {of[ask.standard] for ask in here}
        chosen = next((known for known in (body, *FALLBACK) if known in bodies), None)
        other = None if chosen == body else chosen
        found += [
            (WEIGHTS[ask.weight], place, ask, other) for ask in here if of[ask.standard] == chosen
        ]
    found.sort(key=lambda item: item[:2])
    return [(ask, other) for *_, ask, other in found]


def _ask(ask: Ask, breed: Breed, other_body: Body | None) -> Data:
    data: Data = {
        "says": ask.says,
        "weight": ask.weight,
        "point": ask.point,
        "source": _standard_key(breed, ask.standard),
    }
    if ask.read != "copy":
        data["read"] = ask.read
    if ask.held_by:
        data["sex"] = ask.held_by
    if ask.variety:
        data["variety"] = ask.variety
    if other_body:
        data["of"] = other_body
    return data


def _with_own(station: Data, own: Own) -> Data:
    cues = [{"headline": line, "do": line, "own": True} for line in own.cues.get(station["id"], ())]
    asks = [{"says": line, "own": True} for line in own.asks.get(station["id"], ())]
    return {**station, "cues": [*cues, *station["cues"]], "asks": [*asks, *station["asks"]]}


def _chosen_standard(breed: Breed | None, body: Body) -> Data | None:
    if breed is None:
        return None
    for candidate in (body, *FALLBACK):
        for standard in breed.standard:
            if standard.of == candidate:
                return source_of(standard)
    return None


def _standard_key(breed: Breed, standard: str) -> str:
    return f"{breed.name}: {standard}"


def source_of(source: Source) -> Data:
    """Return a published text as the phone words it."""
    data: Data = {"body": source.body, "title": source.title}
    for key in ("number", "date", "address"):
        if getattr(source, key):
            data[key] = getattr(source, key)
    if isinstance(source, Standard):
        data["of"] = source.of
        if source.read != "copy":
            data["read"] = source.read
    return data


def _sources_used(knowledge: Knowledge, breed: Breed | None, stations: list[Data]) -> Data:
    named = {item["source"] for item in stations}
    for station in stations:
        for part in ("cues", "cautions", "asks"):
            named |= {entry["source"] for entry in station[part]}
    known: dict[str, Source] = {
        key: knowledge.sources[key] for key in named & set(knowledge.sources)
    }
    if breed:
        standards = {_standard_key(breed, item.id): item for item in breed.standard}
        known |= {key: item for key, item in standards.items() if key in named}
    return {key: source_of(known[key]) for key in sorted(known)}
