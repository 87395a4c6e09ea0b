"""The core of the app in the two other engines that phones have: Gecko and WebKit.

Firefox ESR is spoken to by Marionette, a window of WebKitGTK by WebDriver; both protocols are JSON
over a socket, so nothing but the engines is needed, which Debian packs and tests/run.py gets.
"""
