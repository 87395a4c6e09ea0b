"""JSON read piece by piece, each within bounds: what a file may be is not known before.

Python's own reader takes a text whole and builds all of it: a file of gigabytes fills the memory.
How deep it goes is what Python can read: former versions took values as deep as that into books.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any, NoReturn, TextIO

# The longest there is: a breed file of 256 kB whose every byte is written as \u00XX.
MOST_PIECE = 2 * 1024 * 1024  # characters
_BLANK = " \t\n\r"


class Pieces:
    """A JSON text, from which one takes what comes next. Raises ValueError where it is wrong."""

    def __init__(self, file: TextIO) -> None:
        """Begin at the start of `file`."""
        self._file = file
        self._text = ""
        self._at = 0
        self._passed = 0
        self.length = 0  # of the value that was taken last, in characters

    def next(self) -> str:
        """Return the first character of what comes next, "" at the end."""
        while True:
            if len(self._text) - self._at < MOST_PIECE:
                self._fill()
            while self._at < len(self._text) and self._text[self._at] in _BLANK:
                self._at += 1
            if self._at < len(self._text) or not self._fill():
                return self._text[self._at : self._at + 1]

    def value(self) -> Any:
        """Return the value that comes next, whole."""
        self.next()
        try:
            found, end = _DECODER.raw_decode(self._text, self._at)
        except json.JSONDecodeError as error:
            self._fail(error.msg, error.pos)
        except RecursionError:
            self._fail("nested too deep", self._at)
        if end - self._at > MOST_PIECE:
            self._fail(f"longer than {MOST_PIECE:,} characters", self._at)
        self.length, self._at = end - self._at, end
        return found

    def members(self) -> Iterator[str]:
        """Give the keys of the object that comes next; before the next one, take its value."""
        for _ in self._parts("{", "}"):
            if self.next() != '"':
                self._fail("Expecting a name in double quotes", self._at)
            key: str = self.value()
            self._take(":")
            yield key

    def elements(self) -> Iterator[Any]:
        """Give the values of the list that comes next."""
        for _ in self._parts("[", "]"):
            yield self.value()

    def end(self) -> None:
        """See that nothing comes next."""
        if self.next():
            self._fail("Extra data", self._at)

    def _parts(self, opens: str, closes: str) -> Iterator[None]:
        self._take(opens)
        while self.next() != closes:
            yield
            if self.next() == closes:
                break
            self._take(",")
            if self.next() == closes:
                self._fail("Expecting a value", self._at)
        self._take(closes)

    def _take(self, sign: str) -> None:
        if self.next() != sign:
            self._fail(f"Expecting {sign!r}", self._at)
        self._at += 1

    def _fill(self) -> bool:
        more = self._file.read(2 * MOST_PIECE)
        self._passed += self._at
        self._text, self._at = self._text[self._at :] + more, 0
        return bool(more)

    def _fail(self, reason: str, at: int) -> NoReturn:
        raise ValueError(f"{reason}: character {self._passed + at + 1:,}")


def _refuse(word: str) -> NoReturn:
    raise ValueError(f"{word} is not JSON that can be saved")


def _finite(digits: str) -> float:
    number = float(digits)
    if math.isinf(number):
        _refuse(digits[:20])
    return number


_DECODER = json.JSONDecoder(parse_constant=_refuse, parse_float=_finite)


def parsed(text: str) -> Any:
    """Return what a JSON text of one piece says. Raises ValueError."""
    if len(text) > MOST_PIECE:
        raise ValueError(f"longer than {MOST_PIECE:,} characters")
    try:
        return _DECODER.decode(text)
    except RecursionError:
        raise ValueError("nested too deep") from None
