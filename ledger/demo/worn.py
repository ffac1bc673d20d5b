"""Jewelry and watches of the demonstration: what was seen, read, measured and weighed. No prices, no judgements.

Decides: the figures of instruments, as they would be on such goods. What the goods are is left to the assay room.
"""

from ledger.demo.bench import (
    Members,
    density,
    filed,
    magnet,
    marked,
    seen,
    sizes,
    streak,
    weighed,
    xrf,
)

NOTCH = "a filed notch of 2 mm"


def jewel(article: str, style: str, colour: str, **more: object) -> Members:
    """A single piece of jewelry without stones, unless said otherwise."""
    return {
        "kind": "single",
        "goods": "jewelry",
        "article": article,
        "pieces": 1,
        "style": style,
        "metal_colour": colour,
        "stones": [],
        **more,
    }


WEDDING_RING = jewel(
    "ring", "plain half-round band", "yellow",
    wearer="woman",
    obtained="from her mother",
    sizes=sizes("ring us 8", "width 5 mm"),
    marks=marked("14K", "inside of the band"),
    inscriptions=[{"text": "H. i B. 3 V 1991", "where": "inside of the band"}],
    damage="fine scratches all around",
    weighings=weighed("6.42 g"),
    evidence=[
        xrf("inside: Au 584, Ag 119, Cu 257, Zn 40", "edge: Au 583, Ag 120, Cu 257, Zn 40"),
        density("6.42", "5.93"),
        streak("14", "holds"),
        magnet("none"),
    ],
)  # fmt: skip

LOCKET = jewel(
    "locket", "oval, engraved ivy leaves", "yellow",
    wearer="woman",
    sizes=sizes("height 31 mm", "width 24 mm"),
    marks=marked("1/20 12K GF", "inside of the lid"),
    inscriptions=[],
    contents="a pressed four-leaved clover, given back to the seller",
    damage="worn at the hinge",
    weighings=weighed("9.85 g"),
    evidence=[xrf("lid: Au 496, Ag 86, Cu 360, Zn 58"), magnet("none")],
)  # fmt: skip

BANGLE = jewel(
    "bangle", "round tube with a box clasp", "yellow",
    wearer="woman",
    sizes=sizes("inner-diameter 60 mm", "thickness 7 mm"),
    marks=marked("18K", "tongue of the clasp"),
    damage="two pinholes beside the clasp",
    weighings=weighed("14.26 g"),
    evidence=[
        xrf("outside: Au 751, Ag 125, Cu 124", "inside of the tube's end: Au 749, Ag 126, Cu 125"),
        seen("hollow", text="a thin tube, open at two pinholes beside the clasp"),
        density("14.26", "12.90", air_after="14.71", note="hung in water as it was; wet inside afterwards"),
        density("14.26", "13.34", note="dried, then boiled under water until no bubble rose: full of water"),
    ],
)  # fmt: skip

EARRINGS = jewel(
    "earrings", "small hoops", "yellow",
    kind="set", pieces=2,
    wearer="woman",
    sizes=sizes("diameter 15 mm"),
    marks=marked("10K", "posts"),
    weighings=weighed("1.94 g"),
    evidence=[xrf("hoop: Au 415, Ag 112, Cu 405, Zn 68"), streak("10", "holds")],
)  # fmt: skip

PLATINUM_BAND = jewel(
    "ring", "flat band with milled edges", "white",
    wearer="man",
    sizes=sizes("ring us 10.5", "width 6 mm"),
    marks=marked("PT950", "inside of the band"),
    inscriptions=[],
    seller_says="steel, for all he knows, since a magnet takes it",
    weighings=weighed("7.84 g"),
    evidence=[xrf("inside: Pt 952, Co 48"), magnet("weak", "the band"), density("7.84", "7.45")],
)  # fmt: skip

STAMPED_CHAIN = jewel(
    "chain", "flat curb links, lobster clasp", "yellow",
    wearer="man",
    sizes=sizes("length 55 cm", "width 6 mm"),
    marks=marked("18K", "clasp tag"),
    weighings=weighed("22.35 g"),
    evidence=[
        xrf("link: Au 668, Ag 140, Cu 192", "other link: Au 666, Ag 141, Cu 193"),
        filed("notch in a link: Au 666, Ag 141, Cu 193", NOTCH),
        density("22.35", "20.80"),
        streak("18", "fades"),
    ],
)  # fmt: skip

BROOCH = jewel(
    "brooch", "wheat ear", "yellow",
    wearer="woman",
    sizes=sizes("length 48 mm"),
    marks=marked("585", "pin stem"),
    damage="catch replaced",
    weighings=weighed("4.71 dwt"),
    evidence=[
        xrf("leaf: Au 586, Ag 120, Cu 255, Zn 39", "back: Au 584, Ag 121, Cu 256, Zn 39"),
        density("7.32", "6.76"),
        magnet("weak", "pin stem"),
    ],
)  # fmt: skip

POCKET_WATCH = {
    "kind": "single",
    "goods": "watch",
    "article": "pocket watch",
    "pieces": 1,
    "style": "open face, enamel dial",
    "metal_colour": "white",
    "stones": [],
    "marks": marked("800", "inside of the case back"),
    "serials": [{"text": "220714", "of": "works"}, {"text": "55190", "of": "case"}],
    "damage": "one hand missing",
    "weighings": weighed("88.30 g"),
    "evidence": [xrf("case back: Ag 806, Cu 194")],
}

CLASS_RING = jewel(
    "ring", "class ring with a boat and an oar", "yellow",
    wearer="man",
    sizes=sizes("ring us 11"),
    marks=marked("10K", "inside of the shank"),
    inscriptions=[{"text": "J.T.M. 1998", "where": "inside of the shank"}],
    stones=[{"count": 1, "colour": "blue", "shape": "oval", "cut": "faceted", "size": "12 x 10 mm"}],
    weighings=weighed("12.88 g", stones="0.62 g"),
    evidence=[
        xrf("shank: Au 418, Ag 110, Cu 404, Zn 68"),
        filed("notch inside the shank: Au 416, Ag 111, Cu 405, Zn 68", NOTCH),
    ],
)  # fmt: skip

PLATED_RING = jewel(
    "ring", "wide band with a Greek key", "yellow",
    wearer="man",
    sizes=sizes("ring us 10"),
    marks=marked("18K HGE", "inside of the band"),
    weighings=weighed("5.12 g"),
    evidence=[xrf("inside: Au 212, Cu 520, Zn 200, Ni 68"), streak("18", "gone")],
)  # fmt: skip

GOLD_WATCH = {
    "kind": "single",
    "goods": "watch",
    "article": "pocket watch",
    "pieces": 1,
    "style": "hunter case, engine turned",
    "metal_colour": "yellow",
    "stones": [],
    "marks": marked("14K", "inside of the case back"),
    "inscriptions": [{"text": "M. E. from the Ferrymen 1931", "where": "inside of the front lid"}],
    "serials": [{"text": "48127", "of": "works"}, {"text": "9006", "of": "case"}],
    "weighings": weighed("64.20 g", net="22.46 g"),
    "evidence": [
        xrf("case back: Au 585, Ag 100, Cu 275, Zn 40"),
        filed("notch under the hinge: Au 583, Ag 101, Cu 276, Zn 40", NOTCH),
        magnet("strong", "spring of the lid"),
    ],
}

COCKTAIL_RING = jewel(
    "ring", "square cluster", "white",
    wearer="woman",
    sizes=sizes("ring us 6.5"),
    marks=marked("14K CZ", "inside of the shank"),
    stones=[{"count": 9, "colour": "clear", "shape": "round", "species": "zirconia", "basis": "claimed"}],
    weighings=weighed("5.38 g", stones="0.92 g"),
    evidence=[
        xrf("inside: Au 586, Ni 110, Cu 240, Zn 64"),
        density("5.38", "4.88", stones={"weight": "0.92", "unit": "g", "density": "5.8"}),
    ],
)  # fmt: skip

ANCHOR_PENDANT = jewel(
    "pendant", "anchor with a rope", "yellow",
    sizes=sizes("height 34 mm"),
    marks=marked("750", "bail"),
    inscriptions=[],
    weighings=weighed("8.15 g"),
    evidence=[
        xrf("shank: Au 752, Ag 123, Cu 125"),
        filed("notch in the bail: Au 750, Ag 125, Cu 125", NOTCH),
        density("8.15", "7.62"),
    ],
)  # fmt: skip

CHARM_BRACELET = jewel(
    "bracelet", "cable links with five charms: key, boot, owl, thimble, star", "yellow",
    wearer="woman",
    sizes=sizes("length 19 cm"),
    marks=marked("14K", "clasp"),
    weighings=weighed("17.90 g"),
    evidence=[
        xrf("link: Au 583, Ag 118, Cu 259, Zn 40", "owl: Au 585, Ag 118, Cu 257, Zn 40"),
        density("17.90", "16.54"),
        magnet("weak", "spring of the clasp"),
    ],
)  # fmt: skip

TWO_METAL_BROOCH = jewel(
    "brooch", "bow with a pearl drop", "two-tone",
    wearer="woman",
    sizes=sizes("width 41 mm"),
    marks=marked("14K", "back of the bow"),
    stones=[{"count": 1, "colour": "cream", "shape": "drop", "species": "pearl", "basis": "claimed"}],
    weighings=weighed("8.31 g", stones="0.44 g"),
    evidence=[xrf("part=back: Au 584, Ag 115, Cu 261, Zn 40", "part=front: Pt 948, Ir 52")],
)  # fmt: skip

UNMARKED_CHAIN = jewel(
    "chain", "rope, hook clasp", "yellow",
    sizes=sizes("length 50 cm", "width 4 mm"),
    marks=[],
    seller_says="22 karat, from abroad",
    weighings=weighed("31.05 g"),
    evidence=[xrf("link: Au 915, Ag 50, Cu 35"), streak("22", "holds"), magnet("none")],
)  # fmt: skip

SIGNET = jewel(
    "ring", "signet, shield with a heron", "white",
    wearer="man",
    sizes=sizes("ring us 9"),
    marks=marked("STERLING", "inside of the shank"),
    weighings=weighed("11.72 g"),
    evidence=[xrf("shield: Ag 926, Cu 74", "shank: Ag 924, Cu 76"), density("11.72", "10.59")],
)  # fmt: skip

FOX_CHAIN = jewel(
    "chain", "foxtail, spring ring clasp", "rose",
    wearer="woman",
    sizes=sizes("length 42 cm", "width 2 mm"),
    marks=marked("375", "clasp"),
    weighings=weighed("5.06 g"),
    evidence=[
        xrf("link: Au 377, Ag 100, Cu 455, Zn 68"),
        density("5.06", "4.60"),
        magnet("weak", "spring of the clasp"),
    ],
)  # fmt: skip
