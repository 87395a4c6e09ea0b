"""What a dog's awards come to: titles earned, what is still missing, the soonest it could be had.

A title is earned on the day when the last rule of one of its routes is met. Rules only ever ask
for more, so a further award never undoes what was reached.

Where a text leaves something open (a birthday itself, a month without that day, a condition that
texts dispute) awards are weighed twice: against the dog, which is the verdict, and for it; where
the two differ, the other verdict is given too, with what is open.

`tallying` weighs every route (a `case`, under one reading): awards are screened (`screening`), fill
slots (`slots`, by `matching` or `choosing`) and add up to points (`worth`, `points`), other titles
are asked for (`needs`); `verdicts` picks the best route. Words are in `words` and `lacking`.
"""

from ringside.domain.titles.pack import pack_titles
from ringside.domain.titles.schedules import scheduled_points
from ringside.domain.titles.shapes import Tally
from ringside.domain.titles.tallying import tally, tally_all

__all__ = ["Tally", "pack_titles", "scheduled_points", "tally", "tally_all"]
