"""Shape of ring.toml: how fast judges work, what schedules say, what to do before going in."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StringConstraints

from ringside.knowledge.schema import Body, Entry, Headline, Id, Line

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=3, max_length=30)]


class Pace(Entry):
    """Minutes that a dog has in the ring under a body, from what `says` tells of it; `name` tells
    several of a body apart.
    """

    id: Id
    body: Body
    name: Name | None = None
    minutes: Annotated[float, Field(gt=0, le=10)]
    says: Line
    source: str


class Habit(Entry):
    """What is known of schedules under a body, or everywhere; `never_early`: no class or breed
    begins before the time that is printed for it.
    """

    id: Id
    body: Body | None = None
    never_early: bool = False
    says: Line
    source: str


class Step(Entry):
    """What one does from so many `minutes` before the turn may come; without any, until then."""

    id: Id
    name: Headline
    minutes: Annotated[int, Field(gt=0, le=120)] | None = None
    text: Line
    source: str


RingLine = Pace | Habit | Step


class RingFile(Entry):
    """ring.toml."""

    pace: tuple[Pace, ...]
    habit: tuple[Habit, ...]
    step: tuple[Step, ...]
