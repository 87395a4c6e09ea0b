"""A breed held to a text: figures, words in a row, and how many faults keep a dog out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from ringside import cli
from ringside.knowledge.review.against_text import against_text, bullets
from ringside.knowledge.review.figures import figures, figures_of
from tests.unit.test_knowledge import BREED
from tests.unit.test_review import breed

TEXT = """
# MOOR HOUND

FCI-Standard N° 999

## IMPORTANT PROPORTIONS
The length of body is to the height as 10 is to 9. The muzzle takes up two fifths of the head,
its depth half of its length, and is as long as wide. Upper arm and blade form a right angle.

## SIZE
Height at the withers: Dogs 60 - 65 cm, bitches 56–61 cm, with a tolerance of 2 cm either way.
Weight: about 25 1/2 kg; white on no more than 10 % of the coat, a spot of ¼ inch. Forty-two teeth.

## FAULTS
- Light eyes. - Long ears.

## ELIMINATING FAULTS
•
Wry mouth seen from
the front.
• Any missing incisor.
- Height more than 3 cm outside of the limits.

## N.B.
• Male animals should have two testicles.
"""


def looked_at(*asks: dict[str, Any], text: str = TEXT) -> list[str]:
    return [*against_text(breed(*asks), "fci", text)]


def measure(says: str, low: float | None, high: float | None, unit: str) -> dict[str, Any]:
    number = {"what": "a measure", "low": low, "high": high, "unit": unit}
    return {"says": says, "number": number}


BARRING = [{"weight": "disqualifying", "says": f"Fault {word}."} for word in ("a", "b", "c")]

# --- figures

FOLLOWS = {
    "as it stands": measure("Dogs of that height.", 60, 65, "cm"),
    "with the tolerance": measure("Dogs, all in.", 58, 67, "cm"),
    "beyond the limits": measure("Bitches out of it.", 53, 64, "cm"),
    "a ratio": measure("Length to height.", 1.11, None, "ratio"),
    "a ratio the other way": measure("Height to length.", 0.9, None, "ratio"),
    "a ratio as a percentage": measure("Length to height.", 111.1, None, "% of height"),
    "a share in words": measure("Muzzle to head.", 0.4, None, "ratio"),
    "a share as a percentage": measure("Muzzle to head.", 40, None, "% of head"),
    "half": measure("Depth to length.", 0.5, 0.5, "ratio"),
    "what is equal": measure("Width to length.", 1, 1, "ratio"),
    "a right angle": measure("Arm and blade.", 90, 90, "degrees"),
    "a mixed fraction": measure("Weight.", 25.5, None, "kg"),
    "a fraction by its sign": measure("A spot.", None, 0.25, "in"),
    "a percentage": measure("White.", None, 0.1, "ratio"),
    "counted in words": measure("Teeth.", 42, 42, "teeth"),
    "none": measure("No white.", None, 0, "cm"),
    "told in words alone": {"says": "Dogs 60 to 65 cm, 2 cm either way; length to height 10 to 9."},
    "no figure": {"says": "Deep chest, PM1 may lack."},
}
DOES_NOT = {
    "a slip": (measure("Dogs.", 60, 66, "cm"), "66"),
    "a range turned round": (measure("Dogs.", 50, None, "cm"), "50"),
    "another ratio": (measure("Length to height.", 1.2, None, "ratio"), "1.2"),
    "a percentage for a measure": (measure("Dogs.", 111, None, "cm"), "111"),
    "a figure in the words": ({"says": "Dogs 60 to 64.5 cm."}, "64.5"),
    "half an inch": ({"says": "A spot of 1/2 inch or 3/8."}, "0.375"),
}


@pytest.mark.parametrize("ask", FOLLOWS.values(), ids=FOLLOWS.keys())
def test_a_figure_that_stands_in_the_text_or_follows(ask: dict[str, Any]) -> None:
    assert looked_at(ask, *BARRING) == []


@pytest.mark.parametrize(("ask", "figure"), DOES_NOT.values(), ids=DOES_NOT.keys())
def test_a_figure_that_does_not(ask: dict[str, Any], figure: str) -> None:
    assert looked_at(ask, *BARRING) == [
        f"ask ({ask['says']}): {figure} neither stands in the text nor follows from it"
    ]


def test_every_figure_of_an_ask_is_told() -> None:
    found = looked_at(measure("Dogs 71 cm.", 70, 71, "cm"), *BARRING)
    assert [line.split(": ")[1].split()[0] for line in found] == ["70", "71"]


def test_the_figures_of_a_line() -> None:
    assert figures("2.5 cm, 1,5 cm, 3 1/2 or 1/4 in, 2½, 10:9, PM1 and 12cm") == [
        2.5, 1.5, 3.5, 0.25, 2.5, 10, 9, 12,
    ]  # fmt: skip


def test_a_tolerance_needs_a_word_and_a_unit_near_it() -> None:
    assert figures_of("Dogs 60 cm, plus or minus 2 cm.").have(62, "cm")
    assert figures_of("Dogs 60 cm, ± 2 cm.").have(58, "cm")
    assert not figures_of("Dogs 60 cm, tail 2 cm thick.").have(62, "cm")
    assert not figures_of("Dogs 60 cm. Above all, 2 eyes.").have(62, "cm")


# --- words


def test_six_words_in_a_row_are_no_longer_ours() -> None:
    copied = {"says": "Wry mouth, seen from the FRONT!"}
    assert looked_at(copied, *BARRING) == [
        "ask (Wry mouth, seen from the FRONT!): 6 words in a row are the text's: "
        "“wry mouth seen from the front”"
    ]
    assert looked_at({"says": "Wry mouth, from the front seen."}, *BARRING) == []
    assert looked_at({"says": "Mouth seen from the front."}, *BARRING) == []


# --- what keeps a dog out


@pytest.mark.parametrize("count", [0, 2, 3, 4])
def test_disqualifications_are_as_many_as_the_text_lists(count: int) -> None:
    asks = [{"weight": "disqualifying", "says": "A fault."} for _ in range(count)]
    found = looked_at({"says": "Deep chest."}, *asks)
    expected = f"disqualifying: {count} asks, but the text lists 3 faults as eliminating"
    assert [line.split(";")[0] for line in found] == ([expected] if count < 3 else [])


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("Disqualifications\n- one\n- two\n", 2),
        ("ELIMINATING FAULTS:\n\n• one\n• two\n\nThe latest amendments are in bold\n• three", 2),
        ("### DISQUALIFYING FAULTS :\n* one\nwell-\nknown - dash\n### N.B.:\n* two", 1),
        ("These may be disqualified.\n\nEliminating faults\n- one\n- two\n- three\n", 3),
        ("No such list.", 0),
    ],
)
def test_the_points_of_a_list(text: str, count: int) -> None:
    assert bullets(text) == count


# --- the standard, and the command


def test_only_the_asks_of_the_texts_standard_are_held_to_it() -> None:
    other = {"standard": "kc", "says": "Dogs 70 cm."}
    assert looked_at(other, *BARRING) == []
    with pytest.raises(ValueError, match="there is no standard 'akc' in this file"):
        [*against_text(breed(other), "akc", TEXT)]


@pytest.fixture
def own(tmp_path: Path) -> Path:
    path = tmp_path / "otter-hound.toml"
    path.write_text(BREED, encoding="utf-8")
    return path


def told(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str]:
    status = cli.main(["check", *map(str, arguments)])
    out, err = capsys.readouterr()
    return status, out + err


def test_the_command_holds_a_file_to_a_text(
    own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = tmp_path / "text.md"
    text.write_text("Height: 50 to 60 cm for dogs.", encoding="utf-8")
    assert told(capsys, "--text", text, own) == (
        0, f"{own}, standard fci: no places to look at.\n"
    )  # fmt: skip
    text.write_text("Height: 50 to 61 cm for dogs.", encoding="utf-8")
    status, said = told(capsys, "--text", text, own)
    assert status == 1
    assert "60 neither stands in the text" in said
    assert "1 place to look at." in said


def test_the_command_finds_a_shipped_breed_by_its_id(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "text.md").write_text("Nothing.", encoding="utf-8")
    status, said = told(capsys, "--text", tmp_path / "text.md", "pug", "--standard", "akc")
    assert status == 1
    assert "pug, standard akc: " in said


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (("text.md", "unheard-of"), "There is no breed 'unheard-of'"),
        (("text.md", "missing.toml"), "missing.toml: cannot be read"),
        (("missing.md", "pug"), "missing.md cannot be read"),
        (
            ("text.md", "pug", "--standard", "ckc"),
            "there is no standard 'ckc' in this file; choose one",
        ),
    ],
)
def test_the_command_says_what_is_wrong_with_what_it_was_given(
    arguments: tuple[str, ...],
    problem: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "text.md").write_text("Nothing.", encoding="utf-8")
    status, said = told(capsys, "--text", *arguments)
    assert status == 2
    assert problem in said
