"""One ring on one day of a show: when it begins, how fast it goes, and what was seen at it."""

from ringside.book.kinds.fields import Choice, Day, Instant, Number, Ref, Words
from ringside.book.kinds.kind import Kind, Seen

# What belongs to the ring and not to one entry, so that two dogs in one ring share it. Its id is
# made by the phone from show, day and ring (core/ids.js), so that two phones write the same one.
RINGDAY = Kind(
    name="ringday",
    words="ring of a day",
    seen=Seen.BY_ALL,
    about="show",
    listed=False,
    fields={
        "show": Ref("show", required=True),
        "day": Day(required=True),
        "ring": Words(20),
        "begins": Words(20, says="judging begins"),
        "pace": Number(60, says="minutes a dog"),
        "lunch_from": Words(20),
        "lunch_to": Words(20),
    },
)

# Something seen at a ring, as a finger told it: so many `dogs`, or nothing `until` a moment. One
# that was undone is removed. There are many, so they are not listed.
RINGTAP = Kind(
    name="ringtap",
    words="tap of the ring clock",
    seen=Seen.BY_ALL,
    about="ringday",
    newest="at",
    listed=False,
    fields={
        "ringday": Ref("ringday", required=True),
        "what": Choice(
            ("judged", "absent", "paused", "goes on", "lunch", "begun", "posted"), required=True
        ),
        "at": Instant(required=True),
        "dogs": Number(500),
        "until": Instant(),
    },
)
