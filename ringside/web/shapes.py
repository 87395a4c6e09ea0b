"""Shapes that more than one request has, and how a body is read as one."""

from __future__ import annotations

import json
from typing import Annotated, TypeVar

from pydantic import AfterValidator, BaseModel, ValidationError
from pydantic_core import PydanticCustomError

from ringside.book.kinds.fields import UUID


def _id(text: str) -> str:
    if not UUID.fullmatch(text):
        raise PydanticCustomError("id", "Input should be a UUID in lower case")
    return text


DeviceId = Annotated[str, AfterValidator(_id)]
Shape = TypeVar("Shape", bound=BaseModel)
# Why a body cannot be used: status, code and message.
Unfit = tuple[int, str, str]

NOT_JSON: Unfit = (415, "not-json", "Send JSON with Content-Type: application/json.")
UNREADABLE: Unfit = (
    400, "malformed", "The body is not JSON that can be read; send it again.",
)  # fmt: skip


def parsed(shape: type[Shape], body: bytes) -> Shape | Unfit:
    """Return a JSON body in its shape, or what is wrong with it."""
    try:
        return shape.model_validate(json.loads(body))
    except ValidationError as error:
        first = error.errors(include_input=False, include_url=False)[0]
        place = ".".join(str(step) for step in first["loc"]) or "the body"
        return 400, "malformed", f"{place}: {first['msg']}"
    except (ValueError, RecursionError):
        return UNREADABLE
