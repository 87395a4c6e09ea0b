"""The walk through a JPEG: what browsers write passes, what tells more than it shows does not."""

from __future__ import annotations

import io
import random

from PIL import Image

from ringside.book import jpeg
from ringside.book.jpeg import CANNOT_BE_READ, MOST_SEGMENTS, TELLS_MORE, BadPicture
from tests import pictures

PLAIN = pictures.jpeg()
ADOBE = b"Adobe\0\x64\0\0\0\0\1"
JFIF_LENGTH = 20  # of a JPEG's start with that segment


def refused(what: str, data: bytes, code: str) -> None:
    found = ""
    try:
        jpeg.size(data)
    except BadPicture as bad:
        found = bad.code
    assert found == code, what


def test_what_browsers_write_passes() -> None:
    profile = pictures.colour_profile()
    passing = {
        "plain": PLAIN,
        "by steps": pictures.jpeg(progressive=True),
        "grey": pictures.jpeg(mode="L"),
        "with restarts": pictures.jpeg(200, 100, restart_marker_blocks=2),
        "with a profile": pictures.jpeg(icc_profile=profile),
        "with colours unmixed": pictures.with_segment(PLAIN, 0xEE, ADOBE),
        "fine": pictures.jpeg(quality=100, subsampling=0),
        "its own tables": pictures.jpeg(optimize=True),
    }
    for what, data in passing.items():
        with Image.open(io.BytesIO(data)) as shown:
            assert jpeg.size(data) == shown.size, what
    assert jpeg.size(pictures.jpeg(3, 700)) == (3, 700)


def test_what_tells_more_than_it_shows_is_refused() -> None:
    exif = pictures.exif()
    small = pictures.jpeg(16, 12)
    profile = pictures.colour_profile()
    noted = {
        "a camera's notes": pictures.jpeg(exif=exif),
        "the same with a profile": pictures.jpeg(exif=exif, icc_profile=profile),
        "a comment": pictures.jpeg(comment=pictures.PLACE),
        "XMP": pictures.with_segment(PLAIN, 0xE1, b"http://ns.adobe.com/xap/1.0/\0<x/>"),
        "captions": pictures.with_segment(PLAIN, 0xED, b"Photoshop 3.0\0"),
        "any other": pictures.with_segment(PLAIN, 0xE5, b""),
        "a small picture": pictures.with_segment(PLAIN, 0xE0, b"JFXX\0\x10" + small),
        "notes in JFIF's place": pictures.with_segment(PLAIN, 0xE0, exif),
        "more pictures": pictures.with_segment(PLAIN, 0xE2, b"MPF\0" + bytes(20)),
        "a profile in parts": pictures.with_segment(PLAIN, 0xE2, b"ICC_PROFILE\0\1\2" + profile),
        "notes as a profile": pictures.with_segment(PLAIN, 0xE2, b"ICC_PROFILE\0\1\1" + exif),
        "notes behind a profile": pictures.with_segment(
            PLAIN, 0xE2, b"ICC_PROFILE\0\1\1" + profile + exif
        ),
        "notes in Adobe's": pictures.with_segment(PLAIN, 0xEE, ADOBE + exif),
        "notes behind the end": PLAIN + exif,
        "a second one behind the end": PLAIN + PLAIN,
    }
    for what, data in noted.items():
        refused(what, data, TELLS_MORE)


def test_jfifs_own_small_picture_is_refused() -> None:
    body = b"JFIF\0\1\1\0\0\1\0\1\1\1abc"
    segment = b"\xff\xe0" + (len(body) + 2).to_bytes(2, "big") + body
    refused("a small one", PLAIN[:2] + segment + PLAIN[JFIF_LENGTH:], TELLS_MORE)


def test_what_is_no_picture_is_refused() -> None:
    frame = PLAIN.index(b"\xff\xc0")
    scan = PLAIN.index(b"\xff\xda")
    wrong = {
        "nothing": b"",
        "a start": PLAIN[:2],
        "another kind": b"\x89PNG\r\n\x1a\n" + PLAIN,
        "no pixels": PLAIN[:2] + b"\xff\xd9",
        "a half": PLAIN[: len(PLAIN) // 2],
        "all but the end": PLAIN[:-1],
        "no end": PLAIN[:-2],
        "no size": PLAIN[:frame] + PLAIN[frame + 19 :],
        "the size behind": PLAIN[:frame] + PLAIN[scan:-2] + PLAIN[frame : frame + 19] + PLAIN[-2:],
        "a size twice": PLAIN[: frame + 19] + PLAIN[frame:],
        "a size twice, of two kinds": PLAIN[: frame + 19]
        + PLAIN[frame : frame + 19].replace(b"\xff\xc0", b"\xff\xc2")
        + PLAIN[frame + 19 :],
        "no height": PLAIN[: frame + 5] + b"\0\0" + PLAIN[frame + 7 :],
        "too wide": PLAIN[: frame + 7] + (20_001).to_bytes(2, "big") + PLAIN[frame + 9 :],
        "a bomb": PLAIN[: frame + 5] + (20_000).to_bytes(2, "big") * 2 + PLAIN[frame + 9 :],
        "twelve bits": PLAIN[: frame + 4] + b"\x0c" + PLAIN[frame + 5 :],
        "for print": pictures.jpeg(mode="CMYK"),
        "another coding": PLAIN.replace(b"\xff\xc0", b"\xff\xc9", 1),
        "a loose restart": pictures.with_segment(PLAIN, 0xD0, b""),
        "the start again": pictures.with_segment(PLAIN, 0xD8, b""),
        "words in a table": pictures.with_segment(PLAIN, 0xDB, pictures.PLACE.encode()),
        "words in the codes": pictures.with_segment(PLAIN, 0xC4, pictures.PLACE.encode() * 9),
        "words in a number": pictures.with_segment(PLAIN, 0xDD, pictures.PLACE.encode()),
        "many parts": PLAIN[:20] + b"\xff\xdd\0\4\0\0" * MOST_SEGMENTS + PLAIN[20:],
    }
    for what, data in wrong.items():
        refused(what, data, CANNOT_BE_READ)


def test_whatever_comes_it_is_read_or_refused() -> None:
    """Thousands of files that were right once: never another exception, and an end to each."""
    drawn = random.Random(20_261_129)
    whole = [
        PLAIN,
        pictures.jpeg(progressive=True, icc_profile=pictures.colour_profile()),
        pictures.jpeg(exif=pictures.exif(), comment="x"),
        pictures.jpeg(100, 80, mode="L", restart_marker_blocks=1),
    ]
    passed = 0
    for number in range(6_000):
        data = bytearray(whole[number % len(whole)])
        for _ in range(drawn.choice((0, 1, 1, 2, 8))):
            at = drawn.randrange(len(data))
            change = drawn.randrange(5)
            if change == 0:
                data[at] = drawn.choice((0, 0xFF, 0xD8, 0xD9, 0xDA, 0xE1, drawn.randrange(256)))
            elif change == 1:
                del data[at:]
            elif change == 2:
                del data[at : at + drawn.randrange(40)]
            elif change == 3:
                data[at:at] = drawn.randbytes(drawn.randrange(40))
            else:
                data[at:at] = data[at : at + drawn.randrange(400)]
            if not data:
                break
        try:
            width, height = jpeg.size(bytes(data))
        except BadPicture:
            continue
        passed += 1
        assert 1 <= width <= jpeg.MOST_SIDE
        assert 1 <= height <= jpeg.MOST_SIDE
        for told in (pictures.PLACE, pictures.CAMERA, pictures.MOMENT):
            assert told.encode() not in data
    assert 500 < passed < 5_500


def test_the_walk_takes_each_step_once() -> None:
    """What was made to be slow: a million and a half of signs that might begin something."""
    scan = PLAIN.index(b"\xff\xda")
    head = PLAIN[: scan + 14]
    for filling in (b"\xff", b"\xff\x00", b"\xff\xd0", b"\xff\xff\x00"):
        data = head + filling * (1_400_000 // len(filling))
        refused(str(filling), data, CANNOT_BE_READ)
        assert jpeg.size(data + b"\x00\xff\xd9") == (64, 48)
