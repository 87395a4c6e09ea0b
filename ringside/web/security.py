"""Headers, host check and the forgery guard. One place, so that no route can forget them."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from typing import Any
from urllib.parse import urlsplit

from flask import Flask, Response, jsonify, request
from flask_wtf.csrf import CSRFProtect
from werkzeug.middleware.proxy_fix import ProxyFix

from ringside.web import log

# No inline code and no nonces: a shell cached on a phone keeps the header of the day it was
# cached, so a nonce in it would be a constant (CSP Level 3, section 7.1).
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'; trusted-types ringside"
)
# What is no page loads nothing and is framed by nobody: said in a fifth of the bytes, with each of
# some twenty answers that a first visit waits for.
DATA_POLICY = "default-src 'none'; base-uri 'none'; frame-ancestors 'none'"
# A worker obeys the policy sent with its own script, not that of the page.
WORKER_POLICY = "default-src 'none'; connect-src 'self'; script-src 'self'"

HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
}
# What browsers ask of a page alone.
PAGE_HEADERS = {
    "Content-Security-Policy": PAGE_POLICY,
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=(), "
    "screen-wake-lock=(self)",
}
DATA_HEADERS = {"Content-Security-Policy": DATA_POLICY}
PAGES = ("text/html", "image/svg+xml")

Environ = dict[str, Any]
StartResponse = Callable[..., Any]
WsgiApp = Callable[[Environ, StartResponse], Iterable[bytes]]

csrf = CSRFProtect()


# Only on a public name: on a local one it would turn trouble with a certificate into a lock-out.
LASTING_TLS = "max-age=31536000"


# A phone that comes home with 100,000 changes sends them in 500 requests, or fetches them in 200,
# as fast as it can. Two hundred phones that are let in behind one address ask some 800 times.
BURST = 2_000
RATE = 20.0  # more a second
MOST_VISITORS = 10_000


def guard(app: Flask, hosts: Callable[[], frozenset[str]], hops: int = 0) -> None:
    """Put the guards around `app`, which answers only to the host names `hosts` (with port).

    Behind `hops` proxies of ours, what the outermost of them says of a request is believed.
    """
    csrf.init_app(app)
    app.before_request(_same_origin_only)
    app.after_request(_with_headers)
    app.after_request(log.note)
    app.wsgi_app = HostCheck(app.wsgi_app, hosts)  # type: ignore[method-assign]
    app.wsgi_app = log.Requests(app.wsgi_app, believes=hops > 0)  # type: ignore[method-assign]
    if hops:
        app.after_request(_with_lasting_tls)
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
            app.wsgi_app, x_for=hops, x_proto=hops, x_host=hops
        )


def sessions(app: Flask, address: str) -> None:
    """Keep what `app`, which is served at `address`, remembers of a browser in a cookie of ours."""
    app.config.update(
        # Servers on one machine share its cookies: the port tells them apart. It is the one that
        # browsers see, which several processes behind one proxy have in common.
        SESSION_COOKIE_NAME=_cookie(address),
        SESSION_COOKIE_SAMESITE="Strict",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SECURE=address.startswith("https:"),
        WTF_CSRF_TIME_LIMIT=None,  # a phone may come back after a weekend without a signal
    )


def _cookie(address: str) -> str:
    """Return the session cookie's name; only over https do browsers hold it to our origin."""
    parts = urlsplit(address)
    prefix = "__Host-" if parts.scheme == "https" else ""
    return f"{prefix}ringside-{parts.port or 'public'}"


def _with_lasting_tls(response: Response) -> Response:
    response.headers["Strict-Transport-Security"] = LASTING_TLS
    return response


class HostCheck:
    """Answer only to our own names, before anything else runs: the guard against DNS rebinding."""

    def __init__(self, inner: WsgiApp, hosts: Callable[[], frozenset[str]]) -> None:
        """Stand before `inner`; `hosts` is asked each time, as addresses come and go."""
        self.inner = inner
        self.hosts = hosts

    def __call__(self, environ: Environ, start_response: StartResponse) -> Iterable[bytes]:
        """Pass the request on, or refuse it with 421."""
        if environ.get("HTTP_HOST", "").lower() in self.hosts():
            return self.inner(environ, start_response)
        body = b"This server does not answer to that name. Use the address it printed at start.\n"
        start_response(
            "421 Misdirected Request",
            [
                ("Content-Type", "text/plain; charset=utf-8"),
                ("Content-Length", str(len(body))),
                ("Content-Security-Policy", PAGE_POLICY),
                ("Cache-Control", "no-store"),
                *HEADERS.items(),
            ],
        )
        return [body]


class Throttle:
    """A token bucket for each visitor: `burst` requests at once, `rate` more each second."""

    def __init__(self, burst: float = BURST, rate: float = RATE, most: int = MOST_VISITORS) -> None:
        """Remember the `most` visitors who were here last."""
        self.burst, self.rate, self.most = burst, rate, most
        self._buckets: dict[str, tuple[float, float]] = {}
        self._lock = threading.Lock()

    def wait(self, who: str, now: float) -> float:
        """Let a visitor pass at `now` (s, steady): 0, or how long (s) they have to wait."""
        with self._lock:
            left, seen = self._buckets.pop(who, (self.burst, now))
            left = min(self.burst, left + (now - seen) * self.rate)
            passes = left >= 1
            self._buckets[who] = (left - passes, now)
            if len(self._buckets) > self.most:
                del self._buckets[next(iter(self._buckets))]
        return 0.0 if passes else (1 - left) / self.rate

    def __len__(self) -> int:
        return len(self._buckets)


def limit(app: Flask, who: Callable[[], str], throttle: Throttle) -> None:
    """Tell those who ask too often to come later. `who` names the visitor, "" one not counted."""

    def check() -> Response | None:
        visitor = who()
        wait = throttle.wait(visitor, time.monotonic()) if visitor else 0.0
        if not wait:
            return None
        response = jsonify(code="too-often", message="Too many requests. Try again in a moment.")
        response.headers["Retry-After"] = str(int(wait) + 1)
        response.status_code = 429
        return response

    app.before_request(check)


def _same_origin_only() -> tuple[dict[str, str], int] | None:
    """Refuse a change asked for by another site (Fetch Metadata, W3C working draft 2021)."""
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return None
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    if site in (None, "same-origin") and origin in (None, request.host_url.rstrip("/")):
        return None
    return {"code": "foreign", "message": "This came from another site and was refused."}, 403


def _with_headers(response: Response) -> Response:
    of_kind = PAGE_HEADERS if response.mimetype in PAGES else DATA_HEADERS
    for name, value in (HEADERS | of_kind).items():
        response.headers.setdefault(name, value)
    response.headers.setdefault("Cache-Control", "no-store")
    return response
