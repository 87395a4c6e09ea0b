"""What one route came to: rules that are met, and rules that are not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from ringside.domain.titles.case import Case
from ringside.domain.titles.shapes import Have
from ringside.knowledge.title_schema import Rule


@dataclass
class Lack:
    """A rule not met: the awards it takes at least, from when, until when; how to say it."""

    rule: Rule
    says: str
    awards: int = 0  # the least number of further awards that can meet it
    first: date = date.min  # the first day for what is lacking
    end: date = date.max  # the first day too late for it
    unknown: bool = False  # no date can be told
    points: int = 0  # the least number of points that can meet it
    among: str = ""  # how to say it as part of a sum, where that differs


@dataclass
class Weighed:
    """What one route came to under one reading."""

    case: Case
    met: list[tuple[Rule, date | None]] = field(default_factory=list)
    lacks: list[Lack] = field(default_factory=list)
    have: list[Have] = field(default_factory=list)
    counts: set[int] = field(default_factory=set)
    aside: dict[str, list[int]] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)

    @property
    def earned(self) -> date | None:
        """The day on which the last rule was met."""
        if self.lacks:
            return None
        known = self.case.title.title.valid_from or self.case.today  # of titles held without a day
        return max((day for _, day in self.met if day), default=known)

    def set_all_aside(self, aside: Mapping[str, Sequence[int]]) -> None:
        """Note awards that do not count, by reason."""
        for reason, places in aside.items():
            self.aside.setdefault(reason, []).extend(places)

    def set_aside(self, reason: str, place: int) -> None:
        """Note an award that does not count."""
        self.aside.setdefault(reason, []).append(place)
