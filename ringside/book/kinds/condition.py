"""What is seen of a dog between shows: its condition, and what a puppy is looked over for."""

from ringside.book.kinds.common import STATION
from ringside.book.kinds.fields import Choice, Day, Flag, Ref, Words
from ringside.book.kinds.kind import Kind, Seen

# A score of the nine-point scale (knowledge/condition.toml), as hands and eyes gave it.
SCORE = Kind(
    name="score",
    words="condition score",
    seen=Seen.BY_ALL,
    about="dog",
    newest="day",
    fields={
        "dog": Ref("dog", required=True),
        "score": Choice(tuple("123456789"), required=True),
        "tuck_up": Flag(says="tuck-up seen"),
        "note": Words(80),
        "day": Day(required=True),
    },
)

# What makes the weight of a dog change by rules of its own; "well" ends it.
STATE = Kind(
    name="state",
    words="state of the dog",
    seen=Seen.BY_ALL,
    about="dog",
    newest="day",
    fields={
        "dog": Ref("dog", required=True),
        "state": Choice(
            ("well", "growing", "in whelp", "nursing", "ill", "operated"), required=True
        ),
        "day": Day(required=True),
    },
)

# One look at one thing (`what`, a check of knowledge/puppies.toml). What was felt of the testes
# counts for the classes and the gate, so packs are made from that.
CHECK = Kind(
    name="check",
    words="check of a puppy",
    seen=Seen.BY_ALL,
    about="dog",
    newest="day",
    by="what",
    packs=("dog",),
    packs_where=("what", "testes"),
    fields={
        "dog": Ref("dog", required=True),
        "what": Words(STATION, required=True),
        "found": Choice(("both", "one", "none", "good", "not yet", "ask the vet"), required=True),
        "day": Day(required=True),
    },
)
