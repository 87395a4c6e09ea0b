"""The sizes that the standards name for one dog, for the gate check and the scales."""

from __future__ import annotations

from typing import Any

from ringside.knowledge.schema import Ask, Breed, Sex

Data = dict[str, Any]

# The measures a handler can take at home, by what the breed files call them.
MEASURES = {"weight": "weight", "height at withers": "height"}


def limits(breed: Breed | None, sex: Sex | None) -> list[Data]:
    """Return the weight and height limits of all bodies for a dog of this breed and sex.

    Each is {"what", "low", "high", "unit", "of", "weight", "says", "source"}, with "read" where it
    was not read in a copy and, where no other body disqualifies by a measure, "only": true.
    Bounds and units are the standard's own; a missing bound is open. Limits of a variety are left
    out: which variety a dog is entered as is the handler's to say.
    """
    if breed is None:
        return []
    of = {standard.id: standard for standard in breed.standard}
    asks = [ask for ask in breed.ask if _is_limit(ask, sex)]
    barring = {of[ask.standard].of for ask in asks if ask.weight == "disqualifying"}
    found = []
    for ask in asks:
        number, standard = ask.number, of[ask.standard]
        assert number
        data: Data = {"what": MEASURES[number.what], "unit": number.unit}
        data |= {
            bound: getattr(number, bound)
            for bound in ("low", "high")
            if getattr(number, bound) is not None
        }
        date = f", {standard.date}" if standard.date else ""
        data |= {
            "of": standard.of,
            "weight": ask.weight,
            "says": ask.says,
            "source": f"{standard.body}: {standard.title}{date}",
        }
        if ask.read != "copy":
            data["read"] = ask.read
        if ask.weight == "disqualifying" and barring == {standard.of}:
            data["only"] = True
        found.append(data)
    return found


def _is_limit(ask: Ask, sex: Sex | None) -> bool:
    number = ask.number
    return (
        number is not None
        and number.what in MEASURES
        and not ask.variety
        and (number.sex == "both" or sex is None or number.sex == sex)
    )
