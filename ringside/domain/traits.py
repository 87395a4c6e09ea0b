"""What of a breed its cues depend on: the line of its back, coat, build, feet and size.

A size or coat that a breed's varieties have apart is known only of a dog whose variety is.
static/js/core/asks.js asks the same of the index of breeds; tests/vectors/rules/cues.json holds
the two together.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal

from ringside.domain.varieties import choices
from ringside.knowledge.schema import TRAITS, UNKNOWN, Profile

Traits = Mapping[str, str | None]


def traits(breed: Profile | None, choice: str = "") -> Traits:
    """Return {trait: value}, None where it is not known, of a dog of `breed` chosen to be `choice`
    (as `varieties.choices` has it, "" for none)."""
    if breed is None:
        return dict.fromkeys(TRAITS)
    names = choices(breed).get(choice, ())
    return {
        "topline": breed.topline,
        "coat": _of_variety(breed, names, "coat"),
        "body": breed.drawing.body if breed.drawing else None,
        "feet": breed.feet,
        "size": _of_variety(breed, names, "size"),
    }


def apart(breed: Profile) -> dict[str, dict[str, str | None]]:
    """Return {choice: {trait: value}}: what differs from the breed's own coat and size, with "" for
    a dog of which nothing was chosen; a choice that differs in nothing stands there only to tell it
    from that."""
    told = {
        choice: {
            trait: value
            for trait in ("coat", "size")
            if (value := traits(breed, choice)[trait]) != getattr(breed, trait)
        }
        for choice in ("", *choices(breed))
    }
    return {choice: differs for choice, differs in told.items() if differs or told[""]}


def suits(asked: Mapping[str, Collection[str]], of_dog: Traits) -> bool:
    """Return whether a dog has of each trait one of the values in `asked`."""
    return not asked or all(
        (of_dog.get(trait) or UNKNOWN) in values for trait, values in asked.items()
    )


def _of_variety(
    breed: Profile, names: Collection[str], trait: Literal["coat", "size"]
) -> str | None:
    """Return the trait of the chosen varieties; the breed's where none of its varieties says it,
    None where the one that would say it was not chosen."""
    telling = {variety.by for variety in breed.varieties if getattr(variety, trait)}
    chosen = [known for known in breed.varieties if known.name in names and known.by in telling]
    if telling != {known.by for known in chosen}:
        return None
    own: str | None = getattr(breed, trait)
    return next((said for known in chosen if (said := getattr(known, trait))), own)
