"""The oldest browsers that the app is drawn in: Safari 16.4 and Firefox 115.

Our sheets and scripts use nothing that is newer (newer.toml, from MDN's browser-compat-data) unless
it stands behind a guard, or nothing is missing where it is not known; the reason stands here.
"""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ship import OLDEST
from tests.support import ROOT

NEWER = tomllib.loads(Path(__file__).with_name("newer.toml").read_text(encoding="utf-8"))
SHEETS = sorted((ROOT / "static" / "css").glob("*.css"))
SCRIPTS = [*sorted((ROOT / "static" / "js").rglob("*.js")), ROOT / "templates/pocket/sw.js"]

HARMLESS = {
    "accent-color": "a radio button or a tick keeps the system's colour",
    "forced-color-adjust": "where it is not known, there are no forced colours, or fills are lost",
    "overflow-anchor": "without it there is no anchoring to switch off",
    "resize": "a text field is not pulled larger; it scrolls",
    "text-size-adjust": "Safari has it with its prefix, which stands before it",
    "text-wrap": "lines break where they always did",
    "text-wrap: balance": "lines break where they always did",
    "overflow-anchor: none": "without it there is no anchoring to switch off",
    "justify-content: safe": "the words begin at the top",
    "has": "only refines: a thicker border, a margin, less padding",
    "page": "the printer's own paper is used, whose size the person sees when printing",
    "share": "asked for only where canShare is; elsewhere the picture is saved",
    "wakeLock": "asked for in a try; Ring says that the screen will not stay on",
}

CSS_PATTERNS = {
    "properties": r"(?<![\w-]){}\s*:",
    "at_rules": r"@{}\b",
    "selectors": r"::?{}(?![\w-])",
    "functions": r"(?<![\w-]){}\(",
}
JS_PATTERNS = {
    "globals": r"(?<![\w.\"'`$]){}(?=[.(])",
    "statics": r"(?<![\w.]){}(?=\()",
    "members": r"(?<!\?)\.{}\b",
}


def end_of_block(css: str, at: int) -> int:
    """Where the block in braces that begins after `at` is over."""
    depth = 0
    for place in re.finditer(r"[{}]", css[at:]):
        depth += 1 if place[0] == "{" else -1
        if depth == 0:
            return at + place.end()
    return len(css)


def bare(css: str) -> str:
    """The sheet without its comments and without what stands in @supports."""
    css = re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL)
    while (at := css.find("@supports")) >= 0:
        css = css[:at] + css[end_of_block(css, at) :]
    return css


@functools.cache
def any_of(group: str, pattern: str) -> re.Pattern[str]:
    """Any name of the group, longest first; the first group of a match is the name."""
    names = sorted(NEWER[group], key=len, reverse=True)
    return re.compile(pattern.format(f"({'|'.join(map(re.escape, names))})"))


def newer_in_css(css: str) -> Iterator[str]:
    css = bare(css)
    for group, pattern in CSS_PATTERNS.items():
        yield from (found[1] for found in any_of(group, pattern).finditer(css))
    for name in NEWER["values"]:
        key, word = name.split(": ")
        if re.search(rf"(?<![\w-]){key}\s*:[^;}}]*\b{word}\b", css):
            yield name


def newer_in_js(js: str) -> Iterator[str]:
    """What is used and not looked for: `Map.groupBy ? …` and `navigator.share?.()` look for it."""
    js = re.sub(r"/\*.*?\*/|(?<!:)//[^\n]*", "", js, flags=re.DOTALL)
    for group, pattern in JS_PATTERNS.items():
        for found in any_of(group, pattern).finditer(js):
            name = found[1]
            is_guarded = f"{name} ?" in js or js[found.end() :].startswith("?.")
            if not is_guarded and f'"{name}" in ' not in js:
                yield name


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_sheets_keep_to_the_floor(path: Path) -> None:
    assert set(newer_in_css(path.read_text(encoding="utf-8"))) <= set(HARMLESS)


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_scripts_keep_to_the_floor(path: Path) -> None:
    assert set(newer_in_js(path.read_text(encoding="utf-8"))) <= set(HARMLESS)


def test_nothing_is_excused_in_vain() -> None:
    used: set[str] = set()
    for path in SHEETS:
        used |= set(newer_in_css(path.read_text(encoding="utf-8")))
    for path in SCRIPTS:
        used |= set(newer_in_js(path.read_text(encoding="utf-8")))
    assert used == set(HARMLESS)


def test_newer_things_are_found() -> None:
    css = "a { color: light-dark(red, blue); field-sizing: content } @scope (b) { c:has(d) {} }"
    assert set(newer_in_css(css)) == {"light-dark", "field-sizing", "scope", "has"}
    assert not set(newer_in_css("@supports (color: light-dark(red, red)) { a { top: 0; } }"))
    js = "Object.groupBy(a, b); new Temporal.Now(); a.union(b); AbortSignal.any([])"
    assert set(newer_in_js(js)) == {"Object.groupBy", "Temporal", "union", "AbortSignal.any"}
    assert not set(newer_in_js("const it = Map.groupBy ? Map.groupBy(a, b) : c; d.share?.()"))


def test_the_floor_is_stated() -> None:
    assert {"safari16.4", "firefox115"} <= set(OLDEST.split(","))
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert "Safari 16.4" in text, name
        assert "Firefox 115" in text, name
