"""Make the few files that are shipped from the modules that we edit: python3 tests/run.py --ship.

esbuild (its version stands in tests/node) puts the first screen, what all share, the drawing of
dogs, and all other screens with what goes on behind them into a script each, the sheets into one.
The same modules give the same bytes, so a test can hold what stands in static/shipped to them.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from ringside.web.assets import MADE_FROM, made_from, read_below

STATIC = Path(__file__).parents[1] / "static"
# The oldest browsers we draw in; README says the same.
OLDEST = "safari16.4,firefox115,chrome111"
FLAGS = (
    "--bundle",
    "--splitting",
    "--format=esm",
    "--minify",
    "--charset=utf8",
    "--log-level=warning",
    "--chunk-names=[name]-[hash]",
    f"--target={OLDEST}",
)


def make(esbuild: list[str], target: Path) -> None:
    """Write the shipped files into the folder `target`; `esbuild` is its command."""
    entries = [STATIC / "js" / "main.js", STATIC / "css" / "pocket.css"]
    subprocess.run(
        [*esbuild, *FLAGS, f"--outdir={target}", "--entry-names=[name]", *map(str, entries)],
        check=True,
    )
    (target / Path(MADE_FROM).name).write_text(
        made_from(read_below(STATIC)) + "\n", encoding="ascii"
    )


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*")}


def main() -> int:
    """Make them anew, or with --check say whether they are what the modules give."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; fail if they differ")
    parser.add_argument("esbuild", nargs="+", help="the command that is esbuild")
    given = parser.parse_args()
    place = STATIC / "shipped"
    with tempfile.TemporaryDirectory() as made:
        make(given.esbuild, Path(made))
        if given.check:
            if files(Path(made)) == files(place):
                return 0
            print("static/shipped is not what the modules give: python3 tests/run.py --ship")
            return 1
        shutil.rmtree(place, ignore_errors=True)
        shutil.copytree(made, place)
    for path in sorted(place.glob("*")):
        print(f"{path.relative_to(STATIC)}  {path.stat().st_size}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
