"""Who may use the book: the phones that were let in, and the one-time codes that let them in.

Nothing here holds a secret in clear: codes and tokens are kept as keyed hashes. Time is given to
every function, in ms.
"""

from __future__ import annotations

import hmac
import ipaddress
import secrets
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from peewee import (
    BigIntegerField,
    BooleanField,
    IntegerField,
    Model,
    TextField,
)

from ringside.book.kinds import KINDS, Kind, for_all, mark
from ringside.book.kinds.fields import UUID
from ringside.book.pages import View
from ringside.book.store import Book

OWNER, HELPER = "owner", "helper"
ROLES = (OWNER, HELPER)


def views(kinds: Mapping[str, Kind] = KINDS) -> dict[str, View]:
    """Return what each role sees of a book with records of these `kinds`.

    A helper never receives what is for owners alone, nor what this version does not know. After an
    update that shows more, the mark differs, and a helper's phone reads the log anew.
    """
    fields = for_all(kinds)
    return {OWNER: View(), HELPER: View(fields, mark(fields))}


VIEWS = views()

# 32 signs that cannot be taken for one another; O, I and L are read as what they look like.
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LOOKALIKES = str.maketrans("OIL", "011", "-")
TYPED_LENGTH = 8  # 40 bits
LINK_LENGTH = 28  # 140 bits
TOKEN_BYTES = 32

MINUTE = 60 * 1000
HOUR = 60 * MINUTE
LIFE = 10 * MINUTE
KEPT = 24 * HOUR  # how long a code that was used can still be told from a wrong one
MOST_TRIES = 5  # wrong codes typed while this one lives
MOST_BY_ADDRESS = 20  # an hour
MOST_IN_ALL = 100  # codes typed, an hour
SEEN_EVERY = 5 * MINUTE
LONGEST_NAME = 40


class Device(Model):
    """A phone or browser that was let in. `token` stays when it is revoked, to tell it so.

    `key` is what only that phone knows: everybody in the book can read its id. Both are hashes.
    """

    id = TextField(primary_key=True)
    name = TextField()
    role = TextField()
    token = TextField()
    key = TextField(default="")
    paired = BigIntegerField()
    seen = BigIntegerField()
    revoked = BigIntegerField(null=True)

    class Meta:
        """Names the table."""

        table_name = "device"


class Code(Model):
    """One invitation, by a link or by what is typed; whichever is used first ends both."""

    link = TextField(primary_key=True)
    typed = TextField(unique=True)
    role = TextField()
    made = BigIntegerField()
    used = BigIntegerField(null=True)
    tries = IntegerField(default=0)

    class Meta:
        """Names the table."""

        table_name = "code"


class Attempt(Model):
    """A code that let nobody in, and where it came from; forgotten after an hour."""

    address = TextField(index=True)
    at = BigIntegerField(index=True)
    was_typed = BooleanField()

    class Meta:
        """Names the table."""

        table_name = "attempt"


TABLES: list[type[Model]] = [Device, Code, Attempt]


@dataclass(frozen=True)
class Offer:
    """A new invitation in clear: told once, kept nowhere."""

    typed: str
    link: str
    role: str
    ends: int

    @property
    def shown(self) -> str:
        """The code to type, in two halves."""
        return f"{self.typed[:4]}-{self.typed[4:]}"


@dataclass(frozen=True)
class Paired:
    """What a phone holds once it was let in; the token is told once, kept nowhere."""

    token: str
    role: str


@dataclass(frozen=True)
class Refused:
    """Why a code lets nobody in; `wait` (ms) is set where trying again later helps."""

    code: str
    message: str
    wait: int = 0


@dataclass(frozen=True)
class Holder:
    """Whose token it is."""

    device: str
    role: str
    is_revoked: bool


WRONG = Refused(
    "wrong-code", "That is not a code for this book. Check it: there is no letter O, only zero."
)
USED = Refused("used-code", "This code has been used. Ask for a new one.")
EXPIRED = Refused(
    "expired-code", "This code has expired. A code works for ten minutes; ask for a new one."
)
WORN = Refused(
    "used-up-code", "There were too many wrong tries, so this code is void. Ask for a new one."
)
ANOTHERS = Refused(
    "anothers-id",
    "Another phone already uses this phone's id. Save a copy in Settings, clear "
    "Ringside's data on this phone, and pair it again.",
)
NOT_YOURS = Refused(
    "owners-phone",
    "This phone belongs to an owner, and this code is for a helper. Use an owner's "
    "code, or revoke the phone at the desk first.",
)


class Devices:
    """The list of devices, and the door to it. Use it within a session of its book."""

    def __init__(self, book: Book) -> None:
        """Look after the devices of `book`."""
        self.book = book
        self._secret = b""

    def _hash(self, what: str, text: str) -> str:
        self._secret = self._secret or self.book.secret.encode()
        message = f"{what}:{text}".encode(errors="replace")  # a half character is no code's
        return hmac.digest(self._secret, message, "sha256").hex()

    def _row(self, sql: str, *values: Any) -> tuple[Any, ...] | None:
        return next(iter(self.book.rows(sql, *values)), None)

    # --- codes

    def offer(self, role: str, now: int) -> Offer:
        """Make an invitation for a device of `role`."""
        if role not in ROLES:
            raise ValueError(f"There is no role {role!r}.")
        offer = Offer(_drawn(TYPED_LENGTH), _drawn(LINK_LENGTH), role, now + LIFE)
        with self.book.writing():
            db = self.book.db
            Code.delete().where(Code.made < now - KEPT).execute(db)
            Code.insert(
                link=self._hash("code", offer.link),
                typed=self._hash("code", offer.typed),
                role=role,
                made=now,
            ).execute(db)
        return offer

    def pair(
        self, code: str, device: str, name: str, address: str, now: int, key: str = ""
    ) -> Paired | Refused:
        """Let the phone `device` in with a code, which is spent, or say why not.

        A phone that was let in before gets a new token, and its old one is void: `key` tells that
        it is the same phone.
        """
        code, place = as_code(code), network(address)
        with self.book.writing():
            refused = self._closed(place, len(code) == TYPED_LENGTH, now)
            if refused:
                return refused
            found = self._found(code, now)
            if isinstance(found, Refused):
                self._note_attempt(place, len(code) == TYPED_LENGTH, now)
                return found
            if found.role != OWNER and self._is_owners(device):
                return NOT_YOURS
            secret = self._hash("key", key) if key else ""
            if self._is_anothers(device, secret):
                return ANOTHERS
            token = f"{device}.{secrets.token_urlsafe(TOKEN_BYTES)}"
            Code.update(used=now).where(Code.link == found.link).execute(self.book.db)
            row = {
                "name": as_name(name),
                "role": found.role,
                "token": self._hash("token", token),
                "key": secret,
                "paired": now,
                "seen": now,
                "revoked": None,
            }
            Device.insert(id=device, **row).on_conflict(
                conflict_target=[Device.id], update=row
            ).execute(self.book.db)
        return Paired(token, found.role)

    def _found(self, code: str, now: int) -> Code | Refused:
        key = self._hash("code", code)
        query = Code.select().where((Code.link == key) | (Code.typed == key))
        found: Code | None = next(iter(query.execute(self.book.db)), None)
        if found is None:
            return WRONG
        if found.used is not None:
            return USED
        if not found.made <= now < found.made + LIFE:
            return EXPIRED
        if found.typed == key and found.tries >= MOST_TRIES:
            return WORN
        return found

    def _is_anothers(self, device: str, secret: str) -> bool:
        """Whether a phone that knows another key has this id. One of an older app has none yet."""
        row = self._row("SELECT key FROM device WHERE id = ?", device)
        return bool(row and row[0] and not hmac.compare_digest(row[0], secret))

    def _is_owners(self, device: str) -> bool:
        """Whether a live owner's phone has this id: a helper's code must not shut it out."""
        same = (Device.id == device) & (Device.role == OWNER) & Device.revoked.is_null()
        return bool(Device.select().where(same).exists(self.book.db))

    # --- how often one may try

    def _closed(self, place: str, was_typed: bool, now: int) -> Refused | None:
        """Say no for a while after too many wrong codes. A link nobody can guess: it is only
        held up by wrong ones from its own address, so that a stranger cannot shut the door."""
        db = self.book.db
        # One from the future was noted before the clock was set back.
        Attempt.delete().where((Attempt.at <= now - HOUR) | (Attempt.at > now)).execute(db)
        theirs = (Attempt.address == place, MOST_BY_ADDRESS)
        typed = (Attempt.was_typed == True, MOST_IN_ALL)  # noqa: E712  # it makes SQL
        for which, most in (theirs, typed) if was_typed else (theirs,):
            newest = Attempt.select(Attempt.at).where(which).order_by(Attempt.at.desc())
            reached = list(newest.offset(most - 1).limit(1).tuples().execute(db))
            if reached:
                return _too_many(reached[0][0] + HOUR - now)
        return None

    def _note_attempt(self, place: str, was_typed: bool, now: int) -> None:
        Attempt.insert(address=place, at=now, was_typed=was_typed).execute(self.book.db)
        if was_typed:
            live = Code.used.is_null() & (Code.made > now - LIFE)
            Code.update(tries=Code.tries + 1).where(live).execute(self.book.db)

    # --- tokens

    def holder(self, token: str) -> Holder | None:
        """Return whose token this is, None if nobody's. Asked by every request."""
        device = token.partition(".")[0]
        if not UUID.fullmatch(device):
            return None
        sql = "SELECT token, role, revoked FROM device WHERE id = ?"
        row = self._row(sql, device)
        if row is None or not hmac.compare_digest(row[0], self._hash("token", token)):
            return None
        return Holder(device, row[1], row[2] is not None)

    def saw(self, device: str, now: int) -> None:
        """Note that a device was here, now and then only: it costs a write."""
        row = self._row("SELECT seen FROM device WHERE id = ?", device)
        # One from the future was noted before a clock was set right.
        if row and not 0 <= now - row[0] < SEEN_EVERY:
            # A full disk is no reason to turn a reader away, nor a writer one to let it wait.
            with suppress(*self.book.database.errors), self.book.db.atomic():
                Device.update(seen=now).where(Device.id == device).execute(self.book.db)

    # --- the list

    def all(self) -> list[Device]:
        """Return all devices, those in use first, the newest visitor first."""
        order = (Device.revoked.is_null(False), Device.seen.desc(), Device.id)
        return list(Device.select().order_by(*order).execute(self.book.db))

    def rename(self, device: str, name: str) -> None:
        """Give a device another name."""
        with self.book.writing():
            Device.update(name=as_name(name)).where(Device.id == device).execute(self.book.db)

    def revoke(self, device: str, now: int) -> None:
        """Shut a device out. Codes nobody used yet are void too: it may know of them."""
        db = self.book.db
        live = (Device.id == device) & Device.revoked.is_null()
        with self.book.writing():
            if Device.update(revoked=now).where(live).execute(db):
                Code.update(used=now).where(Code.used.is_null()).execute(db)

    # --- where the book is served, so that `ringside pair` can make a link

    def served_at(self, address: str) -> None:
        """Note the address of the app."""
        with self.book.writing():
            self.book.set_meta("address", address)

    def address(self) -> str:
        """Return the address of the app, "" if it was never served."""
        return self.book.meta("address") or ""


def _drawn(length: int) -> str:
    return "".join(secrets.choice(ALPHABET) for _ in range(length))


def _too_many(wait: int) -> Refused:
    minutes = max(1, -(-wait // MINUTE))
    when = "a minute" if minutes == 1 else f"{minutes} minutes"
    return Refused("too-many", f"Too many wrong codes. Try again in {when}.", wait)


def as_code(text: str) -> str:
    """Read a code as a person types it."""
    return "".join(text.upper().split()).translate(LOOKALIKES)


def as_name(text: str) -> str:
    """Return a name fit to be shown: one line of printable signs, never empty."""
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    return " ".join(plain.split())[:LONGEST_NAME].strip() or "A phone with no name"


def network(address: str) -> str:
    """Return what counts as one address: with IPv6, the network that one line is given."""
    try:
        parsed = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return "unknown"
    if isinstance(parsed, ipaddress.IPv4Address):
        return str(parsed)
    if parsed.ipv4_mapped:
        return str(parsed.ipv4_mapped)
    return str(ipaddress.ip_network((int(parsed), 64), strict=False))
