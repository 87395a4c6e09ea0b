"""Proportions by marks: what is told, what is not and why, and when a verdict is given."""

from __future__ import annotations

import copy
import json
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringside.domain.measure import combined, readings, stance, verdict, withheld
from ringside.knowledge.photo import photo_checks
from tests.camera import Camera, dog_points, marks_at
from tests.known import shipped
from tests.measure_vectors import VECTORS, atlas, made, marks_by

CAMERA = Camera()
NAMES, POINTS = dog_points()
VALUES = st.floats(0.2, 3)
Case = dict[str, Any]


def photo(**told: Any) -> Case:
    return {**CAMERA.photo(), **told}


def marks(**told: Any) -> Case:
    return {**marks_at(CAMERA, CAMERA.project(POINTS), NAMES), **told}


def read(photo: Case, marks: Case, height: float | None = 60) -> dict[str, Case]:
    return {one["measure"]: one for one in readings(atlas(), photo, marks, height)}


def test_the_vectors_are_what_python_gives() -> None:
    kept = json.loads((VECTORS / "measure.json").read_text(encoding="utf-8"))
    assert same(kept, json.loads(json.dumps(made())))


def same(kept: Any, wanted: Any) -> bool:
    if isinstance(wanted, dict):
        return kept.keys() == wanted.keys() and all(same(kept[k], wanted[k]) for k in wanted)
    if isinstance(wanted, list):
        return len(kept) == len(wanted) and all(map(same, kept, wanted))
    return bool(
        kept == pytest.approx(wanted, rel=1e-9) if type(wanted) is float else kept == wanted
    )


def test_what_needs_a_mark_that_cannot_be_seen_vanishes() -> None:
    found = read(photo(), marks(elbow=None))
    for name, one in found.items():
        is_gone = "elbow" in atlas()["measures"][name]["needs"]
        assert (one["value"] is None, one["why"]) == (
            (True, "unseen") if is_gone else (False, None)
        )


def test_thirteen_marks_give_what_may_be_judged_but_the_croup() -> None:
    view = atlas()["views"]["side"]
    assert view["first"] == 13
    few = {mark: marks()[mark] for mark in view["marks"][:13]}
    for name, one in read(photo(), few).items():
        if one["class"] == 1:
            assert (one["value"] is None) == (name == "croup"), name


def test_angles_of_hidden_bones_come_only_with_stickers_and_three_photos() -> None:
    without, stuck = read(photo(stickers=False), marks()), read(photo(), marks())
    hidden = [name for name, one in stuck.items() if one["class"] == 3]
    assert len(hidden) == 7
    for name in hidden:
        assert (without[name]["value"], without[name]["why"]) == (None, "stickers")
        two = combined([[stuck[name]], [stuck[name]]])[0]
        assert (two["value"], two["why"]) == (None, "three")
        three = combined([[stuck[name]]] * 3)[0]
        assert three["value"] == pytest.approx(stuck[name]["value"])
        assert verdict(three, {"low": 0, "high": 180}, 24)["word"] is None


def test_stickers_are_found_more_surely_than_by_eye() -> None:
    eye, stuck = (
        marks_at(CAMERA, CAMERA.project(POINTS), NAMES, how) for how in ("eye", "sticker")
    )
    for name, one in read(photo(), stuck).items():
        assert one["u"] < read(photo(), eye)[name]["u"]


def test_a_lens_that_is_not_told_makes_values_less_sure() -> None:
    camera = Camera(away=2.2, focal35=26)
    at = marks_at(camera, camera.project(POINTS), NAMES)
    known, unknown = (read({**camera.photo(), "focal35": told}, at) for told in (26, None))
    assert unknown["elbow"]["value"] == pytest.approx(known["elbow"]["value"])
    assert unknown["elbow"]["u"] > known["elbow"]["u"]


def test_a_photo_from_too_near_is_not_judged() -> None:
    for away, height, why in ((1.5, 60, "near"), (2.3, 60, None), (1.2, None, "near")):
        camera = Camera(away=away, focal35=26)
        found = read(camera.photo(), marks_at(camera, camera.project(POINTS), NAMES), height)
        assert {one["why"] for one in found.values()} == {why}
    near = {**found["elbow"], "why": "near"}
    assert verdict(near, {"low": 0.1}, 24)["word"] is None


def test_what_a_coat_hides_is_not_judged() -> None:
    found = read(photo(hides=True), marks())
    hidden = {name for name, one in found.items() if one["why"] == "coat"}
    assert {"depth", "clearance", "tuck-up", "topline-bow", "topline-slope"} <= hidden
    assert verdict(found["depth"], {"low": 0.1}, 24)["word"] is None
    assert verdict(found["elbow"], {"low": 0.1}, 24)["word"] == "meets"


def test_a_dog_that_stands_badly_is_stood_again() -> None:
    assert stance(atlas(), list(read(photo(), marks()).values())) == []
    points = POINTS.copy()
    points[NAMES.index("hind-fetlock"), 0] += 0.05
    bad = marks_at(CAMERA, CAMERA.project(points), NAMES)
    told = stance(atlas(), list(read(photo(), bad).values()))
    assert [one["measure"] for one in told] == ["rear-pastern"]


@given(VALUES, st.floats(1e-4, 0.5), st.none() | VALUES, st.none() | VALUES)
def test_no_verdict_while_the_interval_touches_a_bound(
    value: float, u: float, one: float | None, other: float | None
) -> None:
    ask = {"low": one, "high": other}
    if one is not None and other is not None:
        ask = {"low": min(one, other), "high": max(one, other)}
    reading = {"measure": "depth", "class": 1, "value": value, "u": u, "why": None}
    found = verdict(reading, ask, None)
    least, most = value - 2 * u, value + 2 * u
    touches = any(
        bound is not None and least <= bound <= most for bound in (found["low"], found["high"])
    )
    assert (found["word"] == "cannot tell") == touches
    assert verdict(reading, ask, 11)["word"] is None
    for bound in (one, other):
        if bound is not None:
            on = {**reading, "value": bound}
            assert verdict(on, ask | {"low": bound, "high": None}, 24)["word"] == "cannot tell"


def head(muzzle: float | None, u: float) -> list[Case]:
    told = {"muzzle-skull": muzzle, "muzzle-head": 0.3, "ear-lean": 20}
    same = {"class": 1, "u": u, "why": None}
    return [{"measure": name, "value": value, **same} for name, value in told.items()]


@pytest.mark.parametrize(
    ("muzzle", "u", "is_withheld"),
    [
        (0.3, 0.01, True),
        (0.49, 0.001, True),
        (0.56, 0.04, True),  # all within two of it may be under half the skull
        (0.6, 0.04, False),
        (0.51, 0.001, False),
        (1.1, 0.1, False),
        (None, 0.01, False),  # nothing is known of the face
    ],
)
def test_of_a_face_that_may_be_short_no_word_is_said_of_the_muzzle(
    muzzle: float | None, u: float, is_withheld: bool
) -> None:
    told = head(muzzle, u)
    aside = withheld(atlas(), told)
    assert aside == (["muzzle-skull", "muzzle-head"] if is_withheld else [])
    words = {one["measure"]: verdict(one, {"low": 0.0}, 24, aside)["word"] for one in told}
    assert (words["muzzle-head"] is None) == is_withheld
    assert words["muzzle-skull"] == (None if is_withheld or muzzle is None else "meets")
    assert words["ear-lean"] == "meets"


def test_every_measure_of_the_muzzle_is_withheld_together() -> None:
    (rule,) = atlas()["withheld"]
    of_muzzle = [name for name, one in atlas()["measures"].items() if "stop" in one["needs"]]
    assert {name for name in of_muzzle if atlas()["measures"][name]["class"] == 1} == {
        *rule["measures"]
    }


def test_a_measure_that_there_is_not_withholds_nothing_unseen() -> None:
    file = shipped().photo
    assert list(photo_checks(file)) == []
    rule = file.withheld[0].model_copy(update={"measures": ("muzzle-skull", "snout")})
    odd = file.model_copy(update={"withheld": (rule,)})
    assert list(photo_checks(odd)) == ["withheld short-face: there is no measure 'snout'"]


def test_one_number_is_met_within_five_per_cent_of_it() -> None:
    reading = {"measure": "depth", "class": 1, "value": 0.51, "u": 0.001, "why": None}
    found = verdict(reading, {"low": 0.5, "high": 0.5}, 24)
    assert found == {"word": "meets", "low": pytest.approx(0.475), "high": pytest.approx(0.525)}


def test_a_dog_that_faces_the_other_way_reads_the_same() -> None:
    flipped = {
        mark: [[1 - x, y, how] for x, y, how in at] if mark == "topline" else [1 - at[0], *at[1:]]
        for mark, at in marks().items()
    }
    for name, one in read(photo(facing="right"), flipped).items():
        told = read(photo(), marks())[name]
        assert (one["value"], one["u"]) == pytest.approx((told["value"], told["u"]), rel=1e-6)


def test_half_a_marking_is_read_for_what_it_has() -> None:
    chance = random.Random(3)
    for view in atlas()["views"]:
        told = {**photo(), "view": view}
        whole = marks_by(chance, told, 0)
        for mark in [*whole]:
            half = copy.deepcopy(whole)
            del half[mark]
            assert len(read(told, half)) == len(read(told, whole))
        assert {one["value"] for one in read(told, {}).values()} == {None}
