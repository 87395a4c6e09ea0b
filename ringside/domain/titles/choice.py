"""What is chosen to fill the slots of a route, and of what several different ones are asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ringside.knowledge.title_schema import AtLeast, Route, Slots


@dataclass
class Choice:
    """Awards chosen for the slots of a route, and what it takes to complete them."""

    group: set[int]
    free: list[Slots]  # slots that are not filled, one entry each
    firsts: list[date]  # for each free slot the first day of an award that can fill it
    spans: list[tuple[str, AtLeast, int]]  # of what too few different ones: what, rule, how many
    last: date = date.min  # the first day for the last award, where an interval binds
    begun: bool = False


def spread_of(route: Route) -> list[tuple[str, str, AtLeast]]:
    """Return of what the awards need several different ones: what, field of the award, rule."""
    rules = (
        ("judge", "judge", route.judges),
        ("country", "country", route.countries),
        ("judge's country", "judge_country", route.judge_countries),
    )
    return [(what, of, rule) for what, of, rule in rules if rule]
