"""Templates that one app has compiled, remembered for the next app of the same process.

A test makes an app of its own, and compiling its pages costs more than most tests of them.
"""

from __future__ import annotations

from jinja2 import BytecodeCache
from jinja2.bccache import Bucket


class Remembered(BytecodeCache):
    """What each template is compiled to, as long as its source stays as it is."""

    def __init__(self) -> None:
        self._held: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if code := self._held.get(bucket.key):
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._held[bucket.key] = bucket.bytecode_to_string()
