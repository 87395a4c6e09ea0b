"""A body as one of its member bodies words it: where that settles what the body leaves open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ringside.knowledge.regulation_schema import Bound, Regulation, ShowClass, Variant


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
    told = {"clause": variant.clause, "edition": variant.edition, "read": variant.read}
    settled: dict[str, object] = {}
    if klass.high and klass.id in variant.upper:
        settled["high"] = klass.high.model_copy(update={"inclusive": variant.upper[klass.id]})
    if klass.id in variant.lower:
        settled["low"] = Bound(age=variant.lower[klass.id], unit="months", inclusive=True)
        # What the class asked of the country is now known.
        others = [one for one in klass.condition if one.question != "country_admits_age"]
        settled["condition"] = tuple(others)
    if not settled:
        return klass
    memory = tuple(key for key in klass.memory if key not in settled)
    return klass.model_copy(update=settled | told | {"memory": memory})
