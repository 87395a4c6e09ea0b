"""Microchip numbers: the published examples, and country codes written apart from the table."""

from __future__ import annotations

from pathlib import Path

import pytest

from ringside.domain.microchip import check, load_codes, shipped_codes, tidy_registration
from ringside.knowledge.reading import KnowledgeError

# Examples of the facts: number, whether its shape holds, and the problem told.
EXAMPLES = [
    ("968000004531234", True, ""),
    ("040098100111917", True, ""),
    ("276098102345678", True, ""),
    ("96800000453123", False, "length"),
    ("9680000045312345", False, "length"),
    ("96800000453123A", False, "letters"),
    ("276999999999999", False, "number"),
    ("000000000000000", False, "code"),
]
# ISO 3166-1 numeric codes, from memory of the standard and from the dossier.
COUNTRIES = {
    "040": "Austria", "056": "Belgium", "203": "Czechia", "250": "France", "276": "Germany",
    "380": "Italy", "528": "Netherlands", "620": "Portugal", "724": "Spain", "756": "Switzerland",
    "826": "United Kingdom", "036": "Australia", "124": "Canada", "372": "Ireland",
    "554": "New Zealand", "616": "Poland", "752": "Sweden", "578": "Norway", "246": "Finland",
    "208": "Denmark", "348": "Hungary", "642": "Romania", "643": "Russian Federation",
    "804": "Ukraine", "840": "United States", "392": "Japan", "710": "South Africa",
    "076": "Brazil",
    "032": "Argentina", "484": "Mexico", "156": "China", "356": "India", "004": "Afghanistan",
    "894": "Zambia", "728": "South Sudan", "729": "Sudan", "688": "Serbia", "499": "Montenegro",
    "705": "Slovenia", "703": "Slovakia", "191": "Croatia", "100": "Bulgaria", "300": "Greece",
    "792": "Türkiye", "807": "North Macedonia", "233": "Estonia", "428": "Latvia",
    "440": "Lithuania", "352": "Iceland", "442": "Luxembourg", "470": "Malta", "196": "Cyprus",
}  # fmt: skip
# Codes that ISO has withdrawn (former states, reunited or divided) or never gave.
NO_COUNTRIES = ["000", "001", "200", "278", "280", "720", "736", "810", "886", "890", "891", "899"]
MAKERS = {"956": "Trovan", "958": "Pet ID", "968": "AEG", "972": "Planet ID", "981": "Datamars"}


@pytest.mark.parametrize(("number", "fine", "problem"), EXAMPLES)
def test_published_examples(number: str, fine: bool, problem: str) -> None:
    chip = check(number)
    assert (chip.fine, chip.problem) == (fine, problem)
    assert chip.digits == number
    assert chip.message


@pytest.mark.parametrize(("code", "name"), COUNTRIES.items())
def test_country_codes(code: str, name: str) -> None:
    chip = check(f"{code}098100111917")
    assert (chip.fine, chip.country, chip.maker) == (True, name, "")


@pytest.mark.parametrize("code", NO_COUNTRIES)
def test_codes_of_no_country(code: str) -> None:
    chip = check(f"{code}098100111917")
    assert (chip.fine, chip.problem) == (False, "code")
    assert chip.message == f"It begins with {code}, which is not a country code (ISO 3166-1)."


def test_all_assigned_codes_are_there() -> None:
    assert len(shipped_codes().country) == 249
    assert len(set(shipped_codes().country.values())) == 249


def test_makers() -> None:
    for code, name in MAKERS.items():
        chip = check(f"{code}000004531234")
        assert (chip.fine, chip.maker, chip.country) == (True, name, "")
    unknown = check("985112003456789")
    assert (unknown.fine, unknown.maker) == (True, "")
    assert check("900108001234567").message == (
        "Looks right: code 900, which several makers share."
    )
    tests = check("999000000000001")
    assert (tests.fine, tests.problem) == (False, "test")


def test_the_number_must_fit_into_38_bits() -> None:
    assert 2**38 - 1 == 274877906943
    assert check("276274877906943").fine
    assert not check("276274877906944").fine


@pytest.mark.parametrize(
    "typed",
    [
        " 276 098 102 345 678 ",
        "276-098-102-345-678",
        "276.098.102.345.678",
        "276\u2013098\u2013102\u2013345\u2013678",
        "276\u00a0098\u00a0102345678",
        "\uff12\uff17\uff16098102345678",
        "276/098102345678\n",
    ],
)
def test_spaces_and_dashes_do_not_matter(typed: str) -> None:
    chip = check(typed)
    assert chip.fine
    assert chip.digits == "276098102345678"
    assert chip.grouped == "276 098 102 345 678"


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("", "No number was typed."),
        (" - ", "No number was typed."),
        ("1", "This has 1 digit; an ISO number has 15 (14 missing)."),
        ("96800000453123", "This has 14 digits; an ISO number has 15 (1 missing)."),
        ("9680000045312345", "This has 16 digits; an ISO number has 15 (1 too many)."),
        ("96800000453123a", "Use digits only; this has a letter: A."),
        ("9680000O45312E4", "Use digits only; this has: E, O."),
        ("96800000453123?", "Use digits only; this has: ?."),
        ("27609810234567\u0664", "Use digits only; this has: \u0664."),
        (
            "276999999999999",
            "After 276 comes 999999999999; the highest possible is 274877906943.",
        ),
        ("999000000000001", "999 marks chips made for tests; no animal has such a number."),
        ("276098102345678", "Looks right: Germany (276)."),
        ("968000004531234", "Looks right: maker AEG (968)."),
        ("985112003456789", "Looks right: code 985 of a maker we cannot name."),
    ],
)
def test_messages_say_what_is_wrong(typed: str, message: str) -> None:
    assert check(typed).message == message


def test_registration_numbers_are_only_trimmed() -> None:
    assert tidy_registration("  AB 12/34-c ") == "AB 12/34-c"


def test_a_wrong_table_is_refused(tmp_path: Path) -> None:
    shipped = Path(load_codes.__code__.co_filename).parents[1] / "knowledge" / "microchip.toml"
    text = shipped.read_text(encoding="utf-8")
    target = tmp_path / "microchip.toml"
    for wrong, reason in (
        (text.replace('276 = "Germany"', '901 = "Germany"'), "country 901 (Germany) lies outside"),
        (text.replace('968 = "AEG"', '999 = "AEG"'), "maker 999 (AEG) lies outside"),
        (text.replace('276 = "Germany"', '27 = "Germany"'), "27"),
        (text.replace('country_source = "iso-3166-1"', 'country_source = "x"'), "source 'x'"),
        (text + '276 = "Elsewhere"\n', "not readable as TOML"),
    ):
        assert wrong != text
        target.write_text(wrong, encoding="utf-8")
        with pytest.raises(KnowledgeError, match=r"^microchip\.toml: ") as caught:
            load_codes(tmp_path)
        assert reason in str(caught.value)
    target.unlink()
    with pytest.raises(KnowledgeError, match="the file is missing"):
        load_codes(tmp_path)
