"""TOML that others wrote: looked at before it is parsed, and told of in few words.

The parser is made for files of one's own: a dotted key of n parts costs it n² steps and as many
bytes, so that 256 kB of one key take 24 GB. What it would choke on is refused by a look that costs
one step a sign. The look and the parser part a text alike up to the first place where the parser
gives up, and only up to there it matters: so nothing that is parsed has passed unseen.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence

from ringside.knowledge.reading import Document, Model, as_toml

# A breed file of ours has some 3,000 pieces, keys of 2 parts, and nests 3 deep.
MOST_PIECES = 60_000  # words, signs and texts, the blanks between them and line breaks
MOST_PARTS = 5  # of a dotted key
MOST_NESTED = 6
LONGEST_WORD = 60  # signs of a number, a date or a key without quotes
MOST_TOLD = 20
LONGEST_TOLD = 600  # signs

# Possessive (*+, ++) throughout: what was taken once is never given back and tried anew.
_PIECE = re.compile(
    r"""
      \#[^\n]*+ | [ \t]++
    | \"{3}(?:[^"\\]++|\\.|"(?!""))*+"{3,5} | '{3}(?:[^']++|'(?!''))*+'{3,5}
    | "(?:[^"\\\n]++|\\[^\n])*+" | '[^'\n]*+'
    | (?P<opens>[\[{]) | (?P<closes>[\]}]) | (?P<dot>\.) | (?P<parts>[=,\n])
    | (?P<word>[A-Za-z0-9_+:-]++) | .
    """,
    re.VERBOSE | re.DOTALL,
)


def read(content: bytes, name: str, model: type[Model], problems: list[str]) -> Model | None:
    """Return what the file `name` holds, or None with what is wrong added to `problems`."""
    told: list[str] = []
    document = _document(content, name, told)
    found = document.shaped(model, told) if document else None
    problems += few(told, name)
    return found


def few(problems: Sequence[str], name: str) -> list[str]:
    """Return the first of many problems with a file, each in one line that a terminal can show."""
    more = len(problems) - MOST_TOLD
    lines = [_line(problem) for problem in problems[:MOST_TOLD]]
    return [*lines, f"{name}: and {more:,} problems more"] if more > 0 else lines


def _document(content: bytes, name: str, problems: list[str]) -> Document | None:
    try:
        text = io.TextIOWrapper(io.BytesIO(content), encoding="utf-8").read()
    except UnicodeDecodeError as error:
        problems.append(f"{name}: not readable as TOML: {error}")
        return None
    if reason := too_much(text):
        problems.append(f"{name}: {reason}")
        return None
    data = as_toml(text, name, problems)
    return None if data is None else Document(name, data)


def too_much(text: str) -> str:
    """Return what is more in a TOML text than the parser can be given, "" if nothing is."""
    nested = dots = 0
    for number, piece in enumerate(_PIECE.finditer(text)):
        if number == MOST_PIECES:
            return f"has more than {MOST_PIECES:,} words and signs; split it into two"
        kind = piece.lastgroup
        if kind == "word":
            if piece.end() - piece.start() > LONGEST_WORD:
                return f"a number in it is too long, or a key; at most {LONGEST_WORD} signs"
        elif kind == "dot":
            dots += 1
            if dots == MOST_PARTS:
                return f"a key in it has more than {MOST_PARTS} parts; shorten it"
        elif kind:
            dots = 0
            nested += (kind == "opens") - (kind == "closes")
            if nested > MOST_NESTED:
                return f"nested too deep; at most {MOST_NESTED} brackets in each other"
    return ""


def _line(problem: str) -> str:
    plain = "".join(sign if sign.isprintable() else "�" for sign in problem[:LONGEST_TOLD])
    return f"{plain}…" if len(problem) > LONGEST_TOLD else plain
