"""A phone that asks the app itself, with no network between."""

from __future__ import annotations

import json
import time
from typing import Any

import uuid6
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from ringside.book.devices import OWNER, Devices
from ringside.book.store import Book

PORT = 8470
HOME = f"http://localhost:{PORT}"


class Phone:
    """A browser: first a stranger, then perhaps let in. `csrf` is the key to all it changes."""

    def __init__(
        self, app: Flask, device: str = "", base: str = HOME, address: str = "127.0.0.1"
    ) -> None:
        self.client: FlaskClient = app.test_client()
        self.device = device or str(uuid6.uuid7())
        self.base = base
        self.address = address
        self.cursor = ""
        self.csrf = ""

    def ask(self, method: str, path: str, **given: Any) -> TestResponse:
        given |= {"environ_base": {"REMOTE_ADDR": self.address}, "buffered": True}
        return self.client.open(path, method=method, base_url=self.base, **given)

    def get(self, path: str, **headers: str) -> TestResponse:
        return self.ask("GET", path, headers=headers)

    def session(self) -> dict[str, Any]:
        """What the server says of this visit."""
        answer: dict[str, Any] = self.get("/api/session").get_json()
        self.csrf = answer["csrf"]
        return answer

    def post(self, path: str, body: Any, **headers: str) -> TestResponse:
        """Send JSON, or bytes that pass for it. A header that is empty is left out."""
        # Over https the key's guard wants to know the page that asks, as browsers tell.
        given = {"Content-Type": "application/json", "Referer": f"{self.base}/", **self._key()}
        sent = {name: value for name, value in (given | headers).items() if value}
        data = body if isinstance(body, bytes) else json.dumps(body)
        return self.ask("POST", path, data=data, headers=sent)

    def submit(self, path: str, method: str = "POST", **fields: str) -> TestResponse:
        """Send a form of the desk."""
        return self.ask(method, path, data=fields, headers=self._key())

    def _key(self) -> dict[str, str]:
        return {"X-CSRFToken": self.csrf or self.session()["csrf"]}

    def pair(self, code: str, name: str = "A phone") -> TestResponse:
        answer = self.post("/api/pair", {"code": code, "device": self.device, "name": name})
        if answer.status_code == 200:
            self.session()
        return answer

    def let_in(self, book: Book, role: str = OWNER, name: str = "A phone") -> str:
        """Pair; gives the code."""
        with book.session():
            code = Devices(book).offer(role, time.time_ns() // 1_000_000).typed
        answer = self.pair(code, name)
        assert answer.status_code == 200, answer.text
        return code

    def sync(self, *changes: dict[str, Any], **more: Any) -> TestResponse:
        body = {"device": self.device, "cursor": self.cursor, "changes": changes, **more}
        answer = self.post("/api/sync", body)
        if answer.status_code == 200:
            self.cursor = answer.get_json()["cursor"]
        return answer

    def change(self, kind: str, record: str, field: str, value: Any, **given: Any) -> Any:
        key = str(uuid6.uuid7())
        stamp = f"{key[:8]}{key[9:13]}-0000-{self.device[-12:]}"
        made = {"id": key, "kind": kind, "record": record, "field": field, "value": value}
        return {**made, "stamp": stamp, "base": "", "device": self.device, **given}

    @property
    def cookies(self) -> list[str]:
        return [cookie.value for cookie in self.client._cookies.values()]
