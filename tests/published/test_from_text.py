"""The script that reads facts from a standard's text, on an invented one."""

from __future__ import annotations

from tests.published.fci.from_text import Row, differences, facts
from tests.published.fci.matters import matter, without_ask

TEXT = """
FCI-Standard N° 999
### FEN HOUND

FCI-St. N° 999 / 01.02.2020
DATE OF PUBLICATION OF THE OFFICIAL VALID
### STANDARD: 3.01.2020.
FCI-CLASSIFICATION: Group
Scent hounds and related breeds.
GENERAL APPEARANCE: A hound for wet ground, about 90 years old.

### SIZE AND WEIGHT:
Height at the withers: Males: 58 – 62 cm (23-24 ins).
Females: 54,5 – 58 cm.
Tolerance of 2 cm more or less.
Weight: about 25 kg for males. 21 to 23 kg for females.

### FAULTS:
•
Ears short.

### DISQUALIFYING FAULTS:
•
Aggressive or overly shy dogs.
•
Any dog clearly showing physical
or behavioural abnormalities.
•
Overshot or undershot
mouth.
•
Light yellow eyes.

### N.B.:
•
Male animals should have two apparently normal testicles.
"""


def test_a_text_is_read() -> None:
    found = facts("fen_hound", TEXT)
    assert (found.number, found.date, found.group) == (999, "2020-01-03", 6)
    assert found.size == [
        Row("cm", 58, 62, "dog", off=2),
        Row("cm", 54.5, 58, "bitch", off=2),
        Row("kg", 25, 25, "dog", about=True),
        Row("kg", 21, 23, "bitch"),
    ]
    assert found.out == ["temperament", "abnormal", "bite", "eyes"]
    assert found.unsure == []


def test_a_condition_and_what_is_not_understood_are_for_a_reader() -> None:
    text = TEXT.replace("more or less", "for exceptional dogs").replace("Light yellow eyes", "Odd")
    found = facts("fen_hound", text)
    assert found.size[0].only
    assert found.out[-1] == "?"
    assert len(found.unsure) == 2


def test_a_row_that_differs_is_told_unless_a_reader_set_it() -> None:
    found = facts("fen_hound", TEXT)
    size = [
        {"sex": "dog", "low": 58, "high": 62, "unit": "cm", "under": 2, "over": 2},
        {"sex": "bitch", "low": 54.5, "high": 58, "unit": "cm", "under": 2, "over": 2},
        {"sex": "dog", "low": 25, "high": 25, "unit": "kg", "about": True},
        {"sex": "bitch", "low": 21, "high": 23, "unit": "kg"},
    ]
    fact = {"date": "2020-01-03", "group": 6, "size": size, "out": found.out}
    assert list(differences(found, fact)) == []
    assert len(list(differences(found, {**fact, "group": 5, "size": size[:3]}))) == 2
    assert list(differences(found, {**fact, "group": 5, "eye": ["group"]})) == []


def test_a_point_is_about_what_it_names_first() -> None:
    assert matter("Blue eyes in a brown dog") == "eyes"
    assert matter("Brown or white coat colour") == "colour"
    assert matter("Lack of breed type") == "type"


def test_each_point_wants_an_ask_of_its_own() -> None:
    asks = ["bite: Undershot, or a tooth missing.", "tail: Kinked tail."]
    assert without_ask(["bite", "tail"], asks) == []
    assert without_ask(["bite", "teeth"], asks) == ["teeth"]
    assert without_ask(["teeth", "tail", "tail"], asks) == ["tail"]
