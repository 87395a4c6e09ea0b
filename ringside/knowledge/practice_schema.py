"""Shape of practice.toml: what a judge says, and what is known of practising."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StringConstraints

from ringside.knowledge.schema import Entry, Id, Line, Surface


class Call(Entry):
    """What the judge says at a station, to be spoken."""

    station: Id
    says: Annotated[str, StringConstraints(min_length=3, max_length=60)]
    source: str

    @property
    def id(self) -> str:
        """The station: each has one call."""
        return self.station


class Turn(Entry):
    """Stations that judges take in any order among themselves."""

    id: Id
    stations: Annotated[tuple[Id, ...], Field(min_length=2)]
    source: str


class Evidence(Entry):
    """What is known of practising; `weak` where it may help, and no more can be said."""

    id: Id
    says: Line
    weak: bool = False
    source: str


class Care(Entry):
    """What to take care of while nobody looks at the screen; `surface` empty: on every one."""

    id: Id
    surface: tuple[Surface, ...] = ()
    text: Line
    source: str


PracticeLine = Call | Turn | Evidence | Care


class PracticeFile(Entry):
    """practice.toml."""

    call: tuple[Call, ...]
    turn: tuple[Turn, ...]
    evidence: tuple[Evidence, ...]
    care: tuple[Care, ...]
