"""What this server knows at the moment: the knowledge, the app built with it, and the packs.

The handler's own breed files are kept in the data folder, where no upgrade of the program touches
them, and none is ever lost: what a newer one replaces, and what is removed, stays beside them as
`.old`. After an import everything is made anew and swapped in one step; what cannot be used
changes nothing, so the app goes on with the last good knowledge.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from flask import Flask

from ringside.book.keeping import INCOMING, old_name
from ringside.book.packs import PackShelf
from ringside.knowledge import Knowledge, KnowledgeError, load
from ringside.knowledge.breeds import OWN
from ringside.knowledge.own import OWN_BREEDS, OWN_NAME, own_breed
from ringside.knowledge.schema import Breed
from ringside.web.pocket import Edition, publish


@dataclass(frozen=True)
class OwnFile:
    """An own breed file by its name without ending, and its breed where that is in use."""

    name: str
    path: Path
    breed: Breed | None
    problems: tuple[str, ...]

    @property
    def id(self) -> str:
        """The breed's id."""
        return OWN + self.name


class Library:
    """Knowledge, edition and packs that belong together."""

    def __init__(self, app: Flask, data: Path, knowledge: Knowledge) -> None:
        """Begin with `knowledge`; own breed files live below the folder `data`."""
        self.app = app
        self.own = data / OWN_BREEDS
        self._changing = Lock()
        self._seen = self._files()
        self._take(knowledge)

    def _take(self, knowledge: Knowledge) -> None:
        edition, shelf = publish(self.app, knowledge), PackShelf(knowledge)
        self.knowledge, self._edition, self.shelf = knowledge, edition, shelf

    def edition(self) -> Edition:
        """Return the app as it is served now."""
        if self._files() != self._seen and self._changing.acquire(blocking=False):
            try:
                self._notice()
            finally:
                self._changing.release()
        return self._edition

    def _notice(self) -> None:
        """Go on with what somebody else, such as another process, put into the folder."""
        self._seen = self._files()
        with suppress(KnowledgeError):  # then with what we had; the desk and `check` say why
            self.renew()

    def _files(self) -> dict[str, tuple[int, int]]:
        """Return {name: (moment of change, size)} of the own breed files."""
        try:
            with os.scandir(self.own) as entries:
                found = {entry.name: entry.stat() for entry in entries if _is_breed(entry.name)}
        except OSError:
            return {}
        return {name: (stat.st_mtime_ns, stat.st_size) for name, stat in found.items()}

    def renew(self) -> None:
        """Read everything anew. Raises KnowledgeError and changes nothing if it cannot be used."""
        self._take(load(own=self.own))

    def own_files(self) -> list[OwnFile]:
        """Return the own breed files that are in the folder under a name that can be used."""
        try:
            paths = sorted(self.own.glob("*.toml"))
        except OSError:
            return []
        known = self.knowledge
        return [
            OwnFile(
                path.stem,
                path,
                known.breeds.get(OWN + path.stem),
                tuple(line for line in known.set_aside if line.startswith(f"{path.name}: ")),
            )
            for path in paths
            if OWN_NAME.fullmatch(path.stem)
        ]

    def keep(self, name: str, content: bytes) -> list[str]:
        """Keep an own breed file and go on with it; return what is wrong, then nothing changed."""
        place = self.own / f"{name}.toml"
        with self._changing:
            try:
                return self._keep(place, content)
            except OSError as error:
                return [f"{place.name}: cannot be saved in {self.own}: {error.strerror}"]

    def _keep(self, place: Path, content: bytes) -> list[str]:
        self.own.mkdir(mode=0o700, parents=True, exist_ok=True)
        problems: list[str] = []
        with tempfile.TemporaryDirectory(prefix=INCOMING, dir=self.own) as folder:
            new = Path(folder) / place.name
            new.write_bytes(content)
            own_breed(new, problems)
            if problems:
                return problems
            old = old_name(place) if place.exists() else None
            if old:
                shutil.copy2(place, old)
            new.replace(place)
        return self._renew_or_undo(place, old)

    def remove(self, file: OwnFile) -> list[str]:
        """Go on without an own breed file, which stays beside as `.old`; return what is wrong."""
        with self._changing:
            old = old_name(file.path)
            try:
                file.path.rename(old)
            except OSError as error:
                return [f"{file.path.name}: cannot be removed: {error.strerror}"]
            return self._renew_or_undo(file.path, old)

    def _renew_or_undo(self, place: Path, old: Path | None) -> list[str]:
        """Renew; if that fails put `old` back in its `place`, so that the next start finds it."""
        try:
            self.renew()
            self._seen = self._files()
        except Exception as error:
            if old:
                old.replace(place)
            else:
                place.unlink(missing_ok=True)
            if isinstance(error, KnowledgeError):
                return error.problems
            raise
        return []


def _is_breed(name: str) -> bool:
    return name.endswith(".toml")
