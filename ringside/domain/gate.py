"""What the gate check finds: what is wrong, what is not known, what is in order.

The phone does the same before the ring, static/js/core/gate.js; tests/vectors/rules/gate.json holds
the two together. A finding is {"state", "words", "remedy", "source", "act"}: sayings (`says`), and
what can be done about it, {"to": "dog", "show", "entry" or "measures", "words"}, or None.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from ringside.domain.days import say_day
from ringside.domain.dog import Dog
from ringside.domain.limits import limit_source, limit_state
from ringside.domain.microchip import check
from ringside.domain.says import Saying
from ringside.knowledge.chip_schema import Codes
from ringside.knowledge.schema import COMMON_PRACTICE

Data = dict[str, Any]

_MOST_NAMED = 3
_FEW_DAYS = 60
_OWN = "own"


def _say(says: str, **held: Saying) -> Data:
    return {"says": says, **held}


def _found(
    state: str,
    words: Saying,
    remedy: Sequence[Saying],
    source: Sequence[Saying] = (),
    act: Data | None = None,
) -> Data:
    return {
        "state": state, "words": words, "remedy": list(remedy), "source": list(source), "act": act,
    }  # fmt: skip


def _edit(words: str) -> Data:
    return {"to": "dog", "words": _say(words)}


def _entry(words: str) -> Data:
    return {"to": "entry", "words": _say(words)}


def findings(
    standing: Data | None,
    dog: Dog,
    *,
    body: str,
    klass: str | None,
    dated: bool = True,
    stale: bool = False,
    limits: Sequence[Data] = (),
    measures: Sequence[Data] = (),
    microchip: str | None = None,
    codes: Codes | None = None,
) -> list[Data]:
    """Return all that can be looked up about an entry; see the functions below."""
    return [
        class_finding(standing, body=body, klass=klass, dated=dated, stale=stale),
        *limit_findings(limits, measures, body),
        *testes_finding(dog),
        *chip_finding(microchip, codes),
    ]


# --- the class ---------------------------------------------------------------------------------


def class_finding(
    standing: Data | None,
    *,
    body: str,
    klass: str | None,
    dated: bool = True,
    stale: bool = False,
) -> Data:
    """Return whether it may go into its class.

    `standing` is {"open": names of the classes simply open to it that day, "ruling": that of its
    own class, or None where the body has none of that id}; None where nothing was looked up. A
    ruling is {"name", "verdict", "why", "readings", "source", "age", "day", "from", "opens"}: days
    are ISO text, "from" and "opens" the first day of a "may not" and the first after it, or None.
    `dated`: the day of the show is known, as its body is if there is one. `stale`: worked out
    before the last change on this phone.
    """
    if not (body and dated):
        act = {"to": "show", "words": _say("edit-show")}
        return _found("unknown", _say("class-unseen"), [_say("note-show")], act=act)
    if standing is None:
        remedy = [_say("meet-book")]
        return _found("unknown", _say("class-unseen"), remedy, act=_edit("edit-dog"))
    act, instead, ruling = _entry("choose-class"), _open_to(standing["open"]), standing["ruling"]
    if not klass:
        return _found("unknown", _say("class-none"), [instead], act=act)
    if ruling is None:
        remedy = [_say("not-of-body", body=body), instead]
        return _found("unknown", _say("class-strange"), remedy, act=act)
    name, source = ruling["name"], [ruling["source"]]
    told: list[Saying] = [ruling["why"], *ruling["readings"], *([_say("stale")] if stale else [])]
    if ruling["verdict"] == "may":
        return _found("right", _say("class-may", name=name), told, source)
    told_if = [*told, _say("schedule")]
    if ruling["verdict"] == "may if":
        return _found("unknown", _say("class-if", name=name), told_if, source)
    return _found("wrong", _refusal(ruling), [*told, instead, _say("schedule")], source, act)


def _open_to(names: Sequence[str]) -> Data:
    if not names:
        return _say("open-none")
    classes, more = ", ".join(names[:_MOST_NAMED]), len(names) - _MOST_NAMED
    return (
        _say("open-more", classes=classes, more=more) if more > 0 else _say("open", classes=classes)
    )


def _refusal(ruling: Data) -> Data:
    """By how much it is too young or too old, if by a few days; else the reason's opening."""
    name, age = ruling["name"], ruling["age"]
    if not age:
        short = re.split("[:;.]", ruling["why"], maxsplit=1)[0]
        return _say("barred", name=name, why=f"{short[:1].lower()}{short[1:]}")
    days = 0
    if age == "young" and ruling["opens"]:
        days = _days_between(ruling["day"], ruling["opens"])
    elif age == "old" and ruling["from"]:
        days = _days_between(ruling["from"], ruling["day"]) + 1
    if not 0 < days <= _FEW_DAYS:
        return _say(f"too-{age}", name=name)
    return (
        _say(f"day-too-{age}", name=name)
        if days == 1
        else _say(f"days-too-{age}", name=name, days=days)
    )


def _days_between(first: str, last: str) -> int:
    return (date.fromisoformat(last) - date.fromisoformat(first)).days


# --- limits, testes, chip ----------------------------------------------------------------------


def limit_findings(limits: Sequence[Data], measures: Sequence[Data], body: str) -> list[Data]:
    """Return what the limits of the body say (`limits.limits`, `limits.limit_state`).

    Of those that do not disqualify, only one that is passed is worth a look at the gate.
    """
    found = []
    for limit in limits:
        if limit["of"] != body:
            continue
        stands = limit_state(limit, measures)
        state, more = stands["state"], stands["more"]
        if limit["weight"] != "disqualifying" and state != "off":
            continue
        if state == "wrong":
            more = [*more, _say("measure-again")]
        act = None if state == "right" else {"to": "measures", "words": _say("measure")}
        shown = "unknown" if state == "off" else state
        found.append(_found(shown, stands["words"], more, limit_source(limit), act))
    return found


def testes_finding(dog: Dog) -> list[Data]:
    """Return what was felt, of a male that is not neutered. What is missing is for a vet."""
    if dog.sex != "dog" or dog.neutered:
        return []
    act, source = _edit("write-down"), [_say("own-record")]
    if dog.testes is None:
        return [_found("unknown", _say("testes-unknown"), [_say("feel")], source, act)]
    state, on = dog.testes.state, dog.testes.on
    felt = _say("felt", day=say_day(on)) if on else _say("felt-undated")
    if state == "both":
        return [_found("right", _say("testes-both"), [felt], source)]
    return [_found("wrong", _say(f"testes-{state}"), [felt, _say("see-vet")], source, act)]


def chip_finding(number: str | None, codes: Codes | None = None) -> list[Data]:
    """Return whether a chip number, where there is one, looks right."""
    if not number:
        return []
    chip, source = check(number, codes), [_say("chip-source")]
    said = {"number": number, "message": chip.message}
    if chip.fine:
        return [_found("right", _say("chip-right"), [_say("chip-fine", **said)], source)]
    act = _edit("look-again")
    return [_found("unknown", _say("chip-odd"), [_say("chip-kept", **said)], source, act)]


# --- the items for one's own eyes --------------------------------------------------------------


def items_of(
    listed: Iterable[Data], entry: Data, microchip: str | None, kit: Iterable[Data]
) -> list[Data]:
    """Return the items of the list and the dog's own: {"id", "group", "text", ...}.

    `listed` as in gate.toml, `entry` the values of its record, `kit` [{"id", "line"}]; a line may
    be missing. "text" is a saying; "missing": what the item needs is not written down.
    """
    has = {
        "armband": entry.get("armband"),
        "ring": entry.get("ring") and entry.get("time"),
        "microchip": microchip,
    }
    items = [
        {
            **item,
            "text": _worded(item, entry),
            "missing": bool(item.get("needs")) and not has[item["needs"]],
        }
        for item in listed
    ]
    own = [
        {
            "id": row["id"],
            "group": _OWN,
            "text": (row.get("line") or "").strip() or _say("own-wordless"),
            "own": True,
            "missing": False,
        }
        for row in kit
    ]
    return items + own


def _worded(item: Data, entry: Data) -> Saying:
    armband, ring, time = (entry.get(name) for name in ("armband", "ring", "time"))
    if item.get("needs") == "armband" and armband:
        return _say("armband", armband=armband)
    if item.get("needs") == "ring" and ring:
        return _say("ring-time", ring=ring, time=time) if time else _say("ring", ring=ring)
    text: str = item["text"]
    return text


def newest_ticks(ticks: Iterable[Data]) -> dict[str, Data]:
    """Return {item: tick}: of an item ticked on two phones the newest tick counts.

    A half one (no item, no state, no moment) is none.
    """
    newest: dict[str, Data] = {}
    for tick in ticks:
        if not (tick.get("item") and tick.get("state") and tick.get("at")):
            continue
        before = newest.get(tick["item"])
        if before is None or before["at"] <= tick["at"]:
            newest[tick["item"]] = tick
    return newest


def item_source(item: Data) -> Saying:
    """Return where an item comes from."""
    if item.get("own"):
        return _say("own-item")
    source: str = item["source"]
    return _say("common-practice") if source == COMMON_PRACTICE else source


def sort_out(
    findings: Sequence[Data], items: Sequence[Data], states: Mapping[str, str]
) -> dict[str, Any]:
    """Return what is "wrong", "unknown" and "right", and how many things are left "todo".

    That is what was found, what an open item needs, what is not ready. `states` by item: "ready",
    "not ready"; none is "open".
    """

    def state_of(item: Data) -> str:
        return states.get(item["id"], "open")

    still = [item for item in items if state_of(item) == "open"]
    lacks = [_lack_of(item) for item in still if item["missing"]]
    unready = [_unready(item) for item in items if state_of(item) == "not ready"]
    every = {
        state: [one for one in [*findings, *lacks] if one["state"] == state]
        for state in ("wrong", "unknown", "right")
    }
    todo = len(every["unknown"]) + sum(not item["missing"] for item in still)
    return {**every, "wrong": every["wrong"] + unready, "todo": todo}


def _lack_of(item: Data) -> Data:
    act = _edit("write-down") if item["needs"] == "microchip" else _entry("note")
    state = "wrong" if item.get("grave") else "unknown"
    return _found(state, item["lacking"], [item["remedy"]], [item_source(item)], act)


def _unready(item: Data) -> Data:
    remedy = [item["help"]] if item.get("help") else []
    return _found("wrong", _say("not-ready", item=item["text"]), remedy, [item_source(item)])
