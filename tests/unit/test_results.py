"""Results: judges by name, the words of each body, what lessons do to practice; the phone is asked
the same by tests/browser/test_vectors.py."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from datetime import date
from typing import Any

from ringside.book.kinds import KINDS
from ringside.book.kinds.results import PLACINGS
from ringside.domain.asked import FACTS, asked
from ringside.domain.pack import home_book, rules_book
from ringside.domain.practice import Lesson, Mark, Place, named_lately, next_session, sums_of
from ringside.domain.results import judge_key, results_book
from ringside.files import folder
from tests.known import shipped
from tests.support import ROOT

DATA: dict[str, list[dict[str, Any]]] = json.loads(
    (ROOT / "tests" / "vectors" / "results.json").read_text(encoding="utf-8")
)


def test_a_judge_is_found_however_the_name_is_written() -> None:
    for case in DATA["judges"]:
        key = judge_key(case["name"])
        assert key == case["key"], case["why"]
        assert judge_key(key) == key or case["why"].startswith("a title"), case["why"]
        assert KINDS["result"].fields["judge_key"].problem(key) is None, case["why"]


def test_what_was_named_lately_weighs_in() -> None:
    for case in DATA["late"]:
        lessons = [
            Lesson(station, says, date.fromisoformat(day)) for station, says, day in case["lessons"]
        ]
        today = date.fromisoformat(case["today"])
        assert sorted(named_lately(lessons, today)) == case["is"], case["why"]


def test_of_two_alike_the_one_that_a_judge_named_is_practised_first() -> None:
    sums = sums_of([Mark(-3, "needs work")])
    places = [Place("bite", 1, sums), Place("head", 1, sums), Place("ears", 1, sums)]
    assert next_session(places, 0).work == ("bite", "head", "ears")
    named = [Place(one.id, 1, sums, named=one.id == "ears") for one in places]
    assert next_session(named, 0).work == ("ears", "bite", "head")


def test_each_body_has_its_words_and_the_book_takes_them() -> None:
    known = shipped()
    book, rules = results_book(known), rules_book(known) | home_book(known)
    assert [placing["id"] for placing in book["placings"]] == list(PLACINGS)
    for body in known.titles.kinds:
        placings = [one["id"] for one in book["placings"] if body in one["bodies"]]
        assert placings[:3] == ["1", "2", "3"]
        assert placings[-2:] == ["unplaced", "absent"]
    assert {grade["body"] for grade in book["grades"]} == {"FCI"}
    for grade in book["grades"]:
        assert KINDS["result"].fields["grade"].problem(grade["id"]) is None
        classes = set(rules["windows"]["b"]["fci"]["c"])
        assert set(grade["young"]) <= classes, grade["id"]
    levels = KINDS["show"].fields["level"].limits()["of"]
    for only in book["only"]:
        assert set(only["awards"]) <= set(rules["awards"][only["body"]])
        assert set(only["levels"]) <= set(levels)


def test_of_an_award_is_asked_what_titles_and_classes_are_counted_from() -> None:
    known = shipped()
    told = home_book(known)["asked"]
    assert told == {
        "FCI": ["country", "judge_country"],
        "AKC": ["points", "competing", "champions"],
        # The points of the Junior Award were read nowhere: they are entered.
        "KC": ["points", "competing", "level"],
        "CKC": ["points", "competing", "level"],
        # Of no title, but a first prize at an open show closes the Novice class.
        "DA": ["points", "competing", "level"],
    }
    form = (ROOT / "templates" / "pocket" / "views" / "awards.html").read_text(encoding="utf-8")
    for name in FACTS:
        assert name in KINDS["award"].fields
        assert f'data-part="field-{name}"' in form


def test_what_no_rule_counts_is_not_asked() -> None:
    known = shipped()
    assert asked(known.titles, {})["DA"] == ["points", "competing"]
    no_titles = replace(known.titles, titles={})
    assert asked(no_titles, known.regulations) == {
        body: ["level"] if body in ("KC", "DA") else [] for body in known.titles.kinds
    }
    cib = known.titles.titles["fci-cib"]
    routes = [route.model_copy(update={"countries": None}) for route in cib.title.route]
    without = cib.title.model_copy(update={"route": routes})
    only = replace(known.titles, titles={cib.id: replace(cib, title=without)})
    whole = replace(known.titles, titles={cib.id: cib})
    assert "country" in asked(whole, {})["FCI"]
    assert "country" not in asked(only, {})["FCI"]


def test_what_few_dogs_win_in_a_day_stands_aside() -> None:
    rare = home_book(shipped())["rare"]
    groups = {f"group-{place}" for place in range(1, 5)}
    assert {body: set(names) for body, names in rare.items()} == {
        "FCI": set(),
        "AKC": groups
        | {"best-in-show", "puppy-class-first", "puppy-group-1", "puppy-best-in-show"}
        | {"puppy-best-of-breed", "puppy-best-of-opposite"},
        "KC": groups | {"best-in-show", "best-in-single-group-show"},
        "CKC": groups | {"best-in-show"},
        "DA": {"group-1", "specialty-best-in-show", "best-in-show", "neuter-cc"},
    }


def test_the_demo_has_the_ids_and_keys_that_the_phone_would_make() -> None:
    data = tomllib.loads((folder("demo_data") / "kennel.toml").read_text(encoding="utf-8"))
    results = {result["key"]: result for result in data["result"]}
    assert len(results) >= 5
    for result in results.values():
        assert result["judge_key"] == judge_key(result["judge"])
    for lesson in data["lesson"]:
        result = results[lesson["result"]]
        assert (lesson["dog"], lesson["judge_key"]) == (result["dog"], result["judge_key"])
    topline = {one["judge_key"] for one in data["lesson"] if one["station"] == "topline"}
    assert len(topline) == 3
