"""What Ringside looks like can be read by everybody, in the sun and with all kinds of eyes:
measured on the colours and boxes that the browser computed. What holds on every screen is in
test_screens.py.
"""

from __future__ import annotations

import itertools
import math
import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.measures import dress
from tests.browser.tour import PHONE, SCREENS, WINDOW

# --- Colours ---------------------------------------------------------------------------------

Vector = tuple[float, float, float]

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes: A Physiologically-based Model for Simulation
# of Color Vision Deficiency, IEEE Transactions on Visualization and Computer Graphics 15 (6), 2009:
# the matrices for a severity of 1.0, which act on linear RGB.
EYES: dict[str, tuple[Vector, Vector, Vector]] = {
    "usual": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
# IEC 61966-2-1 (sRGB), white D65.
TO_XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
WHITE = (0.95047, 1.0, 1.08883)


def times(matrix: tuple[Vector, Vector, Vector], vector: Vector) -> Vector:
    a, b, c = (sum(x * y for x, y in zip(row, vector, strict=True)) for row in matrix)
    return a, b, c


def linear(colour: Vector) -> Vector:
    """An sRGB colour (0 to 255) as light."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (channel / 255 for channel in colour)
    )
    return red, green, blue


def seen(colour: Vector, eyes: str) -> Vector:
    """A colour in CIELAB as these eyes see it."""
    red, green, blue = (min(1.0, max(0.0, x)) for x in times(EYES[eyes], linear(colour)))
    x, y, z = (
        ratio ** (1 / 3) if ratio > 216 / 24389 else (24389 / 27 * ratio + 16) / 116
        for ratio in (
            part / white
            for part, white in zip(times(TO_XYZ, (red, green, blue)), WHITE, strict=True)
        )
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def difference(one: Vector, other: Vector) -> float:
    """CIEDE2000, as G. Sharma, W. Wu and E. N. Dalal (Color Research & Application 30, 2005)."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    stretch = 1 + 0.5 * (1 - math.sqrt(mean**7 / (mean**7 + 25**7)))
    c1, c2 = math.hypot(a1 * stretch, b1), math.hypot(a2 * stretch, b2)
    h1 = math.degrees(math.atan2(b1, a1 * stretch)) % 360
    h2 = math.degrees(math.atan2(b2, a2 * stretch)) % 360
    turn = (h2 - h1 + 180) % 360 - 180 if c1 * c2 else 0
    chroma, light = (c1 + c2) / 2, (l1 + l2) / 2
    hue = h1 + turn / 2 if c1 * c2 else h1 + h2
    hue_step = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2))
    t = (
        1
        - 0.17 * math.cos(math.radians(hue - 30))
        + 0.24 * math.cos(math.radians(2 * hue))
        + 0.32 * math.cos(math.radians(3 * hue + 6))
        - 0.20 * math.cos(math.radians(4 * hue - 63))
    )
    dl = (l2 - l1) / (1 + 0.015 * (light - 50) ** 2 / math.sqrt(20 + (light - 50) ** 2))
    dc = (c2 - c1) / (1 + 0.045 * chroma)
    dh = hue_step / (1 + 0.015 * chroma * t)
    swing = 60 * math.exp(-((((hue % 360) - 275) / 25) ** 2))
    tie = -math.sin(math.radians(swing)) * 2 * math.sqrt(chroma**7 / (chroma**7 + 25**7))
    return math.sqrt(dl**2 + dc**2 + dh**2 + tie * dc * dh)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        # From the test data published with the paper.
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
        ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_differences_are_those_of_the_paper(one: Vector, other: Vector, expected: float) -> None:
    assert difference(one, other) == pytest.approx(expected, abs=5e-5)


# --- Colours that tell something -------------------------------------------------------------

# Two patches of colour are told apart at a glance from a CIEDE2000 difference of about 5 on; for
# the thin strokes of words we ask for twice that. It is asked of every pair, because any two of
# them can stand in one form or on one card, and for every kind of eyes. As all of them keep 7:1 to
# the ground, there is room for it only if each has a lightness of its own as well as a hue.
APART = 10
STATE_COLOURS = ("ink", "quiet", "accent", "danger", "caution")


def computed(page: Page, name: str) -> Vector:
    """The value of a colour token now."""
    red, green, blue = page.evaluate(
        """(name) => {
          const probe = document.body.appendChild(document.createElement("i"));
          probe.style.color = `var(--${name})`;
          const [r, g, b] = getComputedStyle(probe).color.match(/[\\d.]+/g).map(Number);
          probe.remove();
          return [r, g, b];
        }""",
        name,
    )
    return red, green, blue


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("eyes", EYES)
def test_colours_of_text_are_told_apart(phone_for, theme: str, eyes: str) -> None:
    phone = phone_for("kennel", PHONE)
    SCREENS["kennel"](phone)
    dress(phone.page, theme)
    colours = {name: seen(computed(phone.page, name), eyes) for name in STATE_COLOURS}
    dress(phone.page, "light")
    close = {
        f"{one} and {other}": round(difference(colours[one], colours[other]), 1)
        for one, other in itertools.combinations(colours, 2)
        if difference(colours[one], colours[other]) < APART
    }
    assert close == {}


# Icons that stand in one another's place, and so must differ in shape.
SETS = (
    ("easy", "work", "notyet"),
    ("done", "skipped", "missed", "open", "here"),
    ("caution", "missed", "skipped", "asked", "preferred"),
    ("veil", "unveil"),
)


def test_signs_of_a_set_differ_in_shape(phone_for) -> None:
    phone = phone_for("kennel", PHONE)
    SCREENS["kennel"](phone)
    for names in SETS:
        shapes = phone.page.evaluate(
            """(names) => names.map((name) => {
              const drawing = document.getElementById(`icon-${name}`).content.firstElementChild;
              return [...drawing.children].map((shape) => shape.outerHTML).join("");
            })""",
            names,
        )
        assert len(set(shapes)) == len(names), names


# Where a state shows, and the words that must stand by it, or the sign that has a name.
STATES = {
    "dog": {".now-row": r"Next show|Practice|Weight|Learn"},
    "practice": {".practice-row": r"Ready|Needs work|Not yet|No marks"},
    "card": {".row-tail .state-icon": r"caution|private note|Easy|Needs work|Not yet"},
    "station": {".asks .line-words": r"Asked|Fault|Serious fault|Disqualifies|Preferred|Yours"},
    "dog-form-wrong": {".hint.wrong": r"\w", ".form-problem": r"\d|One"},
    "ring-list": {".ring-jump": r"done|skipped|missed|to come|now"},
    "ring-end-missed": {".ring-missed-list li": r"Skip", ".ring-current": r"missed"},
    "rehearse-end": {".ready-row": r"Easy|Needs work|Not yet"},
    "kennel-trouble": {".notice": r"clock|two phones|refused"},
}


# Told by large words alone.
WORDS_ONLY = (".form-problem", ".ring-current")


@pytest.mark.parametrize("name", STATES)
def test_a_state_has_a_word_and_a_sign(phone_for, name: str) -> None:
    phone = phone_for(name, PHONE)
    SCREENS[name](phone)
    for selector, words in STATES[name].items():
        told = phone.page.evaluate(
            """(selector) => [...document.querySelectorAll(`#main ${selector}`)].map((place) => {
              const signs = [...place.querySelectorAll("[aria-label]")];
              const words = place.textContent + signs.map((sign) => sign.ariaLabel);
              return [words, Boolean(place.querySelector("svg.icon"))];
            })""",
            selector,
        )
        assert told, selector
        for said, has_sign in told:
            assert re.search(words, said), (selector, said)
            assert has_sign or selector in WORDS_ONLY, (selector, said)


def test_a_choice_made_is_seen_without_colour(phone_for) -> None:
    """By weight, an inner line, or a wider edge; the current dog by a wider edge."""
    phone = phone_for("settings", WINDOW)
    SCREENS["settings"](phone)
    # In one go, as the screen may be drawn anew between two.
    chosen, other = phone.page.evaluate(
        """["input:checked + span", "input:not(:checked) + span"].map((which) => {
          const { fontWeight, boxShadow } = getComputedStyle(document.querySelector(which));
          return { fontWeight, boxShadow };
        })"""
    )
    assert chosen["fontWeight"] > other["fontWeight"]
    assert chosen["boxShadow"] != other["boxShadow"]
    SCREENS["dog"](phone)
    rows = phone.page.locator("#side .dog-item")
    chosen_row = rows.filter(has=phone.page.locator("[aria-current]"))
    expect(chosen_row).to_have_css("border-top-width", "4px")
    expect(rows.last).to_have_css("border-top-width", "2px")


def test_the_theme_is_light_until_the_person_says_otherwise(phone_for) -> None:
    """In the sun only light reads well, whatever the phone prefers indoors."""
    phone = phone_for("settings", PHONE)
    phone.page.emulate_media(color_scheme="dark")
    phone.start()
    SCREENS["settings"](phone)
    paper = "getComputedStyle(document.documentElement).backgroundColor"
    light = phone.page.evaluate(paper)
    assert min(int(part) for part in re.findall(r"\d+", light)) > 240
    phone.page.get_by_label("As phone").check()
    dark = phone.page.evaluate(paper)
    assert max(int(part) for part in re.findall(r"\d+", dark)) < 40
    phone.start()
    assert phone.page.evaluate(paper) == dark
    SCREENS["settings"](phone)
    phone.page.get_by_label("Light").check()
    assert phone.page.evaluate(paper) == light
    phone.page.emulate_media(color_scheme="light")
