"""A kind of record with a screen, added to a copy of the tree by the guide's own steps.

It meets a book and phones that know nothing of it: nothing but the steps was needed, and nothing is
lost."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.phone import OUT_OF_REACH, POCKET, Phone
from tests.browser.test_worker import STATE
from tests.support import PATIENCE, ROOT, Server

# What each step of the recipes puts where: a file of its own, or the end of one that is there.
STEPS = {
    "ringside/book/kinds/plans.py": '''"""What a handler means to train next."""

from ringside.book.kinds.fields import FreeText, Ref
from ringside.book.kinds.kind import Kind, Seen

PLAN = Kind(
    name="plan",
    words="training plan",
    seen=Seen.BY_OWNERS,
    about="dog",
    fields={"dog": Ref("dog", required=True), "text": FreeText(required=True)},
)
''',
    "demo_data/kennel.toml": """
[[plan]]
key = "bramble-table"
dog = "bramble"
text = "Stand on the table."
""",
    "static/js/views/plans.js": """import { clone, fill, icon, part } from "../dom.js";
import * as store from "../store.js";

export const routes = { "dog/:id/plans": plans };

async function plans({ id }) {
  if (!(await store.get("dog", id))) return null;
  const rows = await store.about("plan", id);
  const list = [...rows, { id: null, values: {} }].map((row) => planForm(id, row));
  return { node: fill(clone("plans"), { back: icon("back"), list }), title: "Plans", live: true };
}

function planForm(dog, row) {
  const form = clone("plan");
  const words = part(form, "text");
  words.value = row.values.text ?? "";
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    store.write("plan", row.id, row.id ? { text: words.value } : { dog, text: words.value });
  });
  return form;
}
""",
    "templates/pocket/views/plans.html": """<template id="plans">
  <div class="page">
    <header class="bar">
      <a class="square-button" href="#/" aria-label="Back" data-part="back"></a>
      <h1 tabindex="-1">Plans</h1>
    </header>
    <div data-part="list"></div>
  </div>
</template>
<template id="plan">
  <form>
    <label>Plan <textarea data-part="text"></textarea></label>
    <button class="small-button">Save</button>
  </form>
</template>
""",
    "static/js/views.js": """export * as plans from "./views/plans.js";
""",
}  # fmt: skip

# Run in the copy: an old book is opened, written to and read as an owner and as a helper see it.
MEETS = """
import json, sys
from pathlib import Path
from ringside.book.devices import HELPER, VIEWS
from ringside.book.keeping import open_book
from ringside.book.pages import Asked
from ringside.book.place import Place

book = open_book(Place(Path(sys.argv[1])))
with book.session():
    dogs = book.records("dog")
    book.write_down("plan", [{"dog": next(iter(dogs)), "text": "Table"}], 1_900_000_000_000)
    seen = [book.seen(VIEWS[HELPER], Asked(records=records)) for records in (False, True)]
    print(json.dumps({
        "dogs": sorted(dog["name"] for dog in dogs.values()),
        "plans": [plan["text"] for plan in book.records("plan").values()],
        "helper": [page.as_json() for page in seen],
    }))
"""


@pytest.fixture
def newer(checkout: Path) -> Path:
    """A copy of the tree, with the steps done."""
    for name, words in STEPS.items():
        with (checkout / name).open("a", encoding="utf-8") as file:
            file.write(words)
    return checkout


def meets(newer: Path, data: Path) -> dict[str, Any]:
    command = [sys.executable, "-c", MEETS, str(data)]
    run = subprocess.run(
        command, cwd=newer, env={"PYTHONPATH": str(newer)}, capture_output=True, timeout=PATIENCE
    )
    assert run.returncode == 0, run.stderr.decode()
    found: dict[str, Any] = json.loads(run.stdout)
    return found


def test_the_steps_are_those_of_the_guide() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    start = guide.index("### A kind of record")
    recipes = guide[start : guide.index("### A breed", start)]
    named = {
        name
        for step in re.findall(r"^\d+\. .*", recipes, re.MULTILINE)
        for name in re.findall(r"`((?:ringside|book|demo_data|static|templates)/[^`]*)`", step)
    }
    for name in STEPS:
        place = name.replace("plans", "<name>").removeprefix("ringside/")
        assert place in named or f"{Path(place).parent}/" in named, f"The guide has no {place}"


def test_an_old_book_meets_a_new_kind(newer: Path, tmp_path: Path) -> None:
    """One of the first format, which knows nothing of kinds that came since."""
    data = tmp_path / "old"
    data.mkdir()
    shutil.copy(ROOT / "tests" / "books" / "format-1.book", data / "book.db")
    found = meets(newer, data)
    was = json.loads((ROOT / "tests" / "books" / "format-1.json").read_text(encoding="utf-8"))
    assert found["dogs"] == sorted(
        dog["name"] for dog in was["records"]["dog"].values() if not dog.get("deleted")
    )
    assert found["plans"] == ["Table"]
    assert not any("plan" in page or "Table" in page for page in found["helper"])
    assert meets(newer, data)["plans"] == ["Table", "Table"]


def take_up(phone: Phone) -> None:
    """Have the new build, as a person does."""
    phone.page.reload()
    phone.until(lambda: phone.page.evaluate(STATE)["waiting"], "the new build is here")
    phone.go("settings")
    button = phone.page.get_by_role("button", name="Update now")
    with phone.page.expect_event("load"):
        button.click()
    phone.open()


def plan(phone: Phone, dog: str, text: str) -> None:
    """Write over the first plan of a dog."""
    phone.go(f"dog/{dog}/plans")
    form = phone.page.locator("form").first
    form.get_by_label("Plan").fill(text)
    form.get_by_role("button", name="Save").click()
    phone.until(lambda: phone.records("plan", text=text), "the plan is kept")


def served_by(newer: Path, server: Server, start_server: Callable[..., Server]) -> Server:
    """The book of a server that was stopped, served by the copy of the tree."""
    env = {"PYTHONPATH": str(newer)}
    return start_server("demo", data=server.data, port=server.port, cwd=newer, env=env)


def test_old_phones_meet_a_new_kind(
    server: Server,
    newer: Path,
    context: Callable[..., BrowserContext],
    start_server: Callable[..., Server],
    allowed_errors: list[str],
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    mine, stays = (
        Phone(context(**POCKET).new_page(), server.url).open().ready_offline() for _ in range(2)
    )
    dog = mine.dogs["Bramble"]
    server.stop()
    mine.rename("Bramble", "Bramble the First")
    assert mine.changes("unsent")

    # Another version serves the book, and its phones write of what only they know.
    later = served_by(newer, server, start_server)
    take_up(mine.sync(later.data))
    assert [row["values"]["name"] for row in mine.records("dog") if row["id"] == dog] == [
        "Bramble the First"
    ]
    fresh = Phone(context(**POCKET).new_page(), server.url).open().ready_offline()
    texts = {mine: "Stand on the table for a minute.", fresh: "Stand on the ramp."}
    assert [row["values"]["text"] for row in fresh.records("plan")] == ["Stand on the table."]
    later.stop()
    for each, text in texts.items():
        plan(each, dog, text)
    later.start()
    for each in (mine, fresh, mine):
        each.sync(later.data)
    for each in (mine, fresh):
        each.go("sync")
        expect(each.page.get_by_text("Training plan, Bramble the First: show both")).to_be_visible()
        each.show_both(*texts.values())

    # The phone that stays behind parks all of it, and goes on.
    stays.sync(later.data)
    assert {row["kind"] for row in stays.rows("parked")} == {"plan"}
    assert not stays.records("plan")
    stays.dog("Bramble the First")
    assert not any(text in json.dumps(stays.rows("rows")) for text in texts.values())
    take_up(stays)
    stays.until(lambda: stays.records("plan"), "what was parked is folded")
    assert not stays.rows("parked")
    stays.go("sync")
    stays.show_both(*texts.values())
    stays.settle(texts[mine])
    for each in (stays, mine, fresh):
        each.sync(later.data)
        each.go(f"dog/{dog}/plans")
        expect(each.page.get_by_label("Plan").first).to_have_value(texts[mine])
        assert each.rows("parked") == []

    later.stop()
    found = meets(newer, later.data)
    assert sorted(found["plans"]) == sorted(["Table", texts[mine]])
    assert "Bramble the First" in found["dogs"]
    assert not any('"plan"' in page or "Stand on the" in page for page in found["helper"])


def test_a_window_that_stays_behind_keeps_nothing_from_the_others(
    server: Server,
    newer: Path,
    context: Callable[..., BrowserContext],
    start_server: Callable[..., Server],
    allowed_errors: list[str],
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    windows = context(**POCKET)
    stays = Phone(windows.new_page(), server.url).open().ready_offline()
    dog = stays.dogs["Bramble"]
    server.stop()
    later = served_by(newer, server, start_server)
    other = Phone(windows.new_page(), server.url).open()
    take_up(other.sync(later.data))
    other.until(lambda: other.records("plan"), "the kennel's plan is here")
    other.page.close()

    # What is written now comes through the window that was not asked, which does not know it.
    fresh = Phone(context(**POCKET).new_page(), server.url).open().ready_offline()
    plan(fresh, dog, "Stand on the ramp.")
    fresh.sync(later.data)
    stays.sync(later.data)
    assert {row["kind"] for row in stays.rows("parked")} == {"plan"}

    again = Phone(windows.new_page(), server.url).open()
    again.go(f"dog/{dog}/plans")
    expect(again.page.get_by_label("Plan").first).to_have_value("Stand on the ramp.")
    assert again.rows("parked") == []
