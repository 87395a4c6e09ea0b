"""The countdown: its knowledge takes care, no uncut breed is cut, and what is due stands on its
days; the vectors hold the phone to it."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import get_args

import pytest

from ringside.domain.countdown import (
    MOST_TIMES,
    Step,
    Touch,
    laid_out,
    own_step,
    step_of,
    tasks_for,
)
from ringside.knowledge import Knowledge
from ringside.knowledge.schema import Body, Coat
from tests.countdown_vectors import FILE, cases
from tests.known import shipped

SHOW = date(2027, 3, 20)


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return shipped()


def test_the_vectors_are_what_python_says() -> None:
    assert json.loads(FILE.read_text(encoding="utf-8"))["cases"] == cases()


def test_what_it_names_is_there(known: Knowledge) -> None:
    file, breeds = known.countdown, known.breeds.profiles
    assert {breed for task in file.task for breed in task.breeds} <= breeds.keys()
    for one in file.uncut:
        assert one.id in breeds
        assert not one.standard or one.standard in {text.id for text in breeds[one.id].standard}
    assert [task.id for task in file.task if len(task.name) > 36] == []


def test_what_can_hurt_has_a_caution_that_defers_to_the_vet(known: Knowledge) -> None:
    warned = {task for caution in known.countdown.caution for task in caution.tasks}
    hurting = {"nails", "ears", "teeth"} | {
        task.id for task in known.countdown.task if task.cuts or "bath" in task.id
    }
    assert hurting - {"bath-wire"} <= warned
    for caution in known.countdown.caution:
        if {*caution.tasks} & {"nails", "ears", "teeth", "strip", "clip"}:
            assert "is for the vet" in caution.text


def test_no_uncut_breed_is_cut_under_any_body_or_coat(known: Knowledge) -> None:
    for one in known.countdown.uncut:
        for body in get_args(Body):
            for coat in get_args(Coat):
                assert not any(task.cuts for task in tasks_for(known, coat, one.id, body))
    assert any(task.cuts for task in tasks_for(known, "silky", "yorkshire-terrier", "KC"))


def test_nothing_but_water_stays_in_a_coat_under_the_kc_alone(known: Knowledge) -> None:
    told = {
        body: any(task.id == "water-only" for task in tasks_for(known, "double", "samoyed", body))
        for body in get_args(Body)
    }
    assert told == {body: body == "KC" for body in get_args(Body)}


def test_every_coat_has_a_bath_or_a_wash_and_the_dog_its_whole_care(known: Knowledge) -> None:
    whole = {"nails", "ears", "teeth", "kit", "papers", "travel"}
    for coat in get_args(Coat):
        ids = {task.id for task in tasks_for(known, coat)}
        assert whole <= ids
        assert any(name.startswith("bath") for name in ids), coat
    assert whole <= {task.id for task in tasks_for(known, None)}


def test_a_task_is_due_on_its_days() -> None:
    once, weekly = Step("ears", 7, 1, 0), Step("nails", 28, 2, 7)
    due = laid_out([once, weekly], {}, SHOW)
    assert [(one.key, (SHOW - one.day).days, (SHOW - one.last).days) for one in due] == [
        ("nails@28", 28, 22),
        ("nails@21", 21, 15),
        ("nails@14", 14, 8),
        ("ears", 7, 1),
        ("nails@7", 7, 2),
    ]


def test_what_was_done_and_moved_stands_there() -> None:
    later = SHOW + timedelta(1)
    touched = {"ears": Touch("open", later), "nails@28": Touch("skipped")}
    due = {one.key: one for one in laid_out([Step("ears", 7, 1, 0)], touched, SHOW)}
    assert (due["ears"].day, due["ears"].last, due["ears"].state) == (later, later, "open")


def test_a_task_of_ones_own_may_be_odd() -> None:
    for day, every in ((None, None), (date(1, 1, 1), 1), (date(9999, 12, 31), 60), (SHOW, 0.3)):
        due = laid_out([own_step("own", day, every, SHOW)], {}, SHOW)
        assert 1 <= len(due) <= MOST_TIMES
        assert laid_out([own_step("own", day, every, date(1, 1, 2))], {}, date(1, 1, 2))


def test_all_tasks_of_the_book_can_be_laid_out(known: Knowledge) -> None:
    steps = [step_of(task) for task in known.countdown.task]
    due = laid_out(steps, {}, SHOW)
    assert len({one.key for one in due}) == len(due)
    assert all(one.day <= one.last <= SHOW for one in due)
