"""What makes a change fit to be kept. A refusal is a sentence that says what to do."""

from __future__ import annotations

import json
import re
from typing import Any

from ringside.book import clock
from ringside.book.fields import UUID
from ringside.book.models import FIELDS

KEYS = ("id", "kind", "record", "field", "value", "stamp", "base", "device")
MOST_BASES = 64
_KEYS = frozenset(KEYS)
# Id, record, device and stamp in one look. No value of JSON but text reads like any of them.
FORM = re.compile(" ".join([UUID.pattern] * 3 + [clock.STAMP.pattern]))

Change = dict[str, Any]

# Kept, because `json.dumps` makes a new one for each value.
_ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def form_problem(change: Any) -> str | None:
    """Return why `change` (as parsed from JSON) is none at all, or None if it is one."""
    if not isinstance(change, dict) or change.keys() != _KEYS:
        return f"A change has exactly the keys {', '.join(KEYS)}."
    device, stamp, base = change["device"], change["stamp"], change["base"]
    if not FORM.fullmatch(f"{change['id']} {change['record']} {device} {stamp}"):
        return _malformed(change)
    if clock.node(stamp) != clock.node_of(device):
        return "The stamp was not made by the device that sent it."
    return _base_problem(base) if base != "" else None


def _malformed(change: Change) -> str:
    for key in ("id", "record", "device"):
        if not isinstance(change[key], str) or not UUID.fullmatch(change[key]):
            return f"The {key} must be a UUID in lower case."
    return "The stamp is malformed; it must read <12 hex>-<4 hex>-<12 hex>."


def _base_problem(base: Any) -> str | None:
    if not isinstance(base, str) or len(base.split()) > MOST_BASES:
        return "The base must be text: the stamps of the replaced values, parted by blanks."
    if not all(clock.STAMP.fullmatch(part) for part in base.split()):
        return "The base is malformed; it must hold stamps parted by blanks."
    return None


def value_problem(change: Change) -> str | None:
    """Return why the book cannot keep what `change`, whose form is right, sets; None if it can."""
    kind, name = change["kind"], change["field"]
    fields = FIELDS.get(kind) if isinstance(kind, str) else None
    if fields is None:
        return f"This book does not know records of kind {kind!r}; update the server's program."
    field = fields.get(name) if isinstance(name, str) else None
    if field is None:
        return f"A {kind} has no field {name!r} in this book; update the server's program."
    reason = field.problem(change["value"])
    return f"The {name} of this {kind} {reason}." if reason else None


def as_text(value: Any) -> str:
    """Return a value as it stands in the log: JSON in one fixed form."""
    return _ENCODER.encode(value)
