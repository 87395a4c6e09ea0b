"""The core of the app in Firefox and in WebKit: a dog, its card, a note, Ring, Rehearse, the gate;
then the server ends and the battery is flat, and all of it is there, and goes home to the book."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.engines import firefox, webkit
from tests.browser.engines.driver import WIDTH
from tests.browser.engines.hand import Hand
from tests.support import Server

WITHOUT: dict[str, Callable[[], str]] = {
    "Firefox": lambda: firefox.WITHOUT,
    "WebKitGTK": webkit.without,
}


@pytest.fixture(params=WITHOUT)
def engine(request: pytest.FixtureRequest) -> str:
    if lacking := WITHOUT[request.param]():
        pytest.skip(lacking)
    return str(request.param)


def test_core_journey(engine: str, hand: Callable[..., Hand], server: Server) -> None:
    phone = hand(engine, server)
    phone.open()
    phone.ready_offline()
    assert_forms_fit(phone)
    phone.show("", "#main [data-part=add]")
    dog = add_dog(phone)
    station = write_note(phone, dog)
    walk = go_in(phone, dog)
    practise(phone, dog)
    check_gate(phone)
    phone.sync(server.data)

    server.stop()
    phone.driver.kill()
    phone.driver.start()
    phone.open()
    phone.tap(f"#main [data-part=dogs] a[href$='{dog}']")
    phone.see(".ways-in [data-part=ring]")
    go_on_in_ring(phone, walk)
    phone.show(f"dog/{dog}/station/{station}", "[data-part=veil]")
    phone.tap("[data-part=veil]")
    assert phone.words(".note-text") == "Chin up"
    assert any(row["state"] != "sent" for row in phone.rows("changes"))

    server.start()
    phone.sync(server.data)


def add_dog(phone: Hand) -> str:
    phone.tap("#main [data-part=add]")
    phone.type("#f-name", "Quill")
    phone.type("#f-breed", "Samoy")
    phone.tap("[role=option]")
    phone.tap("[name=sex][value=bitch]")
    phone.date("#f-born", "2024-05-17")
    phone.tap("[data-part=save]")
    phone.see("[data-part=rehearse]")
    found = phone.await_record("dog", name="Quill", breed="samoyed", born="2024-05-17")
    assert phone.address == ["dog", found["id"]]
    return str(found["id"])


def write_note(phone: Hand, dog: str) -> str:
    phone.tap("[data-part=card]")
    phone.tap(".station-row")
    phone.tap("[data-part=write-note] summary")
    phone.type("#note-text", "Chin up")
    phone.tap("[data-part=note-save]")
    phone.see("[data-part=veil]")
    assert "Chin up" not in phone.words("#main")
    return str(phone.await_record("note", dog=dog, text="Chin up")["values"]["station"])


def go_in(phone: Hand, dog: str) -> str:
    """Two stations done and one undone."""
    phone.show(f"dog/{dog}", ".ways-in [data-part=ring]")
    phone.tap(".ways-in [data-part=ring]")
    phone.tap("[data-part=go]")
    phone.see(".ring-done")
    walk = phone.address[1]
    for number in (1, 2):
        phone.tap_again(".ring-done")
        phone.await_count(number, "tick", walk=walk)
    phone.tap_again("[data-part=undo]")
    phone.await_record("tick", walk=walk, state="open")
    phone.tap_again("[data-part=leave]")
    phone.see("[data-part=rehearse]")
    return walk


def practise(phone: Hand, dog: str) -> None:
    phone.tap("[data-part=rehearse]")
    phone.tap("[data-part=go]")
    phone.tap("[data-grade=easy]")
    phone.await_record("practice", dog=dog, grade="easy")
    phone.tap("[data-part=back]")


def check_gate(phone: Hand) -> None:
    entry = phone.records("entry")[0]["id"]
    phone.show(f"gate/{entry}", "[data-part=tick]")
    phone.tap("[data-part=tick]")
    phone.await_record("gate", entry=entry, state="ready")


def go_on_in_ring(phone: Hand, walk: str) -> None:
    """The card waits at the station that was undone."""
    phone.show(f"ring/{walk}", ".ring-done")
    done = len(phone.records("tick", walk=walk, state="done"))
    phone.tap_again(".ring-done")
    phone.await_count(done + 1, "tick", walk=walk, state="done")


# Anything on this screen that is wider than what it stands in, or reaches out of the window.
CUT = """const all = "input, select, button, label, span, p, h1, h2";
return [...document.querySelectorAll(`#main :is(${all})`)]
  .filter((one) => one.checkVisibility() && getComputedStyle(one).display !== "inline")
  .filter((one) => one.scrollWidth > one.clientWidth + 1
    || one.getBoundingClientRect().right > innerWidth)
  .map((one) => `${one.tagName} ${one.id || one.innerText}`);"""

# The selects whose longest words want more room than they have.
LONG_WORDS = """const ruler = document.createElement("span"), ARROW = 20;
document.querySelector("#main").append(ruler);
ruler.style.position = "absolute";
return [...document.querySelectorAll("#main select")].filter((one) => {
  const { font, paddingLeft, paddingRight } = getComputedStyle(one);
  ruler.style.font = font;
  const widths = [...one.options].map((option) => {
    ruler.textContent = option.text;
    return ruler.offsetWidth;
  });
  const room = one.clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight) - ARROW;
  return one.checkVisibility() && Math.max(...widths) > room;
}).map((one) => one.id);"""

# How far each group of choices goes on below its last part, or pulls its choices apart.
SPARE = """const bottom = (one) => one.getBoundingClientRect().bottom;
return [...document.querySelectorAll("fieldset.field")].flatMap((one) => {
  const last = [...one.children].filter((part) => part.checkVisibility()).at(-1);
  const choices = [...one.querySelectorAll(".choices span")];
  const words = document.createRange();
  const needed = choices.map((choice) => {
    words.selectNodeContents(choice);
    return Math.max(56, words.getBoundingClientRect().height + 24);
  });
  const tallest = Math.max(...needed);
  return [bottom(one) - bottom(last), ...choices.map((it) => it.offsetHeight - tallest)];
});"""

IS_EMPTY_DATE = """const field = document.querySelector(arguments[0]);
return field.classList.contains("no-date");"""


def assert_forms_fit(phone: Hand) -> None:
    """What looked otherwise in one of the engines."""
    phone.show("dog/new", "#f-name")
    phone.tap("[name=sex][value=dog]")
    phone.see("#f-testes-on")
    assert phone.driver.run("return innerWidth;") == WIDTH
    assert phone.driver.run(CUT) == []
    assert phone.driver.run(LONG_WORDS) == []
    assert max(phone.driver.run(SPARE)) < 1
    assert phone.driver.run(IS_EMPTY_DATE, "#f-born")
    phone.date("#f-born", "2024-05-17")
    assert not phone.driver.run(IS_EMPTY_DATE, "#f-born")
    phone.show("settings", "[data-part=theme]")
    phone.see("[data-part=theme] input")
    assert phone.driver.run(CUT) == []
    assert max(phone.driver.run(SPARE)) < 1


BLOCKED: dict[str, dict[str, Any]] = {
    "Firefox": {"prefs": firefox.NO_SITE_DATA},
    "WebKitGTK": {"options": webkit.NO_SITE_DATA},
}


def test_without_site_data(engine: str, hand: Callable[..., Hand], server: Server) -> None:
    """A browser that blocks it is told so by the page, with the way out."""
    phone = hand(engine, server, **BLOCKED[engine])
    phone.open()
    phone.see("#main [data-part=words]")
    assert "allow site data" in phone.words("#main [data-part=words]")
