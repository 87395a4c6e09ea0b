"""The kennel's record: kinds of record, the log of changes and its merge, devices, packs, copies.
No request and no page may enter here, and no rule of the trade: those are asked for in domain.
"""

from ringside.book import databases  # noqa: F401  # before any other module loads Peewee
