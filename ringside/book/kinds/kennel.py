"""The dogs, and what a handler writes of their own on a dog's card."""

from ringside.book.kinds.common import BODIES, SECTIONS, STATION
from ringside.book.kinds.fields import Choice, Day, Flag, FreeText, Number, Ref, WordList, Words
from ringside.book.kinds.kind import Kind, Seen

DOG = Kind(
    name="dog",
    words="dog",
    seen=Seen.BY_ALL,
    packs=("dog",),
    beside_packs=("name", "pedigree", "microchip", "registration", "portrait"),
    fields={
        "name": Words(40, required=True),
        "pedigree": Words(120, says="registered name"),
        "breed": Words(60, required=True),
        "variety": Words(80),
        "sex": Choice(("dog", "bitch"), required=True),
        "born": Day(required=True, says="date of birth"),
        "surface": Choice(("table", "ground", "ramp")),
        "body": Choice(BODIES, says="rules of"),
        "short_faced": Flag(),
        "neutered": Flag(),
        "testes": Choice(("both", "one", "none")),
        "testes_on": Day(says="testes checked on"),
        "microchip": Words(40),
        "registration": Words(60),
        "born_in": Words(2, says="country of birth"),
        "trial": Flag(),
        "section": Choice(SECTIONS, says="section of the register"),
        # The SHA-256 of the photo on its page: whoever sees the dog may see that one.
        "portrait": Words(64, quiet=True),
    },
)

# A private note on one dog at one station: nobody tells the ringside what is wrong with their dog.
NOTE = Kind(
    name="note",
    words="private note",
    seen=Seen.BY_OWNERS,
    about="dog",
    fields={
        "dog": Ref("dog", required=True),
        "station": Words(STATION, required=True),
        "text": FreeText(required=True),
    },
)

# The handler's own line for one dog at one station; it leads the Ring card there.
CUE = Kind(
    name="cue",
    words="own cue",
    seen=Seen.BY_ALL,
    about="dog",
    fields={
        "dog": Ref("dog", required=True),
        "station": Words(STATION, required=True),
        "line": Words(80, required=True),
    },
)

# The handler's own ask of a breed at one station, for all their dogs of that breed.
ASK = Kind(
    name="ask",
    words="own ask",
    seen=Seen.BY_ALL,
    about="breed",
    fields={
        "breed": Words(60, required=True),
        "station": Words(STATION, required=True),
        "says": FreeText(required=True),
    },
)

# An order of stations of one's own for a dog, named for the judge or the ring.
ORDER = Kind(
    name="order",
    words="own order",
    seen=Seen.BY_ALL,
    about="dog",
    fields={
        "dog": Ref("dog", required=True),
        "label": Words(40, required=True),
        "stations": WordList(required=True),
    },
)

# A weight or a height on a day.
MEASURE = Kind(
    name="measure",
    words="measure",
    seen=Seen.BY_ALL,
    about="dog",
    newest="day",
    by="what",
    fields={
        "dog": Ref("dog", required=True),
        "what": Choice(("weight", "height"), required=True),
        "value": Number(1000, required=True),
        "unit": Choice(("kg", "lb", "cm", "in"), required=True),
        "day": Day(required=True),
    },
)
