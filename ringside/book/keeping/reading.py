"""Reading an export, which anybody may have written: nothing is taken whose form is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ringside.book import changes as rules
from ringside.book import clock
from ringside.book.keeping import breeds, photos, pieces
from ringside.book.keeping.breeds import Breeds
from ringside.book.keeping.exporting import COLUMNS, EXPORT_FORMAT
from ringside.book.keeping.pieces import Pieces
from ringside.book.kinds.fields import UUID
from ringside.book.store import BookError
from ringside.knowledge.own import MOST_OWN_FILES

ANEW = "Nothing was changed; export it again, or name another file."
LAST_MOMENT = 253_402_300_799_999  # ms: the end of the year 9999, and of the calendar
MOST_MEMBERS = 100
LISTS = {"changes", "contested"}
MAY_LACK = {"photos"}

# Which list it is of, what it is, and of how many characters.
Found = tuple[str, Any, int]


@dataclass
class Export:
    """An export whose form is right. Its changes stay in the file until they are asked for."""

    source: Path
    head: dict[str, Any] = field(default_factory=dict)
    lists: set[str] = field(default_factory=set)
    breeds: Breeds = field(default_factory=dict)

    def found(self) -> Iterator[Found]:
        """Give what its lists hold, "changes", "contested", "photos", in the order of the file.

        Raises BookError at the first whose form is wrong.
        """
        with self.source.open(encoding="utf-8") as file:
            try:
                yield from self._found(Pieces(file))
            except (ValueError, RecursionError) as error:
                raise BookError(f"{self.source} is not complete JSON ({error}). {ANEW}") from error

    def _found(self, text: Pieces) -> Iterator[Found]:
        if text.next() != "{":
            text.value()
            text.end()
            return
        for number, key in enumerate(text.members()):
            if number == MOST_MEMBERS:
                raise ValueError(f"more than {MOST_MEMBERS} members")
            if key in LISTS | MAY_LACK and text.next() == "[":
                self.lists.add(key)
                yield from self._checked(key, text)
            elif key == "breeds" and text.next() == "{":
                self.breeds = self._as_breeds(text)
            else:
                self.head[key] = text.value()
        text.end()

    def _checked(self, key: str, text: Pieces) -> Iterator[Found]:
        for place, entry in enumerate(text.elements(), start=1):
            if key == "changes" and (problem := change_problem(entry)):
                raise BookError(f"{self.source}, change {place}: {problem} {ANEW}")
            if key == "contested" and not is_contested(entry):
                raise BookError(foreign(self.source))
            if key == "photos" and not photos.is_photo(entry):
                raise BookError(f"{self.source}, photo {place}: it is not one. {ANEW}")
            yield key, entry, text.length

    def _as_breeds(self, text: Pieces) -> Breeds:
        """Return the own breed files of an export; BookError if there is anything else there."""
        own: Breeds = {}
        for name in text.members():
            content = _as_bytes(text.value())
            if content is None or not breeds.is_own(name, content) or len(own) == MOST_OWN_FILES:
                raise BookError(_no_breeds(self.source))
            own[name] = content
        return own


def read(source: Path) -> Export:
    """Return an export once all of it was looked at. Raises BookError."""
    found, problem = Export(source), None
    try:
        for _ in found.found():
            pass
    except BookError as error:
        # What is wrong may be right for a newer version, which is told at the head of the file.
        problem = error
    head = found.head
    if type(head.get("format")) is int and head["format"] > EXPORT_FORMAT:
        raise BookError(f"{source} was written by a newer version; update Ringside first.")
    if problem:
        raise problem
    if not _is_export(found):
        raise BookError(foreign(source))
    if head.get("breeds", {}) != {}:
        raise BookError(_no_breeds(source))
    if head.get("photos", []) != []:
        raise BookError(f"{source} holds something that is not a photo. {ANEW}")
    return found


def _is_export(found: Export) -> bool:
    head = found.head
    book, desk = head.get("book"), head.get("desk")
    return (
        head.get("ringside") == "export"
        and type(head.get("format")) is int
        and found.lists >= LISTS
        and isinstance(book, str)
        and isinstance(desk, str)
        and bool(UUID.fullmatch(book))
        and bool(not desk or UUID.fullmatch(desk))
    )


def foreign(source: Path) -> str:
    """Return what to do about a file that is something else."""
    return f"{source} is not an export of Ringside's; nothing was changed. Name another file."


def _no_breeds(source: Path) -> str:
    return f"{source} holds something that is not a breed file of your own. {ANEW}"


def _as_bytes(text: Any) -> bytes | None:
    try:
        return text.encode(errors="surrogateescape") if isinstance(text, str) else None
    except UnicodeEncodeError:
        return None


def is_contested(one: Any) -> bool:
    """Whether this is a change that was kept apart, with its text and the moment it came."""
    return (
        isinstance(one, dict)
        and one.keys() == {"id", "content", "received"}
        and isinstance(one["id"], str)
        and UUID.fullmatch(one["id"]) is not None
        and isinstance(one["content"], str)
        and is_moment(one["received"])
        and _holds_change(one["content"])
    )


def _holds_change(text: str) -> bool:
    try:
        text.encode()  # half a character cannot be kept
        return rules.form_problem(pieces.parsed(text)) is None
    except ValueError:
        return False


def is_moment(value: Any) -> bool:
    """Whether this is a moment (ms) that can be shown as a date."""
    return type(value) is int and 0 <= value <= LAST_MOMENT


def change_problem(change: Any) -> str | None:
    """Return why this is no change of an export, None if it is one."""
    if not isinstance(change, dict) or change.keys() != set(COLUMNS):
        return f"It must have exactly the keys {', '.join(COLUMNS)}."
    return rules.form_problem(as_sent(change)) or arrival_problem(change)


def arrival_problem(change: dict[str, Any]) -> str | None:
    """Return what is wrong with what the book noted of a change, None if nothing is."""
    raw = change["raw"]
    if not isinstance(raw, str) or not clock.STAMP.fullmatch(raw):
        return "Its raw stamp is malformed."
    return None if is_moment(change["received"]) else "Its moment of arrival is malformed."


def as_sent(change: dict[str, Any]) -> dict[str, Any]:
    """Return a change of an export as its device sent it."""
    return {key: change[key] for key in rules.KEYS}
