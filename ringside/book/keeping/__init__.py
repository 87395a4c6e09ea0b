"""Keeping the book: opening it, its copies and the way back from one, all of it out and in again.

What may not enter: what a change or a record means, and anything of the web.
"""

from ringside.book.keeping.breeds import breeds_in, own_breeds
from ringside.book.keeping.copies import backup, daily, kept_daily
from ringside.book.keeping.exporting import Exported, export
from ringside.book.keeping.files import old_name
from ringside.book.keeping.formats import open_book
from ringside.book.keeping.importing import Imported, import_
from ringside.book.keeping.locks import serving
from ringside.book.keeping.records_csv import export_csv
from ringside.book.keeping.restoring import Restored, restore
from ringside.book.opening import need

__all__ = [
    "Exported",
    "Imported",
    "Restored",
    "backup",
    "breeds_in",
    "daily",
    "export",
    "export_csv",
    "import_",
    "kept_daily",
    "need",
    "old_name",
    "open_book",
    "own_breeds",
    "restore",
    "serving",
]
