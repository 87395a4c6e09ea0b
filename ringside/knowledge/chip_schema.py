"""Shape of microchip.toml: how a number is built, and the codes that it may begin with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field, StringConstraints, model_validator

from ringside.knowledge.schema import Entry, Id, Source

Code = Annotated[str, StringConstraints(pattern=r"^\d{3}$")]
CodeName = Annotated[str, StringConstraints(min_length=2, max_length=60)]


class NumberShape(Entry):
    """How a number is built, and which source says so."""

    digits: Annotated[int, Field(ge=4, le=30)]
    prefix: Annotated[int, Field(ge=1, le=5)]
    national_max: Annotated[int, Field(ge=1)]
    maker_from: int
    shared_maker: int
    test_code: int
    digits_source: Id
    country_source: Id
    maker_source: Id


class Codes(Entry):
    """microchip.toml: the shape of a number, and the codes that it may begin with."""

    source: tuple[Source, ...]
    number: NumberShape
    maker: Mapping[Code, CodeName]
    country: Mapping[Code, CodeName]

    @model_validator(mode="after")
    def _makes_sense(self) -> Codes:
        known = {source.id for source in self.source}
        shape = self.number
        for used in (shape.digits_source, shape.country_source, shape.maker_source):
            if used not in known:
                raise ValueError(f"there is no source {used!r} in this file")
        for code, name in self.country.items():
            if not 0 < int(code) < shape.maker_from:
                raise ValueError(f"country {code} ({name}) lies outside 001 to 899")
        for code, name in self.maker.items():
            if not shape.maker_from <= int(code) < shape.test_code:
                raise ValueError(f"maker {code} ({name}) lies outside 900 to 998")
        return self
