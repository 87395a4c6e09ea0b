"""HTTP in, HTTP out: the phone's app and its sync, the way in, the desk, and what serves them.
A route reads a request, asks the rooms below and answers; no rule of the trade and no SQL here.
"""
