"""Sentences by name, for what is worked out here and on the phone alike.

A rule names a sentence and what stands in it; the words are in one table that goes to the phone
with the rules (static/js/core/says.js fills them in the same way). So a sentence is reworded in
its table, and no rule is touched, here or there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

# Words as they are; {"says": name, ...what stands in it}; or several in a row.
Saying = str | int | Mapping[str, Any] | Sequence["Saying"]

_BLANK = re.compile(r"\{(\w+)\}")


def sentence(table: Mapping[str, str], saying: Saying) -> str:
    """Return a saying as a person reads it, several with a space between them.

    Raises KeyError where the table has no such sentence, or the saying not what stands in it.
    """
    if isinstance(saying, Mapping):
        return _BLANK.sub(lambda blank: sentence(table, saying[blank[1]]), table[saying["says"]])
    if isinstance(saying, str | int):
        return str(saying)
    return " ".join(words for one in saying if (words := sentence(table, one)))


# What the gate check and the scales say (gate.py, limits.py and their twins on the phone).
FINDINGS: Mapping[str, str] = {
    # the class
    "class-unseen": "Class not checked yet",
    "meet-book": "Enter the date of birth, then sync this phone once.",
    "note-show": "Enter the day of the show and whose rules it is under.",
    "class-none": "No class chosen yet",
    "class-strange": "Class not known here",
    "not-of-body": "We know no class of that name under {body}.",
    "open": "Open to this dog: {classes}.",
    "open-more": "Open to this dog: {classes} and {more} more.",
    "open-none": "No class is open to this dog that day without a condition: ask the secretary.",
    "class-may": "May enter {name}",
    "class-if": "{name}: only on a condition",
    "too-young-all": "Too young for any class",
    "first-class": "{name} opens first, on {day}.",
    "barred": "{name}: {why}",
    "too-young": "Too young for {name}",
    "day-too-young": "A day too young for {name}",
    "days-too-young": "{days} days too young for {name}",
    "too-old": "Too old for {name}",
    "day-too-old": "A day too old for {name}",
    "days-too-old": "{days} days too old for {name}",
    "stale": "Out of date: sync this phone first.",
    "schedule": "The show's schedule decides.",
    # limits
    "weight-unknown": "Not weighed yet",
    "height-unknown": "Not measured yet",
    "weight-right": "Weight within {of}'s limits",
    "height-right": "Height within {of}'s limits",
    "weight-over": "{by} {unit} too heavy for {of}",
    "weight-under": "{by} {unit} too light for {of}",
    "height-over": "{by} {unit} too tall for {of}",
    "height-under": "{by} {unit} too short for {of}",
    "over": "{by} {unit} over {of}'s figure",
    "under": "{by} {unit} under {of}'s figure",
    "measured": "{value} {unit} on {day}.",
    "limit": "{of}: {ask}",
    "bars": "Disqualifies under {of}.",
    "bars-only": "Disqualifies under {of} only.",
    "no-bar": "This alone does not disqualify.",
    "measure-again": "Weigh or measure again, then ask the steward.",
    "source": "{source}.",
    "text-memory": "Written from memory of that text.",
    "text-secondary": "Read in a second-hand account of that text.",
    "own-words": "In our own words.",
    # testes
    "testes-both": "Both testes down",
    "testes-one": "One testis down, not both",
    "testes-none": "No testis felt",
    "testes-unknown": "Testes not recorded",
    "felt": "Checked on {day}.",
    "felt-undated": "No day was recorded.",
    "feel": "Feel for both, and record the day.",
    "see-vet": "See a vet before you enter again. The show's rules say whether he may be shown.",
    "own-record": (
        "From your own record of this dog. The rules of the body decide; "
        "the class above names the clause."
    ),
    # chip
    "chip-none": "No chip number",
    "chip-ask": "Add it if the show asks for it. Some scan the chip at the entrance.",
    "chip-right": "Chip number looks right",
    "chip-odd": "Chip number looks odd",
    "chip-fine": "{number}. {message}",
    "chip-kept": "{number}: {message} Saved as typed.",
    "chip-source": (
        "ISO 11784 and 11785: fifteen digits, the first three a country or a maker. "
        "In our own words."
    ),
    # items
    "not-ready": "{item}: not yet",
    "only-if": "It can go in only if {asks}.",
    "own-wordless": "An empty item",
    "own-item": "You wrote this item yourself.",
    "common-practice": (
        "Common practice: what people do in the ring; no published source was read for it."
    ),
    # what can be done
    "choose-class": "Choose the class",
    "edit-dog": "Edit the dog",
    "edit-show": "Edit the show",
    "look-again": "Check it again",
    "measure": "Weigh or measure",
    "note": "Record it",
    "write-down": "Add it",
}
