"""What the text of an FCI standard says of itself, of size and of eliminating faults.

For whoever has the texts on their disk; they never enter the project. It prints where they and the
tables beside it differ, but for what a reader has set by eye, and what the tables lack:

    python -m tests.published.fci.from_text FOLDER
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from tests.published.fci.matters import matter

GROUPS = {
    1: "sheepdogs?|sheep and cattle|chiens de berger",
    2: "pinschers? and schnauzer|schnauzer and pinscher|molossian|molossoid",
    3: "terriers?",
    4: "dachshunds?",
    5: "spitz",
    6: "scent ?hounds",
    7: "pointing dogs|pointers",
    8: "retrievers",
    9: "companion|toy dogs",
    10: "sighthounds",
}
_RUNNING_HEAD = re.compile(
    r"^\s*(?:FCI-? ?St\.|FCI-Standard .* / |St-FCI).*\d.*$", re.MULTILINE | re.IGNORECASE
)
_SIZE = re.compile(
    r"^§?(?:(?:IDEAL )?SIZES?|SIZEAND WEIGHT|HEIGHT|WEIGHT|TAILLE)\b"
    r"(?=[^a-z\n]*(?:$|:|[A-Z]| /))",
    re.MULTILINE,
)
_FAULTS = re.compile(r"^§?[^\n]{0,25}FAULTS?\b|^DEFAUTS", re.MULTILINE)
_OUT = re.compile(r"^§?[^\n]{0,20}\b(?:D[IY]S?QU?AL|ELIMINAT)[A-Z]*[^\n]*", re.MULTILINE)
_END = re.compile(r"^§?\s*N\.? ?B\b|^The latest amend|^§?[A-Z ]*(?:SCALE|MEASURE)", re.MULTILINE)
_BULLET = re.compile(r"•|^\s*[-–*◦▪](?=\s)", re.MULTILINE)

_FIGURE = r"(?:\d+ ?½|\d+(?:\.\d+)?(?: ?1/2)?)"
_UNIT = r"(?:cms?\b|centimet\w+|kgs?\b|inches|ins?\b|lbs?\b|pounds)"
_TOKEN = re.compile(
    rf"(?P<off>(?:\+ ?/? ?[-–]|±|[+-] or [+-–]|plus or minus|tolerance of|margin of"
    rf"|deviation of|allowance for)"
    rf"\s*(?:plus |minus |or |\+ ?/ ?[-–]|±)*\s*(?P<by>{_FIGURE})\s*(?:{_UNIT})?)"
    rf"|(?P<low>{_FIGURE})\s*(?:{_UNIT})?\.?\s*(?:[-–—/]|to|and)\s*"
    rf"(?P<high>{_FIGURE})\s*(?P<range_unit>{_UNIT})"
    rf"|(?P<one>{_FIGURE})\s*(?P<unit>{_UNIT})(?P<end> minimum| maximum| and upwards)?"
    rf"|\bfor (?:the |adult )*(?P<whose>males?|dogs?|females?|bitch(?:es)?)\b(?! ?:)"
    rf"|(?P<both>\b(?:dogs?|males?)(?: and |/| & )(?:bitches|females)\b|\b(?:both|either) sex\w*"
    rf"|(?<!ideal )\bweight ?:)"
    rf"|(?P<bitch>\b(?:females?|bitch(?:es)?)\b)|(?P<dog>\b(?:males?|dogs?)\b)"
    rf"|(?P<about>\babout|\bapp?ro?x?\w*|\bca\b|\bcirca\b)"
    rf"|(?P<least>\bmin\w*|\bat least|\bnot less|\bno less|\bnot be (?:under|less)|\bover\b)"
    rf"|(?P<most>\bmax\w*|\b(?:not )?exceed\w*|\bup to|\bnot more|\bno more|\bnot be over)"
    r"|(?P<if>\bexception\w*|\btypical|\bexcellent|\bquality|\boutstanding|\bperfect\w*)"
    r"|(?P<stray>\d+)",
    re.IGNORECASE,
)
_KINDS = (
    "off", "low", "one", "whose", "both", "bitch", "dog", "about", "least", "most", "if", "stray",
)  # fmt: skip
_BASE = {"c": "cm", "k": "kg", "i": "in", "l": "lb", "p": "lb"}
_METRIC = {"in": "cm", "lb": "kg"}


@dataclass(frozen=True)
class Row:
    """A height or weight: `about` where it is no limit, `off` a tolerance both ways."""

    unit: str
    low: float | None = None
    high: float | None = None
    sex: str = ""
    about: bool = False
    off: float = 0
    only: bool = False


@dataclass
class Facts:
    """What was found in one text, and what a reader has to look at."""

    file: str
    number: int = 0
    date: str = ""
    group: int = 0
    size: list[Row] = field(default_factory=list)
    out: list[str] = field(default_factory=list)
    unsure: list[str] = field(default_factory=list)


def facts(file: str, text: str) -> Facts:
    """Read the text of one standard."""
    found = Facts(file)
    lines = _lines(text)
    _head(" ".join(text.replace("#", " ").split()), found)
    found.size = list(_sizes(_size_section(lines), found.unsure))
    found.out = list(_out(lines, found.unsure))
    if not found.size:
        found.unsure.append("no size")
    if not found.out:
        found.unsure.append("no eliminating faults")
    return found


def _head(flat: str, found: Facts) -> None:
    number = re.search(r"FCI\s*-?\s*St(?:andard)?\.?\s*N\W{0,3}\s*(\d+)", flat)
    found.number = int(number[1]) if number else 0
    date = re.search(
        r"(?:VALID|OFFICIAL|ORIGINAL|VIGUEUR)(?: STANDARD)?\W{0,5}"
        r"(?:(\d{1,2})\W{1,2}(\d{1,2})\W{1,2})?(\d{4}|\d\d)\b",
        flat,
    )
    if date:
        year = date[3] if len(date[3]) == 4 else f"20{date[3]}"
        found.date = f"{year}-{int(date[2]):02}-{int(date[1]):02}" if date[1] else year
    else:
        found.unsure.append("no date")
    line = re.search(r"CLASSIFICATION\W{0,4}(?:FCI\W{0,3})?(.{0,100})", flat)
    head = line[1].casefold() if line else ""
    named = [group for group, words in GROUPS.items() if re.search(words, head.split("section")[0])]
    said = re.search(r"group\w*\W{0,4}(?:n\W{0,2})?(\d+)", head)
    found.group = int(said[1]) if said else (named[0] if len(named) == 1 else 0)
    if not found.group or (named and found.group not in named):
        found.unsure.append(f"group: {head[:60]}")


def _lines(text: str) -> str:
    text = text.replace("\u00a0", " ").replace("\uf0b7", "•")
    text = re.sub(r"^#+ *", "§", _RUNNING_HEAD.sub("", text), flags=re.MULTILINE)
    return "\n".join(line.strip() for line in text.splitlines() if line.strip())


def _size_section(lines: str) -> str:
    parts, end = [], 0
    for heading in _SIZE.finditer(lines):
        if heading.start() >= end:
            stop = _FAULTS.search(lines, heading.end())
            end = stop.start() if stop else heading.end() + 800
            parts.append(lines[heading.start() : end])
    text = re.sub(r"(\d) ?, ?(\d)", r"\1.\2", " ".join("\n".join(parts).split()))
    return text.replace("§", "")


def _sizes(section: str, unsure: list[str]) -> Iterator[Row]:
    """Yield what is said of height and weight, in metres and grams where a text has both."""
    rows: list[Row] = []
    sex, said = "", set[str]()
    for token in _TOKEN.finditer(section):
        kind = next(name for name in _KINDS if token[name])
        if kind == "whose":
            if rows and not rows[-1].sex:  # "58 to 61 cm for males"
                rows[-1] = replace(rows[-1], sex=_whose(token["whose"]))
            else:
                sex = _whose(token["whose"])
        elif kind in ("both", "bitch", "dog"):
            sex = "" if kind == "both" else kind
        elif kind in ("about", "least", "most"):
            said.add(kind)
        elif kind in ("low", "one"):
            rows.append(_row(token, sex, said))
            said.clear()
        elif kind == "off":
            rows = _widened(rows, _value(token["by"]))
        elif kind == "if":
            rows = [replace(row, only=row.off > 0) for row in rows]
            unsure.append("a tolerance or an exception with a condition")
        else:
            unsure.append(f"a figure that was not read: {token[0]}")
    have = {row.unit for row in rows}
    yield from _joined(row for row in rows if _METRIC.get(row.unit) not in have)


def _row(token: re.Match[str], sex: str, said: set[str]) -> Row:
    if token["low"]:
        low, high = _value(token["low"]), _value(token["high"])
        return Row(_unit(token["range_unit"]), low, high, sex, "about" in said)
    ends = said | {
        {" min": "least", " and": "least", " max": "most"}.get(str(token["end"])[:4], "")
    }
    value, is_open = _value(token["one"]), bool(ends & {"least", "most"})
    low_end = value if "least" in ends or not is_open else None
    high_end = value if "most" in ends or not is_open else None
    return Row(_unit(token["unit"]), low_end, high_end, sex, "about" in said or not is_open)


def _joined(rows: Iterator[Row]) -> Iterator[Row]:
    """Yield the rows, a lower and an upper limit that follow each other as one."""
    last: Row | None = None
    for row in rows:
        if last and last.high is None and row.low is None and last.unit == row.unit:
            yield replace(last, high=row.high)
            last = None
            continue
        if last:
            yield last
        last = row
    if last:
        yield last


def _widened(rows: list[Row], by: float) -> list[Row]:
    unit = rows[-1].unit if rows else ""
    return [
        replace(row, off=by, about=False) if row.unit == unit and not row.off else row
        for row in rows
    ]


def _whose(word: str) -> str:
    return "dog" if word[0] in "dDmM" else "bitch"


def _value(figure: str) -> float:
    whole = re.match(r"\d+(?:\.\d+)?", figure)
    return float(whole[0] if whole else 0) + (0.5 if "½" in figure or "1/2" in figure else 0)


def _unit(word: str) -> str:
    return _BASE[word[0].casefold()]


def _out(lines: str, unsure: list[str]) -> Iterator[str]:
    """Yield what each point of the longest list of eliminating faults is about."""
    best: list[str] = []
    for heading in _OUT.finditer(lines):
        end = _END.search(lines, heading.end())
        points = _BULLET.split(lines[heading.end() : end.start() if end else None])[1:]
        points = [" ".join(point.split()) for point in points if point.strip()]
        best = points if len(points) > len(best) else best
    for point in best:
        yield matter(point) or "?"
        if not matter(point):
            unsure.append(f"a point about what? {point[:40]}")


def differences(found: Facts, fact: Mapping[str, Any]) -> Iterator[str]:
    """Yield where a text and its row differ, in what a reader did not set by eye."""
    rows = [
        {key: value for key, value in _row_of(row).items() if value not in ("", None, 0, False)}
        for row in found.size
    ]
    read = {"date": found.date, "group": found.group, "size": rows, "out": found.out}
    for name, value in read.items():
        if name not in fact.get("eye", ()) and value != fact[name]:
            yield f"{found.file}, {name}: the text has {value}, the table {fact[name]}"


def _row_of(row: Row) -> dict[str, Any]:
    values = {**vars(row), "under": row.off, "over": row.off}
    del values["off"]
    return values


def table(folder: Path) -> dict[int, list[dict[str, Any]]]:
    """Return the rows of all tables in `folder` by the number of the standard."""
    rows: dict[int, list[dict[str, Any]]] = {}
    for path in sorted(folder.glob("*.toml")):
        for fact in tomllib.loads(path.read_text(encoding="utf-8"))["standard"]:
            rows.setdefault(int(fact["number"].split(",")[0]), []).append(fact)
    return rows


def main(folder: Path) -> int:
    """Print where the texts in `folder` and the tables differ; return how often."""
    known, lines = table(Path(__file__).parent), []
    for path in sorted(folder.glob("*.md")):
        found = facts(path.stem, path.read_text(encoding="utf-8"))
        if found.number not in known:
            lines.append(f"{found}: not in the table")
        for fact in known.get(found.number, []):
            lines += differences(found, fact)
    print(*lines, sep="\n", end="\n" if lines else "")
    return len(lines)


if __name__ == "__main__":
    sys.exit(bool(main(Path(sys.argv[1]))))
