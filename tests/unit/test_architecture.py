"""The arrows of the design hold: imports run one way, and pages carry no inline code or style."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.support import ROOT

PACKAGE = ROOT / "ringside"
SCRIPTS = ROOT / "static" / "js"
TEMPLATES = ROOT / "templates"

FLASK = {"flask", "flask_wtf", "werkzeug", "cheroot", "jinja2"}
PEEWEE = {"peewee", "playhouse"}

# What each room of the house may not know about.
FORBIDDEN = {
    "knowledge": FLASK | PEEWEE | {"ringside.domain", "ringside.book", "ringside.web"},
    "domain": FLASK | PEEWEE | {"ringside.book", "ringside.web"},
    "book": FLASK | {"ringside.web"},
    "web": set(),
}
# The wiring stands above every room, so no room may import it.
WIRING = {"ringside.app", "ringside.check", "ringside.cli", "ringside.__main__"}

NETWORK = r"\bfetch\s*\(|\b(?:XMLHttpRequest|WebSocket|EventSource|sendBeacon)\b"
INJECTION = (
    r"\b(?:innerHTML|outerHTML|insertAdjacentHTML)\b"
    r"|\bdocument\s*\.\s*write(?:ln)?\b|\beval\s*\(|\bnew\s+Function\b"
)
IMPORT = re.compile(
    r"""\b(?:import|export)\b(?:[\s\w{},*$]*?\bfrom\b)?\s*["']([^"'\n]+)["']"""
    r"""|\bimport\s*\(\s*(?P<dynamic>[^)]*)\)"""
)


def relative(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


# --- Python --------------------------------------------------------------------------------


def python_imports(source: str, package: str) -> Iterator[str]:
    """Every dotted name that a module imports, wherever in it; `package` is what holds it."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1]
            base = ".".join([*(above if node.level else []), *filter(None, [node.module])])
            yield base
            yield from (f"{base}.{alias.name}" for alias in node.names)


def breaches(names: Iterator[str], forbidden: set[str]) -> set[str]:
    return {
        name for name in names for root in forbidden if name == root or name.startswith(f"{root}.")
    }


@pytest.mark.parametrize("room", FORBIDDEN)
def test_imports_run_one_way(room: str) -> None:
    modules = sorted((PACKAGE / room).rglob("*.py"))
    assert modules
    found = {}
    for path in modules:
        package = ".".join(path.relative_to(ROOT).parent.parts)
        names = python_imports(path.read_text(encoding="utf-8"), package)
        if wrong := breaches(names, FORBIDDEN[room] | WIRING):
            found[relative(path)] = wrong
    assert found == {}


@pytest.mark.parametrize(
    "source",
    [
        "import ringside.web.sync",
        "from ringside.web import sync",
        "from ringside import web",
        "from ..web.sync import push",
        "from .. import web",
        "def late():\n    from ringside.web import sync",
    ],
)
def test_the_check_sees_every_form_of_import(source: str) -> None:
    assert breaches(python_imports(source, "ringside.domain"), {"ringside.web"})


def test_the_check_takes_a_sibling_for_what_it_is() -> None:
    names = python_imports("from .web import x\nimport ringside.webbing", "ringside.domain")
    assert not breaches(names, {"ringside.web"})


# --- JavaScript ----------------------------------------------------------------------------


def without_comments(source: str) -> str:
    """The script with its comments gone and its strings as they were."""
    token = re.compile(
        r"""(?P<keep>"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`|\\.)"""
        r"""|//[^\n]*|/\*.*?\*/""",
        re.DOTALL,
    )
    return token.sub(lambda match: match["keep"] or " ", source)


def js_imports(source: str) -> Iterator[str]:
    """Every module that a script imports; a computed one as the expression it is."""
    for match in IMPORT.finditer(without_comments(source)):
        yield match[1] or match["dynamic"].strip().strip("\"'")


def scripts(folder: Path) -> list[Path]:
    found = sorted(folder.rglob("*.js"))
    assert found, f"no scripts in {relative(folder)}"
    return found


def uses(pattern: str, path: Path) -> list[str]:
    return re.findall(pattern, without_comments(path.read_text(encoding="utf-8")))


def test_every_import_names_a_file() -> None:
    broken = {}
    for path in scripts(SCRIPTS):
        for name in js_imports(path.read_text(encoding="utf-8")):
            is_relative = name.startswith(("./", "../"))
            if not is_relative or not (path.parent / name).is_file():
                broken.setdefault(relative(path), []).append(name)
    assert broken == {}


def test_views_never_talk_to_the_network() -> None:
    found = {}
    for path in scripts(SCRIPTS / "views"):
        names = {Path(name).name for name in js_imports(path.read_text(encoding="utf-8"))}
        if wrong := sorted(names & {"sync.js", "api.js"}) + uses(NETWORK, path):
            found[relative(path)] = wrong
    assert found == {}


def test_scripts_make_no_markup_or_code_from_text() -> None:
    # The worker is rendered by the server, so it lies among the templates.
    everything = [*scripts(SCRIPTS), *TEMPLATES.rglob("*.js")]
    found = {relative(path): uses(INJECTION, path) for path in everything}
    assert {path: wrong for path, wrong in found.items() if wrong} == {}


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ('import "./a.js";', ["./a.js"]),
        ("import {\n  one, two as three,\n} from './a.js';", ["./a.js"]),
        ('import * as a from "./a.js"', ["./a.js"]),
        ('export { one } from "./a.js"', ["./a.js"]),
        ('export const name = "./a.js";', []),
        ('const a = await import("./a.js");', ["./a.js"]),
        ("await import(name)", ["name"]),
        ('// import "./a.js"\n/* import "./b.js" */', []),
        ('const url = "https://x"; import "./a.js";', ["./a.js"]),
        ('const r = /https?:\\/\\//; import "./a.js";', ["./a.js"]),
    ],
)
def test_the_check_sees_every_import_of_a_script(source: str, expected: list[str]) -> None:
    assert list(js_imports(source)) == expected


# --- Templates -----------------------------------------------------------------------------


class InlineFinder(HTMLParser):
    """Collects what the Content-Security-Policy would refuse."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the tag itself and its attributes where they carry code or style."""
        names = dict(attrs)
        if tag == "style" or (tag == "script" and not names.get("src")):
            self.note(f"<{tag}>")
        for name, value in attrs:
            if name == "style" or name.startswith("on"):
                self.note(f"{name}=")
            if (value or "").strip().lower().startswith("javascript:"):
                self.note(f"{name}=javascript:")

    def note(self, what: str) -> None:
        self.found.append(f"line {self.getpos()[0]}: {what}")


def inline_parts(template: str) -> list[str]:
    """What a template carries inline, its Jinja tags taken out first."""
    lines_kept = re.sub(
        r"\{#.*?#\}|\{%.*?%\}",
        lambda match: "\n" * match[0].count("\n"),
        template,
        flags=re.DOTALL,
    )
    finder = InlineFinder()
    finder.feed(re.sub(r"\{\{.*?\}\}", "x", lines_kept, flags=re.DOTALL))
    finder.close()
    return finder.found


def test_templates_carry_no_inline_code_or_style() -> None:
    templates = sorted(TEMPLATES.rglob("*.html"))
    assert templates
    found = {relative(path): inline_parts(path.read_text(encoding="utf-8")) for path in templates}
    assert {path: parts for path, parts in found.items() if parts} == {}


@pytest.mark.parametrize(
    "template",
    [
        "<script>go()</script>",
        '<p {% if x %}style="color: red"{% endif %}>',
        "<button type=button onclick='go()'>",
        "{% block head %}<style>p { margin: 0 }</style>{% endblock %}",
        '<template><svg><path style="fill: red"/></svg></template>',
        '<a href="javascript:go()">',
    ],
)
def test_the_check_sees_what_is_inline(template: str) -> None:
    assert inline_parts(template)


def test_the_check_lets_plain_markup_pass() -> None:
    markup = '<script type="module" src="{{ url }}"></script><p class="x" data-on="{{ a > b }}">'
    assert inline_parts(markup) == []
