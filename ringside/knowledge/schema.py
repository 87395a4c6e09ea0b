"""Shapes of the knowledge files: what a TOML entry may hold, and what it must say of its source.

Every model refuses unknown keys, so that a slip of the pen is an error and not a lost fact.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Day
from functools import cached_property
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    model_validator,
)

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_-]*$", max_length=60)]
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=3, max_length=300)]
Sex = Literal["dog", "bitch"]
Surface = Literal["table", "ground", "ramp"]
Build = Literal["square", "long", "tall", "short"]
Body = Literal["FCI", "AKC", "KC", "CKC", "DA"]
Coat = Literal["smooth", "double", "wire", "long", "silky", "curly", "corded", "hairless"]
Topline = Literal["level", "sloping", "arched", "dip"]
Trunk = Literal["square", "rectangular", "long", "light", "heavy", "cobby"]
Feet = Literal["forward", "out"]
Size = Literal["small", "medium", "large"]
Unknown = Literal["unknown"]
UNKNOWN = "unknown"
Weight = Literal["disqualifying", "serious", "fault", "required", "preferred"]
Read = Literal["copy", "secondary", "memory"]
Risk = Literal["airway", "throat", "eyes", "lead", "table", "lifting", "knees", "heat", "testes"]

# What of a breed its cues depend on.
TRAITS = ("topline", "coat", "body", "feet", "size")

COMMON_PRACTICE = "common practice"
FROM_MEMORY = "from memory"

# Points a standard speaks of. Each belongs to one station of the card or to all that move.
Point = Literal[
    "outline", "size", "temperament", "head", "eyes", "ears", "nose", "bite", "neck", "shoulders",
    "feet", "coat", "colour", "topline", "body", "tail", "knees", "rear", "testes", "movement",
]  # fmt: skip

# Where a card has room for one line of what is asked, and how many characters go into it.
GLANCE = 30
Glance = Annotated[str, StringConstraints(min_length=3, max_length=GLANCE)]
GlanceBody = Literal["fci", "akc", "kc", "ckc", "da"]
GlanceStation = Literal[
    "outline", "head", "eyes", "ears", "bite", "neck", "shoulders", "topline", "knees", "movement",
]  # fmt: skip


def _in_calendar(written: str) -> str:
    if written:
        Day.fromisoformat(f"{written}-01-01"[:10])
    return written


# YYYY, YYYY-MM or YYYY-MM-DD, empty where it is not known.
Dated = Annotated[
    str,
    StringConstraints(pattern=r"^([0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?)?$"),
    AfterValidator(_in_calendar),
]


class Entry(BaseModel):
    """Base of all knowledge: immutable, and strict about keys."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Source(Entry):
    """A body, standard, regulation, paper or book, as a person would look it up.

    `date` is the date the text gives itself (validity, edition, issue): YYYY, YYYY-MM or
    YYYY-MM-DD, empty where our copy bore none. `address` is an official one or empty.
    """

    id: Id
    body: Line
    title: Line
    number: str = ""
    date: Dated = ""
    address: Annotated[str, StringConstraints(pattern=r"^(https://\S+)?$")] = ""
    checked: Day


class Phase(Entry):
    """A stretch of the judging with its own end; at most nine stations."""

    id: Id
    name: Line
    says: Line


class Station(Entry):
    """One stop of the card. `points` are what a standard's asks are filed under here; `glance`
    names the glance line that is shown here, where it is not the station's own.
    """

    id: Id
    phase: Id
    name: Annotated[str, StringConstraints(min_length=2, max_length=16)]
    looks: Line  # what the judge looks at or feels for
    points: tuple[Point, ...] = ()
    glance: GlanceStation | None = None
    sex: Sex | None = None
    surface: tuple[Surface, ...] = ()  # empty: every surface
    source: str


class Applies(Entry):
    """For which dogs an entry holds. An empty one holds for all.

    Where a trait of the breed is listed, "unknown" among its values takes in a dog of which nobody
    knows it; without, such a dog is left out.
    """

    sex: Sex | None = None
    surface: tuple[Surface, ...] = ()
    short_faced: bool | None = None
    puppy: bool | None = None
    topline: tuple[Topline | Unknown, ...] = ()
    coat: tuple[Coat | Unknown, ...] = ()
    body: tuple[Trunk | Unknown, ...] = ()
    feet: tuple[Feet | Unknown, ...] = ()
    size: tuple[Size | Unknown, ...] = ()

    @cached_property
    def wanted(self) -> Mapping[str, tuple[str, ...]]:
        """The traits of which a dog must have one of these values each."""
        return {trait: values for trait in TRAITS if (values := getattr(self, trait))}


Headline = Annotated[str, StringConstraints(min_length=3, max_length=30)]


class Cue(Entry):
    """What the hands, the lead and the feet do at a station; the first with a headline leads.

    What is for `home` is practised there, and never leads.
    """

    id: Id
    station: Id
    applies: Applies = Applies()
    headline: Headline | None = None
    home: bool = False
    do: Line
    avoid: Line
    why: Line
    source: str

    @model_validator(mode="after")
    def _headline_fits_a_glance(self) -> Cue:
        if self.headline and len(self.headline.split()) > 5:
            raise ValueError(f"headline {self.headline!r} has more than five words")
        return self

    @model_validator(mode="after")
    def _home_does_not_lead(self) -> Cue:
        if self.headline and self.home:
            raise ValueError("what is practised at home has no headline: it would lead in the ring")
        return self


class Caution(Entry):
    """Only where dog or person can be hurt; names who decides (vet, show, law)."""

    id: Id
    station: Id
    applies: Applies = Applies()
    risk: Risk
    text: Line
    source: str


class Number(Entry):
    """A wanted or allowed range; a missing bound is open. Units as the standard gives them."""

    what: Line
    low: float | None = None
    high: float | None = None
    unit: Annotated[str, StringConstraints(min_length=1, max_length=20)]
    sex: Literal["dog", "bitch", "both"] = "both"

    @model_validator(mode="after")
    def _bounds_make_sense(self) -> Number:
        if self.low is None and self.high is None:
            raise ValueError("a number needs low, high or both")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self


class Standard(Source):
    """One version of a breed standard, or a show rule that adds to it."""

    of: Body
    read: Read = "copy"
    note: str = ""  # how our copy stands to the text in force, neutrally


class Ask(Entry):
    """What a standard asks at one point, in our own words.

    `read` tells how we know: from a copy of the text, from a secondary account, or from memory.
    `sex` is said where the ask is for one sex and has no number that says so, or is for both and
    has a number for one.
    """

    point: Point
    standard: Id
    weight: Weight
    says: Line
    sex: Literal["dog", "bitch", "both"] | None = None
    read: Read = "copy"
    number: Number | None = None
    variety: str = ""

    @property
    def held_by(self) -> Sex | None:
        """The sex it is asked of; None for both."""
        of = self.sex or (self.number.sex if self.number else "both")
        return None if of == "both" else of


class Variety(Entry):
    """A size or coat under one standard, judged apart. `coat` where it differs from the breed's.

    `size` likewise. `by` is what it is told apart by, where a dog has one of each: a size and a
    coat.
    """

    name: Line
    note: str = ""
    by: Literal["", "size", "weight", "coat", "ears"] = ""
    coat: Coat | None = None
    size: Size | None = None


class Drawing(Entry):
    """The parts that the line drawing of a breed is put together from.

    `body` tells proportion and mass, `legs` how far the elbow is from the ground.
    """

    body: Trunk
    legs: Literal["short", "medium", "long"]
    ears: Literal["prick", "bat", "tipped", "button", "rose", "drop", "long", "fringed"]
    tail: Literal["curled", "sickle", "upright", "level", "hanging", "whip", "short", "screw"]


class Profile(Entry):
    """What a breed is, and which texts say so: the head of its file, up to the first ask.

    `also` are other names people look for it by, `coat` is the coat it is prepared as, `size` is
    how a handler keeps pace with it (`breeds/README.md`), None where its varieties say it; `glance`
    holds for each body and station what a judge looks for there first: the FCI's lines for all,
    another body's where it plainly wants something else.
    """

    name: Line
    also: tuple[Line, ...] = ()
    fci_number: int | None = None
    fci_group: Annotated[int, Field(ge=1, le=11)] | None = None
    examined_on: Surface
    examined_on_source: str
    short_faced: bool
    build: Build | None = None  # of former drawings; files of people may still carry it
    coat: Coat | None = None
    topline: Topline | None = None
    feet: Feet = "forward"
    size: Size | None = None
    drawing: Drawing | None = None
    note: str = ""
    glance: dict[GlanceBody, dict[GlanceStation, Glance]] = {}
    varieties: tuple[Variety, ...] = ()
    standard: tuple[Standard, ...] = Field(min_length=1)


class Breed(Profile):
    """A breed: how it is examined, and what its standards ask."""

    ask: tuple[Ask, ...] = Field(min_length=1)


class StationsFile(Entry):
    """stations.toml."""

    phase: tuple[Phase, ...]
    station: tuple[Station, ...]


class CuesFile(Entry):
    """The folder of cues."""

    cue: tuple[Cue, ...]
    caution: tuple[Caution, ...]


class SourcesFile(Entry):
    """sources.toml."""

    source: tuple[Source, ...]


class ShortNames(Entry):
    """short_names.toml: what breeds are called for short, by id; nobody publishes that."""

    source: Literal["common practice"]
    names: dict[Id, tuple[Annotated[str, StringConstraints(min_length=2, max_length=40)], ...]]


class Term(Entry):
    """A word of the trade. `glossary/README.md` says what the keys mean."""

    id: Id
    name: Annotated[str, StringConstraints(min_length=2, max_length=30)]
    also: tuple[Annotated[str, StringConstraints(min_length=2, max_length=30)], ...] = ()
    station: Id
    says: Annotated[str, StringConstraints(min_length=3, max_length=130, pattern=r"\.$")]
    care: Line | None = None
    see: tuple[Id, ...] = ()
    core: bool = False
    plain: bool = False
    source: str


class GlossaryFile(Entry):
    """The files of glossary/."""

    term: tuple[Term, ...]
