"""What the README and the guides say is so: their commands and facts, the files and tests named."""

from __future__ import annotations

import ast
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.support import ROOT

README = ROOT / "README.md"
GUIDE = ROOT / "DEVELOPERS.md"
# What stands beside the code of a room.
BESIDE = sorted([*(ROOT / "ringside").rglob("*.md"), *(ROOT / "templates").rglob("*.md")])
DOCUMENTS = [README, GUIDE, *BESIDE, *sorted((ROOT / "tests").rglob("*.md"))]
SECURITY = ROOT / "ringside" / "web" / "SECURITY.md"
MOST_GUIDE = 9_000  # bytes

TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "ringside",
    "static",
    "templates",
    "tests",
    "demo_data",
}

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def fenced(text: str, language: str) -> list[str]:
    """The bodies of the fenced code blocks in one language."""
    pattern = rf"^(`{{3,}}){language}[^\n]*\n(.*?)^\1`*\s*$"
    return [match[2] for match in re.finditer(pattern, text, re.DOTALL | re.MULTILINE)]


def commands(text: str) -> list[list[str]]:
    """The single commands of all `sh` blocks, as words."""
    found = []
    for block in fenced(text, "sh"):
        for line in block.replace("\\\n", " ").splitlines():
            lexer = shlex.shlex(line.removeprefix("$ "), posix=True, punctuation_chars="&|;")
            lexer.commenters = "#"
            words: list[str] = []
            for word in [*lexer, ";"]:
                if set(word) <= set("&|;"):
                    found += [words] if words else []
                    words = []
                else:
                    words.append(word)
    return found


def ringside_words(words: list[str]) -> list[str] | None:
    """What follows the program's name, where a command starts Ringside."""
    if Path(words[0]).name in {"ringside", "ringside.exe"}:
        return words[1:]
    if "-m" in words and words[words.index("-m") + 1 :][:1] == ["ringside"]:
        return words[words.index("-m") + 2 :]
    return None


def runner_options() -> set[str]:
    """The options that tests/run.py names in its own description."""
    source = (ROOT / "tests" / "run.py").read_text(encoding="utf-8")
    return set(re.findall(r"--[a-z-]+", ast.get_docstring(ast.parse(source)) or ""))


def ringside_options(subcommand: str) -> set[str]:
    """The options of a subcommand, by its own help; one that is unknown fails the test."""
    done = subprocess.run(
        [sys.executable, "-m", "ringside", subcommand, "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return set(re.findall(r"--[a-z-]+", done.stdout))


def prose(text: str) -> str:
    return re.sub(r"^(`{3,}).*?^\1`*\s*$", "", text, flags=re.DOTALL | re.MULTILINE)


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def named_files(text: str, folder: Path) -> set[Path]:
    """What links lead to, and code spans that can only be a path of the checkout.

    `folder` holds the document.
    """
    plain = prose(text)
    links = {
        folder / target.split("#")[0]
        for target in re.findall(r"\]\(<?([^)\s>]+)", plain)
        if not re.match(r"[a-z][a-z+.-]*:", target) and target.split("#")[0]
    }
    spans = {span for span in re.findall(r"`([^`\n]+)`", plain) if re.fullmatch(r"[\w./-]+", span)}
    tops = {*TOP_LEVEL, "tests", ".ci"}
    paths = {ROOT / span for span in spans if span.split("/")[0] in tops and span != "ringside"}
    return links | paths


def missing_tests(text: str) -> list[str]:
    """The tests named as `unit/test_x.py::test_y`, from the folder of the tests, that are not."""
    named = re.findall(r"`(?:tests/)?([\w/]+\.py)::(\w+)[^`]*`", text)
    return [f"{file}::{name}" for file, name in named if not has_test(ROOT / "tests" / file, name)]


def has_test(file: Path, name: str) -> bool:
    source = file.read_text(encoding="utf-8") if file.is_file() else ""
    return bool(re.search(rf"^(?:def |class )?{name}\b(?: =|[(:])", source, re.MULTILINE))


@pytest.fixture(scope="module")
def readme() -> str:
    return README.read_text(encoding="utf-8")


ALL_COMMANDS = [
    pytest.param(words, id=f"{name_of(path)}: {' '.join(words)}")
    for path in DOCUMENTS
    for words in commands(path.read_text(encoding="utf-8"))
]


def test_readme_gives_the_two_commands(readme: str) -> None:
    given = commands(readme)
    assert ["python3", "tests/run.py"] in given
    starts = [ringside_words(words) for words in given]
    assert any(words and words[0] == "demo" for words in starts)


def test_ci_runs_the_command_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert script[-1] == "python3 tests/run.py"


@pytest.mark.parametrize("words", ALL_COMMANDS)
def test_commands_are_ones_that_exist(words: list[str]) -> None:
    assert [word for word in words if word.endswith(".py") and not (ROOT / word).is_file()] == []
    options = {word.split("=")[0] for word in words if word.startswith("--")}
    if "tests/run.py" in words:
        assert options <= runner_options()
    if rest := ringside_words(words):
        assert options <= ringside_options(rest[0])
    for word in words:
        if extras := re.fullmatch(r"(?:\.|ringside)\[([\w,-]+)\]", word):
            assert set(extras[1].split(",")) <= PROJECT["optional-dependencies"].keys()


def test_python_version_in_readme_is_the_one_required(readme: str) -> None:
    required = PROJECT["requires-python"].removeprefix(">=")
    named = set(re.findall(r"Python (\d+\.\d+)", readme))
    assert named == {required}


@pytest.mark.parametrize("path", DOCUMENTS, ids=name_of)
def test_named_files_exist(path: Path) -> None:
    named = named_files(path.read_text(encoding="utf-8"), path.parent)
    assert [str(name) for name in sorted(named) if not name.exists()] == []


# A path in a comment or a text; not what is made up of one that begins elsewhere.
PATH = re.compile(
    r"(?<![\w/.<-])((?:ringside|static|templates|tests|demo_data)/[\w/.-]*"
    r"\.(?:py|js|mjs|toml|json|md|html|css|txt))\b"
)
CODE = {".py", ".js", ".toml", ".html", ".css"}


@pytest.mark.parametrize("room", ["ringside", "static/js", "static/css", "templates", "demo_data"])
def test_files_that_code_names_exist(room: str) -> None:
    found = {
        f"{name_of(path)}: {named}"
        for path in (ROOT / room).rglob("*")
        if path.suffix in CODE
        for named in PATH.findall(path.read_text(encoding="utf-8"))
        if not (ROOT / named).exists()
    }
    assert found == set()


@pytest.mark.parametrize("path", BESIDE, ids=name_of)
def test_code_that_is_named_without_a_folder_stands_beside(path: Path) -> None:
    named = set(re.findall(r"`(\w+\.py)`", path.read_text(encoding="utf-8")))
    assert [name for name in sorted(named) if not (path.parent / name).exists()] == []


@pytest.mark.parametrize("path", DOCUMENTS, ids=name_of)
def test_named_tests_exist(path: Path) -> None:
    assert missing_tests(path.read_text(encoding="utf-8")) == []


def test_security_names_a_test_for_each_item_that_is_met() -> None:
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in SECURITY.read_text(encoding="utf-8").splitlines()
        if re.match(r"\| \d+\.\d+\.\d+", line)
    ]
    assert len(rows) > 60
    untested = [item for item, _, here, test in rows if not test and "not met" not in here]
    assert untested == UNTESTED
    assert [row for row in rows if row[3] and not re.search(r"`[\w/]+\.py::", row[3])] == []


# The list of keys, that of libraries, and what no test shows.
UNTESTED = ["11.1.1, 11.1.2", "15.1.2", "15.3.6"]


def test_the_guide_is_short() -> None:
    assert len(GUIDE.read_bytes()) <= MOST_GUIDE


def test_the_check_sees_a_test_that_is_missing() -> None:
    here = "unit/test_docs.py::test_the_check_sees_a_test_that_is_missing"
    group = "property/test_convergence.py::TestConvergence"
    assert missing_tests(f"| 1 | `{here}`, `tests/{here}`, `{group}`, `{here}[case]` |") == []
    gone = ["unit/test_docs.py::test_the_check_sees", "unit/test_none.py::test_any"]
    assert missing_tests(f"`{gone[0]}`, `{gone[1]}`") == gone


@pytest.mark.parametrize("path", DOCUMENTS, ids=name_of)
def test_no_place_of_one_machine_is_named(path: Path) -> None:
    assert re.findall(r"(?<![\w.])/(?:home|root|Users|work|tmp)/\S*", path.read_text("utf-8")) == []


def test_checkout_has_only_the_known_top_level_names() -> None:
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("not a git checkout")
    listed = subprocess.run(
        # The checkout may belong to another user than the one who runs the tests.
        ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    names = {path.split("/")[0] for path in listed.split("\0") if path}
    assert {name for name in names if not name.startswith(".")} <= TOP_LEVEL
