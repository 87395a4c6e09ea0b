"""The countdown to a show, as the handler's finger left it."""

from ringside.book.kinds.fields import Choice, Day, Number, Ref, Words
from ringside.book.kinds.kind import Kind, Seen

OWN = "own"

# Either a task of one's own (`task` is "own"): its `line`, its `day`, and after how many days it
# comes again. Or what was done to one task on one day: `task` is the key domain/countdown.py gives
# it, the record's id is made from entry and key (core/ids.js), `day` is where it was moved.
TASK = Kind(
    name="task",
    words="task before a show",
    seen=Seen.BY_ALL,
    about="entry",
    fields={
        "entry": Ref("entry", required=True),
        "task": Words(60, required=True, quiet=True),
        "line": Words(80, says="what to do"),
        "day": Day(),
        "every": Number(60, says="again after days"),
        "state": Choice(("open", "done", "skipped")),
    },
)
