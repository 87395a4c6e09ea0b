"""What a title is missing, or when it was earned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from ringside.domain.days import say_day
from ringside.knowledge.title_schema import Rule, TitleSource
from ringside.knowledge.titles import BodyTitle

Data = dict[str, Any]


@dataclass(frozen=True)
class Have:
    """How far one rule is met: `have` of `need`."""

    what: str
    have: int
    need: int


@dataclass(frozen=True)
class Verdict:
    """The outcome under one reading of the texts. `closed`: it can no longer be earned."""

    earned: date | None
    missing: str
    soonest: date | None
    closed: bool = False


@dataclass(frozen=True)
class Tally:
    """The outcome for one title. Awards are named by their place in the sequence given.

    `counts` are those that make up the title, or have been gathered for it; `aside` gives for
    each reason those that do not count. `rules` decided: what is lacking, or was met last.
    """

    title: BodyTitle
    route: str
    verdict: Verdict
    otherwise: Verdict | None
    open: tuple[str, ...]
    have: tuple[Have, ...]
    counts: tuple[int, ...]
    aside: Mapping[str, tuple[int, ...]]
    rules: tuple[Rule, ...]

    @property
    def earned(self) -> date | None:
        """The day on which the last condition was met."""
        return self.verdict.earned

    @property
    def missing(self) -> str:
        """What is still missing, in one sentence; empty once the title is earned."""
        return self.verdict.missing

    @property
    def soonest(self) -> date | None:
        """The first day that the rules allow, if any; how often shows are held is not known."""
        return self.verdict.soonest

    @property
    def sentence(self) -> str:
        """The verdict in one sentence."""
        return self.missing or f"Earned on {say_day(self.earned or date.min)}."

    @property
    def clause(self) -> str:
        """The clause that decided."""
        return self.rules[0].clause

    @property
    def source(self) -> TitleSource:
        """The text that the deciding clause stands in, with its edition."""
        return self.title.sources[self.rules[0].source]
