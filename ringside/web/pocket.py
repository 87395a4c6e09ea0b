"""The app for the pocket: its shell, manifest, worker and files, the same for everybody."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from flask import Blueprint, Flask, Response, render_template, request

from ringside.book.kinds import declaration, digest
from ringside.domain.breed_index import breed_index, breed_names
from ringside.domain.care import care_book
from ringside.domain.countdown import countdown_book
from ringside.domain.heat import heat_book
from ringside.domain.pack import (
    general_cards,
    home_book,
    reasons_apart,
    rules_book,
    sources_book,
    words_book,
)
from ringside.domain.photo import photo_book
from ringside.domain.results import results_book
from ringside.domain.ringbook import ring_book
from ringside.files import folder
from ringside.knowledge import Knowledge
from ringside.web.assets import Asset, Build, bare, make_build, unindented
from ringside.web.security import HEADERS, PAGE_HEADERS, WORKER_POLICY

# The markup that the first screen draws from; it must be read before anything is painted.
FIRST = {
    "pocket/views/kennel.html",
    *(f"pocket/parts/{name}.html" for name in ("figures", "icons", "lost", "notices", "rows")),
}
# What lists the screens that are loaded when one of them is opened.
FOR_HOME = ("athome.js", "byphoto.js")
VIEW = re.compile(r'"\./views/([a-z]+)\.js"')
MARKUP = re.compile(r"pocket/(?:parts|views)/[a-z]+\.html")
FOREVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True)
class Edition:
    """One build of the app, with what stands outside its folder."""

    build: Build
    worker: Asset
    manifest: Asset


def publish(app: Flask, knowledge: Knowledge) -> Edition:
    """Build the app from the files and the knowledge as they are now."""
    worker = (folder("templates") / "pocket" / "sw.js").read_text(encoding="utf-8")
    build = make_build(
        folder("static"),
        {name: Asset(body, "application/json") for name, body in _books(knowledge).items()}
        | {name: Asset(body, "text/html; charset=utf-8") for name, body in taken_in(app).items()},
        partial(shell, app),
        json.dumps({**HEADERS, **PAGE_HEADERS}) + worker,
    )
    return Edition(
        build,
        Asset(_given(build) + bare(worker.encode()), "text/javascript; charset=utf-8"),
        Asset(json.dumps(_manifest(build)).encode(), "application/manifest+json"),
    )


def shell(app: Flask, root: str, is_shipped: bool) -> str:
    """Return the page of the app, whose other files are below the path `root`.

    They are the few that are shipped, or the modules that we edit. The page holds the markup of
    the first screen. Of the scripts it asks for the first screen's alone: the drawing of dogs, the
    next to come, would cost the first paint a frame.
    """
    with app.app_context():
        return render_template(
            "pocket/shell.html",
            root=root,
            is_shipped=is_shipped,
            markup=sorted(FIRST),
            kinds=digest(),
        )


def taken_in(app: Flask) -> dict[str, bytes]:
    """Return the markup of the other screens by file: for a show, and for home alone.

    Each is taken in with the scripts of those screens: the parts that several share, which come
    with a show's, and a file for each view.
    """
    with app.app_context():
        return {
            f"{name}.html": unindented(
                render_template("pocket/taken_in.html", markup=markup).encode()
            )
            for name, markup in _markup(app).items()
        }


def _markup(app: Flask) -> dict[str, list[str]]:
    """Return the names of the templates for a show, and of those for home alone."""
    scripts = folder("static") / "js"
    listed = "".join((scripts / name).read_text(encoding="utf-8") for name in FOR_HOME)
    home = {f"pocket/views/{name}.html" for name in VIEW.findall(listed)}
    every = app.jinja_env.list_templates(filter_func=lambda name: bool(MARKUP.fullmatch(name)))
    return {
        "show": [name for name in every if name not in home | FIRST],
        "athome": [name for name in every if name in home],
    }


def _given(build: Build) -> bytes:
    """Return what the worker has to be told: the names BUILD and FILES."""
    files = json.dumps(build.precache(), indent=1)
    return f"const BUILD = {json.dumps(build.id)};\nconst FILES = {files};\n".encode()


def make_pocket(edition: Callable[[], Edition]) -> Blueprint:
    """Return the routes that serve the edition of the moment."""
    routes = Blueprint("pocket", __name__)

    @routes.get("/")
    def page() -> Response:
        return _serve(edition().build.shell, "no-cache")

    @routes.get("/manifest.webmanifest")
    def web_manifest() -> Response:
        return _serve(edition().manifest, "no-cache")

    @routes.get("/sw.js")
    def service_worker() -> Response:
        response = _serve(edition().worker, "no-cache")
        response.headers["Content-Security-Policy"] = WORKER_POLICY
        return response

    @routes.get("/static/<build_id>/<path:path>")
    def static_file(build_id: str, path: str) -> tuple[str, int] | Response:
        build = edition().build
        found = build.files.get(path)
        # A page of another build must not get this build's file under the old name.
        if found is None or build_id != build.id:
            return "There is no such file in this build.\n", 404
        return _serve(found, FOREVER)

    @routes.get("/screens/<name>")
    def screenshot(name: str) -> tuple[str, int] | Response:
        found = edition().build.files.get(f"screens/{name}")
        return _serve(found, "no-cache") if found else ("There is no such picture.\n", 404)

    return routes


def _books(knowledge: Knowledge) -> dict[str, bytes]:
    """Return the files that are looked things up in: the kinds of record, and the knowledge."""
    general, reasons = reasons_apart(general_cards(knowledge))
    books = {
        "care.json": care_book(knowledge),
        "countdown.json": countdown_book(knowledge),
        "home.json": home_book(knowledge),
        "kinds.json": declaration(),
        "knowledge.json": {"general": general, "breeds": breed_index(knowledge)},
        "names.json": breed_names(knowledge),
        "photo.json": photo_book(knowledge),
        "show.json": {
            "heat": heat_book(knowledge),
            "results": results_book(knowledge),
            "ring": ring_book(knowledge),
            "rules": rules_book(knowledge),
        },
        "sources.json": sources_book(knowledge),
        "reasons.json": reasons,
        "words.json": words_book(knowledge),
    }
    return {
        name: json.dumps(book, ensure_ascii=False, separators=(",", ":")).encode()
        for name, book in books.items()
    }


def _serve(item: Asset, caching: str) -> Response:
    encoding, body = item.encoded(request.headers.get("Accept-Encoding", ""))
    response = Response(body, content_type=item.content_type)
    response.headers["Cache-Control"] = caching
    response.headers["Vary"] = "Accept-Encoding"
    if encoding:
        response.headers["Content-Encoding"] = encoding
    response.set_etag(item.sha256[:16], weak=True)
    response.make_conditional(request)
    return response


def _manifest(build: Build) -> dict[str, object]:
    def icon(name: str, size: int, purpose: str) -> dict[str, str]:
        return {
            "src": f"{build.root}/icons/{name}",
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": purpose,
        }

    screens = sorted(path for path in build.files if path.startswith("screens/"))
    return {
        "id": "/",
        "name": "Ringside",
        "short_name": "Ringside",
        "description": "The judge's exam in your pocket: each station in order, with your dog's "
        "standard, your hands and your notes. Works without a signal.",
        "lang": "en",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "launch_handler": {"client_mode": "focus-existing"},
        "background_color": "#fdfcf8",
        "theme_color": "#fdfcf8",
        "categories": ["sports", "utilities"],
        "icons": [
            icon("icon-192.png", 192, "any"),
            icon("icon-512.png", 512, "any"),
            icon("maskable-512.png", 512, "maskable"),
        ],
        "screenshots": [_screenshot(path) for path in screens],
    }


def _screenshot(path: str) -> dict[str, str]:
    """Read size and form from the name: `<what>-<width>x<height>.png`."""
    name = path.removeprefix("screens/")
    size = name.removesuffix(".png").rpartition("-")[2]
    width, _, height = size.partition("x")
    return {
        "src": f"/screens/{name}",
        "sizes": size,
        "type": "image/png",
        "form_factor": "wide" if int(width) > int(height) else "narrow",
    }
