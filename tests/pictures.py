"""Photos for tests, as a phone's camera and its browser write them, and what may hide in one."""

from __future__ import annotations

import io
import random
from hashlib import sha256

from PIL import ExifTags, Image, ImageCms

PLACE, CAMERA, MOMENT = "Grafton Underwood", "Marrowby Camera 7", "2026:03:14 09:30:00"


def picture(width: int = 64, height: int = 48, mode: str = "RGB", shade: int = 0) -> Image.Image:
    """A picture of bright and dark, other for each shade."""
    grey = Image.linear_gradient("L").resize((width, height)).point(lambda v: (v + shade) % 256)
    return grey.convert(mode)


def jpeg(
    width: int = 64, height: int = 48, mode: str = "RGB", shade: int = 0, **how: object
) -> bytes:
    """A JPEG with nothing beside its pixels but JFIF's own segment."""
    kept = io.BytesIO()
    picture(width, height, mode, shade).save(kept, "JPEG", **how)
    return kept.getvalue()


def photo(number: int, size: int = 0) -> bytes:
    """One of many JPEGs, of some `size` bytes: what its pixels show is nobody's concern."""
    whole = jpeg(shade=number)
    noise = random.Random(number).randbytes(max(0, size - len(whole))).replace(b"\xff", b"\xfe")
    return whole[:-2] + noise + whole[-2:]


def exif() -> bytes:
    """What a camera notes of a picture: position, camera, moment, words."""
    noted = Image.Exif()
    noted[ExifTags.Base.Make] = CAMERA
    noted[ExifTags.Base.DateTime] = MOMENT
    noted[ExifTags.Base.ImageDescription] = PLACE
    position = noted.get_ifd(ExifTags.IFD.GPSInfo)
    position[ExifTags.GPS.GPSLatitudeRef] = "N"
    position[ExifTags.GPS.GPSLatitude] = (52.0, 26.0, 31.0)
    return noted.tobytes()


def colour_profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def with_segment(data: bytes, marker: int, body: bytes) -> bytes:
    """The JPEG with one more segment at its start, behind JFIF's own."""
    at = 4 + int.from_bytes(data[4:6], "big")
    segment = bytes([0xFF, marker]) + (len(body) + 2).to_bytes(2, "big") + body
    return data[:at] + segment + data[at:]


def name(data: bytes) -> str:
    return sha256(data).hexdigest()
