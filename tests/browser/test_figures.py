"""Every dog can be drawn: each breed, each part on each body, each station's spot on any."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

import pytest
from playwright.sync_api import Page, expect

from ringside.domain.exam import figure
from ringside.knowledge import load
from ringside.knowledge.schema import Coat, Drawing, Profile
from tests.browser.phone import POCKET, Phone
from tests.support import Server

KNOWLEDGE = load()
RING = {"down_and_back", "triangle", "go_round"}
STATIONS = [station for station in KNOWLEDGE.stations if station not in RING]
WELL_KNOWN = (
    "samoyed", "labrador-retriever", "dachshund", "pug", "greyhound", "poodle", "basset-hound",
    "papillon", "airedale-terrier",
)  # fmt: skip


def choices(model: Any, field: str) -> list[Any]:
    return list(get_args(model.model_fields[field].annotation))


PARTS = {name: choices(Drawing, name) for name in Drawing.model_fields} | {
    "coat": list(get_args(Coat)),
    "topline": [one for one in get_args(choices(Profile, "topline")[0]) if one],
    "short_faced": [True, False],
}

# What a dog may be that is asked for: nothing, what an older pack said, and what a newer one may.
ODD: list[Any] = [None, "square", {}, {"body": "winged", "coat": 7}, {"ears": "constructor"}]


def every_dog() -> list[Any]:
    """What the drawings of all breeds are asked by, and every part with every body."""
    breeds = [figure(breed, breed.short_faced) for breed in KNOWLEDGE.breeds.values()]
    each = [
        {"body": body, part: name}
        for body in PARTS["body"]
        for part, names in PARTS.items()
        for name in names
        if part != "body"
    ]
    distinct: list[Any] = []
    for one in [*breeds, *each]:
        if one not in distinct:
            distinct.append(one)
    return distinct + ODD


# All is read from the numbers of the paths: to ask the browser for points on a line takes minutes.
DRAW = r"""
async ([dogs, stations]) => {
  const at = (path) => new URL(path, document.querySelector("script[type=module]").src);
  const { compose } = await import(at("core/figure.js"));
  const NEAR = 11; // Six units of the largest head, as large as it comes on the page.
  const ways = [0, 0.25, 0.5, 0.75, 1];
  // Points on the curves of a drawn line: of each C its beginning, three between and its end.
  const points = (d) => {
    const [begin, ...pieces] = d.slice(1).split("C").map((piece) => piece.split(" ").map(Number));
    return pieces.reduce(({ found, from }, [a, b, c, e, x, y]) => {
      const on = (t, p, q, r, s) =>
        p * (1 - t) ** 3 + 3 * q * t * (1 - t) ** 2 + 3 * r * t * t * (1 - t) + s * t ** 3;
      const these = ways.map((t) => [on(t, from[0], a, c, x), on(t, from[1], b, e, y)]);
      return { found: found.concat(these), from: [x, y] };
    }, { found: [begin], from: begin }).found;
  };
  const apart = ([x, y], others) => Math.min(...others.map(([u, v]) => Math.hypot(u - x, v - y)));
  const found = [];
  for (const [place, dog] of dogs.entries()) {
    const wrong = (words) => found.push(`${JSON.stringify(dog)}: ${words}`);
    const { lines, anchors, shapes } = compose(dog);
    if (lines.some(([, d]) => !/^M-?[\d.]+ -?[\d.]+(C(-?[\d.]+ ?){6})+$/.test(d))) {
      wrong("a line that is none");
      continue;
    }
    const all = lines.flatMap(([, d]) => points(d));
    const across = all.map(([x]) => x);
    const down = all.map(([, y]) => y);
    const [left, right, high] = [Math.min(...across), Math.max(...across), Math.min(...down)];
    if (!(left >= 6 && high >= 6 && right <= 314)) wrong(`off the page: ${[left, high, right]}`);
    const low = Math.max(...down);
    if (!(low >= 203 && low <= 213)) wrong(`its feet are at ${low}`);
    const outline = points(shapes.outline);
    const tail = points(shapes.tail);
    for (const end of [tail[0], tail[tail.length - 1]]) {
      if (!(apart(end, outline) <= NEAR)) wrong(`the tail ends ${apart(end, outline)} off`);
    }
    const ear = points(shapes.ear);
    const [[a, b], [c, e]] = [ear[0], ear[ear.length - 1]];
    const root = ways.map((t) => [a + (c - a) * t, b + (e - b) * t]);
    if (!(apart(anchors.ear, root) <= NEAR)) wrong(`the ear is ${apart(anchors.ear, root)} off`);
    const [fore, hind] = shapes.legs.map(points);
    const joints = [[anchors.elbow, fore], [anchors.flank, hind], [anchors.buttock, hind]];
    if (joints.some(([joint, leg]) => !(apart(joint, leg) <= NEAR))) wrong("a leg off its joint");
    const feet = [fore, hind].map((leg) => Math.max(...leg.map(([, y]) => y)));
    if (!(Math.min(...feet) >= 203)) wrong("a leg in the air");
    if (place % 4) continue;
    for (const station of stations) {
      const { under, over } = compose(dog, station);
      if (!under.length && !over.length) wrong(`nothing is lit at ${station}`);
      const off = [...under, ...over].find((mark) => /NaN|undefined|Infinity/.test(mark.d));
      if (off) wrong(`${station} is lit by ${off.d}`);
    }
  }
  return found;
}
"""

# What the app itself shows of some breeds, found by their ids.
SHOW = """
async ([ids, stations]) => {
  const at = (path) => new URL(path, document.querySelector("script[type=module]").src);
  const [{ stationFigure }, { breedOf }] = await Promise.all(
    ["dom.js", "shipped.js"].map((path) => import(at(path))));
  const place = document.getElementById("main");
  const shown = {};
  for (const id of ids) {
    const { figure } = await breedOf({ values: { breed: id } });
    const all = stations.map((station) => place.appendChild(stationFigure(figure, station)));
    while (all.some((one) => !one.querySelector("path"))) {
      await new Promise((done) => setTimeout(done));
    }
    const within = ({ x, y, width, height }) =>
      x >= 0 && y >= 0 && x + width <= 320 && y + height <= 220 && width + height > 0;
    const lights = (one) => {
      const lit = [...one.querySelectorAll(".lit path")].map((path) => path.getBBox());
      return getComputedStyle(one.querySelector(".lit")).opacity === "1" && lit.every(within);
    };
    const lines = [...all[0].querySelectorAll(".ink path")].map((path) => path.getAttribute("d"));
    shown[id] = { lit: stations.filter((_, at) => lights(all[at])), lines: lines.join("") };
    for (const one of all) one.remove();
  }
  return shown;
}
"""


@pytest.fixture
def phone(start_server: Callable[..., Server], page: Callable[..., Page]) -> Phone:
    return Phone(page(**POCKET), start_server("demo").url).open()


def test_every_dog_stands_whole_on_its_page(phone: Phone) -> None:
    assert phone.page.evaluate(DRAW, [every_dog(), STATIONS]) == []


def test_well_known_breeds_are_told_apart_and_each_station_lights_something(phone: Phone) -> None:
    shown = phone.page.evaluate(SHOW, [WELL_KNOWN, STATIONS])
    lit = {breed: one["lit"] for breed, one in shown.items()}
    assert lit == dict.fromkeys(WELL_KNOWN, STATIONS)
    assert len({one["lines"] for one in shown.values()}) == len(WELL_KNOWN)


def test_the_kennel_and_a_card_show_the_dog(phone: Phone) -> None:
    rows = phone.page.locator("#main .dog-row svg.figure .ink path.skin")
    expect(rows.first).to_be_attached()
    drawn = phone.page.locator("#main .dog-row svg.figure").evaluate_all(
        "all => all.map((one) => one.querySelector('.ink').innerHTML)"
    )
    assert len(drawn) > 3
    assert len(set(drawn)) > 3
    phone.page.locator("#main .dog-row").first.click()
    expect(phone.page.locator("#main svg.figure [data-spot=outline].lit")).to_be_attached()


def test_a_walk_through_the_ring_still_shows_the_ring(phone: Phone) -> None:
    shown = phone.page.evaluate(
        """async (ring) => {
          const at = new URL("dom.js", document.querySelector("script[type=module]").src);
          const { stationFigure } = await import(at);
          return ring.map((station) => [...stationFigure({}, station).querySelectorAll(".lit")]
            .map((one) => one.dataset.spot));
        }""",
        sorted(RING),
    )
    assert shown == [[station] for station in sorted(RING)]
