"""People with the real app in a real Chromium, and what befalls a browser."""

from __future__ import annotations

import contextlib
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect

from ringside.book.devices import OWNER
from tests.browser.phone import CLOCK_OFF, POCKET, Phone, kill_browser
from tests.support import ROOT, launch_options, until
from tests.torture.faults import DAY
from tests.torture.journal import Account, Journal, shown_by
from tests.torture.world import World

PARTS = ("ringside", "static", "templates", "demo_data")

# Tell of every answer to a sync that came whole, beside the app.
LISTEN = """{
    const ask = globalThis.fetch;
    const read = async ({ headers, body }) => {
        const isSqueezed = new Headers(headers).get("Content-Encoding") === "gzip";
        const plain = new Response(body).body;
        return new Response(isSqueezed ? plain.pipeThrough(new DecompressionStream("gzip")) : plain)
            .json();
    };
    globalThis.fetch = async (path, ...options) => {
        const answer = await ask(path, ...options);
        if (path === "/api/sync" && answer.ok) {
            const sent = await read(options[0]);
            answer.clone().json().then((said) => heard(Boolean(sent.cursor), said), () => {});
        }
        return answer;
    };
}"""
# The clock is off by as much as the window was told, until it is told otherwise.
CLOCK = CLOCK_OFF.replace("OFF", "Number(localStorage.getItem('clock-off'))")
UPDATE = """async () => {
    const found = await navigator.serviceWorker.getRegistration();
    await found.update().catch(() => {});
    return Boolean(found.waiting);
}"""
# A transaction that writes is given up as on a full phone. (What Chromium's own protocol has for a
# quota holds for files and caches; IndexedDB does not feel it.)
NO_ROOM = """() => {
    const { transaction } = IDBDatabase.prototype;
    globalThis.roomAgain = () => { IDBDatabase.prototype.transaction = transaction; };
    IDBDatabase.prototype.transaction = function (...given) {
        const made = transaction.apply(this, given);
        if (given[1] === "readwrite") {
            queueMicrotask(() => made.abort());
            const error = new DOMException("No space.", "QuotaExceededError");
            Object.defineProperty(made, "error", { value: error });
        }
        return made;
    };
}"""
NO_STORE = """IDBFactory.prototype.open = () => {
    throw new DOMException("The operation is insecure.", "SecurityError");
};"""


def copy_of_the_program(place: Path) -> Path:
    """A copy that a test may make another version of."""
    for part in PARTS:
        ignored = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / part, place / part, ignore=ignored)
    return place


class Hand:
    """A person with the app: a browser of their own, whose every connection leads to the wire."""

    def __init__(self, playwright: Playwright, world: World, name: str, profile: Path) -> None:
        self.world = world
        self.name = name
        self.journal = Journal(name)
        self.typed: list[str] = []
        self._words = 0
        self._playwright = playwright
        self.profile = profile
        self.url = f"http://localhost:{world.hosts[0].port}/"
        self.open()
        self.pair()
        self.dog = f"Dog of {name}"
        self.phone.add_dog(self.dog, "Boxer")
        self.note_changes()

    # --- the browser

    def open(self) -> None:
        host = self.world.hosts[0]
        options = launch_options()
        rule = f"MAP localhost:{host.port} 127.0.0.1:{host.wire.port}"
        options["args"] = [*options["args"], f"--host-resolver-rules={rule}"]
        self.context: BrowserContext = self._playwright.chromium.launch_persistent_context(
            self.profile, **options, **POCKET
        )
        self.context.add_init_script(LISTEN)
        self.context.add_init_script(CLOCK)
        self.context.expose_binding("heard", self._heard)
        self.phone = Phone(self.context.pages[0], self.url)

    def close(self) -> None:
        with contextlib.suppress(Error):
            self.context.close()

    @property
    def page(self) -> Page:
        return self.phone.page

    def _heard(self, _: Any, had_cursor: bool, answer: dict[str, Any]) -> None:
        self.journal.heard(answer, had_cursor)

    def pair(self) -> None:
        self.page.goto(f"{self.url}#/pair")
        self.phone.type_code(self.world.code(OWNER))
        self.page.get_by_role("link", name="To the kennel", exact=True).click()
        expect(self.page.locator(".brand")).to_be_visible()

    # --- what a person does

    def write(self) -> None:
        """Write a note, and be told that it is kept."""
        text = self.new_words()
        self.phone.station(self.dog, "Bite")
        self.phone.write_note(text)
        self.typed.append(text)
        self.note_changes()

    def new_words(self) -> str:
        self._words += 1
        return f"{self.name}, words {self._words}"

    def note_changes(self) -> None:
        """Copy into the journal what the phone says it has written."""
        for row in self.phone.rows("changes"):
            if row["id"] not in self.journal.written:
                self.journal.wrote(row)

    def sync_to_the_end(self) -> bool:
        """Until nothing waits and all that is in the book is here; whether anything moved."""
        before = self.phone.meta("cursor")
        place = self.world.rows("SELECT COALESCE(MAX(seq), 0) FROM change")[0][0]

        def is_level() -> bool:
            self.phone.nudge()
            self.page.wait_for_timeout(300)
            return self._reached() >= place and not self.phone.changes("unsent")

        until(is_level, f"{self.name} is level with the book")
        return bool(self.phone.meta("cursor") != before)

    def _reached(self) -> int:
        """The number in the book of the last change that is here."""
        here = (self.phone.meta("cursor") or "").partition(".")[0]
        found = self.world.rows(f"SELECT seq FROM change WHERE id = '{here}'")
        return int(found[0][0]) if found else 0

    def account(self) -> Account:
        self.note_changes()
        values: dict[str, dict[str, dict[str, Any]]] = {}
        for row in self.phone.rows("rows"):
            values.setdefault(row["kind"], {})[row["id"]] = row["values"]
        return Account(
            journal=self.journal,
            unsent={row["id"] for row in self.phone.changes("unsent")},
            refused={row["id"] for row in self.phone.changes("refused")},
            shown=shown_by(values),
            may_repeat=True,
        )

    def problems(self) -> list[str]:
        """What is wrong with what waits on the phone, once it has kept what it heard."""
        found: list[str] = []

        def is_well() -> bool:
            found[:] = self.account().outbox_problems()
            self.page.wait_for_timeout(40)
            return not found

        with contextlib.suppress(AssertionError):
            until(is_well, "the outbox is as remembered")
        return found

    def text_problems(self) -> list[str]:
        """What was typed is in the book once, whatever the phone says of ids."""
        sql = "SELECT value FROM change WHERE kind = 'note' AND field = 'text'"
        values = [json.loads(value) for (value,) in self.world.rows(sql)]
        times = {text: values.count(text) for text in self.typed}
        return [
            f"{text!r}: {found} times in the book" for text, found in times.items() if found != 1
        ]


# --- what befalls a browser


def offline(hand: Hand) -> None:
    hand.context.set_offline(True)
    hand.write()
    hand.page.reload()
    expect(hand.page.locator("#main h1").first).to_be_visible()
    hand.context.set_offline(False)


def killed(hand: Hand) -> None:
    """As by an empty battery, right after the app has said that the note is kept."""
    hand.write()
    kill_browser(hand.context, hand.profile)
    hand.open()
    # Chromium writes its cookies down every half minute only, so the newest token may be gone.
    hand.pair()


def clock_jumps(hours: int) -> Callable[[Hand], None]:
    def jump(hand: Hand) -> None:
        hand.page.evaluate("off => localStorage.setItem('clock-off', off)", hours)
        hand.page.reload()
        hand.write()
        hand.sync_to_the_end()
        hand.page.evaluate("localStorage.removeItem('clock-off')")

    return jump


def storage_full(hand: Hand) -> None:
    """The app says so, and keeps the text on the screen until there is room."""
    hand.phone.station(hand.dog, "Bite")
    hand.page.get_by_text("Write a note").click()
    field = hand.page.get_by_label("Private note")
    text = hand.new_words()
    field.fill(text)
    before = hand.phone.rows("changes")
    hand.page.evaluate(NO_ROOM)
    keep = hand.page.get_by_role("button", name="Save note")
    keep.click()
    expect(
        hand.page.get_by_text("Not saved: This phone is full. Free some space and try again.")
    ).to_be_visible()
    assert {row["id"] for row in hand.phone.rows("changes")} == {row["id"] for row in before}
    hand.page.evaluate("roomAgain()")
    keep.click()
    expect(field).to_have_value("")
    hand.typed.append(text)
    hand.note_changes()


def storage_refused(hand: Hand) -> None:
    """In a window that may keep nothing the app says so, and sends nothing."""
    page = hand.context.new_page()
    page.add_init_script(NO_STORE)
    page.goto(hand.url)
    expect(page.get_by_text("This browser does not let Ringside save anything")).to_be_visible()
    page.close()


def storage_evicted(hand: Hand) -> None:
    """All that the browser kept for the address goes; the person pairs anew."""
    hand.note_changes()
    hand.context.set_offline(True)
    hand.write()
    waiting = hand.phone.changes("unsent")
    hand.page.goto("about:blank")
    session = hand.context.new_cdp_session(hand.page)
    everything = {"origin": hand.url.rstrip("/"), "storageTypes": "all"}
    session.send("Storage.clearDataForOrigin", everything)
    hand.context.set_offline(False)
    hand.journal.storage_lost({row["id"] for row in waiting})
    gone = [row["value"] for row in waiting]
    hand.typed = [text for text in hand.typed if text not in gone]
    hand.pair()
    hand.sync_to_the_end()


def new_version(hand: Hand) -> None:
    """The server is updated; this hand takes the new version up, others go on with the old."""
    server = hand.world.hosts[0].server
    with (server.cwd / "static" / "css" / "app.css").open("a") as sheet:
        sheet.write("\n/* another build */\n")
    server.restart()
    until(lambda: hand.page.evaluate(UPDATE), "the new version is there")
    hand.phone.go("settings")
    built = hand.page.get_by_text(re.compile(r"^Build \w+$"))
    before = built.inner_text()
    hand.phone.await_no_card()
    with hand.page.expect_event("load"):
        hand.page.get_by_role("button", name="Update now").click()
    hand.phone.go("settings")
    expect(built).not_to_have_text(before)


ALL: dict[str, Callable[[Hand], None]] = {
    "browser without a network": offline,
    "browser killed after a note was kept": killed,
    "browser's clock a day fast": clock_jumps(DAY),
    "browser's clock a day slow": clock_jumps(-DAY),
    "browser's storage full": storage_full,
    "browser's storage refused": storage_refused,
    "browser's storage evicted": storage_evicted,
    "two versions of the app": new_version,
}
