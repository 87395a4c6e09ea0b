"""Advice on microchip and registration numbers: does what was typed look right?

An ISO 11784 number has 15 digits: three for a country (ISO 3166-1) or a maker of chips (ICAR),
twelve for the animal. It carries no check digit, so only its shape and its code can be told.
The advice never refuses: the person who has the reader in hand may keep what was typed.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Literal

from ringside.knowledge.chip_schema import Codes
from ringside.knowledge.reading import KnowledgeError, read

FILE = "microchip.toml"
SEPARATORS = frozenset("-.·/_")
# Unicode categories of what copying brings along: every kind of dash, marks without a width.
UNSEEN = frozenset({"Pd", "Cf", "Cc"})

Problem = Literal["", "empty", "letters", "length", "code", "test", "number"]


@dataclass(frozen=True)
class Chip:
    """What can be told of a number. `digits` are those typed, without spaces and dashes.

    `message` always says something; where `fine` is false it says what is wrong.
    """

    fine: bool
    message: str
    digits: str
    problem: Problem = ""
    country: str = ""
    maker: str = ""

    @property
    def grouped(self) -> str:
        """The digits in threes, as readers show them."""
        return " ".join(self.digits[place : place + 3] for place in range(0, len(self.digits), 3))


def load_codes(folder: Traversable | None = None) -> Codes:
    """Load the codes from microchip.toml in `folder` (default: shipped with the program)."""
    problems: list[str] = []
    codes = read((folder or files("ringside.knowledge")) / FILE, Codes, problems)
    if codes is None:
        raise KnowledgeError(problems)
    return codes


@lru_cache(maxsize=1)
def shipped_codes() -> Codes:
    """Return the codes shipped with the program, read once."""
    return load_codes()


def check(number: str, codes: Codes | None = None) -> Chip:
    """Advise on a microchip number as typed; spaces, dashes and dots in it do not matter."""
    codes = codes or shipped_codes()
    shape = codes.number
    typed = _bare(number)
    if not typed:
        return Chip(False, "No number was typed.", "", "empty")
    strange = sorted({sign for sign in typed if sign not in "0123456789"})
    if strange:
        signs = ", ".join(strange)
        has = "this has a letter" if len(strange) == 1 and strange[0].isalpha() else "this has"
        message = f"Use digits only; {has}: {signs}."
        return Chip(False, message, typed, "letters")
    if len(typed) != shape.digits:
        short = shape.digits - len(typed)
        differs = f"{short} missing" if short > 0 else f"{-short} too many"
        plural = "digit" if len(typed) == 1 else "digits"
        message = f"This has {len(typed)} {plural}; an ISO number has {shape.digits} ({differs})."
        return Chip(False, message, typed, "length")
    return _check_parts(typed, codes)


def tidy_registration(number: str) -> str:
    """Return a registration number without spaces around it; its form is the body's affair."""
    return number.strip()


def _bare(number: str) -> str:
    plain = unicodedata.normalize("NFKC", number)
    return "".join(
        sign
        for sign in plain
        if not sign.isspace()
        and sign not in SEPARATORS
        and unicodedata.category(sign) not in UNSEEN
    ).upper()


def _check_parts(digits: str, codes: Codes) -> Chip:
    """Check a number of the right length: its first three digits, then the rest."""
    shape = codes.number
    code, animal = digits[: shape.prefix], int(digits[shape.prefix :])
    country = maker = ""
    if int(code) == shape.test_code:
        message = f"{code} marks chips made for tests; no animal has such a number."
        return Chip(False, message, digits, "test")
    if int(code) >= shape.maker_from:
        maker = codes.maker.get(code, "")
        if int(code) == shape.shared_maker:
            origin = f"code {code}, which several makers share"
        else:
            origin = (
                f"maker {maker} ({code})" if maker else f"code {code} of a maker we cannot name"
            )
    else:
        country = codes.country.get(code, "")
        if not country:
            message = f"It begins with {code}, which is not a country code (ISO 3166-1)."
            return Chip(False, message, digits, "code")
        origin = f"{country} ({code})"
    if animal > shape.national_max:
        message = f"After {code} comes {animal}; the highest possible is {shape.national_max}."
        return Chip(False, message, digits, "number", country, maker)
    return Chip(True, f"Looks right: {origin}.", digits, "", country, maker)
