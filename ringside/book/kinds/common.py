"""What the fields of several kinds have in common."""

STATION = 40  # characters of the id of a station, an item or an award
BODIES = ("FCI", "AKC", "KC", "CKC", "DA")
LEVELS = ("championship", "championship-cc", "open", "limited", "breed-club", "specialty", "cacib")
