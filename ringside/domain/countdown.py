"""The countdown to a show: which tasks a dog has, on which days they are due, and how they stand.

static/js/core/countdown.js does the same on the phone, where a tick must tell at once;
tests/vectors/countdown.json holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal

from ringside.domain.exam import source_of
from ringside.knowledge.countdown_schema import Caution, Task, Uncut
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Body, Coat, Profile

Data = dict[str, Any]
State = Literal["open", "done", "skipped"]
UNCUT = "uncut"
# A task of one's own that comes again each day for years would fill the list: its last ones show.
MOST_TIMES = 60
# How far (days) from the show a task of one's own is believed.
FARTHEST = 3_660


@dataclass(frozen=True)
class Step:
    """A task as it is laid out: due from `begin` days before the show until `until`, which may be
    negative for the days after it; `every` so many days again, 0 for once."""

    id: str
    begin: int
    until: int
    every: int


@dataclass(frozen=True)
class Touch:
    """What a handler did to one step of one day: its state, and the day it was moved to."""

    state: State = "open"
    day: date | None = None


@dataclass(frozen=True)
class Due:
    """One thing to do: `key` names the step and, where it comes again, its days before the show."""

    key: str
    step: str
    day: date
    last: date
    state: State


def tasks_for(
    knowledge: Knowledge, coat: Coat | None, breed: str = "", body: Body | None = None
) -> tuple[Task, ...]:
    """Return the tasks of a dog with this coat (None: not known) shown under `body`.

    What is for a coat is left out where the coat is not known; what cuts, for an uncut breed.
    """
    uncut = {one.id for one in knowledge.countdown.uncut}
    return tuple(
        task
        for task in knowledge.countdown.task
        if (not task.coats or coat in task.coats)
        and (not task.breeds or breed in task.breeds)
        and (not task.bodies or body in task.bodies)
        and not (task.cuts and breed in uncut)
    )


def step_of(task: Task) -> Step:
    """Return a task of the knowledge as a step."""
    return Step(task.id, task.begin, task.until, task.every or 0)


def own_step(key: str, day: date | None, every: float | None, show: date) -> Step:
    """Return a task of the handler's own by its id. Without a day it is due at the show."""
    begin = (show - day).days if day else 0
    begin = max(-FARTHEST, min(FARTHEST, begin))
    return Step(key, begin, min(begin, 0), int(every or 0))


def laid_out(steps: Iterable[Step], touched: Mapping[str, Touch], show: date) -> list[Due]:
    """Return all that is due before a show on the day `show`, by day; `touched` is {key: touch}."""
    found = [due for step in steps for due in _times(step, touched, show)]
    return sorted(found, key=lambda due: due.day)  # as laid out where days are the same


def _times(step: Step, touched: Mapping[str, Touch], show: date) -> Iterator[Due]:
    begins = range(step.begin, step.until - 1, -step.every) if step.every else [step.begin]
    begins = begins[-MOST_TIMES:]
    for place, begin in enumerate(begins):
        ends = begins[place + 1] + 1 if place + 1 < len(begins) else step.until
        key = f"{step.id}@{begin}" if step.every else step.id
        touch = touched.get(key, Touch())
        day = touch.day or _before(show, begin)
        yield Due(key, step.id, day, max(day, _before(show, ends)), touch.state)


def _before(show: date, days: int) -> date:
    try:
        return show - timedelta(days)
    except OverflowError:  # a year typed wrong, at an end of the calendar
        return show


def countdown_book(knowledge: Knowledge) -> Data:
    """Return {"tasks", "cautions", "plans", "only", "bodies", "uncut", "sources"} for phones.

    "plans" are {coat, or "" for one not known: {"" or "uncut": ids}} of the tasks for any breed and
    body, "only" {breed: ids} and "bodies" {body: ids} those to be added, with `tasks` in the order
    of the file; "uncut" are {breed: {"says", "source"}}. `tasks_for` says the same of one dog.
    """
    file = knowledge.countdown
    coats = sorted({coat for task in file.task for coat in task.coats})
    common = [task for task in file.task if not task.breeds and not task.bodies]
    entries: list[Task | Caution] = [*file.task, *file.caution]
    named = {entry.source for entry in entries} & set(knowledge.sources)
    breeds = knowledge.breeds.profiles
    return {
        "tasks": [task.model_dump(include=TOLD, exclude_defaults=True) for task in file.task],
        "cautions": [caution.model_dump(exclude={"id"}) for caution in file.caution],
        "plans": {
            coat: {
                kind: [
                    task.id
                    for task in common
                    if (not task.coats or coat in task.coats) and not (kind and task.cuts)
                ]
                for kind in ("", UNCUT)
            }
            for coat in ("", *coats)
        },
        "only": _added(file.task, "breeds"),
        "bodies": _added(file.task, "bodies"),
        "uncut": {one.id: _told(one, breeds[one.id]) for one in file.uncut if one.id in breeds},
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }


TOLD = {"id", "name", "says", "begin", "until", "every", "coats", "leads", "source"}


def _added(tasks: Iterable[Task], field: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for task in tasks:
        for name in getattr(task, field):
            found.setdefault(name, []).append(task.id)
    return found


def _told(one: Uncut, breed: Profile) -> Data:
    texts = {text.id: text for text in breed.standard}
    source = source_of(texts[one.standard]) if one.standard else one.source
    return {"says": one.says, "source": source}
