"""Read the knowledge files, check them, and hand out one immutable `Knowledge`.

Three fences: the schema checks the shape of an entry, `_cross_checks` the sense between files,
and whoever edits the files the truth. All problems are reported in one run.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from ringside.knowledge.schema import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    Breed,
    Caution,
    Cue,
    CuesFile,
    Phase,
    Source,
    SourcesFile,
    Station,
    StationsFile,
)

Model = TypeVar("Model", bound=BaseModel)
MOST_IN_A_PHASE = 9


class KnowledgeError(Exception):
    """The files cannot be used. `problems` says for each: file, entry, what is wrong."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


@dataclass(frozen=True)
class Knowledge:
    """All the trade knows, by id. `digest` changes whenever a file does."""

    phases: tuple[Phase, ...]
    stations: Mapping[str, Station]
    cues: tuple[Cue, ...]
    cautions: tuple[Caution, ...]
    sources: Mapping[str, Source]
    breeds: Mapping[str, Breed]
    digest: str


def load(folder: Traversable | None = None) -> Knowledge:
    """Load the knowledge in `folder` (default: the one shipped with the program).

    Raises KnowledgeError listing every problem of every file.
    """
    folder = folder or files("ringside.knowledge")
    problems: list[str] = []
    stations = _read(folder / "stations.toml", StationsFile, problems)
    cues = _read(folder / "cues.toml", CuesFile, problems)
    sources = _read(folder / "sources.toml", SourcesFile, problems)
    breed_files = sorted(
        (entry for entry in (folder / "breeds").iterdir() if entry.name.endswith(".toml")),
        key=lambda entry: entry.name,
    )
    breeds = {
        entry.name.removesuffix(".toml"): _read(entry, Breed, problems) for entry in breed_files
    }
    if problems or not (stations and cues and sources):
        raise KnowledgeError(problems)
    known = Knowledge(
        phases=stations.phase,
        stations={station.id: station for station in stations.station},
        cues=cues.cue,
        cautions=cues.caution,
        sources={source.id: source for source in sources.source},
        breeds={key: breed for key, breed in breeds.items() if breed},
        digest=_digest(folder, [entry.name for entry in breed_files]),
    )
    problems = [*_repeated(stations, cues, sources), *_cross_checks(known)]
    if problems:
        raise KnowledgeError(problems)
    return known


def _read(entry: Traversable, model: type[Model], problems: list[str]) -> Model | None:
    name = entry.name
    try:
        data = tomllib.loads(entry.read_text(encoding="utf-8"))
        return model.model_validate(data)
    except FileNotFoundError:
        problems.append(f"{name}: the file is missing")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        problems.append(f"{name}: not readable as TOML: {error}")
    except ValidationError as error:
        problems += [
            f"{name}: {_place(data, item['loc'])}: {_reason(item)}" for item in error.errors()
        ]
    return None


def _place(data: object, path: tuple[int | str, ...]) -> str:
    """Name an entry as its writer would: its id or first words, not only its number."""
    words: list[str] = []
    for step in path:
        if isinstance(step, int) and isinstance(data, list) and step < len(data):
            data = data[step]
            label = data.get("id") or data.get("says") or "" if isinstance(data, dict) else ""
            words.append(f"number {step + 1}" + (f" ({str(label)[:60]})" if label else ""))
        else:
            data = data.get(step) if isinstance(data, dict) else None
            words.append(str(step))
    return ", ".join(words) or "the file"


def _reason(item: Mapping[str, object]) -> str:
    if item["type"] == "missing":
        return "is missing; every entry must have it"
    if item["type"] == "extra_forbidden":
        return "is not a key we know; correct its spelling or remove it"
    return str(item["msg"])


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


def _has_provenance(known: Knowledge, source: str) -> bool:
    return source in (COMMON_PRACTICE, FROM_MEMORY) or source in known.sources


def _no_source(source: str) -> str:
    return (
        f"source {source!r} is not in sources.toml; name one that is, "
        f"or write {COMMON_PRACTICE!r} or {FROM_MEMORY!r}"
    )


def _digest(folder: Traversable, breeds: list[str]) -> str:
    whole = hashlib.sha256()
    for name in ("stations.toml", "cues.toml", "sources.toml"):
        whole.update((folder / name).read_bytes())
    for name in breeds:
        whole.update(name.encode() + (folder / "breeds" / name).read_bytes())
    return whole.hexdigest()[:16]
