"""How a phone is let in: who it is to the book, and the code that pairs it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, g, jsonify, request, session
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import generate_csrf
from pydantic import BaseModel, ConfigDict, Field

from ringside.book import clock
from ringside.book.devices import Refused
from ringside.web.door import WORDS, Door, problem
from ringside.web.shapes import NOT_JSON, DeviceId, parsed

STATUS = {"too-many": 429, "owners-phone": 409, "anothers-id": 409}


class PairRequest(BaseModel):
    """What a phone sends to be let in."""

    model_config = ConfigDict(extra="ignore")

    code: str = Field(min_length=1, max_length=80)
    device: DeviceId
    name: str = Field(default="", max_length=200)
    key: str = Field(default="", max_length=80)


def make_pairing(door: Door) -> Blueprint:
    """Return the routes that let a phone in."""
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
            paired = devices.pair(
                asked.code, asked.device, asked.name, address, clock.wall(), asked.key
            )
            book_id = book.id
        if isinstance(paired, Refused):
            return _refusal(paired)
        # What was known of the browser before is not carried over.
        session.clear()
        g.pop("csrf_token", None)
        response = jsonify(role=paired.role, book=book_id)
        door.give(response, paired.token)
        return response

    return routes


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
    asked = parsed(PairRequest, request.get_data())
    return problem(*asked) if isinstance(asked, tuple) else asked
