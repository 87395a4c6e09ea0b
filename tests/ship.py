"""Make the few files that are shipped from the modules that we edit: python3 tests/run.py --ship.

The scripts are shared out by tests/node/ship.mjs: the first screen's, the drawing of dogs, all that
a show needs beside these, and what is for home. esbuild makes one sheet of those for a show, and
one of the others. The versions of its tools stand in tests/node. The same modules give the same
bytes, so a test can hold what stands in static/shipped to them.
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
SHEETS = ("pocket.css", "athome.css")
OF_SHEETS = ("--bundle", "--minify", "--charset=utf8", "--log-level=warning", f"--target={OLDEST}")


def make(node: list[str], packages: Path, target: Path) -> None:
    """Write the shipped files into the folder `target`.

    `node` is the command that is Node, `packages` the folder of the packages of tests/node.
    """
    scripts = Path(__file__).parent / "node" / "ship.mjs"
    sheets = [STATIC / "css" / name for name in SHEETS]
    esbuild = packages / "esbuild" / "bin" / "esbuild"
    for words in (
        (scripts, packages, STATIC, target),
        (esbuild, *OF_SHEETS, f"--outdir={target}", *sheets),
    ):
        subprocess.run([*node, *map(str, words)], check=True)
    (target / Path(MADE_FROM).name).write_text(
        made_from(read_below(STATIC)) + "\n", encoding="ascii"
    )


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*")}


def main() -> int:
    """Make them anew, or with --check say whether they are what the modules give."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; fail if they differ")
    parser.add_argument("packages", type=Path, help="the folder of the packages of tests/node")
    parser.add_argument("node", nargs="+", help="the command that is Node")
    given = parser.parse_args()
    place = STATIC / "shipped"
    with tempfile.TemporaryDirectory() as made:
        make(given.node, given.packages, Path(made))
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
