"""Keeping the book: copies, the way back, out and in again."""

from __future__ import annotations

import argparse
from pathlib import Path

from ringside.book import keeping
from ringside.book.place import Place
from ringside.cli.options import Commands, add_place, place_of


def add(commands: Commands) -> None:
    """Add the commands that keep the book."""
    backup = commands.add_parser("backup", help="copy the book, also while it is served")
    backup.add_argument("file", type=Path, nargs="?", help="default: in copies/ beside the book")
    backup.set_defaults(run=_backup)
    restore = commands.add_parser("restore", help="put a copy in the book's place")
    restore.add_argument("file", type=Path)
    restore.set_defaults(run=_restore)
    export = commands.add_parser("export", help="write everything as JSON, or records as CSV")
    export.add_argument("target", type=Path, metavar="FILE.json|FOLDER")
    export.add_argument("--csv", action="store_true", help="one CSV file a kind, in a folder")
    export.set_defaults(run=_export)
    take = commands.add_parser("import", help="import an export into an empty book or the same one")
    take.add_argument("file", type=Path, metavar="FILE.json")
    take.set_defaults(run=_import)
    for command in (backup, restore, export, take):
        add_place(command)


def _backup(options: argparse.Namespace) -> int:
    place = place_of(options)
    copy = keeping.backup(place, options.file)
    print(f"Copied and checked: {copy}")
    print(f"Photos copied with it: {keeping.photos_in(copy) or 'none'}")
    _tell_breeds(len(keeping.breeds_in(copy)), "copied with it", place)
    return 0


def _tell_breeds(number: int, done: str, place: Place) -> None:
    """Say how many own breed files went along, and what of those in the folder did not."""
    print(f"Own breed files {done}: {number or 'none'}")
    problems: list[str] = []
    keeping.own_breeds(place, problems)
    if problems:
        print("Left out until it is fixed:", *problems, sep="\n  ")


def _tell_left_out(photos: list[str], source: Path) -> None:
    """Say which photos are not what was kept once."""
    if photos:
        print(f"Left out; {source} still holds them:", *photos, sep="\n  ")


def _restore(options: argparse.Namespace) -> int:
    done = keeping.restore(place_of(options), options.file)
    print(f"Restored: {options.file}")
    if done.aside:
        print(f"The book from before is saved as: {done.aside}")
    print(f"Photos put back: {done.photos.taken or 'none'}")
    _tell_left_out(done.photos.left_out, options.file)
    print(f"Own breed files put back: {len(done.breeds) or 'none'}")
    for old in done.old:
        print(f"One of them differed; the file from before is saved as: {old}")
    if done.is_rebuilt:
        print("Its records did not match its changes, so they were rebuilt from the changes.")
    if done.has_devices_of_copy:
        print(
            "The same phones are paired as when the copy was made. "
            "Check the list of devices at the desk."
        )
    return 0


def _export(options: argparse.Namespace) -> int:
    place = place_of(options)
    if options.csv:
        print(f"{keeping.export_csv(place, options.target)} records in {options.target}")
        return 0
    done = keeping.export(place, options.target)
    print(f"{done.changes} changes in {options.target}")
    print(f"Photos in it: {done.photos or 'none'}")
    _tell_breeds(done.breeds, "in it", place)
    return 0


def _import(options: argparse.Namespace) -> int:
    done = keeping.import_(place_of(options), options.file)
    print(f"{done.new} changes imported; the book already had {done.known} of them.")
    print(f"Photos imported: {done.photos.taken or 'none'}")
    _tell_left_out(done.photos.left_out, options.file)
    print(f"Own breed files imported: {len(done.breeds) or 'none'}")
    for name in sorted(done.differing):
        print(f"Here {name} is a different file; it was left as it is.")
    return 0
