"""What came of an entry: its result, and what it teaches, station by station.

Both have ids that the phone makes from what they are about (static/js/core/results.js), so that two
phones write the same record. `judge_key` is the judge's name as it is compared (the same file), by
which a judge's results are found without going through all.
"""

from ringside.book.kinds.common import STATION
from ringside.book.kinds.fields import Choice, Day, FreeText, Number, Ref, Words
from ringside.book.kinds.kind import Kind, Seen

# The best first. Which of them a body gives, and in which words: knowledge/results.toml.
PLACINGS = ("1", "2", "3", "4", "reserve", "vhc", "unplaced", "absent")

# A placing and a critique are said before all the ring and printed; so a helper may see them.
# `placing` and `grade` are as knowledge/results.toml has them for the show's body.
RESULT = Kind(
    name="result",
    words="result",
    seen=Seen.BY_ALL,
    about="dog",
    also=("judge_key",),
    newest="day",
    fields={
        "entry": Ref("entry", required=True, quiet=True),
        "dog": Ref("dog", required=True),
        "show": Ref("show"),
        "day": Day(required=True),
        "klass": Words(40, says="class"),
        "placing": Choice(PLACINGS),
        "grade": Words(STATION),
        "competing": Number(5000, says="dogs competing"),
        "judge": Words(60),
        "judge_key": Words(60, quiet=True),
        "critique": FreeText(),
        "well": FreeText(says="what went well"),
    },
)

# What a result says of one station. The judge `liked` it or `named` it as a fault; the handler
# means to `practise` it. Critiques are public, and the helper who rehearses goes by it as by the
# marks of practice, so all see it; what nobody may see is written as a private note.
LESSON = Kind(
    name="lesson",
    words="lesson of a result",
    seen=Seen.BY_ALL,
    about="dog",
    also=("result", "judge_key"),
    newest="day",
    listed=False,
    fields={
        "result": Ref("result", required=True, quiet=True),
        "dog": Ref("dog", required=True),
        "station": Words(STATION, required=True),
        "says": Choice(("liked", "named", "practise"), required=True),
        "day": Day(required=True),
        "judge_key": Words(60, quiet=True),
    },
)
