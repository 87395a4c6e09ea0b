"""Whether a dog may enter a class on a day, and why, by one body's show regulations.

Ages are counted in calendar months. Where a body's text leaves something open (a month without
the day of birth, 29 February, whether the day itself counts, which day of a show of several days
decides) and it matters, the verdict is "may if" and carries the readings in words. A ruling speaks
for the dog as its record stands. The show's own schedule always governs: see `governs`.

The work is done in three steps: every question about a class becomes a *track*, a list of days
from which on an answer holds (`ages`, `conditions` and `wins`, `bars`); the tracks of a class are
laid over one another (`classes`); the result is read off for one show (`show`) or run through from
birth (`life`, and `pack` for the phone). All sentences are in `words`.
"""

from ringside.domain.eligibility.bars import bars
from ringside.domain.eligibility.editions import governs
from ringside.domain.eligibility.life import windows
from ringside.domain.eligibility.pack import pack_rules, pack_windows
from ringside.domain.eligibility.shapes import Ruling, Show, Window
from ringside.domain.eligibility.show import verdicts

__all__ = [
    "Ruling",
    "Show",
    "Window",
    "bars",
    "governs",
    "pack_rules",
    "pack_windows",
    "verdicts",
    "windows",
]
