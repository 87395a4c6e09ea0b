"""Keeping the book: opening it, its copies and the way back from one, all of it out and in again.

What may not enter: what a change or a record means, and anything of the web.
"""

from ringside.book.keeping.breeds import breeds_in, own_breeds
from ringside.book.keeping.copies import backup, daily, kept_daily
from ringside.book.keeping.exporting import Exported, export
from ringside.book.keeping.files import INCOMING, old_name
from ringside.book.keeping.formats import open_book, opened_as_it_is
from ringside.book.keeping.importing import Imported, import_
from ringside.book.keeping.locks import serving, tidy
from ringside.book.keeping.notices import Notices
from ringside.book.keeping.photos import photos_in
from ringside.book.keeping.records_csv import cell, export_csv
from ringside.book.keeping.restoring import Restored, restore
from ringside.book.keeping.ways_back import begin_anew, need, refuse_to_forget

__all__ = [
    "INCOMING",
    "Exported",
    "Imported",
    "Notices",
    "Restored",
    "backup",
    "begin_anew",
    "breeds_in",
    "cell",
    "daily",
    "export",
    "export_csv",
    "import_",
    "kept_daily",
    "need",
    "old_name",
    "open_book",
    "opened_as_it_is",
    "own_breeds",
    "photos_in",
    "refuse_to_forget",
    "restore",
    "serving",
    "tidy",
]
