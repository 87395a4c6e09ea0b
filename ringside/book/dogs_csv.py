"""Dogs from a table: what each row would do to the book, and doing it.

The plan is pure: the same table, book and day give the same plan, and its `digest` tells whether
what is about to be written is what a person was shown. An empty cell never clears a value.
"""

from __future__ import annotations

import difflib
import hashlib
import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from typing import Any, Literal

import uuid6

from ringside.book import sheets
from ringside.book.changes import as_text
from ringside.book.kinds import KINDS
from ringside.book.kinds.fields import UUID
from ringside.book.sheets import Sheet, SheetError
from ringside.book.store import Book
from ringside.domain import microchip

Dog = dict[str, Any]
Order = Literal["", "day", "month"]
Action = Literal["add", "change", "same", "refused"]

# The phone's form takes no earlier birthday either (views/dogform.js).
OLDEST = "1990-01-01"


class CellError(ValueError):
    """A cell that cannot be kept; the message says why and what to do."""


class OrderError(CellError):
    """A date that can be read in two ways."""


@dataclass(frozen=True)
class Reading:
    """What the cells are read by: breeds as {id: name}, the order of 03/04/2024, and the day."""

    breeds: Mapping[str, str]
    today: date
    order: Order = ""


def folded(words: str) -> str:
    """Return `words` without accents, signs and capitals: what two spellings of one name share."""
    plain = unicodedata.normalize("NFKD", words.casefold())
    kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(re.findall(r"[^\W_]+", kept))


# --- cells


def _words(cell: str, _: Reading) -> str:
    return cell


def _breed(cell: str, reading: Reading) -> str:
    """Return the breed's id, or the breed as it was written: the app takes any."""
    if cell in reading.breeds:
        return cell
    wanted = _bag(cell)
    found = {
        key
        for key, name in reading.breeds.items()
        if wanted in (_bag(key), _bag(name), _bag(re.sub(r"\(.*?\)", "", name)))
    }
    return found.pop() if len(found) == 1 else cell


@lru_cache(maxsize=1024)
def _bag(words: str) -> tuple[str, ...]:
    """Return the words whatever their order: "Retriever (Labrador)" is a Labrador Retriever."""
    return tuple(sorted(folded(words).split()))


def _one_of(**choices: str) -> Callable[[str, Reading], str]:
    known = {folded(way): key for key, ways in choices.items() for way in (key, *ways.split("|"))}
    known.pop("", None)

    def read(cell: str, _: Reading) -> str:
        if folded(cell) in known:
            return known[folded(cell)]
        raise CellError(f"“{cell}” is none of: {', '.join(choices)}.")

    return read


def _flag(cell: str, reading: Reading) -> bool:
    return _FLAG(cell, reading) == "yes"


_FLAG = _one_of(yes="y|true|1|x|neutered|spayed|castrated", no="n|false|0|entire|intact")


def _country(cell: str, _: Reading) -> str:
    if re.fullmatch("[A-Za-z]{2}", cell):
        return cell.upper()
    raise CellError(f"“{cell}” is no country's code; write its two letters, such as GB.")


NUMBER_CUT = re.compile(r"[0-9](?:[.,][0-9]+)?E\+?[0-9]+|[0-9]{9,}[.,]0+", re.IGNORECASE)


def _number(cell: str, _: Reading) -> str:
    if NUMBER_CUT.fullmatch(cell):
        raise CellError(
            f"A spreadsheet took it for a quantity and cut it to {cell}. Format the column as "
            "text, type the number anew, with spaces if you like, and save again."
        )
    return cell


_MIDNIGHT = re.compile(r"[T ]+0{1,2}:00(?::00(?:\.0+)?)?Z?$")
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.]?)([0-9]{1,2})\2([0-9]{1,2})")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4})")
_DAY_MONTH = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[-/. ]*([a-z]{3,9})[-/., ]*([0-9]{4})")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.? *([0-9]{1,2})(?:st|nd|rd|th)?,? +([0-9]{4})")
_SHORT_YEAR = re.compile(r"[0-9]{1,2}[-/. ]+(?:[0-9]{1,2}|[a-z]{3,9})[-/., ]+[0-9]{2}")
_SERIAL = re.compile(r"[0-9]{5}(?:[.,][0-9]+)?")
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_WRITE = "Write it as year, month and day, such as 2024-03-14."


def _day(cell: str, reading: Reading) -> str:
    """Return a day as YYYY-MM-DD. Raises OrderError if it is open which part is the month."""
    year, month, day = _parts(cell, reading.order)
    try:
        found = date(year, month, day)
    except ValueError:
        raise CellError(f"There is no day {cell}. {_WRITE}") from None
    if found > reading.today:
        raise CellError(f"{in_words(found.isoformat())} is still to come. Look at the year.")
    if found.isoformat() < OLDEST:
        raise CellError(
            f"{in_words(found.isoformat())} is longer ago than a dog lives. Look at the year."
        )
    return found.isoformat()


def _parts(cell: str, order: Order) -> tuple[int, int, int]:
    """Return year, month and day as they were written."""
    bare = re.sub(r"\s*([-/.])\s*", r"\1", _MIDNIGHT.sub("", cell)).lower()
    if (found := _YEAR_FIRST.fullmatch(bare)) and (found[2] or len(bare) == 8):
        return int(found[1]), int(found[3]), int(found[4])
    if found := _YEAR_LAST.fullmatch(bare):
        return int(found[4]), *_in_order(cell, int(found[1]), int(found[3]), order)
    if found := _DAY_MONTH.fullmatch(bare):
        return int(found[3]), _month(found[2], cell), int(found[1])
    if found := _MONTH_DAY.fullmatch(bare):
        return int(found[3]), _month(found[1], cell), int(found[2])
    if _SHORT_YEAR.fullmatch(bare):
        raise CellError(f"{cell} does not tell the century. {_WRITE}")
    if _SERIAL.fullmatch(bare):
        raise CellError(
            f"{cell} is how a spreadsheet counts days, not a date. Format the column as a date, "
            "such as 2024-03-14, and save again."
        )
    raise CellError(f"“{cell}” cannot be read as a date. {_WRITE}")


def _in_order(cell: str, one: int, other: int, order: Order) -> tuple[int, int]:
    """Return month and day of a date written with numbers, the year last."""
    fits: list[Order] = []
    if other <= 12:
        fits.append("day")
    if one <= 12:
        fits.append("month")
    if order and fits and order not in fits:
        raise CellError(
            f"{cell} does not have its {order} first, as you said of this file. {_WRITE}"
        )
    if not order and len(fits) == 2 and one != other:
        raise OrderError(f"{cell} can be read in two ways: say above what comes first.")
    is_month_first = (order or next(iter(fits), "day")) == "month"
    return (one, other) if is_month_first else (other, one)


def _month(word: str, cell: str) -> int:
    for number, name in enumerate(_MONTHS, start=1):
        if name.startswith(word):
            return number
    raise CellError(f"There is no month “{word}” in {cell}. {_WRITE}")


def in_words(day: str) -> str:
    """Return a day (YYYY-MM-DD) so that nobody mistakes its month: 3 April 2024."""
    year, month, number = map(int, day.split("-"))
    return f"{number} {_MONTHS[month - 1].capitalize()} {year}"


# --- columns


@dataclass(frozen=True)
class Column:
    """A field of a dog as it stands in a table: its heading, what it takes, other headings."""

    field: str
    title: str
    takes: str
    example: str
    also: tuple[str, ...]
    read: Callable[[str, Reading], Any] = _words

    @property
    def headings(self) -> set[str]:
        """All headings it is known by, folded."""
        return {folded(words) for words in (self.field, self.title, *self.also)}


COLUMNS = (
    Column(
        "name", "Call name", "The name you call the dog by. A new dog needs it.",
        "Example Biscuit", ("Name", "Dog's name", "Dog name", "Pet name", "House name"),
    ),
    Column(
        "pedigree", "Registered name", "As on the pedigree.", "Nowhere Example Biscuit",
        ("Pedigree name", "Full name", "Official name", "Show name", "Reg name"),
    ),
    Column(
        "breed", "Breed", "Its name, such as Border Terrier. One that is not in our library is "
        "kept as you wrote it and gets the general card. A new dog needs it.",
        "Whippet", ("Breed name",), _breed,
    ),
    Column(
        "sex", "Sex", "Dog or bitch; male, female, m and f will do. A new dog needs it.", "bitch",
        ("Gender",), _one_of(dog="male|m|d", bitch="female|f|b"),
    ),
    Column(
        "born", "Date of birth", "2024-03-14 or 14 March 2024. If all you have is 03/04/2024, we "
        "ask once what comes first. A new dog needs it.", "2024-03-14",
        ("DOB", "D.O.B.", "Birth date", "Birthdate", "Birthday", "Born on", "Whelped",
         "Whelped on", "Date whelped", "Whelping date"), _day,
    ),
    Column(
        "microchip", "Microchip", "Its digits. With spaces between them, or in a column formatted "
        "as text, no spreadsheet will cut them.", "999 000 000 012 345",
        ("Chip", "Microchip number", "Microchip no", "Chip number", "Chip no", "Chip ID",
         "Microchip ID", "Transponder"), _number,
    ),
    Column(
        "registration", "Registration number", "As the registry writes it.", "EXAMPLE 0001",
        ("Registration no", "Reg no", "Reg number", "Reg", "Stud book number", "Studbook number"),
        _number,
    ),
    Column(
        "neutered", "Neutered", "Yes or no.", "no",
        ("Neutered or spayed", "Neutered/spayed", "Spayed", "Spayed/neutered", "Castrated",
         "Altered", "Desexed"), _flag,
    ),
    Column(
        "surface", "Examined on", "Table, ground or ramp; empty for what is usual in the breed.",
        "", ("Exam surface",), _one_of(table="", ground="floor", ramp=""),
    ),
    Column(
        "body", "Standard to read", "FCI, AKC, KC, CKC or DA.", "KC", (),
        _one_of(
            FCI="Fédération Cynologique Internationale", AKC="American Kennel Club",
            KC="The Kennel Club", CKC="Canadian Kennel Club", DA="Dogs Australia",
        ),
    ),
    Column(
        "short_faced", "Short face", "Yes or no; for a breed that is not in our library.", "",
        ("Brachycephalic",), _flag,
    ),
    Column(
        "testes", "Testes felt", "Both, one or none.", "", ("Testicles",),
        _one_of(both="both down|2", one="one down|1", none="none felt|0"),
    ),
    Column("testes_on", "Testes felt on", "The date.", "", ("Felt on",), _day),
    Column(
        "born_in", "Country of birth", "Two letters, such as GB.", "", ("Birth country",), _country
    ),
)  # fmt: skip
BY_FIELD = {column.field: column for column in COLUMNS}
BY_HEADING = {heading: column.field for column in COLUMNS for heading in column.headings}
ID = "id"
BY_HEADING |= {ID: ID, "ringside id": ID}
NEEDED = [column for column in COLUMNS if KINDS["dog"].fields[column.field].required]


def template() -> str:
    """Return a table to begin one's own from: the headings, and one invented dog."""
    rows = ([column.title for column in COLUMNS], [column.example for column in COLUMNS])
    return "".join(",".join(row) + "\r\n" for row in rows)


def known_heading(heading: str) -> bool:
    """Whether a column under this heading is taken in."""
    return folded(heading) in BY_HEADING


# --- the plan


@dataclass(frozen=True)
class Line:
    """What one row does: to which dog, found `by` what; `edits` are (field, old, new)."""

    number: int
    name: str
    action: Action = "add"
    record: str = ""
    by: str = ""
    edits: tuple[tuple[str, Any, Any], ...] = ()
    remarks: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()

    @property
    def is_to_do(self) -> bool:
        """Whether this row writes anything."""
        return self.action in ("add", "change")

    def refused(self, *problems: str) -> Line:
        """Return this line as one that does nothing, and why."""
        return replace(self, action="refused", problems=(*self.problems, *problems))


@dataclass(frozen=True)
class Plan:
    """What a table does to the book, row by row.

    `left_out` are headings that mean nothing here. `asks_order` tells that it holds dates such
    as 03/04/2024 and nobody said how to read them; `hint` is (row, date, order) of a date in it
    that can be read in one way only.
    """

    lines: tuple[Line, ...]
    left_out: tuple[str, ...]
    separator: str
    order: Order
    asks_order: bool
    hint: tuple[int, str, Order] | None

    def count(self, action: Action) -> int:
        """Return how many rows do this."""
        return sum(line.action == action for line in self.lines)

    @property
    def digest(self) -> str:
        """A hash of everything the rows do."""
        about = [
            [line.number, line.action, line.record, line.edits, line.problems]
            for line in self.lines
        ]
        return hashlib.sha256(as_text(about).encode()).hexdigest()


def plan(text: str, dogs: Mapping[str, Dog], reading: Reading) -> Plan:
    """Plan what the table in `text` does to `dogs`, the removed ones among them.

    Raises SheetError if it cannot be read at all.
    """
    sheet = sheets.read(sheets.plain_breaks(text), known_heading)
    places, left_out = _places(sheet)
    kennel = Kennel(dogs, reading)
    read = [_read(number, cells, sheet, places, reading) for number, cells in sheet.rows]
    is_open = any(row.is_open for row in read)
    lines = _without_doubles([kennel.line(row) for row in read])
    hint = next((row.hint for row in read if row.hint), None) if is_open else None
    return Plan(lines, left_out, sheet.separator, reading.order, is_open, hint)


def _places(sheet: Sheet) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return where each field stands, and what has no place in a dog."""
    found: dict[str, int] = {}
    left_out: list[str] = []
    for place, heading in enumerate(sheet.headings):
        name = BY_HEADING.get(folded(heading))
        values = [cells[place] for _, cells in sheet.rows if place < len(cells) and cells[place]]
        # A number of somebody's own is called an id as well.
        is_foreign = name == ID and values and not any(map(_is_id, values))
        if name is None or is_foreign:
            if heading or values:
                left_out.append(heading or f"column {place + 1}, which has no heading")
        elif name in found:
            raise SheetError(
                f"Two columns are for the same: {sheet.headings[found[name]]} and {heading}. "
                + _title(name)
                + " can stand in one only: rename the other, or remove it."
            )
        else:
            found[name] = place
    return found, tuple(left_out)


def _title(name: str) -> str:
    return BY_FIELD[name].title if name in BY_FIELD else "Ringside's own id"


def _is_id(cell: str) -> bool:
    return bool(UUID.fullmatch(cell.lower()))


@dataclass
class _Row:
    """A row as it was read: the values it has, and what is wrong with it."""

    number: int
    id: str = ""
    values: Dog = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    is_open: bool = False
    hint: tuple[int, str, Order] | None = None


def _read(
    number: int, cells: tuple[str, ...], sheet: Sheet, places: dict[str, int], reading: Reading
) -> _Row:
    row = _Row(number)
    if any(cells[len(sheet.headings) :]):
        row.problems.append(
            f"It has {len(cells)} cells under {len(sheet.headings)} headings. "
            'A comma in a name must stand between quotes, "like, this".'
        )
        return row
    for name, place in places.items():
        cell = cells[place] if place < len(cells) else ""
        if cell and name == ID:
            _read_id(row, cell)
        elif cell:
            _read_cell(row, BY_FIELD[name], cell, reading)
    return row


def _read_id(row: _Row, cell: str) -> None:
    if _is_id(cell):
        row.id = cell.lower()
    else:
        row.problems.append(
            f"“{cell}” is not an id of Ringside's. Empty the cell; the dog is found by its numbers "
            "or its names then."
        )


def _read_cell(row: _Row, column: Column, cell: str, reading: Reading) -> None:
    title = column.title
    try:
        value = column.read(cell, reading)
    except CellError as error:
        row.problems.append(f"{title}: {error}")
        row.is_open = row.is_open or isinstance(error, OrderError)
        return
    problem = KINDS["dog"].fields[column.field].problem(value)
    if problem:
        row.problems.append(f"{title}: it {problem}.")
        return
    row.values[column.field] = value
    if column.read is _day and (found := _YEAR_LAST.fullmatch(cell)) and found[1] != found[3]:
        row.hint = (row.number, cell, "day" if int(found[1]) > 12 else "month")


class Kennel:
    """The dogs that are there, to be found by what a row says of a dog."""

    def __init__(self, dogs: Mapping[str, Dog], reading: Reading) -> None:
        """Take the dogs by id, the removed ones among them."""
        self.reading = reading
        self.dogs = {
            key: {name: _tidy(name, value, reading) for name, value in dog.items()}
            for key, dog in dogs.items()
        }
        self.shown = dogs
        self.by_key: dict[tuple[str, str], list[str]] = defaultdict(list)
        for key, dog in self.dogs.items():
            for known in _keys(dog):
                self.by_key[known].append(key)

    def line(self, row: _Row) -> Line:
        """Return what a row does."""
        found, by = self._find(row)
        name = row.values.get("name") or (self._name(found[0]) if len(found) == 1 else "")
        start = Line(row.number, name or row.values.get("pedigree", ""), by=by)
        if row.problems:
            return start.refused(*row.problems)
        if len(found) > 1:
            names = ", ".join(self._name(key) for key in found[:4])
            return start.refused(
                f"{len(found)} dogs of the book have this {by}: {names}. Mend that in the app, "
                "or name the dog by Ringside's id, which an export has."
            )
        if not found:
            return self._added(start, row)
        if self.dogs[found[0]].get("deleted"):
            return start.refused(
                f"The book's dog with this {by} was removed. Bring it back in the app "
                "(Settings, Removed), or take the row out."
            )
        return self._changed(replace(start, record=found[0]), row)

    def _find(self, row: _Row) -> tuple[list[str], str]:
        """Return the dogs that a row means, and by what; those that are removed come last."""
        if row.id in self.dogs:
            return [row.id], "id"
        for is_removed in (False, True):
            for known in _keys(row.values):
                found = [
                    key
                    for key in self.by_key.get(known, ())
                    if bool(self.dogs[key].get("deleted")) is is_removed
                    and (known[0] != BY_CALL_NAME or not _differ(row.values, self.dogs[key]))
                ]
                if found:
                    return found, known[0]
        return [], ""

    def _name(self, key: str) -> str:
        return self.dogs[key].get("name") or self.dogs[key].get("pedigree") or "a dog without name"

    def _added(self, start: Line, row: _Row) -> Line:
        missing = [column.title for column in NEEDED if column.field not in row.values]
        line = replace(start, record=row.id, edits=_in_columns(row.values, {}))
        if missing:
            return replace(line, edits=()).refused(
                f"The book has no such dog, and a new one needs: {', '.join(missing)}."
            )
        return self._looked_at(line, row.values)

    def _changed(self, start: Line, row: _Row) -> Line:
        was = self.dogs[start.record]
        new = {
            name: value
            for name, value in row.values.items()
            if _tidy(name, value, self.reading) != was.get(name)
        }
        if not new:
            return replace(start, action="same")
        line = replace(start, action="change", edits=_in_columns(new, self.shown[start.record]))
        taken = [
            f"{self._name(other)} has this {known[0]} already; one of the two is wrong."
            for known in _keys({**was, **new})
            if known not in _keys(was) and known[0] != BY_CALL_NAME
            for other in self.by_key.get(known, ())
            if not self.dogs[other].get("deleted")
        ]
        return line.refused(*taken) if taken else self._looked_at(line, {**was, **new})

    def _looked_at(self, line: Line, dog: Dog) -> Line:
        """Return the line with what a person should look at, or refused for what cannot be."""
        new = {name: value for name, _, value in line.edits}
        if dog.get("sex") == "bitch" and {"testes", "testes_on"} & new.keys():
            return line.refused(
                "A bitch has no testes to feel: empty those cells, or mend the sex."
            )
        remarks = []
        if "breed" in new and new["breed"] not in self.reading.breeds:
            remarks.append(_unknown_breed(new["breed"], self.reading.breeds))
        if "microchip" in new:
            chip = microchip.check(new["microchip"])
            if not chip.fine:
                remarks.append(f"Microchip: {chip.message} It is kept as written.")
        return replace(line, remarks=tuple(remarks))


def _unknown_breed(written: str, breeds: Mapping[str, str]) -> str:
    near = difflib.get_close_matches(written.title(), breeds.values(), n=2, cutoff=0.5)
    mean = f" Did you mean {' or '.join(near)}?" if near else ""
    return f"{written} is not in our library; the dog gets the general card.{mean}"


def _tidy(name: str, value: Any, reading: Reading) -> Any:
    """Return a value in the form in which two spellings of the same are equal."""
    if not isinstance(value, str):
        return value
    if name == "breed":
        return _breed(value.strip(), reading)
    if name == "microchip":
        return _digits(value)
    plain = unicodedata.normalize("NFC", value.strip())
    return plain.upper() if name == "born_in" else plain


def _digits(chip: str) -> str:
    return microchip.check(chip).digits


def _in_columns(values: Dog, was: Dog) -> tuple[tuple[str, Any, Any], ...]:
    return tuple((name, was.get(name), values[name]) for name in BY_FIELD if name in values)


BY_CALL_NAME = "call name and date of birth"
# What must not differ between dogs that only the call name and the birthday hold together.
_TELLING = ("microchip", "registration", "pedigree", "breed", "sex")


def _keys(dog: Dog) -> list[tuple[str, str]]:
    """Return what a dog is known by, the surest first: (what, in a form that can be compared)."""
    born = dog.get("born") or ""
    registered, called = folded(dog.get("pedigree") or ""), folded(dog.get("name") or "")
    keys = [
        ("microchip", _digits(dog.get("microchip") or "")),
        ("registration number", folded(dog.get("registration") or "").replace(" ", "")),
        ("registered name and date of birth", registered and born and f"{registered} {born}"),
        (BY_CALL_NAME, called and born and f"{called} {born}"),
    ]
    return [(what, key) for what, key in keys if key]


def _differ(one: Dog, other: Dog) -> bool:
    return any(
        one.get(name)
        and other.get(name)
        and folded(one[name]).replace(" ", "") != folded(other[name]).replace(" ", "")
        for name in _TELLING
    )


def _without_doubles(lines: list[Line]) -> tuple[Line, ...]:
    """Refuse rows that are for one and the same dog, or give two dogs one number or name."""
    claims: dict[tuple[str, str], list[int]] = defaultdict(list)
    for place, line in enumerate(lines):
        if line.action != "refused":
            for claim in _claims(line):
                claims[claim].append(place)
    found: dict[int, str] = {}
    for (what, _), places in claims.items():
        # Dogs that come with ids of their own are told apart by them.
        has_ids = all(lines[place].action == "add" and lines[place].record for place in places)
        if len(places) > 1 and (what == ID or not has_ids):
            rows = ", ".join(str(lines[place].number) for place in places)
            words = "are for the same dog" if what == ID else f"have the same {what}"
            for place in places:
                found.setdefault(place, f"Rows {rows} {words}. Keep one of them.")
    return tuple(
        line.refused(found[place]) if place in found else line for place, line in enumerate(lines)
    )


def _claims(line: Line) -> Iterable[tuple[str, str]]:
    if line.record:
        yield ID, line.record
    keys = _keys({name: new for name, _, new in line.edits})
    sure = [known for known in keys if known[0] != BY_CALL_NAME]
    yield from sure if sure or line.action != "add" else keys


# --- writing


@dataclass(frozen=True)
class Done:
    """What an import did: the new and the changed dogs as {id: name}.

    `left` counts the other rows by what they are: "same", "refused", or unticked: "add", "change".
    """

    added: dict[str, str]
    changed: dict[str, str]
    left: Counter[str]


def write(
    book: Book, text: str, reading: Reading, digest: str, rows: set[int], now: int
) -> Done | Plan:
    """Do what the rows numbered in `rows` do, all of it or nothing; raises SheetError.

    If that is no longer what `digest` stands for nothing is written, and the new plan returned.
    """
    with book.writing():
        made = plan(text, book.records("dog", with_deleted=True), reading)
        if made.digest != digest:
            return made
        chosen = [line for line in made.lines if line.is_to_do and line.number in rows]
        dogs = {line.record or str(uuid6.uuid7()): line for line in chosen}
        values = {key: {name: new for name, _, new in line.edits} for key, line in dogs.items()}
        receipt = book.revise("dog", values, now)
        if receipt.refused:
            raise ValueError(f"The book refused what was checked for it: {receipt.refused}")
    done = {line.number for line in chosen}
    return Done(
        {key: line.name for key, line in dogs.items() if line.action == "add"},
        {key: line.name for key, line in dogs.items() if line.action == "change"},
        Counter(line.action for line in made.lines if line.number not in done),
    )
