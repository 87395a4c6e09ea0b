"""A window of WebKitGTK that is driven from outside and keeps its data in a folder.

Run by the system's Python, which has GTK's bindings, by WebKitWebDriver: webkit_window.py FOLDER
WIDTH HEIGHT [CERTIFICATE]. The browser that comes with WebKitGTK forgets all it kept when it ends,
and has controls above the page; a phone does neither. CERTIFICATE is a server's that is trusted.
"""

from __future__ import annotations

import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gio, Gtk, WebKit2  # noqa: E402


def main() -> None:
    folder, width, height, *certificates = sys.argv[1:]
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
    window = Gtk.Window()
    window.set_default_size(*size)
    window.add(view)
    window.show_all()
    window.connect("destroy", Gtk.main_quit)
    session.connect("create-web-view", lambda _: view)


if __name__ == "__main__":
    main()
