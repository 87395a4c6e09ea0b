"""Shape of gate.toml: what is looked at before the dog goes in, in groups."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from ringside.knowledge.regulation_schema import Question
from ringside.knowledge.schema import Entry, Headline, Id, Line


class GateGroup(Entry):
    """A part of the gate check with its own end; at most seven items."""

    id: Id
    name: Line


class GateItem(Entry):
    """Something to be seen before going in.

    `needs` names a field of the entry whose absence is itself a finding, worded by `lacking` and
    `remedy`. `bars` are questions of the regulations that this look answers: it says what bars the
    dog where the answer is no, in the words of `denied`. `where_barred`: asked only where the body
    of the show bars any of it.
    """

    id: Id
    group: Id
    text: Headline
    help: Line
    source: str
    needs: Literal["armband", "ring"] | None = None
    lacking: Headline | None = None
    remedy: Line | None = None
    bars: tuple[Question, ...] = ()
    denied: Headline | None = None
    where_barred: bool = False

    @model_validator(mode="after")
    def _need_is_worded(self) -> GateItem:
        if self.needs and not (self.lacking and self.remedy):
            raise ValueError("an item that needs something says what is lacking, and the remedy")
        if self.bars and not self.denied:
            raise ValueError("an item that asks about bars says what is found where one holds")
        if self.where_barred and not self.bars:
            raise ValueError("an item that is asked only where it bars names what bars")
        return self


class GateFile(Entry):
    """gate.toml."""

    group: tuple[GateGroup, ...]
    item: tuple[GateItem, ...]
