"""The field types of records: each declares itself to the phone, and checks a value.

A declaration is plain JSON; the phone's core/check.js reads it and applies the same rules, so a
value is refused where it is typed and, all the same, again here. `None` is allowed everywhere: it
means the handler has not said, or has cleared it.
"""

from __future__ import annotations

import re
from dataclasses import KW_ONLY, dataclass
from datetime import date, datetime
from typing import Any, ClassVar

MOST_TEXT_BYTES = 65_536
# Written out, it is read in three quarters of the time: every change has four.
UUID = re.compile("[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
CONTROL = re.compile(r"[\x00-\x1f\x7f]")
MOST_IN_LIST = 60


@dataclass(frozen=True)
class Field:
    """What all fields share.

    `required` is for forms: the book itself takes None. `says` is the field's name in words where
    that is not its own; `quiet` keeps it out of what is told of a change.
    """

    kind: ClassVar[str] = ""
    is_text: ClassVar[bool] = False
    _: KW_ONLY
    required: bool = False
    says: str = ""
    quiet: bool = False

    def declare(self) -> dict[str, Any]:
        """Return the declaration that the phone checks by."""
        return {"type": self.kind, **({"required": True} if self.required else {}), **self.limits()}

    def limits(self) -> dict[str, Any]:
        """Return what bounds the values, as the phone's check reads it."""
        return {}

    def problem(self, value: Any) -> str | None:
        """Return why `value` cannot be kept, in words that say what to do; None if it can."""
        return None if value is None else self._problem(value)

    def _problem(self, value: Any) -> str | None:
        raise NotImplementedError


@dataclass(frozen=True)
class Words(Field):
    """A short line: at most `most` characters, no line breaks."""

    kind = "words"
    most: int

    def limits(self) -> dict[str, Any]:
        """Return the most characters."""
        return {"most": self.most}

    def _problem(self, value: Any) -> str | None:
        if not isinstance(value, str):
            return "must be text"
        if len(value) > self.most:
            return f"has {len(value)} characters; shorten it to {self.most}"
        if value.isprintable():  # and so without a control character or half of another
            return None
        if CONTROL.search(value):
            return "holds a line break or control character; keep it to one line"
        return _unstorable(value)


@dataclass(frozen=True)
class FreeText(Field):
    """A text of any length up to 64 kB, of which both versions are kept when written apart."""

    kind = "text"
    is_text = True

    def limits(self) -> dict[str, Any]:
        """Return the most bytes of UTF-8."""
        return {"bytes": MOST_TEXT_BYTES}

    def _problem(self, value: Any) -> str | None:
        if not isinstance(value, str):
            return "must be text"
        unstorable = _unstorable(value)
        if unstorable:
            return unstorable
        size = len(value.encode())
        if size > MOST_TEXT_BYTES:
            return f"has {size} bytes; the limit is {MOST_TEXT_BYTES}: split it into two"
        return None


@dataclass(frozen=True)
class Choice(Field):
    """One of a few words."""

    kind = "choice"
    of: tuple[str, ...]

    def limits(self) -> dict[str, Any]:
        """Return the words."""
        return {"of": list(self.of)}

    def _problem(self, value: Any) -> str | None:
        return None if value in self.of else f"must be one of: {', '.join(self.of)}"


class Day(Field):
    """A calendar day, YYYY-MM-DD, without a time zone."""

    kind = "day"

    def _problem(self, value: Any) -> str | None:
        if isinstance(value, str) and DAY.fullmatch(value):
            try:
                date.fromisoformat(value)
            except ValueError:
                return f"there is no day {value}"
            return None
        return "must be a day such as 2026-03-14"


class Instant(Field):
    """A moment in UTC, YYYY-MM-DDTHH:MM:SS.mmmZ."""

    kind = "instant"

    def _problem(self, value: Any) -> str | None:
        if isinstance(value, str) and INSTANT.fullmatch(value):
            try:
                datetime.fromisoformat(value)
                real = value[11:13] != "24"  # Python 3.14 takes it for the next midnight
            except ValueError:
                real = False
            return None if real else f"there is no moment {value}"
        return "must be a moment in UTC such as 2026-03-14T09:30:00.000Z"


class Flag(Field):
    """Yes or no."""

    kind = "flag"

    def _problem(self, value: Any) -> str | None:
        return None if isinstance(value, bool) else "must be true or false"


@dataclass(frozen=True)
class Number(Field):
    """A number from 0 to `most`, in the unit that stands beside it in the record."""

    kind = "number"
    most: int

    def limits(self) -> dict[str, Any]:
        """Return the greatest."""
        return {"most": self.most}

    def _problem(self, value: Any) -> str | None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return "must be a number"
        # Not a number compares false with everything, so this refuses it too.
        return None if 0 <= value <= self.most else f"must be from 0 to {self.most}"


@dataclass(frozen=True)
class Ref(Field):
    """The id of a record of kind `to`. It may arrive before that does, so nothing enforces it."""

    kind = "ref"
    to: str

    def limits(self) -> dict[str, Any]:
        """Return the kind it points at."""
        return {"to": self.to}

    def _problem(self, value: Any) -> str | None:
        if isinstance(value, str) and UUID.fullmatch(value):
            return None
        return "must be the id of a record (a UUID in lower case)"


class WordList(Field):
    """A short list of short words, such as stations in an order of one's own."""

    kind = "list"

    def limits(self) -> dict[str, Any]:
        """Return the most words."""
        return {"most": MOST_IN_LIST}

    def _problem(self, value: Any) -> str | None:
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            return "must be a list of words"
        if len(value) > MOST_IN_LIST or any(len(item) > 40 for item in value):
            return f"may hold at most {MOST_IN_LIST} words of 40 characters"
        return next((found for found in map(_unstorable, value) if found), None)


def _unstorable(value: str) -> str | None:
    if "\x00" in value:
        return "holds a NUL character; remove it"
    if value.isascii():
        return None
    try:
        value.encode()
    except UnicodeEncodeError:
        return "holds half a character (a lone surrogate); type it again"
    return None
