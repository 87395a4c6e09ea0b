"""Every published text that the knowledge rests on."""

from __future__ import annotations

from collections.abc import Iterator

from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Source


def texts(knowledge: Knowledge) -> Iterator[Source]:
    """Return every published text the knowledge rests on, each once."""
    everything: list[Source] = list(knowledge.sources.values())
    everything += [text for breed in knowledge.breeds.profiles.values() for text in breed.standard]
    everything += [edition for item in knowledge.regulations.values() for edition in item.edition]
    everything += knowledge.titles.texts
    everything += knowledge.chips.source
    yield from {(it.body, it.title, it.number, it.date): it for it in everything}.values()
