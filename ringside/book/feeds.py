"""The addresses under which calendars are subscribed: one for owners, one for helpers.

Whoever has an address reads what stands behind it, so it carries a secret of 128 bits. The book
keeps a keyed hash of it alone; an address is told once, and another one ends it.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets

from ringside.book.devices import ROLES
from ringside.book.store import Book

SECRET_BYTES = 16


class Feeds:
    """The addresses of one book. Use it within a session of the book."""

    def __init__(self, book: Book) -> None:
        """Look after the addresses of `book`."""
        self.book = book

    def make(self, role: str) -> str:
        """Return the secret of a new address for `role`, whose old one is void from now on."""
        secret = secrets.token_urlsafe(SECRET_BYTES)
        self._keep(role, self._hash(secret))
        return secret

    def revoke(self, role: str) -> None:
        """Have no address for `role`."""
        self._keep(role, "")

    def made(self) -> list[str]:
        """Return the roles that have an address."""
        return [role for role in ROLES if self.book.meta(_key(role))]

    def role_of(self, secret: str) -> str | None:
        """Return whose address carries this secret, None if nobody's. As slow for all guesses."""
        hashed = self._hash(secret)
        found = [
            role
            for role in ROLES
            if hmac.compare_digest((self.book.meta(_key(role)) or "").encode(), hashed.encode())
        ]
        return found[0] if found else None

    def _keep(self, role: str, hashed: str) -> None:
        if role not in ROLES:
            raise ValueError(f"There is no role {role!r}.")
        with self.book.writing():
            self.book.set_meta(_key(role), hashed)

    def _hash(self, secret: str) -> str:
        message = f"feed:{secret}".encode(errors="replace")
        return hmac.new(self.book.secret.encode(), message, hashlib.sha256).hexdigest()


def _key(role: str) -> str:
    return f"feed-{role}"
