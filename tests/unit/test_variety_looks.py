"""How the drawing of a variety differs from its breed's: by its coat, and by its size."""

from __future__ import annotations

import pytest

from ringside.domain.varieties import choices
from ringside.domain.variety_looks import variety_looks
from tests.known import shipped

BREEDS = shipped().breeds


def test_sizes_go_down_from_the_largest() -> None:
    looks = variety_looks(BREEDS["german-spitz"])
    assert "Giant" not in looks
    assert looks["Medium Size"]["size"] > looks["Miniature"]["size"]


def test_a_size_and_a_coat_are_both_drawn() -> None:
    looks = variety_looks(BREEDS["dachshund"])
    assert "Standard, Smooth-haired" not in looks
    assert looks["Standard, Wire-haired"] == {"coat": "wire"}
    assert looks["Miniature, Long-haired"]["coat"] == "long"
    # A weight tells a size as well, but less than it says.
    assert 0.6 < looks["Miniature"]["size"] < 0.9


@pytest.mark.parametrize(
    "breed", [key for key, breed in BREEDS.profiles.items() if breed.varieties]
)
def test_every_look_is_of_a_choice_and_can_be_drawn(breed: str) -> None:
    looks = variety_looks(BREEDS[breed])
    assert looks.keys() <= choices(BREEDS[breed]).keys()
    assert all(0.6 <= one.get("size", 0.6) < 1 for one in looks.values())


def test_a_breed_without_varieties_has_none() -> None:
    assert variety_looks(BREEDS["border-terrier"]) == {}
