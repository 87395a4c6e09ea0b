"""The files of one build: everything a phone keeps, named by what it contains.

The build's id is a hash of all of it, so nobody can forget to change it, and it stands in the
path, so relative imports keep working and a file once fetched is good for ever.
"""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path, PurePosixPath

import brotli

# What the app needs without a signal: its scripts and sheets as they are shipped, or else as they
# are edited. Screenshots stay on the server: only shops and the README show them. Of the icons the
# browser itself keeps those that it installs.
EDITED = ("js/", "css/")
SHIPPED = ("shipped/", "js/early.js")
PRECACHED = ("icons/icon.svg", "icons/apple-touch-180.png")
# Of the shipped scripts the drawing, which the first screen asks for when it knows the dogs.
DRAWING = "shipped/figure-"
# What the first screen's own script begins with.
IMPORTED = re.compile(rb'\b(?:from|import) ?"\./([\w.-]+)"')
# What the shipped files were made from, in one hash; written by tests/ship.py.
MADE_FROM = "shipped/made_from.txt"
BOOKS = (
    "athome.html", "care.json", "countdown.json", "home.json", "kinds.json", "knowledge.json",
    "names.json", "photo.json", "reasons.json", "show.html", "show.json", "sources.json",
    "words.json",
)  # fmt: skip
# What no show needs: a phone's first visit keeps these after all else, so that a weak signal has it
# ready for the ring sooner.
# The scripts among them are those that none of a show's begins with.
LATER = (
    "athome.html", "care.json", "countdown.json", "home.json", "icons/apple-touch-", "names.json",
    "photo.json", "reasons.json", "shipped/athome.css", "sources.json", "words.json",
)  # fmt: skip
OF_A_SHOW = ("shipped/main.js", "shipped/behind-", DRAWING)
TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".json": "application/json",
    ".png": "image/png",
}
# Lines of a script that are nothing but comment, and what indents the others: for whoever reads the
# source, not for every phone. No text of ours runs over lines, so no indent is part of one; and no
# markup of ours keeps its blanks.
COMMENT = re.compile(rb"^[ \t]*(?://[^\n]*|/\*\*(?:(?!\*/).)*\*/[ \t]*)$", re.MULTILINE | re.DOTALL)
INDENT = re.compile(rb"^[ \t]+", re.MULTILINE)
COMPRESSED = ("text/", "application/json", "image/svg+xml", "application/manifest+json")


@dataclass(frozen=True)
class Asset:
    """One file as it is served. Compressed forms are made when they are first asked for."""

    body: bytes = field(repr=False)
    content_type: str

    @cached_property
    def sha256(self) -> str:
        """The hash a worker checks before it keeps the file, in hex."""
        return hashlib.sha256(self.body).hexdigest()

    @cached_property
    def _brotli(self) -> bytes:
        compressed: bytes = brotli.compress(self.body)
        return compressed

    @cached_property
    def _gzip(self) -> bytes:
        return gzip.compress(self.body, 9, mtime=0)

    def encoded(self, accepted: str) -> tuple[str, bytes]:
        """Return ("br", "gzip" or "", the bytes), the smallest form that `accepted` allows.

        `accepted` is the request's Accept-Encoding.
        """
        known = {word.partition(";")[0].strip() for word in accepted.split(",")}
        found = [("", self.body)]
        if self.content_type.startswith(COMPRESSED):
            found += [("br", self._brotli)] if "br" in known else []
            found += [("gzip", self._gzip)] if "gzip" in known and "br" not in known else []
        return min(found, key=lambda form: len(form[1]))


@dataclass(frozen=True)
class Build:
    """All assets by path below the build's own folder, and those outside it (the shell)."""

    id: str
    files: Mapping[str, Asset]
    shell: Asset
    is_shipped: bool

    @property
    def root(self) -> str:
        """The path under which the files of this build are served."""
        return f"/static/{self.id}"

    def precache(self) -> list[dict[str, str | bool]]:
        """Return what a worker keeps: url, sha256 and content type of each file, and whether a
        first visit may keep it later."""
        wanted = (*PRECACHED, *BOOKS, *(SHIPPED if self.is_shipped else EDITED))
        kept = {"/": self.shell} | {
            f"{self.root}/{path}": item
            for path, item in self.files.items()
            if path.startswith(wanted) and path != MADE_FROM
        }
        needed = _for_a_show(self.files)
        return [
            {
                "url": url,
                "sha256": item.sha256,
                "type": item.content_type.partition(";")[0],
                "later": _is_later(url.removeprefix(f"{self.root}/"), needed),
            }
            for url, item in kept.items()
        ]


def _for_a_show(files: Mapping[str, Asset]) -> set[str]:
    """Return the shipped scripts of a show's screens, with those that they begin with."""
    needed, waiting = set[str](), [path for path in files if path.startswith(OF_A_SHOW)]
    while waiting:
        path = waiting.pop()
        if path not in needed:
            needed.add(path)
            waiting += [f"shipped/{it.decode()}" for it in IMPORTED.findall(files[path].body)]
    return needed


def _is_later(path: str, needed: set[str]) -> bool:
    is_script = path.startswith("shipped/") and path.endswith(".js")
    return path not in needed if is_script else path.startswith(LATER)


def read_below(static: Path) -> dict[str, bytes]:
    """Return what the files below `static` hold, by their paths there, in order."""
    return {
        path.relative_to(static).as_posix(): path.read_bytes()
        for path in sorted(static.rglob("*"))
        if path.is_file()
    }


def made_from(bodies: Mapping[str, bytes]) -> str:
    """Return the hash of all that shipped files are made from: every script and every sheet."""
    whole = hashlib.sha256()
    for path, body in bodies.items():
        if path.startswith(EDITED):
            whole.update(path.encode() + b"\0" + body)
    return whole.hexdigest()


def _is_shipped(bodies: Mapping[str, bytes]) -> bool:
    """Return whether the shipped files stand there and were made from the modules beside them."""
    return bodies.get(MADE_FROM, b"").decode().strip() == made_from(bodies)


def make_build(
    static: Path, made: Mapping[str, Asset], shell: Callable[[str, bool], str], rest: str
) -> Build:
    """Read the files below `static`, add those `made` by us, and render the shell for them.

    `shell(root, is_shipped)` returns the page, with the shipped files or the modules; it is
    rendered once with an empty root for the hash and once with the real one. `rest` is what else a
    phone keeps: the headers and the worker. Whoever edits a module gets the modules, until the
    shipped files are made anew.
    """
    bodies = read_below(static)
    is_shipped = _is_shipped(bodies)
    files = {path: Asset(_served(path, body), _type(path)) for path, body in bodies.items()}
    files |= made
    whole = hashlib.sha256(rest.encode() + shell("", is_shipped).encode())
    whole.update(repr((PRECACHED, SHIPPED, EDITED, LATER, OF_A_SHOW)).encode())
    for path, item in files.items():
        whole.update(f"{path}:{item.content_type}:{item.sha256};".encode())
    build = whole.hexdigest()[:12]
    page = shell(f"/static/{build}", is_shipped).encode()
    return Build(build, files, Asset(page, "text/html; charset=utf-8"), is_shipped)


def _served(path: str, body: bytes) -> bytes:
    return bare(body) if path.startswith("js/") else body


def bare(script: bytes) -> bytes:
    """Return what is sent of a script of ours: all but comments and indents, lines in place."""
    return unindented(COMMENT.sub(lambda found: b"\n" * found[0].count(b"\n"), script))


def unindented(source: bytes) -> bytes:
    """Return its lines without what they begin with to show their order."""
    return INDENT.sub(b"", source)


def _type(path: str) -> str:
    known = TYPES.get(PurePosixPath(path).suffix)
    return known or mimetypes.guess_type(path)[0] or "application/octet-stream"
