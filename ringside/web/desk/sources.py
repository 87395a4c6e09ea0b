"""Where everything on the card comes from, by body."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from itertools import groupby
from typing import Any

from flask import Blueprint, render_template

from ringside.domain.pack import sources_book
from ringside.knowledge.regulation_schema import Regulation
from ringside.web.library import Library

READ = {
    "": "a copy",
    "copy": "a copy",
    "secondary": "a second-hand account",
    "memory": "memory",
}


def make_sources(library: Library) -> Blueprint:
    """Return the route of the page of sources."""
    routes = Blueprint("sources", __name__, url_prefix="/sources")

    @routes.get("")
    def page() -> str:
        data = sources_book(library.knowledge)
        return render_template(
            "desk/sources.html",
            root=library.edition().build.root,
            bodies=_bodies(data["sources"]),
            total=len(data["sources"]),
            common=data["common"],
            memory=data["memory"],
            changes=_changes(library.knowledge.regulations),
        )

    return routes


def _changes(regulations: Mapping[str, Regulation]) -> list[dict[str, Any]]:
    """Return what the bodies changed in their rules, the newest first, by body."""
    return [
        {
            "name": rules.name,
            "rows": [
                {
                    "date": _day(row.date),
                    "says": row.says,
                    "clause": row.clause,
                    "read": READ[row.read],
                }
                for row in sorted(rules.change, key=lambda row: row.date, reverse=True)
            ],
        }
        for rules in sorted(regulations.values(), key=lambda rules: rules.name)
        if rules.change
    ]


def _bodies(rows: list[dict[str, str]]) -> list[dict[str, Any]]:
    """Return the bodies by name, each with an anchor and its texts."""
    named = sorted(rows, key=lambda row: (row["body"].casefold(), row["title"].casefold()))
    return [
        {
            "name": body,
            "anchor": re.sub(r"\W+", "-", body.casefold()).strip("-"),
            "texts": [_text(row) for row in texts],
        }
        for body, texts in groupby(named, key=lambda row: row["body"])
    ]


def _text(row: dict[str, str]) -> dict[str, str]:
    words = {"read": READ[row.get("read", "")], "checked": _day(row["checked"])}
    return {**row, **words, "date": _day(row.get("date", ""))}


def _day(written: str) -> str:
    """Put YYYY, YYYY-MM or YYYY-MM-DD into words."""
    if len(written) <= 4:
        return written
    day = date.fromisoformat(f"{written}-01"[:10])
    return f"{day.day} {day:%B %Y}" if len(written) == 10 else f"{day:%B %Y}"
