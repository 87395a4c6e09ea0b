"""The walls of the house hold: imports run one way and in no circle, no file is long, a view knows
no other view, and pages carry no inline code or style."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask import Flask

from ringside.web.pocket import shell, taken_in
from tests.support import ROOT

PACKAGE = ROOT / "ringside"
SCRIPTS = ROOT / "static" / "js"
STYLES = ROOT / "static" / "css"
TEMPLATES = ROOT / "templates"
MARKUP = TEMPLATES / "pocket"

FLASK = {"flask", "flask_wtf", "werkzeug", "cheroot", "jinja2"}
PEEWEE = {"peewee", "playhouse"}

# What each room of the house may not know about.
FORBIDDEN = {
    "knowledge": FLASK | PEEWEE | {"ringside.domain", "ringside.book", "ringside.web"},
    "domain": FLASK | PEEWEE | {"ringside.book", "ringside.web"},
    "book": FLASK | {"ringside.web"},
    "web": set(),
    "web/desk": {"ringside.web.serve", "ringside.web.pocket", "ringside.web.sync"},
    "web/serve": {
        *("ringside.knowledge", "ringside.domain", "ringside.book", "ringside.web.desk"),
        *("ringside.web.door", "ringside.web.library", "ringside.web.pocket", "ringside.web.sync"),
    },
}
# The wiring stands above every room, so no room may import it.
WIRING = {"ringside.app", "ringside.cli", "ringside.__main__"}

MOST_LINES = 400

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


def python_graph() -> dict[str, set[str]]:
    """{module: the modules of ours that it imports}; a package is its `__init__`."""
    paths = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for path in sorted(PACKAGE.rglob("*.py"))
    }
    graph = {}
    for module, path in paths.items():
        package = module if path.stem == "__init__" else module.rpartition(".")[0]
        names = set(python_imports(path.read_text(encoding="utf-8"), package))
        # What is no module itself is taken from the one that is named before it.
        found = {name if name in paths else name.rpartition(".")[0] for name in names}
        graph[module] = found & paths.keys()
    return graph


def circles(graph: Mapping[str, Iterable[str]]) -> set[frozenset[str]]:
    """The groups of modules each of which is needed by all others of its group."""
    reached = {module: reachable(module, graph) for module in graph}
    return {
        frozenset(other for other in reached[module] if module in reached.get(other, ()))
        for module in graph
        if module in reached[module]
    }


def reachable(start: str, graph: Mapping[str, Iterable[str]]) -> set[str]:
    """What `start` needs, and what that needs."""
    found: set[str] = set()
    waiting = list(graph[start])
    while waiting:
        module = waiting.pop()
        if module not in found:
            found.add(module)
            waiting += graph.get(module, ())
    return found


def test_no_python_imports_run_in_a_circle() -> None:
    assert circles(python_graph()) == set()


def test_the_check_sees_a_circle() -> None:
    graph = {"a": ["b"], "b": ["c"], "c": ["b", "d"], "d": [], "e": ["e"]}
    assert circles(graph) == {frozenset({"b", "c"}), frozenset({"e"})}


@pytest.mark.parametrize("door", sorted(PACKAGE.rglob("*/__init__.py")), ids=relative)
def test_each_door_says_what_may_not_enter(door: Path) -> None:
    words = ast.get_docstring(ast.parse(door.read_text(encoding="utf-8"))) or ""
    assert 0 < len(words.splitlines()) <= 3
    assert re.search(r"\b(?:no|not|never|nothing|none)\b", words, re.IGNORECASE)


# --- Length --------------------------------------------------------------------------------


def code() -> list[Path]:
    """All that we write to be read by a machine, but for breeds: those are as long as they are."""
    found = [
        *PACKAGE.rglob("*.py"),
        *(path for path in PACKAGE.rglob("*.toml") if path.parent.name != "breeds"),
        *SCRIPTS.rglob("*.js"),
        *STYLES.rglob("*.css"),
        *(path for path in TEMPLATES.rglob("*") if path.is_file() and path.suffix != ".md"),
    ]
    assert {path.suffix for path in found} == {".py", ".toml", ".js", ".css", ".html"}
    return sorted(found)


def test_no_file_is_long() -> None:
    lines = {relative(path): len(path.read_text(encoding="utf-8").splitlines()) for path in code()}
    assert {name for name, count in lines.items() if count > MOST_LINES} == set()


# --- JavaScript ----------------------------------------------------------------------------


def without_comments(source: str) -> str:
    """The script with its comments gone and its strings as they were."""
    token = re.compile(
        r"""(?P<keep>"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`|\\.)"""
        r"""|//[^\n]*|/\*.*?\*/""",
        re.DOTALL,
    )
    return token.sub(lambda match: match["keep"] or " ", source)


def js_imports(source: str, at_once: bool = False) -> Iterator[str]:
    """Every module that a script imports; a computed one as the expression it is.

    `at_once` leaves out what is imported only when the script comes to it.
    """
    for match in IMPORT.finditer(without_comments(source)):
        if match[1]:
            yield match[1]
        elif not at_once:
            yield match["dynamic"].strip().strip("\"'")


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


def js_graph(at_once: bool = False) -> dict[str, set[str]]:
    """{script: the scripts that it imports}, by their paths below static/js."""
    return {
        short(path): {
            short((path.parent / name).resolve())
            for name in js_imports(path.read_text(encoding="utf-8"), at_once)
        }
        for path in scripts(SCRIPTS)
    }


def short(path: Path) -> str:
    return path.relative_to(SCRIPTS).as_posix()


def room(script: str) -> str:
    """The folder of a script: "core", "parts", "views" or "" for what stands beside them."""
    return script.rpartition("/")[0]


def test_no_scripts_import_each_other_in_a_circle() -> None:
    assert circles(js_graph()) == set()


FIRST_VIEW = "views/kennel.js"
# What the scripts of a folder may not know.
UNKNOWN = {
    "core": lambda other: room(other) != "core",
    "parts": lambda other: room(other) == "views" or other in BACKGROUND or other == "router.js",
    "views": lambda other: room(other) == "views" or other in BACKGROUND,
}
LISTS = ("views.js", "athome.js", "byphoto.js")
BACKGROUND = {"api.js", "sync.js", "background.js", "behind.js", "main.js", *LISTS}


@pytest.mark.parametrize("folder", UNKNOWN)
def test_scripts_know_only_what_stands_below_them(folder: str) -> None:
    graph = {script: others for script, others in js_graph().items() if room(script) == folder}
    assert graph
    found = {script: set(filter(UNKNOWN[folder], others)) for script, others in graph.items()}
    assert {script: wrong for script, wrong in found.items() if wrong} == {}


def test_only_who_starts_the_app_knows_the_views() -> None:
    known = {
        script: {other for other in others if room(other) == "views"}
        for script, others in js_graph().items()
        if room(script) != "views"
    }
    assert {script for script, views in known.items() if views} == {"main.js", *LISTS}
    assert known["main.js"] == {FIRST_VIEW}
    assert known["main.js"].union(*(known[name] for name in LISTS)) == set(views())


def test_only_the_sync_talks_to_the_network() -> None:
    assert {script for script, others in js_graph().items() if "api.js" in others} == {"sync.js"}
    talkers = {short(path) for path in scripts(SCRIPTS) if uses(NETWORK, path)}
    assert talkers == {"api.js", "installation.js", "shipped.js"}


def test_the_first_screen_waits_for_no_other() -> None:
    needed = reachable("main.js", js_graph(at_once=True))
    assert {script for script in needed if room(script) == "views"} == {FIRST_VIEW}
    assert {"behind.js", "athome.js", "byphoto.js"} <= js_graph()["main.js"]
    assert js_graph()["behind.js"] == {"views.js", "background.js"}
    assert needed.isdisjoint({"sync.js", "api.js", "dogfile.js", "forms.js"})


def test_a_view_is_a_script_with_routes_its_markup_and_one_line() -> None:
    listed = "".join((SCRIPTS / name).read_text(encoding="utf-8") for name in LISTS)
    for script in views():
        source = (SCRIPTS / script).read_text(encoding="utf-8")
        assert len(re.findall(r"^export const routes = \{", source, re.MULTILINE)) == 1, script
        name = Path(script).stem
        assert (MARKUP / "views" / f"{name}.html").is_file(), script
        line = f'export * as {name} from "./views/{name}.js";\n'
        assert listed.count(line) == (script != FIRST_VIEW), script


def views() -> list[str]:
    return [short(path) for path in scripts(SCRIPTS / "views")]


# What a rule of the trade may not reach for: the page, the store, and what day it is.
OUTSIDE = (
    r"\b(?:document|window|navigator|localStorage|indexedDB|globalThis)\s*[.\[(]"
    r"|\bDate\s*\.\s*now\b|\bnew\s+Date\s*\(\s*\)|\bMath\s*\.\s*random\b"
)
# Words for "2 min ago" and new ids need the moment or chance; they take it as a default.
TAKES_THE_MOMENT = {"words.js", "ids.js"}


def test_core_is_pure_and_imports_nothing_from_outside() -> None:
    found = {}
    for path in scripts(SCRIPTS / "core"):
        names = js_imports(path.read_text(encoding="utf-8"))
        wrong = [name for name in names if not re.fullmatch(r"\./[a-z]+\.js", name)]
        if path.name not in TAKES_THE_MOMENT:
            wrong += uses(OUTSIDE, path)
        if wrong:
            found[relative(path)] = wrong
    assert found == {}


@pytest.mark.parametrize(
    ("source", "is_outside"),
    [
        ("document.body", True),
        ("const now = Date.now();", True),
        ("const now = new Date();", True),
        ("new Date(`${day}T00:00:00Z`)", False),
        ("/** The windows of a document. */ const windows = 1;", False),
    ],
)
def test_the_check_sees_what_a_rule_may_not_reach_for(source: str, is_outside: bool) -> None:
    assert bool(re.search(OUTSIDE, without_comments(source))) is is_outside


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


def test_no_text_in_a_script_runs_over_lines() -> None:
    """What is sent of a script has no indents (web/assets.py), and a text would lose its own."""
    for path in sorted(SCRIPTS.rglob("*.js")):
        for line in without_comments(path.read_text(encoding="utf-8")).splitlines():
            assert line.count("`") % 2 == 0, f"{relative(path)}: {line}"


def test_the_check_tells_what_is_imported_at_once() -> None:
    source = 'import "./a.js";\nconst later = () => import("./b.js");'
    assert list(js_imports(source, at_once=True)) == ["./a.js"]


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


TEMPLATE = re.compile(r'<template id="([\w-]+)">')
CLONED = re.compile(r"""\bclone\("([\w-]+)"\)""")


def test_every_template_is_in_the_page_once() -> None:
    written = [
        name
        for path in sorted(MARKUP.rglob("*.html"))
        for name in TEMPLATE.findall(path.read_text(encoding="utf-8"))
        if path.name != "icons.html"
    ]
    assert written
    app = Flask("ringside", template_folder=str(TEMPLATES), static_folder=None)
    at_once = TEMPLATE.findall(shell(app, "", False))
    at_show, at_home = (TEMPLATE.findall(markup.decode()) for markup in taken_in(app).values())
    held = at_once + at_show + at_home
    assert sorted(name for name in held if not name.startswith("icon-")) == sorted(written)
    assert len(held) == len(set(held))
    assert len(at_show) > 20
    assert len(at_home) > 20
    cloned = {
        path.relative_to(SCRIPTS).as_posix(): set(uses(CLONED.pattern, path))
        for path in scripts(SCRIPTS)
    }
    assert set().union(*cloned.values()) <= set(held)
    # The first screen draws nothing but what is in the page, one for a show nothing for home.
    for script in reachable("main.js", js_graph(at_once=True)):
        assert cloned[script] <= set(at_once), script
    graph = js_graph()
    needed = reachable(
        "main.js", {**graph, "main.js": graph["main.js"] - {"athome.js", "byphoto.js"}}
    )
    assert "views/gate.js" in needed
    for script in needed:
        assert cloned[script].isdisjoint(at_home), script


def test_no_screen_for_a_show_stands_before_one_for_home() -> None:
    """The screens for home are asked for where an address leads to none of a show's."""
    routes: dict[str, set[str]] = {}
    for name in LISTS:
        listed = re.findall(r'"\./(views/\w+\.js)"', (SCRIPTS / name).read_text(encoding="utf-8"))
        routes[name] = {
            route
            for script in listed
            for block in re.findall(
                r"^export const routes = \{(.*?)\};",
                (SCRIPTS / script).read_text(encoding="utf-8"),
                re.MULTILINE | re.DOTALL,
            )
            for route in re.findall(r'(?:"([^"]+)":|\b([a-z]+)(?=[:,}\s]))', block)
            for route in route
            if route
        }
    show, home = routes["views.js"], routes["athome.js"] | routes["byphoto.js"]
    assert {"gate/:id", "dog/:id"} <= show
    assert {"litter/new", "sync", "dog/:id/award/:award"} <= home
    for route in show:
        matches = re.compile(re.sub(r":\w+", "[^/]+", route))
        assert [other for other in home if matches.fullmatch(other)] == [], route


def test_every_view_has_markup_and_all_markup_a_view() -> None:
    markup = {path.stem for path in (MARKUP / "views").iterdir()}
    assert markup == {Path(script).stem for script in views()}


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
