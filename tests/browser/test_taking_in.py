"""Taking the book in: on whatever screen a phone opens, and told as what it is where it fails."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from ringside.demo import NAMESPACE
from tests.browser.phone import Phone, asked, places
from tests.each import failure
from tests.support import ROOT, Server

VIEWS = ROOT / "static" / "js" / "views"
ROUTES = re.compile(r"export const routes = \{(.*?)\};", re.DOTALL)
PATTERN = re.compile(r'"([^"]*)": \w+|(\w+)')
# What stands for the first parameter of a pattern: a record of this kind.
KIND_OF = {"dog": "dog", "show": "show", "entry": "entry", "gate": "entry", "ring": "walk",
           "rehearsal": "walk", "ear": "walk", "photo": "photo"}  # fmt: skip
TEASEL = str(uuid.uuid5(NAMESPACE, "dog/teasel"))
SECOND = {"breed": "pug", "station": "bite", "order": "new", "award": "new", "title": "new",
          "view": "side", "dog": TEASEL, "key": "n%20tallow"}  # fmt: skip


def patterns() -> list[str]:
    """The routes of all views, as their files declare them."""
    found = []
    for path in sorted(VIEWS.glob("*.js")):
        declared = ROUTES.search(path.read_text(encoding="utf-8"))
        assert declared, f"{path.name} declares no routes"
        found += ["".join(match) for match in PATTERN.findall(declared[1])]
    return [pattern for pattern in found if not pattern.startswith("pair")]


def address(pattern: str, data: Path) -> str:
    """An address of this pattern that leads to something, of the demo where there is one."""
    words = []
    for word in pattern.split("/"):
        if word == ":id":
            sql = "SELECT id FROM record WHERE kind = ? AND NOT deleted ORDER BY id"
            found = asked(data, sql, KIND_OF[words[0]])
            words.append(found[0][0] if found else "none")
        else:
            words.append(SECOND[word[1:]] if word.startswith(":") else word)
    return "/".join(words)


def test_the_routes_are_found() -> None:
    found = patterns()
    assert {"", "dog/:id", "settings", "shows", "sources", "removed", "sync"} <= set(found)
    assert len(found) >= 22


def test_a_fresh_phone_takes_the_book_in(same_demo: Server, page: Callable[..., Page]) -> None:
    """Opened on any one screen, and on no other, it holds all records of the book, and packs."""
    book = set(asked(same_demo.data, "SELECT kind, id FROM record"))
    # No worker: it asks for the rest of the build, and has no part in this.
    opened = page()
    opened.add_init_script("delete Navigator.prototype.serviceWorker")
    phone = Phone(opened, same_demo.url)
    devices: set[str] = set()

    def takes_in(pattern: str) -> None:
        opened.goto(f"{same_demo.url}#/{address(pattern, same_demo.data)}")
        phone.until(lambda: opened.locator("#main h1, #main .ring").count(), "a screen")
        phone.until(lambda: phone.meta("cursor") in places(same_demo.data), "all changes are here")
        assert phone.meta("device") not in devices, "the phone is not fresh"
        devices.add(phone.meta("device"))
        assert {(row["kind"], row["id"]) for row in phone.rows("rows")} == book
        dogs = {row["id"] for row in phone.records("dog")}
        phone.until(lambda: {row["id"] for row in phone.rows("packs")} == dogs, "the packs")
        assert phone.rows("parked") == []

    failed = []
    for pattern in patterns():
        failed += [f"{pattern}: {told}"] if (told := failure(takes_in, pattern)) else []
        make_fresh(opened, same_demo.url)
    assert failed == []


def make_fresh(page: Page, url: str) -> None:
    """Take from the browser all that it keeps for the app."""
    page.goto("about:blank")
    tools = page.context.new_cdp_session(page)
    tools.send("Storage.clearDataForOrigin", {"origin": url.rstrip("/"), "storageTypes": "all"})
    tools.detach()


BROKEN = """
globalThis.Map = class extends Map {
    get(key) {
        if (globalThis.broken && String(key).startsWith("dog ")) {
            throw new TypeError("A planted fault");
        }
        return super.get(key);
    }
};
"""


def test_an_error_of_our_own_is_told_as_such(server: Server, page: Callable[..., Page]) -> None:
    opened = page()
    page.allowed_errors.append("A planted fault")
    opened.add_init_script(f"globalThis.broken = true; {BROKEN}")
    heard: list[str] = []
    opened.on("console", lambda message: heard.append(message.text))
    phone = Phone(opened, server.url).open("sync")
    expect(
        opened.get_by_text("Something went wrong on this phone: A planted fault")
    ).to_be_visible()
    assert any("A planted fault" in words for words in heard), "the console tells it too"
    expect(opened.get_by_text("reach")).to_have_count(0)
    assert phone.rows("rows") == []
    # It tries again by itself, and what it could not do before is done then.
    opened.evaluate("broken = false")
    phone.nudge()
    phone.until(lambda: phone.meta("cursor") in places(server.data), "all changes are here")
    expect(opened.get_by_text("A planted fault")).to_have_count(0)


def test_without_a_server_nothing_went_wrong(server: Server, page: Callable[..., Page]) -> None:
    page.allowed_errors.append("net::ERR_")
    phone = Phone(page(), server.url).open("sync")
    phone.until(lambda: phone.meta("synced"), "the book was met")
    phone.store("status()")  # the shipped app does not keep the module that this imports
    server.stop()
    phone.store("write('dog', null, it)", {"name": "Tansy"})
    phone.nudge()
    phone.page.wait_for_timeout(1_500)
    expect(phone.page.get_by_text("Something went wrong")).to_have_count(0)


def unknown(**more: Any) -> dict[str, Any]:
    device = "00000000-0000-7000-8000-00000000000b"
    return {
        "id": "00000000-0000-7000-8000-0000000000c1",
        "kind": "sketch",
        "record": "00000000-0000-7000-8000-0000000000d1",
        "field": "lines",
        "value": [[1, 2], "three"],
        "stamp": "01900000000a-0000-00000000000b",
        "base": "",
        "device": device,
        **more,
    }


def test_what_this_version_does_not_know_is_parked(
    server: Server, page: Callable[..., Page]
) -> None:
    """A kind, a field, a value: none is guessed at, and each is folded once it is known."""
    # A worker would answer in the place of the next version.
    opened = page()
    opened.add_init_script("delete Navigator.prototype.serviceWorker")
    phone = Phone(opened, server.url).open()
    phone.until(lambda: phone.meta("synced"), "the book was met")
    dog = phone.dogs["Bramble"]
    strange = [
        unknown(),
        unknown(id=unknown()["id"][:-1] + "2", kind="dog", record=dog, field="horns", value=2),
        unknown(id=unknown()["id"][:-1] + "3", kind="dog", record=dog, field="sex", value="both"),
        unknown(id=unknown()["id"][:-1] + "4", kind="constructor", field="__proto__"),
    ]
    answer = {
        "book": phone.meta("book"), "cursor": phone.meta("cursor"), "now": 0, "more": False,
        "anew": False, "taken": [], "refused": [], "restamped": {}, "changes": strange,
    }  # fmt: skip
    before = phone.store("get('dog', it)", dog)
    phone.store("incoming(it, 0)", answer)
    assert {row["id"] for row in phone.rows("parked")} == {row["id"] for row in strange}
    assert phone.store("get('dog', it)", dog) == before
    # The next version knows horns: it comes with other declarations, and another name for them.
    phone.page.route("**/kinds.json", lambda route: _with_horns(route))
    phone.page.route(f"{server.url}", lambda route: _of_another_version(route))
    phone.page.goto("about:blank")
    phone.open()
    phone.until(lambda: phone.meta("kinds") == "another-version", "the store stands anew")
    assert phone.store("get('dog', it)", dog)["values"]["horns"] == 2
    assert len(phone.rows("parked")) == 3
    assert phone.records("dog") != []


def _with_horns(route: Any) -> None:
    answer = route.fetch()
    kinds = answer.json()
    kinds["dog"]["fields"]["horns"] = {"type": "number", "most": 9}
    route.fulfill(response=answer, json=kinds)


def _of_another_version(route: Any) -> None:
    answer = route.fetch()
    text = re.sub(r'data-kinds="\w+"', 'data-kinds="another-version"', answer.text())
    route.fulfill(response=answer, body=text)


def of_a_copy(phone: Phone, **more: Any) -> dict[str, Any]:
    """What a book answers that is a restored copy, and has no more to say as yet."""
    return {
        "book": phone.meta("book"), "cursor": "", "now": 0, "more": False, "anew": True,
        "taken": [], "refused": [], "restamped": {}, "changes": [], **more,
    }  # fmt: skip


def test_a_pack_of_a_restored_copy_is_out_of_date_until_it_has_what_was_written_here(
    server: Server, page: Callable[..., Page]
) -> None:
    page.allowed_errors.append("net::ERR_")
    phone = Phone(page(), server.url).open()
    phone.until(lambda: phone.meta("synced"), "the book was met")
    dog = phone.dogs["Bramble"]

    def is_stale() -> bool:
        return bool(phone.store("pack('dog', it)", dog)["isStale"])

    won = {"dog": dog, "body": "KC", "what": "class-first", "day": "2024-05-17"}
    phone.store("write('award', null, it)", won)
    assert is_stale()
    phone.until(lambda: phone.nudge() or not is_stale(), "the book has it, and sent the pack")
    phone.page.route("**/api/sync", lambda route: route.abort())
    hashes = {f"{row['kind']}/{row['id']}": row["hash"] for row in phone.rows("packs")}
    offered = {"hashes": hashes, "packs": {}, "whole": phone.meta("packs")}
    phone.store("incoming(it, 0)", of_a_copy(phone, packs=offered))
    assert phone.changes("unsent") != []
    assert is_stale()
    phone.page.unroute("**/api/sync")
    phone.sync(server.data)
    phone.until(lambda: not is_stale(), "the book has it again")
