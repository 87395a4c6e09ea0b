"""What the loader of titles refuses, and how it says so: file, entry, reason, all in one run."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import get_args

import pytest

from ringside.knowledge.reading import KnowledgeError
from ringside.knowledge.schema import Body
from ringside.knowledge.titles import load_titles
from tests.support import ROOT

SHIPPED = ROOT / "ringside" / "knowledge" / "titles"

RULE = 'source = "rules", clause = "clause 1", read = "copy"'
FILE = f"""
body = "DA"
caveat = "The schedule governs."

[[source]]
id = "rules"
body = "A body"
title = "Rules of the body"
checked = 2026-01-01
read = "copy"

[[award]]
id = "cc"
name = "Certificate"
from_months = 6
source = "rules"
clause = "clause 1"
read = "copy"

[[scheme]]
id = "sum"
kinds = ["cc"]
per_show = "highest"
max_per_award = 5
source = "rules"
clause = "clause 2"
read = "copy"

[[schedule]]
scheme = "sum"
year = 2026
valid_from = 2026-05-01
valid_to = 2027-04-30
division = "1"
breed = "Moor Hound"
sex = "dog"
needed = [2, 8, 14]
source = "rules"
clause = "clause 3"
read = "copy"

[[title]]
id = "da-ch"
name = "Champion"

[[title.route]]
name = "three"
judges = {{ at_least = 3, {RULE} }}

[[title.route.awards]]
kinds = ["cc"]
count = 3
one = "CC"
many = "CCs"
source = "rules"
clause = "clause 4"
read = "copy"

[[title]]
id = "da-grand"
name = "Grand Champion"

[[title.route]]
name = "points"
points = {{ scheme = "sum", at_least = 100, {RULE} }}
wins = {{ at_least = 2, min_points = 3, judges = 2, one = "major", many = "majors", {RULE} }}
needs = [{{ title = "da-ch", {RULE} }}]
"""

Problems = Callable[[str], list[str]]


@pytest.fixture
def problems(tmp_path: Path) -> Problems:
    """What is wrong with a file of this text; nothing if it loads."""

    def load(text: str) -> list[str]:
        (tmp_path / "da.toml").write_text(text, encoding="utf-8")
        try:
            load_titles(tmp_path)
        except KnowledgeError as error:
            return error.problems
        return []

    return load


def test_a_sound_file_loads(problems: Problems) -> None:
    assert problems(FILE) == []


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (
            'clause = "clause 4"\n',
            "",
            "title, number 1 (da-ch), route, number 1, awards, number 1, clause: "
            "is missing; every entry must have it",
        ),
        (
            'clause = "clause 4"\nread = "copy"',
            'clause = "clause 4"',
            "title, number 1 (da-ch), route, number 1, awards, number 1, read: "
            "is missing; every entry must have it",
        ),
        (
            'clause = "clause 4"\nread = "copy"',
            'clause = "clause 4"\nread = "hearsay"',
            "title, number 1 (da-ch), route, number 1, awards, number 1, read: "
            "Input should be 'copy', 'secondary' or 'memory'",
        ),
        (
            'source = "rules"\nclause = "clause 4"',
            'source = "elsewhere"\nclause = "clause 4"',
            "title da-ch, three: there is no source 'elsewhere' in this file",
        ),
        (
            "count = 3",
            "counts = 3",
            "title, number 1 (da-ch), route, number 1, awards, number 1, counts: "
            "is not a key we know; correct its spelling or remove it",
        ),
        (
            'kinds = ["cc"]\ncount = 3',
            'kinds = ["ccc"]\ncount = 3',
            "title da-ch, three: there is no award 'ccc' in this file",
        ),
        (
            'kinds = ["cc"]\nper_show',
            'kinds = ["ccc"]\nper_show',
            "scheme sum: there is no award 'ccc' in this file",
        ),
        (
            'points = { scheme = "sum"',
            'points = { scheme = "other"',
            "title da-grand, points: there is no scheme 'other' in this file",
        ),
        (
            'title = "da-ch"',
            'title = "da-grand"',
            "title da-grand, points: there is no title 'da-grand' above this one in the file",
        ),
        ('id = "da-grand"', 'id = "da-ch"', "title da-ch: the id is used twice"),
        ("count = 3", "count = 2", "3 judges cannot come from 2 awards"),
        ("count = 3", "count = 4", "without countries each award must come from another judge"),
        (
            "judges = { at_least = 3",
            f"interval = {{ {RULE} }}\njudges = {{ at_least = 3",
            "an interval needs years, months or days",
        ),
        (
            'name = "three"',
            f'name = "three"\nwins = {{ at_least = 2, min_points = 3, one = "a win", '
            f'many = "wins", {RULE} }}',
            "wins, minimum and champions need points",
        ),
        ("judges = 2", "judges = 3", "3 judges cannot give 2 wins"),
        ("[2, 8, 14]", "[2, 8, 8]", "the numbers [2, 8, 8] do not rise"),
        ("2027-04-30", "2025-04-30", "ends on 2025-04-30, before it begins on 2026-05-01"),
        (
            "from_months = 6",
            "from_months = 6\nbefore_months = 6",
            "from 6 months is not below 6 months",
        ),
        (
            'points = { scheme = "sum"',
            'nothing = { scheme = "sum"',
            "title, number 2 (da-grand), route, number 1, nothing: is not a key we know",
        ),
        ('body = "DA"', 'body = "XX"', "body: Input should be 'FCI'"),
        (
            'name = "Grand Champion"',
            f'name = "Grand Champion"\nunread = {{ says = "Not read: ask.", {RULE} }}',
            "a title needs a route, or `unread` where none was read",
        ),
        ("max_per_award = 5", "max_per_award = 0", "scheme, number 1 (sum), max_per_award: "),
        ('body = "DA"', 'body = "DA', "not readable as TOML"),
    ],
)
def test_what_is_refused(problems: Problems, old: str, new: str, problem: str) -> None:
    assert FILE.count(old) == 1
    found = problems(FILE.replace(old, new))
    assert any(problem in line for line in found), found
    assert all(line.startswith("titles/da.toml: ") for line in found)


def test_all_problems_are_told_in_one_run(tmp_path: Path) -> None:
    shutil.copytree(SHIPPED, tmp_path, dirs_exist_ok=True)
    (tmp_path / "da.toml").write_text(FILE.replace("count = 3", "count = 2"), encoding="utf-8")
    (tmp_path / "kc.toml").write_text("x = ", encoding="utf-8")
    (tmp_path / "second.toml").write_text(
        FILE.replace('"da-ch"', '"fci-cib"').replace('"DA"', '"FCI"'), encoding="utf-8"
    )
    with pytest.raises(KnowledgeError) as caught:
        load_titles(tmp_path)
    found = "\n".join(caught.value.problems)
    assert "titles/da.toml: title, number 1 (da-ch)" in found
    assert "titles/kc.toml: not readable as TOML" in found
    assert "titles/second.toml: body FCI: another file is of this body" in found
    assert "titles/second.toml: title fci-cib: the id is used twice" in found


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="there is no title file"):
        load_titles(tmp_path)


def test_the_shipped_files_hold_every_bodys_champion() -> None:
    book = load_titles()
    assert set(book.kinds) == set(get_args(Body))
    assert {"fci-cib", "fci-cie", "akc-ch", "kc-ch", "ckc-ch", "da-ch"} <= set(book.titles)
    for title in book.titles.values():
        assert title.id.startswith(f"{title.body.lower()}-")


def test_the_digest_follows_the_files(tmp_path: Path) -> None:
    (tmp_path / "da.toml").write_text(FILE, encoding="utf-8")
    first = load_titles(tmp_path).digest
    assert load_titles(tmp_path).digest == first
    (tmp_path / "da.toml").write_text(FILE + "# changed\n", encoding="utf-8")
    assert load_titles(tmp_path).digest != first
