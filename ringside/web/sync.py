"""The sync: one request takes a phone's changes in and gives it what it has not seen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from flask import Blueprint, Response, request
from pydantic import BaseModel, ConfigDict, Field, PlainValidator
from pydantic_core import PydanticCustomError

from ringside import __version__
from ringside.book import clock
from ringside.book.packs import PackShelf
from ringside.book.pages import MOST, SIZE, Asked
from ringside.book.store import Book
from ringside.web.answers import as_json, error, packed, unpacked
from ringside.web.door import WORDS, Door, Visitor
from ringside.web.shapes import NOT_JSON, DeviceId, parsed

# What this server speaks. An app of another number may always push, and is told to renew itself.
PROTOCOL = 1


def _held(packs: Any) -> Any:
    # One problem tells it. Each of a million wrong hashes told would fill the memory.
    if packs is None or isinstance(packs, str):
        return packs
    if isinstance(packs, dict) and all(isinstance(one, str) for one in packs.values()):
        return packs
    raise PydanticCustomError("packs", "Input should be a digest, or the hash of each pack")


class SyncRequest(BaseModel):
    """What a phone sends. The changes are checked one by one, so that one cannot spoil the rest."""

    model_config = ConfigDict(extra="ignore")

    protocol: int = PROTOCOL
    device: DeviceId
    book: str = Field(default="", max_length=64)
    cursor: str = Field(default="", max_length=256)
    changes: list[Any] = Field(default_factory=list, max_length=20_000)
    packs: Annotated[str | dict[str, str] | None, PlainValidator(_held)] = None
    most: int = Field(default=MOST, ge=1, le=2_000)
    # How large a page may be, in characters, by how fast the link was so far.
    size: int = Field(default=SIZE, ge=2_000, le=4_000_000)
    # Whether the app takes records as they stand, where it begins.
    records: bool = False


def make_sync(door: Door, shelf: Callable[[], PackShelf]) -> Blueprint:
    """Return the route a phone that was let in talks to."""
    book = door.book
    routes = Blueprint("sync", __name__, url_prefix="/api")

    @routes.post("/sync")
    def sync() -> Response:
        is_json = request.mimetype == "application/json"
        asked = parsed(SyncRequest, unpacked(request)) if is_json else NOT_JSON
        if isinstance(asked, tuple):
            return error(*asked)
        with book.session():
            visitor = door.visitor()
            code = visitor.problem or (visitor.device not in ("", asked.device) and "not-paired")
            if code:
                return error(401, code, WORDS[code])
            if asked.book and asked.book != book.id:
                return error(
                    409, "other-book", "This server has a different book from this phone's."
                )
            now = clock.wall()
            answer = _answer(book, shelf(), asked, visitor, now)
            if visitor.device:
                door.devices.saw(visitor.device, now)
            return packed(answer)

    return routes


def _answer(book: Book, shelf: PackShelf, asked: SyncRequest, visitor: Visitor, now: int) -> str:
    """Take in what a phone sends, and return as JSON what became of it and what is new."""
    barred: dict[str, str] = {}
    allowed = []
    seen = visitor.view.fields
    for change in asked.changes:
        reason = _barred(change, visitor, seen)
        if reason:
            barred[change["id"] if isinstance(change.get("id"), str) else ""] = reason
        else:
            allowed.append(change)
    receipt = book.append(allowed, now)
    with book.reading():
        page = book.seen(
            visitor.view,
            Asked(asked.cursor, receipt.taken, asked.most, asked.size, asked.records),
        )
        # Packs come with the last page: before it the phone does not know all its dogs.
        packs = {} if page.more else {"packs": shelf.offer(book, asked.packs)}
    answer: dict[str, Any] = {
        "protocol": PROTOCOL,
        "version": __version__,
        "book": book.id,
        "now": now,
        "taken": receipt.taken,
        "refused": [{"id": key, "reason": why} for key, why in (barred | receipt.refused).items()],
        "restamped": receipt.restamped,
        "cursor": page.cursor,
        "more": page.more,
        "anew": page.anew,
    }
    return f"{as_json(answer | packs)[:-1]},{page.as_json()}}}"


def _barred(change: Any, visitor: Visitor, seen: tuple[str, ...] | None) -> str:
    """Return why this visitor, who sees the fields `seen`, may not make a change, "" if the book
    may judge it."""
    if not isinstance(change, dict):
        return ""
    if seen is not None and f"{change.get('kind')}.{change.get('field')}" not in seen:
        return f"A {visitor.role} cannot write a {change.get('kind')}; ask an owner of the book."
    device = change.get("device")
    if visitor.device and isinstance(device, str) and device != visitor.device:
        return "Another device made this change. Only that one can send it."
    return ""
