"""What changed last, in words: what one device wrote at one moment of one record is one line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from itertools import groupby, islice
from string import Formatter
from typing import Any

from ringside.book.kinds import KINDS, Seen
from ringside.book.kinds.fields import Day, Field, Instant, Ref
from ringside.domain.days import say_day
from ringside.knowledge import Knowledge
from ringside.web.desk.moments import say_near

Data = dict[str, Any]
Find = Callable[[str, str], Data]
Show = Callable[[str, Any], str]  # what is shown for the value of a field

LONGEST = 80
MOST_AT_ONCE = 8

# How a record is said in one phrase, where its fields in a row would be none.
PHRASES = {
    "tick": "{station}: {state}",
    "practice": "{station}: {grade}",
    "gate": "{item}: {state}",
    "note": "{station}: {text}",
    "cue": "{station}: {line}",
    "ask": "{station}: {says}",
    "measure": "{what} {value} {unit}",
    "score": "{score} of 9",
    "state": "{state}",
    "check": "{what}: {found}",
    "walk": "{mode}",
    "award": "{what}",
    "kit": "{line}",
    "task": "{line}",
}
# What the line's own time tells, and what only the phone needs.
UNSAID = {
    "walk": {"stations", "place", "began"},
    "tick": {"at"},
    "practice": {"at"},
    "gate": {"at"},
}
MODES = {"ring": "in the ring", "rehearse": "rehearsal"}
# What is told under another kind's name, so that a walk and its stations are one line.
UNDER = {"tick": "walk"}


def latest(
    changes: Iterable[Data],
    find: Find,
    devices: dict[str, str],
    knowledge: Knowledge,
) -> list[Data]:
    """Return lines {kind, under, about, phrase, when, by}; `changes` come newest first.

    `find` gives the values of a record by kind and id, `devices` are names of devices by id.
    `phrase` says what was written as one reads it, "" where it tells a reader nothing.
    """
    groups = groupby(
        changes, key=lambda one: (one["kind"], one["record"], one["device"], one["received"])
    )
    return [
        {
            "kind": KINDS[kind].words,
            "under": KINDS[UNDER.get(kind, kind)].words,
            "about": about(kind, record, find),
            "phrase": _phrase(kind, record, list(group)[::-1], find, knowledge),
            "when": datetime.fromtimestamp(received / 1000, UTC),
            "by": devices.get(device, ""),
        }
        for (kind, record, device, received), group in groups
    ]


def by_day(lines: Iterable[Data], today: date, most: int) -> list[Data]:
    """Return {day, lines} of at most so many lines, in days and times of this computer.

    Neighbours of one kind about one thing, from one device, are one line {kind, about, phrases,
    more, time, by}: `more` are the phrases that found no room in it.
    """
    told = [{**line, "when": line["when"].astimezone()} for line in lines if line["phrase"]]
    runs = groupby(
        told, key=lambda one: (one["when"].date(), one["under"], one["about"], one["by"])
    )
    rows = [(key[0], _run(list(run))) for key, run in islice(runs, most)]
    return [
        {"day": say_near(day, today), "lines": [row for _, row in group]}
        for day, group in groupby(rows, key=lambda row: row[0])
    ]


def _run(run: list[Data]) -> Data:
    phrases = list(dict.fromkeys(line["phrase"] for line in reversed(run)))
    newest = run[0]
    return {
        **{name: newest[name] for name in ("about", "by")},
        "kind": newest["under"],
        "time": f"{newest['when']:%H:%M}",
        "phrases": phrases[:MOST_AT_ONCE],
        "more": len(phrases[MOST_AT_ONCE:]),
    }


def about(kind: str, record: str, find: Find) -> str:
    """Return the name of what a record is about: its own, or of the dog it leads to."""
    values = find(kind, record)
    owner = KINDS[kind].about or ""
    field = KINDS[kind].fields.get(owner)
    if isinstance(field, Ref):
        return about(field.to, values[owner], find) if values.get(owner) else ""
    return values.get("name") or ""


def _phrase(kind: str, record: str, changes: list[Data], find: Find, knowledge: Knowledge) -> str:
    """Return what `changes`, the oldest first, made of a record, as one reads it."""

    def show(name: str, value: Any) -> str:
        return _shown(kind, name, KINDS[kind].fields[name], value, find, knowledge)

    told: dict[str, str] = {}
    for change in changes:
        name, value = change["field"], change["value"]
        if name == "deleted":
            told[name] = "removed" if value else "brought back"
        elif _is_told(kind, name, value):
            told[name] = show(name, value)
    whole = _by_pattern(kind, told, find(kind, record), show)
    return ", ".join([*whole, *(_labelled(kind, *one) for one in told.items())])


def _by_pattern(kind: str, told: dict[str, str], now: Data, show: Show) -> list[str]:
    """Take out of {field: shown} what the kind's pattern says, and return that.

    A part that nobody wrote just then is as it is `now`.
    """
    pattern = PHRASES.get(kind, "")
    needs = [name for _, name, _, _ in Formatter().parse(pattern) if name]
    if not told.keys() & set(needs):
        return []
    parts = {name: show(name, now[name]) for name in needs if now.get(name) is not None} | told
    if not parts.keys() >= set(needs):
        return []
    for name in needs:
        told.pop(name, None)
    return [pattern.format_map(parts)]


def _labelled(kind: str, name: str, shown: str) -> str:
    if name == "deleted":
        return shown
    field = KINDS[kind].fields[name]
    words = field.says or name.replace("_", " ")
    # Of other moments the line's own time tells when they were.
    return words if isinstance(field, Instant) else f"{words} {shown}"


def _is_told(kind: str, name: str, value: Any) -> bool:
    field = KINDS[kind].fields.get(name)
    if not field or field.quiet or name in UNSAID.get(kind, ()):
        return False
    return value is None or not _is_owner(kind, name, field)


def _is_owner(kind: str, name: str, field: Field) -> bool:
    """Whether the field leads to what the line's head names."""
    return name == KINDS[kind].about and isinstance(field, Ref)


def _shown(kind: str, name: str, field: Field, value: Any, find: Find, knowledge: Knowledge) -> str:
    if value is None:
        return "cleared"
    if KINDS[kind].seen is Seen.BY_OWNERS and field.is_text:
        return "(private)"  # veiled here too
    if name == "breed":
        breed = knowledge.breeds.profiles.get(value)
        return breed.name if breed else str(value)
    if name == "station":
        return knowledge.stations[value].name if value in knowledge.stations else str(value)
    if kind == "gate" and name == "item":
        items = {item.id: item.text for item in knowledge.gate.item}
        return items.get(value, "An item of your own")
    if kind == "award" and name == "what":
        kinds = knowledge.titles.kinds.values()
        return next((one[value].name for one in kinds if value in one), str(value))
    if kind == "walk" and name == "mode":
        return MODES.get(value, str(value))
    if isinstance(field, Ref):
        return about(field.to, value, find) or "not known here"
    return _plain(field, value)


def _plain(field: Field, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return f"{len(value)} stations"
    text = str(value)
    # By what is declared: words may look like a day that no calendar has.
    if isinstance(field, Day | Instant):
        return say_day(date.fromisoformat(text[:10]))
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
