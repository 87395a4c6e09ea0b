"""The breeds that are known: of each the profile at once, all it is asked when somebody wants it.

A server needs whole only the breeds in its book. A profile is the head of the breed's own file, so
the list of breeds never grows stale and nothing has to be kept beside the files. A file that
cannot be used is set aside, at the start or when it is first wanted, and the rest goes on.
"""

from __future__ import annotations

import logging
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources.abc import Traversable
from math import isfinite
from typing import Any

from ringside.knowledge.reading import Document, as_toml, text_of
from ringside.knowledge.schema import Breed, Profile

FOLDER = "breeds"
# Ids of a handler's own breeds begin so.
OWN = "own-"

_ASK = re.compile(r"^[ \t]*\[\[[ \t]*ask[ \t]*\]\]", re.MULTILINE)
_FROM_MEMORY = re.compile(r"""^[ \t]*read[ \t]*=[ \t]*["']memory["']""", re.MULTILINE)
_LOG = logging.getLogger(__name__)


class Breeds(Mapping[str, Breed]):
    """The shipped breeds and a handler's own, by id. A breed is read when it is first wanted.

    `profiles` has all of them, `from_memory` how many asks of each are from memory, `set_aside`
    what is wrong with the files that cannot be used, as far as they were looked at.
    """

    def __init__(
        self,
        entries: Mapping[str, Traversable],
        own: Mapping[str, Breed] | None = None,
        set_aside: Sequence[str] = (),
    ) -> None:
        """Read the head of each of `entries`, the shipped files by id.

        `own` breeds are whole already; `set_aside` says what is wrong with those that are left out.
        """
        self._entries = entries
        self._whole: dict[str, Breed] = {}
        self._profiles: dict[str, Profile] = {}
        self._from_memory: dict[str, int] = {}
        self._problems: dict[str, Sequence[str]] = {"": set_aside}
        for key in entries:
            self._read_head(key)
        for key, breed in (own or {}).items():
            self._whole[key] = self._profiles[key] = breed
            self._from_memory[key] = sum(ask.read == "memory" for ask in breed.ask)

    @property
    def profiles(self) -> Mapping[str, Profile]:
        """The profile of every breed that can be used, by id."""
        return self._profiles

    @property
    def from_memory(self) -> int:
        """How many asks of all breeds are from memory."""
        return sum(self._from_memory.values())

    @property
    def set_aside(self) -> tuple[str, ...]:
        """What is wrong with files: file, entry, reason."""
        return tuple(line for key in sorted(self._problems) for line in self._problems[key])

    def __getitem__(self, key: str) -> Breed:
        """Return the whole breed. Raises KeyError if there is none, or its file cannot be used."""
        if key in self._whole:
            return self._whole[key]
        if key not in self._profiles:
            raise KeyError(key)
        found = self._read(key)
        if found is None:  # when this came to light nobody was there to be told
            _LOG.error("A breed is left out. %s", "; ".join(self._problems[key]))
            raise KeyError(key)
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._profiles)

    def __len__(self) -> int:
        return len(self._profiles)

    def read_all(self) -> list[str]:
        """Read every shipped breed whole and return every problem of their files."""
        for key in self.keys() - self._whole.keys():
            self._read(key)
        return [line for key in self._entries for line in self._problems.get(key, ())]

    def own_contents(self) -> Iterator[tuple[str, bytes]]:
        """Yield each own breed by its id, with what it says."""
        for key, breed in self._whole.items():
            if key not in self._entries:
                yield key, breed.model_dump_json().encode()

    def _read_head(self, key: str) -> None:
        problems: list[str] = []
        text = text_of(self._entries[key], file_of(key), problems)
        if text is None:
            self._leave_out(key, problems)
            return
        head, asks = parts(text)
        profile = _profile(head)
        if profile:
            self._profiles[key] = profile
            self._from_memory[key] = len(_FROM_MEMORY.findall(asks))
        else:
            _shaped(key, head, problems)
            self._leave_out(key, problems)

    def _read(self, key: str) -> Breed | None:
        problems: list[str] = []
        text = text_of(self._entries[key], file_of(key), problems)
        document = _document(key, text, problems) if text is not None else None
        breed = document.shaped(Breed, problems) if document else None
        if text is not None and document and breed:
            problems += (f"{file_of(key)}: {problem}" for problem in checks(breed))
            if _asks_in_between(text, document.data):
                problems.append(f"{file_of(key)}: ask: write all asks last, after all else")
        if breed is None or problems:
            self._leave_out(key, problems)
            return None
        return self._whole.setdefault(key, breed)

    def _leave_out(self, key: str, problems: list[str]) -> None:
        # Others may be going through the profiles: they keep those they began with.
        self._profiles = {known: it for known, it in self._profiles.items() if known != key}
        self._problems = {**self._problems, key: problems}
        self._from_memory = {known: it for known, it in self._from_memory.items() if known != key}


def file_of(key: str) -> str:
    """Return how the file of a breed is called where something is told of it."""
    return f"{key.removeprefix(OWN)}.toml" if key.startswith(OWN) else f"{FOLDER}/{key}.toml"


def parts(text: str) -> tuple[str, str]:
    """Return the head of a breed file, which makes its profile, and its asks."""
    first = _ASK.search(text)
    at = first.start() if first else len(text)
    return text[:at], text[at:]


def checks(breed: Breed) -> Iterator[str]:
    """Yield what only shows when the entries of a breed are held together: entry, reason."""
    standards = {standard.id for standard in breed.standard}
    if len(standards) < len(breed.standard):
        yield "standard: an id is used twice"
    bodies = {standard.of.lower() for standard in breed.standard}
    for body in breed.glance:
        if body != "fci" and body not in bodies:
            yield f"glance, {body}: there is no standard of this body in this file"
    for number, ask in enumerate(breed.ask, start=1):
        place = f"ask, number {number} ({ask.says[:60]})"
        if ask.standard not in standards:
            yield f"{place}: there is no standard {ask.standard!r} in this file"
        bounds = (ask.number.low, ask.number.high) if ask.number else ()
        if not all(isfinite(bound) for bound in bounds if bound is not None):
            yield f"{place}: a bound is not a finite number"


def _document(key: str, text: str, problems: list[str]) -> Document | None:
    data = as_toml(text, file_of(key), problems)
    return None if data is None else Document(file_of(key), data)


def _shaped(key: str, head: str, problems: list[str]) -> Profile | None:
    document = _document(key, head, problems)
    return document.shaped(Profile, problems) if document else None


# After an import all files are read anew, and nearly all say what they said.
@lru_cache(maxsize=1024)
def _profile(head: str) -> Profile | None:
    """Return what the head of a file makes, or None if it cannot be used."""
    return _shaped("", head, [])


def _asks_in_between(text: str, data: Mapping[str, Any]) -> bool:
    """Whether the head, by which the breed is listed, leaves out some of what is no ask."""
    try:
        head = tomllib.loads(parts(text)[0])
    except tomllib.TOMLDecodeError:
        return True
    return any(key != "ask" and head.get(key) != value for key, value in data.items())
