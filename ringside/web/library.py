"""What this server knows at the moment: the knowledge, the app built with it, and the packs.

The handler's own breed files are kept in the data folder, where no upgrade of the program touches
them. After an import everything is made anew and swapped in one step; what cannot be used changes
nothing, so the app goes on with the last good knowledge.
"""

from __future__ import annotations

from pathlib import Path

from flask import Flask

from ringside.book.packs import PackShelf
from ringside.knowledge import Knowledge, load
from ringside.web.pocket import Edition, publish

OWN_BREEDS = "breeds"


class Library:
    """Knowledge, edition and packs that belong together."""

    def __init__(self, app: Flask, data: Path, knowledge: Knowledge) -> None:
        """Begin with `knowledge`; own breed files live below the folder `data`."""
        self.app = app
        self.own = data / OWN_BREEDS
        self._take(knowledge)

    def _take(self, knowledge: Knowledge) -> None:
        edition, shelf = publish(self.app, knowledge), PackShelf(knowledge)
        self.knowledge, self._edition, self.shelf = knowledge, edition, shelf

    def edition(self) -> Edition:
        """Return the app as it is served now."""
        return self._edition

    def renew(self) -> None:
        """Read everything anew. Raises KnowledgeError and changes nothing if it cannot be used."""
        self._take(load(own=self.own))
