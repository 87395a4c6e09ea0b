"""What the regulations' loader refuses, and how it says so: file, entry, reason."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from ringside.knowledge.reading import KnowledgeError
from ringside.knowledge.regulations import facts, load_regulations, read_regulations
from tests.support import ROOT

SHIPPED = ROOT / "ringside" / "knowledge" / "regulations"

SMALL = """
body = "KC"
name = "A body"

[[edition]]
id = "one"
body = "A body"
title = "Rules"
checked = 2026-11-25
read = "copy"

[governs]
says = "The schedule decides."
clause = "1"

[ages]
decides = "first day"
says = "The first day decides."
clause = "2"

[month_end]
reading = "silent"
says = "Not spoken of."
clause = "2"

[leap_day]
reading = "silent"
says = "Not spoken of."
clause = "2"

[[class]]
id = "puppy"
name = "Puppy"
low = { age = 6, unit = "months", inclusive = true }
high = { age = 12, unit = "months", inclusive = false }
clause = "3.a"

[[class]]
id = "junior"
name = "Junior"
low = { age = 12, unit = "months", inclusive = true }
high = { age = 18, unit = "months", inclusive = false }
clause = "3.b"

[[class.condition]]
id = "wins"
how = "bars"
asks = "it has no first prize"
tally = [{ awards = ["class-first"], count = 1, not_classes = ["puppy"] }]
instead = "puppy"
clause = "3.c"

[[overlap]]
classes = ["puppy", "junior"]
allowed = false
says = "They adjoin."
clause = "3"

[[bar]]
id = "neutered"
says = "A neutered dog is barred."
effect = "barred"
verdict = "may not"
question = "neutered"
clause = "4"
"""
# A clause is never empty here, so the shortest is three characters: the fixture pads its own.
SMALL = re.sub(r'clause = "([^"]*)"', r'clause = "rule \1"\nread = "copy"', SMALL)


def problems(folder: Path, text: str, name: str = "kc.toml") -> list[str]:
    (folder / name).write_text(text, encoding="utf-8")
    found: list[str] = []
    read_regulations(folder, found)
    return found


def changed(old: str, new: str) -> str:
    assert SMALL.count(old) == 1, (old, SMALL.count(old))
    return SMALL.replace(old, new)


def test_the_small_file_is_right(tmp_path: Path) -> None:
    assert problems(tmp_path, SMALL) == []


MISSING = "is missing; every entry must have it"
REFUSED = {
    "fact without clause": (
        'clause = "rule 3.b"\n',
        "",
        f"class, number 2 (junior), clause: {MISSING}",
    ),
    "fact without provenance": (
        'clause = "rule 3.b"\nread = "copy"',
        'clause = "rule 3.b"',
        f"class, number 2 (junior), read: {MISSING}",
    ),
    "condition without clause": (
        'clause = "rule 3.c"\n',
        "",
        f"class, number 2 (junior), condition, number 1 (wins), clause: {MISSING}",
    ),
    "number without unit": (
        'low = { age = 6, unit = "months", inclusive = true }',
        "low = { age = 6, inclusive = true }",
        f"class, number 1 (puppy), low, unit: {MISSING}",
    ),
    "bound that does not say whether its day counts": (
        'low = { age = 6, unit = "months", inclusive = true }',
        'low = { age = 6, unit = "months" }',
        f"class, number 1 (puppy), low, inclusive: {MISSING}",
    ),
    "unit that is none": (
        'low = { age = 6, unit = "months", inclusive = true }',
        'low = { age = 6, unit = "moons", inclusive = true }',
        "class, number 1 (puppy), low, unit: Input should be 'years', 'months', 'weeks' or 'days'",
    ),
    "low above high": (
        'low = { age = 6, unit = "months", inclusive = true }',
        'low = { age = 2, unit = "years", inclusive = true }',
        "class, number 1 (puppy): low 2 years is not below high 12 months",
    ),
    "low in weeks above high in months": (
        'low = { age = 6, unit = "months", inclusive = true }',
        'low = { age = 60, unit = "weeks", inclusive = true }',
        "class, number 1 (puppy): low 60 weeks is not below high 12 months",
    ),
    "unknown key": (
        'name = "Junior"',
        'name = "Junior"\nminimum = 6',
        "class, number 2 (junior), minimum: "
        "is not a key we know; correct its spelling or remove it",
    ),
    "unknown class in a tally": (
        'not_classes = ["puppy"]',
        'not_classes = ["pupy"]',
        "class junior, condition wins, tally: there is no class 'pupy' in this file",
    ),
    "unknown class to move to": (
        'instead = "puppy"',
        'instead = "open"',
        "class junior, condition wins, instead: there is no class 'open' in this file",
    ),
    "unknown class in an overlap": (
        'classes = ["puppy", "junior"]',
        'classes = ["puppy", "senior"]',
        "overlap puppy, senior: there is no class 'senior' in this file",
    ),
    "overlap where the body forbids it": (
        'low = { age = 12, unit = "months", inclusive = true }',
        'low = { age = 11, unit = "months", inclusive = true }',
        "overlap puppy, junior: the ages of puppy and junior overlap, "
        "which this body does not allow",
    ),
    "overlap on one day": (
        'high = { age = 12, unit = "months", inclusive = false }',
        'high = { age = 12, unit = "months", inclusive = true }',
        "overlap puppy, junior: the ages of puppy and junior overlap, "
        "which this body does not allow",
    ),
    "overlap in units that cannot be compared": (
        'low = { age = 12, unit = "months", inclusive = true }',
        'low = { age = 52, unit = "weeks", inclusive = true }',
        "overlap puppy, junior: puppy and junior count in different units; "
        "write both in months or years, or both in weeks or days",
    ),
    "unknown edition": (
        'clause = "rule 3.b"',
        'clause = "rule 3.b"\nedition = "two"',
        "class junior: there is no edition 'two' in this file",
    ),
    "memory of a key that is not there": (
        'clause = "rule 3.b"',
        'clause = "rule 3.b"\nmemory = ["age"]',
        "class, number 2 (junior): memory names 'age', which is not a key of this entry",
    ),
    "id used twice": (
        'id = "junior"',
        'id = "puppy"',
        "class puppy: the id is used twice",
    ),
    "question nobody asks": (
        'question = "neutered"',
        'question = "spayed"',
        "bar, number 1 (neutered), question: Input should be ",
    ),
    "condition that asks nothing": (
        'tally = [{ awards = ["class-first"], count = 1, not_classes = ["puppy"] }]\n',
        "",
        "class, number 2 (junior), condition, number 1 (wins): "
        "a condition needs titles, tally, question or born_in",
    ),
    "if without what it asks": (
        'verdict = "may not"',
        'verdict = "may if"',
        "bar, number 1 (neutered): "
        "a bar that is 'may if', or of some kinds of show, must say what it asks",
    ),
    "a variant of a class that is not there": (
        'body = "KC"',
        'body = "KC"\nvariant = [{ id = "xx", where = "Xanadu", says = "It says so.", '
        'lower = { baby = 4 }, clause = "clause 1", read = "copy" }]',
        "variant (Xanadu): there is no class 'baby' in this file",
    ),
    "a variant that settles nothing": (
        'body = "KC"',
        'body = "KC"\nvariant = [{ id = "xx", where = "Xanadu", says = "It says so.", '
        'clause = "clause 1", read = "copy" }]',
        "variant, number 1 (xx): a variant needs upper or lower ages",
    ),
    "a foreign body's file": (
        'body = "KC"',
        'body = "AKC"',
        "body: AKC belongs in akc.toml",
    ),
}


@pytest.mark.parametrize("case", REFUSED.values(), ids=REFUSED)
def test_refuses_and_says_file_entry_and_reason(case: tuple[str, str, str], tmp_path: Path) -> None:
    old, new, reason = case
    found = problems(tmp_path, changed(old, new))
    assert any(problem.startswith(f"regulations/kc.toml: {reason}") for problem in found), found


def test_a_rule_on_month_ends_from_memory_decides_no_dates(tmp_path: Path) -> None:
    block = '[month_end]\nreading = "silent"\nsays = "Not spoken of."\nclause = "rule 2"\nread = '
    text = changed(f'{block}"copy"', f'{block.replace("silent", "last day")}"memory"')
    assert problems(tmp_path, text) == [
        "regulations/kc.toml: month_end: a rule on the month's end from memory would decide dates; "
        'write reading = "silent" and put it in the note'
    ]


def test_all_problems_of_all_files_come_in_one_run(tmp_path: Path) -> None:
    shutil.copytree(SHIPPED / "ckc", tmp_path / "ckc")
    (tmp_path / "akc.toml").write_text("body = ", encoding="utf-8")
    (tmp_path / "kc.toml").write_text(
        SMALL.replace('clause = "rule 3.b"\n', "").replace('clause = "rule 3.c"\n', ""),
        encoding="utf-8",
    )
    with pytest.raises(KnowledgeError) as raised:
        load_regulations(tmp_path)
    found = raised.value.problems
    assert [problem.split(":")[0] for problem in found] == [
        "regulations/akc.toml",
        "regulations/kc.toml",
        "regulations/kc.toml",
    ]
    assert "not readable as TOML" in found[0]


def test_what_is_right_is_still_returned(tmp_path: Path) -> None:
    shutil.copytree(SHIPPED / "ckc", tmp_path / "ckc")
    (tmp_path / "akc.toml").write_text("body = ", encoding="utf-8")
    found: list[str] = []
    assert list(read_regulations(tmp_path, found)) == ["ckc"]
    assert len(found) == 1


# --- a body in a folder of files


def put_parts(folder: Path, text: str) -> Path:
    """Write `text` as three files of a folder: the second class and its overlap apart."""
    body = folder / "kc"
    body.mkdir(exist_ok=True)
    first, second = text.index('[[class]]\nid = "junior"'), text.index("[[bar]]")
    (body / "body.toml").write_text(text[:first], encoding="utf-8")
    (body / "juniors.toml").write_text(text[first:second], encoding="utf-8")
    (body / "bars.toml").write_text(text[second:], encoding="utf-8")
    return body


def problems_of(folder: Path) -> list[str]:
    found: list[str] = []
    read_regulations(folder, found)
    return found


def test_a_folder_is_read_as_one_file(tmp_path: Path) -> None:
    whole, apart = tmp_path / "whole", tmp_path / "apart"
    whole.mkdir()
    apart.mkdir()
    assert problems(whole, SMALL) == []
    put_parts(apart, SMALL)
    assert load_regulations(apart) == load_regulations(whole)


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ('name = "Junior"\n', "", f"juniors.toml: class, number 1 (junior), name: {MISSING}"),
        (
            'instead = "puppy"',
            'instead = "open"',
            "juniors.toml: class junior, condition wins, instead: "
            "there is no class 'open' in this file",
        ),
        ('question = "neutered"', "sex = ", "bars.toml: not readable as TOML: "),
        ('effect = "barred"\n', "", f"bars.toml: bar, number 1 (neutered), effect: {MISSING}"),
    ],
)
def test_what_is_wrong_names_the_file_of_the_folder(
    old: str, new: str, problem: str, tmp_path: Path
) -> None:
    put_parts(tmp_path, changed(old, new))
    (found,) = problems_of(tmp_path)
    assert found.startswith(f"regulations/kc/{problem}")


def test_what_is_missing_altogether_names_the_folder(tmp_path: Path) -> None:
    body = put_parts(tmp_path, SMALL)
    (body / "bars.toml").unlink()
    assert problems_of(tmp_path) == [f"regulations/kc: bar: {MISSING}"]


def test_what_two_files_say_is_told(tmp_path: Path) -> None:
    body = put_parts(tmp_path, SMALL)
    (body / "more.toml").write_text('name = "Another"\n', encoding="utf-8")
    assert problems_of(tmp_path) == [
        "regulations/kc/more.toml: name: another file of this folder says it too"
    ]


def test_a_body_has_a_file_or_a_folder(tmp_path: Path) -> None:
    put_parts(tmp_path, SMALL)
    assert problems(tmp_path, SMALL) == [
        "regulations/kc.toml: body: a file and a folder are of this body"
    ]


def test_a_folder_without_files_is_no_body(tmp_path: Path) -> None:
    (tmp_path / "kc").mkdir()
    assert problems_of(tmp_path) == []


def test_classes_that_never_meet_may_overlap(tmp_path: Path) -> None:
    text = changed(
        'low = { age = 12, unit = "months", inclusive = true }',
        'low = { age = 11, unit = "months", inclusive = true }\nsex = "dog"',
    ).replace('name = "Puppy"', 'name = "Puppy"\nsex = "bitch"')
    assert problems(tmp_path, text) == []


def test_a_day_in_dispute_is_no_overlap(tmp_path: Path) -> None:
    text = changed(
        'high = { age = 12, unit = "months", inclusive = false }',
        'high = { age = 12, unit = "months", inclusive = "silent" }',
    )
    assert problems(tmp_path, text) == []


def test_the_shipped_regulations_load() -> None:
    regulations = load_regulations(SHIPPED)
    assert set(regulations) == {"fci", "akc", "kc", "ckc", "da"}
    with pytest.raises(TypeError):
        regulations["kc"] = regulations["akc"]  # type: ignore[index]


@pytest.mark.parametrize("body", ["fci", "akc", "kc", "ckc", "da"])
def test_every_fact_has_its_clause_and_how_it_was_read(body: str) -> None:
    regulation = load_regulations(SHIPPED)[body]
    editions = {edition.id for edition in regulation.edition}
    names = []
    for name, fact in facts(regulation):
        names.append(name)
        assert len(fact.clause) >= 3, name
        assert fact.read in ("copy", "secondary", "memory"), name
        assert fact.edition is None or fact.edition in editions, name
    assert len(set(names)) == len(names)
    assert len(names) > 30


@pytest.mark.parametrize("body", ["fci", "akc", "kc", "ckc", "da"])
def test_a_fact_is_never_read_better_than_its_edition(body: str) -> None:
    """A secondary edition has no copied facts, unless its note says that parts were read."""
    regulation = load_regulations(SHIPPED)[body]
    editions = {edition.id: edition for edition in regulation.edition}
    for name, fact in facts(regulation):
        edition = editions[fact.edition or regulation.edition[0].id]
        if fact.read == "copy" and edition.read != "copy":
            assert edition.note, name
