"""The glossary: what its files may say, that its words lead only to words it has, and its size."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import brotli
import pytest

from ringside.domain.pack import words_book
from ringside.knowledge import Knowledge, KnowledgeError, load
from ringside.knowledge.schema import COMMON_PRACTICE, Term
from tests.known import shipped
from tests.support import ROOT

MOST_BYTES = 12_000
# Words of the trade, gathered apart from the glossary: from the headings and the lists of faults of
# the FCI's standards, and from what judges say of them.
TRADE = re.split(r",\s+", (ROOT / "tests/published/trade_words.txt").read_text("utf-8").strip())
TERM = """
[[term]]
id = "whisker"
name = "whisker"
station = "head"
says = "A long stiff hair beside the muzzle."
see = ["muzzle"]
source = "common practice"
"""


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return shipped()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shipped, copied = ROOT / "ringside" / "knowledge", tmp_path / "knowledge"
    no_code = shutil.ignore_patterns("*.py", "__pycache__", "breeds")
    shutil.copytree(shipped, copied, ignore=no_code)
    (copied / "breeds").mkdir()
    return copied


def added(folder: Path, text: str) -> Knowledge:
    path = folder / "glossary" / "head.toml"
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    return load(folder)


def test_a_sound_term_is_taken(folder: Path) -> None:
    assert any(term.id == "whisker" for term in added(folder, TERM).terms)


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ('["muzzle"]', '["nowhere"]', "it leads to 'nowhere', which is not another word"),
        ('["muzzle"]', '["whisker"]', "it leads to 'whisker', which is not another word"),
        ('"common practice"', '"hearsay"', "source 'hearsay' is not in sources.toml"),
        ('station = "head"', 'station = "wing"', "there is no station or phase 'wing'"),
        ('name = "whisker"', 'name = "Foreface"', "'Foreface' is a name of muzzle too"),
        ('id = "whisker"', 'id = "muzzle"', "the id is used twice"),
        ("muzzle.", "muzzle", "says: "),
        ("source", "sauce", "sauce: is not a key we know"),
    ],
)
def test_what_is_wrong_with_a_term_is_said(folder: Path, old: str, new: str, problem: str) -> None:
    assert old in TERM
    with pytest.raises(KnowledgeError) as error:
        added(folder, TERM.replace(old, new, 1))
    assert all(line.startswith("glossary/head.toml: term") for line in error.value.problems)
    assert any(problem in line for line in error.value.problems)


def names(term: Term) -> list[str]:
    return [re.escape(name.removesuffix("s")) for name in (term.name, *term.also)]


def test_a_sentence_leads_to_the_words_it_rests_on(known: Knowledge) -> None:
    """Longer names are taken out first: "upper arm" rests on no "arm"."""
    found = {name: term.id for term in known.terms if not term.plain for name in names(term)}
    longest_first = sorted(found, key=len, reverse=True)
    lacking = {}
    for term in known.terms:
        says, used = term.says, set()
        for name in longest_first:
            says, count = re.subn(rf"\b{name}s?\b", "", says, flags=re.IGNORECASE)
            used |= {found[name]} if count else set()
        if used - {term.id} - {*term.see}:
            lacking[term.id] = used - {term.id} - {*term.see}
    assert lacking == {}


def test_the_phone_gets_every_word_with_its_source(known: Knowledge) -> None:
    book: dict[str, Any] = words_book(known)
    assert [term["id"] for term in book["terms"]] == [
        term.id for term in sorted(known.terms, key=lambda term: term.name.casefold())
    ]
    for term in book["terms"]:
        assert term["source"] == COMMON_PRACTICE or term["source"] in book["sources"], term["id"]
    assert {"station", "says", "name"} <= set.intersection(*map(set, book["terms"]))


def test_every_station_that_is_touched_has_a_word_to_learn(known: Knowledge) -> None:
    learned = {term.station for term in known.terms if term.core}
    assert {one.id for one in known.stations.values() if one.phase == "exam"} <= learned


def stem(word: str) -> str:
    """As the phone finds them (`core/terms.js`)."""
    return word.lower().removesuffix("s")


def unexplained(known: Knowledge, texts: Iterable[str]) -> dict[str, str]:
    """{word of the trade that no term explains: a text that uses it}."""
    explained = {stem(name) for term in known.terms for name in (term.name, *term.also)}
    whole = "\n".join(texts)
    uses = {
        word: re.search(rf"^.*(?<![\w-]){word}s?(?![\w-]).*$", whole, re.IGNORECASE | re.MULTILINE)
        for word in TRADE
        if stem(word) not in explained
    }
    return {word: use[0] for word, use in uses.items() if use}


def said(known: Knowledge) -> Iterator[str]:
    """What asks, cues and cautions say."""
    for breed in known.breeds.values():
        yield from (ask.says for ask in breed.ask)
    for line in (*known.cues, *known.cautions):
        yield from (text for text in line.model_dump().values() if isinstance(text, str))


def test_every_word_of_the_trade_that_is_used_is_explained(known: Knowledge) -> None:
    texts = [*said(known)]
    assert unexplained(known, texts) == {}
    without = replace(known, terms=tuple(one for one in known.terms if one.id != "merle"))
    assert list(unexplained(without, texts)) == ["merle"]


def test_it_is_small_enough_for_every_phone(known: Knowledge) -> None:
    whole = json.dumps(words_book(known), ensure_ascii=False, separators=(",", ":"))
    assert len(brotli.compress(whole.encode())) < MOST_BYTES
