"""The exam card: what it says, in which order, for which dog, and where it has it from."""

from __future__ import annotations

import copy
import dataclasses
import json
import re
from collections.abc import Iterator
from datetime import date
from itertools import product
from typing import Any, get_args

import pytest

from ringside.domain.dog import Dog
from ringside.domain.exam import (
    FALLBACK,
    WEIGHTS,
    Own,
    compose,
    compose_asks,
    compose_general,
    figure,
    personalise,
    puppy_until,
)
from ringside.domain.pack import (
    digest,
    general_cards,
    general_key,
    pack,
    packed_card,
    reasons_apart,
)
from ringside.domain.traits import suits, traits
from ringside.domain.varieties import choices, holds
from ringside.knowledge.loader import load
from ringside.knowledge.schema import COMMON_PRACTICE, FROM_MEMORY, Body, Sex, Surface
from tests.each import of_each
from tests.known import shipped

KNOWLEDGE = shipped()
GENERAL = general_cards(KNOWLEDGE)
BREEDS = sorted(KNOWLEDGE.breeds)
BODIES: tuple[Body, ...] = get_args(Body)
SEXES: tuple[Sex, ...] = get_args(Sex)
SURFACES: tuple[Surface, ...] = get_args(Surface)
# How a line of asks begins that is for one sex.
DOGS = re.compile(r"(?:ideal |desirable )?dogs? (?:about|of|weigh|stand|from|\d)", re.IGNORECASE)
BITCHES = re.compile(r"(?:for |ideal |desirable )?bitch(?:es)?\b", re.IGNORECASE)
BORN = date(2025, 5, 17)
SHORT_FACED, LONG_FACED = "french-bulldog", "labrador-retriever"

FIRST_LOOK = ["outline", "free_stack", "approach"]
HANDS_ON = [
    "head", "eyes", "ears", "bite", "neck", "shoulders", "topline", "knees", "testes",
]  # fmt: skip
MOVEMENT = ["down_and_back", "triangle", "go_round"]
LAST_LOOK = ["last_stack", "line"]


def card(breed: str = "", **of_dog: Any) -> Any:
    return compose(KNOWLEDGE, Dog(breed=breed, **of_dog))


def stations(card: Any) -> dict[str, Any]:
    return {station["id"]: station for phase in card["phases"] for station in phase["stations"]}


def order(card: Any) -> dict[str, list[str]]:
    return {phase["id"]: [item["id"] for item in phase["stations"]] for phase in card["phases"]}


def lines(card: Any) -> Iterator[Any]:
    for station in stations(card).values():
        yield from (*station["cues"], *station["cautions"], *station["asks"])


def risks(card: Any, station: str) -> set[str]:
    return {caution["risk"] for caution in stations(card)[station]["cautions"]}


# --- what the cues must at least say (issue 2, item 4)

# Statement, where it is said, and groups of words of which one line must have one each.
BASELINE: list[tuple[str, str, list[list[str]]]] = [
    ("start from a settled free stack", "free_stack", [["start"], ["settled free stack"]]),
    ("right up to the table before lifting", "lift", [["right up to the table"], ["lift"]]),
    ("a hand at the chest, one under the rear", "lift", [["one hand at the chest"], ["rear"]]),
    ("dog between you and the judge", "approach", [["dog between you and the judge"]]),
    ("move as the judge moves", "approach", [["judge moves"], ["move to"]]),
    ("head level with the eye line", "head", [["eye line", "line of the eyes"], ["level"]]),
    ("ears shown alert", "ears", [["alert"], ["attention"]]),
    ("both thumbs lift the lips from the sides", "bite", [["both thumbs lift"], ["the sides"]]),
    ("nose clear", "bite", [["nose clear", "nose free"], ["lips"]]),
    ("no pressure on the throat", "bite", [["not the throat", "nothing on the throat"]]),
    ("neck neither stretched nor sunk", "neck", [["neither stretched"], ["nor sunk"]]),
    ("front feet first, then rear", "shoulders", [["front feet first"], ["then"], ["hind"]]),
    ("front feet first, from the start", "free_stack", [["front feet first, then rear"]]),
    ("topline from the judge's side", "topline", [["back"], ["tuck-up"], ["judge's side"]]),
    ("rear set by lifting at the stifle", "knees", [["lift"], ["at the stifle"]]),
    ("the rear never set by force", "knees", [["do not force", "any force"], ["leg"]]),
    ("kneecaps are for a vet to grade", "knees", [["kneecap"], ["grade", "grading"], ["vet"]]),
    ("both testes down", "testes", [["both testes are down"]]),
    ("what to do when not", "testes", [["not down"], ["withdraw"], ["steward"], ["vet"]]),
    ("lead high", "down_and_back", [["lead high"], ["folded", "slack"], ["hand"]]),
    ("slack gathered in the hand", "neck", [["high"], ["slack gathered in your hand"]]),
]


@pytest.mark.parametrize("breed", [SHORT_FACED, LONG_FACED, ""])
@pytest.mark.parametrize(
    ("station", "words"),
    [pytest.param(where, words, id=said) for said, where, words in BASELINE],
)
def test_the_cues_say_the_baseline(station: str, words: list[list[str]], breed: str) -> None:
    held = stations(card(breed, sex="dog", surface="table"))[station]
    said = [
        " ".join(str(value) for value in line.values()).lower()
        for line in (*held["cues"], *held["cautions"])
    ]
    fitting = [text for text in said if all(any(word in text for word in group) for group in words)]
    assert fitting, f"no line at {station} says {words}:\n" + "\n".join(said)


# --- phases and stations


@of_each(["", *BREEDS])
def test_phases_and_stations_stand_in_the_order_of_the_ring(breed: str) -> None:
    for surface in SURFACES:
        way_up = "lift" if surface == "table" else "walk_up"
        assert list(order(card(breed, sex="dog", surface=surface)).items()) == [
            ("first_look", [*FIRST_LOOK, way_up]),
            ("exam", HANDS_ON),
            ("movement", MOVEMENT),
            ("last_look", LAST_LOOK),
        ]


def test_a_phase_has_a_name_and_says_what_it_is() -> None:
    for phase in card()["phases"]:
        assert phase["name"]
        assert phase["says"]


def test_a_bitch_has_no_testes() -> None:
    assert order(card(LONG_FACED, sex="bitch"))["exam"] == HANDS_ON[:-1]
    for breed, surface, body in product(BREEDS, SURFACES, BODIES):
        points = {
            ask["point"]
            for station in stations(card(breed, sex="bitch", surface=surface, body=body)).values()
            for ask in station["asks"]
        }
        assert "testes" not in points, breed


def test_a_dog_whose_sex_is_not_said_meets_every_station() -> None:
    assert order(card(LONG_FACED))["exam"] == HANDS_ON
    assert card(LONG_FACED)["sex"] is None


@of_each(BREEDS)
def test_no_phase_has_more_than_nine_stations(breed: str) -> None:
    for sex, surface in product([None, *SEXES], SURFACES):
        for ids in order(card(breed, sex=sex, surface=surface)).values():
            assert 0 < len(ids) <= 9


# --- table, ground, ramp


def test_a_dog_on_the_table_is_lifted_and_one_on_the_ground_walks_up() -> None:
    for surface, there, gone in (
        ("table", "lift", "walk_up"),
        ("ground", "walk_up", "lift"),
        ("ramp", "walk_up", "lift"),
    ):
        held = stations(card(LONG_FACED, surface=surface))
        assert there in held
        assert gone not in held


@of_each(BREEDS)
def test_a_breed_is_examined_where_it_usually_is_unless_the_handler_says(breed: str) -> None:
    assert card(breed)["surface"] == KNOWLEDGE.breeds[breed].examined_on
    for surface in SURFACES:
        assert card(breed, surface=surface)["surface"] == surface


def test_the_ramp_has_a_cue_and_a_caution_of_its_own() -> None:
    ramp, ground = (
        stations(card(LONG_FACED, surface=surface))["walk_up"] for surface in ("ramp", "ground")
    )
    assert "ramp" in ramp["cues"][0]["do"]
    assert "ramp" not in ground["cues"][0]["do"]
    assert any("ramp" in caution["text"] for caution in ramp["cautions"])
    assert not any("ramp" in caution["text"] for caution in ground["cautions"])


def test_the_table_caution_of_the_head_is_for_the_table_only() -> None:
    assert "table" in risks(card(LONG_FACED, surface="table"), "head")
    assert "table" not in risks(card(LONG_FACED, surface="ground"), "head")


# --- short faces


@of_each(BREEDS)
def test_only_short_faced_breeds_have_the_airway_cautions(breed: str) -> None:
    short = KNOWLEDGE.breeds[breed].short_faced
    made = card(breed, surface="table", short_faced=not short)  # the breed knows better
    for station in ("lift", "head", "bite", "neck", *MOVEMENT):
        assert ("airway" in risks(made, station)) is short, station


def test_a_short_face_leads_with_cues_of_its_own() -> None:
    short, other = (stations(card(breed, surface="table")) for breed in (SHORT_FACED, LONG_FACED))
    for station in ("head", "eyes", "bite", "neck", *MOVEMENT):
        assert short[station]["cues"][0] != other[station]["cues"][0], station
        assert short[station]["cues"][0] not in other[station]["cues"]


def test_a_dog_of_an_unknown_breed_is_short_faced_when_the_handler_says_so() -> None:
    assert "airway" in risks(card("unheard-of", short_faced=True), "bite")
    assert "airway" not in risks(card("unheard-of", short_faced=False), "bite")
    assert card("unheard-of", short_faced=None) == card("unheard-of", short_faced=False)


def test_the_drawing_is_put_together_from_what_the_breed_says() -> None:
    for breed in KNOWLEDGE.breeds.values():
        assert breed.drawing
        told = figure(breed, breed.short_faced)
        parts = {of: told[of] for of in ("body", "legs", "ears", "tail")}
        assert parts == breed.drawing.model_dump()
        rest = (breed.coat, breed.topline, breed.short_faced)
        assert (told["coat"], told["topline"], told["short_faced"]) == rest


def test_without_a_breed_only_the_face_is_told() -> None:
    told = figure(None, True)
    assert told.pop("short_faced") is True
    assert set(told) == set(figure(next(iter(KNOWLEDGE.breeds.values())), True)) - {"short_faced"}
    assert not any(told.values())


# --- puppies


@pytest.mark.parametrize(
    ("born", "until"),
    [
        (date(2024, 2, 29), date(2025, 3, 1)),
        (date(2023, 2, 28), date(2024, 2, 28)),
        (date(2023, 3, 1), date(2024, 3, 1)),
        (date(2024, 12, 31), date(2025, 12, 31)),
    ],
)
def test_a_puppy_is_one_until_its_first_birthday(born: date, until: date) -> None:
    assert puppy_until(born) == until
    assert card(SHORT_FACED, born=born)["puppy_until"] == until.isoformat()


def test_without_a_date_of_birth_no_day_is_the_last_as_a_puppy() -> None:
    assert card(SHORT_FACED)["puppy_until"] is None


def test_lines_for_puppies_and_only_they_are_marked() -> None:
    for surface, way_up in (("table", "lift"), ("ground", "walk_up")):
        made = card(SHORT_FACED, sex="dog", surface=surface, born=BORN)
        gone = {"lift", "walk_up"} - {way_up}
        entries = [
            entry
            for entry in (*KNOWLEDGE.cues, *KNOWLEDGE.cautions)
            if entry.applies.puppy and entry.station not in gone
        ]
        assert entries
        marked = [line for line in lines(made) if "puppy" in line]
        assert all(line["puppy"] is True for line in marked)
        said = {line.get("do") or line["text"] for line in marked}
        assert said == {getattr(entry, "do", "") or entry.text for entry in entries}


def test_age_changes_nothing_but_the_day_it_ends() -> None:
    puppy, unknown = (card(SHORT_FACED, born=born) for born in (BORN, None))
    assert {**puppy, "puppy_until": None} == unknown


# --- asks


@of_each(BREEDS)
def test_the_most_weighty_ask_comes_first_then_by_point(breed: str) -> None:
    for body in BODIES:
        for station in stations(card(breed, body=body)).values():
            points = KNOWLEDGE.stations[station["id"]].points
            ranks = [
                (WEIGHTS[ask["weight"]], points.index(ask["point"])) for ask in station["asks"]
            ]
            assert ranks == sorted(ranks), station["id"]


def test_weights_run_from_disqualifying_to_preferred() -> None:
    assert list(WEIGHTS) == ["disqualifying", "serious", "fault", "required", "preferred"]


@of_each(BREEDS)
def test_a_point_asks_what_one_body_asks_of_it_and_names_another(breed: str) -> None:
    held = KNOWLEDGE.breeds[breed]
    of = {standard.id: standard.of for standard in held.standard}
    for body in BODIES:
        for station in stations(card(breed, body=body)).values():
            for point in KNOWLEDGE.stations[station["id"]].points:
                here = [ask for ask in held.ask if ask.point == point]
                speaking = {of[ask.standard] for ask in here}
                chosen = next((one for one in (body, *FALLBACK) if one in speaking), None)
                shown = [ask for ask in station["asks"] if ask["point"] == point]
                said = sorted(ask.says for ask in here if of[ask.standard] == chosen)
                assert sorted(ask["says"] for ask in shown) == said
                named = {ask.get("of") for ask in shown}
                assert named <= {None if chosen == body else chosen}


def test_bodies_without_a_text_give_way_to_fci_then_kc_then_akc() -> None:
    assert tuple(FALLBACK) == ("FCI", "KC", "AKC")


def test_a_body_without_a_text_of_its_own_gives_way_to_the_next_by_name() -> None:
    made = card("pug", body="CKC")
    assert made["standard"]["of"] == "FCI"
    assert {ask["of"] for ask in stations(made)["head"]["asks"]} == {"FCI"}
    own = card("pug", body="FCI")
    assert own["standard"]["of"] == "FCI"
    assert not any("of" in ask for ask in stations(own)["head"]["asks"])


@of_each(BREEDS)
def test_the_chosen_standard_is_told_with_number_and_date(breed: str) -> None:
    standard = card(breed, body="FCI")["standard"]
    assert standard["of"] == "FCI"
    # Three numbers share one text where the FCI says so; the breed's own stands first.
    assert standard["number"].split(", ")[0] == str(KNOWLEDGE.breeds[breed].fci_number)
    assert standard["date"]


@of_each(BREEDS)
def test_an_ask_tells_how_we_know_it_unless_read_in_a_copy(breed: str) -> None:
    held = KNOWLEDGE.breeds[breed]
    known = {(f"{held.name}: {ask.standard}", ask.point, ask.says): ask.read for ask in held.ask}
    for body in BODIES:
        for station in stations(card(breed, body=body)).values():
            for ask in station["asks"]:
                read = known[ask["source"], ask["point"], ask["says"]]
                assert ask.get("read") == (None if read == "copy" else read)


def test_an_ask_names_the_variety_it_is_for() -> None:
    sizes = {ask.get("variety") for ask in stations(card("poodle"))["outline"]["asks"]}
    assert {"Standard", "Medium", "Miniature", "Toy"} <= sizes


def test_a_chosen_variety_is_asked_what_is_its_own() -> None:
    def varieties(breed: str, choice: str) -> set[str]:
        made = stations(card(breed, variety=choice)).values()
        return {ask.get("variety") for station in made for ask in station["asks"]} - {None}

    assert varieties("poodle", "Toy") == {"Toy"}
    assert "Rabbit" in varieties("dachshund", "")
    alone = varieties("dachshund", "Miniature")
    assert {"Miniature", "Wire-haired", "Long-haired"} <= alone
    assert not {"Standard", "Rabbit"} & alone
    assert varieties("dachshund", "Miniature, Wire-haired") == {"Miniature", "Wire-haired"}
    assert varieties("poodle", "Wire-haired") == varieties("poodle", "")


@of_each(BREEDS)
def test_no_card_asks_what_is_asked_of_the_other_sex_alone(breed: str) -> None:
    own = {"dog": re.compile(r"\b(dog|male)s?\b", re.I), "bitch": re.compile(r"\bbitch", re.I)}
    for sex, other in (("dog", BITCHES), ("bitch", DOGS)):
        for body in ("FCI", "AKC", "KC"):
            for station in stations(card(breed, sex=sex, body=body)).values():
                said = [ask["says"] for ask in station["asks"] if other.match(ask["says"])]
                assert all(own[sex].search(says) for says in said), (sex, said)


# --- the general card


def test_an_unknown_breed_gets_the_general_card_under_its_own_name() -> None:
    made = card("Otter Hound of the Moor", sex="bitch")
    assert made["general"] is True
    assert made["breed"] == "Otter Hound of the Moor"
    assert made["surface"] == "ground"
    assert made["standard"] is None
    assert not any(station["asks"] for station in stations(made).values())
    assert all(station["cues"] for station in stations(made).values())


def test_a_known_breed_is_named_in_full() -> None:
    made = card("cardigan-welsh-corgi")
    assert made["general"] is False
    assert made["breed"] == "Welsh Corgi (Cardigan)"
    assert any(station["asks"] for station in stations(made).values())


# --- a glance: the leading headline


def leading(station: Any, puppy: bool) -> str | None:
    """The headline that leads the screen: the first one of a cue that holds."""
    return next(
        (
            cue["headline"]
            for cue in station["cues"]
            if "headline" in cue and (puppy or "puppy" not in cue)
        ),
        None,
    )


@of_each(["", *BREEDS])
def test_every_leading_headline_fits_a_glance(breed: str) -> None:
    for sex, surface in product([None, *SEXES], SURFACES):
        made = stations(card(breed, sex=sex, surface=surface, born=BORN)).values()
        for station, puppy in product(made, (False, True)):
            headline = leading(station, puppy)
            assert headline, f"{station['id']}: nothing leads"
            assert len(headline) <= 30, headline
            assert len(headline.split()) <= 5, headline


# --- sources


@of_each(["", *BREEDS])
def test_every_line_has_a_source_that_resolves(breed: str) -> None:
    for sex, surface, body in product(SEXES, SURFACES, BODIES):
        made = card(breed, sex=sex, surface=surface, body=body, born=BORN)
        named = {line["source"] for line in lines(made)}
        named |= {station["source"] for station in stations(made).values()}
        assert named - {COMMON_PRACTICE, FROM_MEMORY} == set(made["sources"])
        for key, source in made["sources"].items():
            assert source["body"], key
            assert source["title"], key


# --- the handler's own

OWN = Own(
    order=("bite", "head", "nowhere", "go_round"),
    cues={"bite": ("Thumb from the left", "Count to two"), "nowhere": ("Lost",)},
    asks={"head": ("Broad, not coarse",)},
)


def test_own_order_leads_within_each_phase_and_the_rest_keep_theirs() -> None:
    made = compose(KNOWLEDGE, Dog(breed=LONG_FACED, sex="dog"), OWN)
    rest = [station for station in HANDS_ON if station not in ("bite", "head")]
    assert order(made)["exam"] == ["bite", "head", *rest]
    assert order(made)["movement"] == ["go_round", "down_and_back", "triangle"]
    assert order(made)["last_look"] == LAST_LOOK


def test_own_cues_and_asks_come_first_and_say_whose_they_are() -> None:
    plain = card(LONG_FACED)
    made = stations(personalise(plain, OWN))
    own = [{"headline": line, "do": line, "own": True} for line in OWN.cues["bite"]]
    assert made["bite"]["cues"] == [*own, *stations(plain)["bite"]["cues"]]
    assert made["bite"]["asks"] == stations(plain)["bite"]["asks"]
    ask = {"says": "Broad, not coarse", "own": True}
    assert made["head"]["asks"] == [ask, *stations(plain)["head"]["asks"]]


def test_own_lines_go_on_a_general_card_too() -> None:
    made = stations(compose(KNOWLEDGE, Dog(breed="unheard-of"), OWN))
    assert made["head"]["asks"] == [{"says": "Broad, not coarse", "own": True}]


def test_composing_with_own_is_personalising_what_was_composed() -> None:
    dog = Dog(breed=SHORT_FACED, sex="dog", born=BORN)
    assert compose(KNOWLEDGE, dog, OWN) == personalise(compose(KNOWLEDGE, dog), OWN)


def test_personalising_leaves_the_card_it_was_given_alone() -> None:
    plain = card(LONG_FACED)
    before = copy.deepcopy(plain)
    personalise(plain, OWN)
    assert plain == before
    assert personalise(plain, Own()) == plain


# --- packs and general cards


def test_general_cards_cover_every_key_the_phone_can_form() -> None:
    made = GENERAL
    keys = {
        f"{sex or 'dog'}-{surface}-{'short' if short else 'any'}"
        for sex, surface, short in product([None, *SEXES], SURFACES, (False, True))
    }
    assert set(made["cards"]) == keys
    assert keys == {
        general_key(sex, surface, short)
        for sex, surface, short in product([None, *SEXES], SURFACES, (False, True))
    }


@pytest.mark.parametrize("short", [False, True])
@pytest.mark.parametrize("surface", SURFACES)
@pytest.mark.parametrize("sex", SEXES)
def test_a_general_card_is_the_composed_one_unfolded(
    sex: Sex, surface: Surface, short: bool
) -> None:
    made = GENERAL
    held = made["cards"][general_key(sex, surface, short)]
    phases = [
        {**phase, "stations": [made["stations"][place] for place in phase["stations"]]}
        for phase in held["phases"]
    ]
    whole = compose_general(KNOWLEDGE, Dog(sex=sex, surface=surface, short_faced=short))
    assert whole["sources"].items() <= made["sources"].items()
    assert {**held, "phases": phases, "sources": whole["sources"]} == whole


def test_the_reasons_of_the_general_cards_are_told_apart_and_none_is_lost() -> None:
    general, reasons = reasons_apart(GENERAL)
    stations = [
        {**station, "cues": [{**cue, "why": reasons[cue["why"]]} for cue in station["cues"]]}
        for station in general["stations"]
    ]
    assert {**general, "stations": stations} == GENERAL
    assert len(set(reasons)) == len(reasons) > 30


def test_general_cards_hold_each_station_once_and_none_in_vain() -> None:
    made = GENERAL
    distinct = {json.dumps(station, sort_keys=True) for station in made["stations"]}
    assert len(distinct) == len(made["stations"])
    used = {
        place
        for held in made["cards"].values()
        for phase in held["phases"]
        for place in phase["stations"]
    }
    assert used == set(range(len(made["stations"])))


def unfolded(general: Any, packed: Any, dog: Dog) -> Any:
    """The card that the phone makes of a pack and of the general cards it came with."""
    of_dog = traits(KNOWLEDGE.breeds.get(dog.breed), dog.variety)
    others = packed["choices"].get(dog.variety, {"not": ()})["not"]

    def glance(station: str) -> Any:
        line, of = packed["glance"].get(station, ""), packed["glance_of"].get(station, dog.body)
        return {"glance": line, **({"glance_of": of} if of != dog.body else {})}

    def own(station: str) -> list[Any]:
        asks = packed["asks"].get(station, [])
        return [ask for ask in asks if holds(ask, packed["sex"], others)]

    def suitable(lines: list[Any]) -> list[Any]:
        mine = [line for line in lines if suits(line.get("for", {}), of_dog)]
        return [{key: line[key] for key in line if key != "for"} for line in mine]

    held = general["cards"][packed["key"]]
    phases = [
        {
            **phase,
            "stations": [
                {
                    **station,
                    "cues": suitable(station["cues"]),
                    "cautions": suitable(station["cautions"]),
                    "asks": own(station["id"]),
                    **glance(station["id"]),
                }
                for station in (general["stations"][place] for place in phase["stations"])
            ],
        }
        for phase in held["phases"]
    ]
    breeds_own = ("key", "asks", "glance", "glance_of", "choices", "looks")
    rest = {key: value for key, value in packed.items() if key not in breeds_own}
    return {**held, **rest, "phases": phases, "sources": general["sources"] | packed["sources"]}


@of_each(["unheard-of", *BREEDS])
def test_a_pack_and_the_general_cards_make_the_whole_card(breed: str) -> None:
    kinds = ["", *choices(KNOWLEDGE.breeds[breed])][::2] if breed in KNOWLEDGE.breeds else [""]
    for sex, surface, body, kind in product(SEXES, (None, *SURFACES), BODIES, kinds):
        dog = Dog(
            breed=breed, variety=kind, sex=sex, surface=surface, body=body, born=BORN,
            short_faced=True,
        )  # fmt: skip
        whole = compose(KNOWLEDGE, dog)
        made = unfolded(GENERAL, packed_card(KNOWLEDGE, dog), dog)
        assert whole["sources"].items() <= made["sources"].items()
        assert {**made, "sources": whole["sources"]} == whole


def test_a_pack_is_plain_data() -> None:
    made = pack(KNOWLEDGE, Dog(breed=SHORT_FACED, sex="dog", born=BORN))
    assert json.loads(json.dumps(made)) == made


def reversed_keys(data: Any) -> Any:
    if isinstance(data, dict):
        return {key: reversed_keys(data[key]) for key in reversed(data)}
    return [reversed_keys(item) for item in data] if isinstance(data, list) else data


def test_the_hash_of_a_pack_changes_with_its_content_only() -> None:
    dog = Dog(breed=SHORT_FACED, sex="dog", surface="table", born=BORN)
    made = pack(KNOWLEDGE, dog)
    before = digest(made)
    assert len(before) == 16
    assert int(before, 16) >= 0
    assert digest(pack(load(), dog)) == before  # another run, the same hash
    assert digest(reversed_keys(made)) == before

    breed = KNOWLEDGE.breeds[SHORT_FACED]
    alone = dataclasses.replace(KNOWLEDGE, breeds={SHORT_FACED: breed}, digest="another")
    assert digest(pack(alone, dog)) == before

    fci = next(place for place, ask in enumerate(breed.ask) if ask.standard == "fci")
    asks = list(breed.ask)
    asks[fci] = asks[fci].model_copy(update={"says": asks[fci].says + " Always."})
    reworded = breed.model_copy(update={"ask": tuple(asks)})
    other = dataclasses.replace(KNOWLEDGE, breeds={SHORT_FACED: reworded})
    assert digest(pack(other, dog)) != before


def test_the_hash_of_the_general_cards_changes_with_a_cue() -> None:
    cue = KNOWLEDGE.cues[0]
    reworded = (cue.model_copy(update={"do": cue.do + " Now."}), *KNOWLEDGE.cues[1:])
    other = dataclasses.replace(KNOWLEDGE, cues=reworded)
    assert digest(general_cards(other)) != digest(GENERAL)


@pytest.mark.parametrize(
    "change",
    [
        {"breed": "pug"},
        {"sex": "bitch"},
        {"surface": "ground"},
        {"born": date(2025, 5, 18)},
        {"born": None},
        {"body": "AKC"},
    ],
    ids=lambda change: "-".join(change),
)
def test_the_hash_of_a_pack_changes_with_what_the_card_depends_on(change: Any) -> None:
    dog = Dog(breed=SHORT_FACED, sex="dog", surface="table", born=BORN)
    other = dataclasses.replace(dog, **change)
    assert digest(pack(KNOWLEDGE, other)) != digest(pack(KNOWLEDGE, dog))


def test_the_hash_tells_letters_and_order_apart() -> None:
    assert digest({"says": "Phalène"}) != digest({"says": "Phalene"})
    assert digest(["head", "eyes"]) != digest(["eyes", "head"])


# --- how much of a body's text was read


def test_the_head_of_the_card_says_how_much_of_a_text_was_read() -> None:
    breed = KNOWLEDGE.breeds[SHORT_FACED]
    of = {standard.id: standard.of for standard in breed.standard}
    every = {ask.point for ask in breed.ask}
    for body in get_args(Body):
        read = {a.point for a in breed.ask if of[a.standard] == body and a.read != "memory"}
        told = compose_asks(KNOWLEDGE, Dog(breed=SHORT_FACED, sex="dog", body=body)).get("coverage")
        if read == every:
            assert told is None
            continue
        assert told
        assert set(told["unread"]) == every - read
        assert told["says"].startswith(f"{body}: {len(read)} of {len(every)} points read")
    assert "coverage" not in compose_asks(KNOWLEDGE, Dog(sex="dog"))
