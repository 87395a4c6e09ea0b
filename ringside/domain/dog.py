"""A dog as the rules of the trade see it: what the card, the classes and the titles depend on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from datetime import date
from typing import Literal

from ringside.knowledge.regulation_schema import Question
from ringside.knowledge.schema import Body, Sex, Surface

# Title files and the book write the kind of a show "championship-cc" where the breed had CCs.
_WITH_CCS = "-cc"


@dataclass(frozen=True, slots=True)
class Award:
    """One award as the handler entered it. An empty text means that nobody has said.

    `day`           the day on which it was won
    `kind`          id as in titles/*.toml, or "class-first"
    `body`          whose award it is
    `judge`         name as typed; two ways to type it count as one
    `country`, `judge_country`  of the show and of the judge, as "CZ"
    `show`          name as typed
    `show_kind`     kind of show as regulations and titles name it, "championship"
    `ccs`           whether CCs were on offer for the breed; None: not said
    `klass`         id of the class it was won in, as in the body's regulations
    `breed_only`    whether that class was confined to the breed; None: not said
    `points`        those the show gave; None: not said, worked out if the body's table allows
    `major`         overrides what the points say; None: they say it
    `competing`     how many competed, the winner too; None: not said
    `champions`     how many champions were beaten; None: not said
    `id`            of the record, so that the phone finds it; empty: named by its place
    """

    day: date
    kind: str
    body: Body
    judge: str = ""
    country: str = ""
    judge_country: str = ""
    _: KW_ONLY
    show: str = ""
    show_kind: str = ""
    ccs: bool | None = None
    klass: str = ""
    breed_only: bool | None = None
    points: int | None = None
    major: bool | None = None
    competing: int | None = None
    champions: int | None = None
    id: str = ""

    @property
    def level(self) -> str:
        """The kind of show and whether it had CCs in one word, as title files write it."""
        return f"{self.show_kind}{_WITH_CCS}" if self.ccs else self.show_kind


def kind_of_level(level: str) -> tuple[str, bool | None]:
    """Return the kind of show and whether it had CCs (None: not said) from both in one word."""
    return level.removesuffix(_WITH_CCS), True if level.endswith(_WITH_CCS) else None


@dataclass(frozen=True)
class Felt:
    """How many testes were felt down, and on which day; None: the day was not written down."""

    state: Literal["both", "one", "none"]
    on: date | None


@dataclass(frozen=True, kw_only=True)
class Dog:
    """All that is known of a dog. None, or an answer that is missing, means: nobody has said.

    `breed`         id as in breeds/*.toml; another one gives the general card
    `variety`       what of its breed, as `varieties.choices` has it; "": nobody has said
    `born`          day of whelping; without it no class can be looked up
    `surface`       where it is examined; None: where its breed is
    `body`          whose standard and titles come first
    `short_faced`   of a breed that the library does not know
    `testes`        what was felt last
    `born_in`       country, as "CA"
    `registered`    by body, whether it is in its register
    `answers`       what only the handler can say, by question of regulations/*.toml
    `trial`         whether the breed needs a working trial
    `section`       of the register, where the body knows sections
    `titles`        held, by id as in titles/*.toml, with the day; None: held all along
    `tests`         passed outside the show ring, likewise
    `awards`        all that was won; () is nothing, None is not known
    """

    breed: str = ""
    variety: str = ""
    sex: Sex | None = None
    born: date | None = None
    surface: Surface | None = None
    body: Body = "FCI"
    short_faced: bool | None = None
    neutered: bool | None = None
    testes: Felt | None = None
    born_in: str | None = None
    registered: Mapping[Body, bool] = field(default_factory=dict, hash=False)
    answers: Mapping[Question, bool] = field(default_factory=dict, hash=False)
    trial: bool | None = None
    section: str = ""
    titles: Mapping[str, date | None] | None = field(default=None, hash=False)
    tests: Mapping[str, date | None] = field(default_factory=dict, hash=False)
    awards: tuple[Award, ...] | None = None
