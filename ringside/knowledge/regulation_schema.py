"""Shapes of regulations/*.toml: the show regulations of one body, as far as they were read.

Every fact says which clause it stands in and how it was read; what a text leaves open is
written "silent" and never guessed. Sentences are ours, facts and figures the body's.
"""

from __future__ import annotations

from datetime import date as Day
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from ringside.knowledge.schema import Body, Entry, Id, Line, Number, Read, Sex, Source

Unit = Literal["years", "months", "weeks", "days"]
Silent = Literal["silent"]
# Which day decides on a show of several days. "day of show" and "silent" leave it open.
Decides = Literal["first day", "day shown", "day of show", "closing date", "silent"]
# By which day a title or a win counts for or against a class.
CountedBy = Literal["closing date", "seventh day before closing", "day of show", "silent"]
MonthEnd = Literal["last day", "next day", "silent"]
Outcome = Literal["may", "may not", "may if"]
Kind = Literal["championship", "open", "limited", "breed-club", "specialty", "cacib"]
Prize = Annotated[str, StringConstraints(min_length=2, max_length=80)]
Country = Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}$")]
# A title as titles/*.toml names it; "any-ch" is a champion of whatever body.
TitleId = Annotated[str, StringConstraints(pattern=r"^(fci|akc|kc|ckc|da|any)-[a-z][a-z0-9-]*$")]
# What is won, as far as it bars from a class. Points count by their sum, all else by number.
Win = Literal[
    "class-first", "cc", "cac", "cacib", "green-stars", "championship-points", "challenge-points"
]

# What only the handler can say, each answered yes, no or not at all.
Question = Literal[
    "working_certificate", "records_complete", "amateur_owner_handler", "bred_by_exhibitor",
    "mated_in_usa", "born_in_state", "never_first", "not_professional",
    "country_admits_age", "society_takes_it", "registered", "neutered", "testes", "blind", "deaf",
    "lame", "ill", "unwell_premises", "altered", "coat_treated", "docked", "in_season",
    "nursing", "aggressive", "standard_disqualifies", "not_in_catalogue",
]  # fmt: skip

UNIT_DAYS = {"days": 1, "weeks": 7}
UNIT_MONTHS = {"months": 1, "years": 12}


class Fact(Entry):
    """Base of all facts: the clause, how we read it, and the edition (the file's first if empty).

    `memory` names those keys of an otherwise read entry that nobody could read.
    """

    clause: Line
    read: Read
    edition: Id | None = None
    memory: tuple[Id, ...] = ()
    note: str = ""
    conflict: str = ""  # where the texts that were read disagree

    @model_validator(mode="after")
    def _memory_names_keys(self) -> Fact:
        for name in self.memory:
            if name not in type(self).model_fields:
                raise ValueError(f"memory names {name!r}, which is not a key of this entry")
        return self


class Edition(Source):
    """A text the facts were read in. `address` is an official one or empty."""

    read: Read
    note: str = ""


class Bound(Entry):
    """An age. `inclusive`: whether the very day on which it is reached is still inside."""

    age: Annotated[int, Field(ge=1)]
    unit: Unit
    inclusive: bool | Silent

    def months(self) -> int | None:
        """Return the age in calendar months, or None where it is counted in days."""
        return self.age * UNIT_MONTHS[self.unit] if self.unit in UNIT_MONTHS else None

    def days(self) -> int | None:
        """Return the age in days, or None where it is counted in calendar months."""
        return self.age * UNIT_DAYS[self.unit] if self.unit in UNIT_DAYS else None

    def span(self) -> tuple[int, int]:
        """Return the fewest and the most days that this age can mean."""
        months = self.months()
        if months is None:
            return (self.days() or 0, self.days() or 0)
        return months * 28, months * 31


class Ages(Fact):
    """How the body counts ages, and which day decides unless a class says otherwise."""

    decides: Decides
    says: Line
    upper: Line | None = None  # how upper bounds are worded


class MonthRule(Fact):
    """What a month's end means for a dog whose day of birth the later month does not have."""

    reading: MonthEnd
    says: Line


class Rule(Fact):
    """One plain sentence."""

    says: Line


class Tally(Entry):
    """Wins that bar once there are `count` of them (for points: once they add up to it).

    `classes` counts only these, `not_classes` leaves these out; `everywhere` counts wins
    under any body. A win of which the record does not say enough makes the count uncertain.
    """

    awards: tuple[Win, ...] = Field(min_length=1)
    count: Annotated[int, Field(ge=1)]
    classes: tuple[Id, ...] = ()
    not_classes: tuple[Id, ...] = ()
    kinds: tuple[Kind, ...] = ()
    ccs: bool = False  # only shows with Challenge Certificates for the breed
    breed_only: bool = False  # only classes confined to the breed
    everywhere: bool = False


class Condition(Fact):
    """What a class asks besides age and sex; any one of its parts needs (or bars) by itself.

    `asks` completes "it may go in if ...", whichever way round the condition works.
    """

    id: Id
    how: Literal["needs", "bars"]
    asks: Line
    titles: tuple[TitleId, ...] = ()
    perhaps: tuple[TitleId, ...] = ()  # titles that may be recognised, but need not
    tally: tuple[Tally, ...] = ()
    question: Question | None = None
    born_in: tuple[Country, ...] = ()
    counted_by: CountedBy = "silent"
    kinds: tuple[Kind, ...] = ()  # empty: at every kind of show
    instead: Id | None = None  # the class the body moves the dog to

    @model_validator(mode="after")
    def _has_a_part(self) -> Condition:
        if not (self.titles or self.tally or self.question or self.born_in):
            raise ValueError("a condition needs titles, tally, question or born_in")
        if self.how == "needs" and self.tally:
            raise ValueError("a tally can only bar")
        return self


class ShowClass(Fact):
    """A class, who may enter it, and what it can win."""

    id: Id
    name: Line
    kinds: tuple[Kind, ...] = ()  # kinds of show that may offer it; empty: every kind
    optional: bool | None = None  # whether a show may leave it out; absent: not read
    low: Bound | None = None
    high: Bound | None = None
    decides: Decides | None = None
    sex: Sex | None = None
    division_of: Id | None = None
    divisions: tuple[Line, ...] = ()
    divided_by_sex: bool | None = None
    condition: tuple[Condition, ...] = ()
    over_age: str = ""  # what becomes of an entry that is too old
    wins: tuple[Prize, ...] = ()
    never_wins: tuple[Prize, ...] = ()
    handler: str = ""
    valid_from: Day | None = None

    @model_validator(mode="after")
    def _bounds_make_sense(self) -> ShowClass:
        if self.low and self.high:
            low, high = self.low, self.high
            same = (low.months(), high.months()) if low.months() else (low.days(), high.days())
            if None in same:
                above = low.span()[0] > high.span()[1]
            else:
                above = (same[0] or 0) >= (same[1] or 0)
            if above:
                raise ValueError(
                    f"low {low.age} {low.unit} is not below high {high.age} {high.unit}"
                )
        return self


class NamedClass(Fact):
    """A class that the text names but whose definition was not read."""

    id: Id
    name: Line


class Exemption(Entry):
    """Classes in which a bar does not hold, or holds only if."""

    classes: tuple[Id, ...] = Field(min_length=1)
    says: Line
    asks: Line | None = None  # completes "may go in if"; without it the bar does not hold


class Bar(Fact):
    """What bars any dog, or matters to any dog at the gate.

    `verdict` is what follows where the answer to `question` is `when`: "may not" bars, "may if"
    asks for what `asks` says, "may" only wants to be known. A bar that is not `lasting` holds for
    the day it is answered on.
    """

    id: Id
    says: Line
    effect: Line
    verdict: Outcome
    asks: Line | None = None
    sex: Sex | None = None
    question: Question | None = None
    when: bool = True
    kinds: tuple[Kind, ...] = ()  # empty: at every kind of show
    under: Bound | None = None
    lasting: bool = True
    exempt: tuple[Exemption, ...] = ()
    exceptions: tuple[Line, ...] = ()
    examples: tuple[Line, ...] = ()
    valid_from: Day | None = None

    @model_validator(mode="after")
    def _complete(self) -> Bar:
        if (self.verdict == "may if" or self.kinds) and not self.asks:
            raise ValueError(
                "a bar that is 'may if', or of some kinds of show, must say what it asks"
            )
        if self.question is None and self.under is None:
            raise ValueError("a bar needs a question or an age under which it holds")
        return self


class Overlap(Fact):
    """Whether one dog's age may fit several of these classes on one day."""

    classes: tuple[Id, ...] = Field(min_length=2)
    allowed: bool
    says: Line


class Award(Fact):
    """What a certificate is and which classes can win it."""

    id: Id
    says: Line
    classes: tuple[Id, ...] = ()


class Habit(Fact):
    """How this body's shows are judged: pace, tables, ring work, what handlers must not do."""

    id: Id
    says: Line
    numbers: tuple[Number, ...] = ()
    breeds: tuple[Line, ...] = ()
    handler_must_not: bool = False
    common_practice: bool = False
    valid_from: Day | None = None


class Variant(Fact):
    """How a member body words it. `upper` tells of classes whose upper age the body leaves open
    whether the day on which it is reached is still inside there; `lower` gives the months from
    which a class is open that has no lowest age of the body's own.
    """

    id: Annotated[str, StringConstraints(pattern=r"^[a-z]{2}$")]
    where: Line
    says: Line
    upper: dict[Id, bool] = Field(default_factory=dict)
    lower: dict[Id, Annotated[int, Field(ge=1, le=24)]] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _settles_something(self) -> Variant:
        if not (self.upper or self.lower):
            raise ValueError("a variant needs upper or lower ages")
        return self


class Change(Entry):
    """What changed lately; `date` as far as the notice gives it."""

    date: Annotated[str, StringConstraints(pattern=r"^(\d{4}(-\d\d(-\d\d)?)?)?$")] = ""
    says: Line
    read: Read
    clause: Line


class Regulation(Entry):
    """The show regulations of one body. The first edition is the one facts mean by default."""

    body: Body
    name: Line
    edition: tuple[Edition, ...] = Field(min_length=1)
    governs: Rule  # the show's own schedule decides
    ages: Ages
    month_end: MonthRule
    leap_day: MonthRule
    wins_counted: Rule | None = None
    variant: tuple[Variant, ...] = ()
    classes: tuple[ShowClass, ...] = Field(alias="class", min_length=1)
    named: tuple[NamedClass, ...] = ()
    overlap: tuple[Overlap, ...] = ()
    bar: tuple[Bar, ...] = Field(min_length=1)
    award: tuple[Award, ...] = ()
    habit: tuple[Habit, ...] = ()
    change: tuple[Change, ...] = ()
