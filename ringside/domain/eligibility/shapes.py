"""The show that a ruling is asked for, and the ruling itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal, NamedTuple

from ringside.knowledge.regulation_schema import Kind, Outcome
from ringside.knowledge.schema import Read

Data = dict[str, Any]
Misfit = Literal["", "young", "old"]


@dataclass(frozen=True)
class Show:
    """A show of one or several days, as far as it is known."""

    first: date
    last: date | None = None
    shown: date | None = None  # the day on which this dog is in the ring
    kinds: frozenset[Kind] | None = None
    closing: date | None = None


class Ruling(NamedTuple):
    """One class on one day. `fact` finds the deciding entry, see `pack_rules`."""

    klass: str
    verdict: Outcome
    parts: tuple[str, ...]  # the first is said by itself, the others follow "only if"
    clause: str
    edition: str
    read: Read
    fact: str
    readings: tuple[str, ...] = ()
    instead: str | None = None  # the class to which the body would move it
    age: Misfit = ""  # whether it is the age that bars, and in which way

    @property
    def why(self) -> str:
        """Return the reason in one sentence."""
        first, *others = self.parts
        return f"{first}; only if {', and '.join(others)}." if others else f"{first}."


class Window(NamedTuple):
    """A ruling that holds from `start` to `end`, both included; no `end` means for good."""

    start: date
    end: date | None
    ruling: Ruling

    def as_data(self) -> Data:
        """Return plain data with the dates as datetime.date."""
        ruling = self.ruling
        data: Data = {"class": ruling.klass, "from": self.start, "to": self.end}
        for key in ("verdict", "why", "clause", "edition", "read"):
            data[key] = getattr(ruling, key)
        if ruling.readings:
            data["readings"] = list(ruling.readings)
        if ruling.instead:
            data["instead"] = ruling.instead
        return data
