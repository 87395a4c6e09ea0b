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
