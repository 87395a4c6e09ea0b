"""Photos on their way: a phone sends those that its person copies to the book, and fetches them.

A helper is given one photo of a dog alone, its portrait.
"""

from __future__ import annotations

import threading
from typing import Any

from flask import Blueprint, Response, abort, request

from ringside.book import blobs, clock
from ringside.book.blobs import MOST_BYTES, SHA256, Blobs
from ringside.book.devices import OWNER
from ringside.book.jpeg import TELLS_MORE, BadPicture
from ringside.web.answers import as_json, error, packed
from ringside.web.door import WORDS, Door, Visitor

JPEG = "image/jpeg"
# The name of a photo is a hash of it, so what stands behind one never changes.
KEPT_BY_ITS_OWNER = "private, max-age=31536000, immutable"
PIECE = 64 * 1024  # bytes
# Photos that are read. A slow link takes its time, and long syncs need threads for bodies too.
AT_ONCE = 4
TRY_AGAIN = 5  # seconds
TOO_LARGE = f"This photo has more than {MOST_BYTES / 1e6:g} MB. Make it smaller and send it again."
AGAIN = "Choose or take the photo again on the phone."
STRIPPED = "It may tell where and when the photo was taken. Update the app, then send it again."
OTHER_SIZE = f"This photo has another width or height than its record says. {AGAIN}"
NO_RECORD = (
    "The book knows of no such photo that it should keep. Sync the phone first, then send it again."
)


def make_photos(door: Door) -> Blueprint:
    """Return the routes of the photos."""
    book, kept, room = door.book, Blobs(door.book), threading.BoundedSemaphore(AT_ONCE)
    routes = Blueprint("photos", __name__, url_prefix="/api/photos")

    @routes.get("/<sha256>")
    def give(sha256: str) -> Response:
        with book.session():
            visitor = door.visitor()
            if visitor.problem:
                return error(401, visitor.problem, WORDS[visitor.problem])
            data = kept.get(sha256) if _may_see(kept, visitor, sha256) else None
        if data is None:
            abort(404)
        response = Response(data, content_type=JPEG)
        response.headers["Cache-Control"] = KEPT_BY_ITS_OWNER
        response.set_etag(sha256)
        response.make_conditional(request)
        return response

    # A helper asks which methods there are of the other route alone.
    @routes.put("/<sha256>", provide_automatic_options=False)
    def take(sha256: str) -> Response:
        if not SHA256.fullmatch(sha256):
            abort(404)
        if request.mimetype != JPEG:
            return error(415, "not-jpeg", f"Send a photo with Content-Type: {JPEG}.")
        if not room.acquire(blocking=False):
            return _later()
        try:
            data = _body()
        finally:
            room.release()
        if data is None:
            return error(413, "too-large", TOO_LARGE)
        try:
            size = blobs.looked_at(sha256, data)
        except BadPicture as bad:
            advice = STRIPPED if bad.code == TELLS_MORE else AGAIN
            return error(400, bad.code, f"This photo {bad}. {advice}")
        with book.session(), book.writing():
            visitor = door.visitor()
            if visitor.role != OWNER:  # it was removed while it sent
                code = visitor.problem or "not-paired"
                return error(401, code, WORDS[code])
            photos = kept.asked_for(sha256)
            if not photos:
                return error(409, "no-photo", NO_RECORD)
            if not any(_fits(photo, size) for photo in photos):
                return error(400, "other-size", OTHER_SIZE)
            kept.put((sha256, data, clock.wall()))
        return packed(as_json({"sha256": sha256, "bytes": len(data)}))

    return routes


def _fits(photo: dict[str, Any], size: tuple[int, int]) -> bool:
    """Whether the record of a photo tells of this size, or of none."""
    told = (photo.get("width"), photo.get("height"))
    return all(one in (None, other) for one, other in zip(told, size, strict=True))


def _may_see(kept: Blobs, visitor: Visitor, sha256: str) -> bool:
    if visitor.role == OWNER:
        return True
    return "dog.portrait" in (visitor.view.fields or ()) and kept.is_portrait(sha256)


def _later() -> Response:
    response = error(429, "too-many", "Other photos are on their way. Try again in a moment.")
    response.headers["Retry-After"] = str(TRY_AGAIN)
    return response


def _body() -> bytes | None:
    """Return the body of the request; None for one that is too long, which is not read to its end.

    One in chunks does not say its length before.
    """
    if (request.content_length or 0) > MOST_BYTES:
        return None
    data = b""
    while len(data) <= MOST_BYTES and (some := request.stream.read(PIECE)):
        data += some
    return data if len(data) <= MOST_BYTES else None
