"""Breed files of strangers: each is read or set aside, and costs little."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from ringside.knowledge.foreign import LONGEST_TOLD, MOST_TOLD
from ringside.knowledge.own import MOST_OWN_FILES, MOST_OWN_SIZE, own_breeds
from ringside.web.desk.own import read_asks
from tests.confined import few

# What is said again and again, with what stands before and behind it.
SAID = [
    "a.", "a . ", '"a".', "'a'.", "\"a\".'b'.", "[", "[[", "{a=", "{a={b=[", "[a]\n", "[[a]]\n",
    "[a.b.c.d]\n", "[[a.b.c.d]]\n", "a.b.c.d=1\n", "x=1\n", "1,", "{},", "{a=1},", "[],", "9", "f",
    "1_", "#\n",
    "\n", " ", "\t", "\\n", "\\\\", "\\u0041", '"', "'", '""', "''", '"""', "'''", '\\"', "é",
    "\U0001f600", "1979-05-27T07:32:00Z,", "1.5e9,", "nan,", "-", "+", "_", "\r\n", ".", "=",
    '"" = ', "'' . ''=1\n", '[[ask]]\nsays="a"\n', "[[ask]]\n", "[[standard]]\n",
    "glance.fci.head=",
]  # fmt: skip
AROUND = [
    ("", ""), ("", "=1"), ("a=", ""), ("a=[", "]"), ("a={", "}"), ('a="', '"'), ("a='", "'"),
    ('a="""', '"""'), ("a='''", "'''"), ("[", "]"), ("[[", "]]"), ("a=0x", ""), ("a.", "b=1"),
    ("[a.b.c]\n", ""), ("ask=[", "]"), ("fci_number=", ""), ("a = [{b", "=1}]"), ("[a]\n", ""),
    ('"', '"=1'), ("#", ""),
]  # fmt: skip
NUMBERED = ["a{}=1\n", "[a{}]\n", "a.b{}.c=1\n", "[[a{}.b]]\n", "{{a{}=1}},", "[a.b.c.d{}]\nx=1\n"]


def filled(before: str, said: str, behind: str) -> bytes:
    """So many of what is said as fit into a file."""
    room = MOST_OWN_SIZE - len((before + behind).encode())
    return (before + said * (room // len(said.encode())) + behind).encode()


def numbered(said: str) -> bytes:
    return "".join(said.format(number) for number in range(40_000)).encode()[:MOST_OWN_SIZE]


repeated = st.builds(
    lambda around, said, more: filled(around[0], said + more, around[1]),
    st.sampled_from(AROUND),
    st.sampled_from(SAID),
    st.sampled_from(["", *SAID]),
)
nested = st.builds(
    lambda around, opens, closes: (
        (around[0] + opens * (count := MOST_OWN_SIZE // (len(opens) + len(closes)) - 9)).encode()
        + (closes * count + around[1]).encode()
    ),
    st.sampled_from(AROUND),
    st.sampled_from(["[", "{a=", "[{a=", "[\n"]),
    st.sampled_from(["]", "}", "}]", ""]),
)
files = repeated | nested | st.sampled_from(NUMBERED).map(numbered)


def is_told_in_few_words(problems: list[str]) -> bool:
    return len(problems) <= MOST_TOLD + 1 and all(
        len(line) <= LONGEST_TOLD + 1 for line in problems
    )


@few
@given(files)
def each_is_read_or_set_aside(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "fen-hound.toml").write_bytes(content)
        problems: list[str] = []
        assert own_breeds(folder, problems) == {}
        assert problems
        assert is_told_in_few_words(problems)


@few
@given(files)
def own_asks_too(content: bytes) -> None:
    asks, problems = read_asks(content, {"head"})
    assert is_told_in_few_words(problems)
    assert not (asks and problems)


def a_whole_folder_of_them() -> None:
    """As many as are read, each of what takes longest."""
    worst = [filled("", said, "") for said in ("[a.b.c.d]\n", "[[a.b]]\n", "a.b.c.d.e=1\n")]
    worst += [filled("ask=[", "{a=1},", "]"), filled("a=[", "1,", "]"), numbered("a.b{}.c.d=1\n")]
    with tempfile.TemporaryDirectory() as name:
        for number in range(MOST_OWN_FILES):
            file = Path(name, f"b{number}.toml")
            file.write_bytes(worst[number % len(worst)])
        problems: list[str] = []
        assert own_breeds(Path(name), problems) == {}
        assert len(problems) <= MOST_OWN_FILES * (MOST_TOLD + 1)
