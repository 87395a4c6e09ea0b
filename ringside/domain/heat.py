"""What every phone is given about heat: first aid, limits, risk as sentences, the parked car."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from ringside.domain.exam import source_of
from ringside.knowledge.loader import Knowledge

Data = dict[str, Any]
PARTS = ("aid", "sign", "limit", "risk", "breed", "car", "line")


def heat_book(knowledge: Knowledge) -> Data:
    """Return {"aid", "sign", "limit", "risk", "breed", "car", "line", "sources"}: heat.toml as it
    is, with the breeds' odds by breed, and where all comes from."""
    file = knowledge.heat
    told = {
        part: [one.model_dump(exclude_defaults=True) for one in getattr(file, part)]
        for part in PARTS
    }
    named = {one["source"] for part in told.values() for one in part} & set(knowledge.sources)
    return {
        **told,
        "breed": {one["id"]: one for one in told["breed"]},
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }


def risks_of(
    risks: Iterable[Data],
    *,
    short_faced: bool | None,
    born: date | None,
    kg: float | None,
    today: date,
) -> list[Data]:
    """Return the risks of a dog, those about it first, then those for every dog; what is None is
    not known of it, and claims nothing. The phone does the same, static/js/core/heat.js."""
    holds: dict[str, Callable[[Any], bool]] = {
        "short_faced": lambda _: short_faced is True,
        "over_years": lambda years: born is not None and _years_on(born, years) < _years_on(today),
        "over_kg": lambda most: kg is not None and kg > most,
    }
    found = [(risk, [holds[what](risk[what]) for what in holds if what in risk]) for risk in risks]
    about = [risk for risk, held in found if held and all(held)]
    return about + [risk for risk, held in found if not held]


def _years_on(day: date, years: int = 0) -> tuple[int, int, int]:
    """Return a day so many years on, to compare: there may be no such 29 February."""
    return day.year + years, day.month, day.day
