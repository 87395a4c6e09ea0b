"""What a puppy is looked over for on a day: what is due, what was found, what is to come.

The phone works out the same, static/js/core/puppies.js; tests/vectors/puppies.json holds the two
together. Records are plain data, {"what", "found", "day"}; a half one counts for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

Data = dict[str, Any]

TESTES = "testes"
FELT = ("both", "one", "none")
GOOD = ("both", "good")
AGAIN = "not yet"


def due(
    checks: Iterable[Data],
    looks: Sequence[Data],
    *,
    born: str,
    sex: str | None,
    records: Sequence[Data],
    today: str,
) -> list[Data]:
    """Return how each check of a dog stands: {"check", "state", "look", "day", "last"}.

    `checks` and `looks` as in puppies.toml. "last" is the newest record of it, or None. States:
    "due" now, by "look", since "day"; "open", found not to be as hoped; "coming" on "day"; "done";
    "past", never written down and now too late to ask. Of what was found, "look" and "day" tell
    when it is looked at again, if it is. What is due comes first, the longest due before.
    """
    rows = [
        _row(check, [look for look in looks if look["check"] == check["id"]], born, records, today)
        for check in checks
        if not (check.get("sex") and sex and check["sex"] != sex)
    ]
    return sorted(rows, key=lambda row: (_ORDER.index(row["state"]), row["day"] or ""))


_ORDER = ("due", "open", "coming", "done", "past")


def _row(
    check: Data, looks: Sequence[Data], born: str, records: Sequence[Data], today: str
) -> Data:
    last = newest_check(records, check["id"])
    begun = [look for look in looks if _day(born, look["weeks"]) <= today]
    now = begun[-1] if begun and today < _day(born, begun[-1]["until"]) else None
    if now:
        since = _day(born, now["weeks"])
        if last is None or last["day"] < since or last["found"] == AGAIN:
            return _told(check, "due", now, since, last)
    following = next((look for look in looks if look not in begun), None)
    day = _day(born, following["weeks"]) if following else None
    if last:
        state = "done" if last["found"] in GOOD else "open"
        return _told(check, state, following, day, last)
    return _told(check, "coming" if following else "past", following, day, None)


def _told(check: Data, state: str, look: Data | None, day: str | None, last: Data | None) -> Data:
    seen = last and {"found": last["found"], "day": last["day"]}
    look_id = look["id"] if look else None
    return {"check": check["id"], "state": state, "look": look_id, "day": day, "last": seen}


def _day(born: str, weeks: int) -> str:
    # A year typed in part may be one after which the calendar ends.
    day = min(date.fromisoformat(born).toordinal() + 7 * weeks, date.max.toordinal())
    return date.fromordinal(day).isoformat()


def newest_check(records: Iterable[Data], what: str) -> Data | None:
    """Return the newest whole record of a check; of two of one day the later of the list."""
    newest: Data | None = None
    for one in records:
        if one.get("what") == what and one.get("found") and one.get("day"):
            newest = one if newest is None or newest["day"] <= one["day"] else newest
    return newest


def felt(values: Mapping[str, Any], last: Mapping[str, Any] | None) -> Data:
    """Return what was felt last of the testes: {"testes", "testes_on"} as on a dog's record.

    `values` are those of the dog, `last` its newest testes check. The newer counts; a check has a
    day, so it counts before what nobody knows the day of, and of one day it is the check.
    """
    on_record = {"testes": values.get("testes"), "testes_on": values.get("testes_on")}
    if not last or last.get("found") not in FELT or not last.get("day"):
        return on_record
    if on_record["testes"] and (on_record["testes_on"] or "") > last["day"]:
        return on_record
    return {"testes": last["found"], "testes_on": last["day"]}
