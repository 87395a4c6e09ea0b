"""Which facts of an award are asked of a person: those that its body's titles and classes are
counted from, besides what each award has: the day, the judge, the class.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ringside.knowledge.regulation_schema import Regulation
from ringside.knowledge.schema import Body
from ringside.knowledge.title_schema import Route, Scheme
from ringside.knowledge.titles import TitleBook

# The fields of an award (book/kinds) in the order of the form.
FACTS = ("points", "competing", "champions", "country", "judge_country", "level")


def asked(titles: TitleBook, regulations: Mapping[str, Regulation]) -> dict[Body, list[str]]:
    """Return {body: those of FACTS that are asked of its awards}."""
    used: dict[Body, set[str]] = {body: set() for body in titles.kinds}
    for title in titles.titles.values():
        for route in title.title.route:
            used[title.body] |= {*_of_route(route, title.schemes)}
    for regulation in regulations.values():
        used.setdefault(regulation.body, set()).update(_of_classes(regulation))
    return {body: [fact for fact in FACTS if fact in facts] for body, facts in used.items()}


def _of_route(route: Route, schemes: Mapping[str, Scheme]) -> Iterator[str]:
    if route.countries:
        yield "country"
    if route.judge_countries:
        yield "judge_country"
    if route.champions:
        yield "champions"
    if any(one.show_kinds for one in route.awards) or any(one.show_kinds for one in route.minimum):
        yield "level"
    if route.points:
        yield "points"  # as they were told, they go before any table
        yield from _of_scheme(schemes[route.points.scheme])


def _of_scheme(scheme: Scheme) -> Iterator[str]:
    by_number = any(row.competing_from or row.competing_to for row in scheme.row)
    if scheme.yearly or scheme.base is not None or by_number:
        yield "competing"
    if any(row.show_kinds for row in scheme.row):
        yield "level"


def _of_classes(regulation: Regulation) -> Iterator[str]:
    for klass in regulation.classes:
        for condition in klass.condition:
            if any(tally.kinds or tally.ccs for tally in condition.tally):
                yield "level"
