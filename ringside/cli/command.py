"""The `ringside` command: serve the book, let a phone in, show the demo, check what there is."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from ringside import __version__
from ringside.book.store import BookError
from ringside.cli import check, keep, pair, serve
from ringside.cli.options import Trouble
from ringside.knowledge import KnowledgeError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command. Returns 0, 1 when a check found problems, 2 for trouble to be mended."""
    options = parser().parse_args(arguments)
    try:
        result: int = options.run(options)
        return result
    except (Trouble, BookError) as error:
        print(f"ringside: {error}", file=sys.stderr)
    except KnowledgeError as error:
        print("ringside: the knowledge files cannot be used:", file=sys.stderr)
        print(*(f"  {problem}" for problem in error.problems), sep="\n", file=sys.stderr)
    return 2


def parser() -> argparse.ArgumentParser:
    """Return what reads the command line."""
    made = argparse.ArgumentParser(prog="ringside", description=__doc__)
    made.add_argument("--version", action="version", version=__version__)
    commands = made.add_subparsers(required=True, metavar="command")
    for group in (serve, pair, keep, check):
        group.add(commands)
    return made
