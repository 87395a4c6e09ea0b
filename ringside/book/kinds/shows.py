"""Shows, entries, the gate check of an entry, what a dog won and the titles it holds."""

from ringside.book.kinds.common import BODIES, LEVELS, MEMBERS, STATION
from ringside.book.kinds.fields import Choice, Day, Flag, Instant, Number, Ref, WordList, Words
from ringside.book.kinds.kind import Kind, Seen

# A show one means to go to, of one day or several. `zone` is where its clocks stand: an IANA name.
SHOW = Kind(
    name="show",
    words="show",
    seen=Seen.BY_ALL,
    newest="day",
    fields={
        "name": Words(80, required=True),
        "body": Choice(BODIES, required=True, says="rules of"),
        "member": Choice(MEMBERS, says="in which country"),
        "level": Choice(LEVELS, says="kind of show"),
        "day": Day(required=True),
        "until": Day(says="last day"),
        "closing": Day(says="day entries close"),
        "place": Words(120),
        "zone": Words(40, says="time zone"),
    },
)

# One dog at one show: where and when it goes in, as the schedule and the catalogue say. `ahead` are
# the dogs of each class that its ring judges before its own, and among them the printed times
# before which what follows does not begin: 8, 6, 10:40, 11. `before` are those ahead of it in its
# own class.
ENTRY = Kind(
    name="entry",
    words="entry",
    seen=Seen.BY_ALL,
    about="dog",
    also=("show",),
    fields={
        "dog": Ref("dog", required=True),
        "show": Ref("show", required=True),
        "klass": Words(40, says="class"),
        "day": Day(),
        "judge": Words(60),
        "ring": Words(20),
        "time": Words(20),
        "armband": Words(12),
        "ahead": WordList(quiet=True, says="dogs in the classes ahead"),
        "before": Number(500, quiet=True, says="dogs ahead in its class"),
    },
)

# One item of the gate check for one entry, as the handler's finger left it.
GATE = Kind(
    name="gate",
    words="gate check",
    seen=Seen.BY_ALL,
    about="entry",
    newest="at",
    fields={
        "entry": Ref("entry", required=True),
        "item": Words(STATION, required=True),
        "state": Choice(("ready", "not ready", "open"), required=True),
        "at": Instant(required=True),
    },
)

# An item of one's own in the gate check of a dog.
KIT = Kind(
    name="kit",
    words="own item for the gate",
    seen=Seen.BY_ALL,
    about="dog",
    fields={
        "dog": Ref("dog", required=True),
        "line": Words(40, required=True),
    },
)

# What a dog won: the stuff titles are counted from. `what` is an award kind of the body; `entry` is
# set once it was written or met at the result of an entry.
AWARD = Kind(
    name="award",
    words="award",
    seen=Seen.BY_ALL,
    about="dog",
    also=("entry",),
    newest="day",
    packs=("dog",),
    beside_packs=("entry",),
    fields={
        "dog": Ref("dog", required=True),
        "entry": Ref("entry", quiet=True),
        "day": Day(required=True),
        "body": Choice(BODIES, required=True, says="rules of"),
        "what": Words(STATION, required=True),
        "judge": Words(60),
        "judge_country": Words(2),
        "country": Words(2),
        "show": Words(80),
        "level": Choice(LEVELS, says="kind of show"),
        "klass": Words(40, says="class"),
        "breed_only": Flag(),
        "points": Number(100),
        "major": Flag(),
        "competing": Number(5000),
        "champions": Number(5000),
    },
)

# A title that a dog holds, or a test it has passed, whatever else is written down. `what` is one
# as the title files name it; without a day it was held all along.
TITLE = Kind(
    name="title",
    words="title held",
    seen=Seen.BY_ALL,
    about="dog",
    packs=("dog",),
    fields={
        "dog": Ref("dog", required=True),
        "body": Choice(BODIES, required=True, says="rules of"),
        "what": Words(STATION, required=True),
        "day": Day(),
    },
)
