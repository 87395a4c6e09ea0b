"""Torture Ringside for long: the real server, real phones, and all that can befall them.

python -m tests.torture [seconds] [--seed N] [--phones N] [--browsers N] [--postgres]

One run after the other, each with the next seed, until the time is over; --seed N with 0 seconds
repeats one run. Prints what was met and what was survived. Exit code 1 if anything was lost.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.torture import pocket
from tests.torture.ordeal import Ordeal
from tests.torture.tally import Tally

SECONDS = 600
MOST_TOLD = 30  # lines of what one run found wrong
PASSES = 3  # of all faults in one run


@contextlib.contextmanager
def databases(is_postgres: bool) -> Iterator[Callable[[], str]]:
    """A function that gives an empty database for each run: "" for SQLite."""
    if not is_postgres:
        yield lambda: ""
        return
    from tests import postgres

    folder = postgres.programs()
    if folder is None:
        sys.exit("PostgreSQL's programs were not found; name their folder in RINGSIDE_POSTGRES.")
    with postgres.cluster(folder) as cluster:
        yield cluster.database


def run(seed: int, options: argparse.Namespace, database: str, tally: Tally) -> list[str]:
    """One run; what was found wrong."""
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="ringside-torture-")))
        program = pocket.copy_of_the_program(folder / "program")
        hosts = 2 if database else 1
        ordeal = Ordeal(folder, seed, options.phones, database, hosts, program)
        stack.enter_context(contextlib.closing(ordeal))
        if options.browsers:
            ordeal.hand_out(stack.enter_context(sync_playwright()), folder, options.browsers)
        ordeal.begin()
        for _ in range(PASSES):
            ordeal.everything_befalls()
        wrong = ordeal.end()
        tally.add(ordeal.tally, all_is_well=not wrong)
        written = sum(len(account.journal.written) for account in ordeal.accounts())
    print(f"seed {seed}: {written} changes, {ordeal.tally.met.total()} faults", flush=True)
    for line in wrong[:MOST_TOLD]:
        print(f"  {line}", flush=True)
    return wrong


def main(words: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="tests.torture", description=__doc__.splitlines()[0])
    parser.add_argument("seconds", type=int, nargs="?", default=SECONDS)
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(1_000_000))
    parser.add_argument("--phones", type=int, default=6)
    parser.add_argument("--browsers", type=int, default=0, help="people with the app in Chromium")
    parser.add_argument("--postgres", action="store_true", help="two servers on one database")
    options = parser.parse_args(words)
    tally, wrong, seed = Tally(), 0, options.seed
    until = time.monotonic() + options.seconds
    with databases(options.postgres) as database:
        while True:
            wrong += bool(run(seed, options, database(), tally))
            seed += 1
            if time.monotonic() > until:
                break
    print(f"\n{tally.table()}")
    print(f"\n{seed - options.seed} runs, {wrong} of them with losses. First seed: {options.seed}.")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
