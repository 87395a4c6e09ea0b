"""Tables from spreadsheets: what is read, what each row would do to the book, and doing it.

What may not enter: a kind of record, but for the modules that are named for it; and the web.
"""
