"""Read the knowledge files, check them, and hand out one immutable `Knowledge`.

Three fences: the schema checks the shape of an entry, `_cross_checks` the sense between files,
and whoever edits the files the truth. All problems are reported in one run.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from math import isfinite

from pydantic import BaseModel

from ringside.knowledge.chip_schema import Codes
from ringside.knowledge.reading import KnowledgeError, Model, read
from ringside.knowledge.regulation_schema import Regulation
from ringside.knowledge.regulations import read_regulations
from ringside.knowledge.schema import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    Breed,
    Caution,
    Cue,
    CuesFile,
    GateFile,
    Phase,
    Source,
    SourcesFile,
    Station,
    StationsFile,
)
from ringside.knowledge.titles import TitleBook, read_titles

MOST_IN_A_PHASE = 9
MOST_IN_A_GROUP = 7
OWN = "own-"
# The folder of own breed files, beside the book.
OWN_BREEDS = "breeds"
# What an own breed file is called, without its ending: it becomes part of the breed's id, which
# has at most 60 characters.
OWN_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
MOST_OWN_NAME = 50
MOST_OWN_SIZE = 256 * 1024  # bytes
MOST_OWN_FILES = 500  # more than there are breeds


@dataclass(frozen=True)
class Knowledge:
    """All the trade knows, by id. `digest` changes whenever a file does.

    `set_aside` says of each own file that cannot be used: file, entry, what is wrong.
    """

    phases: tuple[Phase, ...]
    stations: Mapping[str, Station]
    cues: tuple[Cue, ...]
    cautions: tuple[Caution, ...]
    sources: Mapping[str, Source]
    breeds: Mapping[str, Breed]
    gate: GateFile
    regulations: Mapping[str, Regulation]
    titles: TitleBook
    chips: Codes
    digest: str
    set_aside: tuple[str, ...] = ()


def load(folder: Traversable | None = None, own: Traversable | None = None) -> Knowledge:
    """Load the knowledge in `folder` (default: the one shipped with the program).

    `own` is a folder of the handler's own breed files, which get ids beginning with "own-" and so
    never hide a shipped one; those that cannot be used are set aside, and the rest goes on without
    them. Raises KnowledgeError listing every problem of every shipped file.
    """
    folder = folder or files("ringside.knowledge")
    problems: list[str] = []
    stations = read(folder / "stations.toml", StationsFile, problems)
    cues = read(folder / "cues.toml", CuesFile, problems)
    sources = read(folder / "sources.toml", SourcesFile, problems)
    breeds = {
        entry.name.removesuffix(".toml"): read(entry, Breed, problems)
        for entry in _toml_files(folder / "breeds")
    }
    set_aside: list[str] = []
    own_breeds = _own_breeds(own, set_aside) if own else {}
    breeds |= {OWN + entry.name.removesuffix(".toml"): own_breeds[entry] for entry in own_breeds}
    gate = read(folder / "gate.toml", GateFile, problems)
    chips = read(folder / "microchip.toml", Codes, problems)
    regulations = read_regulations(folder / "regulations", problems)
    titles = read_titles(folder / "titles", problems)
    if problems or not (stations and cues and sources and gate and chips):
        raise KnowledgeError(problems)
    known = Knowledge(
        phases=stations.phase,
        stations={station.id: station for station in stations.station},
        cues=cues.cue,
        cautions=cues.caution,
        sources={source.id: source for source in sources.source},
        breeds={key: breed for key, breed in breeds.items() if breed},
        gate=gate,
        regulations=regulations,
        titles=titles,
        chips=chips,
        digest=_digest(folder, list(own_breeds)),
        set_aside=tuple(set_aside),
    )
    problems = [*_repeated(stations, cues, sources, gate), *_cross_checks(known)]
    if problems:
        raise KnowledgeError(problems)
    return known


def own_breed(entry: Traversable, problems: list[str]) -> Breed | None:
    """Return the breed in the handler's own file `entry`, None if there are `problems` with it."""
    if own_content(entry, problems) is None:
        return None
    breed = read_brought(entry, Breed, problems)
    wrong = list(_breed_checks(entry.name.removesuffix(".toml"), breed)) if breed else []
    problems += wrong
    return None if wrong else breed


def own_content(entry: Traversable, problems: list[str]) -> bytes | None:
    """Return what is in the own file `entry`, be it a breed or not.

    None, and why in `problems`, if its name or size is not for us, or it cannot be read.
    """
    if not is_own_file(entry.name):
        problems.append(
            f"{entry.name!r}: the file's name: use small letters a to z, digits and hyphens, "
            f"at most {MOST_OWN_NAME}, and then .toml"
        )
        return None
    try:
        with entry.open("rb") as file:
            content: bytes = file.read(MOST_OWN_SIZE + 1)
    except OSError as error:
        problems.append(f"{entry.name}: cannot be read: {error.strerror}")
        return None
    if len(content) > MOST_OWN_SIZE:
        problems.append(f"{entry.name}: is too large; at most {MOST_OWN_SIZE // 1024} kB")
        return None
    return content


def is_own_file(name: str) -> bool:
    """Whether an own file can be called so."""
    stem = name.removesuffix(".toml")
    return stem != name and len(stem) <= MOST_OWN_NAME and bool(OWN_NAME.fullmatch(stem))


def read_brought(entry: Traversable, model: type[Model], problems: list[str]) -> Model | None:
    """Do as `read` does, for a file that people bring: it may be anything."""
    try:
        return read(entry, model, problems)
    except OSError as error:
        problems.append(f"{entry.name}: cannot be read: {error.strerror}")
    except (ValueError, RecursionError):
        problems.append(f"{entry.name}: a number in it is too long, or it is nested too deep")
    return None


def own_entries(folder: Traversable, problems: list[str]) -> list[Traversable]:
    """Return the entries of a folder of own files, in the order of their names."""
    try:
        entries = _toml_files(folder) if folder.is_dir() else []
    except OSError as error:
        problems.append(f"{folder.name}: the folder cannot be read: {error.strerror}")
        return []
    problems += [
        f"{entry.name!r}: there are more than {MOST_OWN_FILES} files; take some away"
        for entry in entries[MOST_OWN_FILES:]
    ]
    return entries[:MOST_OWN_FILES]


def _own_breeds(folder: Traversable, problems: list[str]) -> dict[Traversable, Breed]:
    read_ones = {entry: own_breed(entry, problems) for entry in own_entries(folder, problems)}
    return {entry: breed for entry, breed in read_ones.items() if breed}


def _repeated(*parsed: BaseModel) -> Iterator[str]:
    for model in parsed:
        name = type(model).__name__.removesuffix("File").lower() + ".toml"
        for field in type(model).model_fields:
            seen: set[str] = set()
            for entry in getattr(model, field):
                if entry.id in seen:
                    yield f"{name}: {field} {entry.id}: the id is used twice"
                seen.add(entry.id)


def _cross_checks(known: Knowledge) -> Iterator[str]:
    yield from _phase_checks(known)
    for kind, entries in (("cue", known.cues), ("caution", known.cautions)):
        for entry in entries:
            if entry.station not in known.stations:
                yield f"cues.toml: {kind} {entry.id}: there is no station {entry.station!r}"
            if not _has_provenance(known, entry.source):
                yield f"cues.toml: {kind} {entry.id}: {_no_source(entry.source)}"
    yield from _gate_checks(known)
    for key, breed in known.breeds.items():
        yield from _breed_checks(key, breed)


def _phase_checks(known: Knowledge) -> Iterator[str]:
    phases = {phase.id for phase in known.phases}
    for station in known.stations.values():
        if station.phase not in phases:
            yield f"stations.toml: station {station.id}: there is no phase {station.phase!r}"
        if not _has_provenance(known, station.source):
            yield f"stations.toml: station {station.id}: {_no_source(station.source)}"
    for phase in phases:
        count = sum(station.phase == phase for station in known.stations.values())
        if count > MOST_IN_A_PHASE:
            yield f"stations.toml: phase {phase}: {count} stations; at most {MOST_IN_A_PHASE} fit"


def _gate_checks(known: Knowledge) -> Iterator[str]:
    groups = {group.id for group in known.gate.group}
    for item in known.gate.item:
        if item.group not in groups:
            yield f"gate.toml: item {item.id}: there is no group {item.group!r}"
        if not _has_provenance(known, item.source):
            yield f"gate.toml: item {item.id}: {_no_source(item.source)}"
    for group in groups:
        count = sum(item.group == group for item in known.gate.item)
        if count > MOST_IN_A_GROUP:
            yield f"gate.toml: group {group}: {count} items; at most {MOST_IN_A_GROUP} fit a look"


def _breed_checks(key: str, breed: Breed) -> Iterator[str]:
    standards = {standard.id for standard in breed.standard}
    if len(standards) < len(breed.standard):
        yield f"{key}.toml: standard: an id is used twice"
    for number, ask in enumerate(breed.ask, start=1):
        if ask.standard not in standards:
            yield (
                f"{key}.toml: ask, number {number} ({ask.says[:60]}): "
                f"there is no standard {ask.standard!r} in this file"
            )
        bounds = (ask.number.low, ask.number.high) if ask.number else ()
        if not all(isfinite(bound) for bound in bounds if bound is not None):
            yield f"{key}.toml: ask, number {number} ({ask.says[:60]}): a bound is no finite number"


def _has_provenance(known: Knowledge, source: str) -> bool:
    return source in (COMMON_PRACTICE, FROM_MEMORY) or source in known.sources


def _no_source(source: str) -> str:
    return (
        f"source {source!r} is not in sources.toml; name one that is, "
        f"or write {COMMON_PRACTICE!r} or {FROM_MEMORY!r}"
    )


def _toml_files(folder: Traversable) -> list[Traversable]:
    found = (entry for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return sorted(found, key=lambda entry: entry.name)


def _digest(folder: Traversable, own: list[Traversable]) -> str:
    whole = hashlib.sha256()
    for name in ("stations.toml", "cues.toml", "sources.toml", "gate.toml", "microchip.toml"):
        whole.update((folder / name).read_bytes())
    for room in ("breeds", "regulations", "titles"):
        for entry in _toml_files(folder / room):
            whole.update(f"{room}/{entry.name}".encode() + entry.read_bytes())
    for entry in own:
        whole.update(f"own/{entry.name}".encode() + entry.read_bytes())
    return whole.hexdigest()[:16]
