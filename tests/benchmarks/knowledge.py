"""What three hundred breeds cost beside thirty-four: a start, memory, what a phone keeps, a check.

Where fewer are shipped the rest are copies under other names, so the figures can be had before.
"""

from __future__ import annotations

import http.client
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from flask import Flask

from ringside.files import folder
from ringside.knowledge import load
from ringside.web.assets import BOOKS
from ringside.web.pocket import publish
from tests.benchmarks.registry import Row, benchmark, ms
from tests.ports import free_port
from tests.support import ROOT

MANY, FEW = 344, 34
STARTS = 9
CHECKS = 3
PARTS = ("ringside", "static", "templates", "demo_data")
BREEDS = Path("ringside", "knowledge", "breeds")
NAME = re.compile(r'^name = "(.*)"$', re.MULTILINE)


@benchmark
def breeds() -> Iterator[Row]:
    """Start the demo of two copies of the house in turn: one with all breeds, one with few."""
    with TemporaryDirectory(prefix="ringside-bench-") as place:
        many, few = (house(Path(place, str(count)), count) for count in (MANY, FEW))
        for of in (many, few):
            start(of)  # once unmeasured: Python keeps its compiled files then
        runs = [(start(many), start(few)) for _ in range(STARTS)]
        for what, unit, at in (("start to first answer", ms, 0), ("memory then", megabytes, 1)):
            here, beside = (median(run[of][at] for run in runs) for of in (0, 1))
            yield Row(
                f"{what}, {MANY} breeds",
                unit(here),
                f"{unit(beside)} with {FEW}",
                here / beside if beside else None,
                "<= 1.25",
            )
        for what, books, aim in (
            ("knowledge.json", ("knowledge.json",), "6 kB more"),
            ("all that a phone looks up", BOOKS, ""),
        ):
            here, beside = (kept(of, books) for of in (many, few))
            yield Row(
                f"{what} in brotli, {MANY} breeds",
                f"{here / 1000:.1f} kB",
                f"{(here - beside) / 1000:.1f} kB more than with {FEW}",
                here / beside,
                aim,
            )
        checks = [(check(many), check(few)) for _ in range(CHECKS)]
        here, beside = (median(run[of] for run in checks) for of in (0, 1))
        yield Row(
            f"ringside check, {MANY} breeds", ms(here), f"{ms(beside)} with {FEW}", here / beside,
            "20 s",
        )  # fmt: skip


def house(place: Path, count: int) -> Path:
    """A copy of all that a server needs, with so many breeds."""
    for part in PARTS:
        shutil.copytree(ROOT / part, place / part, ignore=shutil.ignore_patterns("__pycache__"))
    files = sorted((place / BREEDS).glob("*.toml"))
    step = max(1, len(files) // count)
    left = files[::step][:count]
    for path in files:
        if path not in left:
            path.unlink()
    for number in range(count - len(left)):
        path = left[number % len(left)]
        text = NAME.sub(rf'name = "\1 {number}"', path.read_text(encoding="utf-8"), count=1)
        path.with_name(f"{path.stem}-{number}.toml").write_text(text, encoding="utf-8")
    return place


def start(of: Path) -> tuple[float, float]:
    """Start the demo; return the seconds to its first answer, and its memory then in bytes."""
    port = free_port()
    with TemporaryDirectory(prefix="ringside-bench-") as data:
        words = ["demo", "--port", str(port), "--data", data, "--no-browser"]
        began = time.perf_counter()
        with ringside(of, *words) as process:
            while not answers(port):
                if process.poll() is not None:
                    raise RuntimeError("The demo ended while it was starting.")
                time.sleep(0.005)
            return time.perf_counter() - began, memory(process.pid)


@contextmanager
def ringside(of: Path, *words: str) -> Iterator[subprocess.Popen[bytes]]:
    env = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    command = [sys.executable, "-m", "ringside", *words]
    with subprocess.Popen(command, cwd=of, env=env, stdout=subprocess.DEVNULL) as process:
        try:
            yield process
        finally:
            process.terminate()


def answers(port: int) -> bool:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        connection.request("GET", "/", headers={"Host": f"localhost:{port}"})
        return connection.getresponse().read() != b""
    except OSError:
        return False
    finally:
        connection.close()


def memory(pid: int) -> float:
    """What a process holds in bytes; 0 on a system that does not tell."""
    status = Path(f"/proc/{pid}/status")
    found = re.search(r"VmRSS:\s+(\d+) kB", status.read_text()) if status.exists() else None
    return 1024 * float(found[1]) if found else 0.0


def megabytes(size: float) -> str:
    return f"{size / 1e6:.1f} MB"


def kept(of: Path, books: Sequence[str]) -> int:
    """The bytes that a phone fetches of some of the files of what is looked up."""
    app = Flask("ringside", template_folder=str(folder("templates")), static_folder=None)
    files = publish(app, load(of / "ringside" / "knowledge")).build.files
    return sum(len(files[name].encoded("br")[1]) for name in books)


def check(of: Path) -> float:
    """The seconds of a whole check."""
    began = time.perf_counter()
    with ringside(of, "check") as process:
        process.wait()
    return time.perf_counter() - began
