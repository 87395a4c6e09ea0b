"""What the gate check finds: what is wrong, what is not settled, what is only advice.

The phone does the same before the ring, static/js/core/gate.js; tests/vectors/rules/gate.json holds
the two together. A point is {"id", "state", "words", "remedy", "why", "source", "act", "tick"}:
sayings (`says`), what to do before the reasons; what mends it, {"to": "dog", "show", "entry" or
"measures", "words"}, or None; and whether a finger can tick it. Its states: "wrong" bars, "unknown"
wants settling, "advice" bars nobody, "right" is in order by what is written down.
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
_TO_SETTLE = "settle"
_GRAVEST = ("wrong", "unknown", "advice", "right")
_FOLLOWS = {"may not": "wrong", "may if": "unknown", "may": "advice"}


def _say(says: str, **held: Saying) -> Data:
    return {"says": says, **held}


def _point(
    key: str,
    state: str,
    words: Saying,
    *,
    remedy: Sequence[Saying] = (),
    why: Sequence[Saying] = (),
    source: Sequence[Saying] = (),
    act: Data | None = None,
    tick: bool | None = None,
) -> Data:
    return {
        "id": key, "state": state, "words": words, "remedy": list(remedy), "why": list(why),
        "source": list(source), "act": act,
        "tick": state in ("unknown", "advice") if tick is None else tick,
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
    bars: Sequence[Data] = (),
    microchip: str | None = None,
    codes: Codes | None = None,
) -> list[Data]:
    """Return all that can be looked up about an entry; see the functions below."""
    return [
        class_finding(standing, body=body, klass=klass, dated=dated, stale=stale),
        *limit_findings(limits, measures, body),
        *testes_finding(dog, bars),
        chip_finding(microchip, codes),
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
    own class, or None where the body has none of that id, "opens": {"name", "from"} of the class
    that opens first where it is too young for any}; None where nothing was looked up. A ruling is
    {"name", "verdict", "why", "readings", "source", "age", "day", "from", "opens"}: days are ISO
    text, "from" and "opens" the first day of a "may not" and the first after it, or None.
    `dated`: the day of the show is known. `stale`: worked out before the last change on this phone.
    """
    if not (body and dated):
        act = {"to": "show", "words": _say("edit-show")}
        return _class("unknown", _say("class-unseen"), remedy=[_say("note-show")], act=act)
    if standing is None:
        remedy = [_say("meet-book")]
        return _class("unknown", _say("class-unseen"), remedy=remedy, act=_edit("edit-dog"))
    ruling = standing["ruling"]
    if not klass or ruling is None:
        return _without_class(standing, body, klass)
    name, source = ruling["name"], [ruling["source"]]
    why: list[Saying] = [ruling["why"], *ruling["readings"], *([_say("stale")] if stale else [])]
    schedule = _say("schedule")
    if ruling["verdict"] == "may":
        return _class("right", _say("class-may", name=name), why=why, source=source)
    if ruling["verdict"] == "may if":
        words = _say("class-if", name=name)
        return _class("unknown", words, remedy=[schedule], why=why, source=source)
    return _class(
        "wrong",
        _refusal(ruling),
        remedy=[_open_to(standing["open"])],
        why=[*why, schedule],
        source=source,
        act=_entry("choose-class"),
    )


def _class(state: str, words: Saying, **more: Any) -> Data:
    return _point("class", state, words, **more)


def _without_class(standing: Data, body: str, klass: str | None) -> Data:
    act, opens = _entry("choose-class"), standing.get("opens")
    if opens:
        first = _say("first-class", name=opens["name"], day=_day(opens["from"]))
        return _class("wrong", _say("too-young-all"), remedy=[first], why=[_say("schedule")])
    instead = _open_to(standing["open"])
    if not klass:
        return _class("unknown", _say("class-none"), remedy=[instead], act=act)
    why = [_say("not-of-body", body=body)]
    return _class("unknown", _say("class-strange"), remedy=[instead], why=why, act=act)


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


def _day(day: str) -> str:
    return say_day(date.fromisoformat(day))


# --- limits, testes, chip ----------------------------------------------------------------------


def limit_findings(limits: Sequence[Data], measures: Sequence[Data], body: str) -> list[Data]:
    """Return what the limits of the body say (`limits.limits`, `limits.limit_state`).

    One finding of weight and one of height, the gravest; others that say the same give their
    reasons to it. Of those that do not disqualify, only one that is passed is worth a look.
    """
    found: dict[str, list[Data]] = {}
    for limit in limits:
        if limit["of"] != body:
            continue
        finding = _limit_finding(limit, measures)
        if limit["weight"] == "disqualifying" or finding["state"] == "advice":
            found.setdefault(finding["id"], []).append(finding)
    return [_gravest(same) for same in found.values()]


def _limit_finding(limit: Data, measures: Sequence[Data]) -> Data:
    stands = limit_state(limit, measures)
    state = "advice" if stands["state"] == "off" else stands["state"]
    return _point(
        limit["what"],
        state,
        stands["words"],
        remedy=[_say("measure-again")] if state == "wrong" else [],
        why=stands["more"],
        source=limit_source(limit),
        act=None if state == "right" else {"to": "measures", "words": _say("measure")},
    )


def _gravest(findings: Sequence[Data]) -> Data:
    first = min(findings, key=lambda one: _GRAVEST.index(one["state"]))
    same = [one for one in findings if one["state"] == first["state"]]
    said = {
        part: _once(saying for one in same for saying in one[part]) for part in ("why", "source")
    }
    return {**first, **said}


def _once(sayings: Iterable[Saying]) -> list[Saying]:
    said: list[Saying] = []
    for saying in sayings:
        if saying not in said:
            said.append(saying)
    return said


def testes_finding(dog: Dog, bars: Sequence[Data]) -> list[Data]:
    """Return what was felt, of a male that is not neutered. What is missing is for a vet.

    `bars` are those of the body (`eligibility.bars_for`): whether it bars him.
    """
    if dog.sex != "dog" or dog.neutered:
        return []
    act, source = _edit("write-down"), [_say("own-record")]
    bar = next((one for one in bars if one["question"] == "testes"), None)
    why: list[Saying] = [bar["why"]] if bar else []
    if bar:
        source.append(bar["source"])
    missing = _FOLLOWS[bar["verdict"]] if bar else "unknown"
    if dog.testes is None:
        state = "advice" if missing == "advice" else "unknown"
        words, remedy = _say("testes-unknown"), [_say("feel")]
        return [_point("testes", state, words, remedy=remedy, why=why, source=source, act=act)]
    found, on = dog.testes.state, dog.testes.on
    felt = _say("felt", day=say_day(on)) if on else _say("felt-undated")
    words = _say(f"testes-{found}")
    if found == "both":
        return [_point("testes", "right", words, why=[felt], source=source)]
    why = [felt, *why]
    remedy = [_say("see-vet")]
    return [_point("testes", missing, words, remedy=remedy, why=why, source=source, act=act)]


def chip_finding(number: str | None, codes: Codes | None = None) -> Data:
    """Return whether there is a chip number and looks right; none of it bars a dog."""
    if not number:
        words, remedy = _say("chip-none"), [_say("chip-ask")]
        source = [_say("common-practice")]
        return _point(
            "chip", "advice", words, remedy=remedy, source=source, act=_edit("write-down")
        )
    chip, source = check(number, codes), [_say("chip-source")]
    if chip.fine:
        why = [_say("chip-fine", number=number, message=chip.message)]
        return _point("chip", "right", _say("chip-right"), why=why, source=source)
    remedy = [_say("chip-kept", number=number, message=chip.message)]
    act = _edit("look-again")
    return _point("chip", "advice", _say("chip-odd"), remedy=remedy, source=source, act=act)


# --- the items for one's own eyes --------------------------------------------------------------


def items_of(
    listed: Iterable[Data], entry: Data, kit: Iterable[Data], bars: Sequence[Data] = ()
) -> list[Data]:
    """Return the items of the list and the dog's own: {"id", "group", "text", ...}.

    `listed` as in gate.toml, `entry` the values of its record, `kit` [{"id", "line"}]; a line may
    be missing. `bars` are those of `eligibility.bars_for`; an item keeps what it asks about.
    "text" is a saying; "missing": what the item needs is not written down.
    """
    has = {"armband": entry.get("armband"), "ring": entry.get("ring") and entry.get("time")}
    items = []
    for item in listed:
        asks = [bar for bar in bars if bar["question"] in item.get("bars", ())]
        if asks or not item.get("where_barred"):
            missing = bool(item.get("needs")) and not has[item["needs"]]
            items.append({**item, "bars": asks, "missing": missing})
    own = [
        {
            "id": row["id"],
            "group": _OWN,
            "text": (row.get("line") or "").strip() or _say("own-wordless"),
            "own": True,
            "bars": [],
            "missing": False,
        }
        for row in kit
    ]
    return items + own


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


# --- all of it, sorted -------------------------------------------------------------------------


def sort_out(
    findings: Sequence[Data], items: Sequence[Data], states: Mapping[str, str]
) -> dict[str, Any]:
    """Return each point once: what is "wrong", the "rows" to tick, "advice" and what is "right".

    `states` by point: "ready" (seen to, or put aside), "not ready"; none is "open". A row or an
    advice has that as its "state", and a "group". "todo" counts what is neither wrong nor done;
    advice never counts.
    """

    def drawn(point: Data, group: str) -> Data:
        state = "ready" if states.get(point["id"]) == "ready" else "open"
        return {**point, "state": state, "group": group}

    wrong = [one for one in findings if one["state"] == "wrong"]
    rows = [drawn(one, _TO_SETTLE) for one in findings if one["state"] == "unknown"]
    advice = [drawn(one, "") for one in findings if one["state"] == "advice"]
    for item in items:
        point = _item_point(item, states.get(item["id"], "open"))
        if point["state"] == "open":
            rows.append(drawn(point, item["group"]))
        elif point["state"] == "advice":
            advice.append(drawn(point, ""))
        else:
            wrong.append(point)
    return {
        "wrong": wrong,
        "rows": rows,
        "advice": advice,
        "right": [one for one in findings if one["state"] == "right"],
        "todo": sum(one["state"] != "wrong" for one in wrong)
        + sum(row["state"] == "open" for row in rows),
    }


def _item_point(item: Data, state: str) -> Data:
    """An item as a point: "open" for a row, else what is found where it is denied or lacking."""
    help_ = [item["help"]] if item.get("help") else []
    why = [saying for bar in item["bars"] for saying in _barred(bar)]
    source = _once([item_source(item), *(bar["source"] for bar in item["bars"])])
    if state == "not ready":
        found = min((_FOLLOWS[bar["verdict"]] for bar in item["bars"]), key=_GRAVEST.index,
                    default="wrong")  # fmt: skip
        words = item.get("denied") or _say("not-ready", item=item["text"])
        return _point(item["id"], found, words, remedy=help_, why=why, source=source, tick=True)
    if state == "open" and item["missing"]:
        remedy, act = [item["remedy"]], _entry("note")
        return _point(
            item["id"], "wrong", item["lacking"], remedy=remedy, source=source, act=act, tick=True
        )
    return _point(item["id"], "open", item["text"], remedy=help_, why=why, source=source, tick=True)


def _barred(bar: Data) -> list[Saying]:
    return [bar["why"], *([_say("only-if", asks=bar["asks"])] if bar["asks"] else [])]
