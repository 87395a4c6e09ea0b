"""A title of which no text was read: that is said, with whom to ask, and nothing is counted."""

from __future__ import annotations

import ringside.domain.titles.words as words
from ringside.domain.days import month_later
from ringside.domain.titles.record import Record
from ringside.domain.titles.shapes import Tally, Verdict
from ringside.knowledge.title_schema import Unread
from ringside.knowledge.titles import BodyTitle


def tally_unread(title: BodyTitle, unread: Unread, record: Record) -> Tally:
    """Set all awards aside. The soonest day is told while the dog is too young, not after."""
    soonest = None
    if record.dog.born and unread.from_months:
        old_enough, _ = month_later(record.dog.born, unread.from_months)
        soonest = old_enough if old_enough > record.today else None
    aside = {
        words.NOT_READ: tuple(record.order.get(title.body, ())),
        words.OTHER_BODY: record.foreign(title.body),
    }
    return Tally(
        title=title,
        route="",
        verdict=Verdict(None, unread.says, soonest),
        otherwise=None,
        open=(),
        have=(),
        counts=(),
        aside={reason: places for reason, places in aside.items() if places},
        rules=(unread,),
    )
