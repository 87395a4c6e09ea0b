"""A dog's page at the desk: its condition, practice and checks as charts and as tables."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from scipy.stats import beta

from ringside import demo
from ringside.app import Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.web.desk.charts import marks_chart, ticks, weight_chart
from tests.known import shipped
from tests.unit.phone import PORT, Phone


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Phone, dict[str, str]]]:
    """The demo's book at the desk, and its dogs by name."""
    folder: Path = tmp_path_factory.mktemp("desk")
    book = open_book(Place(folder))
    demo.fill(book)
    phone = Phone(create_app(Settings(folder, PORT), book, shipped()))
    phone.let_in(book)
    with book.session():
        dogs = {values["name"]: key for key, values in book.records("dog").items()}
    yield phone, dogs
    book.close()


def page(desk: tuple[Phone, dict[str, str]], name: str) -> str:
    phone, dogs = desk
    answer = phone.get(f"/desk/dog/{dogs[name]}")
    assert answer.status_code == 200
    return answer.text


def test_what_will_be_weighed_is_told_drawn_and_in_a_table(
    desk: tuple[Phone, dict[str, str]],
) -> None:
    text = page(desk, "Gustav")
    assert re.search(r"Old Quarry Kennel Club, [^:]+: 13\.\d to 13\.\d kg", text)
    assert "Too heavy for AKC on the day" in text
    assert "No target is drawn" in text
    chart = re.search(r'<svg class="chart".*?</svg>', text, re.DOTALL)
    assert chart
    assert chart[0].count("chart-dot") == 8
    assert "AKC: at most 28 lb" in chart[0]
    assert re.search(r'aria-label="Weight from .* Forecast: 13', chart[0])
    assert text.count(" kg</td>") == 8
    assert "6 of 9, tuck-up seen, Ribs felt on the table" in text


def test_why_it_cannot_be_told_is_said(desk: tuple[Phone, dict[str, str]]) -> None:
    text = page(desk, "Bramble")
    assert "The weight jumped by 7.4 %" in text
    assert "Weigh again on the same scale" in text


def test_marks_are_drawn_by_shape_and_counted(desk: tuple[Phone, dict[str, str]]) -> None:
    text = page(desk, "Teasel")
    assert re.search(r"<th scope=\"row\">Testes</th><td>1 not yet</td><td>last not yet, ", text)
    assert text.count("chart-half") == 1


def test_how_ready_a_station_is_stands_beside_its_marks(desk: tuple[Phone, dict[str, str]]) -> None:
    """Held to scipy: one mark of `not yet`, whose weight halves in thirty days."""
    row = re.search(
        r"Testes</th><td>1 not yet</td><td>last not yet, ([^<]+)</td><td>([^<]+)</td><td>([^<]+)<",
        page(desk, "Teasel"),
    )
    assert row
    age = (datetime.now() - datetime.strptime(row[1], "%d %B %Y")).days
    for told, hands in ((row[2], 1.0), (row[3], 0.25)):
        truths = [beta(1, 1 + hands * 2 ** (-days / 30)) for days in (age - 1, age, age + 1)]
        assert told in {
            f"easy {round(it.mean() * 10)} in 10 ({round(it.ppf(0.05) * 10)} to "
            f"{round(it.ppf(0.95) * 10)})"
            for it in truths
        }


def test_what_is_due_stands_in_a_table(desk: tuple[Phone, dict[str, str]]) -> None:
    text = page(desk, "Puddle")
    assert re.search(r"Bite and teeth</th><td>not yet, [^<]+</td><td>due since", text)
    assert "Both testes" not in text


def test_no_such_dog(desk: tuple[Phone, dict[str, str]]) -> None:
    assert desk[0].get("/desk/dog/nobody").status_code == 404


def test_the_first_page_leads_to_each_dog(desk: tuple[Phone, dict[str, str]]) -> None:
    phone, dogs = desk
    home = phone.get("/desk").text
    assert all(f'href="/desk/dog/{key}"' in home for key in dogs.values())


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        (12.6, 14.1, [13, 13.5, 14]),
        (0, 100, [0, 20, 40, 60, 80, 100]),
        (5.38, 5.82, [5.4, 5.5, 5.6, 5.7, 5.8]),
        (3, 3, [3]),
    ],
)
def test_axes_name_round_values(low: float, high: float, found: list[float]) -> None:
    assert ticks(low, high) == found


def test_shapes_stand_within_the_drawing_in_their_order() -> None:
    first = date(2026, 3, 1)
    points = [(first + timedelta(7 * week), 10 - week / 10) for week in range(5)]
    ahead = (first + timedelta(42), 9.2, 9.4, 9.6)
    chart = weight_chart(points, limits=[(9.0, "at least 9")], ahead=ahead, words="w")
    for x, y in [*chart["dots"], chart["cross"]]:
        assert chart["left"] <= x <= chart["right"]
        assert 0 <= y <= chart["height"]
    assert [x for x, _ in chart["dots"]] == sorted(x for x, _ in chart["dots"])
    # Lighter stands lower; the limit lowest of all.
    assert [y for _, y in chart["dots"]] == sorted(y for _, y in chart["dots"])
    assert chart["limits"][0][0] > chart["cross"][1] > chart["dots"][-1][1]
    assert marks_chart({}, "none") is None
    alone = marks_chart({"Bite": [(first, "easy")]}, "one")
    assert alone
    assert len(alone["columns"]) == 1
