"""JSON on its way: squeezed where that helps, since a ringside's link is weak."""

from __future__ import annotations

import gzip
import json
import zlib
from typing import Any

import brotli
from flask import Request, Response, request

MOST_BODY = 16 * 1024 * 1024  # bytes, unpacked
WORTH_IT = 600  # bytes: less is as long squeezed
LIGHT = 5  # Brotli's effort: a tenth of the bytes for half a millisecond a page


def as_json(data: Any) -> str:
    """Return JSON without a blank that is not needed."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def packed(text: str, status: int = 200) -> Response:
    """Return an answer of JSON text in the form that whoever asked can read best."""
    # Only what was refused can hold half a character (a lone surrogate): say it with "?".
    body = text.encode(errors="replace")
    encoding = _encoding() if len(body) > WORTH_IT else ""
    if encoding == "br":
        body = brotli.compress(body, quality=LIGHT)
    elif encoding == "gzip":
        body = gzip.compress(body, 1, mtime=0)
    response = Response(body, status, content_type="application/json")
    response.headers["Vary"] = "Accept-Encoding"
    if encoding:
        response.headers["Content-Encoding"] = encoding
    return response


def _encoding() -> str:
    known = {word.partition(";")[0].strip() for word in _accepted().split(",")}
    return next((name for name in ("br", "gzip") if name in known), "")


def _accepted() -> str:
    return request.headers.get("Accept-Encoding", "")


def error(status: int, code: str, message: str) -> Response:
    """Return what is wrong, in the shape of every error."""
    return packed(as_json({"code": code, "message": message}), status)


def unpacked(asked: Request) -> bytes:
    """Return the body of a request, which may have come squeezed; b"" if it cannot be unpacked.

    A few bytes may say that they are a gigabyte: no more is unpacked than may be sent plain.
    """
    body = asked.get_data()
    if asked.headers.get("Content-Encoding", "") != "gzip":
        return body
    unpacking = zlib.decompressobj(zlib.MAX_WBITS | 16)
    try:
        plain = unpacking.decompress(body, MOST_BODY)
    except zlib.error:
        return b""
    return plain if unpacking.eof and not unpacking.unconsumed_tail else b""
