"""A body as one of its member bodies words it: where that settles what the body leaves open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ringside.knowledge.regulation_schema import Regulation, ShowClass, Variant


def members(regulations: Mapping[str, Regulation]) -> Iterator[tuple[str, str, Regulation]]:
    """Yield (key, key of the body, regulation) for each member body, as ("fci-se", "fci", ...).

    The regulation holds all classes of the body; those that the member words are the member's.
    """
    for body, regulation in regulations.items():
        for variant in regulation.variant:
            yield f"{body}-{variant.id}", body, _worded(regulation, variant)


def _worded(regulation: Regulation, variant: Variant) -> Regulation:
    classes = tuple(_class(klass, variant) for klass in regulation.classes)
    name = f"{regulation.body}, in {variant.where}"
    return regulation.model_copy(update={"name": name, "classes": classes})


def _class(klass: ShowClass, variant: Variant) -> ShowClass:
    if klass.high is None or klass.id not in variant.upper:
        return klass
    high = klass.high.model_copy(update={"inclusive": variant.upper[klass.id]})
    told = {"clause": variant.clause, "edition": variant.edition, "read": variant.read}
    return klass.model_copy(update={"high": high, **told, "memory": ()})
