"""Learn and the glossary as a person meets them: with no dog, without a signal, on one evening and
the next day."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.phone import OUT_OF_REACH, POCKET, Phone
from tests.support import Server

TEN = 10
SMALL = {"width": 320, "height": 568}
NEXT_DAY = "25:00:00"
HINTED = "next:head:eyes"  # the first that has answers to choose from


@pytest.fixture(scope="module")
def empty(
    make_server: Callable[..., Server], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Server]:
    """A book without a dog; phones get the app from it, and then are offline."""
    with make_server(tmp_path_factory.mktemp("empty") / "data", "serve") as server:
        yield server


@pytest.fixture
def phone(empty: Server, page: Callable[..., Page], allowed_errors: list[str]) -> Phone:
    """A phone with the app, no dog, and no signal."""
    allowed_errors.append(OUT_OF_REACH)
    opened = Phone(page(**POCKET), empty.url).open()
    opened.await_worker()
    opened.page.context.set_offline(True)
    return opened


@pytest.fixture
def demo(start_server: Callable[..., Server], tmp_path: Path, page: Callable[..., Page]) -> Phone:
    server = start_server("demo", data=tmp_path / "data")
    return Phone(page(**POCKET), server.url).open().ready_offline()


class Round:
    """A round in somebody's hand, who knows nothing at first and learns from what is shown."""

    def __init__(self, phone: Phone) -> None:
        self.page = phone.page
        self.shown: dict[str, list[str]] = {}  # by question: what was right
        self.asked: list[str] = []

    def play(self) -> None:
        """Answer until it is done."""
        while not self.page.get_by_role("heading", name="Round done").count():
            self.answer()
            self.page.get_by_role("button", name="Next").click()
            expect(self.page.locator("[data-part=verdict]:visible")).to_have_count(0)

    def answer(self) -> None:
        expect(self.page.locator(".round-option, .round-drawing").first).to_be_visible()
        question = self.page.locator("h1").inner_text()
        words = self.page.locator(".round-words")
        key = question + (words.inner_text() if words.count() else "")
        self.asked.append(key)
        options = self.page.locator(".round-option")
        if drawing := self.page.locator(".round-drawing").all():
            station = re.fullmatch(r"Tap the (.+) on the drawing", question)
            assert station
            # Who knows the head, and at first nothing else.
            is_known = key in self.shown or station[1] == "head"
            spot = f"[data-spot={station[1]}]" if is_known else "[data-spot=testes]"
            box = drawing[0].locator(spot).bounding_box()
            assert box
            middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
            self.page.mouse.click(*middle)
            self.shown[key] = []
        else:
            names = options.evaluate_all("all => all.map((one) => one.dataset.option)")
            known = self.shown.get(key)
            order = "tap in order" in question
            for name in known or (names if order else names[:1]):
                self.page.locator(f"[data-option={name}]").click()
            expect(self.page.get_by_role("button", name="Next")).to_be_visible()
            self.shown[key] = self.right(order)
        expect(self.page.locator("[data-part=verdict]")).to_be_visible()
        expect(self.page.locator(".round-result .source summary")).to_be_visible()

    def right(self, order: bool) -> list[str]:
        """What is marked as right: an option, or all by their places."""
        if not order:
            return self.page.locator(".round-option.right").evaluate_all(
                "all => all.map((one) => one.dataset.option)"
            )
        reason = self.page.locator(".round-result .line-words").inner_text().partition(":")[0]
        options = self.page.locator(".round-option").evaluate_all(
            "all => all.map((one) =>"
            " [one.querySelector('[data-part=words]').textContent, one.dataset.option])"
        )
        names = dict(options)
        return [names[name] for name in reason.strip().split(", ")]


def test_an_evening_and_the_next_day_without_a_dog(phone: Phone) -> None:
    page = phone.page
    page.clock.install()
    phone.go()
    page.get_by_role("link", name="Learn").click()
    page.get_by_role("link", name="First walk").click()
    stations = []
    while not page.get_by_role("heading", name="First walk done").count():
        stations.append(page.locator("h1").inner_text())
        page.get_by_role("button", name="Next").click()
    assert len(stations) == len(set(stations)) > TEN
    page.get_by_role("link", name="Start a round").click()

    evening = Round(phone)
    evening.play()
    phone.until(lambda: len(phone.records("drill")) == TEN, "all answers are kept")
    records = phone.records("drill")
    missed = [row for row in records if row["values"]["answer"] == "wrong"]
    assert len(records) == len({row["values"]["item"] for row in records}) == TEN
    # Each mistake came back once, and then was right: it is kept as a mistake all the same.
    assert len(evening.asked) == TEN + len(missed)
    assert missed
    assert {row["values"].get("dog") for row in records} == {None}

    page.clock.fast_forward(NEXT_DAY)
    phone.go()
    page.get_by_role("link", name=re.compile(rf"^Learn: {len(missed)} things? due today")).click()
    page.get_by_role("link", name="Start what is due").click()
    expect(page.locator("[data-part=place]")).to_have_text(f"1 of {len(missed)}")
    morning = Round(phone)
    morning.shown = evening.shown
    morning.play()
    assert len(morning.asked) == len(missed) < TEN
    expect(page.get_by_text(f"{len(missed)} of {len(missed)}")).to_be_visible()
    assert len(phone.records("drill")) == TEN


def test_hints_count_as_half_known(phone: Phone) -> None:
    page = phone.page
    phone.go("learn/round")
    for _ in range(TEN):
        if page.get_by_role("button", name="Hint").count():
            break
        Round(phone).answer()
        page.get_by_role("button", name="Next").click()
    page.get_by_role("button", name="Hint").click()
    left = page.locator(".round-option:not(:disabled)")
    assert left.count() == page.locator(".round-option").count() / 2
    before = len(phone.records("drill"))
    while page.get_by_role("button", name="Hint").count():
        left.first.click()
    phone.until(lambda: len(phone.records("drill")) > before, "the answer is kept")
    helped = [row["values"] for row in phone.records("drill") if row["values"]["item"] == HINTED]
    assert [values["answer"] in ("slow", "wrong") for values in helped] == [True]


def test_what_was_learned_elsewhere_is_the_same_thing(demo: Phone) -> None:
    """The demo's things to learn came from the book: no second record is begun beside them."""
    assert len(demo.records("drill")) == 2
    before = demo.records("drill", item="word:withers")[0]["values"]["at"]
    demo.page.get_by_role("link", name="Learn: 1 thing due today").click()
    demo.page.get_by_role("link", name="Start what is due").click()
    expect(demo.page.locator("h1")).to_have_text("What is “withers”?")
    Round(demo).play()
    demo.until(
        lambda: demo.records("drill", item="word:withers")[0]["values"]["at"] != before,
        "the answer is kept",
    )
    assert len(demo.records("drill")) == 2


def test_a_dog_is_asked_what_its_standard_asks(demo: Phone) -> None:
    page = demo.page
    dog = demo.dog("Bramble")
    demo.go(f"dog/{dog}/learn")
    expect(page.get_by_role("heading", level=1, name="Learn: Bramble")).to_be_visible()
    expect(page.get_by_label("Breed")).to_have_count(0)
    asked = page.evaluate(
        """async (id) => {
          const main = document.querySelector("script[type=module]").src;
          const { lessonOf, keepAnswer } = await import(new URL("../js/lesson.js", main));
          const lesson = await lessonOf({ id });
          const item = lesson.items.find(({ kind }) => kind === "ask");
          await keepAnswer(lesson, item, "right");
          return item.key;
        }""",
        dog,
    )
    (record,) = demo.records("drill", item=asked)
    assert record["values"]["dog"] == dog


def test_a_breed_of_the_library_has_its_own_card(phone: Phone) -> None:
    page = phone.page
    phone.go("learn")
    page.get_by_label("Breed").select_option(label="Pug")
    expect(page).to_have_url(re.compile(r"#/breed/pug/learn$"))
    expect(page.get_by_label("Breed")).to_have_value("pug")
    expect(page.get_by_text("Lift", exact=True)).to_be_visible()
    page.get_by_label("Breed").select_option(label="Any breed")
    expect(page.get_by_text("Walk up", exact=True)).to_be_visible()


def test_words_are_found_offline_with_their_place_and_source(phone: Phone) -> None:
    page = phone.page
    phone.go("words")
    page.get_by_label("Find a word").fill("wither")
    row = page.locator(".word-row").first
    expect(row.get_by_role("heading", name="withers")).to_be_visible()
    row.locator("summary").click()
    expect(row.locator(".figure .lit")).to_have_attribute("data-spot", "topline")
    page.get_by_label("Find a word").fill("throaty thing")
    expect(page.get_by_text("No such word here.")).to_be_visible()
    page.get_by_label("Find a word").fill("height")
    page.locator(".word-see").first.get_by_role("button", name="withers").click()
    expect(page.get_by_label("Find a word")).to_have_value("withers")


def test_a_word_on_a_station_says_what_it_means(demo: Phone) -> None:
    demo.station("Bramble", "Head")
    word = demo.page.locator(".asks").get_by_role("button", name="skull").first
    word.click()
    says = demo.page.locator(".term-says")
    expect(says).to_contain_text("The bony upper head")
    expect(word).to_have_attribute("aria-expanded", "true")
    word.click()
    expect(says).to_have_count(0)


@pytest.mark.parametrize("path", ["learn", "learn/walk", "learn/round", "words"])
def test_it_is_open_to_everybody(phone: Phone, path: str) -> None:
    """By the machine's checks, in both lights; and nothing is cut off on the smallest phone."""
    page = phone.page
    phone.go(path)
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
    page.set_viewport_size(SMALL)
    assert page.evaluate("document.documentElement.scrollWidth") <= SMALL["width"]
