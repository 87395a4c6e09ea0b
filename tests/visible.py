"""What a person can read: the visible texts of pages, scripts, Python and knowledge files.

Each text is (where, words): the file and line, and the words with `{}` for what is put in. What is
no sentence (a key, a selector, SQL) may be among them; docstrings and comments are not.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from tests.support import ROOT

Text = tuple[str, str]

PAGES = [
    *sorted((ROOT / "templates").rglob("*.html")),
    *sorted((ROOT / "templates").rglob("*.js")),
]
SCRIPTS = sorted((ROOT / "static" / "js").rglob("*.js"))
PYTHON = sorted((ROOT / "ringside").rglob("*.py"))
KNOWLEDGE = sorted((ROOT / "ringside" / "knowledge").rglob("*.toml"))

# Attributes that are shown, or read out.
SHOWN = {"alt", "aria-label", "content", "placeholder", "title"}

_LITERAL = re.compile(r'"((?:[^"\\\n]|\\.)*)"')
_TAG = re.compile(r"\{#.*?#\}|\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)
_SQL = re.compile(r"\s*(?:SELECT|INSERT|UPDATE|DELETE|CREATE|ALTER|DROP|PRAGMA|SET|WITH|ON) ")


@cache
def all_texts() -> list[Text]:
    """Every visible text of the product."""
    return [
        *(text for path in PAGES for text in texts_of(path)),
        *(text for path in (*SCRIPTS, *PYTHON, *KNOWLEDGE) for text in texts_of(path)),
    ]


def texts_of(path: Path) -> list[Text]:
    """The visible texts of one file, by how its name ends."""
    source = path.read_text(encoding="utf-8")
    read = {".html": page_texts, ".js": script_texts, ".py": python_texts, ".toml": toml_texts}
    name = path.relative_to(ROOT).as_posix()
    found = ((line, " ".join(words.split())) for line, words in read[path.suffix](source))
    return [(f"{name}:{line}" if line else name, words) for line, words in found if _is_read(words)]


def _is_read(words: str) -> bool:
    """Whether it is for people: it has a word, and is more than a lone key."""
    return bool(re.search("[A-Za-z]{2}", words)) and (" " in words or words[:1].isupper())


# --- pages ---------------------------------------------------------------------------------------


def page_texts(source: str) -> Iterator[tuple[int, str]]:
    """Text and shown attributes; what stands in quotes within a tag of Jinja is text as well."""
    for tag in _TAG.finditer(source):
        line = source.count("\n", 0, tag.start()) + 1
        if not tag[0].startswith("{#"):
            yield from ((line, literal[1]) for literal in _LITERAL.finditer(tag[0]))
    reader = _Page()
    reader.feed(_TAG.sub(_blank, source))
    yield from reader.found


def _blank(tag: re.Match[str]) -> str:
    """Stand for a tag of Jinja, with its line breaks, so that lines stay the same."""
    return "{}" * (not tag[0].startswith("{#")) + "\n" * tag[0].count("\n")


class _Page(HTMLParser):
    """Gathers what is read, a block of text at a time."""

    INLINE = frozenset({"b", "br", "em", "span", "strong", "time"})

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[int, str]] = []
        self._begins = True

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        shown = [(self.getpos()[0], value) for name, value in attrs if name in SHOWN and value]
        self._begins = self._begins or tag not in self.INLINE
        self.found += shown
        self._begins = self._begins or bool(shown)

    def handle_endtag(self, tag: str) -> None:
        self._begins = self._begins or tag not in self.INLINE

    def handle_data(self, data: str) -> None:
        if not data.strip():
            return
        if self._begins or not self.found:
            self.found.append((self.getpos()[0], data))
        else:
            line, before = self.found[-1]
            self.found[-1] = (line, before + data)
        self._begins = False


# --- scripts -------------------------------------------------------------------------------------

_TOKEN = re.compile(
    r"(?P<comment>//[^\n]*|/\*.*?\*/)"
    r"|(?P<string>\"(?:[^\"\\\n]|\\.)*\"|'(?:[^'\\\n]|\\.)*')"
    r"|(?P<template>`)"
    # A slash begins a pattern only after what cannot end a value.
    r"|(?<=[(,=:!&|?])\s*(?P<pattern>/(?:[^/\\\n\[]|\\.|\[(?:[^\]\\\n]|\\.)*\])+/)"
    r"|(?P<opens>\{)|(?P<closes>\})",
    re.DOTALL,
)
_PIECE = re.compile(r"\\.|\$\{|`|[^\\$`]+|\$", re.DOTALL)


def script_texts(source: str) -> Iterator[tuple[int, str]]:
    """The strings of a script, templates with `{}` for what is put in."""
    yield from _Script(source).read()


class _Script:
    def __init__(self, source: str) -> None:
        self.source = source
        self.found: list[tuple[int, str]] = []

    def read(self) -> list[tuple[int, str]]:
        self._code(0)
        return sorted(self.found)

    def _code(self, at: int) -> int:
        """Read code from `at` to the brace that closes it, or to the end; gives where that is."""
        depth = 0
        while token := _TOKEN.search(self.source, at):
            at = token.end()
            if token["string"]:
                self._keep(token.start("string"), token["string"][1:-1])
            elif token["template"]:
                at = self._template(token.start("template"))
            elif token["opens"]:
                depth += 1
            elif token["closes"]:
                if not depth:
                    return at
                depth -= 1
        return len(self.source)

    def _template(self, begins: int) -> int:
        """Read a template from its first backtick; gives the place after its last."""
        words, at = "", begins + 1
        while piece := _PIECE.match(self.source, at):
            at = piece.end()
            if piece[0] == "`":
                break
            if piece[0] == "${":
                at = self._code(at)
                words += "{}"
            else:
                words += piece[0]
        self._keep(begins, words)
        return at

    def _keep(self, at: int, words: str) -> None:
        self.found.append((self.source.count("\n", 0, at) + 1, words))


# --- Python and knowledge ------------------------------------------------------------------------


def python_texts(source: str) -> Iterator[tuple[int, str]]:
    """The strings of a module that are neither docstrings nor SQL."""
    tree = ast.parse(source)
    nodes = list(ast.walk(tree))
    passed = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
    for node in nodes:
        if isinstance(node, ast.JoinedStr):
            passed |= {id(value) for value in node.values}
            parts = (
                str(value.value) if isinstance(value, ast.Constant) else "{}"
                for value in node.values
            )
            yield from _unless_sql(node.lineno, "".join(parts))
    for node in nodes:
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in passed
        ):
            yield from _unless_sql(node.lineno, node.value)


def _unless_sql(line: int, words: str) -> Iterator[tuple[int, str]]:
    if not _SQL.match(words):
        yield line, words


def toml_texts(source: str) -> Iterator[tuple[int, str]]:
    """Every text value of a knowledge file; without lines, which the reader does not tell."""
    yield from ((0, words) for words in _values(tomllib.loads(source)))


def _values(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from _values(one)
