"""Rules of the trade as pure functions over knowledge: what is so for this dog on that day.
No clock, no file, no database, no network, and no word of a screen may enter here.
"""
