"""Where the files beside the code are: inside the installed package, or in the checkout."""

from __future__ import annotations

from pathlib import Path

_INSTALLED = Path(__file__).parent / "_files"
_CHECKOUT = Path(__file__).parent.parent


def folder(name: str) -> Path:
    """Return the folder `name` ("static", "templates" or "demo_data")."""
    inside = _INSTALLED / name
    return inside if inside.is_dir() else _CHECKOUT / name
