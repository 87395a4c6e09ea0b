"""What a server holds while it has nothing to do: no library that only some are served with."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.support import ROOT

BEGUN = """
import sys
import ringside.cli
from ringside.app import create_app
print(*sorted(sys.modules))
"""


@pytest.fixture(scope="module")
def loaded() -> set[str]:
    """The modules of a server that is about to begin."""
    command = [sys.executable, "-c", BEGUN]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return set(ran.stdout.split())


@pytest.mark.parametrize(
    "library",
    ["psycopg", "psycopg_pool", "psycopg2", "icalendar", "segno", "zeroconf", "cryptography"],
)
def test_what_few_need_is_not_loaded(loaded: set[str], library: str) -> None:
    assert "peewee" in loaded
    assert library not in loaded


def test_a_driver_that_was_hidden_can_be_had_later() -> None:
    code = (
        "import ringside.book.store, peewee, psycopg\n"
        "from ringside.book.databases import Postgres\n"
        "assert peewee.psycopg is None\n"
        "adapter = Postgres('postgresql://somebody@localhost/none').db._adapter\n"
        "assert adapter.get_binary_type() is psycopg.Binary\n"
        "assert adapter.txn_idle == psycopg.pq.TransactionStatus.IDLE\n"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
