"""The door: who asks, what they may see, how a phone is let in, and the list of devices."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import segno
from flask import Blueprint, Response, g, jsonify, redirect, render_template, request, session
from flask.typing import ResponseReturnValue
from flask_wtf import FlaskForm
from flask_wtf.csrf import generate_csrf
from markupsafe import Markup
from pydantic import BaseModel, ConfigDict, Field
from wtforms import HiddenField, StringField  # type: ignore[import-untyped]
from wtforms.validators import AnyOf, InputRequired, Length, Regexp  # type: ignore[import-untyped]

from ringside.book import clock
from ringside.book.devices import (
    LONGEST_NAME,
    OWNER,
    ROLES,
    VIEWS,
    Device,
    Devices,
    Offer,
    Refused,
    network,
)
from ringside.book.kinds.fields import UUID
from ringside.book.pages import View
from ringside.book.store import Book
from ringside.web.library import Library
from ringside.web.shapes import NOT_JSON, DeviceId, parsed

# What anybody may ask for, and what every device that was let in; all else is an owner's alone.
PUBLIC = {"healthz", "pairing.who", "pairing.pair"}
PUBLIC_ROOM = "pocket"
MEMBERS = {"sync.sync"}
PAIRING_VIEW = "/#/pair"

COOKIE_DAYS = 400  # browsers keep none for longer; each start of the app begins them anew
MOST_BODY = 4096

WORDS = {
    "not-paired": "This device is not paired with the book. Pair it with a code.",
    "revoked": "This device is no longer part of the book. An owner may pair it again.",
    "open": "This book is open to everything on this computer; nothing needs to be paired.",
}
STATUS = {"too-many": 429, "owners-phone": 409}


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
        if request.endpoint in (None, "healthz") or request.blueprint == PUBLIC_ROOM:
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
        closed by itself."""
        if request.endpoint is None or request.endpoint in PUBLIC:
            return None
        if request.blueprint == PUBLIC_ROOM:
            return None
        visitor = g.get("visitor") or self._visitor_now()  # `caller` may have looked just now
        if visitor.role == OWNER or (visitor.role and request.endpoint in MEMBERS):
            return None
        if request.method == "GET" and not request.path.startswith("/api/"):
            # To one place, whatever was asked for: nobody can be sent on to elsewhere.
            return redirect(PAIRING_VIEW, 303)
        if visitor.problem:
            return problem(401, visitor.problem)
        return problem(403, "owners-only", "This is for the book's owners.")


class PairRequest(BaseModel):
    """What a phone sends to be let in."""

    model_config = ConfigDict(extra="ignore")

    code: str = Field(min_length=1, max_length=80)
    device: DeviceId
    name: str = Field(default="", max_length=200)


class OfferForm(FlaskForm):  # type: ignore[misc]
    """Whom to invite."""

    role = StringField(validators=[AnyOf(ROLES)])


class DeviceForm(FlaskForm):  # type: ignore[misc]
    """Which device to revoke."""

    device = HiddenField(validators=[Regexp(UUID)])


class NameForm(DeviceForm):
    """What to call a device."""

    name = StringField("Name", validators=[InputRequired(), Length(max=LONGEST_NAME)])


def make_pairing(door: Door, library: Library) -> Blueprint:
    """Return the routes that let a phone in, and the page that lists the devices."""
    routes = Blueprint("pairing", __name__)
    book, devices = door.book, door.devices

    @routes.get("/api/session")
    def who() -> Response:
        """Say who asks, as the book sees it, and give out what a change must carry."""
        said: dict[str, Any] = {"csrf": generate_csrf(), "now": clock.wall()}
        with book.session():
            visitor = door.visitor()
            if visitor.problem:
                return jsonify(said | {"code": visitor.problem, "message": WORDS[visitor.problem]})
            said |= {"book": book.id, "device": visitor.device, "role": visitor.role}
        response = jsonify(said)
        if visitor.device:
            door.give(response, request.cookies[door.cookie])
        return response

    @routes.post("/api/pair")
    def pair() -> ResponseReturnValue:
        if door.is_open:
            return problem(409, "open")
        asked = _asked()
        if not isinstance(asked, PairRequest):
            return asked
        address = request.remote_addr or ""
        with book.session():
            paired = devices.pair(asked.code, asked.device, asked.name, address, clock.wall())
            book_id = book.id
        if isinstance(paired, Refused):
            return _refusal(paired)
        # What was known of the browser before is not carried over.
        session.clear()
        g.pop("csrf_token", None)
        response = jsonify(role=paired.role, book=book_id)
        door.give(response, paired.token)
        return response

    @routes.get("/desk/devices")
    def listed() -> str:
        return page()

    @routes.post("/desk/devices/pair")
    def offer() -> ResponseReturnValue:
        form = OfferForm()
        if door.is_open:
            return problem(409, "open")
        if not form.validate_on_submit():
            return page(wrong="Choose whether the phone is an owner's or a helper's."), 400
        with book.session():
            made = devices.offer(form.role.data, clock.wall())
        return page(offer=made)

    @routes.post("/desk/devices/rename")
    def rename() -> ResponseReturnValue:
        form = NameForm()
        if not form.validate_on_submit():
            return page(wrong="A device's name has one to forty characters."), 400
        with book.session():
            devices.rename(form.device.data, form.name.data)
        return redirect("/desk/devices", 303)

    @routes.post("/desk/devices/revoke")
    def revoke() -> ResponseReturnValue:
        form = DeviceForm()
        if not form.validate_on_submit():
            return page(wrong="There is no such device; look at the list again."), 400
        with book.session():
            devices.revoke(form.device.data, clock.wall())
        return redirect("/desk/devices", 303)

    def page(offer: Offer | None = None, wrong: str = "") -> str:
        with book.session():
            found = [] if door.is_open else devices.all()
            mine = door.visitor().device
        link = f"{door.address}#/pair/{offer.link}" if offer else ""
        return render_template(
            "desk/devices.html",
            root=library.edition().build.root,
            is_open=door.is_open,
            devices=[_row(device, mine) for device in found],
            longest=LONGEST_NAME,
            offer=offer,
            link=link,
            picture=_picture(link) if link else "",
            wrong=wrong,
        )

    return routes


def problem(status: int, code: str, message: str = "") -> tuple[Response, int]:
    """Say no, in the shape of every error."""
    return jsonify(code=code, message=message or WORDS[code]), status


def _refusal(refused: Refused) -> ResponseReturnValue:
    said = {"code": refused.code, "message": refused.message}
    response = jsonify(said)
    if refused.wait:
        seconds = -(-refused.wait // 1000)
        response = jsonify(said | {"wait": seconds})
        response.headers["Retry-After"] = str(seconds)
    response.status_code = STATUS.get(refused.code, 403)
    return response


def _asked() -> PairRequest | tuple[Response, int]:
    if request.mimetype != "application/json":
        return problem(*NOT_JSON)
    if (request.content_length or 0) > MOST_BODY or len(request.get_data()) > MOST_BODY:
        return problem(413, "too-large", "Nothing that long pairs a phone.")
    asked = parsed(PairRequest, request.get_data())
    return problem(*asked) if isinstance(asked, tuple) else asked


def _row(device: Device, mine: str) -> dict[str, Any]:
    def moment(ms: int | None) -> datetime | None:
        return None if ms is None else datetime.fromtimestamp(ms / 1000, UTC)

    return {
        "id": device.id,
        "name": device.name,
        "role": device.role,
        "paired": moment(device.paired),
        "seen": moment(device.seen),
        "revoked": moment(device.revoked),
        "is_this": device.id == mine,
    }


def _picture(link: str) -> Markup:
    """Return the QR code of a link; it holds no style and no script, only one path."""
    code = segno.make(link, error="m", micro=False)
    return Markup(
        code.svg_inline(scale=6, dark="#000", light="#fff", svgclass=None, lineclass=None)
    )
