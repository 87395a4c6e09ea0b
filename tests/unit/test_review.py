"""What the review finds, and what it lets be; and how `ringside check` puts it into words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from ringside import cli
from ringside.knowledge import Knowledge, load
from ringside.knowledge.own import OWN_BREEDS
from ringside.knowledge.review import Review, bites, review, texts
from ringside.knowledge.schema import Breed

SHIPPED = load()
TODAY = date(2026, 11, 25)
STANDARD = {"of": "FCI", "body": "A body", "title": "A standard", "checked": date(2026, 1, 1)}


def breed(*asks: dict[str, Any], standards: Iterable[dict[str, Any]] = ()) -> Breed:
    made = [
        {"point": "size", "standard": "fci", "weight": "required", "says": "x y"} | ask
        for ask in asks
    ]
    return Breed.model_validate(
        {
            "name": "Moor Hound",
            "examined_on": "ground",
            "examined_on_source": "common practice",
            "short_faced": False,
            "build": "square",
            "standard": [*standards]
            or [{"id": "fci", **STANDARD}, {"id": "kc", **STANDARD, "of": "KC"}],
            "ask": made,
        }
    )


def knowing(made: Breed) -> Knowledge:
    """Knowledge of one breed, and of no text but its own."""
    titles = replace(SHIPPED.titles, titles={})
    chips = SHIPPED.chips.model_copy(update={"source": ()})
    return replace(
        SHIPPED, breeds={"moor-hound": made}, sources={}, regulations={}, titles=titles, chips=chips
    )


def found(*asks: dict[str, Any]) -> tuple[str, ...]:
    return review(knowing(breed(*asks)), TODAY).contradictions


# --- two ranges


def size(low: float | None, high: float | None, unit: str = "cm", **more: Any) -> dict[str, Any]:
    sex = more.pop("sex", "both")
    what = more.pop("what", "height at withers")
    number = {"what": what, "low": low, "high": high, "unit": unit, "sex": sex}
    return {"says": f"{low} to {high} {unit}", "number": number, **more}


APART = {
    "two ranges": (size(40, 45), size(50, 55)),
    "in the other order": (size(50, 55), size(40, 45)),
    "an open one below": (size(None, 45), size(50, 55)),
    "two open ones": (size(None, 45), size(50, None)),
    "two units": (size(40, 45), size(20, 22, "in")),
    "two units of weight": (size(5, 6, "kg"), size(20, 22, "lb")),
    "for both, and for one sex": (size(40, 45), size(50, 55, sex="bitch")),
    "of one variety": (size(40, 45, variety="Toy"), size(50, 55, variety="Toy")),
    "of one other weight": (size(40, 45, weight="preferred"), size(50, 55, weight="preferred")),
    "named in other letters": (size(40, 45), size(50, 55, what="Height at withers")),
}
TOGETHER = {
    "one inside the other": (size(40, 55), size(45, 50)),
    "touching": (size(40, 45), size(45, 50)),
    "the same in another unit": (size(38, 38), size(15, 15, "in")),
    "for each sex": (size(40, 45, sex="bitch"), size(50, 55, sex="dog")),
    "for two varieties": (size(40, 45, variety="Toy"), size(50, 55, variety="Large")),
    "of two standards": (size(40, 45), size(50, 55, standard="kc")),
    "of two weights": (size(40, 45, weight="preferred"), size(50, 55)),
    "of two measures": (size(40, 45), size(50, 55, what="length")),
    "in units that have nothing in common": (size(40, 45), size(5, 6, "kg")),
    "a line without a number": (size(40, 45), {}),
}


@pytest.mark.parametrize("asks", APART.values(), ids=APART.keys())
def test_ranges_that_do_not_meet(asks: tuple[dict[str, Any], ...]) -> None:
    (problem,) = found(*asks)
    assert problem.startswith("moor-hound.toml: standard fci: two ranges for ")
    assert all(ask["says"] in problem for ask in asks)


@pytest.mark.parametrize("asks", TOGETHER.values(), ids=TOGETHER.keys())
def test_ranges_that_may_stand_together(asks: tuple[dict[str, Any], ...]) -> None:
    assert found(*asks) == ()


# --- two bites


def bite(says: str, **more: Any) -> dict[str, Any]:
    return {"point": "bite", "says": says, **more}


TWO_BITES = [
    ("Scissor bite.", "Level bite."),
    ("Complete scissors bite, 42 teeth.", "Incisors meet in a pincer bite."),
    ("Undershot; chin seen.", "Perfect scissor bite."),
    ("Slightly under-shot.", "Slightly overshot."),
    ("Scissors or level bite.", "Undershot."),
    ("Bite even.", "Undershot, jaw curved up."),
]
ONE_BITE = [
    ("Scissor bite; a level bite is tolerated.", "Level bite."),
    ("Scissor bite.", "A level bite is accepted."),
    ("Scissor bite.", "Neither undershot nor overshot."),
    ("Scissor bite.", "Jaws level."),
    ("Scissor bite.", "Strong level jaws, lips level."),
    ("Scissor bite.", "Full, even scissor bite."),
    ("Undershot or level bite.", "Undershot with a broad jaw."),
    ("Scissor bite.", "Not undershot."),
    ("Scissor bite.", "Six incisors in a row."),
]


@pytest.mark.parametrize(("one", "other"), TWO_BITES)
def test_two_bites_required(one: str, other: str) -> None:
    (problem,) = found(bite(one), bite(other))
    assert problem == (
        f"moor-hound.toml: standard fci: two different bites are required: “{one}” and “{other}”"
    )


@pytest.mark.parametrize(("one", "other"), ONE_BITE)
def test_bites_that_may_stand_together(one: str, other: str) -> None:
    assert found(bite(one), bite(other)) == ()


@pytest.mark.parametrize(
    "more",
    [{"weight": "preferred"}, {"weight": "fault"}, {"standard": "kc"}, {"point": "head"}],
)
def test_a_bite_that_is_no_requirement_of_the_same_standard(more: dict[str, Any]) -> None:
    assert found(bite("Scissor bite."), bite("Level bite.", **more)) == ()


def test_varieties_may_ask_for_bites_of_their_own_but_not_against_the_breeds() -> None:
    toy, large = bite("Level bite.", variety="Toy"), bite("Scissor bite.", variety="Large")
    assert found(toy, large) == ()
    assert len(found(toy, bite("Scissor bite."))) == 1


def test_what_a_line_asks_for_and_what_it_puts_up_with() -> None:
    asked, good = bites("Scissor bite; a level bite is accepted but not wanted.")
    assert (asked, good) == ({"scissors"}, {"scissors", "level"})


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


def test_the_shipped_knowledge_does_not_contradict_itself() -> None:
    assert review(SHIPPED, TODAY).contradictions == ()


# --- the command


def test_check_tells_notes_and_is_content(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check"]) == 0
    said = capsys.readouterr().out
    assert "nothing wrong found." in said
    assert "Facts without a source: none" in said
    assert "Contradictions within a standard: none" in said
    assert "Asks from memory: " in said
    assert "Breed standard, Pug, 2008-06-03" not in said


def test_check_names_the_texts_if_asked(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "--all"]) == 0
    assert "Breed standard, Pug, 2008-06-03" in capsys.readouterr().out


def test_check_fails_for_a_contradiction(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = breed(bite("Scissor bite."), bite("Level bite."))
    monkeypatch.setattr(cli, "load", lambda own=None: knowing(made))
    assert cli.main(["check"]) == 1
    said = capsys.readouterr().out
    assert "1 wrong found." in said
    assert "two different bites are required" in said


def test_check_fails_for_an_own_file_that_is_left_out(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / OWN_BREEDS).mkdir()
    (tmp_path / OWN_BREEDS / "fen-hound.toml").write_text("name = ", encoding="utf-8")
    cli.main(["check", "--data", str(tmp_path)])  # there is no book, which is another matter
    said = capsys.readouterr().out
    assert "Own files left out: 1" in said
    assert "fen-hound.toml: not readable as TOML" in said
