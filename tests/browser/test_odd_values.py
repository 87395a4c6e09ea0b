"""One odd value closes no page: a phone and a desk that hold every odd and half record there can be
show every screen, with the neighbours of what is odd on it."""

from __future__ import annotations

import http.client
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.phone import Phone, place
from tests.odd import NEIGHBOUR, Kennel, changes, new_id, send
from tests.support import Server

NARROW = {"viewport": {"width": 360, "height": 800}}
OF_A_DOG = (
    "", "/edit", "/card", "/station/bite", "/station/testes", "/order/new", "/ring", "/rehearse",
    "/enter", "/measures", "/awards", "/award/new",
)  # fmt: skip
ALONE = ("", "dog/new", "shows", "show/new", "removed", "sync", "settings")

# Opens each address and tells, for each, its heading, its words, how wide it is, and what was
# complained of meanwhile.
TOUR = """async (paths) => {
  const main = document.getElementById("main");
  const told = [];
  let faults = [];
  const complain = console.error;
  console.error = (...words) => faults.push(words.map((word) => word?.stack ?? String(word)).join(" "));
  addEventListener("unhandledrejection", ({ reason }) => faults.push(String(reason?.stack ?? reason)));
  addEventListener("error", ({ message, error }) => faults.push(String(error?.stack ?? message)));
  for (const path of paths) {
    const shown = new Promise((done) => {
      const late = setTimeout(() => done(false), 20_000);
      const watch = new MutationObserver(() => {
        watch.disconnect();
        clearTimeout(late);
        done(true);
      });
      watch.observe(main, { childList: true });
    });
    if (location.hash === `#/${path}`) dispatchEvent(new HashChangeEvent("hashchange"));
    else location.hash = `#/${path}`;
    const isShown = await shown;
    await new Promise((done) => setTimeout(done));
    told.push({
      path,
      heading: isShown ? main.querySelector("h1")?.textContent ?? "" : "nothing was shown",
      words: main.textContent,
      over: document.documentElement.scrollWidth - innerWidth,
      faults,
    });
    faults = [];
  }
  console.error = complain;
  return told;
}"""


@pytest.fixture(scope="module")
def kennel() -> Kennel:
    return Kennel()


@pytest.fixture
def odd_server(server: Server, kennel: Kennel) -> Server:
    """A server whose book has all that is odd, taken in through the sync."""
    device = new_id()
    send(server, changes(kennel.records, device), device)
    return server


def screens(kennel: Kennel) -> Iterator[str]:
    yield from ALONE
    for dog in kennel.ids("dog"):
        yield from (f"dog/{dog}{rest}" for rest in OF_A_DOG)
    for show in kennel.ids("show"):
        yield from (f"show/{show}", f"show/{show}/edit")
    for entry in kennel.ids("entry"):
        yield from (f"entry/{entry}", f"gate/{entry}")
    for walk in kennel.ids("walk"):
        yield from (f"ring/{walk}", f"rehearsal/{walk}")
    for kind in ("order", "award"):
        yield from (f"dog/{kennel.dog}/{kind}/{key}" for key in kennel.ids(kind))


def test_every_screen_is_shown(
    odd_server: Server, kennel: Kennel, page: Callable[..., Page]
) -> None:
    phone = Phone(page(**NARROW), odd_server.url).open("settings")
    phone.until(lambda: phone.meta("cursor") == place(odd_server.data), "all changes are here")
    told = phone.page.evaluate(TOUR, list(screens(kennel)))
    import json
    open("/tmp/ov/told.json", "w").write(json.dumps(told))
    wrong = [
        f"{one['path']} ({kennel.why(one['path'].split('/')[1] if '/' in one['path'] else '')}): {one['heading']} {one['faults']}"
        for one in told
        if one["faults"] or one["heading"] in ("That did not work", "nothing was shown")
    ]
    assert wrong == []
