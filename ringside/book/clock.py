"""The hybrid logical clock that orders edits, as fixed-width ASCII that sorts as it orders.

A stamp is `<12 hex ms>-<4 hex counter>-<12 hex node>`; lower case throughout, so text order is
clock order in Python, JavaScript, SQLite and PostgreSQL. The phone has the same functions; the
vectors in tests/vectors hold the two together.

Source of the algorithm: Kulkarni, Demirbas, Madappa, Avva, Leone, "Logical Physical Clocks",
OPODIS 2014 (doi 10.1007/978-3-319-14472-6_2).
"""

from __future__ import annotations

import re
import time

STAMP = re.compile(r"[0-9a-f]{12}-[0-9a-f]{4}-[0-9a-f]{12}")
MOST_COUNTED = 0xFFFF
BOOK = 1  # the first count of a stamp that the book gives
LAST_MS = 0xFFFF_FFFF_FFFF


def node_of(device: str) -> str:
    """Return the node of a device: the last 12 hex digits of its UUID."""
    return device[-12:]


def ms(stamp: str) -> int:
    """Return the milliseconds since 1970-01-01 UTC that a stamp claims."""
    return int(stamp[:12], 16)


def node(stamp: str) -> str:
    """Return the node that made a stamp."""
    return stamp[18:]


def tick(last: str, now: int, by: str, first: int = 0) -> str:
    """Return the stamp after `last` for node `by`, when the wall clock says `now` (ms).

    Never goes back: while the wall clock stands still or runs backwards only the counter moves.
    `last` may be "" for a clock that has never ticked. A device counts by even numbers (`first`
    0); what the book stamps in its name has odd ones (BOOK), so that the two can never make the
    same stamp.
    """
    if not last or ms(last) < now:
        return f"{now:012x}-{first:04x}-{by}"
    counter = int(last[13:17], 16) + 1
    counter += (counter + first) % 2
    if counter > MOST_COUNTED:
        return f"{ms(last) + 1:012x}-{first:04x}-{by}"
    return f"{last[:12]}-{counter:04x}-{by}"


def later(one: str, other: str) -> str:
    """Return the greater of two stamps: what a clock becomes on receiving one."""
    return max(one, other)


def wall() -> int:
    """Return the present (ms) by this machine's own clock."""
    return time.time_ns() // 1_000_000
