"""A phone as static/js/store.js keeps it, for the property tests: the same steps, in memory.

Beside that it keeps what no merge knows: which texts its person has had before their eyes
(`known`), so that the tests can tell a text that was lost from one that was replaced.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

from ringside.book import clock, merge
from ringside.book.kinds import KINDS, Kind

Change = dict[str, Any]
Place = tuple[str, str, str]  # kind, record, field

_numbers = itertools.count(1)


def new_id() -> str:
    """An id of UUID form, the same in every run."""
    number = next(_numbers)
    return f"{number:08x}-0000-7000-8000-{number:012x}"


def start_ids_anew() -> None:
    global _numbers
    _numbers = itertools.count(1)


def restamped(cell: merge.Cell, raw: str, stamp: str) -> merge.Cell:
    """core/merge.js `restamp`."""
    if "heads" not in cell:
        return {**cell, "stamp": stamp} if cell["stamp"] == raw else cell

    def rename(known: str) -> str:
        return stamp if known == raw else known

    return {
        "seen": {by: rename(known) for by, known in cell["seen"].items()},
        "heads": {rename(known): text for known, text in cell["heads"].items()},
    }


class Phone:
    """One device: its records' cells, its changes by stamp, its clock and cursor."""

    def __init__(self, error: int, kinds: Mapping[str, Kind] = KINDS) -> None:
        self.device = new_id()
        self.kinds = kinds  # that the build on it declares
        self.takes_records = True  # as they stand, where it begins
        self.error = error  # how far the phone's own clock is ahead of the true time (ms)
        self.skew = 0
        self.clock = ""
        self.cursor = ""
        self.parked: dict[str, Change] = {}
        # Of a restored copy: what it and our own changes come to, gathered beside what is shown.
        self.anew: dict[Place, merge.Cell] | None = None
        self.changes: dict[str, Change] = {}
        self.cells: dict[Place, merge.Cell] = {}
        self.known: dict[Place, set[str]] = {}

    # --- reading

    def shown(self, place: Place) -> Any:
        cell = self.cells.get(place)
        return merge.value(cell) if cell else None

    def apart(self, place: Place) -> dict[str, Any]:
        cell = self.cells.get(place)
        return merge.apart(cell) if cell else {}

    def in_state(self, state: str) -> list[Change]:
        """The index "state": in the order of the stamps."""
        return [row for _, row in sorted(self.changes.items()) if row["state"] == state]

    # --- writing

    def write(self, place: Place, value: Any, now: int) -> Change | None:
        """`writeAll` for one field; None where it holds the value already."""
        kind, record, name = place
        if place in self.cells and self.shown(place) == value and not self.apart(place):
            return None
        self.clock = clock.tick(
            self.clock, now + self.error + self.skew, clock.node_of(self.device)
        )
        change = {
            "id": new_id(),
            "kind": kind,
            "record": record,
            "field": name,
            "value": value,
            "stamp": self.clock,
            "base": self._base(place),
            "device": self.device,
        }
        assert self.clock not in self.changes, "a stamp was given twice"
        self.changes[self.clock] = {**change, "state": "unsent"}
        for refused in self.in_state("refused"):
            is_here = (refused["record"], refused["field"]) == (record, name)
            if is_here and refused["stamp"] < self.clock:
                refused["state"] = "mended"
        self._drop_refused(place)
        self._fold(change)
        return change

    def _drop_refused(self, place: Place) -> None:
        """The edit replaces also what the book refused, which it cannot name to the book."""
        cell = self.cells.get(place)
        if cell and "heads" in cell:
            rows = [row for row in self.changes.values() if row["state"] in ("refused", "mended")]
            never_kept = {row["stamp"] for row in rows}
            heads = {key: text for key, text in cell["heads"].items() if key not in never_kept}
            self.cells[place] = {**cell, "heads": heads}

    def _base(self, place: Place) -> str:
        """What the book would replace: for a change it refused, what that one was to replace."""
        parts = merge.base(self.cells.get(place)).split()
        never_kept = {
            stamp: row["base"]
            for stamp, row in self.changes.items()
            if row["state"] in ("refused", "mended")
        }
        return " ".join(never_kept.get(part, part) for part in parts)

    def knows(self, change: Change) -> bool:
        """core/rows.js `knows`."""
        kind = self.kinds.get(change["kind"])
        field = kind.fields.get(change["field"]) if kind else None
        return field is not None and field.problem(change["value"]) is None

    def take_up(self, kinds: Mapping[str, Kind]) -> None:
        """Another build, of other `kinds`: `foldParked`."""
        self.kinds = kinds
        parked, self.parked = self.parked, {}
        for one in parked.values():
            if "cells" in one:
                self._join(one["kind"], one["record"], one["cells"])
            else:
                self._receive(one)

    def _receive(self, change: Change) -> None:
        """Fold a change, or park it until a build comes that knows it."""
        if self.knows(change):
            self._fold(change)
        else:
            self.parked[change["id"]] = change

    def _fold(self, change: Change) -> None:
        place = (change["kind"], change["record"], change["field"])
        is_text = self.kinds[change["kind"]].fields[change["field"]].is_text
        for cells in (self.cells, self.anew):
            if cells is not None:
                cells[place] = merge.fold(
                    cells.get(place), change["stamp"], change["base"], change["value"], is_text
                )

    def _join(self, kind: str, record: str, own: dict[str, merge.Cell]) -> None:
        if kind not in self.kinds:
            key = f"{kind}/{record}"
            self.parked[key] = {"id": key, "kind": kind, "record": record, "cells": own}
        for name, cell in own.items():
            for cells in (self.cells, self.anew):
                if cells is not None and kind in self.kinds:
                    known = cells.get((kind, record, name))
                    cells[kind, record, name] = merge.join(known, cell) if known else cell
            self.clock = clock.later(self.clock, merge.winner(cell))

    # --- syncing

    def outgoing(self, most: int) -> dict[str, Any]:
        waiting = self.in_state("unsent")
        changes = [
            {key: value for key, value in row.items() if key not in ("state", "reason")}
            for row in waiting[:most]
        ]
        said = {"device": self.device, "cursor": self.cursor, "changes": changes}
        return {**said, "records": self.takes_records}

    def incoming(self, answer: dict[str, Any], now: int) -> None:
        if answer["anew"]:
            for row in self.in_state("sent"):
                row["state"] = "unsent"
            self.anew, self.parked = {}, {}
            for row in self.in_state("refused"):
                self._receive(row)
        self._settle(answer)
        for record in answer.get("records", ()):
            self._join(*record)
        for change in answer["changes"]:
            self._receive(change)
            self.clock = clock.later(self.clock, change["stamp"])
        self.cursor = answer["cursor"]
        skew = answer["now"] - (now + self.error)
        self.skew = skew if abs(skew) > 120_000 else 0
        if self.anew is not None and not answer["more"] and not self.in_state("unsent"):
            self.cells, self.anew = self.anew, None

    def _settle(self, answer: dict[str, Any]) -> None:
        taken, refused, stamps = set(answer["taken"]), answer["refused"], answer["restamped"]
        if not taken and not refused:
            return
        renamed: dict[str, str] = {}
        for row in self.in_state("unsent"):
            raw = row["stamp"]
            row["base"] = " ".join(renamed.get(part, part) for part in row["base"].split())
            if row["id"] in taken:
                row["state"] = "sent"
                if stamp := stamps.get(row["id"]):
                    # Kept under its true stamp: a restored book must get it as the others know it.
                    renamed[raw] = row["stamp"] = stamp
                    self.changes[stamp] = self.changes.pop(raw)
                    self._rename(row, raw)
                if stamp or self.anew is not None:
                    self._receive(row)
            elif row["id"] in refused:
                row |= {"state": "refused", "reason": refused[row["id"]]}
                renamed[raw] = row["base"]
        if stamps:
            # Our clock ran ahead and was put right: go on from what is really the newest.
            waiting = [*self.in_state("unsent"), *self.in_state("refused")]
            self.clock = max([*stamps.values(), *(row["stamp"] for row in waiting)])

    def _rename(self, row: Change, raw: str) -> None:
        place = (row["kind"], row["record"], row["field"])
        if place in self.cells:
            self.cells[place] = restamped(self.cells[place], raw, row["stamp"])
