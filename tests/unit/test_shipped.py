"""What phones are sent: a few files made from the modules, or the modules while they are edited."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from ringside.files import folder
from ringside.web.assets import MADE_FROM, Asset, Build, make_build


def built(static: Path) -> Build:
    made = {"knowledge.json": Asset(b"{}", "application/json")}
    return make_build(static, made, lambda root, is_shipped: f"{root} {is_shipped}", "")


@pytest.fixture
def static(tmp_path: Path) -> Path:
    return Path(shutil.copytree(folder("static"), tmp_path / "static"))


def test_what_is_shipped_was_made_from_the_modules_that_stand_here() -> None:
    """What it is, byte by byte, `tests/run.py` holds too, where Node is."""
    assert built(folder("static")).is_shipped, "Make it anew: python3 tests/run.py --ship"


def test_a_phone_keeps_what_is_shipped_and_no_module_beside_it(static: Path) -> None:
    build = built(static)
    paths = {kept["url"].removeprefix(build.root) for kept in build.precache()}
    assert {"/shipped/main.js", "/shipped/pocket.css", "/knowledge.json", "/"} <= paths
    assert {path for path in paths if path.startswith(("/js/", "/css/"))} == {"/js/early.js"}
    assert f"/{MADE_FROM}" not in paths


@pytest.mark.parametrize("name", ["js/core/walk.js", "css/ring.css"])
def test_whoever_edits_a_module_is_sent_the_modules(static: Path, name: str) -> None:
    before = built(static)
    (static / name).write_text((static / name).read_text() + "\n/* edited */\n")
    build = built(static)
    paths = {kept["url"].removeprefix(build.root) for kept in build.precache()}
    assert not build.is_shipped
    assert build.id != before.id
    assert {f"/{name}", "/js/main.js", "/css/pocket.css"} <= paths
    assert not {path for path in paths if path.startswith("/shipped/")}


def test_without_shipped_files_there_are_the_modules(static: Path) -> None:
    shutil.rmtree(static / "shipped")
    assert not built(static).is_shipped
