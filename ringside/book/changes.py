"""What makes a change fit to be kept. A refusal is a sentence that says what to do."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from json.encoder import encode_basestring as _quoted
from operator import itemgetter
from typing import Any

from ringside.book import clock
from ringside.book.kinds import Kind
from ringside.book.kinds.fields import MOST_TEXT_BYTES, UUID, Field

KEYS = ("id", "kind", "record", "field", "value", "stamp", "base", "device")
MOST_BASES = 64
_VALUES = itemgetter(*KEYS)
WRONG_KEYS = f"A change has exactly the keys {', '.join(KEYS)}."
# Id, record, device and stamp in one look. No value of JSON but text reads like any of them.
FORM = re.compile(" ".join([UUID.pattern] * 3 + [clock.STAMP.pattern]))

NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
# JSON takes up to six bytes for one of a text (\u0001): whatever text a newer version allows is
# taken. How deep a value may be is far less than what reads a log can go.
MOST_UNKNOWN_BYTES = 8 * MOST_TEXT_BYTES
MOST_UNKNOWN_DEPTH = 50

Change = dict[str, Any]

# Kept, because `json.dumps` makes a new one for each value.
_ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True)
_STRICT = json.JSONEncoder(ensure_ascii=False, allow_nan=False)


def form_problem(change: Any) -> str | None:
    """Return why `change` (as parsed from JSON) is none at all, or None if it is one."""
    try:
        # It is done for every change: asking for all at once is quickest.
        key, _, record, _, _, stamp, base, device = _VALUES(change)
    except (KeyError, TypeError):
        return WRONG_KEYS
    if len(change) != len(KEYS):
        return WRONG_KEYS
    if not FORM.fullmatch(f"{key} {record} {device} {stamp}"):
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
        return "The base must be text: the stamps of the replaced values, with spaces between."
    if not all(clock.STAMP.fullmatch(part) for part in base.split()):
        return "The base is malformed; it must hold stamps with spaces between."
    return None


def field_of(change: Change, kinds: Mapping[str, Kind]) -> Field | None:
    """Return how `kinds` declare what `change`, whose form is right, sets; None if none does."""
    try:
        return kinds[change["kind"]].fields[change["field"]]
    except (KeyError, TypeError):  # or it is no name at all
        return None


def value_problem(change: Change, field: Field | None) -> str | None:
    """Return why the book cannot keep what `change` sets, which is declared so; None if it can.

    What is not declared comes from a newer version: it is kept as it is, within bounds.
    """
    if field is None:
        return _unknown_problem(change)
    reason = field.problem(change["value"])
    return f"The {change['field']} of this {change['kind']} {reason}." if reason else None


def log_problem(change: Change) -> str | None:
    """Return why no log can hold what `change` sets, None if one can.

    Another version may have declared it, and with other bounds.
    """
    for key in ("kind", "field"):
        if not isinstance(change[key], str) or not NAME.fullmatch(change[key]):
            return f"The {key} must be a word of small letters, digits and underscores."
    try:
        _STRICT.encode(change["value"]).encode()
    except (ValueError, RecursionError):
        return "The value is not JSON that can be saved."
    return None


def _unknown_problem(change: Change) -> str | None:
    reason = log_problem(change)
    if reason:
        return reason
    if _is_too_deep(change["value"]):
        return f"The value is nested more than {MOST_UNKNOWN_DEPTH} deep."
    is_short = len(as_text(change["value"]).encode()) <= MOST_UNKNOWN_BYTES
    return None if is_short else f"The value has more than {MOST_UNKNOWN_BYTES} bytes."


def _is_too_deep(value: Any) -> bool:
    level = [value]
    for _ in range(MOST_UNKNOWN_DEPTH):
        level = [part for one in level if isinstance(one, dict | list) for part in _within(one)]
    return any(isinstance(one, dict | list) for one in level)


def _within(one: dict[str, Any] | list[Any]) -> Iterable[Any]:
    return one.values() if isinstance(one, dict) else one


def as_text(value: Any) -> str:
    """Return a value as it stands in the log: JSON in one fixed form."""
    return _quoted(value) if type(value) is str else _ENCODER.encode(value)
