"""What a newer build declares beside the kinds of today."""

from ringside.book.kinds.fields import FreeText
from ringside.book.kinds.kind import Kind, Seen

WEATHER = Kind(
    name="weather",
    words="weather",
    seen=Seen.BY_OWNERS,
    fields={"wind": FreeText()},
)
