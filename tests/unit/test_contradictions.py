"""Two asks of one body that contradict each other are found, and what may stand together is not."""

from __future__ import annotations

from typing import Any

import pytest

from ringside.knowledge.review.bites import bites, faulty
from ringside.knowledge.review.colours import allowed
from ringside.knowledge.review.colours import faulty as faulty_colours
from ringside.knowledge.review.contradictions import contradictions
from ringside.knowledge.review.ears import carried
from ringside.knowledge.review.ears import faulty as faulty_ears
from tests.known import shipped_whole
from tests.unit.test_review import breed


def found(*asks: dict[str, Any]) -> tuple[str, ...]:
    return tuple(contradictions(breed(*asks)))


def test_the_shipped_knowledge_does_not_contradict_itself() -> None:
    told = {key: [*contradictions(held)] for key, held in shipped_whole().breeds.items()}
    assert {key: lines for key, lines in told.items() if lines} == {}


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
    "one required, one only preferred": (size(40, 45, weight="preferred"), size(50, 55)),
    "of two standards of one body": (size(40, 45), size(50, 55, standard="fci-rules")),
    "named in other letters": (size(40, 45), size(50, 55, what="Height at withers")),
}
TOGETHER = {
    "one inside the other": (size(40, 55), size(45, 50)),
    "touching": (size(40, 45), size(45, 50)),
    "the same in another unit": (size(38, 38), size(15, 15, "in")),
    "for each sex": (size(40, 45, sex="bitch"), size(50, 55, sex="dog")),
    "for two varieties": (size(40, 45, variety="Toy"), size(50, 55, variety="Large")),
    "of two bodies": (size(40, 45), size(50, 55, standard="kc")),
    "of two measures": (size(40, 45), size(50, 55, what="length")),
    "in units that have nothing in common": (size(40, 45), size(5, 6, "kg")),
    "a line without a number": (size(40, 45), {}),
}


@pytest.mark.parametrize("asks", APART.values(), ids=APART.keys())
def test_ranges_that_do_not_meet(asks: tuple[dict[str, Any], ...]) -> None:
    (problem,) = found(*asks)
    assert ": two ranges for " in problem
    assert problem.startswith(
        "standard fci: " if "fci-rules" not in str(asks) else "standards fci "
    )
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
    assert problem == (f"standard fci: two different bites are required: “{one}” and “{other}”")


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
    said = bites("Scissor bite; a level bite is accepted but not wanted.")
    assert (said.asked, said.good) == ({"scissors"}, {"scissors", "level"})


# --- a range and its limit


def barring(low: float | None, high: float | None, **more: Any) -> dict[str, Any]:
    """What lies outside is out."""
    return size(low, high, **({"weight": "disqualifying"} | more))


BEYOND = {
    "wider above": (size(40, 45), barring(None, 44)),
    "wider below": (size(40, 45), barring(41, None)),
    "in the other order": (barring(41, 46), size(40, 45)),
    "an ideal": (size(47, 48, weight="preferred"), barring(40, 46)),
    "a limit that is but serious": (size(40, 45), barring(40, 44, weight="serious")),
    "apart, and open": (size(50, None), barring(None, 45)),
    "in another unit": (size(40, 45), barring(None, 17, unit="in")),
    "of one sex": (size(40, 45), barring(42, 50, sex="bitch")),
    "of all varieties": (size(40, 45, variety="Toy"), barring(41, 50)),
}
WITHIN = {
    "the same": (size(40, 45), barring(40, 45)),
    "a wider limit": (size(40, 45), barring(38, 47)),
    "an open wish and a limit": (size(40, None), barring(None, 60)),
    "a tolerance that is a fault": (size(38, 47), barring(40, 45, weight="fault")),
    "of the other sex": (size(40, 45, sex="dog"), barring(30, 39, sex="bitch")),
    "of another variety": (size(40, 45, variety="Toy"), barring(50, 60, variety="Large")),
    "of another body": (size(40, 45), barring(50, 60, standard="kc")),
    "the same, rounded in another unit": (size(None, 38), barring(None, 15, unit="in")),
    "two limits": (barring(40, 45), barring(50, 55, weight="serious")),
}


@pytest.mark.parametrize("asks", BEYOND.values(), ids=BEYOND.keys())
def test_what_is_wanted_lies_beyond_a_limit(asks: tuple[dict[str, Any], ...]) -> None:
    (problem,) = found(*asks)
    assert "a height at withers that is wanted is " in problem
    assert all(ask["says"] in problem for ask in asks)


@pytest.mark.parametrize("asks", WITHIN.values(), ids=WITHIN.keys())
def test_what_is_wanted_lies_within_a_limit(asks: tuple[dict[str, Any], ...]) -> None:
    assert found(*asks) == ()


# --- right and wrong at once: bites, ears, colours

RIGHT_AND_WRONG = [
    ("bite", "Scissor bite.", "Scissor bite."),
    ("bite", "Scissor bite; pincer accepted.", "Overshot, undershot or pincer bite."),
    ("bite", "Undershot; chin seen.", "Over- or undershot."),
    ("bite", "Level bite.", "Any bite but a scissor bite."),
    ("bite", "Slightly undershot.", "Undershot in any degree."),
    ("ears", "Small, erect, pointed.", "Prick ears."),
    ("ears", "Set high, hanging flat, tips slightly rounded.", "Drop or pricked ears."),
    ("ears", "Hanging, well set.", "Not pricked."),
    ("ears", "Semi-erect.", "Erect or semi-erect ears."),
    ("colour", "Black, red or fawn.", "Red."),
    ("colour", "Fawn or brindle; white markings allowed.", "Brindle, merle or blue."),
    ("colour", "White or cream.", "Any colour but black or liver."),
    ("colour", "Solid black.", "Black; albino."),
]
NO_QUARREL = [
    ("bite", "Scissor bite.", "Overshot or undershot."),
    ("bite", "Undershot; chin seen.", "Undershot so far that the tongue shows."),
    ("bite", "Undershot.", "Undershot by more than 2 mm."),
    ("bite", "Scissor bite.", "Any bite but the required one."),
    ("bite", "Scissor bite.", "Inverse scissor bite or wry mouth."),
    ("bite", "Neither overshot nor undershot.", "Overshot or undershot."),
    ("ears", "Erect when alert.", "Erect ears."),
    ("ears", "Hanging, or erect if cropped.", "Erect ears."),
    ("ears", "Drop ears.", "Not drop."),
    ("ears", "Hanging, thin-tipped.", "Pricked or half-pricked."),
    ("ears", "Folded forward over an upright base.", "Erect ears."),
    ("ears", "Pricked.", "Hanging like a hound's, or too large."),
    ("colour", "Black and tan; a small white spot passes.", "White."),
    ("colour", "Black with white.", "Solid black."),
    ("colour", "White, cream or black.", "White marks on the head."),
    ("colour", "Silver or mouse grey.", "Any colour but grey."),
    ("colour", "Black or liver.", "Any colour but those of the text."),
    ("colour", "Nose black.", "Black."),
]


@pytest.mark.parametrize("weight", ["disqualifying", "serious"])
@pytest.mark.parametrize(("point", "right", "wrong"), RIGHT_AND_WRONG)
def test_the_same_is_right_and_wrong(point: str, right: str, wrong: str, weight: str) -> None:
    asks = ({"point": point, "says": right}, {"point": point, "says": wrong, "weight": weight})
    for order in (asks, asks[::-1]):
        (problem,) = found(*order)
        assert "right and wrong" in problem
        assert right in problem
        assert wrong in problem
    apart = {**asks[1], "standard": "kc"}
    assert found(asks[0], apart) == ()
    assert found({**asks[0], "variety": "Toy"}, {**asks[1], "variety": "Large"}) == ()
    assert found(asks[0], {**asks[1], "weight": "fault"}) == ()


@pytest.mark.parametrize(("point", "right", "wrong"), NO_QUARREL)
def test_what_is_right_and_what_is_wrong_may_stand_together(
    point: str, right: str, wrong: str
) -> None:
    wrong_ask = {"point": point, "says": wrong, "weight": "disqualifying"}
    assert found({"point": point, "says": right}, wrong_ask) == ()


TWO_WAYS = [
    ("Small and erect.", "Hanging, set high."),
    ("Carried firmly pricked.", "Semi-pricked."),
    ("Pendulous, long.", "Upright."),
]
ONE_WAY = [
    ("Small and erect.", "Erect, set high."),
    ("Erect or semi-erect.", "Semi-erect, never heavy."),
    ("Hanging at rest.", "Erect in action."),
    ("Hanging.", "Not erect."),
    ("Cropped, then erect.", "Natural ears hang."),
    ("Set high, thin.", "Hanging."),
]


@pytest.mark.parametrize(("one", "other"), TWO_WAYS)
def test_ears_cannot_be_carried_in_two_ways(one: str, other: str) -> None:
    (problem,) = found({"point": "ears", "says": one}, {"point": "ears", "says": other})
    assert "ears are required to be carried in two ways" in problem


@pytest.mark.parametrize(("one", "other"), ONE_WAY)
def test_ears_that_may_be_the_same(one: str, other: str) -> None:
    assert found({"point": "ears", "says": one}, {"point": "ears", "says": other}) == ()


def test_what_each_line_is_taken_for() -> None:
    assert faulty("Overshot or undershot by 2 mm; wry mouth.") == {"overshot"}
    assert faulty("Any bite except scissor or level.") == {"undershot", "overshot"}
    assert carried("Semi-prick, high.") == carried("half erect") == {"half prick"}
    assert faulty_ears("Fully erect ears.") == {"prick"}
    assert faulty_ears("Ears that are not erect.") == {"half prick", "drop"}
    assert allowed("Black, fawn with a mask, or red: all equal.") == {"black", "red"}
    assert allowed("Mask black, or red.") == frozenset()
    assert faulty_colours("White coat; albino.") == {"white", "albino"}
    assert faulty_colours("White on the back.") == frozenset()
