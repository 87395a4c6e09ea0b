"""A handler's own breed files: what they may be called, how large they are, and reading them.

They lie in the data folder and may be anything, so what is wrong with one is told and never raised.
"""

from __future__ import annotations

import re
from importlib.resources.abc import Traversable

from ringside.knowledge import foreign
from ringside.knowledge.breeds import OWN, checks
from ringside.knowledge.reading import toml_files
from ringside.knowledge.schema import Breed

# The folder of own breed files, beside the book.
OWN_BREEDS = "breeds"
# What an own breed file is called, without its ending: it becomes part of the breed's id, which
# has at most 60 characters.
OWN_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
MOST_OWN_NAME = 50
MOST_OWN_SIZE = 256 * 1024  # bytes
MOST_OWN_FILES = 500  # more than there are breeds
MOST_OWN_TOGETHER = 10 * 1024 * 1024  # bytes: each takes its time at every start


def own_breeds(folder: Traversable, problems: list[str]) -> dict[str, Breed]:
    """Return the breeds in `folder` that can be used, by id."""
    found: dict[str, Breed] = {}
    left = MOST_OWN_TOGETHER
    for entry in own_entries(folder, problems):
        content = own_content(entry, problems)
        left -= len(content or b"")
        if left < 0:
            most = MOST_OWN_TOGETHER // 1024 // 1024
            problems.append(f"{entry.name}: all files together have more than {most} MB")
        elif content is not None and (breed := _breed(entry.name, content, problems)):
            found[OWN + entry.name.removesuffix(".toml")] = breed
    return found


def own_breed(entry: Traversable, problems: list[str]) -> Breed | None:
    """Return the breed in the handler's own file `entry`, None if there are `problems` with it."""
    content = own_content(entry, problems)
    return None if content is None else _breed(entry.name, content, problems)


def _breed(name: str, content: bytes, problems: list[str]) -> Breed | None:
    breed = foreign.read(content, name, Breed, problems)
    wrong = [f"{name}: {problem}" for problem in checks(breed)] if breed else []
    problems += foreign.few(wrong, name)
    return None if wrong else breed


def own_content(entry: Traversable, problems: list[str]) -> bytes | None:
    """Return what is in the own file `entry`, be it a breed or not.

    None, and why in `problems`, if its name or size is not for us, or it cannot be read.
    """
    if not is_own_file(entry.name):
        problems.append(
            f"{entry.name!r}: the file's name: use small letters a to z, digits and hyphens, "
            f"at most {MOST_OWN_NAME}, and then .toml"
        )
        return None
    try:
        if not entry.is_file():  # a pipe would keep us waiting for ever
            problems.append(f"{entry.name}: cannot be read: there is no plain file of this name")
            return None
        with entry.open("rb") as file:
            content: bytes = file.read(MOST_OWN_SIZE + 1)
    except OSError as error:
        problems.append(f"{entry.name}: cannot be read: {error.strerror}")
        return None
    if len(content) > MOST_OWN_SIZE:
        problems.append(f"{entry.name}: is too large; at most {MOST_OWN_SIZE // 1024} kB")
        return None
    return content


def is_own_file(name: str) -> bool:
    """Whether an own file can be called so."""
    stem = name.removesuffix(".toml")
    return stem != name and len(stem) <= MOST_OWN_NAME and bool(OWN_NAME.fullmatch(stem))


def own_entries(folder: Traversable, problems: list[str]) -> list[Traversable]:
    """Return the entries of a folder of own files, in the order of their names."""
    try:
        entries = toml_files(folder) if folder.is_dir() else []
    except OSError as error:
        problems.append(f"{folder.name}: the folder cannot be read: {error.strerror}")
        return []
    problems += [
        f"{entry.name!r}: there are more than {MOST_OWN_FILES} files; take some away"
        for entry in entries[MOST_OWN_FILES:]
    ]
    return entries[:MOST_OWN_FILES]
