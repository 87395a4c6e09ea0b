"""Shapes of condition.toml and puppies.toml: what is looked at between shows, and who says so.

No line of them ends in a diagnosis: what is not as it should be is for a vet.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from ringside.knowledge.schema import Entry, Headline, Id, Line, Sex

Weeks = Annotated[int, Field(ge=0, le=260)]
Group = Literal["body", "vaccinations", "handling"]


class CareLine(Entry):
    """One thing to know, told under what it is `about`."""

    id: Id
    about: Id
    says: Line
    source: str


class Score(Entry):
    """A point of the nine-point scale of body condition, 1 thin to 9 heavy, in our words."""

    id: Literal["1", "2", "3", "4", "5", "6", "7", "8", "9"]
    band: Literal["thin", "ideal", "heavy"]
    says: Line
    source: str


class ConditionFile(Entry):
    """condition.toml."""

    score: tuple[Score, ...]
    line: tuple[CareLine, ...]


class Check(Entry):
    """Something that a puppy is looked over for, and how.

    `good` is what is written down where all is well; of the testes it is how many are down.
    `vet` says what is for a vet.
    """

    id: Id
    group: Group
    name: Headline
    sex: Sex | None = None
    good: Annotated[str, StringConstraints(min_length=3, max_length=20)]
    says: Line
    vet: Line
    source: str


class Look(Entry):
    """When a check is due: from `weeks` of age, until it is too late to ask (`until`, weeks)."""

    id: Id
    check: Id
    weeks: Weeks
    until: Weeks
    says: Line
    source: str

    @model_validator(mode="after")
    def _ends_after_it_begins(self) -> Look:
        if self.until <= self.weeks:
            raise ValueError(f"until {self.until} weeks is not after {self.weeks}")
        return self


class PuppiesFile(Entry):
    """puppies.toml; the looks of a check stand in the order of their ages."""

    check: tuple[Check, ...]
    look: tuple[Look, ...]
    line: tuple[CareLine, ...]


CareEntry = CareLine | Score | Check | Look
