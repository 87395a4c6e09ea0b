"""The files of one build: everything a phone keeps, named by what it contains.

The build's id is a hash of all of it, so nobody can forget to change it, and it stands in the
path, so relative imports keep working and a file once fetched is good for ever.
"""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import posixpath
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

# What the app needs without a signal. Screenshots stay on the server: only shops and the README
# show them.
PRECACHED = ("js", "css", "icons")
BOOKS = ("knowledge.json", "rules.json", "sources.json")
TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".json": "application/json",
    ".png": "image/png",
}
# A static import; one with import() is none, and waits for nobody.
IMPORT = re.compile(r"""^(?:import|export)\b[^"(;=]*"(\.[^"]+)";""", re.MULTILINE)
COMPRESSED = ("text/", "application/json", "image/svg+xml", "application/manifest+json")


@dataclass(frozen=True)
class Asset:
    """One file as it is served."""

    body: bytes
    content_type: str
    squeezed: bytes | None = field(repr=False, default=None)

    @property
    def sha256(self) -> str:
        """The hash a worker checks before it keeps the file, in hex."""
        return hashlib.sha256(self.body).hexdigest()


def asset(body: bytes, content_type: str) -> Asset:
    """Return an asset, with a compressed form where that is smaller."""
    if content_type.startswith(COMPRESSED):
        squeezed = gzip.compress(body, 9, mtime=0)
        if len(squeezed) < len(body):
            return Asset(body, content_type, squeezed)
    return Asset(body, content_type)


@dataclass(frozen=True)
class Build:
    """All assets by path below the build's own folder, and those outside it (the shell)."""

    id: str
    files: Mapping[str, Asset]
    shell: Asset

    @property
    def root(self) -> str:
        """The path under which the files of this build are served."""
        return f"/static/{self.id}"

    def precache(self) -> list[dict[str, str]]:
        """Return what a worker keeps: url, sha256 and content type of each file."""
        kept = {"/": self.shell} | {
            f"{self.root}/{path}": item
            for path, item in self.files.items()
            if PurePosixPath(path).parts[0] in PRECACHED or path in BOOKS
        }
        return [
            {"url": url, "sha256": item.sha256, "type": item.content_type.partition(";")[0]}
            for url, item in kept.items()
        ]


def make_build(
    static: Path, made: Mapping[str, Asset], shell: Callable[[str, list[str]], str], rest: str
) -> Build:
    """Read the files below `static`, add those `made` by us, and render the shell for them.

    `shell(root, modules)` returns the page, which preloads `modules`; it is rendered once with an
    empty root for the hash and once with the real one. `rest` is what else a phone keeps: the
    headers and the worker.
    """
    files = {
        path.relative_to(static).as_posix(): asset(path.read_bytes(), _type(path))
        for path in sorted(static.rglob("*"))
        if path.is_file()
    } | dict(made)
    modules = imported(files, "js/main.js")
    whole = hashlib.sha256(rest.encode() + shell("", modules).encode())
    whole.update(repr(PRECACHED).encode())
    for path, item in files.items():
        whole.update(f"{path}:{item.content_type}:{item.sha256};".encode())
    build = whole.hexdigest()[:12]
    page = shell(f"/static/{build}", modules).encode()
    return Build(build, files, asset(page, "text/html; charset=utf-8"))


def imported(files: Mapping[str, Asset], module: str) -> list[str]:
    """Return all modules that must be here before `module` can run, by path."""
    found = [module]
    for path in found:
        for name in IMPORT.findall(files[path].body.decode()):
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), name))
            if target not in found and target in files:
                found.append(target)
    return found[1:]


def _type(path: Path) -> str:
    known = TYPES.get(path.suffix)
    return known or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
