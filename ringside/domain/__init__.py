"""Rules of the trade as pure functions over knowledge: no clock, no file, no network."""
