"""What changed last, in words: what one device wrote at one moment of one record is one line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from itertools import groupby
from typing import Any

from ringside.book.fields import DAY, INSTANT
from ringside.book.models import FIELDS
from ringside.knowledge import Knowledge

Data = dict[str, Any]
Find = Callable[[str, str], Data]

KINDS = {
    "note": "private note",
    "cue": "own cue",
    "ask": "own ask",
    "order": "own order",
    "walk": "walk through the card",
    "tick": "station of a walk",
    "gate": "gate check",
    "kit": "own item for the gate",
    "measure": "measure",
}
FIELD_WORDS = {
    "born": "whelped",
    "born_in": "country of birth",
    "pedigree": "registered name",
    "body": "rules of",
    "klass": "class",
    "level": "kind of show",
    "testes_on": "testes felt on",
    "until": "last day",
    "what": "what",
}
# What stands in the line's head already, or tells a person nothing.
UNSAID = {"walk", "entry"}
LONGEST = 80


def latest(
    changes: Iterable[Data],
    find: Find,
    devices: dict[str, str],
    knowledge: Knowledge,
) -> list[Data]:
    """Return lines {kind, about, edits, when, by} of `changes`, which come newest first.

    `find` gives the values of a record by kind and id, `devices` are names of devices by id.
    """
    groups = groupby(
        changes, key=lambda one: (one["kind"], one["record"], one["device"], one["received"])
    )
    return [
        {
            "kind": KINDS.get(kind, kind).capitalize(),
            "about": _about(kind, record, find),
            "edits": _edits(kind, list(group)[::-1], find, knowledge),
            "when": datetime.fromtimestamp(received / 1000, UTC),
            "by": devices.get(device, ""),
        }
        for (kind, record, device, received), group in groups
    ]


def _about(kind: str, record: str, find: Find) -> str:
    """Return the name of what a record is about: its own, or of the dog it leads to."""
    values = find(kind, record)
    if kind in ("dog", "show"):
        return values.get("name") or ""
    for step in ("dog", "entry", "walk"):
        if values.get(step):
            return _about(step, values[step], find)
    return ""


def _edits(
    kind: str, changes: list[Data], find: Find, knowledge: Knowledge
) -> list[tuple[str, str]]:
    said = []
    for change in changes:
        name = change["field"]
        if name == "deleted":
            said.append(("", "removed" if change["value"] else "brought back"))
        elif name not in UNSAID and (name != "dog" or change["value"] is None):
            field = FIELD_WORDS.get(name, name.replace("_", " "))
            said.append((field, _shown(kind, name, change["value"], find, knowledge)))
    return said


def _shown(kind: str, name: str, value: Any, find: Find, knowledge: Knowledge) -> str:
    if value is None:
        return "cleared"
    if (kind, name) == ("note", "text"):
        return "(private)"  # veiled here too
    if name == "breed":
        breed = knowledge.breeds.profiles.get(value)
        return breed.name if breed else str(value)
    if name == "station":
        return knowledge.stations[value].name if value in knowledge.stations else str(value)
    if FIELDS[kind][name].kind == "ref":
        return _about(name, value, find) or "not known here"
    return _plain(value)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return f"{len(value)} stations"
    text = str(value)
    if DAY.fullmatch(text):
        day = date.fromisoformat(text)
        return f"{day.day} {day:%B} {day.year}"
    if INSTANT.fullmatch(text):
        return f"{_plain(text[:10])}, {text[11:16]} UTC"
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
