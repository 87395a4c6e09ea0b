"""The one line of what is asked: where it comes from, and that it always has room."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from ringside.domain.dog import Dog
from ringside.domain.pack import pack
from ringside.knowledge.schema import Ask, Breed, Number
from tests.each import of_each
from tests.known import shipped

KNOWLEDGE = shipped()
BORDER = "border-terrier"


def lines(breed: str = BORDER, **dog: Any) -> dict[str, str]:
    found: dict[str, str] = pack(KNOWLEDGE, Dog(breed=breed, **dog))["card"]["glance"]
    return found


def lines_of(made: Breed, **dog: Any) -> dict[str, str]:
    knowledge = dataclasses.replace(KNOWLEDGE, breeds={"made": made})
    found: dict[str, str] = pack(knowledge, Dog(breed="made", **dog))["card"]["glance"]
    return found


def with_asks(*asks: Ask) -> Breed:
    breed = KNOWLEDGE.breeds[BORDER]
    return breed.model_copy(update={"ask": asks, "glance": {}})


def ask(says: str, weight: Any = "required", **more: Any) -> Ask:
    return Ask(**{"point": "bite", "standard": "fci", "weight": weight, "says": says, **more})


@of_each(KNOWLEDGE.breeds)
def test_a_line_has_room_for_every_breed_and_body(breed: str) -> None:
    for body in ("FCI", "AKC", "KC", "CKC", "DA"):
        for station, line in lines(breed, body=body, sex="dog").items():
            assert 0 < len(line) <= 30, (breed, body, station, line)


def test_a_body_that_wants_something_else_has_a_line_of_its_own() -> None:
    assert lines(body="FCI")["bite"] == "scissor, level bite accepted"
    assert lines(body="AKC")["bite"] == "large teeth, scissor bite"
    # Another body, and another station, have the line of the FCI.
    assert lines(body="KC")["bite"] == lines(body="FCI")["bite"]
    assert lines(body="AKC")["eyes"] == lines(body="FCI")["eyes"] == "dark, with a keen look"


def test_a_line_names_the_body_that_asks_it() -> None:
    """A phone says it where that is not the dog's own; a pack serves dogs of other bodies too."""
    card = pack(KNOWLEDGE, Dog(breed=BORDER, body="AKC"))["card"]
    assert (card["glance_of"]["bite"], card["glance_of"]["eyes"]) == ("AKC", "FCI")
    assert card["glance_of"].keys() == card["glance"].keys()
    # A line taken from the asks is of whoever asks it.
    made = with_asks(ask("Nose black.", standard="fci"))
    knowledge = dataclasses.replace(KNOWLEDGE, breeds={"made": made})
    for body in ("FCI", "AKC"):
        assert pack(knowledge, Dog(breed="made", body=body))["card"]["glance_of"]["bite"] == "FCI"


def test_all_that_move_share_a_line_and_the_last_stack_has_the_outlines() -> None:
    found = lines(sex="dog")
    moving = {found[station] for station in ("down_and_back", "triangle", "go_round")}
    assert moving == {"sound, able to follow a horse"}
    assert found["last_stack"] == found["outline"]
    assert not {"line", "lift", "walk_up", "free_stack"} & set(found)


def test_names_and_letters_keep_their_capital() -> None:
    breed = KNOWLEDGE.breeds[BORDER]
    for said, shown in {
        "Roman nose": "Roman nose",
        "Almond, dark": "almond, dark",
        "V-shaped, folded": "V-shaped, folded",
        "A good reach": "a good reach",
        "42 teeth": "42 teeth",
    }.items():
        made = breed.model_copy(update={"glance": {"fci": {"bite": said}}})
        assert lines_of(made)["bite"] == shown


def test_without_a_line_the_weightiest_ask_that_fits_is_shown() -> None:
    long = ask("A scissor bite in jaws that are set square to one another.")
    assert "bite" not in lines_of(with_asks(long))
    made = with_asks(ask("Nose black.", "preferred"), long, ask("Scissor bite."))
    assert lines_of(made)["bite"] == "scissor bite"


@pytest.mark.parametrize("weight", ["disqualifying", "serious", "fault"])
def test_what_is_faulted_is_never_said_to_be_asked(weight: str) -> None:
    assert "bite" not in lines_of(with_asks(ask("Undershot.", weight)))


def test_an_ask_of_a_variety_or_the_other_sex_is_not_shown() -> None:
    height = Number(what="height", low=30, high=None, unit="cm", sex="dog")
    assert "bite" not in lines_of(with_asks(ask("Level bite.", variety="Small")))
    made = with_asks(ask("From 30 cm.", number=height))
    assert lines_of(made, sex="dog")["bite"] == "from 30 cm"
    assert "bite" not in lines_of(made, sex="bitch")
    assert "bite" not in lines_of(made)


def test_a_breed_we_do_not_know_has_no_line() -> None:
    assert lines("unheard-of") == {}
