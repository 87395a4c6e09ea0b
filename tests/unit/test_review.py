"""What the review finds, and what it lets be; and how `ringside check` puts it into words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from ringside import cli
from ringside.cli import check
from ringside.knowledge import Knowledge
from ringside.knowledge.breeds import Breeds
from ringside.knowledge.own import OWN_BREEDS
from ringside.knowledge.review import Review, review
from ringside.knowledge.schema import Breed
from ringside.knowledge.texts import texts
from tests.known import shipped

SHIPPED = shipped()
TODAY = date(2026, 11, 25)
STANDARD = {"of": "FCI", "body": "A body", "title": "A standard", "checked": date(2026, 1, 1)}


def breed(*asks: dict[str, Any], standards: Iterable[dict[str, Any]] = (), **more: Any) -> Breed:
    made = [
        {"point": "size", "standard": "fci", "weight": "required", "says": "x y"} | ask
        for ask in asks
    ]
    default = [
        {"id": "fci", **STANDARD},
        {"id": "fci-rules", **STANDARD, "title": "Rules"},
        {"id": "kc", **STANDARD, "of": "KC"},
    ]
    data = {
        "name": "Moor Hound", "examined_on": "ground", "examined_on_source": "common practice",
        "short_faced": False, "build": "square", "standard": [*standards] or default, "ask": made,
    }  # fmt: skip
    return Breed.model_validate(data | more)


def knowing(made: Breed, own: Breed | None = None) -> Knowledge:
    """Knowledge of one breed and one of the handler's own, and of no text but theirs."""
    titles = replace(SHIPPED.titles, titles={})
    chips = SHIPPED.chips.model_copy(update={"source": ()})
    breeds = Breeds({}, {"moor-hound": made} | ({"own-moor-hound": own} if own else {}))
    return replace(SHIPPED, breeds=breeds, sources={}, regulations={}, titles=titles, chips=chips)


# --- age, dates and memory


def dated(*dates: str) -> Review:
    standards = [
        {"id": f"s{number}", **STANDARD, "title": f"Standard {number}", "date": day}
        for number, day in enumerate(dates)
    ]
    return review(knowing(breed({"standard": "s0"}, standards=standards)), TODAY)


@pytest.mark.parametrize("day", ["2021-11-24", "2021-10", "2020", "1999-01-01"])
def test_a_text_of_more_than_five_years(day: str) -> None:
    assert dated(day).old == {"A body": (f"Standard 0, {day}",)}


@pytest.mark.parametrize("day", ["2021-11-25", "2021-11", "2021", "2026-11-25"])
def test_a_text_that_may_be_younger(day: str) -> None:
    assert dated(day).old == {}


def test_a_leap_day_has_its_five_years() -> None:
    standards = [{"id": "fci", **STANDARD, "date": "2023-02-28"}]
    known = knowing(breed({}, standards=standards))
    assert review(known, date(2028, 2, 29)).old
    assert not review(known, date(2028, 2, 28)).old


def test_a_text_without_a_date_is_told_apart() -> None:
    seen = dated("", "2001")
    assert seen.undated == {"A body": ("Standard 0",)}
    assert seen.old == {"A body": ("Standard 1, 2001",)}


def test_asks_from_memory_are_counted_by_breed() -> None:
    known = knowing(breed({"read": "memory"}, {"read": "copy"}, {"read": "memory"}))
    assert review(known, TODAY).memory == {"Moor Hound": 2}


def test_each_text_is_told_once() -> None:
    keys = [(text.body, text.title, text.number, text.date) for text in texts(SHIPPED)]
    assert len(keys) == len(set(keys)) > 100


# --- what was read, and what was not


def barring(read: str, says: str, **more: Any) -> dict[str, Any]:
    return {"weight": "disqualifying", "read": read, "says": says, **more}


def test_disqualifications_that_were_not_read_in_a_copy_are_told_by_how_they_are_known() -> None:
    made = breed(
        barring("memory", "Blue eyes.", standard="kc"),
        barring("secondary", "Docked tail."),
        barring("copy", "Wry mouth."),
        {"read": "memory", "says": "Deep chest."},
    )
    found = review(knowing(made, own=made), TODAY)
    assert found.barring == {
        "memory": {"Moor Hound": ("KC: Blue eyes.",), "Moor Hound (own)": ("KC: Blue eyes.",)},
        "secondary": {
            "Moor Hound": ("FCI: Docked tail.",), "Moor Hound (own)": ("FCI: Docked tail.",)
        },
    }  # fmt: skip
    assert found.memory == {"Moor Hound": 2, "Moor Hound (own)": 2}


def test_points_are_counted_by_body_if_they_were_read() -> None:
    made = breed(
        {"point": "head"},
        {"point": "head", "read": "secondary", "standard": "fci-rules"},
        {"point": "tail", "read": "secondary"},
        {"point": "coat", "read": "memory"},
        {"point": "coat", "read": "memory", "standard": "kc"},
    )
    assert review(knowing(made), TODAY).coverage == {"Moor Hound": {"FCI": 2, "KC": 0}}


def lacking(*points: str, **more: Any) -> dict[str, int]:
    made = breed(*({"point": point} for point in points), **more)
    counts = review(knowing(made), TODAY).without_glance
    return {station: number for station, number in counts.items() if number}


def test_a_glance_line_lacks_where_the_fci_asks_something() -> None:
    assert lacking("head", "size", "colour", "movement", "temperament", "testes") == {
        "head": 1, "outline": 1, "shoulders": 1, "movement": 1,
    }  # fmt: skip
    lines = {"fci": {"head": "Broad skull", "movement": "Long stride"}}
    assert lacking("head", "movement", "ears", glance=lines) == {"ears": 1}
    assert lacking("head", glance={"kc": {"head": "Broad skull"}}) == {"head": 1}


def test_where_the_fci_has_no_standard_any_bodys_line_serves() -> None:
    only = [{"id": "fci", **STANDARD, "of": "KC"}]
    assert lacking("head", standards=only) == {"head": 1}
    assert lacking("head", standards=only, glance={"kc": {"head": "Broad skull"}}) == {}


# --- the command


def words(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    status = cli.main(["check", *arguments])
    return status, capsys.readouterr().out


def test_check_says_what_was_checked_and_no_more(capsys: pytest.CaptureFixture[str]) -> None:
    status, said = words(capsys)
    assert status == 0
    assert "Contradictions between two asks of one body: none" in said
    assert "No errors. This checks the form of every file" in said
    assert "Only its text" in said
    assert "nothing wrong" not in said
    assert "Breed standard, Pug, 2008-06-03" not in said


def test_what_may_keep_a_dog_out_comes_first(capsys: pytest.CaptureFixture[str]) -> None:
    _, said = words(capsys)
    heads = [
        "Errors", "Disqualifications from memory: ", "Disqualifications from a second-hand account",
        "Asks from memory: ", "Points of the card, of 20", "Glance lines missing", "Texts, for",
    ]  # fmt: skip
    places = [said.index(head) for head in heads]
    assert places == sorted(places)
    memory = review(shipped(), TODAY).barring["memory"]
    lines = [f"{name}, {line}" for name, told in memory.items() for line in told]
    assert lines
    assert all(line in said for line in lines)


def test_coverage_is_a_table_of_breeds_and_bodies(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = breed({"point": "head"}, {"point": "tail"}, {"point": "tail", "standard": "kc"})
    only = breed({"point": "head"}, standards=[{"id": "fci", **STANDARD}])
    monkeypatch.setattr(check, "load_whole", lambda own=None: knowing(made, only))
    _, said = words(capsys)
    rows = [line.split() for line in said.splitlines()]
    assert ["FCI", "KC"] in rows
    assert ["Moor", "Hound", "2", "1"] in rows
    assert ["Moor", "Hound", "(own)", "1", "."] in rows
    assert "FCI: 2 breeds, 8% of their points" in said
    assert "KC: 1 breeds, 5% of their points" in said


def test_check_names_all_if_asked(capsys: pytest.CaptureFixture[str]) -> None:
    _, said = words(capsys, "--all")
    assert "Breed standard, Pug, no. 253, 2024-11-05" in said or "Breed standard, Pug" in said
    secondary = review(shipped(), TODAY).barring["secondary"]
    assert all(f"{name}, {line}" in said for name, told in secondary.items() for line in told)


def test_check_fails_for_a_contradiction(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = breed(
        {"point": "bite", "says": "Scissor bite."}, {"point": "bite", "says": "Level bite."}
    )
    monkeypatch.setattr(check, "load_whole", lambda own=None: knowing(made))
    status, said = words(capsys)
    assert status == 1
    assert "1 error. " in said
    assert "breeds/moor-hound.toml: standard fci: two different bites are required" in said


def test_check_fails_for_an_own_file_that_is_left_out(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / OWN_BREEDS).mkdir()
    (tmp_path / OWN_BREEDS / "fen-hound.toml").write_text("name = ", encoding="utf-8")
    cli.main(["check", "--data", str(tmp_path)])  # there is no book, which is another matter
    said = capsys.readouterr().out
    assert "Own files left out: 1" in said
    assert "fen-hound.toml: not readable as TOML" in said
    assert "1 error. " in said
