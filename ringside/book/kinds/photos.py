"""Photographs that proportions are measured from, and what was marked on them.

The bytes of a photograph are no part of the log: they stand in a store of their own by their
SHA-256, on the phone, and in the book where the person chose to copy them there. Measures are
computed from the marks, never kept.
"""

from ringside.book.kinds.fields import Choice, Day, Flag, FreeText, Number, Ref, Words
from ringside.book.kinds.kind import Kind, Seen

VIEWS = ("side", "head-side", "head-front", "front", "above")

# `width` and `height` are those of the kept picture, upright, in pixels. `focal35` is the focal
# length in mm as on 35 mm film, `zoom` what it was multiplied by, where the camera told.
PHOTO = Kind(
    name="photo",
    words="photo",
    seen=Seen.BY_OWNERS,
    about="dog",
    newest="day",
    fields={
        "dog": Ref("dog", required=True),
        "day": Day(required=True),
        "view": Choice(VIEWS, required=True),
        "facing": Choice(("left", "right")),
        "width": Number(20_000, quiet=True),
        "height": Number(20_000, quiet=True),
        "focal35": Number(2_000, quiet=True),
        "zoom": Number(200, quiet=True),
        "hides": Flag(says="coat hides the outline"),
        "stickers": Flag(says="stickers on the points"),
        "sha256": Words(64, quiet=True),
        "bytes": Number(1_500_000, quiet=True),
        "copy": Flag(says="copied to the book"),
    },
)

# One person's marks on one photograph, done: `marks` is JSON, {mark: [x, y, how it was found]},
# as fractions of the upright picture from its upper left; null for one that cannot be seen.
MARKING = Kind(
    name="marking",
    words="marks on a photo",
    seen=Seen.BY_OWNERS,
    about="photo",
    also=("dog",),
    fields={
        "photo": Ref("photo", required=True),
        "dog": Ref("dog", required=True),
        "round": Number(1_000),
        "by": Words(60, required=True),
        "atlas": Number(1_000, quiet=True),
        "marks": FreeText(required=True, quiet=True),
    },
)
