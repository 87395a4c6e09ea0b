"""What the server tells of itself: one line a request, and what went wrong, by the request's id.

Nothing here may hold what a person wrote or what lets somebody in. So a line names the route's rule
in place of the address that was asked for, no header and no body, and of an exception the place and
the kind; its words only where they cannot quote what was sent.
"""

from __future__ import annotations

import json
import logging
import os
import re
import secrets
import sqlite3
import sys
import time
import traceback
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from io import TextIOWrapper
from ipaddress import IPv6Address, ip_address
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import Any

from flask import Response, g, request
from werkzeug.wsgi import ClosingIterator

from ringside.book.store import BookError

LOGGER = logging.getLogger("ringside")

# A proxy of ours may have given the request an id; what it passes on must look like one.
FOREIGN_ID = re.compile(r"[A-Za-z0-9_.-]{8,64}")
METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
LINE = "ringside.line"

MOST_BYTES = 10 * 1024 * 1024
OLD_FILES = 3
STANDARD_ERROR = "-"

WORDED = (OSError, sqlite3.Error, BookError)

Environ = dict[str, Any]


def set_up(file: str = "") -> None:
    """Show trouble on the terminal; with `file`, write every line as JSON there.

    "-" stands for the terminal itself. Raises OSError where the file cannot be written.
    """
    # Else, when a line cannot be written, the error that it told of is printed with all its words.
    logging.raiseExceptions = False
    shown: logging.Handler = logging.StreamHandler(sys.stderr)
    shown.setFormatter(_Json() if file == STANDARD_ERROR else _Plain())
    shown.setLevel(logging.INFO if file == STANDARD_ERROR else logging.WARNING)
    LOGGER.handlers = [shown]
    LOGGER.setLevel(logging.INFO if file else logging.WARNING)
    if file not in ("", STANDARD_ERROR):
        kept = _Private(Path(file), maxBytes=MOST_BYTES, backupCount=OLD_FILES, encoding="utf-8")
        kept.setFormatter(_Json())
        LOGGER.addHandler(kept)


class Requests:
    """Give each request an id, answer with it, and log a line."""

    def __init__(self, inner: Callable[..., Iterable[bytes]], believes: bool) -> None:
        """Stand before `inner`. `believes` tells whether a proxy of ours may name the id."""
        self.inner = inner
        self.believes = believes

    def __call__(self, environ: Environ, start_response: Callable[..., Any]) -> Iterable[bytes]:
        """Pass the request on."""
        began = time.perf_counter()
        line = environ[LINE] = self._line(environ)

        def start(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:
            line["status"] = int(status[:3])
            line["bytes"] = next((int(n) for name, n in headers if name == "Content-Length"), 0)
            return start_response(status, [*headers, ("X-Request-ID", line["id"])], *more)

        def end() -> None:
            line["ms"] = round((time.perf_counter() - began) * 1000, 1)
            LOGGER.info("request", extra={"data": line})

        return ClosingIterator(self.inner(environ, start), end)

    def _line(self, environ: Environ) -> dict[str, Any]:
        method, given = environ["REQUEST_METHOD"], environ.get("HTTP_X_REQUEST_ID", "")
        is_good = self.believes and FOREIGN_ID.fullmatch(given)
        return {
            "id": given if is_good else secrets.token_hex(5),
            "method": method if method in METHODS else "other",
            "route": "",
            "status": 0,
            "ms": 0.0,
            "bytes": 0,
            "device": "",
            "address": shown_address(environ.get("REMOTE_ADDR", "")),
        }


def note(response: Response) -> Response:
    """Tell the line which route was taken and which paired device asked."""
    line = _line_now()
    line["route"] = request.url_rule.rule if request.url_rule else ""
    line["device"] = getattr(g.get("visitor"), "device", "")
    return response


def failure(error: Exception) -> str:
    """Log an error of ours, and return the id to tell whoever keeps the server."""
    line = _line_now()
    rule = request.url_rule.rule if request.url_rule else ""
    words = ("Request %s failed: %s %s", line["id"], line["method"], rule)
    LOGGER.error(*words, extra={"data": {"id": line["id"], "traceback": trace(error)}})
    return str(line["id"])


def trouble(error: Exception) -> None:
    """Log what is not our fault, as a database that is gone, in one line."""
    line = _line_now()
    cause = str(error.__cause__ or error).strip().partition("\n")[0]
    LOGGER.warning("Request %s: %s (%s)", line["id"], error, cause, extra={"data": line})


def trace(error: BaseException | None) -> str:
    """Return where an exception came from, the first cause first, and no words that may quote."""
    lines: list[str] = []
    for one in _chain(error):
        words = f": {one}" if isinstance(one, WORDED) else ""
        lines += [*traceback.format_tb(one.__traceback__), f"{type(one).__qualname__}{words}\n"]
    return "".join(lines)


def _chain(error: BaseException | None) -> Iterator[BaseException]:
    if error is not None:
        yield from _chain(
            error.__cause__ or (None if error.__suppress_context__ else error.__context__)
        )
        yield error


def shown_address(text: str) -> str:
    """Return an address as it is read; what is none is not repeated."""
    try:
        address = ip_address(text.partition("%")[0])
    except ValueError:
        return "unknown"
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return str(mapped or address)


def _line_now() -> dict[str, Any]:
    line: dict[str, Any] = request.environ.setdefault(LINE, {"id": "-", "method": request.method})
    return line


class _Json(logging.Formatter):
    """One line of JSON a record (RFC 8259), with its time in UTC (RFC 3339)."""

    def format(self, record: logging.LogRecord) -> str:
        moment = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        said = {"event": record.getMessage(), **getattr(record, "data", {})}
        return json.dumps({"time": moment, "level": record.levelname.lower(), **said})


class _Plain(logging.Formatter):
    """What a person at the terminal reads."""

    def format(self, record: logging.LogRecord) -> str:
        moment = datetime.fromtimestamp(record.created).strftime("%H:%M:%S")
        found = getattr(record, "data", {}).get("traceback", "")
        return f"{moment}  {record.getMessage()}\n{found}".rstrip()


class _Private(RotatingFileHandler):
    """A file that its owner alone reads: it tells who was here, and when."""

    def _open(self) -> TextIOWrapper:
        handle = os.open(self.baseFilename, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        return open(handle, "a", encoding=self.encoding)
