"""Breeds are read when they are wanted: what is known before, and what then comes to light."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path

import pytest

from ringside.domain.exam import Dog, compose
from ringside.knowledge import KnowledgeError, load, load_whole
from ringside.knowledge.breeds import Breeds, file_of, parts
from ringside.knowledge.schema import Profile
from tests.unit.test_knowledge import BREED, append, folder, spoil

__all__ = ["folder"]

KEY = "otter-hound"
MISSPELT = 'sayz = "x"\n'


def put(folder: Path, text: str = BREED, key: str = KEY) -> Path:
    path = folder / "breeds" / f"{key}.toml"
    path.write_text(text, encoding="utf-8")
    return path


# --- what is known before


def test_a_profile_says_what_the_whole_file_says() -> None:
    breeds = load_whole().breeds
    assert len(breeds) == len(breeds.profiles) > 30
    for key, profile in load().breeds.profiles.items():
        assert profile == Profile(
            **{name: getattr(breeds[key], name) for name in Profile.model_fields}
        )


def test_what_is_from_memory_is_counted_without_reading_the_asks() -> None:
    whole = load_whole().breeds
    asks = [ask for breed in whole.values() for ask in breed.ask]
    assert load().breeds.from_memory == sum(ask.read == "memory" for ask in asks) > 0


def test_own_breeds_are_listed_and_counted_with_the_shipped_ones(
    folder: Path, tmp_path: Path
) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "fen-hound.toml").write_text(BREED + 'read = "memory"\n', encoding="utf-8")
    before, known = load(folder), load(folder, own)
    assert known.breeds.profiles.keys() == {"pug", "samoyed", "own-fen-hound"}
    assert known.breeds.from_memory == before.breeds.from_memory + 1
    assert known.breeds["own-fen-hound"].ask[1].read == "memory"
    assert known.digest != before.digest


def test_the_head_of_a_file_ends_where_the_asks_begin() -> None:
    assert parts("a = 1\n\n[[ask]]\nb = 2\n[[ask]]\n") == ("a = 1\n\n", "[[ask]]\nb = 2\n[[ask]]\n")
    assert parts("a = 1\n  [[ ask ]] # first\n") == ("a = 1\n", "  [[ ask ]] # first\n")
    assert parts('a = "[[ask]]"\n') == ('a = "[[ask]]"\n', "")


def test_files_are_called_by_where_they_lie() -> None:
    assert file_of("pug") == "breeds/pug.toml"
    assert file_of("own-fen-hound") == "fen-hound.toml"


# --- reading one


class Counted:
    """A file that counts how often it is read."""

    def __init__(self, path: Path) -> None:
        self.path, self.name, self.times = path, path.name, 0

    def read_text(self, encoding: str) -> str:
        self.times += 1
        return self.path.read_text(encoding=encoding)


def test_a_breed_is_read_once_and_only_if_it_is_wanted(folder: Path) -> None:
    files = {path.stem: Counted(path) for path in (folder / "breeds").glob("*.toml")}
    breeds = Breeds(files)
    assert [*breeds] == [*files]
    assert "Pug" in {profile.name for profile in breeds.profiles.values()}
    assert {file.times for file in files.values()} == {1}
    assert breeds["pug"] is breeds["pug"]
    assert breeds.get("unheard-of") is None
    assert {key: file.times for key, file in files.items()} == {"pug": 2, "samoyed": 1}


def test_a_file_that_changes_before_it_is_wanted_is_checked_as_it_is_then(folder: Path) -> None:
    path = put(folder)
    known = load(folder)
    path.write_text(spoil(BREED, "Broad, not coarse.", "Broad."), encoding="utf-8")
    assert known.breeds[KEY].ask[0].says == "Broad."
    known = load(folder)
    append(path, MISSPELT)
    assert known.breeds.get(KEY) is None


# --- what cannot be used

BAD_HEADS: dict[str, Callable[[Path], object]] = {
    "an unknown key": lambda path: path.write_text('nick = "x"\n' + BREED, encoding="utf-8"),
    "no TOML": lambda path: path.write_text("name = \n", encoding="utf-8"),
    "no text": lambda path: path.write_bytes(b"\xff\xfe"),
    "an endless number": lambda path: path.write_text(f"fci_number = {'9' * 5000}\n"),
    "a deep nest": lambda path: path.write_text("also = " + "[" * 20_000),
    "an empty file": lambda path: path.write_text(""),
    "a folder": lambda path: (path.unlink(), path.mkdir()),
    "gone": lambda path: (path.unlink(), path.symlink_to(path.with_name("nowhere"))),
}


@pytest.mark.parametrize("case", BAD_HEADS)
def test_a_head_that_cannot_be_used_leaves_its_breed_out(case: str, folder: Path) -> None:
    BAD_HEADS[case](put(folder))
    known = load(folder)
    assert set(known.breeds) == set(known.breeds.profiles) == {"pug", "samoyed"}
    assert known.set_aside
    assert all(line.startswith(f"breeds/{KEY}.toml: ") for line in known.set_aside)
    with pytest.raises(KnowledgeError, match=rf"breeds/{KEY}\.toml: "):
        load_whole(folder)


def test_an_ask_that_cannot_be_used_leaves_its_breed_out_when_it_is_wanted(
    folder: Path, caplog: pytest.LogCaptureFixture
) -> None:
    append(put(folder), MISSPELT)
    known = load(folder)
    assert known.set_aside == ()
    with caplog.at_level(logging.ERROR), pytest.raises(KeyError):
        known.breeds[KEY]
    (line,) = known.set_aside
    assert line.startswith(f"breeds/{KEY}.toml: ask, number 2 (Dogs stand 50 to 60 cm.), sayz: ")
    assert line in caplog.text
    assert KEY not in known.breeds.profiles
    assert known.breeds.get(KEY) is None
    assert caplog.text.count("left out") == 1
    assert known.breeds["pug"].name == "Pug"


def test_a_dog_of_a_breed_that_is_left_out_has_the_general_card(folder: Path) -> None:
    append(put(folder), MISSPELT)
    known = load(folder)
    card = compose(known, Dog(breed=KEY, sex="bitch"))
    assert card["general"]
    assert card["phases"] == compose(known, Dog(breed="unheard-of", sex="bitch"))["phases"]
    assert not compose(known, Dog(breed="pug", sex="bitch"))["general"]


def test_whoever_goes_through_the_profiles_is_not_disturbed(folder: Path) -> None:
    append(put(folder), MISSPELT)
    known = load(folder)
    seen = [key for key in known.breeds.profiles if known.breeds.get(key) or True]
    assert KEY in seen
    assert KEY not in known.breeds.profiles


def test_asks_stand_last_so_that_the_head_says_all_else(folder: Path) -> None:
    first, _, last = BREED.partition("[[ask]]")
    put(
        folder,
        spoil(BREED, 'build = "square"\n', 'build = "square"\n\n')
        + '\n[glance.akc]\nhead = "Broad"\n',
    )
    with pytest.raises(KnowledgeError) as refused:
        load_whole(folder)
    assert refused.value.problems == [
        f"breeds/{KEY}.toml: ask: write all asks last, after all else"
    ]
    put(folder, f'{first}[glance.akc]\nhead = "Broad"\n\n[[ask]]{last}')
    assert load_whole(folder).breeds[KEY].glance == {"akc": {"head": "Broad"}}


@pytest.mark.parametrize(("body", "is_known"), [("fci", True), ("akc", True), ("kc", False)])
def test_a_glance_line_of_a_body_needs_its_standard(
    body: str, is_known: bool, folder: Path
) -> None:
    first, _, last = BREED.partition("[[ask]]")
    put(folder, f'{first}[glance.{body}]\nhead = "Broad"\n\n[[ask]]{last}')
    if is_known:
        assert load_whole(folder).breeds[KEY].glance
        return
    with pytest.raises(KnowledgeError) as refused:
        load_whole(folder)
    assert refused.value.problems == [
        f"breeds/{KEY}.toml: glance, {body}: there is no standard of this body in this file"
    ]


def test_the_fcis_lines_hold_for_all_so_they_need_no_standard_of_its(folder: Path) -> None:
    text = BREED.replace('"fci"', '"kc"').replace('"FCI"', '"KC"')
    first, _, last = text.partition("[[ask]]")
    put(folder, f'{first}[glance.fci]\nhead = "Broad"\n\n[[ask]]{last}')
    assert load_whole(folder).breeds[KEY].glance
