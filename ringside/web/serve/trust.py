"""The page that walks a phone through trusting this installation's authority.

It is served over plain HTTP on a port of its own, because a phone that does not trust us yet cannot
open anything else; it holds nothing but the public certificate and the way to compare it.
"""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask, Response, render_template, request
from werkzeug.exceptions import HTTPException

from ringside.files import folder
from ringside.web import log
from ringside.web.security import HEADERS, PAGE_HEADERS, HostCheck
from ringside.web.serve.certificates import Pair, fingerprint

POLICY = (
    "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
STYLES = ("tokens", "app", "desk")


def make_trust_app(
    authority: Callable[[], Pair],
    hosts: Callable[[], frozenset[str]],
    addresses: Callable[[], list[str]],
) -> Flask:
    """Return the app of the trust page.

    `hosts` gives the names (with port) it answers to, `addresses` those of the HTTPS server, the
    one that phones should use first.
    """
    app = Flask("ringside.trust", template_folder=str(folder("templates")), static_folder=None)

    @app.get("/")
    def page() -> str:
        return render_template(
            "serve/trust.html",
            fingerprint=fingerprint(authority().certificate),
            addresses=addresses(),
            agent="ios" if "iPhone" in request.user_agent.string else "",
        )

    @app.get("/authority.crt")
    def certificate() -> Response:
        response = Response(authority().certificate_pem, mimetype="application/x-x509-ca-cert")
        response.headers["Content-Disposition"] = 'attachment; filename="ringside-authority.crt"'
        return response

    @app.get("/style/<name>.css")
    def style(name: str) -> tuple[str, int] | Response:
        if name not in STYLES:
            return "There is no such style.\n", 404
        body = (folder("static") / "css" / f"{name}.css").read_bytes()
        return Response(body, mimetype="text/css")

    @app.after_request
    def with_headers(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["Cache-Control"] = "no-store"
        for name, value in (HEADERS | PAGE_HEADERS).items():
            response.headers.setdefault(name, value)
        return response

    @app.errorhandler(HTTPException)
    def plain(error: HTTPException) -> tuple[str, int]:
        return "There is nothing at this address. The page to begin with is /.\n", error.code or 500

    app.after_request(log.note)
    app.wsgi_app = HostCheck(app.wsgi_app, hosts)  # type: ignore[method-assign]
    app.wsgi_app = log.Requests(app.wsgi_app, believes=False)  # type: ignore[method-assign]
    return app
