"""What follows from the text of a file alone, worked out once for all apps of a process.

A test makes an app of its own, and to read its knowledge, compile its pages and press its files
costs more than most tests of them.
"""

from __future__ import annotations

import pickle
import tomllib
from collections.abc import Callable, Iterator
from functools import cache, lru_cache, partial
from typing import Any

import brotli
from flask import Flask
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket


def remembered() -> Iterator[tuple[Any, str, Any]]:
    """What to put where, so that it remembers: (whose, name, what)."""
    read = cache(partial(_pickled, tomllib.loads))
    # Who asks may change what it gets.
    yield tomllib, "loads", lambda text: pickle.loads(read(text))
    yield brotli, "compress", lru_cache(256)(brotli.compress)
    yield Flask, "jinja_options", {"bytecode_cache": Remembered()}


def _pickled(function: Callable[[str], Any], text: str) -> bytes:
    return pickle.dumps(function(text))


class Remembered(BytecodeCache):
    """What each template is compiled to, as long as its source stays as it is."""

    def __init__(self) -> None:
        self._held: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if code := self._held.get(bucket.key):
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._held[bucket.key] = bucket.bytecode_to_string()
