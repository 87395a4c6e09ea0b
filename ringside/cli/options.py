"""What several commands share: where the book is, and trouble that can be mended."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TypeAlias

from platformdirs import user_data_path

from ringside.book.place import Place

# What `add_subparsers` gives; argparse has no public name for it.
Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


class Trouble(Exception):
    """Something the person at the keyboard can mend; the message says how."""


def add_place(command: argparse.ArgumentParser) -> None:
    """Let a command be told where the book is."""
    own_book = user_data_path("ringside", appauthor=False)
    command.add_argument(
        "--data", type=Path, default=own_book, help="the folder (default: %(default)s)"
    )
    command.add_argument(
        "--database",
        metavar="URL",
        # What stands on a command line is seen by everybody on the computer.
        default=os.environ.get("RINGSIDE_DATABASE", ""),
        help="postgresql://…, for a book in PostgreSQL; RINGSIDE_DATABASE in the environment "
        "says the same without showing a password to others",
    )


def place_of(options: argparse.Namespace) -> Place:
    """Return where the book is that a command was told of."""
    return Place(options.data or Path(), options.database)
