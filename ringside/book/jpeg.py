"""A JPEG read strictly: what a picture needs to be seen may be in it, and nothing else.

Where, when and by what it was taken stands in segments of their own, in comments, in small
pictures within the picture, or behind its end. None of that passes. The pixels are not decoded, so
what somebody hides among them stays hidden.

Sources: ITU-T T.81 (1992), annex B; ITU-T T.871 (2011); ICC.1:2022, clause 7.2 and annex B.4; the
segment of Adobe's (APP14) from memory.
"""

from __future__ import annotations

import re
from collections.abc import Callable

MOST_SIDE = 20_000  # pixels
MOST_PIXELS = 64_000_000  # of which a phone must hold four bytes each to show them
MOST_SEGMENTS = 500  # a picture that sharpens as it loads has some thirty

START, END, SCAN = b"\xff\xd8", 0xD9, 0xDA
# What ends the coded pixels: a marker that is neither a stuffed byte nor a restart.
BEHIND_SCAN = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]")

CANNOT_BE_READ = "not-a-picture"
TELLS_MORE = "tells-more"


class BadPicture(ValueError):
    """These bytes are no picture that may be kept: `code` names why, the message says it."""

    def __init__(self, code: str, reason: str) -> None:
        """Say the reason as the rest of a sentence: "this photo ..."."""
        super().__init__(reason)
        self.code = code


def size(data: bytes) -> tuple[int, int]:
    """Return the width and height of a JPEG in pixels. Raises BadPicture, and nothing else."""
    if not data.startswith(START):
        raise BadPicture(CANNOT_BE_READ, "is not a JPEG")
    at, found = len(START), dict[int, bytes]()
    for _ in range(MOST_SEGMENTS):
        if data[at : at + 1] != b"\xff" or len(data) < at + 2:
            raise BadPicture(CANNOT_BE_READ, "ends too early or is damaged")
        marker = data[at + 1]
        if marker == END:
            return _ended(data, at + 2, found)
        body = _body(data, at + 2)
        _look(marker, body, found)
        found[marker] = body
        at += 4 + len(body)
        if marker == SCAN:
            end = BEHIND_SCAN.search(data, at)
            at = end.start() if end else len(data)
    raise BadPicture(CANNOT_BE_READ, f"has more than {MOST_SEGMENTS} parts")


def _ended(data: bytes, end: int, found: dict[int, bytes]) -> tuple[int, int]:
    if SCAN not in found:
        raise BadPicture(CANNOT_BE_READ, "holds no pixels")
    if len(data) != end:
        raise BadPicture(TELLS_MORE, "holds something behind its end")
    frame = next(found[marker] for marker in FRAMES if marker in found)
    height, width = (int.from_bytes(frame[at : at + 2], "big") for at in (1, 3))
    is_sane = 1 <= width <= MOST_SIDE and 1 <= height <= MOST_SIDE
    if not is_sane or width * height > MOST_PIXELS:
        raise BadPicture(CANNOT_BE_READ, f"has {width} × {height} pixels, which cannot be shown")
    return width, height


def _body(data: bytes, at: int) -> bytes:
    """Return what is in the segment whose length stands at `at`."""
    length = int.from_bytes(data[at : at + 2], "big")
    body = data[at + 2 : at + length]
    if length < 2 or len(body) != length - 2:
        raise BadPicture(CANNOT_BE_READ, "ends too early or is damaged")
    return body


def _look(marker: int, body: bytes, found: dict[int, bytes]) -> None:
    """Raise BadPicture for a segment that may not be there."""
    fits = FITS.get(marker)
    if fits is None or not fits(body):
        if 0xE0 <= marker <= 0xEF:
            raise BadPicture(TELLS_MORE, f"holds data beside its pixels (APP{marker - 0xE0})")
        if marker == 0xFE:
            raise BadPicture(TELLS_MORE, "holds a comment")
        raise BadPicture(CANNOT_BE_READ, f"has a part that cannot be read (marker {marker:X})")
    same = FRAMES if marker in FRAMES else {marker}
    if marker in ONCE and not same.isdisjoint(found):
        raise BadPicture(CANNOT_BE_READ, f"has a part twice (marker {marker:X})")
    if marker == SCAN and FRAMES.isdisjoint(found):
        raise BadPicture(CANNOT_BE_READ, "does not say its size before its pixels")


def _is_frame(body: bytes) -> bool:
    """Whether it tells of eight bits a sample, and of grey or three colours."""
    return len(body) > 5 and body[0] == 8 and body[5] in (1, 3) and len(body) == 6 + 3 * body[5]


def _is_scan(body: bytes) -> bool:
    return len(body) > 3 and 1 <= body[0] <= 3 and len(body) == 4 + 2 * body[0]


def _is_quantization(body: bytes) -> bool:
    return _is_parted(body, 1, lambda head: 64 if head[0] < 16 else 128)


def _is_huffman(body: bytes) -> bool:
    return _is_parted(body, 17, lambda head: min(sum(head[1:]), 256))


def _is_parted(body: bytes, head: int, rest: Callable[[bytes], int]) -> bool:
    """Whether it is tables to its last byte, each a head and as many bytes as that says."""
    at = 0
    while at + head <= len(body):
        at += head + rest(body[at : at + head])
    return 0 < at == len(body)


def _is_jfif(body: bytes) -> bool:
    """Whether it is JFIF's own segment without a small picture in it; one of JFXX's holds one."""
    return len(body) == 14 and body.startswith(b"JFIF\0") and body[12:] == b"\0\0"


def _is_profile(body: bytes) -> bool:
    """Whether it is a whole colour profile: others keep further pictures in this segment."""
    profile = body[14:]
    return (
        body.startswith(b"ICC_PROFILE\0\1\1")
        and len(profile) >= 132
        and profile[36:40] == b"acsp"
        and int.from_bytes(profile[:4], "big") == len(profile)
    )


def _is_adobe(body: bytes) -> bool:
    return len(body) == 12 and body.startswith(b"Adobe")


FRAMES = frozenset({0xC0, 0xC1, 0xC2})
FITS: dict[int, Callable[[bytes], bool]] = {
    **dict.fromkeys(FRAMES, _is_frame),
    0xC4: _is_huffman,
    0xDA: _is_scan,
    0xDB: _is_quantization,
    0xDD: lambda body: len(body) == 2,
    0xE0: _is_jfif,
    0xE2: _is_profile,
    0xEE: _is_adobe,
}
ONCE = FRAMES | {0xE0, 0xE2, 0xEE}
