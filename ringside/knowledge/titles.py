"""Read the title files, check them, and join every title with what its body says of awards.

All problems of all files are reported in one run, in the manner of the loader.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable

from ringside.knowledge.reading import KnowledgeError, contents, digest, documents, read_document
from ringside.knowledge.schema import Body
from ringside.knowledge.title_schema import (
    AwardKind,
    Route,
    Schedule,
    Scheme,
    Title,
    TitlesFile,
    TitleSource,
)


@dataclass(frozen=True)
class BodyTitle:
    """A title with all that is needed to weigh awards for it."""

    body: Body
    caveat: str
    title: Title
    kinds: Mapping[str, AwardKind]
    schemes: Mapping[str, Scheme]
    sources: Mapping[str, TitleSource]
    names: Mapping[str, str]  # of the body's titles, by id

    @property
    def id(self) -> str:
        """The title's id, unique among all bodies."""
        return self.title.id


@dataclass(frozen=True)
class TitleBook:
    """All titles by id, in the order of the files; `digest` changes whenever a file does."""

    titles: Mapping[str, BodyTitle]
    kinds: Mapping[Body, Mapping[str, AwardKind]]
    schedules: tuple[Schedule, ...]
    digest: str

    @property
    def texts(self) -> list[TitleSource]:
        """Every text that a title or an award was read in."""
        found = {
            (title.body, key): text
            for title in self.titles.values()
            for key, text in title.sources.items()
        }
        return list(found.values())


def load_titles(folder: Traversable | None = None) -> TitleBook:
    """Load the title files in `folder` (default: those shipped with the program).

    Raises KnowledgeError listing every problem of every file.
    """
    problems: list[str] = []
    book = read_titles(folder or files("ringside.knowledge") / "titles", problems)
    if problems:
        raise KnowledgeError(problems)
    return book


def read_titles(folder: Traversable, problems: list[str]) -> TitleBook:
    """Do the same, but add what is wrong to `problems` and return what is left."""
    titles: dict[str, BodyTitle] = {}
    kinds: dict[Body, Mapping[str, AwardKind]] = {}
    schedules: list[Schedule] = []
    for entry in documents(folder):
        name = f"titles/{entry.name}"
        document = read_document(entry, problems, name)
        file = document.shaped(TitlesFile, problems) if document else None
        if document is None or file is None:
            continue
        problems += document.located(_cross_checks(file))
        if file.body in kinds:
            problems.append(f"{name}: body {file.body}: another file is of this body")
        kinds[file.body] = {kind.id: kind for kind in file.award}
        schedules += file.schedule
        for joined in _join(file):
            if joined.id in titles:
                problems.append(f"{name}: title {joined.id}: the id is used twice")
            titles[joined.id] = joined
    if not titles and not problems:
        problems.append("titles: there is no title file")
    return TitleBook(titles, kinds, tuple(schedules), digest(contents(folder)))


def _join(file: TitlesFile) -> Iterator[BodyTitle]:
    kinds = {kind.id: kind for kind in file.award}
    schemes = {scheme.id: scheme for scheme in file.scheme}
    sources = {source.id: source for source in file.source}
    names = {title.id: title.name for title in file.title}
    for title in file.title:
        yield BodyTitle(file.body, file.caveat, title, kinds, schemes, sources, names)


def _cross_checks(file: TitlesFile) -> Iterator[str]:
    """Yield what only shows when the entries of a file are held together."""
    for what in ("source", "award", "scheme", "title"):
        seen: set[str] = set()
        for entry in getattr(file, what):
            if entry.id in seen:
                yield f"{what} {entry.id}: the id is used twice"
            seen.add(entry.id)
    sources = {source.id for source in file.source}
    for kind in file.award:
        yield from _unknown(f"award {kind.id}", "source", {kind.source}, sources)
    for scheme in file.scheme:
        place = f"scheme {scheme.id}"
        yield from _unknown(place, "source", {scheme.source}, sources)
        used = {*scheme.kinds, *(kind for row in scheme.row for kind in row.kinds)}
        yield from _unknown(place, "award", used, {kind.id for kind in file.award})
    for schedule in file.schedule:
        place = f"schedule {schedule.year} {schedule.division} {schedule.breed} {schedule.sex}"
        yield from _unknown(place, "source", {schedule.source}, sources)
        yield from _unknown(place, "scheme", {schedule.scheme}, {item.id for item in file.scheme})
    before: set[str] = set()
    for title in file.title:
        for route in title.route:
            yield from _route_checks(f"title {title.id}, {route.name}", route, file, before)
        if title.unread:
            yield from _unknown(
                f"title {title.id}, unread", "source", {title.unread.source}, sources
            )
        before.add(title.id)


def _route_checks(place: str, route: Route, file: TitlesFile, before: set[str]) -> Iterator[str]:
    """Check one route; titles it builds on must stand above it, so that none waits for itself."""
    yield from _unknown(
        place, "source", {rule.source for rule in route.rules()}, {item.id for item in file.source}
    )
    used = {kind for slots in route.awards for kind in slots.kinds}
    used |= {kind for minimum in route.minimum for kind in minimum.kinds}
    yield from _unknown(place, "award", used, {kind.id for kind in file.award})
    if route.points:
        schemes = {item.id for item in file.scheme}
        yield from _unknown(place, "scheme", {route.points.scheme}, schemes)
    named = {need.title for need in route.needs}
    named |= {slots.after_title for slots in route.awards if slots.after_title}
    named |= {route.points.after_title} if route.points and route.points.after_title else set()
    for missing in sorted(named - before):
        yield f"{place}: there is no title {missing!r} above this one in the file"


def _unknown(place: str, what: str, used: set[str], known: set[str]) -> Iterator[str]:
    for missing in sorted(used - known):
        yield f"{place}: there is no {what} {missing!r} in this file"
