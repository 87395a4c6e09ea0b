"""Every screen of the tour can be read and used by everybody, in every mode: each is opened once in
a window of some size, and all is measured there.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.measures import (
    COLOUR_RULES,
    CUT,
    LOST,
    MODES,
    STANDS_OUT,
    TARGET,
    TARGETS,
    axe,
    dress,
)
from tests.browser.tour import PHONE, SCREENS, WINDOW, TourPhone

PhoneFor = Callable[[str, dict[str, int]], TourPhone]

SIZES = {"phone": PHONE, "window": WINDOW}
NARROW = {"width": 320, "height": 640}

TEXT = 7.0
MARK = 3.0
# Forced colours are the person's own choice, and axe looks at them.
THEMES = ("light", "dark", "more contrast")


@pytest.fixture(scope="module")
def shown(request: pytest.FixtureRequest, phone_for: PhoneFor) -> tuple[TourPhone, str]:
    """The phone on which a screen is open, and the screen's name."""
    size, name = request.param
    phone = phone_for(name, SIZES[size])
    SCREENS[name](phone)
    return phone, name


# Tests of the same screen run one after another, as these begin with the same.
EVERY = [(size, name) for size in SIZES for name in SCREENS]
of_every_size = pytest.mark.parametrize("shown", EVERY, indirect=True, ids="-".join)
of_a_phone = pytest.mark.parametrize("shown", EVERY[: len(SCREENS)], indirect=True, ids="-".join)


@of_every_size
def test_axe_finds_nothing(shown: tuple[TourPhone, str]) -> None:
    phone, name = shown
    # The side of a wide window is the same beside every screen: two of them stand for all.
    but = "" if name in ("kennel", "dog") else "#side"
    # A window has the colours of a phone, but at its side and on the desk.
    is_as_on_a_phone = phone.page.viewport_size == WINDOW and but and not name.startswith("desk")
    found = {}
    for mode in ["light"] if is_as_on_a_phone else MODES:
        dress(phone.page, mode)
        found[mode] = axe(phone.page, None if mode == "light" else COLOUR_RULES, but)
    dress(phone.page, "light")
    assert {mode: lines for mode, lines in found.items() if lines} == {}


@of_every_size
def test_everything_stands_out(shown: tuple[TourPhone, str]) -> None:
    phone, _ = shown
    found = {}
    for theme in THEMES:
        dress(phone.page, theme)
        found[theme] = phone.page.evaluate(STANDS_OUT, {"text": TEXT, "mark": MARK})
    dress(phone.page, "light")
    assert {theme: lines for theme, lines in found.items() if lines} == {}


@of_a_phone
def test_targets_are_large_and_apart(shown: tuple[TourPhone, str]) -> None:
    phone, _ = shown
    assert phone.page.evaluate(TARGETS, TARGET) == []


@of_a_phone
def test_the_largest_type_cuts_nothing_off(shown: tuple[TourPhone, str]) -> None:
    """The screen scrolls down, and no other way."""
    page = shown[0].page
    page.evaluate("document.documentElement.dataset.size = 'largest'")
    found = [*page.evaluate(LOST), *page.evaluate(CUT)]
    page.evaluate("document.documentElement.dataset.size = 'normal'")
    assert found == []


@pytest.mark.parametrize("name", SCREENS)
def test_nothing_is_lost_on_a_narrow_screen_or_in_large_type(
    phone_for: PhoneFor, name: str
) -> None:
    phone = phone_for(name, NARROW)
    SCREENS[name](phone)
    found = {"320 px": phone.page.evaluate(LOST)}
    phone.page.set_viewport_size(PHONE)
    # 200 % of the browser's own size: rem and px are told apart by it as on a phone.
    phone.page.evaluate("document.documentElement.style.fontSize = '200%'")
    found["200 %"] = phone.page.evaluate(LOST)
    phone.page.evaluate("document.documentElement.style.fontSize = ''")
    phone.page.set_viewport_size(NARROW)
    assert {how: lines for how, lines in found.items() if lines} == {}
