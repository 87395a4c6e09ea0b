"""What is told of health and handling: it names its source, and leaves what is wrong to the vet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from ringside.domain.care import care_book
from ringside.domain.condition_words import CONDITION
from ringside.knowledge import Knowledge
from ringside.knowledge.schema import COMMON_PRACTICE
from tests.known import shipped

# What a dog has or is, said as if it were known: for a vet to say, and for nobody else.
ILLNESS = (
    r"cryptorchid\w*|monorchid\w*|obes\w+|overweight|underweight|malnourished|starved|lame|ill|sick"
    r"|healthy|unhealthy|dysplas\w+|luxat\w+|patell\w+|tumours?|cancer|infect\w+|arthritis|diseased?"
    r"|fit to show|unfit|pregnant|in pain|well"
)
SUBJECT = r"(?:the|your|this|such a)\s+(?:dog|bitch|puppy|male)|he|she|it"
DIAGNOSIS = re.compile(
    rf"\b(?:{SUBJECT})\s+(?:is|has|suffers from|must have|probably has|will have)\s+"
    rf"(?:(?:a|an|too|very|probably|certainly|likely)\s+)*(?:{ILLNESS})\b"
    rf"|\b(?:this|that|it)\s+means\b(?!\s+is\b)|\bdiagnos\w+|\bis a sign of\b",
    re.IGNORECASE,
)
# What to feed, and how much.
DIET = re.compile(
    r"\b(?:feed|give)\b[^.]*\b(?:less|more|grams?|kcal|calories|cups?|rations?)\b|\bdiets?\b"
    r"|\bcut (?:down|its food)\b",
    re.IGNORECASE,
)


def ending(text: str) -> str:
    """The last sentence, by which a text is remembered."""
    return re.split(r"(?<=[.!?])\s+", text.strip())[-1]


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return shipped()


def entries(known: Knowledge) -> Iterator[Any]:
    for file in (known.condition, known.puppies):
        for kind in type(file).model_fields:
            yield from getattr(file, kind)


def texts(known: Knowledge) -> Iterator[str]:
    for entry in entries(known):
        yield entry.says
        if vet := getattr(entry, "vet", None):
            yield vet
    yield from CONDITION.values()


def test_no_text_ends_in_a_diagnosis_or_names_a_diet(known: Knowledge) -> None:
    assert [text for text in texts(known) if DIAGNOSIS.search(ending(text))] == []
    assert [text for text in texts(known) if DIET.search(text)] == []


@pytest.mark.parametrize(
    "text",
    [
        "One is not down. The dog is cryptorchid.",
        "A hop: your dog has luxating patellas.",
        "Score 8. This dog is very overweight.",
        "He has probably a tumour, see a vet. It has a disease.",
        "That means the knee slips.",
        "It is a sign of pain.",
    ],
)
def test_the_check_sees_a_diagnosis(text: str) -> None:
    assert DIAGNOSIS.search(ending(text))


@pytest.mark.parametrize(
    "text", ["Feed a third less.", "Give it 200 grams a day.", "A diet helps."]
)
def test_the_check_sees_a_diet(text: str) -> None:
    assert DIET.search(text)


@pytest.mark.parametrize(
    "text",
    ["What that means is for a vet to say.", "Do not show a lame dog.", "See the vet.",
     "While a dog is ill its weight cannot be forecast. Ask the vet before you show it."],
)  # fmt: skip
def test_the_check_lets_be_what_is_left_to_the_vet(text: str) -> None:
    assert not DIAGNOSIS.search(ending(text))


def test_every_figure_names_a_published_source_or_common_practice(known: Knowledge) -> None:
    """The loader refuses a source that is not there; memory is not enough where health is told."""
    allowed = {COMMON_PRACTICE, *known.sources}
    assert [one.id for one in entries(known) if one.source not in allowed] == []


def test_what_is_for_the_vet_is_said_of_every_check(known: Knowledge) -> None:
    assert [check.id for check in known.puppies.check if not re.search(r"\bvet", check.vet)] == []


def test_the_scale_has_nine_points_and_two_are_ideal(known: Knowledge) -> None:
    assert [score.id for score in known.condition.score] == list("123456789")
    assert [score.id for score in known.condition.score if score.band == "ideal"] == ["4", "5"]
    assert {score.source for score in known.condition.score} == {"laflamme-1997"}


def test_the_phone_is_given_all_of_it_with_its_sources(known: Knowledge) -> None:
    book = care_book(known)
    told = [*book["scores"], *book["checks"], *book["looks"], *book["lines"]]
    assert len(told) == len(list(entries(known)))
    for entry in told:
        assert entry["source"] == COMMON_PRACTICE or entry["source"] in book["sources"]
    assert {look["check"] for look in book["looks"]} == {check["id"] for check in book["checks"]}
