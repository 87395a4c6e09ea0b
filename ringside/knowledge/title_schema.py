"""Shapes of the title files: what earns a title, and which text says so.

A title is earned when every rule of any one of its routes is met. Each rule names its source,
its clause and how we know it, so that a verdict can show what decided.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date as Day
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from ringside.knowledge.schema import Body, Entry, Id, Line, Read, Sex, Source

Count = Annotated[int, Field(ge=1, le=2000)]
Months = Annotated[int, Field(ge=1, le=300)]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=2, max_length=100)]

# Whether the very day on which the dog reaches an age lies within; open: the text does not say.
OnTheDay = Literal["in", "out", "open"]


class Rule(Entry):
    """What a body's text says at one place. `disputed`: texts differ on whether it still holds."""

    source: Id
    clause: Line
    read: Read
    note: str = ""
    disputed: bool = False


class AwardKind(Rule):
    """An award by its id, and the ages at which a dog can be given it. `rare`: so few win it in a
    day that it stands aside where awards are chosen (ours)."""

    id: Id
    name: Name
    from_months: Months | None = None
    before_months: Months | None = None
    on_the_day: OnTheDay = "out"  # of the upper bound
    since: Day | None = None  # the first day on which it counts for a title
    unless: str = ""  # why it counts for no title, or when it would
    rare: bool = False

    @model_validator(mode="after")
    def _ages_make_sense(self) -> AwardKind:
        _check_ages(self.from_months, self.before_months)
        return self


class Slots(Rule):
    """`count` awards of any of `kinds`; each award fills one slot of a route."""

    kinds: tuple[Id, ...] = Field(min_length=1)
    count: Count
    one: Name  # what to call one of them
    many: Name
    over_months: Months | None = None  # the dog's age when it was won
    on_the_day: OnTheDay = "in"
    since: Day | None = None
    after_title: Id | None = None
    show_kinds: tuple[Id, ...] = ()


class AtLeast(Rule):
    """So many different judges, countries or shows."""

    at_least: Count


class Interval(Rule):
    """The time from the first to the last counted award, on calendar dates.

    A year from 1 January ends on 1 January; `days` are added to that.
    """

    years: Annotated[int, Field(ge=0, le=10)] = 0
    months: Annotated[int, Field(ge=0, le=60)] = 0
    days: Annotated[int, Field(ge=0, le=400)] = 0

    @model_validator(mode="after")
    def _lasts(self) -> Interval:
        if not (self.years or self.months or self.days):
            raise ValueError("an interval needs years, months or days")
        return self


class Points(Rule):
    """A sum of points under one scheme."""

    scheme: Id
    at_least: Count
    max_per_show: Count | None = None
    after_title: Id | None = None
    since: Day | None = None


class Wins(Rule):
    """So many wins of `min_points` or more, each from another judge where `judges` says so."""

    at_least: Count
    min_points: Count
    judges: Count | None = None
    one: Name
    many: Name

    @model_validator(mode="after")
    def _judges_fit(self) -> Wins:
        if self.judges and self.judges > self.at_least:
            raise ValueError(f"{self.judges} judges cannot give {self.at_least} wins")
        return self


class Minimum(Rule):
    """A part of the points that must come from certain wins. `says` ends "N more points ..."."""

    points: Count
    says: Line
    kinds: tuple[Id, ...] = ()
    show_kinds: tuple[Id, ...] = ()
    since: Day | None = None
    over_months: Months | None = None
    on_the_day: OnTheDay = "in"


class Ages(Rule):
    """The dog's age for every award of a route."""

    from_months: Months | None = None
    before_months: Months | None = None
    on_the_day: OnTheDay = "out"  # of the upper bound

    @model_validator(mode="after")
    def _ages_make_sense(self) -> Ages:
        if self.from_months is None and self.before_months is None:
            raise ValueError("ages need from_months, before_months or both")
        _check_ages(self.from_months, self.before_months)
        return self


class NeedsTitle(Rule):
    """Another title of the same file that must be held."""

    title: Id


class NeedsTest(Rule):
    """A test outside the show ring."""

    test: Id
    says: Line


class Route(Entry):
    """One way to a title: all of its rules together.

    `judges`, `countries`, `judge_countries` and `shows` are counted among the awards that fill
    slots, or, where a route has no slots, among those that give points.
    """

    name: Name
    awards: tuple[Slots, ...] = ()
    judges: AtLeast | None = None
    countries: AtLeast | None = None
    judge_countries: AtLeast | None = None
    shows: AtLeast | None = None
    interval: Interval | None = None
    points: Points | None = None
    wins: Wins | None = None
    minimum: tuple[Minimum, ...] = ()
    champions: AtLeast | None = None  # shows at which a champion was beaten
    age: Ages | None = None
    needs: tuple[NeedsTitle, ...] = ()
    test: NeedsTest | None = None

    @model_validator(mode="after")
    def _can_be_met(self) -> Route:
        if not self.awards and self.points is None and not self.needs:
            raise ValueError("a route needs awards, points or other titles")
        if self.points is None and (self.wins or self.minimum or self.champions):
            raise ValueError("wins, minimum and champions need points")
        slots = sum(slot.count for slot in self.awards)
        for what in ("judges", "countries", "judge_countries", "shows"):
            rule: AtLeast | None = getattr(self, what)
            if rule and self.awards and rule.at_least > slots:
                raise ValueError(f"{rule.at_least} {what} cannot come from {slots} awards")
        if not self.awards and (self.countries or self.judge_countries or self.shows):
            raise ValueError("countries, judge_countries and shows need awards")
        if self.interval and slots < 2:
            raise ValueError("an interval needs two awards or more")
        spread = self.countries or self.judge_countries or self.interval
        if spread and (len(self.awards) != 1 or slots > 4):
            raise ValueError("countries and intervals need one kind of slot, four awards at most")
        if self.awards and self.judges and not spread and self.judges.at_least != slots:
            raise ValueError("without countries each award must come from another judge")
        return self

    def rules(self) -> Iterator[Rule]:
        """Every rule of the route, the leading one first."""
        yield from self.awards
        single = (self.points, self.judges, self.countries, self.judge_countries, self.shows)
        yield from (rule for rule in single if rule)
        yield from (rule for rule in (self.interval, self.wins, self.champions, self.age) if rule)
        yield from self.minimum
        yield from self.needs
        if self.test:
            yield self.test


class Row(Entry):
    """Points of one kind of win. `competing` counts dogs, or breeds in a group, the winner too.

    `breed_only`: not in a class for several breeds. `alone`: only where nothing else at the show
    gave points. `most`: so many points at one show, whatever was won there.
    """

    kinds: tuple[Id, ...] = Field(min_length=1)
    breed_only: bool = False
    alone: bool = False
    most: Count | None = None
    points: Annotated[int, Field(ge=0, le=100)]
    show_kinds: tuple[Id, ...] = ()
    competing_from: Annotated[int, Field(ge=0)] = 0
    competing_to: int | None = None

    @model_validator(mode="after")
    def _bounds_make_sense(self) -> Row:
        if self.competing_to is not None and self.competing_to < self.competing_from:
            raise ValueError(f"to {self.competing_to} is below from {self.competing_from}")
        return self


class Scheme(Rule):
    """How wins turn into points.

    Points entered with an award are taken as they are. Where none were entered they follow
    from `row`, or from `base` and one for each dog competing. `yearly`: the numbers change every
    year by place and breed, so points are entered, or looked up in a `schedule`. Of the kinds in
    one set of `one_of` the highest at a show counts; points of several sets add up.
    """

    id: Id
    kinds: tuple[Id, ...] = Field(min_length=1)
    per_show: Literal["highest", "sum"]
    one_of: tuple[tuple[Id, ...], ...] = ()
    max_per_award: Count
    yearly: bool = False
    base: Annotated[int, Field(ge=0)] | None = None
    row: tuple[Row, ...] = ()


class Schedule(Rule):
    """The numbers of one year: dogs competing that 1, 2, 3, ... points need."""

    scheme: Id
    year: Annotated[int, Field(ge=1980, le=2100)]
    valid_from: Day
    valid_to: Day
    division: Annotated[str, StringConstraints(min_length=1, max_length=40)]
    breed: Name
    sex: Sex
    needed: tuple[Count, ...] = Field(min_length=1, max_length=10)

    @model_validator(mode="after")
    def _rises(self) -> Schedule:
        if any(low >= high for low, high in zip(self.needed, self.needed[1:], strict=False)):
            raise ValueError(f"the numbers {list(self.needed)} do not rise")
        if self.valid_to < self.valid_from:
            raise ValueError(f"ends on {self.valid_to}, before it begins on {self.valid_from}")
        return self


class TitleSource(Source):
    """A regulation, notice or circular, and how we know it."""

    read: Read
    note: str = ""


class Unread(Rule):
    """That no text was read of what earns a title: `says` tells so, and whom to ask.

    The rest of the rule is what was read of it. Before `from_months` no dog can have it.
    """

    says: Line
    from_months: Months | None = None


class Title(Entry):
    """A title, by one route or several, or `unread`.

    `dog` are conditions on the dog that no list of awards can answer.
    """

    id: Id
    name: Line
    prefix: str = ""
    suffix: str = ""
    applies: str = ""
    trial: bool | None = None  # for breeds that the body lists for a working trial, or not
    section: str = ""  # only for dogs registered in this section of the body
    valid_from: Day | None = None
    valid_to: Day | None = None
    note: str = ""
    dog: tuple[Line, ...] = ()
    route: tuple[Route, ...] = ()
    unread: Unread | None = None

    @model_validator(mode="after")
    def _has_a_way(self) -> Title:
        if bool(self.route) == bool(self.unread):
            raise ValueError("a title needs a route, or `unread` where none was read")
        return self


class TitlesFile(Entry):
    """titles/<body>.toml."""

    body: Body
    caveat: Line
    source: tuple[TitleSource, ...] = Field(min_length=1)
    award: tuple[AwardKind, ...] = Field(min_length=1)
    scheme: tuple[Scheme, ...] = ()
    schedule: tuple[Schedule, ...] = ()
    title: tuple[Title, ...] = Field(min_length=1)


def _check_ages(low: int | None, high: int | None) -> None:
    if low is not None and high is not None and low >= high:
        raise ValueError(f"from {low} months is not below {high} months")
