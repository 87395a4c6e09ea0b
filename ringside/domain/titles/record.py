"""A dog's awards in order, and what several titles would each work out again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import chain

from ringside.domain.dog import Award, Dog
from ringside.knowledge.schema import Body


@dataclass
class Screened:
    """The awards that can count at all, oldest first, and why others cannot."""

    pool: list[int] = field(default_factory=list)
    aside: dict[str, list[int]] = field(default_factory=dict)


@dataclass
class Credits:
    """What awards are worth, by show, and what they are credited with."""

    worth: dict[int, int] = field(default_factory=dict)
    shows: dict[tuple[date, str], list[int]] = field(default_factory=dict)
    credited: list[tuple[int, int]] = field(default_factory=list)
    aside: dict[str, list[int]] = field(default_factory=dict)


class Record:
    """What is known of the dog on a day, and what several titles would each work out again."""

    def __init__(self, dog: Dog, today: date) -> None:
        self.dog = dog
        self.held = dict(dog.titles or {})  # titles that are found earned are added
        self.awards: Sequence[Award] = dog.awards or ()
        self.today = today
        self.order: dict[Body, list[int]] = {}  # the awards of each body, oldest first
        self.days: dict[Body, set[date]] = {}
        for place in sorted(range(len(self.awards)), key=lambda place: self.awards[place].day):
            award = self.awards[place]
            self.order.setdefault(award.body, []).append(place)
            self.days.setdefault(award.body, set()).add(award.day)
        self.others: dict[Body, tuple[int, ...]] = {}  # for a body the awards of all others
        self.screened: dict[object, Screened] = {}
        self.credits: dict[object, Credits] = {}

    def foreign(self, body: Body) -> tuple[int, ...]:
        """Return the awards that other bodies gave."""
        if body not in self.others:
            of_others = [of for other, of in self.order.items() if other != body]
            self.others[body] = tuple(sorted(chain.from_iterable(of_others)))
        return self.others[body]
