"""Words of the trade's shorthand and the field that each fills; tables, no reading.

Decides: which abbreviation stands for what. Leaves to `shorthand` how a line is read.
Sources: every abbreviation of this file is common practice, no published source, and so are the names of links,
clasps, settings and cuts; it says so again at each table. What a line has from elsewhere is not here: units of weight
are those of `measures`; the spellings dwt and gr are those of NIST Handbook 44, appendix C, which writes "oz t" and
"c" where scales of the trade show ozt and ct (from memory); element symbols are IUPAC's. Stamps are read as they are
struck, and what they claim is in `assay.marks_table` with its source.

>>> ARTICLES["bngl"], COLOURS["yg"], SHAPES["mq"]
(('bangle', 'jewelry'), 'yellow', 'marquise')
"""

from collections.abc import Mapping
from typing import Final


def _table(text: str) -> dict[str, str]:
    """From lines such as `foxtail links: foxtail, fox tail`: each word after the colon stands for what is before it."""
    found: dict[str, str] = {}
    for line in text.strip().splitlines():
        meaning, _, words = line.strip().partition(": ")
        found |= dict.fromkeys(words.split(", "), meaning)
    return found


def _articles(goods: str, text: str) -> dict[str, tuple[str, str]]:
    return {word: (article, goods) for word, article in _table(text).items()}


# Common practice, no published source.
ARTICLES: Final[Mapping[str, tuple[str, str]]] = {
    **_articles(
        "jewelry",
        """
        ring: ring, rng, rings, band, bnd, wedding band
        chain: chain, chn, chains, neck chain
        necklace: necklace, nklc, neck, choker, collar
        bracelet: bracelet, brac, brclt, bracelets
        bangle: bangle, bngl, bangles
        anklet: anklet, ankle bracelet
        earrings: earrings, er, ear rings, hoops, studs, creoles
        earring: earring, ear ring
        pendant: pendant, pend, pdt, pendants
        charm: charm, charms
        cross: cross, crucifix
        locket: locket, lkt
        brooch: brooch, brch, pin
        tie pin: tie pin, stick pin, tie tack
        cuff links: cuff links, cufflinks, cl
        """,
    ),
    **_articles(
        "watch",
        """
        watch: watch
        wrist watch: wrist watch, wristwatch, ww, lww, gww
        pocket watch: pocket watch, pw, fob watch
        """,
    ),
    **_articles("coin", "coin: coin, coins"),
    **_articles("bullion", "bar: bar, bars, ingot, ingots"),
    **_articles("medal", "medal: medal, medals"),
    **_articles("dental", "dental crown: dental crown, dental, tooth crown"),
    **_articles(
        "tableware",
        """
        spoon: spoon, spoons, tsp
        teaspoon: teaspoon, teaspoons
        fork: fork, forks
        knife: knife, knives
        bowl: bowl, bowls
        tray: tray
        candlestick: candlestick, candlesticks
        """,
    ),
}  # fmt: skip
"""Kind of article and kind of goods."""

WORN_ROUND: Final = frozenset({"chain", "necklace", "bracelet", "anklet"})
"""articles whose one measurement in centimetres or inches is their length"""
# Common practice, no published source.
STYLE_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "hoops": ("hoop",), "creoles": ("hoop",), "studs": ("stud",), "wedding band": ("wedding band",),
}  # fmt: skip
"""Styles that the word for an article names at the same time."""
# Common practice, no published source.
WEARERS_OF: Final[Mapping[str, str]] = {"lww": "woman", "gww": "man"}

# Common practice, no published source.
STYLES: Final[Mapping[str, str]] = _table("""
foxtail links: foxtail, fox tail
rope links: rope
figaro links: figaro, fig
curb links: curb, crb, cuban
cable links: cable, cbl, trace
box links: box link, box, venetian
herringbone links: herringbone, hbone
snake links: snake
byzantine links: byzantine, byz
belcher links: belcher
wheat links: wheat, spiga
anchor links: mariner, anchor link
tennis line: tennis
plain band: plain, plain band
court profile: court
D profile: d shape, d-shape
signet: signet, sig
solitaire: solitaire, sol
eternity: eternity, eter
cluster: cluster, clus
halo: halo
three stone: 3 stone, three stone, trilogy
claddagh: claddagh
class: class, school
gypsy set: gypsy, flush set
nugget: nugget
filigree: filigree, filig
milgrain edge: milgrain, mgrn
hammered: hammered, hamm
engraved: engraved, engr
openwork: openwork
heart: heart, hrt
cross: w cross
hoop: hoop
stud: stud
drop: drop, drops, dangle
hinged: hinged, hngd
twisted: twisted, twist
braided: braided, plaited
hollow: hollow, hlw
hunter case: hunter, hunting case
open face: open face, of
chronograph: chrono, chronograph
leather strap: leather strap, lthr
spring ring clasp: spring ring, sr
lobster clasp: lobster, lob
box clasp: box clasp, bxc
barrel clasp: barrel clasp
toggle clasp: toggle
fold-over clasp: fold over, foldover
screw backs: screw backs, screw back, sb
push backs: push backs, push back, butterflies
lever backs: lever backs, lever back, lb
mono engraved: mono, monogram
""")
"""What a style is put together from, in the order in which it is written."""

# Common practice, no published source.
WEARERS: Final[Mapping[str, str]] = _table("""
woman: ladies, lady, lds, lady's, womans, woman, women
man: gents, gent, gts, mens, men, man
child: childs, child, baby, kids
""")
# Common practice, no published source.
COLOURS: Final[Mapping[str, str]] = _table("""
yellow: yg, ym, yellow gold, yellow metal, yellow
white: wg, wm, white gold, white metal, white
rose: rg, rm, rose gold, rose metal, pink gold, rose
green: green gold
grey: grey metal, grey, gray metal
two-tone: 2t, 2-tone, two tone, two-tone, yg/wg, wg/yg
three-tone: 3t, 3-tone, three tone, three-tone, tricolour, tricolor
mixed: mixed metal, mixed
""")
# Common practice, no published source.
PLACES: Final[Mapping[str, str]] = _table("""
clasp: clasp, clsp
inside of the band: shank, band, inside, ins, inside band
lid: lid
inside of the lid: inside lid, ins lid
back: back, bk
case: case
bail: bail
tongue of the clasp: tongue
post: post
end ring: end ring, jump ring
pin stem: stem
edge: edge, rim
handle: handle
foot: foot, base
""")
"""Where a mark or an inscription stands."""

# Common practice, no published source.
GEM_COLOURS: Final[Mapping[str, str]] = _table("""
clear: clear, clr
red: red
blue: blue, blu
light blue: light blue, lt blue
green: green, grn
pink: pink, pnk
purple: purple, pur
orange: orange
black: black, blk
brown: brown, brn
milky: milky
""")
# Common practice, no published source.
SHAPES: Final[Mapping[str, str]] = _table("""
round: rd, round, rnd
oval: oval, ov
square: sq, square
pear: pear
marquise: marquise, mq
heart: heart shape
rectangular: rect, baguette, bag
octagonal: oct
cushion: cushion, cush
""")
# Common practice, no published source.
CUTS: Final[Mapping[str, str]] = _table("""
brilliant: brilliant, bril, rbc
step: step, emerald cut, ec
princess: princess, prin
cabochon: cabochon, cab
old mine: old mine, omc
old European: old european, oec
single: single cut, sc
rose: rose cut
""")
# Common practice, no published source.
SETTINGS: Final[Mapping[str, str]] = _table("""
claw: claw, prong, prg
bezel: bezel, bzl
channel: channel, chnl
pavé: pave, pavé
bead: bead, bead set
""")
# Common practice, no published source.
SPECIES: Final[Mapping[str, str]] = _table("""
diamond: diamond, diamonds, dia, dias
sapphire: sapphire, sapphires, sapph
ruby: ruby, rubies
emerald: emerald, emeralds, em
amethyst: amethyst, amethysts, amy
aquamarine: aquamarine, aqua
topaz: topaz
garnet: garnet, garnets, garn
opal: opal, opals
pearl: pearl, pearls, prl
turquoise: turquoise, turq
jade: jade
onyx: onyx
citrine: citrine, cit
peridot: peridot, peri
spinel: spinel
zirconia: cz, zirconia
moonstone: moonstone
""")
# Common practice, no published source.
BASES: Final = {"claimed": "claimed", "clmd": "claimed", "tested": "tested", "tstd": "tested"}

# Common practice, no published source.
DAMAGE: Final = {
    "broken": "broken", "brkn": "broken", "bent": "bent", "scratched": "scratched", "scr": "scratched",
    "dented": "dented", "dent": "dented", "worn": "worn", "kinked": "kinked", "cracked": "cracked",
    "chipped": "chipped", "snapped": "snapped",
}  # fmt: skip
# Common practice, no published source.
ALTERATION: Final = {"repaired": "repaired", "rpr": "repaired", "resized": "resized", "soldered": "soldered"}

# Common practice, no published source.
NONE_OF: Final[Mapping[str, str]] = {
    "no stones": "stones", "no stone": "stones", "ns": "stones", "no gems": "stones",
    "no marks": "marks", "no mark": "marks", "no mk": "marks", "nm": "marks", "unmarked": "marks", "unmkd": "marks",
    "no inscription": "inscriptions", "no inscr": "inscriptions", "not engraved": "inscriptions",
    "no serial": "serials", "no number": "serials",
}  # fmt: skip
"""Looked for and not found: an answer, as the schema's empty list is one."""
# Common practice, no published source.
NOTHING_OF: Final[Mapping[str, str]] = {
    "no damage": "damage", "no dmg": "damage", "nd": "damage", "not altered": "alteration", "empty": "contents",
}  # fmt: skip

# Common practice, no published source.
CLAUSES: Final[Mapping[str, str]] = {
    "style": "style", "dmg": "damage", "damage": "damage", "alt": "alteration", "altered": "alteration",
    "holds": "contents", "contents": "contents", "by": "maker", "maker": "maker", "model": "model",
    "says": "seller_says", "from": "obtained", "obtained": "obtained",
}  # fmt: skip
"""A word with a colon begins words of one's own, which run to the next semicolon."""

# Common practice, no published source.
NOTES: Final[Mapping[str, str]] = {
    **dict.fromkeys(
        ("gold", "silver", "platinum", "plat", "pt", "sterling", "ss", "gf", "rgp", "gp", "plated", "filled"),
        "what metal it is the tests say; write mk before what is stamped, and the colour as it looks",
    ),
    **dict.fromkeys(
        ("misc", "assorted", "jewelry", "jewellery", "ditto", "same", "stuff"),
        "says nothing by which another person could find the article",
    ),
}
"""Why a word that the trade knows fills no field."""
A_FINENESS: Final = "a fineness is a mark only where it is stamped: write mk before it"
A_MEASURE: Final = "length, width or height? write l, w, h or d before it"
HOW_MANY: Final = "how many stones? write their number before them"
NOT_UNDERSTOOD: Final = "not understood; it stays in the line"
