"""Shape of countdown.toml: what is done how many days before a show, and for which coats."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from ringside.knowledge.schema import Body, Coat, Entry, Id, Line, Source

Before = Annotated[int, Field(ge=0, le=120)]  # days before the show


class Task(Entry):
    """Something to do before a show: due from `begin` days before it, until `until` days before.

    With `every` it is due again each so many days. Empty `coats`, `breeds` or `bodies` stand for
    all. `leads` names the screen that helps with it.
    """

    id: Id
    name: Annotated[str, StringConstraints(min_length=3, max_length=36)]
    says: Line
    begin: Before
    until: Before
    every: Annotated[int, Field(ge=1, le=30)] | None = None
    coats: tuple[Coat, ...] = ()
    breeds: tuple[Id, ...] = ()
    bodies: tuple[Body, ...] = ()
    cuts: bool = False
    leads: Literal["", "gate", "heat"] = ""
    source: str

    @model_validator(mode="after")
    def _ends_after_it_begins(self) -> Task:
        if self.until > self.begin:
            raise ValueError(f"until {self.until} days before comes ahead of {self.begin}")
        return self


class Caution(Entry):
    """Where a dog can be hurt by some `tasks`, and what is for the vet."""

    id: Id
    tasks: Annotated[tuple[Id, ...], Field(min_length=1)]
    text: Line
    source: str


class Uncut(Entry):
    """A breed (`id`) whose coat is not cut for the ring, and the `standard` of its file that says
    so; without, `source` says how we know."""

    id: Id
    says: Line
    standard: str = ""
    source: str = ""

    @model_validator(mode="after")
    def _names_one(self) -> Uncut:
        if bool(self.standard) == bool(self.source):
            raise ValueError("name a standard of the breed's file, or a source in its place")
        return self


class CountdownFile(Entry):
    """countdown.toml. `source` are texts that no other file names."""

    task: tuple[Task, ...]
    caution: tuple[Caution, ...]
    uncut: tuple[Uncut, ...]
    source: tuple[Source, ...]
