"""The exam card: what happens at each station of the judge's exam, for one dog.

The order of the hands-on exam (head, eyes, ears, bite, neck, shoulders, topline, knees, testes)
is common practice; no rule fixes it, and a dog's own order may change it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, get_args

from ringside.domain.dog import Dog
from ringside.domain.glance import FALLBACK, NO_LINE, Line, glance_line, short_ask
from ringside.domain.traits import Traits, suits, traits
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
Points = Mapping[str, Mapping[Body, Sequence[Ask]]]  # the asks of a breed by point and body
Asked = Sequence[tuple[Ask, Body | None]]  # asks of a station, with the body where it is another's
Fits = Callable[[Applies], bool]

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
    fits = _fitting(dog.sex, surface, short_faced, of_dog)
    asked_at = _asking(breed, dog) if breed else _asks_nothing
    stations = [
        {**_station(knowledge, station, fits, marked=of_dog is None), **asked_at(station)}
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
        asked = _asked(points, station, dog.body)
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


def _station(knowledge: Knowledge, station: Station, fits: Fits, *, marked: bool) -> Data:
    """Return what of a station is no breed's own; `marked` as in `_marks`."""
    return {
        "id": station.id,
        "phase": station.phase,
        "name": station.name,
        "looks": station.looks,
        "source": station.source,
        "cues": [
            _cue(cue, marked) for cue in knowledge.cues_at.get(station.id, ()) if fits(cue.applies)
        ],
        "cautions": [
            _caution(row, marked)
            for row in knowledge.cautions_at.get(station.id, ())
            if fits(row.applies)
        ],
    }


def _fitting(sex: Sex | None, surface: Surface, short_faced: bool, of_dog: Traits | None) -> Fits:
    """Return whether what is said for some dogs is said for such a one; of None of its traits
    those of every build are."""

    def fits(applies: Applies) -> bool:
        return (
            (applies.sex is None or sex is None or applies.sex == sex)
            and (not applies.surface or surface in applies.surface)
            and (applies.short_faced is None or applies.short_faced == short_faced)
            and (of_dog is None or suits(applies.wanted, of_dog))
        )

    return fits


def _cue(cue: Cue, marked: bool) -> Data:
    data: Data = {"headline": cue.headline} if cue.headline else {}
    data |= {"do": cue.do, "avoid": cue.avoid, "why": cue.why, "source": cue.source}
    if cue.home:
        data["home"] = True
    return _mark(data, cue.applies, marked)


def _caution(caution: Caution, marked: bool) -> Data:
    data = {"risk": caution.risk, "text": caution.text, "source": caution.source}
    return _mark(data, caution.applies, marked)


def _mark(data: Data, applies: Applies, with_traits: bool) -> Data:
    """Return what is said, marked if it is for puppies, and `with_traits` for which builds."""
    if applies.puppy:
        data["puppy"] = True
    if with_traits and applies.wanted:
        data["for"] = {trait: list(values) for trait, values in applies.wanted.items()}
    return data


def _asks_nothing(station: Station) -> Data:
    return {"asks": [], "glance": ""}


def _asking(breed: Breed, dog: Dog) -> Callable[[Station], Data]:
    """Return what gives the asks of a station, and its one line, named where another body's."""
    points, others = _by_point(breed), others_than(breed, dog.variety)

    def at(station: Station) -> Data:
        asked = _asked(points, station, dog.body)
        asks = (ask for ask in _asks(breed, asked) if holds(ask, dog.sex, others))
        line, of = _glance(breed, asked, station, dog)
        named = {"glance_of": of} if of and of != dog.body else {}
        return {"asks": list(asks), "glance": line, **named}

    return at


def _by_point(breed: Breed) -> Points:
    """Return the asks of a breed by point and by body, each in the order of the file."""
    of = {standard.id: standard.of for standard in breed.standard}
    found: dict[str, dict[Body, list[Ask]]] = {}
    for ask in breed.ask:
        found.setdefault(ask.point, {}).setdefault(of[ask.standard], []).append(ask)
    return found


def _asks(breed: Breed, asked: Asked) -> list[Data]:
    return [_ask(ask, breed, other) for ask, other in asked]


def _glance(breed: Breed, asked: Asked, station: Station, dog: Dog) -> Line:
    line = glance_line(breed, station, dog.body)
    if line != NO_LINE:
        return line
    return short_ask(((ask, other or dog.body) for ask, other in asked), dog.sex)


def _asked(points: Points, station: Station, body: Body) -> Asked:
    """Return what the chosen body's standard asks here, most weighty first.

    Asks of another body, named beside them, appear only for points of which the chosen one says
    nothing.
    """
    found: list[tuple[Ask, Body | None]] = []
    for point in station.points:
        here = points.get(point, {})
        for chosen in (body, *FALLBACK):
            if chosen in here:
                other = None if chosen == body else chosen
                found += ((ask, other) for ask in here[chosen])
                break
    # Asks of the same weight stay in the order of the station's points.
    return sorted(found, key=lambda item: WEIGHTS[item[0].weight])


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
