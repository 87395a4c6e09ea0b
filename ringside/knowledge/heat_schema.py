"""Shape of heat.toml: first aid, limits of bodies, what is known of risk, the parked car."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StringConstraints

from ringside.knowledge.schema import Body, Entry, Id, Line, Source


class Aid(Entry):
    """A step of first aid, in the order of the file; `name` is read from a distance."""

    id: Id
    name: Annotated[str, StringConstraints(min_length=3, max_length=60)]
    says: Line
    source: str


class HeatLine(Entry):
    """A sign, or a line about the car."""

    id: Id
    says: Line
    source: str


class Limit(HeatLine):
    """What a body, or a member of it, has published for its shows."""

    body: Body


class Risk(HeatLine):
    """What is known of risk, for the dogs it is about: short-faced ones, those older or heavier
    than so much; without any of that, for every dog."""

    short_faced: bool = False
    over_years: Annotated[int, Field(ge=1, le=20)] | None = None
    over_kg: Annotated[float, Field(gt=0, le=150)] | None = None


class Odds(Entry):
    """Of a breed (`id`) how many times those of a Labrador Retriever."""

    id: Id
    times: Annotated[int, Field(ge=2, le=30)]
    source: str


class Parked(Entry):
    """By how much (°C) a parked car is warmer inside than out, after `id` minutes."""

    id: Annotated[str, StringConstraints(pattern=r"^[1-9][0-9]?$")]
    rise: Annotated[float, Field(gt=0, le=40)]
    source: str


class HeatFile(Entry):
    """heat.toml. `source` are texts that no other file names."""

    aid: tuple[Aid, ...]
    sign: tuple[HeatLine, ...]
    limit: tuple[Limit, ...]
    risk: tuple[Risk, ...]
    breed: tuple[Odds, ...]
    car: tuple[Parked, ...]
    line: tuple[HeatLine, ...]
    source: tuple[Source, ...]
