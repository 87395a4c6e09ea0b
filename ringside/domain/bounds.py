"""What is believed of what a person types: sizes of dogs, days, points, countries.

What lies beyond is a slip of the finger (500 kg, a show of the year 1900, a country that is none)
and is refused where it is typed, with the reason. The phone is given these bounds and looks at its
forms with them, static/js/core/bounds.js. What a table can bring too is looked at here, in the same
words: days, times and countries. Sizes, points, own cues and the day entries close stand in no
table, so the phone alone looks at them. They are no rules of the trade: generous, from memory, and
none of them decides about a dog.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from ringside.domain.days import DAY, LONGEST_SHOW, end_of, say_day
from ringside.knowledge.loader import Knowledge

# No dog that is shown was whelped before, and no show held.
_OLDEST = date(1990, 1, 1)
# The lightest newborn and the heaviest dog (kg), the lowest back and the highest withers (cm).
SIZES = {"weight": (0.05, 160), "height": (3, 120)}
# How far ahead shows are announced (days).
FARTHEST_SHOW = 5 * 366
# How long before a show its entries may close (days).
EARLIEST_CLOSING = 366
# Words and letters of an own cue: what two seconds can read.
CUE_WORDS, CUE_LETTERS = 5, 30
# How a time of day begins; words such as "3 dogs after lunch" may begin with a number too.
_TIME = re.compile(r"([0-9]{1,3})(?:[:.h]([0-9]{1,3}))?(?![0-9])")
_HOUR = re.compile(r"[0-9]+\s*")

# ISO 3166-1 alpha-2, as the time zone database lists it in 2023; and Kosovo's XK, which ISO leaves
# to its users.
COUNTRIES = (
    "AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR "
    "BS BT BV BW BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ "
    "EC EE EG EH ER ES ET FI FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS GT GU GW "
    "GY HK HM HN HR HT HU ID IE IL IM IN IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY "
    "KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV "
    "MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF PG PH PK PL PM PN PR PS PT PW PY "
    "QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV SX SY SZ TC TD TF TG "
    "TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI VN VU WF WS XK YE YT ZA "
    "ZM ZW"
)


def bounds(knowledge: Knowledge) -> dict[str, Any]:
    """Return the bounds as the phone is given them.

    "sizes" are {measure: [least, most]} in kg and cm, "points" {body: most at one show}, which
    comes from the title rules; "countries" are words in one text.
    """
    return {
        "oldest": _OLDEST.isoformat(),
        "sizes": {what: list(ends) for what, ends in SIZES.items()},
        "farthest_show": FARTHEST_SHOW,
        "earliest_closing": EARLIEST_CLOSING,
        "cue": {"words": CUE_WORDS, "letters": CUE_LETTERS},
        "points": _most_points(knowledge),
        "countries": COUNTRIES,
    }


def _most_points(knowledge: Knowledge) -> dict[str, int]:
    most: dict[str, int] = {}
    for title in knowledge.titles.titles.values():
        for scheme in title.schemes.values():
            most[title.body] = max(most.get(title.body, 0), scheme.max_per_award)
    return most


def day_problem(day: date, today: date, born: date | None = None) -> str:
    """Return why a day of a dog's life is not believed, "" if it is."""
    if day > today:
        return "That day is in the future. Check the date."
    if born and day < born:
        return f"The dog was born on {say_day(born)}, after that day."
    if day < _OLDEST:
        return "That is too long ago for a living dog. Check the year."
    return ""


def show_problems(day: date | None, until: date | None, today: date) -> dict[str, str]:
    """Return what is not believed of the days of a show: {"day" or "until": sentence}."""
    if day is None:
        return {}
    if problem := show_day_problem(day, today):
        return {"day": problem}
    if until and until < day:
        return {"until": "The last day comes before the first. Correct one of them."}
    if until and (until - day).days >= LONGEST_SHOW:
        return {"until": f"A show has at most {LONGEST_SHOW} days. Check the month and the year."}
    return {}


def show_day_problem(day: date, today: date) -> str:
    """Return why a day on which a show is held is not believed, "" if it is."""
    if day < _OLDEST:
        return "That is too long ago. Check the year."
    return "That is years ahead. Check the year." if day > today + FARTHEST_SHOW * DAY else ""


def shown_problem(day: date, first: date, until: date | None) -> str:
    """Return why a dog cannot be shown on `day` at a show of these days, "" if it can."""
    is_on = first <= day <= end_of(first, until)
    return "" if is_on else "The show does not run on that day. Check its days."


def time_problem(time: str) -> str:
    """Return why the time an entry goes in is not believed, "" if it is.

    It is a time of day, or words such as "after the Beagles".
    """
    found = _TIME.match(time)
    if not found or not (found[2] or _HOUR.fullmatch(time)):
        return ""
    hour, minute = found[1], found[2] or "00"
    is_time = int(hour) < 24 and int(minute) < 60 and len(minute) == 2
    return "" if is_time else f"There is no such time as {time}. Write it like 10:30."


def country_problem(code: str) -> str:
    """Return why two letters cannot be kept as a country's, "" if they can."""
    if code in COUNTRIES.split():
        return ""
    instead = "GB" if code == "UK" else ""
    return f"No country has the code {code}" + (f"; write {instead}." if instead else ".")
