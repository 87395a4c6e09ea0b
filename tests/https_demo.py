"""The demo over HTTPS, for browsers that test it; takes the arguments of `ringside demo`.

It is no command of Ringside: the demo is open to everybody who reaches it, so nobody needs it on
a network. Here too it listens on this computer alone, with the TLS of `ringside serve --lan`.
"""

from __future__ import annotations

from ringside.app import MOST_BODY, Settings, create_app
from ringside.book import keeping
from ringside.book.place import Place
from ringside.cli.command import parser
from ringside.cli.serve import serve_until_stopped
from ringside.demo import fill
from ringside.knowledge import load
from ringside.web.serve.lan import Lan
from ringside.web.serve.server import THIS_COMPUTER, Server


def main() -> None:
    options = parser().parse_args()
    port, data = options.port, options.data
    place = Place(data)
    with keeping.serving(place):
        book = keeping.open_book(place)
        fill(book)
        settings = Settings(data, port, is_open=True, origin=f"https://localhost:{port}/")
        app = create_app(settings, book, load(own=place.own_breeds))
        server = Server(THIS_COMPUTER, port, app.wsgi_app, MOST_BODY)
        server.ssl_adapter = Lan(data).tls()
        serve_until_stopped(server)


if __name__ == "__main__":
    main()
