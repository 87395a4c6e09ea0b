"""A window of WebKitGTK that is driven from outside and keeps its data in a folder.

Run by the system's Python, which has GTK's bindings, by WebKitWebDriver: webkit_window.py FOLDER
WIDTH HEIGHT [--no-site-data] [CERTIFICATE]. The browser that comes with WebKitGTK forgets all it
kept when it ends, and has controls above the page; a phone does neither. CERTIFICATE is a server's
that is trusted. Without site data the engine has neither cookies nor databases nor storage.
"""

from __future__ import annotations

import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gio, Gtk, WebKit2  # noqa: E402

BLOCKED = "--no-site-data"


def main() -> None:
    folder, width, height, *certificates = [word for word in sys.argv[1:] if word != BLOCKED]
    data = WebKit2.WebsiteDataManager(
        base_data_directory=f"{folder}/data", base_cache_directory=f"{folder}/cache"
    )
    context = WebKit2.WebContext.new_with_website_data_manager(data)
    for certificate in certificates:
        trusted = Gio.TlsCertificate.new_from_file(certificate)
        context.allow_tls_certificate_for_host(trusted, "localhost")
    context.set_automation_allowed(True)
    context.connect("automation-started", started, int(width), int(height))
    Gtk.main()


def started(context: WebKit2.WebContext, session: WebKit2.AutomationSession, *size: int) -> None:
    view = WebKit2.WebView(web_context=context, is_controlled_by_automation=True)
    if BLOCKED in sys.argv:
        view.get_settings().set_enable_html5_local_storage(False)
        view.get_settings().set_enable_html5_database(False)
        context.get_cookie_manager().set_accept_policy(WebKit2.CookieAcceptPolicy.NEVER)
    window = Gtk.Window()
    window.set_default_size(*size)
    window.add(view)
    window.show_all()
    window.connect("destroy", Gtk.main_quit)
    session.connect("create-web-view", lambda _: view)


if __name__ == "__main__":
    main()
