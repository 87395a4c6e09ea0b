"""Reading an export: nothing is taken whose form is wrong."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from ringside.book import changes as rules
from ringside.book import clock
from ringside.book.keeping import breeds
from ringside.book.keeping.breeds import Breeds
from ringside.book.keeping.exporting import COLUMNS, EXPORT_FORMAT
from ringside.book.kinds.fields import UUID
from ringside.book.store import BookError
from ringside.knowledge.own import MOST_OWN_FILES

ANEW = "Nothing was changed; export it anew, or name another file."


def read(source: Path) -> dict[str, Any]:
    """Return an export whose form is right."""
    foreign = f"{source} is not an export of Ringside's; nothing was changed. Name another file."
    try:
        data = json.loads(source.read_text(encoding="utf-8"))
    except (ValueError, RecursionError) as error:
        raise BookError(f"{source} is not whole JSON ({error}). {ANEW}") from error
    if not isinstance(data, dict) or data.get("ringside") != "export":
        raise BookError(foreign)
    number = data.get("format")
    if type(number) is not int:
        raise BookError(foreign)
    if number > EXPORT_FORMAT:
        raise BookError(f"{source} was written by a newer version; update Ringside first.")
    changes, contested, desk = data.get("changes"), data.get("contested"), data.get("desk")
    if not isinstance(changes, list) or not isinstance(contested, list):
        raise BookError(foreign)
    is_formed = (
        all(isinstance(text, str) for text in (data.get("book"), desk))
        and UUID.fullmatch(data["book"])
        and (not desk or UUID.fullmatch(desk))
        and all(_is_contested(one) for one in contested)
    )
    if not is_formed:
        raise BookError(foreign)
    ids: set[str] = set()
    for place, change in enumerate(changes, 1):
        problem = _form_problem(change)
        if not problem and change["id"] in ids:
            problem = "Another one before it has its id."
        if problem:
            raise BookError(f"{source}, change {place}: {problem} {ANEW}")
        ids.add(change["id"])
    own = _as_breeds(data.get("breeds", {}))
    if own is None:
        raise BookError(f"{source} holds what is no breed file of one's own. {ANEW}")
    return {**data, "breeds": own}


def _as_breeds(texts: Any) -> Breeds | None:
    """Return the own breed files of an export; None if there is anything else among them."""
    if not isinstance(texts, dict) or len(texts) > MOST_OWN_FILES:
        return None
    try:
        own = {name: text.encode(errors="surrogateescape") for name, text in texts.items()}
    except (AttributeError, UnicodeEncodeError):
        return None
    return own if all(breeds.is_own(name, own[name]) for name in own) else None


def _is_contested(one: Any) -> bool:
    return (
        isinstance(one, dict)
        and one.keys() == {"id", "content", "received"}
        and isinstance(one["id"], str)
        and UUID.fullmatch(one["id"]) is not None
        and isinstance(one["content"], str)
        and _is_moment(one["received"])
        and _holds_change(one["content"])
    )


def _holds_change(text: str) -> bool:
    try:
        text.encode()  # half a character cannot be kept
        return rules.form_problem(json.loads(text)) is None
    except (ValueError, RecursionError):
        return False


def _is_moment(value: Any) -> bool:
    return type(value) is int and 0 <= value <= clock.LAST_MS


def _form_problem(change: Any) -> str | None:
    if not isinstance(change, dict) or change.keys() != set(COLUMNS):
        return f"It must have exactly the keys {', '.join(COLUMNS)}."
    problem = rules.form_problem(as_sent(change))
    if problem:
        return problem
    raw = change["raw"]
    if not isinstance(raw, str) or not clock.STAMP.fullmatch(raw):
        return "Its raw stamp is malformed."
    return None if _is_moment(change["received"]) else "Its moment of arrival is malformed."


def as_sent(change: dict[str, Any]) -> dict[str, Any]:
    """Return a change of an export as its device sent it."""
    return {key: change[key] for key in rules.KEYS}
