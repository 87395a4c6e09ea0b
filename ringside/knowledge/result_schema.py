"""Shape of results.toml: the placings and grades that a judge gives, in the words of each body."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StringConstraints

from ringside.knowledge.schema import Body, Entry, Id, Line, Read

Word = Annotated[str, StringConstraints(min_length=2, max_length=20)]


class Placing(Entry):
    """A place in a class, as `bodies` give it."""

    id: Annotated[str, StringConstraints(pattern=r"^[0-9a-z-]+$")]
    name: Word
    bodies: Annotated[tuple[Body, ...], Field(min_length=1)]
    source: str


class Grade(Entry):
    """What a dog is found to be worth by itself; `young`: in these classes, and in no other."""

    id: Id
    name: Word
    body: Body
    young: tuple[Id, ...] = ()
    source: str


class Only(Entry):
    """Awards of a body that are given at these kinds of show (`levels` of the book) alone."""

    id: Id
    body: Body
    awards: Annotated[tuple[Id, ...], Field(min_length=1)]
    levels: Annotated[tuple[Id, ...], Field(min_length=1)]
    source: str


class ResultLine(Entry):
    """What is said of the placings and grades of a body."""

    id: Id
    body: Body
    says: Line
    read: Read = "copy"
    source: str


ResultEntry = Placing | Grade | Only | ResultLine


class ResultsFile(Entry):
    """results.toml."""

    placing: tuple[Placing, ...]
    grade: tuple[Grade, ...]
    only: tuple[Only, ...]
    line: tuple[ResultLine, ...]
