"""The sync: one request takes a phone's changes in and gives it what it has not seen."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, request
from flask_wtf.csrf import generate_csrf
from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator
from pydantic_core import PydanticCustomError

from ringside import __version__
from ringside.book.fields import UUID
from ringside.book.packs import PackShelf
from ringside.book.store import PAGE, Book

# What this server speaks. An app of another number may always push, and is told to renew itself.
PROTOCOL = 1


class SyncRequest(BaseModel):
    """What a phone sends. The changes are checked one by one, so that one cannot spoil the rest."""

    model_config = ConfigDict(extra="ignore")

    protocol: int = PROTOCOL
    device: str
    book: str = Field(default="", max_length=64)
    cursor: str = Field(default="", max_length=128)
    changes: list[Any] = Field(default_factory=list, max_length=20_000)
    packs: str | dict[str, str] | None = None
    most: int = Field(default=PAGE, ge=1, le=2_000)

    @field_validator("device")
    @classmethod
    def _is_an_id(cls, device: str) -> str:
        if not UUID.fullmatch(device):
            raise PydanticCustomError("id", "Input should be a UUID in lower case")
        return device


def make_sync(book: Book, shelf: Callable[[], PackShelf]) -> Blueprint:
    """Return the routes a phone talks to."""
    routes = Blueprint("sync", __name__, url_prefix="/api")

    @routes.get("/session")
    def session() -> Response:
        """Give out what a request needs to change anything, and which book this is."""
        with book.session():
            return _json({"csrf": generate_csrf(), "book": book.id, "now": _now()})

    @routes.post("/sync")
    def sync() -> Response:
        asked = _parsed(request.get_data())
        if isinstance(asked, Response):
            return asked
        with book.session():
            if asked.book and asked.book != book.id:
                return _error(
                    409, "other-book", "This server keeps another book than this phone's."
                )
            return _json(_answer(book, shelf(), asked))

    return routes


def _answer(book: Book, shelf: PackShelf, asked: SyncRequest) -> dict[str, Any]:
    now = _now()
    receipt = book.append(asked.changes, now)
    page = book.page(asked.cursor, asked.device, asked.most)
    answer: dict[str, Any] = {
        "protocol": PROTOCOL,
        "version": __version__,
        "book": book.id,
        "now": now,
        "taken": receipt.taken,
        "refused": [{"id": key, "reason": why} for key, why in receipt.refused.items()],
        "restamped": receipt.restamped,
        "cursor": page.cursor,
        "more": page.more,
        "anew": page.anew,
        "changes": page.changes,
    }
    # Packs come with the last page: before it the phone does not know all its dogs.
    return answer if page.more else answer | {"packs": shelf.offer(book, asked.packs)}


def _parsed(body: bytes) -> SyncRequest | Response:
    if request.mimetype != "application/json":
        return _error(415, "not-json", "Send JSON with Content-Type: application/json.")
    try:
        return SyncRequest.model_validate(json.loads(body))
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(step) for step in first["loc"]) or "the body"
        return _error(400, "malformed", f"{place}: {first['msg']}")
    except (ValueError, RecursionError):
        return _error(400, "malformed", "The body is not JSON that can be read; send it again.")


def _now() -> int:
    return time.time_ns() // 1_000_000


def _json(data: dict[str, Any]) -> Response:
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    # Only what was refused can hold half a character (a lone surrogate): say it with "?".
    return Response(body.encode(errors="replace"), content_type="application/json")


def _error(status: int, code: str, message: str) -> Response:
    response = _json({"code": code, "message": message})
    response.status_code = status
    return response
