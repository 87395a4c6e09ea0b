"""The devices of the book: the list, a code for one more, another name, the end of one."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template
from flask.typing import ResponseReturnValue
from flask_wtf import FlaskForm
from markupsafe import Markup
from wtforms import HiddenField, StringField  # type: ignore[import-untyped]
from wtforms.validators import AnyOf, InputRequired, Length, Regexp  # type: ignore[import-untyped]

from ringside.book import clock
from ringside.book.devices import LONGEST_NAME, ROLES, Device, Offer
from ringside.book.kinds.fields import UUID
from ringside.web.desk.moments import say_moment
from ringside.web.door import Door, problem
from ringside.web.library import Library


class OfferForm(FlaskForm):  # type: ignore[misc]
    """Whom to invite."""

    role = StringField(validators=[AnyOf(ROLES)])


class DeviceForm(FlaskForm):  # type: ignore[misc]
    """Which device to revoke."""

    device = HiddenField(validators=[Regexp(UUID)])


class NameForm(DeviceForm):
    """What to call a device."""

    name = StringField("Name", validators=[InputRequired(), Length(max=LONGEST_NAME)])


def make_devices(door: Door, library: Library) -> Blueprint:
    """Return the routes of the page that lists the devices."""
    routes = Blueprint("devices", __name__, url_prefix="/devices")
    book, devices = door.book, door.devices

    @routes.get("")
    def listed() -> str:
        return page()

    @routes.post("/pair")
    def offer() -> ResponseReturnValue:
        form = OfferForm()
        if door.is_open:
            return problem(409, "open")
        if not form.validate_on_submit():
            return page(wrong="Choose owner or helper."), 400
        with book.session():
            made = devices.offer(form.role.data, clock.wall())
        return page(offer=made)

    @routes.post("/rename")
    def rename() -> ResponseReturnValue:
        form = NameForm()
        if not form.validate_on_submit():
            return page(wrong="Give the device a name of one to forty characters."), 400
        with book.session():
            devices.rename(form.device.data, form.name.data)
        return redirect("/desk/devices", 303)

    @routes.post("/revoke")
    def revoke() -> ResponseReturnValue:
        form = DeviceForm()
        if not form.validate_on_submit():
            return page(wrong="There is no such device. Reload the list."), 400
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


def _row(device: Device, mine: str) -> dict[str, Any]:
    return {
        "id": device.id,
        "name": device.name,
        "role": device.role,
        "paired": say_moment(device.paired),
        "seen": say_moment(device.seen),
        "revoked": say_moment(device.revoked) if device.revoked is not None else "",
        "is_this": device.id == mine,
    }


def _picture(link: str) -> Markup:
    """Return the QR code of a link; it holds no style and no script, only one path."""
    import segno  # here: most that are served look at none

    code = segno.make(link, error="m", micro=False)
    return Markup(
        code.svg_inline(scale=6, dark="#000", light="#fff", svgclass=None, lineclass=None)
    )
