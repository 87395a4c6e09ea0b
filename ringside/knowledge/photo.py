"""Checks of photo/: what it names is there."""

from __future__ import annotations

from collections.abc import Iterator

from ringside.knowledge.photo_schema import Asked, NotAsked, PhotoFile


def photo_checks(file: PhotoFile) -> Iterator[str]:
    """Yield what is wrong between the entries of the folder, by entry."""
    marks = {mark.id for mark in file.mark}
    views = {view.id: view for view in file.view}
    measures = {measure.id for measure in file.measure}
    for view in file.view:
        named = {*view.marks, *((view.size.from_, view.size.to) if view.size else ())}
        for mark in sorted(named - marks):
            yield f"view {view.id}: there is no mark {mark!r}"
    for measure in file.measure:
        known = views[measure.view].marks if measure.view in views else ()
        for mark in sorted({*measure.needs} - {*known}):
            yield f"measure {measure.id}: {mark!r} is no mark of the view {measure.view}"
    seen: dict[str, str] = {}
    for asked in file.asked:
        for name in sorted({*asked.measures} - measures):
            yield f"asked {asked.id}: there is no measure {name!r}"
    for held in file.withheld:
        for name in sorted({held.measure, *held.measures} - measures):
            yield f"withheld {held.id}: there is no measure {name!r}"
    for end in file.end:
        if end.measure not in measures:
            yield f"end {end.id}: there is no measure {end.measure!r}"
    entries: list[Asked | NotAsked] = [*file.asked, *file.not_asked]
    for entry in entries:
        for what in entry.what:
            if (first := seen.setdefault(what, entry.id)) != entry.id:
                yield f"asked {entry.id}: {what!r} stands under {first} too"
