"""What a class asks of titles, wins and answers: since when it is so, and what follows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

import ringside.domain.eligibility.words as words
from ringside.domain.eligibility.case import Answer, Case, Track
from ringside.domain.eligibility.editions import how_read
from ringside.domain.eligibility.shapes import Show
from ringside.domain.eligibility.wins import ALWAYS, NEVER, UNKNOWN, Since, held, won
from ringside.knowledge.regulation_schema import Condition, Outcome, ShowClass

# Nobody takes entries for a show more than a year ahead: from then on the closing date, which
# a window cannot know, makes no difference to what was won before it.
LONGEST_ENTRY = timedelta(days=366)
# Wins count to the seventh day before the closing date, that day included.
WINS_BEFORE_CLOSING = timedelta(days=7)


def condition_track(case: Case, klass: ShowClass, condition: Condition) -> Track:
    """Return what a condition says about the dog, from birth on."""
    name = f"{klass.id}/{condition.id}"
    read = how_read(condition, "titles", "tally", "counted_by")
    born = case.born

    def answer(state: Outcome, says: str = "", readings: tuple[str, ...] = ()) -> Answer:
        instead = condition.instead if state != "may" else None
        return Answer(state, says, condition, name, read, readings, instead)

    def refusal(says: str) -> Answer:
        # At some kinds of show only, and the kind is not known: then it is an "if".
        return answer("may if", asks) if open_kind else answer("may not", says)

    if condition.kinds and case.kinds is not None and not set(condition.kinds) & case.kinds:
        return []
    open_kind = bool(condition.kinds) and case.kinds is None
    asks = words.asks_at_kind(condition) if open_kind else condition.asks
    since = _earliest(_parts(case, condition))
    if not since.known:
        return [(born, answer("may if", asks))]
    needs = condition.how == "needs"
    before = [(born, refusal(words.lacks(condition)) if needs else answer("may"))]
    perhaps = held(condition.perhaps, case.dog).day if needs and condition.perhaps else None
    if perhaps is not None:
        before.append((max(perhaps, born), answer("may if", words.if_recognised(asks))))
    if since.day is None:
        return before
    after = answer("may") if needs else refusal(words.has(condition, since.day))
    if since.day <= born:
        return [(born, after)]
    before = [(day, given) for day, given in before if day < since.day]
    counted = _counted_from(condition, since.day, case.show)
    if counted is not None:
        return [*before, (counted, after)]
    between = (since.day, answer("may if", *_by_closing(condition, since.day, needs)))
    return [*before, between, (since.day + LONGEST_ENTRY, after)]


def _counted_from(condition: Condition, day: date, show: Show | None) -> date | None:
    """Return from which show day on something earned on `day` counts; None where it is open."""
    if condition.counted_by == "day of show":
        return day
    if show is None or show.closing is None:
        return None
    closing = show.closing
    if condition.counted_by == "seventh day before closing":
        closing -= WINS_BEFORE_CLOSING
    if day <= closing:
        return day
    return None if condition.counted_by == "silent" else date.max


def _by_closing(condition: Condition, day: date, needs: bool) -> tuple[str, tuple[str, ...]]:
    if condition.counted_by == "seventh day before closing":
        day += WINS_BEFORE_CLOSING
    return words.by_closing(condition, day, needs=needs)


def _parts(case: Case, condition: Condition) -> Iterator[Since]:
    if condition.titles:
        yield held(condition.titles, case.dog)
    for tally in condition.tally:
        yield won(tally, case.regulation.body, case.record.wins)
    if condition.question:
        yield _said(case.reply(condition.question))
    if condition.born_in:
        born_in = case.dog.born_in
        yield _said(None if born_in is None else born_in in condition.born_in)


def _earliest(parts: Iterable[Since]) -> Since:
    """Return since when any part holds. What is certain outweighs what nobody has said."""
    known = list(parts)
    days = [part.day for part in known if part.day is not None]
    if days:
        return Since(min(days))
    return NEVER if all(part.known for part in known) else UNKNOWN


def _said(reply: bool | None) -> Since:
    return UNKNOWN if reply is None else ALWAYS if reply else NEVER
