"""Every visible text keeps to the words of templates/README.md: none that we do not write, and one
word for one thing."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator

import pytest

from ringside.book.tables.dog_columns import COLUMNS
from tests.support import ROOT
from tests.visible import Text, all_texts, page_texts, python_texts, script_texts, texts_of

PAGE = ROOT / "templates" / "README.md"
NEVER = "never"


def tables(markdown: str) -> list[tuple[list[str], list[list[str]]]]:
    """The tables of a page: (headings, rows)."""
    blocks = re.findall(r"^\|.*\n\|[-|]+\|\n(?:\|.*\n)*", markdown, re.MULTILINE)
    found = []
    for block in blocks:
        heading, _, *rows = [
            [cell.strip() for cell in line.strip("|").split("|")] for line in block.splitlines()
        ]
        found.append((heading, rows))
    return found


TABLES = tables(PAGE.read_text(encoding="utf-8"))


def column(name: str) -> list[str]:
    """What stands in the columns of that name, one by one."""
    return [
        words.strip()
        for heading, rows in TABLES
        if name in heading
        for row in rows
        for words in re.split(r"[,;]", row[heading.index(name)])
        if words.strip()
    ]


def banned() -> list[str]:
    """What the page says is never written, in small letters."""
    return column(NEVER)


def pattern(words: str) -> re.Pattern[str]:
    """What finds these words as whole ones; `*` stands for any ending."""
    whole = r"\w*".join(map(re.escape, words.split("*")))
    return re.compile(rf"\b{whole}\b", re.IGNORECASE)


def either(words: Iterable[str]) -> re.Pattern[str]:
    return re.compile("|".join(pattern(one).pattern for one in words), re.IGNORECASE)


BANNED = either(banned())
# What breeds, rules and documents are told with is written there, and nowhere else.
BANNED_AS_KNOWN = either(words for words in banned() if words not in column("of the trade"))

# A column of a table is found by whatever other people call it.
AS_OTHERS_SAY = {name for column in COLUMNS for name in column.also}


def slips(texts: Iterable[Text]) -> Iterator[str]:
    for where, words in texts:
        if words in AS_OTHERS_SAY:
            continue
        is_known = where.startswith("ringside/knowledge/")
        for found in (BANNED_AS_KNOWN if is_known else BANNED).finditer(words):
            yield f"{where}: “{found[0]}” in “{words}”"


def test_no_visible_text_has_a_word_that_we_do_not_write() -> None:
    assert list(slips(all_texts())) == []


def examples(column: str) -> list[str]:
    return [
        row[heading.index(column)] for heading, rows in TABLES if column in heading for row in rows
    ]


SPOKEN = [
    "The book was not met yet",
    "3 changes wait for the book; it was not met yet",
    "Let it meet the book once",
    "Take it up",
    "GBR is none of these",
    "This code is over; one lives ten minutes.",
    "2 texts were written apart",
    "Empty those cells, or mend the sex.",
    "Start anew",
    "Enter the day the dog was whelped.",
    "Veil note",
    "Keep note",
    "Nothing was taken in.",
    "Look at the year.",
]


def test_the_words_of_breeds_and_rules_are_kept_to_these() -> None:
    """Each is banned elsewhere, and stands in what we know."""
    trade = column("of the trade")
    assert set(trade) <= set(banned())
    known = [words for where, words in all_texts() if where.startswith("ringside/knowledge/")]
    assert len(known) > 20_000
    assert [word for word in trade if not any(pattern(word).search(text) for text in known)] == []
    hound = [("ringside/knowledge/x.toml", "A hound."), ("templates/x.html", "A hound.")]
    assert len(list(slips(hound))) == 1


@pytest.mark.parametrize("words", SPOKEN)
def test_a_bad_sentence_is_found_wherever_it_stands(words: str) -> None:
    """In a page, an attribute, a tag of Jinja, a script, a template of one, and Python."""
    hidden = "GBR {name}".join(words.split("GBR"))
    stood = [
        *page_texts(f"<main><p>Fine. <b>{words}</b></p></main>"),
        *page_texts(f'<input placeholder="{words}">'),
        *page_texts(f'<p>{{{{ "{words}" if more else "Fine" }}}}</p>'),
        *script_texts(f'// Fine.\nsay("{words}");'),
        *script_texts(f"say(`${{name}} ${{of(`{words}`)}}`);"),
        *python_texts(f"raise SystemExit({words!r})"),
        *python_texts(f"raise SystemExit(f'{hidden}')" if "GBR" in words else f"say({words!r})"),
    ]
    places = Counter(words in text or hidden in text for _, text in stood)
    assert places[True] >= 6
    found = [text for text in stood if list(slips([("", text[1])]))]
    assert len(found) >= 6


def test_what_nobody_sees_is_not_looked_at() -> None:
    """Comments, docstrings, keys and SQL may say what they like."""
    assert list(script_texts("// whelped anew\n/* veil */ const veil = 1;")) == []
    assert list(python_texts('"""Made anew."""\n# anew\nsql = "SELECT anew FROM veil"')) == []
    assert list(page_texts("{# anew #}<!-- anew --><p data-part='veil'></p>")) == []


def test_the_good_examples_keep_the_rules_and_no_word_is_both() -> None:
    """No banned word is among the words we write, nor in an example of how to."""
    good = [*examples("but so"), *examples("word")]
    assert list(slips(("README.md", words) for words in good)) == []
    assert [words for words, count in Counter(banned()).items() if count > 1] == []


def test_each_bad_example_of_words_is_caught() -> None:
    """Those of the tone; those of errors are bad for what they do not say."""
    (heading, rows), *_ = TABLES
    assert heading == ["not so", "but so"]
    missed = [row[0] for row in rows if not list(slips([("", row[0])]))]
    assert missed == []


def test_the_texts_are_found() -> None:
    """What is well known to be on screens is among what is looked at."""
    texts = {words for _, words in all_texts()}
    for known in (
        "Add a dog",
        "Back to the kennel",
        "Next: {}",
        "Armband on left arm",
        "Make another code",
        "That is not a code for this book. Check it: there is no letter O, only zero.",
        "Enter the date of birth.",
    ):
        assert known in texts, known
    named = {where.rpartition(":")[0] for where, _ in texts_of(ROOT / "templates/desk/own.html")}
    assert named == {"templates/desk/own.html"}
