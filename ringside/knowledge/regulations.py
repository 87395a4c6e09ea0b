"""Read the regulations: shape by the schema, sense by the checks here, all problems at once.

What is known of a body stands in one file of its name, or in a folder of files.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from importlib.resources.abc import Traversable
from itertools import combinations
from types import MappingProxyType

from ringside.knowledge.reading import KnowledgeError, documents, read_document
from ringside.knowledge.regulation_schema import (
    Award,
    Bar,
    Bound,
    Fact,
    Habit,
    MonthRule,
    NamedClass,
    Overlap,
    Regulation,
    ShowClass,
)


def load_regulations(folder: Traversable) -> Mapping[str, Regulation]:
    """Load every body's regulations in `folder`, by its short name: fci, akc, kc, ckc, da.

    Raises KnowledgeError listing every problem of every file.
    """
    problems: list[str] = []
    regulations = read_regulations(folder, problems)
    if problems:
        raise KnowledgeError(problems)
    return regulations


def read_regulations(folder: Traversable, problems: list[str]) -> Mapping[str, Regulation]:
    """Do the same, but add what is wrong to `problems` and return what is left."""
    regulations: dict[str, Regulation] = {}
    for entry in documents(folder):
        document = read_document(entry, problems, f"regulations/{entry.name}")
        regulation = document.shaped(Regulation, problems) if document else None
        if document and regulation:
            problems += document.located(_checks(entry.name, regulation))
            body = entry.name.removesuffix(".toml")
            if body in regulations:
                problems.append(f"{document.name}: body: a file and a folder are of this body")
            regulations[body] = regulation
    return MappingProxyType(regulations)


def facts(regulation: Regulation) -> Iterator[tuple[str, Fact]]:
    """Return every fact of a body under the name its writer would give it."""
    yield "governs", regulation.governs
    yield "ages", regulation.ages
    yield "month_end", regulation.month_end
    yield "leap_day", regulation.leap_day
    if regulation.wins_counted:
        yield "wins_counted", regulation.wins_counted
    for variant in regulation.variant:
        yield f"variant ({variant.where})", variant
    for klass in regulation.classes:
        yield f"class {klass.id}", klass
        for condition in klass.condition:
            yield f"class {klass.id}, condition {condition.id}", condition
    for overlap in regulation.overlap:
        yield f"overlap {_names(overlap)}", overlap
    kinds: dict[str, Sequence[NamedClass | Bar | Award | Habit]] = {
        "named": regulation.named,
        "bar": regulation.bar,
        "award": regulation.award,
        "habit": regulation.habit,
    }
    for kind, items in kinds.items():
        yield from ((f"{kind} {item.id}", item) for item in items)


def _names(overlap: Overlap) -> str:
    return ", ".join(overlap.classes)


def _checks(file: str, regulation: Regulation) -> Iterator[str]:
    checks: tuple[Callable[[Regulation], Iterator[str]], ...] = (
        _repeated,
        _editions,
        _class_names,
        _month_rules,
        _overlaps,
    )
    stem, dot, ending = file.partition(".")
    if stem != regulation.body.lower():
        yield f"body: {regulation.body} belongs in {regulation.body.lower()}{dot}{ending}"
    for check in checks:
        yield from check(regulation)


def _repeated(regulation: Regulation) -> Iterator[str]:
    groups: dict[str, list[str]] = {
        "edition": [item.id for item in regulation.edition],
        "class": [item.id for item in regulation.classes] + [item.id for item in regulation.named],
        "bar": [item.id for item in regulation.bar],
        "award": [item.id for item in regulation.award],
        "habit": [item.id for item in regulation.habit],
    }
    for klass in regulation.classes:
        groups[f"class {klass.id}, condition"] = [item.id for item in klass.condition]
    for group, ids in groups.items():
        for name in sorted({name for name in ids if ids.count(name) > 1}):
            yield f"{group} {name}: the id is used twice"


def _editions(regulation: Regulation) -> Iterator[str]:
    known = {edition.id for edition in regulation.edition}
    for name, fact in facts(regulation):
        if fact.edition and fact.edition not in known:
            yield f"{name}: there is no edition {fact.edition!r} in this file"


def _class_names(regulation: Regulation) -> Iterator[str]:
    own = {klass.id for klass in regulation.classes}
    named = own | {klass.id for klass in regulation.named}
    for place, name, known in _references(regulation, own, named):
        if name not in known:
            yield f"{place}: there is no class {name!r} in this file"


def _references(
    regulation: Regulation, own: set[str], named: set[str]
) -> Iterator[tuple[str, str, set[str]]]:
    """Yield each mention of a class: where, which, and among which it must be."""
    for klass in regulation.classes:
        if klass.division_of:
            yield f"class {klass.id}, division_of", klass.division_of, own
        for condition in klass.condition:
            place = f"class {klass.id}, condition {condition.id}"
            if condition.instead:
                yield f"{place}, instead", condition.instead, own
            for tally in condition.tally:
                for name in (*tally.classes, *tally.not_classes):
                    yield f"{place}, tally", name, named
    for variant in regulation.variant:
        for name in (*variant.upper, *variant.lower):
            yield f"variant ({variant.where})", name, own
    for bar in regulation.bar:
        for exempt in bar.exempt:
            for name in exempt.classes:
                yield f"bar {bar.id}, exempt", name, own
    for overlap in regulation.overlap:
        for name in overlap.classes:
            yield f"overlap {_names(overlap)}", name, own
    for award in regulation.award:
        for name in award.classes:
            yield f"award {award.id}", name, own


def _month_rules(regulation: Regulation) -> Iterator[str]:
    rules: dict[str, MonthRule] = {
        "month_end": regulation.month_end,
        "leap_day": regulation.leap_day,
    }
    for name, rule in rules.items():
        if rule.reading != "silent" and rule.read == "memory":
            yield (
                f"{name}: a rule on the month's end from memory would decide dates; "
                'write reading = "silent" and put it in the note'
            )


def _overlaps(regulation: Regulation) -> Iterator[str]:
    classes = {klass.id: klass for klass in regulation.classes}
    for overlap in regulation.overlap:
        if overlap.allowed:
            continue
        here = [classes[name] for name in overlap.classes if name in classes]
        for first, second in combinations(here, 2):
            if not _can_meet(first, second):
                continue
            place = f"overlap {_names(overlap)}"
            if _mixed(first, second):
                yield (
                    f"{place}: {first.id} and {second.id} count in different units; "
                    "write both in months or years, or both in weeks or days"
                )
            elif _share_a_day(first, second):
                yield (
                    f"{place}: the ages of {first.id} and {second.id} overlap, "
                    "which this body does not allow"
                )


def _can_meet(first: ShowClass, second: ShowClass) -> bool:
    """Whether one dog could meet both classes at one show."""
    same_sex = first.sex is None or second.sex is None or first.sex == second.sex
    same_kind = not first.kinds or not second.kinds or bool(set(first.kinds) & set(second.kinds))
    return same_sex and same_kind


def _mixed(first: ShowClass, second: ShowClass) -> bool:
    bounds = [bound for item in (first, second) for bound in (item.low, item.high) if bound]
    return len({bound.months() is None for bound in bounds}) > 1


def _share_a_day(first: ShowClass, second: ShowClass) -> bool:
    """Whether some age is inside both for certain; a day in dispute is not."""
    return _reaches(first.low, second.high) and _reaches(second.low, first.high)


def _reaches(low: Bound | None, high: Bound | None) -> bool:
    if low is None or high is None:
        return True
    floor, ceiling = (bound.months() or bound.days() or 0 for bound in (low, high))
    touch = low.inclusive is True and high.inclusive is True
    return floor < ceiling or (floor == ceiling and touch)
