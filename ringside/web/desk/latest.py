"""What changed last, in words: what one device wrote at one moment of one record is one line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from itertools import groupby
from typing import Any

from ringside.book.kinds import KINDS, Seen
from ringside.book.kinds.fields import Day, Field, Instant, Ref
from ringside.domain.days import say_day
from ringside.knowledge import Knowledge

Data = dict[str, Any]
Find = Callable[[str, str], Data]

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
            "kind": KINDS[kind].words.capitalize(),
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
    owner = KINDS[kind].about or ""
    field = KINDS[kind].fields.get(owner)
    if isinstance(field, Ref):
        return _about(field.to, values[owner], find) if values.get(owner) else ""
    return values.get("name") or ""


def _edits(
    kind: str, changes: list[Data], find: Find, knowledge: Knowledge
) -> list[tuple[str, str]]:
    said = []
    for change in changes:
        name, value = change["field"], change["value"]
        field = KINDS[kind].fields.get(name)
        if name == "deleted":
            said.append(("", "removed" if value else "brought back"))
        elif field and not (field.quiet or (value is not None and _is_owner(kind, name, field))):
            words = field.says or name.replace("_", " ")
            said.append((words, _shown(kind, name, field, value, find, knowledge)))
    return said


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
    if isinstance(field, Ref):
        return _about(field.to, value, find) or "not known here"
    return _plain(field, value)


def _plain(field: Field, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return f"{len(value)} stations"
    text = str(value)
    # By what is declared: words may look like a day that no calendar has.
    if isinstance(field, Day | Instant):
        day = say_day(date.fromisoformat(text[:10]))
        return f"{day}, {text[11:16]} UTC" if isinstance(field, Instant) else day
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
