"""What is said when something went wrong: JSON for the app, a page at the desk."""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask, Response, jsonify, render_template, request
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException

from ringside.book.store import BookUnavailable
from ringside.web import log

TRY_AGAIN = 10  # seconds
Answer = tuple[Response, int]


def make_errors(app: Flask, most_body: int, root: Callable[[], str]) -> None:
    """Answer every error in one shape; never with the shell, which a phone might keep.

    `most_body` is how many bytes a request may have, `root` the folder of the desk's styles.
    """
    words = {
        404: "There is nothing at this address.",
        413: f"That is more than {most_body // 1024 // 1024} MB at once; send it in parts.",
    }

    def plain(error: HTTPException) -> Answer:
        status = error.code or 500
        code = error.name.lower().replace(" ", "-")
        return jsonify(code=code, message=words.get(status, error.description)), status

    def as_page(response: Response) -> Response:
        """Let a person at the desk read what the app would be told."""
        said = response.get_json(silent=True) if response.status_code >= 400 else None
        at_desk = f"{request.path}/".startswith("/desk/") and request.accept_mimetypes.accept_html
        if at_desk and isinstance(said, dict):
            response.set_data(
                render_template("desk/error.html", root=root(), message=said.get("message"))
            )
            response.mimetype = "text/html"
        return response

    app.register_error_handler(CSRFError, _forged)
    app.register_error_handler(HTTPException, plain)
    app.register_error_handler(BookUnavailable, _unavailable)
    app.register_error_handler(Exception, _failed)
    app.after_request(as_page)


def _forged(error: CSRFError) -> Answer:
    return jsonify(code="csrf", message=f"{error.description} Reload and try again."), 400


def _unavailable(error: BookUnavailable) -> Answer:
    log.trouble(error)
    response = jsonify(code="book-unavailable", message=str(error))
    response.headers["Retry-After"] = str(TRY_AGAIN)
    return response, 503


def _failed(error: Exception) -> Answer:
    message = (
        f"Something went wrong here. Tell whoever runs the server: request {log.failure(error)}."
    )
    return jsonify(code="internal-server-error", message=message), 500
