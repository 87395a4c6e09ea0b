"""What is shipped of the trade's knowledge, read once for all tests of a process.

Nobody may change it: who wants other knowledge makes it of this by `dataclasses.replace`, or reads
a folder of its own by `load`.
"""

from __future__ import annotations

import functools

from ringside.knowledge import Knowledge, KnowledgeError, load


@functools.cache
def shipped() -> Knowledge:
    """The shipped knowledge; a breed is read whole when it is first asked for."""
    return load()


@functools.cache
def shipped_whole() -> Knowledge:
    """The same, with every breed read. Raises KnowledgeError as `load_whole` does."""
    if problems := shipped().breeds.read_all():
        raise KnowledgeError(problems)
    return shipped()
