"""Cues against the breeds: no hand is told to undo what a breed's own text asks for.

What a text asks is read from the words of its asks here, not from the fields that choose the cues.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple, get_args

import pytest

from ringside.domain.traits import TRAITS, apart, suits, traits
from ringside.domain.varieties import choices, others_than
from ringside.knowledge.schema import UNKNOWN, Breed, Coat, Cue, Feet, Size, Topline, Trunk
from tests.each import of_each
from tests.known import shipped

KNOWLEDGE = shipped()
BREEDS = sorted(KNOWLEDGE.breeds.profiles)
VALUES = {"topline": Topline, "coat": Coat, "body": Trunk, "feet": Feet, "size": Size}
ASKED = ("required", "preferred")


class Clash(NamedTuple):
    """Asks at `points` that say `asks` bear no cue of `stations` that says `do`, without `unless`.

    All but the points and the stations are patterns.
    """

    points: tuple[str, ...]
    asks: str
    stations: tuple[str, ...]
    do: str
    unless: str = "$^"


NOT = r"(?:no|not|nor|never|neither|without|free of)\b[^.;,]*"
BACK, PAW, HAIR = ("topline", "body"), ("feet", "shoulders"), ("coat",)
TIDY = ("last_stack", "shoulders", "outline")
CLASHES = {
    "an arch is not flattened": Clash(
        BACK,
        r"\barch(ed|es|ing)?\b(?! neck)|\broach\b|\brises?\b|\bconvex\b|\bcurve[sd]?\b"
        r"|above the withers|higher behind",
        ("topline", "outline", "free_stack", "last_stack"),
        r"\b(straighten|level the|flatten|stretch)|hind feet (a little )?further back|step forward",
        r"\bleave (a rise|the curve)",
    ),
    "feet that turn out are not turned": Clash(
        PAW,
        r"^(?!.*(elbow|stand(ing)? out|slop(e|ing) out|(never|not) turned))"
        r".*(?<!nor )\bout(wards?)?\b",
        ("shoulders", "free_stack", "last_stack", "walk_up"),
        r"toes (straight )?ahead|\bstraight under\b|feet square",
    ),
    "a coat that stands off is not flattened": Clash(
        HAIR,
        r"stand\w*[- ](well )?off|off-standing|stands? (straight )?out",
        TIDY,
        r"\b(lay|flat|flatten|smooth|press)\b",
        r"leave standing what stands off",
    ),
    "a harsh coat is not smoothed": Clash(
        HAIR, r"\bwiry?\b|\bbroken\b|\btousled\b|\brough\b", TIDY, r"\b(lay|flatten|smooth)\b"
    ),
    "cords are not combed": Clash(
        HAIR, r"\bcord|flocks fall", TIDY, r"\bcomb\b(?! away)", r"\bno comb\b|put the comb away"
    ),
    "curls are not combed out": Clash(
        HAIR, r"\bcurl", TIDY, r"\b(straighten|brush|comb) (out )?the"
    ),
    "bare skin is not combed": Clash(
        HAIR, r"\bhairless\b|no hair|\bbare;|skin smooth", TIDY, r"\b(comb|brush|stroke)"
    ),
}  # fmt: skip


def dogs(key: str) -> Iterator[tuple[str, tuple[Cue, ...]]]:
    """What a dog of the breed may be chosen to be, and the cues it then has."""
    breed = KNOWLEDGE.breeds.profiles[key]
    for choice in ("", *choices(breed)):
        of_dog = traits(breed, choice)
        yield choice, tuple(cue for cue in KNOWLEDGE.cues if suits(cue.applies.wanted, of_dog))


def ever_asked(key: str, clash: Clash) -> bool:
    breed = KNOWLEDGE.breeds[key]
    return any(asked(breed, choice, clash) for choice in ("", *choices(breed)))


def asked(breed: Breed, choice: str, clash: Clash) -> list[str]:
    """The asks of any body that say it, and do not say that it is not so."""
    others = others_than(breed, choice)
    said = [
        ask.says
        for ask in breed.ask
        if ask.point in clash.points and ask.weight in ASKED and ask.variety not in others
        and (choice or not ask.variety)
    ]  # fmt: skip
    plain = [re.sub(NOT + "(?:" + clash.asks + ")", "", line.lower()) for line in said]
    return [line for line in plain if re.search(clash.asks, line)]


@of_each(BREEDS)
def test_no_cue_contradicts_what_the_breed_asks(key: str) -> None:
    breed = KNOWLEDGE.breeds[key]
    wrong = [
        (name, cue.id, lines)
        for choice, cues in dogs(key)
        for name, clash in CLASHES.items()
        if (lines := asked(breed, choice, clash))
        for cue in cues
        if cue.station in clash.stations
        and re.search(clash.do, f"{cue.headline or ''}. {cue.do}".lower())
        and not re.search(clash.unless, cue.do.lower())
    ]
    assert not wrong


@pytest.mark.parametrize("name", CLASHES)
def test_a_clash_can_be_found(name: str) -> None:
    """With the cues of every breed thrown together each of them is met, but for what none says."""
    clash = CLASHES[name]
    assert any(ever_asked(key, clash) for key in BREEDS)
    cues = [cue for cue in KNOWLEDGE.cues if cue.station in clash.stations]
    bad = [cue.id for cue in cues if re.search(clash.do, f"{cue.headline or ''}. {cue.do}".lower())]
    assert bad or name in {"curls are not combed out", "a coat that stands off is not flattened"}


MARKS = {
    ("feet", "out"): CLASHES["feet that turn out are not turned"],
    ("topline", "arched"): CLASHES["an arch is not flattened"]._replace(
        asks=r"arch|roach|\bris|convex|curve|above the withers|higher than|hips often|loins stand"
    ),
    ("coat", "corded"): CLASHES["cords are not combed"],
    ("coat", "hairless"): CLASHES["bare skin is not combed"],
}


@pytest.mark.parametrize("mark", MARKS, ids="-".join)
def test_what_a_file_says_of_a_breed_stands_in_its_asks(mark: tuple[str, str]) -> None:
    trait, value = mark
    marked = [key for key, of in KNOWLEDGE.breeds.profiles.items() if getattr(of, trait) == value]
    silent = [key for key in marked if not ever_asked(key, MARKS[mark])]
    assert marked
    assert silent == (["norman-artesien-basset"] if trait == "feet" else [])  # faults only too much


def test_lines_that_are_sisters_leave_no_dog_out() -> None:
    """What stands for some values of a trait alone stands for all others in another line."""
    for trait, kinds in VALUES.items():
        every = {*get_args(kinds), UNKNOWN}
        for station in KNOWLEDGE.stations:
            lists = [
                cue.applies.wanted[trait]
                for cue in KNOWLEDGE.cues
                if cue.station == station and trait in cue.applies.wanted
            ]
            if len(lists) > 1:
                assert {value for values in lists for value in values} == every, (station, trait)


def test_every_trait_chooses_a_cue() -> None:
    assert {trait for cue in KNOWLEDGE.cues for trait in cue.applies.wanted} == set(TRAITS)
    assert set(VALUES) == set(TRAITS)


def test_pace_follows_size_wherever_the_dog_is_examined() -> None:
    pace = {
        "small": "Walk briskly, let dog trot",
        "medium": "Stride out, let dog trot",
        "large": "Take long strides, run evenly",
        None: "Suit your pace to size",
    }
    for key in BREEDS:
        breed = KNOWLEDGE.breeds.profiles[key]
        for choice, cues in dogs(key):
            told = [cue.headline for cue in cues if cue.headline in pace.values()]
            assert told == [pace[traits(breed, choice)["size"]]], (key, choice)


def test_a_beard_that_is_asked_for_has_its_cue() -> None:
    for key in BREEDS:
        breed = KNOWLEDGE.breeds[key]
        beard = r"\bbeard|\bmoustache"
        clash = Clash(("head", "coat"), beard, (), "")
        for choice, cues in dogs(key):
            if not all("smooth: " in line for line in asked(breed, choice, clash)):
                assert any(cue.id == "bite-beard" for cue in cues), (key, choice)


# First words of headlines: what to do, as one says it.
VERBS = {
    "Answer", "Arrive", "Ask", "Circle", "Cup", "Draw", "Ease", "Fold", "Free", "Give", "Go",
    "Hold", "Keep", "Kneel", "Leave", "Let", "Level", "Lift", "Line", "Look", "Loosen", "Make",
    "Move", "Open", "Part", "Pick", "Place", "Pocket", "Point", "Quiet", "Repeat", "Reset",
    "Set", "Shade", "Shift", "Show", "Slacken", "Slide", "Slow", "Smooth", "Spread", "Stand",
    "Stay", "Step", "Stop", "Stride", "Stroke", "Suit", "Support", "Take", "Test", "Tidy",
    "Trot", "Turn", "Use", "Wait", "Walk", "Withdraw",
}  # fmt: skip


def test_every_headline_says_first_what_to_do() -> None:
    first = {cue.headline: cue.headline.split()[0] for cue in KNOWLEDGE.cues if cue.headline}
    assert [line for line, word in first.items() if word.strip(",") not in VERBS] == []
    assert {word.strip(",") for word in first.values()} == VERBS


def test_what_is_practised_at_home_is_marked_and_never_leads() -> None:
    for cue in KNOWLEDGE.cues:
        assert cue.home or "at home" not in cue.do.lower(), cue.id
    for key in BREEDS:
        for _, cues in dogs(key):
            for station in KNOWLEDGE.stations:
                first = next(cue for cue in cues if cue.station == station)
                assert first.headline, (key, station)


def test_varieties_that_differ_are_told_apart() -> None:
    assert apart(KNOWLEDGE.breeds["dachshund"])["Miniature, Wire-haired"] == {"coat": "wire"}
    assert apart(KNOWLEDGE.breeds["whippet"]) == {}
    assert traits(KNOWLEDGE.breeds["poodle"])["size"] is None
    assert traits(KNOWLEDGE.breeds["poodle"], "Toy")["size"] == "small"
