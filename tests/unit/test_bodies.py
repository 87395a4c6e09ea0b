"""Wherever bodies are listed, all of them are: a new one is missed here till it is everywhere."""

from __future__ import annotations

import re
from datetime import date
from typing import get_args

import pytest

from ringside.book.kinds.common import BODIES
from ringside.book.tables.cells import Reading
from ringside.book.tables.columns import Columns
from ringside.book.tables.dog_columns import DOG_COLUMNS
from ringside.book.tables.season_columns import SEASON_COLUMNS
from ringside.knowledge.schema import Body, GlanceBody
from tests.known import shipped
from tests.support import ROOT

ALL: tuple[str, ...] = get_args(Body)
LISTED = f"{', '.join(ALL[:-1])} or {ALL[-1]}."


def test_the_book_takes_all() -> None:
    assert BODIES == ALL


def test_each_has_its_rules_and_its_titles() -> None:
    assert {*shipped().regulations} >= {body.lower() for body in ALL}
    assert {title.body for title in shipped().titles.titles.values()} == {*ALL}


def test_a_line_of_the_card_may_be_of_each() -> None:
    assert {*get_args(GlanceBody)} == {body.lower() for body in ALL}


@pytest.mark.parametrize("columns", [DOG_COLUMNS, SEASON_COLUMNS])
def test_tables_read_each_and_say_so(columns: Columns) -> None:
    (column,) = [one for one in columns.columns if one.field.endswith("body")]
    assert column.takes.startswith(LISTED)
    assert [column.read(body, Reading({}, date.today())) for body in ALL] == [*ALL]


def test_screens_offer_each() -> None:
    options = (ROOT / "templates" / "pocket" / "options.html").read_text(encoding="utf-8")
    (macro,) = re.findall(r"macro bodies\(\).*?endmacro", options, re.DOTALL)
    assert re.findall(r'value="(\w+)"', macro) == [*ALL]
