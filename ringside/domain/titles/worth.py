"""What awards are worth in points, and what one show is credited with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

import ringside.domain.titles.words as words
from ringside.domain.dog import Award
from ringside.domain.titles.record import Credits
from ringside.knowledge.title_schema import Row, Scheme


def credit(
    awards: Sequence[Award],
    pool: Sequence[int],
    scheme: Scheme,
    *,
    since: date,
    after: date,
    floor: int,
    most: int,
) -> Credits:
    """Find what each award of `pool` is worth, and credit it within what one show can give.

    Awards count from `since` on, and from `after` on because another title must come first. A win
    flagged as a major is worth `floor` at least; `most` are the points that one show can give.
    """
    found = Credits()
    rows: dict[tuple[str, str], Sequence[Row]] = {}
    for place in pool:
        award = awards[place]
        if award.kind not in scheme.kinds:
            continue
        value: int | None = None
        if award.day < since:
            reason = words.too_early(since)
        elif award.day < after:
            reason = words.WAITS_FOR_TITLE
        else:
            value, reason = points_of(award, scheme, floor, rows)
        if value:
            found.worth[place] = value
            found.shows.setdefault((award.day, words.same(award.show)), []).append(place)
        else:
            found.aside.setdefault(reason, []).append(place)
    for places in found.shows.values():
        left = most
        for place, reason, limit in _at_one_show(awards, places, scheme, found.worth, most):
            if not reason and not left:
                reason = words.beyond(most)
            if reason:
                found.aside.setdefault(reason, []).append(place)
                continue
            points = min(found.worth[place], left, limit)
            left = min(left, limit) - points
            found.credited.append((place, points))
    return found


def _at_one_show(
    awards: Sequence[Award],
    places: Sequence[int],
    scheme: Scheme,
    worth: Mapping[int, int],
    most: int,
) -> Iterator[tuple[int, str, int]]:
    """Yield each award of a show, why it does not count beside the others, and the show's bound.

    Where only one can count, the highest does, the first of several.
    """
    sets = scheme.one_of or ((scheme.kinds,) if scheme.per_show == "highest" else ())
    best = {
        max(among, key=worth.__getitem__)
        for kinds in sets
        if (among := [place for place in places if awards[place].kind in kinds])
    }
    bound = {place for place in places if any(awards[place].kind in kinds for kinds in sets)}
    rows = {place: _row_for(awards[place], scheme) for place in places}
    alone = [place for place in places if (row := rows[place]) and row.alone]
    kept = set(alone[:1]) if len(alone) == len(places) else set(places) - set(alone)
    for place in sorted(places, key=lambda place: place not in kept):
        row = rows[place]
        counts = place in kept and (place in best or place not in bound)
        yield place, "" if counts else words.LOWER_AWARD, (row and row.most) or most


def _only_variety(award: Award, scheme: Scheme) -> bool:
    """Tell whether an award would count, had its class been confined to the breed."""
    if award.breed_only is not False or _row_for(award, scheme):
        return False
    return _row_for(replace(award, breed_only=True), scheme) is not None


def _row_for(award: Award, scheme: Scheme) -> Row | None:
    return next((row for row in scheme.row if _is_of(award, row)), None)


def _is_of(award: Award, row: Row) -> bool:
    """Tell whether the row is for such an award; a class is the breed's unless it is denied."""
    return (
        award.kind in row.kinds
        and (not row.show_kinds or award.level in row.show_kinds)
        and not (row.breed_only and award.breed_only is False)
    )


def points_of(
    award: Award,
    scheme: Scheme,
    major: int = 0,
    found: dict[tuple[str, str], Sequence[Row]] | None = None,
) -> tuple[int | None, str]:
    """Return the points of an award under `scheme`, or none and what would be needed to tell.

    `major` is the least that a win flagged as a major is worth where its points are missing;
    `found` keeps rows between calls.
    """
    if _only_variety(award, scheme):
        return None, words.VARIETY_CLASS
    if award.points is not None:
        value = max(0, min(award.points, scheme.max_per_award))
        return value, "" if value else words.NO_POINTS_WON
    if award.major and major:
        return major, ""
    rows: Sequence[Row] | None = found.get((award.kind, award.level)) if found else None
    if rows is None:
        rows = [row for row in scheme.row if _is_of(award, row)]
        if found is not None:
            found[award.kind, award.level] = rows
    if scheme.base is None and not rows:
        known = any(award.kind in row.kinds for row in scheme.row)
        return None, words.NO_POINTS_HERE if known else words.NO_POINTS_ENTERED
    counted = scheme.base is not None or any(row.competing_from or row.competing_to for row in rows)
    if counted and award.competing is None:
        return None, words.NEITHER_ENTERED
    competing = award.competing or 0
    if scheme.base is not None:
        return min(scheme.base + competing, scheme.max_per_award), ""
    for row in rows:
        high = competing if row.competing_to is None else row.competing_to
        if row.competing_from <= competing <= high and row.points:
            return row.points, ""
    return 0, words.TOO_FEW
