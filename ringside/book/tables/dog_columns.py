"""The columns of a dog: what its fields are called in tables, and how their cells are read."""

from __future__ import annotations

from ringside.book.tables.cells import Reading, body, country, flag, number, one_of
from ringside.book.tables.columns import Column, Columns
from ringside.book.tables.days import believed
from ringside.domain.bounds import day_problem


def breed(cell: str, reading: Reading) -> str:
    """Return the breed's id, or the breed as it was written: the app takes any."""
    found = reading.meant("breed", cell)
    return next(iter(found)) if len(found) == 1 else cell


def _day(cell: str, reading: Reading) -> str:
    """Return a day of a dog's life as YYYY-MM-DD."""
    return believed(cell, reading, day_problem)


_flag = flag(yes="neutered|spayed|castrated", no="entire|intact")

COLUMNS = (
    Column(
        "name", "Call name", "The name you call the dog. A new dog needs it.",
        "Example Biscuit", ("Name", "Dog's name", "Dog name", "Pet name", "House name"),
    ),
    Column(
        "pedigree", "Registered name", "As on the pedigree.", "Nowhere Example Biscuit",
        ("Pedigree name", "Full name", "Official name", "Show name", "Reg name"),
    ),
    Column(
        "breed", "Breed",
        "Any of its names, such as Border Terrier. A breed we do not know is saved as you wrote it "
        "and gets the general card. A new dog needs it.",
        "Whippet", ("Breed name",), breed,
    ),
    Column(
        "variety", "Variety", "A size or coat that is judged separately, named as in the app.", "",
        ("Breed variety", "Coat variety", "Size variety"),
    ),
    Column(
        "sex", "Sex", "Dog or bitch; male, female, m and f will do. A new dog needs it.", "bitch",
        ("Gender",), one_of(dog="male|m|d", bitch="female|f|b"),
    ),
    Column(
        "born", "Date of birth",
        "2024-03-14 or 14 March 2024. For dates such as 03/04/2024 we ask once whether the day or "
        "the month comes first. A new dog needs it.", "2024-03-14",
        ("DOB", "D.O.B.", "Birth date", "Birthdate", "Birthday", "Born on", "Whelped",
         "Whelped on", "Date whelped", "Whelping date"), _day, is_day=True,
    ),
    Column(
        "microchip", "Microchip",
        "Its digits. Put spaces between them, or format the column as text, so that the "
        "spreadsheet does not cut them.", "999 000 000 012 345",
        ("Chip", "Microchip number", "Microchip no", "Chip number", "Chip no", "Chip ID",
         "Microchip ID", "Transponder"), number,
    ),
    Column(
        "registration", "Registration number", "As the registry writes it.", "EXAMPLE 0001",
        ("Registration no", "Reg no", "Reg number", "Reg", "Stud book number", "Studbook number"),
        number,
    ),
    Column(
        "neutered", "Neutered", "Yes or no.", "no",
        ("Neutered or spayed", "Neutered/spayed", "Spayed", "Spayed/neutered", "Castrated",
         "Altered", "Desexed"), _flag,
    ),
    Column(
        "surface", "Examined on",
        "Table, ground or ramp; leave empty for what is usual in the breed.",
        "", ("Exam surface",), one_of(table="", ground="floor", ramp=""),
    ),
    Column(
        "body", "Standard to read", "FCI, AKC, KC, CKC or DA.", "KC", (),
        body,
    ),
    Column(
        "trial", "Working trial", "Yes or no: some titles need a working trial.",
        "", ("Trial passed", "Working test"), _flag,
    ),
    Column(
        "section", "Section of the register",
        "asia-pacific, australia, fss or neuter; leave empty for none of these.", "",
        ("Register section",),
        one_of(**{"asia-pacific": "", "australia": "", "fss": "", "neuter": ""}),
    ),
    Column(
        "short_faced", "Short face", "Yes or no; only for a breed we do not know.", "",
        ("Brachycephalic",), _flag,
    ),
    Column(
        "testes", "Testes", "Both, one or none.", "", ("Testes felt", "Testicles"),
        one_of(both="both down|2", one="one down|1", none="none felt|0"),
    ),
    Column(
        "testes_on", "Testes checked on", "The date.", "",
        ("Checked on", "Testes felt on", "Felt on"), _day, is_day=True,
    ),
    Column(
        "born_in", "Country of birth", "Two letters, such as GB.", "", ("Birth country",), country
    ),
)  # fmt: skip
DOG_COLUMNS = Columns("dog", COLUMNS)
