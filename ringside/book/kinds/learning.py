"""What is learned at home: how well each thing is remembered, and when it is asked again."""

from ringside.book.kinds.fields import Choice, Day, Instant, Number, Ref, Words
from ringside.book.kinds.kind import Kind, Seen

# One thing to know (`item`), about a dog's breed or about no dog: one record each, whose id the
# phone makes from both (core/ids.js), so that two phones write the same one. In the order in which
# things are due, so that nobody goes through all of them to find the few of today.
DRILL = Kind(
    name="drill",
    words="thing to learn",
    seen=Seen.BY_ALL,
    about="dog",
    newest="due",
    listed=False,
    fields={
        "dog": Ref("dog"),
        "item": Words(90, required=True),
        "answer": Choice(("wrong", "slow", "right"), required=True),
        "stability": Number(100_000, required=True, quiet=True, says="days it is remembered"),
        "difficulty": Number(10, required=True, quiet=True),
        "at": Instant(required=True),
        "due": Day(required=True),
    },
)
