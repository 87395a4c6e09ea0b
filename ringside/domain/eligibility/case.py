"""One dog before one body, and the tracks: answers to a question about a class, from a day on."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from ringside.domain.dog import Dog
from ringside.domain.eligibility.ages import Stage
from ringside.domain.eligibility.editions import edition
from ringside.domain.eligibility.shapes import Misfit, Show
from ringside.domain.eligibility.wins import Won, wins_of
from ringside.knowledge.regulation_schema import Bar, Fact, Kind, Outcome, Question, Regulation
from ringside.knowledge.schema import Read


class Answer(NamedTuple):
    """What holds for a while; `says` is a clause that "only if" can precede where it is an if."""

    state: Outcome
    says: str
    fact: Fact
    name: str  # see Ruling.fact
    read: Read
    readings: tuple[str, ...] = ()
    instead: str | None = None
    age: Misfit = ""


Track = list[tuple[date, Answer]]


def at(track: Track, day: date) -> Answer:
    """Return what a track answers on a day."""
    found = track[0][1]
    for start, answer in track:
        if start > day:
            break
        found = answer
    return found


class Record:
    """A dog, and what several bodies would each work out again."""

    def __init__(self, dog: Dog) -> None:
        self.dog = dog
        self.ages: dict[Any, list[Stage]] = {}

    @cached_property
    def born(self) -> date:
        """The day of whelping. Raises ValueError where it is not known."""
        if self.dog.born is None:
            raise ValueError("Classes go by age: enter the dog's date of birth.")
        return self.dog.born

    @cached_property
    def wins(self) -> list[Won] | None:
        """What was won, as far as it bars; None where nobody has said."""
        return None if self.dog.awards is None else wins_of(self.dog.awards)


@dataclass
class Case:
    """One dog before one body, at a show where one is given, with what was already worked out."""

    regulation: Regulation
    record: Record
    show: Show | None = None
    labels: dict[str | None, str] = field(default_factory=dict)

    @property
    def dog(self) -> Dog:
        """The dog itself."""
        return self.record.dog

    @property
    def born(self) -> date:
        """The day of whelping. Raises ValueError where it is not known."""
        return self.record.born

    @property
    def felt(self) -> tuple[str, date] | None:
        """What was felt of the testes, and when; what no one knows when is not counted."""
        testes = self.dog.testes
        return (testes.state, testes.on) if testes and testes.on else None

    @property
    def kinds(self) -> frozenset[Kind] | None:
        """What kinds of show it is, where that is known."""
        return self.show.kinds if self.show else None

    @cached_property
    def hits(self) -> list[Bar]:
        """The bars that mean something for this dog."""
        return [bar for bar in self.regulation.bar if bar.verdict != "may" and self.is_hit(bar)]

    def is_hit(self, bar: Bar) -> bool:
        """Tell whether a bar holds for this dog."""
        dog = self.dog
        if bar.question is None or (bar.sex and dog.sex and bar.sex != dog.sex):
            return False
        if bar.question == "testes":
            return self.felt is not None and self.felt[0] != "both" and not dog.neutered
        return self.reply(bar.question) is bar.when

    def reply(self, question: Question) -> bool | None:
        """Return yes, no or None for a question about the dog."""
        dog = self.dog
        if question == "neutered":
            return dog.neutered
        if question == "registered":
            return dog.registered.get(self.regulation.body)
        if (
            question == "never_first"
            and dog.awards is not None
            and not any(award.kind == "class-first" for award in dog.awards)
        ):
            return True
        return dog.answers.get(question)

    def label(self, fact: Fact) -> str:
        """Return the edition that a fact was read in."""
        if fact.edition not in self.labels:
            self.labels[fact.edition] = edition(self.regulation, fact)
        return self.labels[fact.edition]
