"""What spreadsheets do to a table on its way through a CSV file, and how to read it all the same.

A table comes with any of three separators and several encodings, with blank rows and columns at
its end, and with apostrophes before what a spreadsheet would take for a formula or a number.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice

MOST_BYTES = 1024 * 1024
MOST_ROWS = 2000
MOST_COLUMNS = 200

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
# What begins a formula, in the wide forms of the signs too, with what may stand before it. Begun at
# the start of such a run alone and never given back, so a text is gone through once.
_FORMULA = re.compile(r"""(?<![\s'"])[\s'"]*+(?=[=+\-@＝＋－＠])""")
# Where a spreadsheet may begin a cell besides: it may be told any separator, and to mind no quotes.
_SEPARATING = ",;|"
_BREAKS = frozenset("\t\n\v\f\r\x1c\x1d\x1e\x85\u2028\u2029")
_BREAK = f"\r\n|[{''.join(_BREAKS)}]"
_AT_BREAK = re.compile(_BREAK)
_LED_BREAK = re.compile(f"({_BREAK})'")
# At the start of a cell a spreadsheet shows no apostrophe before a number, and drops some signs.
_TO_LEAD = re.compile(r"'*+[\t\r\n]|'++[0-9]")
_LED = re.compile(r"'++[\t\r\n0-9]")

_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
_FOREIGN = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")
_NAMED_SEPARATOR = re.compile(r"sep=([,;\t])\n", re.IGNORECASE)


class SheetError(Exception):
    """A file that cannot be read as a table; the message says what to do."""


@dataclass(frozen=True)
class Sheet:
    """A table: its headings, and its rows by the number that a spreadsheet shows beside them.

    Cells come without blanks around them, and without the apostrophe that keeps text as text.

    Rows with nothing in them are left out, and so are columns at the end without a heading and
    without content. A row may be shorter than the headings, or longer.
    """

    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    separator: str


def guarded(text: str) -> str:
    """Return `text` so that no spreadsheet takes any of it for a formula: apostrophes lead it.

    One stands where a cell may begin, if a formula could: at the start, behind a separator, behind
    a line break. One of somebody's own there gets another, so that `unguarded` gives back the text.
    """
    lead = "'" if _TO_LEAD.match(text) and not _FORMULA.match(text) else ""
    return lead + _FORMULA.sub(_with_leads, text)


def unguarded(cell: str) -> str:
    """Return what `guarded` was given; or what somebody kept as text with an apostrophe."""
    if "'" not in cell:
        return cell
    plain = _FORMULA.sub(_without_leads, cell)
    return plain[1:] if _LED.match(cell) and not _FORMULA.match(cell) else plain


def _with_leads(found: re.Match[str]) -> str:
    lead = "'" if _begins_a_cell(found) else ""
    return lead + (_AT_BREAK.sub(r"\g<0>'", found[0]) if _has_break(found[0]) else found[0])


def _without_leads(found: re.Match[str]) -> str:
    if not found[0]:
        return ""
    run = _LED_BREAK.sub(r"\1", found[0]) if _has_break(found[0]) else found[0]
    return run[1:] if found[0][:1] == "'" and _begins_a_cell(found) else run


def _has_break(run: str) -> bool:
    # Most runs have none, and this is sooner than a substitution that finds nothing.
    return not _BREAKS.isdisjoint(run)


def _begins_a_cell(found: re.Match[str]) -> bool:
    start = found.start()
    return start == 0 or found.string[start - 1] in _SEPARATING


def decoded(content: bytes) -> tuple[str, bool]:
    """Return the text of a file, and whether its encoding had to be guessed (Windows-1252).

    Line breaks are plain ones afterwards. Raises SheetError.
    """
    if content.startswith(_FOREIGN):
        raise SheetError(
            "This is a spreadsheet or a document, not CSV. Open it, choose Save as or "
            "Export, and pick CSV (UTF-8)."
        )
    named = next((name for mark, name in _MARKS.items() if content.startswith(mark)), "utf-8")
    text, is_guessed = _decode(content, named), False
    if text is None and named == "utf-8":
        text, is_guessed = _decode(content, "windows-1252"), True
    if text is None or "\0" in text:
        raise SheetError("The text of this file cannot be read. Save it as CSV (UTF-8).")
    return plain_breaks(text), is_guessed


def _decode(content: bytes, name: str) -> str | None:
    try:
        return content.decode(name)
    except UnicodeDecodeError:
        return None


def plain_breaks(text: str) -> str:
    """Return `text` with one kind of line break, whichever it came with."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def read(text: str, is_known: Callable[[str], bool], such_as: str = "") -> Sheet:
    """Read a table with plain line breaks, whose first row holds headings. Raises SheetError.

    `is_known` tells which headings mean something: by them the separator is told, for commas
    and semicolons are found in names and remarks as well. `such_as` names some of them.
    """
    named = _NAMED_SEPARATOR.match(text)
    text = text[named.end() :] if named else text
    if not text.strip(" \n" + "".join(SEPARATORS)):
        raise SheetError("The table is empty.")
    separator = named[1] if named else _separator(text, is_known)
    found = ((number, cells) for number, cells in _rows(text, separator) if any(cells))
    _, headings = next(found)
    rows = list(islice(found, MOST_ROWS))
    if not any(map(is_known, headings[:MOST_COLUMNS])):
        shown = ", ".join(cell for cell in headings if cell)[:100]
        raise SheetError(
            f"The first row must name the columns{such_as and f', such as {such_as}'}. "
            f"This one says: {shown}"
        )
    if not rows:
        raise SheetError("The table has headings but no rows.")
    width = max((place for place, cell in enumerate(headings, start=1) if cell), default=0)
    if width > MOST_COLUMNS:
        raise SheetError(f"It has {width} columns; {MOST_COLUMNS} is the most. Remove some.")
    if more := sum(1 for _ in found):
        raise SheetError(
            f"It has {MOST_ROWS + more} rows; {MOST_ROWS} is the most. Send it in parts."
        )
    return Sheet(headings[:width], tuple(rows), SEPARATORS[separator])


def _separator(text: str, is_known: Callable[[str], bool]) -> str:
    """Return the separator that makes most headings known, and then most columns."""

    def merit(sign: str) -> tuple[int, int]:
        try:
            first = next((cells for _, cells in _rows(text, sign) if any(cells)), ())
        except SheetError:
            return 0, 0
        return sum(map(is_known, first[:MOST_COLUMNS])), len(first)

    return max(SEPARATORS, key=merit)


def _content(cell: str) -> str:
    return unguarded(cell).strip()


def _rows(text: str, separator: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    # Strict, or a quote that nobody closes would swallow all rows behind it.
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    content = _content if "'" in text else str.strip
    number = 0
    try:
        for number, cells in enumerate(rows, start=1):
            yield number, tuple(map(content, cells))
    except csv.Error as error:
        raise SheetError(
            f'The quotes (") near row {number + 1} do not match ({error}). '
            'A quote inside a quoted cell is written twice, "like ""this""".'
        ) from error
