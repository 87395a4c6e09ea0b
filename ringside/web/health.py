"""Whether the book can be read and written, for whoever watches the server."""

from __future__ import annotations

from flask import Blueprint

from ringside.book.store import OTHER_VERSION, Book, BookError


def make_health(book: Book) -> Blueprint:
    """Return the route that says so."""
    routes = Blueprint("health", __name__)

    @routes.get("/healthz")
    def healthz() -> tuple[dict[str, object], int]:
        """Say it to anybody who asks, and so no more than that."""
        try:
            with book.session():
                book.newest()
                is_ours = book.is_kept_by_us()
        except BookError:
            return {"ok": False, "reason": "The book cannot be read at the moment."}, 503
        if not is_ours:
            return {"ok": False, "reason": OTHER_VERSION}, 503
        return {"ok": True}, 200

    return routes
