"""What `--quick` chooses: a smoke of each room, what is near to what was changed, what is light."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests import quick
from tests.support import ROOT


@pytest.mark.parametrize(
    ("test", "changed", "is_near"),
    [
        ("unit/test_certs.py", "tests/unit/test_certs.py", True),
        ("unit/test_certs.py", "ringside/web/certs.py", True),
        ("browser/test_gate.py", "static/js/views/gate.js", True),
        ("browser/test_gate.py", "static/js/views/ring.js", False),
        ("unit/test_quick.py", "tests/quick.py", True),
        ("unit/test_quick.py", "tests/support.py", True),  # imported above
        ("unit/test_quick.py", "tests/ports.py", False),
        ("unit/test_quick.py", "tests/__init__.py", True),  # what `from tests import` reads
    ],
)
def test_what_is_near(test: str, changed: str, is_near: bool) -> None:
    assert quick.is_near(ROOT / "tests" / test, Path(changed)) is is_near


def item(path: str, *needs: str, **params: str) -> Any:
    place = ROOT / "tests" / path
    return SimpleNamespace(path=place, fixturenames=needs, callspec=SimpleNamespace(params=params))


def test_a_smoke_comes_first_then_what_is_near_then_what_is_light(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(quick, "what_was_changed", lambda: frozenset([Path("gate.js")]))
    tour, tour_again = item("browser/test_tour.py", "browser"), item("browser/test_tour.py")
    gate = item("browser/test_gate.py", "browser")
    light, lighter = item("unit/test_light.py"), item("unit/test_light.py")
    stored, stored_again = (item("unit/test_light.py", new_database="postgres") for _ in range(2))
    chosen, left_out = quick.chosen([tour, tour_again, gate, light, lighter, stored, stored_again])
    assert chosen == [light, stored, tour, gate, lighter]
    assert left_out == [stored_again, tour_again]


def test_the_time_that_was_given_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("RINGSIDE_QUICK_UNTIL", raising=False)
    assert not quick.is_over()
    for until, is_over in (("1", True), ("99999999999", False)):
        monkeypatch.setenv("RINGSIDE_QUICK_UNTIL", until)
        assert quick.is_over() is is_over
