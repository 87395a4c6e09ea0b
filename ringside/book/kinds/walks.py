"""Walks through the card: in the ring, and in rehearsals with their marks; stack and lead."""

from ringside.book.kinds.common import HANDS, STATION
from ringside.book.kinds.fields import Choice, Flag, Instant, Number, Ref, WordList, Words
from ringside.book.kinds.kind import Kind, Seen

EXERCISES = ("stack", "free stack", "down and back", "triangle", "go-round")

# Where a walk stands, so that any phone can take it up again. A rehearsal is a session of practice:
# `where` it was and whose `hands` were on the dog. It may go through its `stations` `only`, by
# `ear` with so many seconds to `wait` at each, and in the order of an `unknown` judge.
WALK = Kind(
    name="walk",
    words="walk through the card",
    seen=Seen.BY_ALL,
    about="dog",
    also=("mode",),
    newest="began",
    by="mode",
    fields={
        "dog": Ref("dog", required=True),
        "entry": Ref("entry", quiet=True),
        "mode": Choice(("ring", "rehearse"), required=True),
        "stations": WordList(required=True),
        "place": Words(STATION),
        "began": Instant(required=True),
        "ended": Instant(),
        "where": Words(40),
        "hands": Choice(HANDS, says="whose hands"),
        "only": Flag(quiet=True),
        "ear": Flag(says="by ear"),
        "wait": Number(600, quiet=True, says="seconds at each station"),
        "unknown": Flag(says="as an unknown judge"),
    },
)

# What happened at one station of a walk. `open` again after an undo.
TICK = Kind(
    name="tick",
    words="station of a walk",
    seen=Seen.BY_ALL,
    about="walk",
    newest="at",
    fields={
        "walk": Ref("walk", required=True),
        "station": Words(STATION, required=True),
        "state": Choice(("done", "skipped", "open"), required=True),
        "at": Instant(required=True),
    },
)

# How one station went in a rehearsal.
PRACTICE = Kind(
    name="practice",
    words="practice mark",
    seen=Seen.BY_ALL,
    about="dog",
    newest="at",
    by="station",
    also=("walk",),
    fields={
        "dog": Ref("dog", required=True),
        "walk": Ref("walk", quiet=True),
        "station": Words(STATION, required=True),
        "grade": Choice(("easy", "needs work", "not yet"), required=True),
        "handler": Words(60),
        "hands": Choice(HANDS, says="whose hands"),
        "at": Instant(required=True),
    },
)

# Stack and lead practice: how long a stand or a pattern of moving held, and how often it had to be
# put right.
FLOOR = Kind(
    name="floor",
    words="stack or lead practice",
    seen=Seen.BY_ALL,
    about="dog",
    newest="at",
    by="what",
    fields={
        "dog": Ref("dog", required=True),
        "what": Choice(EXERCISES, required=True),
        "seconds": Number(3600, required=True),
        "corrections": Number(100),
        "hands": Choice(HANDS, says="whose hands"),
        "at": Instant(required=True),
    },
)
