"""Points of a yearly schedule."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from ringside.domain.titles.words import same
from ringside.knowledge.schema import Sex
from ringside.knowledge.title_schema import Schedule


def scheduled_points(
    schedules: Iterable[Schedule],
    day: date,
    division: str,
    breed: str,
    sex: Sex,
    competing: int,
) -> int | None:
    """Return the points of a win under the schedule in force on `day`, None where there is none."""
    wanted = (same(division), same(breed), sex)
    for row in schedules:
        if (same(row.division), same(row.breed), row.sex) == wanted and (
            row.valid_from <= day <= row.valid_to
        ):
            return sum(competing >= needed for needed in row.needed)
    return None
