"""What the loader refuses, and how it says so: file, entry, reason, all in one run."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from ringside.knowledge.loader import MOST_IN_A_PHASE, KnowledgeError, load, load_whole
from tests.support import ROOT

SHIPPED = ROOT / "ringside" / "knowledge"
SINGLE_FILES = ["stations.toml", "sources.toml", "gate.toml", "microchip.toml"]
FILES = [
    *SINGLE_FILES,
    "breeds/pug.toml",
    "cues/head.toml",
    "glossary/head.toml",
    "regulations/kc/bars.toml",
]

BREED = """
name = "Otter Hound of the Moor"
examined_on = "ground"
examined_on_source = "common practice"
short_faced = false
build = "square"

[[standard]]
id = "fci"
of = "FCI"
body = "Fédération Cynologique Internationale"
title = "Breed standard"
checked = 2026-01-01

[[standard]]
id = "akc"
of = "AKC"
body = "American Kennel Club"
title = "Breed standard"
checked = 2026-01-01

[[ask]]
point = "head"
standard = "akc"
weight = "preferred"
says = "Broad, not coarse."

[[ask]]
point = "size"
standard = "fci"
weight = "required"
says = "Dogs stand 50 to 60 cm."
number = { what = "height at withers", low = 50, high = 60, unit = "cm", sex = "dog" }
"""
STATION = """
[[station]]
id = "tenth"
phase = "exam"
name = "Tenth"
looks = "One thing more."
source = "common practice"
"""
CUE = """
[[cue]]
id = "another"
station = "head"
headline = "One thing more"
do = "Stand still."
avoid = "Running away."
why = "The judge looks."
source = "common practice"
"""
CAUTION = """
[[caution]]
id = "careful"
station = "head"
risk = "table"
text = "One hand on the dog."
source = "common practice"
"""
SOURCE = """
[[source]]
id = "a-book"
body = "A society"
title = "A book"
checked = 2026-01-01
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped files, with few breeds, free to spoil."""
    copied = tmp_path / "knowledge"
    left_out = shutil.ignore_patterns("*.py", "__pycache__", "breeds")
    shutil.copytree(SHIPPED, copied, ignore=left_out)
    (copied / "breeds").mkdir()
    for breed in ("pug.toml", "samoyed.toml"):
        shutil.copy2(SHIPPED / "breeds" / breed, copied / "breeds")
    return copied


def append(path: Path, text: str) -> None:
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")


def refused(folder: Path) -> list[str]:
    with pytest.raises(KnowledgeError) as error:
        load_whole(folder)
    assert str(error.value) == "\n".join(error.value.problems)
    return error.value.problems


def without(text: str, key: str) -> str:
    """`text` without the last line that gives `key`."""
    found = [*re.finditer(rf"^{key} = .*\n", text, re.MULTILINE)][-1]
    return text[: found.start()] + text[found.end() :]


def spoil(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


# --- what is accepted


def test_the_copy_and_the_additions_are_sound_before_they_are_spoilt(folder: Path) -> None:
    append(folder / "cues" / "head.toml", CUE + CAUTION)
    append(folder / "sources.toml", SOURCE)
    append(folder / "stations.toml", spoil(STATION, '"exam"', '"movement"'))
    (folder / "breeds" / "otter-hound.toml").write_text(BREED, encoding="utf-8")
    known = load_whole(folder)
    assert set(known.breeds) == {"otter-hound", "pug", "samoyed"}
    assert "a-book" in known.sources
    assert "tenth" in known.stations


def test_the_shipped_files_load() -> None:
    known = load_whole()
    assert len(known.breeds) == len([*(SHIPPED / "breeds").glob("*.toml")])
    assert known.phases
    assert known.stations
    assert known.cues
    assert known.cautions


def test_files_other_than_toml_are_let_alone(folder: Path) -> None:
    (folder / "breeds" / "notes.txt").write_text("not knowledge", encoding="utf-8")
    assert set(load(folder).breeds) == {"pug", "samoyed"}


def test_the_digest_changes_with_any_file_and_only_then(folder: Path) -> None:
    digests = [load(folder).digest, load(folder).digest]
    assert digests[0] == digests[1]
    for name in FILES:
        append(folder / name, "\n# a remark\n")
        digests.append(load(folder).digest)
    (folder / "breeds" / "samoyed.toml").rename(folder / "breeds" / "samoyede.toml")
    digests.append(load(folder).digest)
    assert len(set(digests)) == len(digests) - 1


# --- one problem each: the file, the entry, the reason

NO_SOURCE = "source 'hearsay' is not in sources.toml; name one that is"

IN_CUES = {
    "a cue without provenance": (
        without(CUE, "source"),
        r"cues/head\.toml: cue, number \d+ \(another\), source: is missing",
    ),
    "a caution without provenance": (
        without(CAUTION, "source"),
        r"cues/head\.toml: caution, number \d+ \(careful\), source: is missing",
    ),
    "a cue whose source is missing": (
        spoil(CUE, "common practice", "hearsay"),
        rf"cues/head\.toml: cue another: {NO_SOURCE}",
    ),
    "a caution whose source is missing": (
        spoil(CAUTION, "common practice", "hearsay"),
        rf"cues/head\.toml: caution careful: {NO_SOURCE}",
    ),
    "a cue at an unknown station": (
        spoil(CUE, '"head"', '"nostril"'),
        r"cues/head\.toml: cue another: there is no station 'nostril'",
    ),
    "a caution at an unknown station": (
        spoil(CAUTION, '"head"', '"nostril"'),
        r"cues/head\.toml: caution careful: there is no station 'nostril'",
    ),
    "an unknown key": (
        CUE + 'colour = "red"\n',
        r"cues/head\.toml: cue, number \d+ \(another\), colour: is not a key we know",
    ),
    "an unknown condition": (
        CUE + "applies = { surface = ['grass'] }\n",
        r"cues/head\.toml: cue, number \d+ \(another\), applies, surface, .*'table', 'ground'",
    ),
    "an unknown risk": (
        spoil(CAUTION, '"table"', '"boredom"'),
        r"cues/head\.toml: caution, number \d+ \(careful\), risk: .*'airway'",
    ),
    "a cue that tells nothing to avoid": (
        without(CUE, "avoid"),
        r"cues/head\.toml: cue, number \d+ \(another\), avoid: is missing",
    ),
    "a headline of six words": (
        spoil(CUE, "One thing more", "One two three four five six"),
        r"cues/head\.toml: cue, number \d+ \(another\): .*more than five words",
    ),
    "a headline of 31 characters": (
        spoil(CUE, "One thing more", "Overlong " + "x" * 22),
        r"cues/head\.toml: cue, number \d+ \(another\), headline: .*at most 30 characters",
    ),
    "a cue's id used twice": (CUE + CUE, r"cues/head\.toml: cue another: the id is used twice"),
    "a caution's id used twice": (
        CAUTION + CAUTION,
        r"cues/head\.toml: caution careful: the id is used twice",
    ),
}
IN_STATIONS = {
    "a tenth station in a phase": (
        STATION,
        rf"stations\.toml: phase exam: {MOST_IN_A_PHASE + 1} stations; "
        rf"at most {MOST_IN_A_PHASE} fit",
    ),
    "a station in an unknown phase": (
        spoil(STATION, '"exam"', '"interval"'),
        r"stations\.toml: station tenth: there is no phase 'interval'",
    ),
    "a station without provenance": (
        without(STATION, "source"),
        r"stations\.toml: station, number \d+ \(tenth\), source: is missing",
    ),
    "a station whose source is missing": (
        spoil(spoil(STATION, '"exam"', '"movement"'), "common practice", "hearsay"),
        rf"stations\.toml: station tenth: {NO_SOURCE}",
    ),
    "a station's id used twice": (
        spoil(STATION, '"tenth"', '"head"'),
        r"stations\.toml: station head: the id is used twice",
    ),
    "a station with an unknown point": (
        STATION + 'points = ["whiskers"]\n',
        r"stations\.toml: station, number \d+ \(tenth\), points, number 1: .*'outline'",
    ),
}
IN_SOURCES = {
    "a source's id used twice": (
        SOURCE + SOURCE,
        r"sources\.toml: source a-book: the id is used twice",
    ),
    "a source without a body": (
        without(SOURCE, "body"),
        r"sources\.toml: source, number \d+ \(a-book\), body: is missing",
    ),
    "a source never checked": (
        without(SOURCE, "checked"),
        r"sources\.toml: source, number \d+ \(a-book\), checked: is missing",
    ),
    "a date that is none": (
        SOURCE + 'date = "spring 2020"\n',
        r"sources\.toml: source, number \d+ \(a-book\), date: ",
    ),
    "an address without https": (
        SOURCE + 'address = "http://a.example"\n',
        r"sources\.toml: source, number \d+ \(a-book\), address: ",
    ),
}
ASK = r"breeds/otter-hound\.toml: ask, number 2 \(Dogs stand 50 to 60 cm\.\)"
IN_BREED = {
    "an ask without provenance": (without(BREED, "standard"), rf"{ASK}, standard: is missing"),
    "an ask of a standard that is not there": (
        spoil(BREED, 'standard = "fci"', 'standard = "kc"'),
        rf"{ASK}: there is no standard 'kc' in this file",
    ),
    "an ask at an unknown point": (
        spoil(BREED, '"size"', '"whiskers"'),
        rf"{ASK}, point: .*'outline'",
    ),
    "an ask of unknown weight": (
        spoil(BREED, '"required"', '"hopeless"'),
        rf"{ASK}, weight: .*'disqualifying'",
    ),
    "an unknown way to know": (
        BREED + 'read = "rumour"\n',
        rf"{ASK}, read: .*'copy', 'secondary' or 'memory'",
    ),
    "an ask with an unknown key": (BREED + 'sayz = "x"\n', rf"{ASK}, sayz: is not a key we know"),
    "a number without a unit": (
        spoil(BREED, ', unit = "cm"', ""),
        rf"{ASK}, number, unit: is missing",
    ),
    "a number without a bound": (
        spoil(BREED, "low = 50, high = 60, ", ""),
        rf"{ASK}, number: .*needs low, high or both",
    ),
    "a number with low above high": (
        spoil(BREED, "low = 50", "low = 70"),
        rf"{ASK}, number: .*low 70 is above high 60",
    ),
    "a number that is none": (
        spoil(BREED, "low = 50", 'low = "fifty"'),
        rf"{ASK}, number, low: .*number",
    ),
    "a standard's id used twice": (
        spoil(spoil(BREED, 'id = "akc"', 'id = "fci"'), 'standard = "akc"', 'standard = "fci"'),
        r"breeds/otter-hound\.toml: standard: an id is used twice",
    ),
    "a standard of an unknown body": (
        spoil(BREED, 'of = "FCI"', 'of = "XKC"'),
        r"breeds/otter-hound\.toml: standard, number 1 \(fci\), of: .*'FCI', 'AKC'",
    ),
    "a breed without a standard": (
        BREED[: BREED.index("[[standard]]")] + BREED[BREED.index("[[ask]]") :],
        r"breeds/otter-hound\.toml: standard: is missing",
    ),
    "a breed without an ask": (
        BREED[: BREED.index("[[ask]]")],
        r"breeds/otter-hound\.toml: ask: is missing",
    ),
    "a breed with an unknown key": (
        'nickname = "Moory"\n' + BREED,
        r"breeds/otter-hound\.toml: nickname: is not a key we know",
    ),
    "a breed of which nobody said where it is examined": (
        without(BREED, "examined_on_source"),
        r"breeds/otter-hound\.toml: examined_on_source: is missing",
    ),
}


def cases(of: dict[str, tuple[str, str]], name: str) -> list[object]:
    return [pytest.param(name, *case, id=why) for why, case in of.items()]


@pytest.mark.parametrize(
    ("name", "added", "problem"),
    [
        *cases(IN_CUES, "cues/head.toml"),
        *cases(IN_STATIONS, "stations.toml"),
        *cases(IN_SOURCES, "sources.toml"),
        *cases(IN_BREED, "breeds/otter-hound.toml"),
    ],
)
def test_refused_with_file_entry_and_reason(
    folder: Path, name: str, added: str, problem: str
) -> None:
    path = folder / name
    path.touch()
    append(path, added)
    problems = refused(folder)
    assert len(problems) == 1, problems
    assert re.match(problem, problems[0]), problems[0]


def test_a_refusal_for_want_of_a_source_says_what_to_do(folder: Path) -> None:
    append(folder / "cues" / "head.toml", spoil(CUE, "common practice", "hearsay"))
    assert refused(folder)[0].endswith("or write 'common practice' or 'from memory'")


# --- files that cannot be read at all


def break_toml(path: Path) -> None:
    append(path, '\n[[cue]\nid = "x"\n')


def break_encoding(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b'\n# "\xff\xfe"\n')


@pytest.mark.parametrize("spoilt", [break_toml, break_encoding])
@pytest.mark.parametrize("name", FILES)
def test_a_broken_file_is_named(folder: Path, name: str, spoilt: Callable[[Path], None]) -> None:
    spoilt(folder / name)
    (problem,) = refused(folder)
    assert problem.startswith(f"{name}: not readable as TOML: ")


def test_broken_toml_is_shown_by_line(folder: Path) -> None:
    append(folder / "breeds" / "pug.toml", '\nname = "Pug\n')
    assert re.search(r"pug\.toml: .*line \d+", refused(folder)[0])


@pytest.mark.parametrize("name", SINGLE_FILES)
def test_a_missing_file_is_named(folder: Path, name: str) -> None:
    (folder / name).unlink()
    assert refused(folder) == [f"{name}: the file is missing"]


def test_an_empty_file_lacks_what_it_must_have(folder: Path) -> None:
    (folder / "sources.toml").write_text("", encoding="utf-8")
    assert refused(folder) == ["sources.toml: source: is missing; every entry must have it"]


# --- all in one run


def test_every_misshapen_entry_of_every_file_is_told_in_one_run(folder: Path) -> None:
    append(folder / "cues" / "head.toml", without(CUE, "source") + without(CAUTION, "text"))
    append(folder / "stations.toml", without(STATION, "looks"))
    (folder / "sources.toml").unlink()
    break_toml(folder / "breeds" / "pug.toml")
    spoilt = spoil(spoil(BREED, ', unit = "cm"', ""), '"size"', '"whiskers"')
    (folder / "breeds" / "otter-hound.toml").write_text(spoilt, encoding="utf-8")
    told = [": ".join(problem.split(": ")[:2]) for problem in refused(folder)]
    assert [re.sub(r", number \d+ \(.*\)", "", one) for one in told] == [
        "stations.toml: station, looks",
        "cues/head.toml: cue, source",
        "cues/head.toml: caution, text",
        "sources.toml: the file is missing",
        "breeds/otter-hound.toml: ask, point",
        "breeds/otter-hound.toml: ask, number, unit",
        "breeds/pug.toml: not readable as TOML",
    ]


def test_everything_that_does_not_fit_together_is_told_in_one_run(folder: Path) -> None:
    wrong_cue = spoil(spoil(CUE, '"head"', '"nostril"'), "common practice", "hearsay")
    append(folder / "cues" / "head.toml", wrong_cue + CAUTION + CAUTION)
    append(folder / "stations.toml", STATION)
    spoilt = spoil(BREED, 'standard = "fci"', 'standard = "kc"')
    (folder / "breeds" / "otter-hound.toml").write_text(spoilt, encoding="utf-8")
    told = [": ".join(problem.split(": ")[:2]) for problem in refused(folder)]
    assert sorted(told) == [
        "breeds/otter-hound.toml: ask, number 2 (Dogs stand 50 to 60 cm.)",
        "cues/head.toml: caution careful",
        "cues/head.toml: cue another",
        "cues/head.toml: cue another",
        "stations.toml: phase exam",
    ]


def test_no_file_but_a_breeds_has_more_than_400_lines() -> None:
    files = [path for path in SHIPPED.rglob("*.toml") if path.parent.name != "breeds"]
    files += SHIPPED.rglob("*.py")
    assert len(files) > 50
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    assert {path: count for path, count in lines.items() if count > 400} == {}
