"""Shapes that more than one request has."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator
from pydantic_core import PydanticCustomError

from ringside.book.fields import UUID


def _id(text: str) -> str:
    if not UUID.fullmatch(text):
        raise PydanticCustomError("id", "Input should be a UUID in lower case")
    return text


DeviceId = Annotated[str, AfterValidator(_id)]
