"""How old the texts are that the knowledge rests on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from ringside.knowledge.schema import Source

OLD_YEARS = 5


def old(texts: Iterable[Source], today: date) -> Mapping[str, tuple[str, ...]]:
    """Return the texts of more than five years by body, as of `today`."""
    return _by_body(text for text in texts if text.date and _is_old(text.date, today))


def undated(texts: Iterable[Source]) -> Mapping[str, tuple[str, ...]]:
    """Return the texts without a date by body."""
    return _by_body(text for text in texts if not text.date)


def _by_body(found: Iterable[Source]) -> Mapping[str, tuple[str, ...]]:
    rows: dict[str, list[str]] = defaultdict(list)
    for text in found:
        number = f"no. {text.number}" if text.number.isdecimal() else text.number
        rows[text.body].append(", ".join(filter(None, (text.title, number, text.date))))
    return {body: tuple(sorted(names)) for body, names in sorted(rows.items())}


def _is_old(written: str, today: date) -> bool:
    """Whether the latest day that `written` can mean is more than five years before `today`."""
    limit = f"{today.year - OLD_YEARS:04}{today.isoformat()[4:]}"
    return written < limit[: len(written)]
