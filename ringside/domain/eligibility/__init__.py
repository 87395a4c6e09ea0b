"""Whether a dog may enter a class on a day, and why, by one body's show regulations.
It never weighs awards for a title, and no sentence stands outside `words`.
"""

from ringside.domain.eligibility.bars import bars, bars_for
from ringside.domain.eligibility.editions import governs
from ringside.domain.eligibility.life import windows
from ringside.domain.eligibility.pack import pack_bars, pack_habits, pack_rules, pack_windows
from ringside.domain.eligibility.shapes import Ruling, Show, Window
from ringside.domain.eligibility.show import verdicts

__all__ = [
    "Ruling",
    "Show",
    "Window",
    "bars",
    "bars_for",
    "governs",
    "pack_bars",
    "pack_habits",
    "pack_rules",
    "pack_windows",
    "verdicts",
    "windows",
]
