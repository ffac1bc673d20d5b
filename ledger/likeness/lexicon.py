"""Words for one thing, as victims, the police and the trade use them; data with a date, never a rule of the program.

Decides: which words mean the same feature, how much a shared feature tells, and what it brings with it. Leaves to
`ledger.likeness.traits` how a text is read, to `ledger.likeness.comparing` what agreement is worth together.
Sources: lists of fields that authorities publish (38 Rules of the City of New York chapter 21; Fla. Stat. 538.04;
Chicago police order S07-01-03: "yellow metal", "clear stone"); abbreviations of the trade and names of styles are
common practice, no published source; birthstones after the list that jewelers of the United States agreed on in
1912 and widened since, from memory. Weights are the project's own: tenths of a point.

>>> PHRASES[("magen", "david")].name
'six-pointed-star'
"""

from collections.abc import Mapping
from typing import NamedTuple

DATED = "2026-11-25"
"""the day on which the tables below were last gone through"""


class Concept(NamedTuple):
    """One feature and the words for it."""

    name: str
    kind: str
    """article, form, colour, metal, layer, gem-colour, gem-shape, species, wearer, contents, state"""
    tenths: int
    """how much it tells when both descriptions have it"""
    phrases: tuple[str, ...]
    brings: tuple[str, ...] = ()
    """other features that follow from it"""


def _rows(kind: str, *rows: tuple[str, int, str] | tuple[str, int, str, str]) -> tuple[Concept, ...]:
    return tuple(
        Concept(row[0], kind, row[1], tuple(row[2].split("|")), tuple(row[3].split()) if len(row) == 4 else ())
        for row in rows
    )


ARTICLES = _rows(
    "article",
    (
        "ring",
        10,
        "ring|rings|band|lr|gr|signet|wedding ring|wedding band|flat band|class ring|seal ring|anniversary band|"
        "ladies ring|gents ring|engagement ring",
    ),
    ("necklace", 10, "necklace|necklaces|necklet|choker|collar"),
    ("chain", 10, "chain|chains|neck chain|neckchain"),
    ("bracelet", 10, "bracelet|bracelets|bangle|bangles|cuff|armlet"),
    ("anklet", 10, "anklet|ankle bracelet"),
    ("earring", 10, "earring|earrings|ear ring|ear rings|hoop|hoops|stud|studs|clip ons"),
    ("pendant", 10, "pendant|pendants|pend|charm|charms|medallion|amulet"),
    ("locket", 15, "locket|lockets"),
    ("brooch", 10, "brooch|brooches|pin|pins|clip brooch"),
    ("tie-pin", 15, "tie pin|stick pin|tie tack|scarf pin|stickpin|tiepin"),
    ("watch", 10, "watch|ww|timepiece"),
    ("wrist-watch", 10, "wristwatch|wrist watch|lww|gww|ladies watch|gents watch"),
    ("pocket-watch", 15, "pocket watch|pocketwatch|pw|fob watch"),
    ("cuff-link", 15, "cuff links|cuff link|cufflinks|cufflink"),
    ("coin", 12, "coin|coins"),
    ("bar", 10, "bar|bars|ingot|ingots"),
    ("spoon", 10, "spoon|spoons|teaspoon|teaspoons|tablespoon"),
    ("fork", 10, "fork|forks"),
    ("knife", 10, "knife|knives"),
    ("flatware", 10, "flatware|cutlery"),
    ("bowl", 10, "bowl|bowls"),
    ("candlestick", 10, "candlestick|candlesticks"),
    ("crown", 10, "dental crown|tooth crown|gold tooth|dental gold"),
    ("medal", 10, "medal|medals"),
    ("box", 10, "box|snuff box|pill box|cigarette case|compact"),
)

FAMILY: Mapping[str, str] = {
    "ring": "finger",
    "necklace": "neck", "chain": "neck", "pendant": "neck", "locket": "neck",
    "bracelet": "wrist", "anklet": "wrist",
    "earring": "ear",
    "brooch": "pin", "tie-pin": "pin",
    "watch": "watch", "wrist-watch": "watch", "pocket-watch": "watch",
    "cuff-link": "cuff",
    "coin": "coin", "bar": "bar", "medal": "coin",
    "spoon": "table", "fork": "table", "knife": "table", "flatware": "table", "bowl": "hollow",
    "candlestick": "hollow", "crown": "dental", "box": "hollow",
}  # fmt: skip
"""articles that one person may call by another's name; two families never agree"""

FORMS = _rows(
    "form",
    ("plain", 5, "plain|flat band|simple"),
    ("wedding", 5, "wedding|wedding band|wedding ring"),
    ("solitaire", 10, "solitaire|sol|engagement|single stone|engagement ring"),
    ("eternity", 15, "eternity|anniversary band"),
    ("signet", 15, "signet|seal ring"),
    ("class", 20, "class|school|college|class ring"),
    ("claddagh", 35, "claddagh|two hands and a heart with a crown|hands heart and crown|irish ring", "ring"),
    ("six-pointed-star", 30, "star of david|magen david|6 pt star|six pointed star|6 point star", "pendant"),
    ("crucifix", 30, "crucifix|cross with jesus|cross with christ", "cross pendant"),
    ("cross", 15, "cross|crosses", "pendant"),
    ("saint", 20, "saint christopher|st christopher|miraculous"),
    ("heart", 10, "heart|hearts|heart shaped"),
    ("snake", 25, "snake|serpent"),
    ("bee", 15, "bee|bumblebee", "insect"),
    ("butterfly", 25, "butterfly", "insect"),
    ("insect", 15, "insect|bug"),
    ("flower", 10, "flower|floral|rose flower|daisy"),
    ("leaf", 10, "leaf|leaves"),
    ("bird", 20, "bird|eagle|dove|owl"),
    ("horse", 25, "horse|horseshoe"),
    ("anchor", 25, "anchor"),
    ("elephant", 25, "elephant"),
    ("oblong", 10, "oblong|cartouche|oval plaque"),
    ("script", 15, "hieroglyphs|hieroglyphics|raised figures|foreign script"),
    ("filigree", 20, "filigree|wirework"),
    ("cameo", 25, "cameo"),
    ("mourning", 30, "mourning|woven hair|hair work|hairwork"),
    ("rope", 15, "rope|rope chain|twist", "chain"),
    ("figaro", 20, "figaro", "chain"),
    ("curb", 15, "curb|cuban|curb link", "chain"),
    ("flat", 12, "flat|flat links|flat link"),
    ("box-link", 15, "box link|box chain|venetian", "chain"),
    ("cable", 12, "cable|trace|cable chain", "chain"),
    ("herringbone", 20, "herringbone", "chain"),
    ("snake-link", 15, "snake chain", "chain"),
    ("byzantine", 25, "byzantine|king chain", "chain"),
    ("line", 20, "tennis|line bracelet|tennis bracelet|riviere", "bracelet"),
    ("charm", 15, "charm bracelet|with charms", "bracelet"),
    ("open-back", 15, "cuff|open at the back|open back|open ended|gap"),
    ("bangle", 10, "bangle|bangles"),
    ("hoop", 12, "hoop|hoops|creole|creoles"),
    ("stud", 10, "stud|studs"),
    ("drop", 12, "drop|drops|dangle|dangles|dangling"),
    ("hinged", 10, "hinged|hinge"),
    ("square", 8, "square shape|sq shape|square"),
    ("monogram", 8, "monogram|mono|monogrammed|initials"),
    ("two-strand", 20, "two strand|double strand|dbl str|dbl strand|2 strand|twin strand"),
    ("three-strand", 20, "three strand|triple strand|3 strand"),
    ("knotted", 12, "knotted|hand knotted"),
    ("hunter", 20, "hunter|hunter case|hunting case|lid pops open|lid opens"),
    ("open-face", 15, "open face|open faced"),
    ("strap-black", 15, "black strap|blk lthr|black leather|blk strap|black band"),
    ("strap-brown", 15, "brown strap|brn lthr|brown leather"),
    ("chronograph", 20, "chronograph|chrono|stopwatch"),
    ("quartz", 3, "quartz|qtz|battery"),
    ("liberty-head", 15, "ladys head|lady s head|liberty|lib|woman s head|womans head"),
    ("coin-mounted", 10, "coin necklace|coin in bezel|coin pendant|rope bezel|coin bezel|bezel"),
    ("six-prong", 15, "six prongs|six prong|6 prongs|6 prong|6 prg"),
    ("four-prong", 8, "four prongs|four prong|4 prongs|4 prong|4 prg"),
    ("bezel-set", 10, "bezel set"),
    ("channel-set", 12, "channel set|channel"),
    ("pave", 15, "pave"),
    ("halo", 15, "halo|cluster"),
    ("three-stone", 10, "three stone|3 stone|trilogy|past present future"),
    ("twisted", 12, "twisted|braided|plaited|woven"),
    ("hammered", 15, "hammered"),
    ("beaded-edge", 15, "milgrain|beaded edge|millegrain"),
    ("enamel", 12, "enamel|enameled|enamelled"),
    ("hollow", 3, "hollow"),
    ("engraved", 5, "hand engraved|chased|etched"),
    ("nugget", 20, "nugget|nugget style"),
    ("fancy-clasp", 5, "fancy clasp|clasp"),
)  # fmt: skip

COLOURS = _rows(
    "colour",
    ("yellow", 4, "yellow gold|yellow metal|yg|gold colored|gold coloured|gold color|yellow"),
    ("white", 6, "white gold|white metal|wg|silver colored|silver coloured|white"),
    ("rose", 12, "rose gold|rg|pink gold|red gold|rose metal"),
)  # fmt: skip
METALS = _rows(
    "metal",
    ("gold", 4, "gold|golden|yellow gold|white gold|rose gold|yg|wg|rg"),
    ("silver", 10, "silver|sterling|sterling silver|ss"),
    ("platinum", 20, "platinum|plat|pt"),
    ("palladium", 25, "palladium"),
)
LAYERS = _rows(
    "layer",
    ("layered", 5, "gf|gold filled|rgp|rolled gold|rolled gold plate|rolled plate|gold shell"),
    ("plated", 5, "plated|gp|gold plated|gep|electroplate|vermeil|gilt|epns"),
)
GEM_COLOURS = _rows(
    "gem-colour",
    ("clear", 5, "clear stone|clear stones|clear|white stone|white stones"),
    ("blue", 12, "blue|blue stone|blue stones|sapphire blue"),
    ("light-blue", 15, "light blue|pale blue|sky blue"),
    ("green", 12, "green|green stone|green stones"),
    ("red", 12, "red|red stone|red stones"),
    ("pink", 15, "pink|pink stone"),
    ("purple", 15, "purple|violet|lilac"),
    ("yellow-stone", 15, "yellow stone|yellow stones"),
    ("orange", 15, "orange|orange stone"),
    ("brown-stone", 12, "brown stone|smoky"),
    ("black-stone", 12, "black stone|black stones"),
)  # fmt: skip
SPECIES = _rows(
    "species",
    ("diamond", 6, "diamond|diamonds|dia|dias|brilliant|rbc|rd diamond", "clear"),
    ("sapphire", 8, "sapphire|sapphires|sapph", "blue"),
    ("ruby", 8, "ruby|rubies", "red"),
    ("emerald", 8, "emerald|emeralds", "green"),
    ("amethyst", 12, "amethyst|amethysts", "purple"),
    ("aquamarine", 12, "aquamarine|aqua", "light-blue"),
    ("topaz", 10, "topaz"),
    ("garnet", 12, "garnet|garnets", "red"),
    ("opal", 18, "opal|opals"),
    ("pearl", 15, "pearl|pearls|cult pearls|cultured pearls|pearl colored beads|pearl coloured beads"),
    ("turquoise", 20, "turquoise|turq|turquois"),
    ("jade", 20, "jade|jadeite"),
    ("onyx", 15, "onyx", "black-stone"),
    ("coral", 18, "coral"),
    ("amber", 18, "amber"),
    ("peridot", 15, "peridot", "green"),
    ("citrine", 15, "citrine", "yellow-stone"),
    ("tanzanite", 18, "tanzanite", "blue"),
    ("spinel", 8, "spinel|syn spinel|blue spinel"),
    ("zirconia", 6, "cz|cubic zirconia|zirconia", "clear"),
    ("moonstone", 20, "moonstone"),
    ("lapis", 20, "lapis|lapis lazuli", "blue"),
)  # fmt: skip
GEM_SHAPES = _rows(
    "gem-shape",
    ("round-stone", 5, "round|rd|rbc|round brilliant|brilliant cut"),
    ("oval-stone", 8, "oval"),
    ("square-stone", 10, "square|sq|princess|princess cut|step cut|emerald cut|asscher"),
    ("pear-stone", 12, "pear shaped|teardrop|pear cut"),
    ("marquise-stone", 12, "marquise|navette"),
    ("heart-stone", 12, "heart cut"),
    ("baguette", 12, "baguette|baguettes|bag|bags"),
    ("cabochon", 10, "cabochon|cabochons|cab|cabs"),
)  # fmt: skip
WEARERS = _rows(
    "wearer",
    ("for-women", 4, "ladies|lady|womans|woman|womens|women s|woman s|lr|lww|her"),
    ("for-men", 6, "gents|gent|mans|man|mens|men s|man s|gr|gww|his"),
    ("for-children", 12, "child|childs|child s|baby|kids|infant"),
)  # fmt: skip
CONTENTS = _rows(
    "contents",
    ("holds-photo", 20, "photo|picture|photograph|portrait|sons picture|son s picture"),
    ("holds-hair", 25, "lock of hair|hair inside"),
)
STATES = _rows(
    "state",
    ("broken", 3, "broken|snapped|damaged|pcs|pieces"),
    ("single", 15, "single|thief left the other|left the other|only one|one of a pair|odd"),
    ("pair", 5, "pair|pr|both"),
)

MONTHS: Mapping[str, tuple[str, ...]] = {
    "january": ("red",), "february": ("purple",), "march": ("light-blue",), "april": ("clear",), "may": ("green",),
    "june": ("pearl", "purple"), "july": ("red",), "august": ("green",), "september": ("blue",),
    "october": ("pink",), "november": ("yellow-stone", "orange"), "december": ("blue", "light-blue"),
}  # fmt: skip
"""colours of birthstones by month"""

CONCEPTS = (
    ARTICLES + FORMS + COLOURS + METALS + LAYERS + GEM_COLOURS + SPECIES + GEM_SHAPES + WEARERS + CONTENTS + STATES
)
BY_NAME: Mapping[str, Concept] = {concept.name: concept for concept in CONCEPTS}


def _phrases() -> dict[tuple[str, ...], Concept]:
    found: dict[tuple[str, ...], Concept] = {}
    for concept in CONCEPTS:
        for phrase in concept.phrases:
            found.setdefault(tuple(phrase.split()), concept)
    return found


PHRASES: Mapping[tuple[str, ...], Concept] = _phrases()
ALL_OF: Mapping[tuple[str, ...], tuple[Concept, ...]] = {
    phrase: tuple(concept for concept in CONCEPTS if " ".join(phrase) in concept.phrases) for phrase in PHRASES
}
"""every feature that a phrase stands for: "white gold" is a metal and a colour"""
LONGEST = max(map(len, PHRASES))

NUMBERS: Mapping[str, int] = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
    "eleven": 11, "twelve": 12, "a": 1, "an": 1, "dozen": 12,
}  # fmt: skip

_TELLS_NOTHING = (
    "the a an and of with in inside on my mom moms mothers granddad granddads it says to from fr like has that its"
    " mark mk marked est tot total ea each int engr engraved inscribed stone stones st small tiny little large big"
    " gold thin thick size sz inch inches cm mm dwt tola tolas carat carats ct karat kt k g gram grams european"
    " case mvt movement serial number no scrap lot set left other thief kept son name also made foreign middle across"
    " width inner id years old new used nice"
)
IGNORED = frozenset(_TELLS_NOTHING.split())
"""words that tell nothing by themselves"""
