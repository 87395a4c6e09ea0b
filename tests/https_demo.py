"""The demo over HTTPS, for browsers that test it; takes the arguments of `ringside demo`.

It is no command of Ringside: the demo is open to everybody who reaches it, so nobody needs it on
a network. Here too it listens on this computer alone, with the TLS of `ringside serve --lan`.
"""

from __future__ import annotations

from ringside import cli
from ringside.app import MOST_BODY, Settings, create_app
from ringside.book import keeping
from ringside.book.store import FILE_NAME, Book
from ringside.demo import fill
from ringside.knowledge import load
from ringside.knowledge.own import OWN_BREEDS
from ringside.web.lan import Lan
from ringside.web.serving import THIS_COMPUTER, Server


def main() -> None:
    options = cli._parser().parse_args()
    port, data = options.port, options.data
    with keeping.serving(data):
        book = Book(data / FILE_NAME)
        fill(book)
        settings = Settings(data, port, is_open=True, origin=f"https://localhost:{port}/")
        app = create_app(settings, book, load(own=data / OWN_BREEDS))
        server = Server(THIS_COMPUTER, port, app.wsgi_app, MOST_BODY)
        server.ssl_adapter = Lan(data).tls()
        cli._serve_until_stopped(server)


if __name__ == "__main__":
    main()
