"""Records of odd shape: every field of every kind absent, cleared, and with each value that its
declaration allows and nobody thinks of; references that lead nowhere, elsewhere or in a circle.

What is made here is nothing that a book refuses: half a sync, an older app, a slip of the finger
or another client brings it about.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import uuid6

from ringside.book import clock
from ringside.book.kinds import KINDS
from ringside.book.kinds.fields import (
    MOST_IN_LIST,
    MOST_TEXT_BYTES,
    Choice,
    Day,
    Field,
    Flag,
    FreeText,
    Instant,
    Number,
    Ref,
    WordList,
    Words,
)
from tests.support import Server

Values = dict[str, Any]
Change = dict[str, Any]

# Words that are something else to a program: keys of every object, days, numbers, markup, paths.
PROGRAMS = (
    "__proto__", "constructor", "toString", "hasOwnProperty", "-1",
    "2026-13-45", "2026-02-30T25:61:61.000Z", "{says}", "{{ name }}", "<b>x</b>&amp;", "%E0%A4%A",
    "../..", "end", "end-of-exam", "#/dog/new", "=1+1", "\u202e",
)  # fmt: skip
EMOJI = "👩‍👩‍👧‍👦"  # one sign of seven characters
RIGHT_TO_LEFT = "كلب الصيد הכלב"
# The calendar's ends, a leap day, before any dog of ours, and a year typed wrong.
DAYS = ("0001-01-01", "9999-12-31", "2024-02-29", "1899-12-31", "2199-12-31", "2206-06-06")
INSTANTS = ("0001-01-01T00:00:00.000Z", "9999-12-31T23:59:59.999Z")


def odd_values(of: Field, refs: Iterable[str] = ()) -> list[Any]:
    """Return what the declaration allows and a screen may trip over."""
    match of:
        case Words(most=most):
            long = ("W" * most, (RIGHT_TO_LEFT * most)[:most], (EMOJI * most)[:most])
            words = ("", " ", *PROGRAMS, *long)
            return [one for one in dict.fromkeys(words) if len(one) <= most]
        case FreeText():
            signs = ("\r\n\t\x01\x1b\u2028", f"{RIGHT_TO_LEFT}\n{EMOJI}")
            return ["", " ", *PROGRAMS, "W" * MOST_TEXT_BYTES, *signs]
        case Choice(of=choices):
            return list(choices)
        case Day():
            return list(DAYS)
        case Instant():
            return list(INSTANTS)
        case Flag():
            return [True, False]
        case Number(most=most):
            return [0, -0.0, 5e-324, 1e-7, 0.1 + 0.2, most, most - 1e-9]
        case Ref():
            return list(refs)
        case WordList():
            longest = ["W" * 40] * MOST_IN_LIST
            return [[], [""], ["bite", "bite"], [*PROGRAMS[:6]], longest, ["testes", EMOJI]]
    raise AssertionError(f"no odd values for {of}")


def new_id() -> str:
    """Return an id as phones make them."""
    return str(uuid6.uuid7())


@dataclass(frozen=True)
class Record:
    """A record to be written; `why` says what is odd about it."""

    kind: str
    id: str
    values: Values
    why: str


def singles(kind: str, whole: Values, refs: Mapping[str, list[str]]) -> Iterator[Record]:
    """Yield whole records with one field absent, cleared or odd, and half ones of one field."""
    own = {name: one for name, one in KINDS[kind].fields.items() if name != "deleted"}
    for name, declared in own.items():
        rest = {key: value for key, value in whole.items() if key != name}
        yield Record(kind, new_id(), rest or {"deleted": None}, f"no {name}")
        yield Record(kind, new_id(), rest | {name: None}, f"{name} cleared")
        for value in odd_values(declared, refs.get(name, ())):
            yield Record(kind, new_id(), rest | {name: value}, f"{name} is {value!r:.60}")
    yield from halves(kind, whole, refs)


def halves(kind: str, whole: Values, refs: Mapping[str, list[str]]) -> Iterator[Record]:
    """Yield records of one field and its owner, one that leads to itself, and an empty one."""
    about = KINDS[kind].about
    anchor = {about: whole[about]} if about in whole else {}
    for name in whole:
        yield Record(kind, new_id(), anchor | {name: whole[name]}, f"only {name}")
    yield Record(kind, new_id(), {"deleted": None}, "empty")
    for name, declared in KINDS[kind].fields.items():
        if isinstance(declared, Ref):
            key = new_id()
            yield Record(kind, key, whole | {name: key}, f"{name} is itself")
            for ref in refs.get(name, ()):
                yield Record(kind, new_id(), whole | {name: ref}, f"{name} is {ref}")


def diagonals(kind: str, whole: Values, refs: Mapping[str, list[str]]) -> Iterator[Record]:
    """Yield records all of whose fields are odd at once; each odd value of each field is in one.

    References stay: with one that leads nowhere there is nothing to see of the others.
    """
    odd = {
        name: odd_values(declared)
        for name, declared in KINDS[kind].fields.items()
        if name != "deleted" and not isinstance(declared, Ref)
    }
    for turn in range(max(map(len, odd.values()))):
        values = {
            name: values[(turn + place) % len(values)]
            for place, (name, values) in enumerate(odd.items())
        }
        yield Record(kind, new_id(), whole | values, f"all odd, {turn}")
    for name in odd:
        rest = {key: value for key, value in whole.items() if key != name}
        yield Record(kind, new_id(), rest, f"no {name}")
    yield from halves(kind, whole, refs)


NEIGHBOUR, JUDGE = "Neighbour", "neighbour"
DAY, INSTANT = "2026-06-06", "2026-06-06T10:00:00.000Z"


@dataclass
class Kennel:
    """Whole records (the neighbours), with all that is odd around them; ids by what they are for.

    `crowded` are the dog, show, entry and walks that all odd children hang on.
    """

    today: str = DAY
    records: list[Record] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Make all records."""
        self.dog = self._add("dog", name=NEIGHBOUR, breed="border-terrier", sex="dog",
                             born="2023-05-05", body="KC")  # fmt: skip
        self.show = self._add("show", name=NEIGHBOUR, body="KC", day=self.today, place=NEIGHBOUR)
        self.entry = self._add("entry", dog=self.dog, show=self.show, ring=NEIGHBOUR)
        self.ringday = self._add("ringday", show=self.show, day=self.today, ring=NEIGHBOUR)
        self.ring = self._walk("ring")
        self.rehearsal = self._walk("rehearse")
        self.result = self._add("result", dog=self.dog, entry=self.entry, day=DAY, judge=NEIGHBOUR,
                                judge_key=JUDGE, critique=NEIGHBOUR)  # fmt: skip
        self.removed = self._add("dog", name="Removed", deleted=True)
        self.removed_show = self._add("show", name="Removed", deleted=True)
        self.wholes = self._wholes()
        self.neighbours = {
            kind: self._add(kind, **values)
            for kind, values in self.wholes.items()
            if kind not in ("dog", "show", "entry", "walk")
        }
        for kind, whole in self.wholes.items():
            how = diagonals if kind in ("dog", "show", "entry", "walk") else singles
            self.records += how(kind, whole, self._refs())
        self._removed()

    def _add(self, kind: str, **values: Any) -> str:
        self.records.append(Record(kind, new_id(), values, "whole"))
        return self.records[-1].id

    def _walk(self, mode: str) -> str:
        return self._add("walk", dog=self.dog, mode=mode, stations=[], place="bite", began=INSTANT)

    def _wholes(self) -> dict[str, Values]:
        dog, here = {"dog": self.dog}, {"dog": self.dog, "station": "bite"}
        return {
            "dog": {"name": "Odd", "breed": "border-terrier", "sex": "dog", "born": "2023-05-05"},
            "show": {"name": "Odd", "body": "KC", "day": self.today, "until": self.today},
            "entry": {**dog, "show": self.show, "klass": "open", "day": self.today,
                      "ahead": ["8", "6"], "before": 3},
            "walk": {**dog, "mode": "ring", "stations": [], "place": "bite", "began": INSTANT},
            "note": {**here, "text": NEIGHBOUR},
            "cue": {**here, "line": NEIGHBOUR},
            "ask": {"breed": "border-terrier", "station": "bite", "says": NEIGHBOUR},
            "order": {**dog, "label": NEIGHBOUR, "stations": ["bite", "ears"]},
            "practice": {**here, "grade": "easy", "at": INSTANT, "walk": self.rehearsal},
            "floor": {**dog, "what": "stack", "seconds": 35, "corrections": 1, "at": INSTANT},
            "drill": {**dog, "item": "ask:bite", "answer": "right", "stability": 2.3,
                      "difficulty": 5.1, "at": INSTANT, "due": "2026-05-05"},
            "measure": {**dog, "what": "weight", "value": 6.4, "unit": "kg", "day": "2026-05-05"},
            "score": {**dog, "score": "5", "tuck_up": True, "note": NEIGHBOUR, "day": DAY},
            "state": {**dog, "state": "well", "day": DAY},
            "check": {**dog, "what": "bite", "found": "good", "day": DAY},
            "kit": {**dog, "line": NEIGHBOUR},
            "award": {**dog, "day": "2026-04-04", "body": "KC", "what": "cc", "judge": NEIGHBOUR},
            "result": {**dog, "entry": self.entry, "show": self.show, "day": DAY, "placing": "2",
                       "judge": NEIGHBOUR, "judge_key": JUDGE, "critique": NEIGHBOUR},
            "lesson": {**here, "result": self.result, "says": "named", "day": DAY,
                       "judge_key": JUDGE},
            "gate": {"entry": self.entry, "item": "lead-right", "state": "ready", "at": INSTANT},
            "tick": {"walk": self.ring, "station": "head", "state": "done", "at": INSTANT},
            "ringday": {"show": self.show, "day": self.today, "ring": NEIGHBOUR, "begins": "9:00"},
            "ringtap": {"ringday": self.ringday, "what": "judged", "at": INSTANT, "dogs": 2},
        }  # fmt: skip

    def _refs(self) -> dict[str, list[str]]:
        """What references lead to: nothing, another kind, what was removed."""
        nowhere = "00000000-0000-7000-8000-000000000000"
        return {
            "dog": [nowhere, self.show, self.ring, self.removed],
            "show": [nowhere, self.dog, self.entry, self.removed_show],
            "entry": [nowhere, self.dog],
            "walk": [nowhere, self.dog],
            "ringday": [nowhere, self.dog],
            "result": [nowhere, self.dog],
        }

    def _removed(self) -> None:
        for kind, whole in self.wholes.items():
            self.records.append(Record(kind, new_id(), {"deleted": True}, "removed, no more"))
            for name, declared in KINDS[kind].fields.items():
                for value in odd_values(declared)[:4] if isinstance(declared, Words) else ():
                    values = whole | {name: value, "deleted": True}
                    self.records.append(Record(kind, new_id(), values, f"removed, {name} {value}"))

    def ids(self, kind: str) -> list[str]:
        """Return the ids of the records of a kind, the removed ones too."""
        return [record.id for record in self.records if record.kind == kind]

    def why(self, key: str) -> str:
        """Return what is odd about a record."""
        return next((f"{one.kind}: {one.why}" for one in self.records if one.id == key), key)


def changes(records: Iterable[Record], device: str) -> list[Change]:
    """Return the changes that write these records, as `device` makes them."""
    stamp, made = "", []
    now = time.time_ns() // 1_000_000
    for record in records:
        for name, value in record.values.items():
            stamp = clock.tick(stamp, now, clock.node_of(device))
            about = {"id": new_id(), "kind": record.kind, "record": record.id}
            change = {"field": name, "value": value, "stamp": stamp, "base": "", "device": device}
            made.append({**about, **change})
    return made


def send(server: Server, made: list[Change], device: str, most: int = 2_000) -> None:
    """Send changes of `device` to an open book through the real sync; all must be taken."""
    connection = server.connect()
    here = {"Host": f"localhost:{server.port}", "Referer": server.url}
    try:
        connection.request("GET", "/api/session", headers=here)
        opened = connection.getresponse()
        cookie = (opened.headers["Set-Cookie"] or "").partition(";")[0]
        key = {"X-CSRFToken": json.load(opened)["csrf"], "Cookie": cookie}
        headers = {**here, **key, "Content-Type": "application/json"}
        for first in range(0, len(made), most):
            body = {"device": device, "changes": made[first : first + most], "most": 1}
            connection.request("POST", "/api/sync", json.dumps(body), headers)
            response = connection.getresponse()
            answer = json.load(response)
            assert response.status == 200, answer
            assert answer["refused"] == []
    finally:
        connection.close()
