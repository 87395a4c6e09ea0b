"""The wheel is complete: installed away from the checkout, it serves the whole app."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import urllib.error
import urllib.request
import zipfile
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path

import pytest

from tests.support import ROOT, Server

# Folders that lie beside the package in the checkout and inside it in the wheel.
SHIPPED = ("static", "templates", "demo_data")


def run(*command: str | Path, cwd: Path) -> None:
    done = subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        env=outside_environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        check=False,
    )
    assert done.returncode == 0, done.stdout


def outside_environment() -> dict[str, str]:
    """The environment without what could lead Python back to the checkout."""
    return {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}


def files_below(folder: Path) -> set[str]:
    """The files of the checkout that matter, as paths relative to the folder."""
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and not path.name.startswith(".")
    }


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel as it would be published, built in isolation."""
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "build", "--wheel", "--outdir", folder, ROOT, cwd=folder)
    (built,) = folder.glob("ringside-*.whl")
    return built


@pytest.fixture(scope="module")
def contents(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


@pytest.fixture(scope="module")
def scripts(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of programs in a clean environment that holds the wheel and what it needs."""
    place = tmp_path_factory.mktemp("installed") / "venv"
    run(sys.executable, "-m", "venv", place, cwd=place.parent)
    scripts = place / ("Scripts" if os.name == "nt" else "bin")
    run(scripts / "python", "-m", "pip", "install", "--quiet", wheel, cwd=place.parent)
    return scripts


@pytest.fixture(scope="module")
def demo(scripts: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The installed demo, started in a folder that has nothing to do with the checkout."""
    outside = tmp_path_factory.mktemp("outside")
    server = Server(outside / "data", "demo", program=[scripts / "ringside"], cwd=outside)
    yield server
    server.stop()


@pytest.fixture(scope="module")
def fetch(demo: Server) -> Callable[[str], tuple[str, bytes]]:
    """A function that gets a path of the demo, which must be there: media type and body."""
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))

    def get(path: str) -> tuple[str, bytes]:
        try:
            with direct.open(demo.url + path.removeprefix("/"), timeout=10) as answer:
                assert answer.status == 200, path
                return answer.headers.get_content_type(), answer.read()
        except urllib.error.HTTPError as error:
            with error:
                pytest.fail(f"{path}: {error}")

    return get


@pytest.mark.parametrize("folder", SHIPPED)
def test_wheel_holds_every_file_of(folder: str, contents: set[str]) -> None:
    files = files_below(ROOT / folder)
    assert files
    assert {f"ringside/_files/{folder}/{name}" for name in files} <= contents


def test_wheel_holds_the_whole_package(contents: set[str]) -> None:
    files = files_below(ROOT / "ringside")
    assert any(name.startswith("knowledge/") and name.endswith(".toml") for name in files)
    assert {f"ringside/{name}" for name in files} <= contents


def test_wheel_holds_nothing_else(contents: set[str]) -> None:
    assert {re.sub(r"-.*", "", name.split("/")[0]) for name in contents} == {"ringside"}
    assert not [name for name in contents if name.endswith((".pyc", ".db"))]


def test_installed_copy_is_not_the_checkout(scripts: Path, tmp_path: Path) -> None:
    program = "import pathlib, ringside; print(pathlib.Path(ringside.__file__).resolve())"
    run_python = [scripts / "python", "-c", program]
    found = subprocess.check_output(
        run_python, cwd=tmp_path, env=outside_environment(), text=True
    ).strip()
    assert not Path(found).is_relative_to(ROOT / "ringside")


@pytest.mark.parametrize(
    ("path", "media_types"),
    [
        ("/", {"text/html"}),
        ("/manifest.webmanifest", {"application/manifest+json"}),
        ("/sw.js", {"text/javascript", "application/javascript"}),
    ],
)
def test_installed_demo_serves(path: str, media_types: set[str], fetch: Callable) -> None:
    media_type, body = fetch(path)
    assert media_type in media_types
    assert body


def test_installed_demo_serves_all_that_the_worker_keeps(fetch: Callable) -> None:
    kept = re.search(r"const FILES = (\[.*?\n\]);", fetch("/sw.js")[1].decode(), re.DOTALL)
    assert kept
    files = json.loads(kept[1])
    assert {".css", ".html", ".js"} <= {Path(file["url"]).suffix or ".html" for file in files}
    served = []
    for url in (file["url"] for file in files):
        media_type, body = fetch(url)
        served.append({"url": url, "sha256": sha256(body).hexdigest(), "type": media_type})
    assert served == [{name: file[name] for name in ("url", "sha256", "type")} for file in files]


def test_installed_demo_serves_the_pictures_of_its_manifest(fetch: Callable) -> None:
    manifest = json.loads(fetch("/manifest.webmanifest")[1])
    assert manifest["icons"]
    pictures = [*manifest["icons"], *manifest.get("screenshots", [])]
    assert [fetch(picture["src"])[0] for picture in pictures] == [x["type"] for x in pictures]
