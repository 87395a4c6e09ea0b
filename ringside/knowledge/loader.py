"""Read the knowledge files, check them, and hand out one immutable `Knowledge`.

Three fences: the schema checks the shape of an entry, the checks here the sense between files, and
whoever edits the files the truth. All problems are reported in one run.

A server reads all but the breeds, of which it needs few: `load`. A check reads all: `load_whole`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import chain
from typing import Any, TypeVar

from pydantic import BaseModel

from ringside.knowledge.breeds import FOLDER, Breeds
from ringside.knowledge.care_schema import ConditionFile, PuppiesFile
from ringside.knowledge.chip_schema import Codes
from ringside.knowledge.countdown_schema import CountdownFile
from ringside.knowledge.gate_schema import GateFile
from ringside.knowledge.heat_schema import HeatFile
from ringside.knowledge.own import own_breeds
from ringside.knowledge.photo import photo_checks
from ringside.knowledge.photo_schema import PhotoFile
from ringside.knowledge.practice_schema import PracticeFile
from ringside.knowledge.reading import (
    KnowledgeError,
    contents,
    digest,
    read,
    read_document,
    toml_files,
)
from ringside.knowledge.regulation_schema import Regulation
from ringside.knowledge.regulations import read_regulations
from ringside.knowledge.result_schema import ResultsFile
from ringside.knowledge.ring_schema import RingFile
from ringside.knowledge.schema import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    Caution,
    Cue,
    CuesFile,
    GlossaryFile,
    Phase,
    ShortNames,
    Source,
    SourcesFile,
    Station,
    StationsFile,
    Term,
)
from ringside.knowledge.titles import TitleBook, read_titles

MOST_IN_A_PHASE = 9
MOST_IN_A_GROUP = 7


@dataclass(frozen=True)
class Knowledge:
    """All the trade knows, by id. `digest` changes whenever a file does."""

    phases: tuple[Phase, ...]
    stations: Mapping[str, Station]
    cues: tuple[Cue, ...]
    cautions: tuple[Caution, ...]
    sources: Mapping[str, Source]
    breeds: Breeds
    short_names: Mapping[str, Sequence[str]]
    gate: GateFile
    condition: ConditionFile
    puppies: PuppiesFile
    regulations: Mapping[str, Regulation]
    titles: TitleBook
    chips: Codes
    terms: tuple[Term, ...]
    practice: PracticeFile
    ring: RingFile
    countdown: CountdownFile
    heat: HeatFile
    photo: PhotoFile
    results: ResultsFile
    digest: str

    @property
    def set_aside(self) -> tuple[str, ...]:
        """What is wrong with each breed file that cannot be used: file, entry, reason."""
        return self.breeds.set_aside

    @cached_property
    def cues_at(self) -> Mapping[str, Sequence[Cue]]:
        """The cues by station."""
        return _by_station(self.cues)

    @cached_property
    def cautions_at(self) -> Mapping[str, Sequence[Caution]]:
        """The cautions by station."""
        return _by_station(self.cautions)


AtStation = TypeVar("AtStation", Cue, Caution)


def _by_station(entries: Iterable[AtStation]) -> Mapping[str, Sequence[AtStation]]:
    found: dict[str, list[AtStation]] = {}
    for entry in entries:
        found.setdefault(entry.station, []).append(entry)
    return found


def load(folder: Traversable | None = None, own: Traversable | None = None) -> Knowledge:
    """Load the knowledge in `folder` (default: the one shipped with the program).

    `own` is a folder of the handler's own breed files, which get ids beginning with "own-" and so
    never hide a shipped one. Breed files that cannot be used are set aside, and the rest goes on
    without them. Raises KnowledgeError listing every problem of every other file.
    """
    folder = folder or files("ringside.knowledge")
    problems: list[str] = []
    return _sound(_read(folder, _breeds(folder, own), problems), problems)


def load_whole(folder: Traversable | None = None, own: Traversable | None = None) -> Knowledge:
    """Load the same, but every breed whole.

    Raises KnowledgeError listing every problem of every file, the handler's own ones aside.
    """
    folder = folder or files("ringside.knowledge")
    problems: list[str] = []
    breeds = _breeds(folder, own)
    known = _read(folder, breeds, problems)
    problems += breeds.read_all()
    return _sound(known, problems)


def _sound(known: Knowledge | None, problems: list[str]) -> Knowledge:
    if known is None or problems:
        raise KnowledgeError(problems)
    return known


def _breeds(folder: Traversable, own: Traversable | None) -> Breeds:
    set_aside: list[str] = []
    entries = {entry.name.removesuffix(".toml"): entry for entry in toml_files(folder / FOLDER)}
    return Breeds(entries, own_breeds(own, set_aside) if own else {}, set_aside)


def _read(folder: Traversable, breeds: Breeds, problems: list[str]) -> Knowledge | None:
    """Read all but the breeds; None if some of it cannot be used."""
    stations = read(folder / "stations.toml", StationsFile, problems)
    cue_files = read_document(folder / "cues", problems)
    cues = cue_files.shaped(CuesFile, problems) if cue_files else None
    sources = read(folder / "sources.toml", SourcesFile, problems)
    short_names = read(folder / "short_names.toml", ShortNames, problems)
    gate = read(folder / "gate.toml", GateFile, problems)
    chips = read(folder / "microchip.toml", Codes, problems)
    practice = read(folder / "practice.toml", PracticeFile, problems)
    ring = read(folder / "ring.toml", RingFile, problems)
    condition = read(folder / "condition.toml", ConditionFile, problems)
    puppies = read(folder / "puppies.toml", PuppiesFile, problems)
    countdown = read(folder / "countdown.toml", CountdownFile, problems)
    heat = read(folder / "heat.toml", HeatFile, problems)
    results = read(folder / "results.toml", ResultsFile, problems)
    photo_files = read_document(folder / "photo", problems)
    photo = photo_files.shaped(PhotoFile, problems) if photo_files else None
    glossary_files = read_document(folder / "glossary", problems)
    glossary = glossary_files.shaped(GlossaryFile, problems) if glossary_files else None
    regulations = read_regulations(folder / "regulations", problems)
    titles = read_titles(folder / "titles", problems)
    if not (stations and cue_files and cues and sources and short_names and gate and chips):
        return None
    if problems:
        return None
    if not (glossary_files and glossary and practice and ring and condition and puppies):
        return None
    if not (countdown and heat and results and photo_files and photo):
        return None
    known = Knowledge(
        phases=stations.phase,
        stations={station.id: station for station in stations.station},
        cues=cues.cue,
        cautions=cues.caution,
        sources={
            source.id: source
            for file in (sources, countdown, heat, photo)
            for source in file.source
        },
        breeds=breeds,
        short_names=short_names.names,
        gate=gate,
        condition=condition,
        puppies=puppies,
        regulations=regulations,
        titles=titles,
        chips=chips,
        terms=glossary.term,
        practice=practice,
        ring=ring,
        countdown=countdown,
        heat=heat,
        photo=photo,
        results=results,
        digest=digest([*contents(folder), *breeds.own_contents()]),
    )
    checked: dict[str, Iterator[str]] = {
        "stations.toml": chain(_repeated(stations), _station_checks(known)),
        "sources.toml": _repeated(sources),
        "gate.toml": chain(_repeated(gate), _gate_checks(known)),
        "practice.toml": chain(_repeated(practice), _practice_checks(known)),
        "ring.toml": chain(_repeated(ring), _unsourced(known, ring), _ring_checks(ring)),
        "condition.toml": chain(_repeated(condition), _unsourced(known, condition)),
        "puppies.toml": chain(
            _repeated(puppies), _unsourced(known, puppies), _look_checks(puppies)
        ),
        "countdown.toml": chain(_repeated(countdown), _countdown_checks(known)),
        "heat.toml": chain(_repeated(heat), _unsourced(known, heat)),
        "results.toml": chain(_repeated(results), _unsourced(known, results)),
    }
    for name, found in checked.items():
        problems += (f"{name}: {problem}" for problem in found)
    problems += cue_files.located(chain(_repeated(cues), _cue_checks(known)))
    photo_problems = chain(_repeated(photo), _unsourced(known, photo), photo_checks(photo))
    problems += photo_files.located(photo_problems)
    problems += glossary_files.located(chain(_repeated(glossary), _term_checks(known)))
    return known


def _repeated(model: BaseModel) -> Iterator[str]:
    for kind in type(model).model_fields:
        seen: set[str] = set()
        for entry in _entries(model, kind):
            if entry.id in seen:
                yield f"{kind} {entry.id}: the id is used twice"
            seen.add(entry.id)


def _entries(model: BaseModel, kind: str) -> Sequence[Any]:
    found = getattr(model, kind)
    return found if isinstance(found, tuple) else ()


def _station_checks(known: Knowledge) -> Iterator[str]:
    phases = {phase.id for phase in known.phases}
    for station in known.stations.values():
        if station.phase not in phases:
            yield f"station {station.id}: there is no phase {station.phase!r}"
        if not _has_provenance(known, station.source):
            yield f"station {station.id}: {_no_source(station.source)}"
    for phase in phases:
        count = sum(station.phase == phase for station in known.stations.values())
        if count > MOST_IN_A_PHASE:
            yield f"phase {phase}: {count} stations; at most {MOST_IN_A_PHASE} fit"


def _cue_checks(known: Knowledge) -> Iterator[str]:
    entries: dict[str, Sequence[Cue | Caution]] = {"cue": known.cues, "caution": known.cautions}
    for kind, entry in ((kind, entry) for kind, found in entries.items() for entry in found):
        if entry.station not in known.stations:
            yield f"{kind} {entry.id}: there is no station {entry.station!r}"
        if not _has_provenance(known, entry.source):
            yield f"{kind} {entry.id}: {_no_source(entry.source)}"


def _gate_checks(known: Knowledge) -> Iterator[str]:
    groups = {group.id for group in known.gate.group}
    for item in known.gate.item:
        if item.group not in groups:
            yield f"item {item.id}: there is no group {item.group!r}"
        if not _has_provenance(known, item.source):
            yield f"item {item.id}: {_no_source(item.source)}"
    for group in groups:
        count = sum(item.group == group for item in known.gate.item)
        if count > MOST_IN_A_GROUP:
            yield f"group {group}: {count} items; at most {MOST_IN_A_GROUP} fit a look"


def _practice_checks(known: Knowledge) -> Iterator[str]:
    file = known.practice
    named: dict[str, set[str]] = {f"call {call.id}": {call.station} for call in file.call}
    named |= {f"turn {turn.id}": {*turn.stations} for turn in file.turn}
    for entry_name, stations in named.items():
        for station in sorted(stations - known.stations.keys()):
            yield f"{entry_name}: there is no station {station!r}"
    yield from _unsourced(known, file)


def _ring_checks(ring: RingFile) -> Iterator[str]:
    minutes = [step.minutes or math.inf for step in ring.step]
    if minutes != sorted(set(minutes), reverse=True):
        yield "step: the steps stand in the order in which they come, each at a time of its own"
    for body in {pace.body for pace in ring.pace}:
        rows = [pace for pace in ring.pace if pace.body == body]
        if len(rows) > 1 and not all(row.name for row in rows):
            yield f"pace {rows[0].id}: of several paces of {body} each has a name"


def _unsourced(known: Knowledge, model: BaseModel) -> Iterator[str]:
    for kind in type(model).model_fields:
        for entry in _entries(model, kind) if kind != "source" else ():
            if not _has_provenance(known, entry.source):
                yield f"{kind} {entry.id}: {_no_source(entry.source)}"


def _look_checks(puppies: PuppiesFile) -> Iterator[str]:
    before: dict[str, int] = {check.id: -1 for check in puppies.check}
    for look in puppies.look:
        if look.check not in before:
            yield f"look {look.id}: there is no check {look.check!r}"
        elif look.weeks <= before[look.check]:
            yield f"look {look.id}: the looks of a check stand in the order of their ages"
        before[look.check] = look.weeks


def _countdown_checks(known: Knowledge) -> Iterator[str]:
    file = known.countdown
    tasks = {task.id for task in file.task}
    named = {f"task {task.id}": task.source for task in file.task}
    named |= {f"caution {caution.id}": caution.source for caution in file.caution}
    named |= {f"uncut {one.id}": one.source for one in file.uncut if one.source}
    for name, source in named.items():
        if not _has_provenance(known, source):
            yield f"{name}: {_no_source(source)}"
    for caution in file.caution:
        for task in sorted({*caution.tasks} - tasks):
            yield f"caution {caution.id}: there is no task {task!r}"


def _term_checks(known: Knowledge) -> Iterator[str]:
    places = {*known.stations, *(phase.id for phase in known.phases)}
    terms = {term.id for term in known.terms}
    names: dict[str, str] = {}
    for term in known.terms:
        if term.station not in places:
            yield f"term {term.id}: there is no station or phase {term.station!r}"
        if not _has_provenance(known, term.source):
            yield f"term {term.id}: {_no_source(term.source)}"
        for other in sorted({*term.see} - (terms - {term.id})):
            yield (
                f"term {term.id}: it leads to {other!r}, which is not another word of the glossary"
            )
        for name in (term.name, *term.also):
            if (first := names.setdefault(name.casefold(), term.id)) != term.id:
                yield f"term {term.id}: {name!r} is a name of {first} too"


def _has_provenance(known: Knowledge, source: str) -> bool:
    return source in (COMMON_PRACTICE, FROM_MEMORY) or source in known.sources


def _no_source(source: str) -> str:
    return (
        f"source {source!r} is not in sources.toml; name one that is, "
        f"or write {COMMON_PRACTICE!r} or {FROM_MEMORY!r}"
    )
