"""Reading TOML into one shape, and naming what is wrong as its writer would.

What is told at length stands in a folder, whose files are read as if they were one.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

Model = TypeVar("Model", bound=BaseModel)


class KnowledgeError(Exception):
    """The files cannot be used. `problems` says for each: file, entry, what is wrong."""

    def __init__(self, problems: list[str]) -> None:
        """Keep the problems; the message is one a line."""
        self.problems = problems
        super().__init__("\n".join(problems))


@dataclass
class Document:
    """What a file says, or the files of a folder together, and which of them says what.

    Lists of the same name are joined in the order of the files' names; all else is said once.
    """

    name: str
    data: dict[str, Any] = field(default_factory=dict)
    # For each entry of a list: its file, and its place in the list there.
    _homes: dict[str, list[tuple[str, int]]] = field(default_factory=dict)

    def add(self, name: str, data: Mapping[str, Any], problems: list[str]) -> None:
        """Take in what the file `name` says."""
        for key, value in data.items():
            known = self.data.get(key)
            if isinstance(value, list) and isinstance(known, list | None):
                self.data[key] = [*(known or []), *value]
                self._homes.setdefault(key, []).extend((name, at) for at in range(len(value)))
            elif key in self.data:
                problems.append(f"{name}: {key}: another file of this folder says it too")
            else:
                self.data[key] = value

    def shaped(self, model: type[Model], problems: list[str]) -> Model | None:
        """Return the data as `model`, or None with what is wrong added to `problems`."""
        try:
            return model.model_validate(self.data)
        except ValidationError as error:
            problems += [
                self._told(item["loc"], reason(item))
                for item in error.errors()
                if not _is_echo(item)
            ]
        return None

    def _told(self, path: tuple[int | str, ...], why: str) -> str:
        name, words = self.name, place(self.data, path)
        if len(path) > 1 and isinstance(path[1], int) and path[0] in self._homes:
            name, at = self._homes[str(path[0])][path[1]]
            words = words.replace(f"number {path[1] + 1}", f"number {at + 1}", 1)
        return f"{name}: {words}: {why}"

    def located(self, problems: Iterable[str]) -> Iterator[str]:
        """Put before each problem its file: the entry's, by kind and id, which are its first words.

        A problem of no single entry is one of the whole document.
        """
        homes = {
            f"{kind} {entry['id']}": self._homes[kind][at][0]
            for kind in self._homes
            for at, entry in enumerate(self.data[kind])
            if isinstance(entry, dict) and "id" in entry
        }
        for problem in problems:
            entry = problem.partition(":")[0].partition(",")[0]
            yield f"{homes.get(entry, self.name)}: {problem}"


def read(
    entry: Traversable, model: type[Model], problems: list[str], name: str = ""
) -> Model | None:
    """Return what `entry`, a file or a folder, holds, or None with what is wrong in `problems`.

    `name` is how it is called there; its own name if empty.
    """
    document = read_document(entry, problems, name)
    return document.shaped(model, problems) if document else None


def read_document(entry: Traversable, problems: list[str], name: str = "") -> Document | None:
    """Do the same, but return what is read in no shape yet."""
    name = name or entry.name
    document = Document(name)
    told = len(problems)
    for file, called in _files(entry, name, problems):
        text = text_of(file, called, problems)
        data = None if text is None else as_toml(text, called, problems)
        if data is not None:
            document.add(called, data, problems)
    return document if len(problems) == told else None


def _files(entry: Traversable, name: str, problems: list[str]) -> list[tuple[Traversable, str]]:
    """Return the files of which a document consists, and how each is called."""
    try:
        if not entry.is_dir():
            return [(entry, name)]
        found = [(file, f"{name}/{file.name}") for file in toml_files(entry)]
    except OSError as error:
        problems.append(f"{name}: cannot be read: {error.strerror}")
        return []
    if not found:
        problems.append(f"{name}: there is no TOML file in the folder")
    return found


def text_of(entry: Traversable, name: str, problems: list[str]) -> str | None:
    """Return the text of the file `entry`, or None with what is wrong added to `problems`."""
    try:
        return entry.read_text(encoding="utf-8")
    except FileNotFoundError:
        kind = "file" if name.endswith(".toml") else "folder"
        problems.append(f"{name}: the {kind} is missing")
    except OSError as error:
        problems.append(f"{name}: cannot be read: {error.strerror}")
    except UnicodeDecodeError as error:
        problems.append(f"{name}: not readable as TOML: {error}")
    return None


def as_toml(text: str, name: str, problems: list[str]) -> dict[str, Any] | None:
    """Return what `text`, of the file `name`, says; None with what is wrong in `problems`."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problems.append(f"{name}: not readable as TOML: {error}")
    except (ValueError, RecursionError):
        problems.append(f"{name}: a number in it is too long, or it is nested too deep")
    return None


def toml_files(folder: Traversable) -> list[Traversable]:
    """Return the TOML files of a folder in the order of their names."""
    found = (entry for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return sorted(found, key=lambda entry: entry.name)


def documents(folder: Traversable) -> list[Traversable]:
    """Return the documents of a folder by name: its TOML files, and its folders of such."""
    found = (
        entry
        for entry in folder.iterdir()
        if entry.name.endswith(".toml") or (entry.is_dir() and toml_files(entry))
    )
    return sorted(found, key=lambda entry: entry.name)


def _is_echo(item: Mapping[str, Any]) -> bool:
    """Whether a list is only too short because of entries that have been told of already."""
    return bool(item["type"] == "too_short" and len(item["input"]) >= item["ctx"]["min_length"])


def contents(folder: Traversable) -> Iterator[tuple[str, bytes]]:
    """Yield every TOML file below `folder` by its path, with what is in it, in a fixed order.

    Nothing is in one that cannot be read; whoever reads it says why.
    """
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith(".toml"):
            content = b""
            with suppress(OSError):
                content = entry.read_bytes()
            yield entry.name, content
        elif entry.is_dir():
            yield from ((f"{entry.name}/{name}", content) for name, content in contents(entry))


def digest(files: Iterable[tuple[str, bytes]]) -> str:
    """Return 16 hex digits that change whenever the name or content of a file does."""
    whole = hashlib.sha256()
    for name, content in files:
        whole.update(f"{name}:{len(content)}:".encode() + content)
    return whole.hexdigest()[:16]


def place(data: object, path: tuple[int | str, ...]) -> str:
    """Name an entry as its writer would: its id or first words, not only its number."""
    words: list[str] = []
    for step in path:
        if isinstance(step, int) and isinstance(data, list) and step < len(data):
            data = data[step]
            label = data.get("id") or data.get("says") or "" if isinstance(data, dict) else ""
            words.append(f"number {step + 1}" + (f" ({str(label)[:60]})" if label else ""))
        else:
            data = data.get(step) if isinstance(data, dict) else None
            words.append(str(step))
    return ", ".join(words) or "the file"


def reason(item: Mapping[str, Any]) -> str:
    """Return what is wrong in a sentence a person can act on."""
    if item["type"] == "missing":
        return "is missing; every entry must have it"
    if item["type"] == "extra_forbidden":
        return "is not a key we know; correct its spelling or remove it"
    return str(item["msg"]).removeprefix("Value error, ")
