"""Ids of records that two devices may both begin: made from what the record is about."""

from __future__ import annotations

_BITS = 0xFFFFFFFF


def id_of(words: str) -> str:
    """Return the id that static/js/core/ids.js `idOf` makes of `words`: a UUID of version 8 (RFC
    9562, section 5.8), four times 32 bits of FNV-1a."""
    content = words.encode()
    digits = "".join(
        _hash(content, (0x811C9DC5 ^ (turn * 0x9E3779B9)) & _BITS) for turn in range(4)
    )
    whole = f"{digits[:12]}8{digits[13:16]}8{digits[17:]}"
    return "-".join((whole[:8], whole[8:12], whole[12:16], whole[16:20], whole[20:]))


def _hash(content: bytes, begin: int) -> str:
    total = begin
    for byte in content:
        total = ((total ^ byte) * 0x01000193) & _BITS
    total = ((total ^ (total >> 16)) * 0x85EBCA6B) & _BITS
    return f"{total ^ (total >> 13):08x}"
