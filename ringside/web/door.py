"""The door: who asks, and what they may see and do."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Response, g, jsonify, redirect, request
from flask.typing import ResponseReturnValue

from ringside.book.devices import OWNER, VIEWS, Devices, network
from ringside.book.pages import View
from ringside.book.store import Book

# What anybody may ask for, and what every device that was let in; all else is an owner's alone.
PUBLIC = {"health.healthz", "pairing.who", "pairing.pair", "calendar.feed"}
PUBLIC_ROOM = "pocket"
MEMBERS = {"sync.sync", "photos.give", "calendar.everything", "calendar.one"}
MOST_OF_ANYBODY = 4096  # bytes of a body
PAIRING_VIEW = "/#/pair"

COOKIE_DAYS = 400  # browsers keep none for longer; each start of the app begins them anew

WORDS = {
    "not-paired": "This phone is not paired with the book. Pair it with a code.",
    "revoked": "This phone was removed from the book. An owner can pair it again.",
    "open": "Everything on this computer can use this book. You need not pair anything.",
}


@dataclass(frozen=True)
class Visitor:
    """Who asks: a device and its role, or why they are nobody: "not-paired" or "revoked"."""

    device: str = ""
    role: str = ""
    problem: str = ""

    @property
    def view(self) -> View:
        """What of the log is for this visitor."""
        return VIEWS[self.role]


class Door:
    """Knows each visitor by the cookie. An open book knows nobody, and lets everybody in."""

    def __init__(self, book: Book, address: str, is_open: bool) -> None:
        """Stand before `book`, which is served at `address`."""
        self.book = book
        self.address = address
        self.is_open = is_open
        self.devices = Devices(book)

    @property
    def cookie(self) -> str:
        """The cookie's name. Servers on one machine share its cookies: the port tells them apart,
        and without https there is no Secure cookie in every browser."""
        if request.is_secure:
            return "__Host-ringside-device"
        return f"ringside-device-{request.host.rpartition(':')[2]}"

    def visitor(self) -> Visitor:
        """Return who asks, as of now, and tell the log. Needs a session of the book."""
        found = self._look_up()
        g.visitor = found
        return found

    def caller(self) -> str:
        """Name who asks for something of the book: a device, or the address of one not let in."""
        if self.is_open:  # on this computer alone
            return ""
        if request.endpoint in (None, "health.healthz") or request.blueprint == PUBLIC_ROOM:
            return ""
        return self._visitor_now().device or network(request.remote_addr or "")

    def _visitor_now(self) -> Visitor:
        with self.book.session():
            return self.visitor()

    def _look_up(self) -> Visitor:
        if self.is_open:
            return Visitor(role=OWNER)
        holder = self.devices.holder(request.cookies.get(self.cookie, ""))
        if holder is None:
            return Visitor(problem="not-paired")
        if holder.is_revoked:
            return Visitor(problem="revoked")
        return Visitor(holder.device, holder.role)

    def give(self, response: Response, token: str) -> None:
        """Put the token where no script can read it."""
        response.set_cookie(
            self.cookie,
            token,
            max_age=COOKIE_DAYS * 24 * 3600,
            secure=request.is_secure,
            httponly=True,
            samesite="Strict",
        )

    def guard(self) -> ResponseReturnValue | None:
        """Turn away who may not see what was asked for, before a body is read; a new page is
        closed by itself. Raises BookUnavailable where another version keeps the book by now."""
        if request.endpoint is None:
            return None
        if request.endpoint in PUBLIC:
            return _refused_if_long()
        if request.blueprint == PUBLIC_ROOM:
            return None
        visitor = g.get("visitor") or self._visitor_now()  # `caller` may have looked just now
        if visitor.role == OWNER or (visitor.role and request.endpoint in MEMBERS):
            with self.book.session():
                self.book.refuse_if_anothers()
            return None
        if request.method == "GET" and not request.path.startswith("/api/"):
            # To one place, whatever was asked for: nobody can be sent on to elsewhere.
            return redirect(PAIRING_VIEW, 303)
        if visitor.problem:
            return problem(401, visitor.problem)
        return problem(403, "owners-only", "Only the book's owners can see this.")


def _refused_if_long() -> ResponseReturnValue | None:
    # Nobody who was not let in may have us wait for a body, and one in chunks has no length.
    is_chunked = "Transfer-Encoding" in request.headers
    if is_chunked or (request.content_length or 0) > MOST_OF_ANYBODY:
        return problem(
            413, "too-large", "That is too long from a device that is not paired. Pair it first."
        )
    return None


def problem(status: int, code: str, message: str = "") -> tuple[Response, int]:
    """Say no, in the shape of every error."""
    return jsonify(code=code, message=message or WORDS[code]), status
