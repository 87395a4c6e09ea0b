"""A season from a table: which show and which entry of the book a row means, and what it adds to
them or changes. A show that is there is not changed; a dog that is not there is not added.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import uuid6

from ringside.book.ids import id_of
from ringside.book.store import Book
from ringside.book.tables.cells import Reading, folded
from ringside.book.tables.columns import ID
from ringside.book.tables.importing import TableImport, Values
from ringside.book.tables.plan import Action, Known, Line
from ringside.book.tables.rows import Row
from ringside.book.tables.season_columns import SEASON_COLUMNS
from ringside.domain.bounds import show_problems, shown_problem
from ringside.domain.days import is_on
from ringside.domain.results import judge_key

Data = dict[str, Any]
KINDS = ("dog", "show", "entry", "result")
MOST_NAMED = 4


class _Refused(Exception):
    """A row that cannot be used; the message says what to do."""


@dataclass(frozen=True)
class SeasonLine(Line):
    """A row of a season: which `dog` at which `show`, its id or how a new one is called here.
    `opens` are the values of that new show, `begins` those of a new result, `day` the day on which
    the dog is shown."""

    dog: str = ""
    show: str = ""
    day: str = ""
    opens: tuple[tuple[str, Any], ...] = ()
    begins: tuple[tuple[str, Any], ...] = ()

    def of(self, kind: str) -> Data:
        """Return what it writes to its record of a kind."""
        mark = f"{kind}."
        return {
            name.removeprefix(mark): new for name, _, new in self.edits if name.startswith(mark)
        }


class Season:
    """The dogs, shows, entries and results that are there, to be found by what a row says."""

    def __init__(self, known: Values, reading: Reading) -> None:
        """Take {kind: {id: values}}, the removed ones among them. `reading` has the classes of
        each body by "klass FCI"."""
        self.reading = reading
        self.all: Mapping[str, Mapping[str, Data]] = known
        self.dogs: dict[str, list[str]] = defaultdict(list)
        for key, dog in known["dog"].items():
            for name in {folded(dog.get("name") or ""), folded(dog.get("pedigree") or "")} - {""}:
                if not dog.get("deleted"):
                    self.dogs[name].append(key)
        self.shows: dict[str, list[str]] = defaultdict(list)
        for key, show in known["show"].items():
            self.shows[folded(show.get("name") or "")].append(key)
        self.entries: dict[tuple[str, str], list[str]] = defaultdict(list)
        for key, entry in known["entry"].items():
            self.entries[entry.get("dog") or "", entry.get("show") or ""].append(key)
        self.results = {
            one["entry"]: (key, one) for key, one in known["result"].items() if one.get("entry")
        }
        self.new: dict[str, tuple[int, Data]] = {}

    def line(self, row: Row) -> SeasonLine:
        """Return what a row does."""
        said = [row.values.get(name) for name in ("dog", "show.name")]
        start = SeasonLine(row.number, ", ".join(filter(None, said)))
        if row.problems:
            return _as_refused(start, row.problems)
        try:
            return self._planned(start, row)
        except _Refused as error:
            return _as_refused(start, [str(error)])

    def claims(self, line: Line) -> Iterable[Known]:
        """Return what no other row may have: the entry."""
        if isinstance(line, SeasonLine) and line.dog:
            yield ID, f"{line.dog} {line.show} {line.day}"

    def _planned(self, start: SeasonLine, row: Row) -> SeasonLine:
        held = self.all["entry"].get(row.id, {})
        name = row.values.get("dog")
        dog = held.get("dog") or (self._dog(name) if name else "")
        show, edits, remarks = self._show(row, held)
        at = self.new[show][1] if show in self.new else self.all["show"].get(show, {})
        day = row.values.get("entry.day") or held.get("day") or at.get("day") or ""
        line = replace(start, dog=dog, show=show, day=day, remarks=tuple(remarks))
        if show in self.new:
            line = replace(line, opens=tuple(at.items()))
        if not dog:
            if any(field.startswith(("entry.", "result.")) and field != "entry.day"
                   for field in row.values):  # fmt: skip
                raise _Refused("Name the dog, or empty what is about its entry and result.")
            return replace(
                line, action="add" if edits else "same", edits=tuple(edits), by="name and day"
            )
        entry = row.id if held else self._entry(dog, show, day)
        return self._entered(replace(line, record=entry, by="dog, show and day"), row, edits, at)

    def _dog(self, name: str) -> str:
        found = self.dogs.get(folded(name), [])
        if not found:
            raise _Refused(f"The book has no dog called {name}. Add it first, or correct the name.")
        if len(found) > 1:
            raise _Refused(f"{len(found)} dogs are called {name}. Write the registered name.")
        return found[0]

    def _show(self, row: Row, held: Data) -> tuple[str, list[tuple[str, Any, Any]], list[str]]:
        """Return the show's id, what the row adds as a new show, and what to look at."""
        said = {name[5:]: one for name, one in row.values.items() if name.startswith("show.")}
        shown = row.values.get("entry.day") or said.get("day") or ""
        if held.get("show"):
            return held["show"], [], self._differs(said, self.all["show"].get(held["show"], {}))
        if not said.get("name"):
            raise _Refused("Name the show.")
        _check_show(said.get("day") or shown, said.get("until"), self.reading.today)
        name = folded(said["name"])
        live = [key for key in self.shows[name] if not self.all["show"][key].get("deleted")]
        found = [key for key in live if _is_on(self.all["show"][key], shown)]
        if len(found) > 1:
            raise _Refused(f"{len(found)} shows are called {said['name']}. Write the day as well.")
        if found:
            return found[0], [], self._differs(said, self.all["show"][found[0]])
        gone = [key for key in self.shows[name] if key not in live]
        if any(_is_on(self.all["show"][key], shown) for key in gone):
            raise _Refused(
                "The book's show of this name and day was removed. Bring it back in the app "
                "(Settings, Removed), or delete the row."
            )
        for key, (number, values) in self.new.items():
            if folded(values["name"]) == name and _is_on(values, shown):
                return key, [], [f"Its show is new, as that of row {number}; it is added once."]
        return self._opened(row.number, said, shown)

    def _opened(
        self, number: int, said: Data, shown: str
    ) -> tuple[str, list[tuple[str, Any, Any]], list[str]]:
        values = {**said, "day": said.get("day") or shown}
        titles = {"day": "Day", "body": "Rules of"}
        missing = [title for name, title in titles.items() if not values.get(name)]
        if missing:
            raise _Refused(
                f"The book has no such show, and a new show needs: {', '.join(missing)}."
            )
        _check_shown(shown, values)
        key = f"new {len(self.new) + 1}"
        self.new[key] = number, values
        return key, [(f"show.{name}", None, value) for name, value in values.items()], []

    def _differs(self, said: Data, show: Data) -> list[str]:
        """Say which cells about a show are not what the book has: they change nothing."""
        names = [
            SEASON_COLUMNS.by_field[f"show.{name}"].title
            for name, value in said.items()
            if name != "name" and value != show.get(name)
        ]
        told = ", ".join(names)
        return [f"The book has other words for: {told}. Change a show in the app."] if names else []

    def _entry(self, dog: str, show: str, day: str) -> str:
        """Return the id of the entry of a dog at a show on a day, "" for a new one."""
        first = self.all["show"].get(show, {}).get("day") or ""
        found = [
            key
            for key in self.entries.get((dog, show), [])
            if (self.all["entry"][key].get("day") or first) == day
        ]
        live = [key for key in found if not self.all["entry"][key].get("deleted")]
        if len(live) > 1:
            raise _Refused(
                f"The dog has {len(live)} entries at this show on this day. Name the one by "
                "Ringside's ID, which an export has."
            )
        if found and not live:
            raise _Refused(
                "This entry was removed. Bring it back in the app (Settings, Removed), or delete "
                "the row."
            )
        return live[0] if live else ""

    def _entered(
        self, line: SeasonLine, row: Row, edits: list[tuple[str, Any, Any]], at: Data
    ) -> SeasonLine:
        was = self.all["entry"].get(line.record, {})
        if was.get("deleted"):
            raise _Refused("This entry was removed. Bring it back in the app (Settings, Removed).")
        _, result = self.results.get(line.record, ("", {}))
        values = dict(row.values)
        if klass := values.get("entry.klass"):
            values["entry.klass"] = self._class(klass, at)
        if values.get("entry.day") == (was.get("day") or at.get("day")):
            del values["entry.day"]
        _check_shown(values.get("entry.day"), at)
        now = {"entry": was, "result": result}
        for name, value in values.items():
            kind, _, field = name.partition(".")
            if kind in now and value != now[kind].get(field):
                edits.append((name, now[kind].get(field), value))
        has_result = any(name.startswith("result.") for name, *_ in edits)
        if has_result and result.get("deleted"):
            raise _Refused("Its result was removed. Bring it back in the app (Settings, Removed).")
        action: Action = "same" if line.record else "add"
        return replace(
            line,
            action="change" if line.record and edits else action,
            edits=tuple(edits),
            begins=() if result else _begun({**was, **_own(edits)}),
        )

    def _class(self, written: str, show: Data) -> str:
        of = f"klass {show.get('body')}"
        found = self.reading.meant(of, written) if of in self.reading.names else frozenset()
        return next(iter(found)) if len(found) == 1 else written


def _as_refused(line: SeasonLine, problems: list[str]) -> SeasonLine:
    return replace(line, action="refused", problems=tuple(problems))


def _check_show(day: str, until: str | None, today: date) -> None:
    """Refuse days that no show has."""
    for name, problem in show_problems(_as_date(day), _as_date(until), today).items():
        raise _Refused(f"{SEASON_COLUMNS.by_field[f'show.{name}'].title}: {problem}")


def _check_shown(day: str | None, show: Data) -> None:
    """Refuse a day on which the show is not held."""
    shown, first = _as_date(day), _as_date(show.get("day"))
    if shown and first and (problem := shown_problem(shown, first, _as_date(show.get("until")))):
        raise _Refused(f"{SEASON_COLUMNS.by_field['entry.day'].title}: {problem}")


def _as_date(day: str | None) -> date | None:
    return date.fromisoformat(day) if day else None


def _is_on(show: Data, day: str) -> bool:
    """Whether a show is on that day; any day will do where none is said."""
    return not day or is_on(show, day)


class SeasonImport(TableImport):
    """Tables of a season."""

    def known(self, book: Book) -> Values:
        """Return {kind: {id: values}}, the removed ones among them."""
        return {kind: book.records(kind, with_deleted=True) for kind in KINDS}

    def records_of(self, found: Mapping[str, SeasonLine]) -> dict[str, dict[str, Data]]:
        """Return what the lines write. A new show is added with any of its rows."""
        made: dict[str, dict[str, Data]] = {"show": {}, "entry": {}, "result": {}}
        ids: dict[str, str] = {}
        for key, line in found.items():
            show = line.show
            if line.opens:
                show = ids.setdefault(show, str(uuid6.uuid7()) if line.dog else key)
                made["show"][show] = dict(line.opens)
            if not line.dog:
                continue
            entry = line.of("entry")
            if not line.record:
                entry |= {"dog": line.dog, "show": show}
            if entry:
                made["entry"][key] = entry
            if result := line.of("result"):
                about = {"entry": key, "dog": line.dog, "show": show, "day": line.day}
                begun = {**about, **dict(line.begins)} if line.begins else {}
                made["result"][id_of(f"result {key}")] = begun | result
        return made


def _own(edits: Iterable[tuple[str, Any, Any]]) -> Data:
    return {name[6:]: new for name, _, new in edits if name.startswith("entry.")}


def _begun(entry: Data) -> tuple[tuple[str, Any], ...]:
    """Return what a new result has of its entry, as static/js/views/result.js begins one."""
    judge = (entry.get("judge") or "").strip()
    named = {"judge": judge, "judge_key": judge_key(judge)} if judge else {}
    return tuple({"klass": entry.get("klass"), **named}.items())


SEASON = SeasonImport(SEASON_COLUMNS, Season)
