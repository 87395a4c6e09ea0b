"""Heat: what is told names its source, defers to the vet, reassures nobody and claims no limit that
nobody has published."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from ringside.domain.heat import heat_book
from ringside.knowledge import Knowledge
from ringside.knowledge.schema import COMMON_PRACTICE
from tests.known import shipped
from tests.support import ROOT
from tests.visible import texts_of

# What is never claimed (shared words of the trade's papers know none of it).
NEVER = {
    "a safe temperature or time": r"\bsafe(?:ly|r|st)?\b|\bsafety\b|\bharmless\b|\bno danger\b",
    "minutes that remain": r"\bminutes?\s+(?:left|remain\w*|to go)\b|\bstill have\b",
    "a body temperature": r"\bbody temperature\b|\b(?:3[6-9]|4[1-4])(?:[.,]\d)?\s*°C",
    "fit to show": r"\bfit to (?:show|go|be shown)\b|\bcan (?:go on|be shown)\b",
    "that the dog has recovered": r"\brecover\w*\b|\bout of danger\b|\bis (?:well|fine|over it)\b",
    "reassurance": r"\b(?:don't|do not) worry\b|\bno (?:risk|need)\b|\ball right\b|\bcool enough\b",
    "an index": r"\bindex\b|\bwet.bulb\b|\bscore\b|\bcategory\b",
    "a diagnosis": r"\bheat ?stroke\b|\bdiagnos\w+",
}
# The sentences that speak of it only to deny it, and the limits of bodies by their forecasts.
DENIED = (
    "No time is safe in a parked car.",
    "Nothing here says that a dog is out of danger. In doubt, call the vet.",
)


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return shipped()


def told(known: Knowledge) -> Iterator[tuple[str, str]]:
    """Every text about heat: of the knowledge, the screen and its script."""
    for part, rows in heat_book(known).items():
        if isinstance(rows, list):
            for row in rows:
                yield from (
                    (f"{part} {row['id']}", row[key]) for key in ("name", "says") if key in row
                )
    for name in ("templates/pocket/views/heat.html", "static/js/views/heat.js"):
        yield from texts_of(ROOT / name)


def test_nothing_is_claimed_that_nobody_knows(known: Knowledge) -> None:
    found = [
        f"{where}: {what}: {text}"
        for where, text in told(known)
        for what, pattern in NEVER.items()
        if text not in DENIED
        and not (where.startswith("limit ") and what == "a body temperature")
        and re.search(pattern, text, re.IGNORECASE)
    ]
    assert found == []
    texts = {text for _, text in told(known)}
    assert set(DENIED) <= texts
    assert "The dog is too hot" in texts


@pytest.mark.parametrize(
    "words",
    [
        "Below 25 °C a dog is safe.",
        "You have 10 minutes left.",
        "Stop at 39.5 °C.",
        "The dog is fit to show.",
        "The dog has recovered.",
        "Do not worry.",
        "Heat index 32",
        "This is heatstroke.",
        "You can go on.",
    ],
)
def test_a_claim_would_be_found(words: str) -> None:
    assert any(re.search(pattern, words, re.IGNORECASE) for pattern in NEVER.values())


def test_first_aid_stands_in_its_order_and_begins_with_the_vet(known: Knowledge) -> None:
    ids = [step.id for step in known.heat.aid]
    order = ["call", "cool-first", "into-water", "pour", "towels", "until", "drive"]
    assert [name for name in ids if name in order] == order
    assert known.heat.aid[0].name.endswith("Call the vet now.")
    steps = {step.id: step for step in known.heat.aid}
    assert "awake" in steps["into-water"].name
    assert "Never put a dog that is not awake into water." in steps["pour"].says
    assert "only a vet can say" in steps["until"].says
    assert "Call the vet now." in known.heat.sign[-1].says


def test_limits_and_risks_have_a_text_behind_them(known: Knowledge) -> None:
    file = known.heat
    for entry in (*file.limit, *file.risk, *file.breed, *file.car, *file.sign):
        assert entry.source in known.sources, entry.id
        assert known.sources[entry.source].date or entry.source in ("dogs-nsw-heat", "kc-hot-cars")
    assert sum(step.source == COMMON_PRACTICE for step in file.aid) == 1
    # Only breeds that the paper lists, and none that we do not know.
    assert {one.id for one in file.breed} <= known.breeds.profiles.keys()
    assert len(file.breed) == 9


def test_a_risk_is_about_the_dogs_that_its_sentence_names(known: Knowledge) -> None:
    about = {
        risk["id"]: {
            key: risk[key] for key in ("short_faced", "over_years", "over_kg") if key in risk
        }
        for risk in heat_book(known)["risk"]
    }
    assert {key: of for key, of in about.items() if of} == {
        "short-face": {"short_faced": True},
        "short-face-death": {"short_faced": True},
        "over-two": {"over_years": 2},
        "heavy": {"over_kg": 50},
    }
    says = {risk.id: risk.says for risk in known.heat.risk}
    assert "over two years" in says["over-two"]
    assert "over 50 kg" in says["heavy"]


def test_a_parked_car_is_told_as_a_rise(known: Knowledge) -> None:
    rises = {int(one.id): one.rise for one in known.heat.car}
    assert list(rises) == [5, 10, 15, 20, 30, 60]
    assert list(rises.values()) == sorted(rises.values())
    # Within the scatter of the runs of what the curve through them gives.
    for minutes, rise in rises.items():
        assert abs(24.3 * (1 - 2.718281828 ** (-minutes / 19.5)) - rise) < 2.9
