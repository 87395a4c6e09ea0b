"""Shape of photo/: the views of a dog, the marks on them, what is worked out from the marks, what
is not, and which numbers of the breed files can be held against it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from ringside.knowledge.schema import Entry, Id, Line, Source

View = Literal["side", "head-side", "head-front", "front", "above"]
SideBuild = Literal["square", "long", "short-legged"]
HeadBuild = Literal["long", "medium", "short"]
Share = Annotated[float, Field(ge=0, le=1)]
Place = tuple[Share, Share]
Name = Annotated[str, StringConstraints(min_length=3, max_length=40)]


class Size(Entry):
    """Two marks of a view whose distance is `share` of the height at the withers."""

    from_: Id = Field(alias="from")
    to: Id
    share: Annotated[float, Field(gt=0, lt=1)]


class PhotoView(Entry):
    """A view: how to take it, and its marks in the order in which they are set.

    The `first` so many marks give what may be judged. The side has no `size`: the ground gives it.
    """

    id: View
    name: Name
    how: tuple[Line, ...] = Field(min_length=1)
    marks: tuple[Id, ...]
    first: int
    size: Size | None = None
    source: str


class Mark(Entry):
    """A point of the dog. `at`: {view: {build: [x, y]}}, where it is expected on a photo of a dog
    facing left, as parts of the picture from its upper left; `depth` in heights at the withers
    toward the camera, `find` the SD per axis in mm on a dog of 60 cm.
    """

    id: Id
    name: Name
    says: Line
    hand: Line
    depth: Annotated[float, Field(ge=-0.3, le=0.3)]
    find: Annotated[float, Field(gt=0, le=30)]
    sticker: bool = False
    at: dict[View, dict[SideBuild | HeadBuild | Literal["any"], Place]] = Field(default={})
    source: str


class Measure(Entry):
    """What is worked out from the marks it `needs`; `pose` and `stance` are SDs in its unit."""

    id: Id
    name: Name
    view: View
    class_: Literal[1, 2, 3] = Field(alias="class")
    unit: Literal["ratio", "percent", "degrees", "hours"]
    needs: tuple[Id, ...] = Field(min_length=2)
    pose: Annotated[float, Field(ge=0)]
    stance: Annotated[float, Field(ge=0)] = 0
    coat: bool = False
    stand: Annotated[float, Field(gt=0)] | None = None
    says: Line
    why: Line | None = None
    source: str


class Refused(Entry):
    """What a photo cannot tell."""

    id: Id
    name: Name
    why: Line
    source: str


class Withheld(Entry):
    """Where `measure`, less two uncertainties, is `below` so much, `measures` are recorded only."""

    id: Id
    measure: Id
    below: Annotated[float, Field(gt=0)]
    measures: tuple[Id, ...] = Field(min_length=1)
    source: str


class PhotoLine(Entry):
    """A sentence about values."""

    id: Id
    says: Line
    source: str


Turn = Literal["as it is", "inverse", "excess", "share", "other share", "rest", "off upright"]


class Asked(Entry):
    """Numbers of the breed files, by their names, that are held against `measures`.

    Of a name with a unit in brackets, only those in that unit. `turn` says how a number x becomes
    the measure's: "inverse" 1/x, "excess" 1 + x, "share" x/(1 + x), "other share" 1/(1 + x),
    "rest" 1 - x, "off upright" 90 - x. Of several measures the standard does not say which it
    means.
    """

    id: Id
    what: tuple[Line, ...] = Field(min_length=1)
    measures: tuple[Id, ...] = Field(min_length=1)
    turn: Turn = "as it is"
    source: str


class NotAsked(Entry):
    """Numbers of the breed files that are measured on no photo, and why."""

    id: Id
    why: Line
    what: tuple[Line, ...] = Field(min_length=1)
    source: str


class End(Entry):
    """The `words` by which a standard names the end that sets one measure apart from others."""

    id: Id
    measure: Id
    words: tuple[Line, ...] = Field(min_length=1)
    source: str


class PhotoFile(Entry):
    """The folder photo/. `source` are texts that no other file names."""

    atlas: Annotated[int, Field(ge=1)]
    view: tuple[PhotoView, ...]
    mark: tuple[Mark, ...]
    measure: tuple[Measure, ...]
    refused: tuple[Refused, ...]
    withheld: tuple[Withheld, ...]
    line: tuple[PhotoLine, ...]
    asked: tuple[Asked, ...] = ()
    end: tuple[End, ...] = ()
    not_asked: tuple[NotAsked, ...] = ()
    source: tuple[Source, ...]
