"""The kennel's record: where it is kept, the log of changes and what they come to, who may use it.

What may not enter: HTTP and pages, and rules of the trade, which are the domain's.
"""
