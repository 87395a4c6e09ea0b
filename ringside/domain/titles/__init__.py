"""What a dog's awards come to: titles earned, what is still missing, the soonest it could be had.
It never says who may enter a class, and no sentence stands outside `words` and `lacking`.
"""

from ringside.domain.titles.pack import pack_titles
from ringside.domain.titles.schedules import scheduled_points
from ringside.domain.titles.shapes import Tally
from ringside.domain.titles.tallying import tally, tally_all

__all__ = ["Tally", "pack_titles", "scheduled_points", "tally", "tally_all"]
