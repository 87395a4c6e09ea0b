"""Carrying the app over the network: what listens, certifies and announces. It serves any WSGI
app and knows this machine, never the book, a dog or a page; only the certificate's walk is its own.
"""
