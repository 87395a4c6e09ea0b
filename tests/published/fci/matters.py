"""What an eliminating fault can be about, and the words by which a text and an ask tell it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

# What is said before an eye or a nose is of it, and no matter of colour.
_SHADE = (
    r"(?:(?:colou?r of (?:the )?|too|very|light|pale|dark|bright|yellow\w*|blue|green|black"
    r"|brown|pink|flesh-colou?red|liver[- ]colou?red|spotted|solid|different(?:ly)?|colou?red"
    r"|white|or|and)[ ,/]+)*"
)
MATTERS: Mapping[str, re.Pattern[str]] = {
    name: re.compile(rf"\b(?:{words})", re.IGNORECASE)
    for name, words in {
        "temperament": r"aggress|shy|timid|nervous|fear|temperament|character\b|letharg|anxi"
        r"|aloof|overexcit|vicious|coward|biting",
        "abnormal": r"physical\w* (?:or|of|abn)|behavioural abn|abnormal behaviour"
        r"|abnormality of body",
        "testes": r"cryptorchid|monorchid|testic|scrot",
        "sexes": r"dimorph|sexual|gender|sexes|«doggy|«bitchy|bitchy|doggy|sex\b|male of|reversal"
        r"|masculine|feminine|(?:bitch|dog) (?:that looks )?like a|untypical of its sex|tell apart",
        "fontanel": r"fontanel",
        "lids": r"entropion|ectropion|eye-?lid|lids?\b|eye[- ]?rim|distich|eyelash|palpebral",
        "bite": r"over-? ?(?:and|or) ?-?under-?(?: ?shot)?\b(?! ?size)|over-?shot|under-?shot"
        r"|overbite|underbite|bite\b|prognath|enognath|jaw|mouth|cross-?bite|scissor bite|wry",
        "teeth": r"teeth|tooth|dentit|dental|canine|premolar|P?M ?\d|P ?\d\b|molar|incis|carnass",
        "ridge": r"ridge\b",
        "tongue": _SHADE + r"tongue",
        "eyes": _SHADE + r"(?:eyes?\b)|wall|eyed\b|heterochrom|strab|squint|iris\b|china",
        "nose": _SHADE + r"(?:nose\b)|nostril|dudley",
        "lips": r"lips?\b|flew|palate",
        "muzzle": r"muzzle|bridge|foreface|facial|dish|planes",
        "stop": r"stop\b",
        "head": r"skull|head|cranio|cranial|axes|furrow|occip",
        "ears": r"ears?\b",
        "neck": r"neck|dewlap|throat",
        "dewclaws": r"dew-?claw|declaw",
        "feet": _SHADE + r"(?:nails?\b)|foot|feet|paw|syndactyl|pads\b|toes?\b|web",
        "tail": r"tail|anur|plume\b",
        "weight": r"weigh|\d+ ?kg",
        "size": r"height|size|over-?si|under-?si|over- (?:or|and) under-? ?si|stature|taller"
        r"|(?:in|ex)sufficient height|\d+(?:\.\d)? ?cm",
        "mask": r"mask\b",
        "albino": r"albin|(?:de|un|non)?-?pigment",
        "coat": r"coat(?! colou?r| with colou?red| of any other colou?r)"
        r"|undercoat|hair|wool|cord|fring|beard|furnish|feather|bald|curls?\b|guard",
        "colour": r"colou?r|tri-?colou?r|whole-?colou?r|white|black|brindle|spot|mark|merle"
        r"|harlequin|blue|brown|yellow|tan\b|liver|pied|orange|patch|tawny|fawn|fleck|mottl|roan"
        r"|bicolour|monocle|grey|red\b",
        "topline": r"back\b|swayback|topline|loin|croup|spine|hips?\b|rump",
        "chest": r"chest|fore-?chest|rib|breastbone|sternum|xiphoid",
        "legs": r"hock|stifle|hind|legs?\b|legged|foreleg|front-?leg|pastern|elbow|shoulder|limb"
        r"|tarsal|thigh|wrist|angulat|knuckl|stance|standing|forequart",
        "bone": r"bone",
        "gait": r"gait|gating|movement|moving|trot|ambl|pac(?:e|ing)\b|walk|hunt",
        "senses": r"deaf|blind|respirat|breath",
        "skin": r"skin\b",
        "joints": r"ligament|joints?\b",
    }.items()
}
# What a point is about where it names nothing of the above.
WEAK: Mapping[str, re.Pattern[str]] = {
    name: re.compile(rf"\b(?:{words})", re.IGNORECASE)
    for name, words in {
        "type": r"typ|a?typical|untyp|non-?typical|characteristic|cross-?breed|crossing|ancest"
        r"|sighthound|pointing breed|breed",
        "defect": r"malform|deform|dwarf|anatom|anomal|disabl|invalid|hereditary|morpholog"
        r"|degenerat"
        r"|deviation|impair|fault|defect",
        "surgery": r"surg|operat|fraud|cosmetic|artificial|sculpt|clip|trim|treat|tamper|altered",
        "body": r"body|proportion|length|long|square|build|built|structure|constit|muscle|appear"
        r"|light|thin",
    }.items()
}


def matter(point: str) -> str:
    """Return what a point of a list is about: what it names first, "" if no word tells it."""
    for words in (MATTERS, WEAK):
        named = [(found.start(), name) for name, it in words.items() if (found := it.search(point))]
        if named:
            return min(named, key=lambda found: found[0])[1]
    return ""


def without_ask(points: Sequence[str], asks: Sequence[str]) -> list[str]:
    """Return which matters of `points` find no ask of their own among what `asks` say."""
    words = {**MATTERS, **WEAK}
    taken: dict[int, int] = {}

    def finds(at: int, tried: set[int]) -> bool:
        for ask, says in enumerate(asks):
            if ask not in tried and words[points[at]].search(says):
                tried.add(ask)
                if ask not in taken or finds(taken[ask], tried):
                    taken[ask] = at
                    return True
        return False

    return [points[at] for at in range(len(points)) if not finds(at, set())]
