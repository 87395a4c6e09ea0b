"""The rules that both languages know, in Python; tests/browser/test_vectors.py asks the phone."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from ringside.book.packs import as_dog
from ringside.book.tables.cells import Reading
from ringside.book.tables.dogs import Kennel
from ringside.book.tables.rows import Row
from ringside.domain import gate, limits
from ringside.domain.bounds import (
    country_problem,
    day_problem,
    show_problems,
    shown_problem,
    time_problem,
)
from ringside.domain.days import Entered, day_of, is_on, last_day, next_entry, say_day
from ringside.domain.eligibility import Ruling, Show, verdicts
from ringside.domain.eligibility.words import SHARED
from ringside.domain.exam import puppy_until
from ringside.domain.heat import risks_of
from ringside.domain.says import FINDINGS, Saying, sentence
from ringside.domain.traits import apart, suits, traits
from ringside.domain.varieties import holds, pack_choices
from ringside.knowledge.regulation_schema import Regulation
from ringside.knowledge.schema import Drawing, Profile, Variety
from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors" / "rules"
EXACT = 1e-12


def read(name: str) -> Any:
    return json.loads((VECTORS / f"{name}.json").read_text(encoding="utf-8"))


def cases(name: str, section: str) -> list[Any]:
    return [pytest.param(case, id=case["why"]) for case in read(name)[section]]


@pytest.mark.parametrize("path", sorted(VECTORS.glob("*.json")), ids=lambda path: path.stem)
def test_every_file_says_where_its_expectations_come_from(path: Any) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    assert data["from"].startswith("By hand")
    for section in data.values():
        if isinstance(section, list) and section and "why" in section[0]:
            reasons = [case["why"] for case in section]
            assert len(set(reasons)) == len(reasons)


# --- sentences


@pytest.mark.parametrize("case", cases("says", "sentences"))
def test_sentence(case: Any) -> None:
    assert sentence(read("says")["table"], case["saying"]) == case["is"]


@pytest.mark.parametrize("case", cases("says", "faults"))
def test_a_saying_that_cannot_be_said(case: Any) -> None:
    with pytest.raises(KeyError):
        sentence(read("says")["table"], case["saying"])


@pytest.mark.parametrize("case", cases("says", "days"))
def test_say_day(case: Any) -> None:
    assert say_day(date.fromisoformat(case["day"])) == case["is"]


# --- the days of shows and entries


@pytest.mark.parametrize("case", cases("days", "lasts"))
def test_the_last_day_of_a_show(case: Any) -> None:
    assert last_day(case["show"]) == case["is"]


@pytest.mark.parametrize("case", cases("days", "on"))
def test_whether_a_show_is_on(case: Any) -> None:
    assert is_on(case["show"], case["day"]) is case["is"]


@pytest.mark.parametrize("case", cases("days", "days"))
def test_the_day_of_an_entry(case: Any) -> None:
    assert day_of(case["entry"], case["show"], case["today"]) == case["is"]


@pytest.mark.parametrize("case", cases("days", "next"))
def test_what_a_dog_goes_to_next(case: Any) -> None:
    found = next_entry([Entered(**one) for one in case["entered"]], case["today"])
    assert (found and [found[0], found[1].id]) == case["is"]


# --- limits


@pytest.mark.parametrize("case", cases("limits", "units"))
def test_in_unit(case: Any) -> None:
    found = limits.in_unit(case["value"], case["given"], case["wanted"])
    assert found == pytest.approx(case["is"], rel=EXACT)


@pytest.mark.parametrize("case", cases("limits", "beyond"))
def test_beyond(case: Any) -> None:
    assert limits.beyond(case["limit"], case["value"]) == case["is"]


@pytest.mark.parametrize("case", cases("limits", "newest"))
def test_newest(case: Any) -> None:
    assert limits.newest(case["measures"], case["what"]) == case["is"]


@pytest.mark.parametrize("case", cases("limits", "states"))
def test_limit_state(case: Any) -> None:
    assert limits.limit_state(case["limit"], case["measures"]) == case["is"]


@pytest.mark.parametrize("case", cases("limits", "sources"))
def test_limit_source(case: Any) -> None:
    assert limits.limit_source(case["limit"]) == case["is"]


@pytest.mark.parametrize("case", cases("limits", "tidy"))
def test_tidy(case: Any) -> None:
    assert limits.tidy(case["number"]) == case["is"]


# --- what of a breed is one dog's own


@pytest.mark.parametrize("case", cases("asks", "asks"))
def test_asks_of_a_dog(case: Any) -> None:
    others = read("asks")["choices"].get(case["variety"], {"not": ()})["not"]
    found = [line["says"] for line in read("asks")["lines"] if holds(line, case["sex"], others)]
    assert found == case["is"]


@pytest.mark.parametrize("case", cases("asks", "limits"))
def test_limits_of_a_dog(case: Any) -> None:
    names = read("asks")["choices"].get(case["variety"], {"is": ()})["is"]
    assert limits.limits_of(case["limits"], case["sex"], names) == case["is"]


@pytest.mark.parametrize("case", cases("asks", "puppies"))
def test_puppy_until(case: Any) -> None:
    assert puppy_until(date.fromisoformat(case["born"])).isoformat() == case["is"]


def test_choices_are_told_as_the_phone_looks_them_up() -> None:
    kinds = [Variety.model_validate(one) for one in read("asks")["varieties"]]
    told = pack_choices(Profile.model_construct(varieties=tuple(kinds)))
    assert told == read("asks")["choices"]
    assert list(told) == list(read("asks")["choices"])


def breed_of_cues() -> Profile:
    told = read("cues")["breed"]
    kinds = tuple(Variety.model_validate(one) for one in told.pop("varieties"))
    drawing = Drawing(body=told.pop("body"), legs="long", ears="drop", tail="whip")
    return Profile.model_construct(varieties=kinds, drawing=drawing, **told)


@pytest.mark.parametrize("case", cases("cues", "suits"))
def test_which_cues_suit_a_dog(case: Any) -> None:
    breed = breed_of_cues() if case["known"] else None
    assert suits(case["for"] or {}, traits(breed, case["variety"] or "")) is case["is"]


def test_what_varieties_have_apart_is_told_as_the_phone_looks_it_up() -> None:
    row = read("cues")["row"]
    assert apart(breed_of_cues()) == row["kinds"]
    known = traits(breed_of_cues()) | {"coat": "smooth"}
    assert known == row["figure"]


# --- the gate


@pytest.mark.parametrize("case", cases("gate", "class"))
def test_class_finding(case: Any) -> None:
    about = {key: case[key] for key in ("body", "klass", "stale")}
    about["dated"] = case.get("dated", True)
    assert gate.class_finding(case["standing"], **about) == case["is"]


@pytest.mark.parametrize("case", cases("gate", "limits"))
def test_limit_findings(case: Any) -> None:
    assert gate.limit_findings(case["limits"], case["measures"], case["body"]) == case["is"]


@pytest.mark.parametrize("case", cases("gate", "testes"))
def test_testes_finding(case: Any) -> None:
    assert gate.testes_finding(as_dog(case["dog"], []), case["bars"]) == case["is"]


@pytest.mark.parametrize("case", cases("gate", "chip"))
def test_chip_finding(case: Any) -> None:
    assert gate.chip_finding(case["number"]) == case["is"]


@pytest.mark.parametrize("case", cases("gate", "whole"))
def test_findings(case: Any) -> None:
    found = gate.findings(
        case["standing"],
        as_dog(case["dog"], []),
        body=case["body"],
        klass=case["klass"],
        dated=case.get("dated", True),
        bars=case["bars"],
        limits=case["limits"],
        measures=case["measures"],
        microchip=case["dog"].get("microchip"),
    )
    assert [finding["words"]["says"] for finding in found] == case["is"]


@pytest.mark.parametrize("case", cases("gate", "items"))
def test_items(case: Any) -> None:
    listed = read("gate")["listed"]
    made = gate.items_of(listed, case["entry"], case["kit"], case["bars"])
    assert made == case["is"]


@pytest.mark.parametrize("case", cases("gate", "ticks"))
def test_newest_ticks(case: Any) -> None:
    made = gate.newest_ticks(case["ticks"])
    assert {item: tick["id"] for item, tick in made.items()} == case["is"]


@pytest.mark.parametrize("case", cases("gate", "sorted"))
def test_sort_out(case: Any) -> None:
    assert gate.sort_out(case["findings"], case["items"], case["states"]) == case["is"]


# --- shows of several days


def on(case: Any, part: str) -> date | None:
    return date.fromisoformat(case[part]) if case.get(part) else None


def ruled(case: Any) -> Ruling:
    regulation = Regulation.model_validate(read("shows")["regulation"])
    dog = as_dog({"born": case["born"], "sex": "dog"}, [])
    first = date.fromisoformat(case["first"])
    found = verdicts(regulation, dog, Show(first, on(case, "last"), on(case, "shown")))
    return next(ruling for ruling in found if ruling.klass == case["class"])


@pytest.mark.parametrize("case", cases("shows", "cases"))
def test_a_show_of_several_days(case: Any) -> None:
    ruling, wanted = ruled(case), case["is"]
    for part in ("verdict", "read", "clause"):
        assert getattr(ruling, part) == wanted.get(part, getattr(ruling, part))
    if "why" in wanted:
        assert ruling.why == f"{sentence(SHARED, wanted['why'])}."
    assert len(ruling.readings) == wanted.get("count", len(wanted.get("readings", ruling.readings)))
    for reading, saying in zip(ruling.readings, wanted.get("readings", ()), strict=False):
        assert reading.startswith(sentence(SHARED, {**saying, "why": ""}))


# --- heat


@pytest.mark.parametrize("case", cases("heat", "cases"))
def test_risks_of_a_dog(case: Any) -> None:
    about = {"short_faced": case["short"], "born": on(case, "born"), "kg": case["kg"]}
    found = risks_of(read("heat")["risks"], **about, today=date.fromisoformat(case["today"]))
    assert [risk["id"] for risk in found] == case["is"]


# --- every sentence, once


def said(saying: Saying | Any) -> set[str]:
    """The sentences that a finding names, whether each can be said with what it gives."""
    if isinstance(saying, dict):
        inner = set().union(*(said(value) for value in saying.values()))
        if "says" not in saying:
            return inner
        assert sentence(FINDINGS, saying)
        return {saying["says"]} | inner
    return set().union(*map(said, saying)) if isinstance(saying, list) else set()


def test_every_sentence_is_said_and_none_is_missing() -> None:
    named = said([case["is"] for case in read("limits")["states"] + read("limits")["sources"]])
    for section in ("class", "limits", "testes", "chip", "items", "sorted"):
        named |= said([case["is"] for case in read("gate")[section]])
    assert named == set(FINDINGS)


# --- what is believed of what a person types


@pytest.mark.parametrize("case", cases("samedog", "cases"))
def test_one_dog_or_two(case: Any) -> None:
    """The table import knows dogs by the same as the phone's form asks about."""
    kennel = Kennel({"a": case["other"]}, Reading({"breed": {}}, date(2026, 11, 28)))
    assert kennel.line(Row(1, values=case["one"])).by == case["is"]


@pytest.mark.parametrize("case", cases("bounds", "countries"))
def test_countries(case: Any) -> None:
    code = case["code"].upper()
    if len(code) == 2:  # the import says itself what two letters are
        assert country_problem(code) == (case["is"] or "")


BOUNDS = read("bounds")
TODAY = date.fromisoformat(BOUNDS["today"])


@pytest.mark.parametrize("case", cases("bounds", "days"))
def test_days_of_a_dog(case: Any) -> None:
    if day := on(case, "day"):  # a table has no day where its cell is empty
        assert day_problem(day, TODAY, on(case, "born")) == (case["is"] or "")


@pytest.mark.parametrize("case", cases("bounds", "shows"))
def test_days_of_a_show(case: Any) -> None:
    """A table does not say when entries close: the phone alone looks at that."""
    wanted = {name: words for name, words in case["is"].items() if name != "closing"}
    assert show_problems(on(case, "day"), on(case, "until"), TODAY) == wanted


@pytest.mark.parametrize("case", cases("bounds", "shown"))
def test_the_day_on_which_a_dog_is_shown(case: Any) -> None:
    if day := on(case, "day"):
        show = case["show"]
        first = date.fromisoformat(show["day"])
        assert shown_problem(day, first, on(show, "until")) == (case["is"] or "")


@pytest.mark.parametrize("case", cases("bounds", "times"))
def test_times(case: Any) -> None:
    assert time_problem(case["time"] or "") == (case["is"] or "")
