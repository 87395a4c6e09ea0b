"""What the fields of several kinds have in common."""

STATION = 40  # characters of the id of a station, an item or an award
BODIES = ("FCI", "AKC", "KC", "CKC", "DA")
# Member bodies of the FCI whose wording of its classes we have: the variants of its regulations.
MEMBERS = ("au", "ch", "dk", "fi", "it", "nl", "no", "se")
LEVELS = (
    "championship", "championship-cc", "open", "limited", "breed-club", "specialty",
    "national-specialty", "cacib",
)  # fmt: skip
# Parts of a register whose dogs earn titles of their own, as the title files name them.
SECTIONS = ("asia-pacific", "australia", "fss", "neuter")
# Whose hands were on the dog: the handler's own, those of a person it knows, or a stranger's.
HANDS = ("own", "known", "stranger")
