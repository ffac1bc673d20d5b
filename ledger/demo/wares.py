"""Tableware, coins, bars, a medal and broken pieces of the demonstration: figures only, no judgements.

Decides: the figures of instruments, as they would be on such goods. What the goods are is left to the assay room.
"""

from ledger.demo.bench import (
    Members,
    conductance,
    density,
    filed,
    magnet,
    marked,
    seen,
    sizes,
    weighed,
    xrf,
)


def ware(goods: str, article: str, style: str, colour: str, **more: object) -> Members:
    """A single article that nobody wears."""
    return {
        "kind": "single",
        "goods": goods,
        "article": article,
        "pieces": 1,
        "style": style,
        "metal_colour": colour,
        **more,
    }


GOBLET = ware(
    "tableware", "goblet", "tulip bowl on a knopped stem", "yellow",
    seller_says="solid gold, a prize of the ferry race",
    sizes=sizes("height 154 mm", "diameter 72 mm"),
    marks=marked("925", "under the foot"),
    inscriptions=[{"text": "FERRY RACE 1926", "where": "bowl"}],
    damage="gilding thin at the rim",
    weighings=weighed("182.40 g"),
    evidence=[
        xrf("bowl: Au 978, Ag 16, Cu 6", "stem: Au 981, Ag 14, Cu 5"),
        filed("notch under the foot: Ag 926, Cu 74", "a filed notch of 3 mm under the foot"),
    ],
)  # fmt: skip

TEASPOONS = ware(
    "tableware", "teaspoons", "fiddle pattern with a shell", "white",
    kind="set", pieces=12,
    sizes=sizes("length 14 cm"),
    marks=marked("STERLING", "back of each handle"),
    inscriptions=[{"text": "L", "where": "front of each handle"}],
    weighings=weighed("287.60 g"),
    evidence=[
        xrf("bowl of spoon 1: Ag 925, Cu 75", "handle of spoon 5: Ag 923, Cu 77", "stem of spoon 12: Ag 926, Cu 74"),
        density("287.60", "259.92", note="all twelve in one basket"),
    ],
)  # fmt: skip

TEA_STRAINER = ware(
    "tableware", "tea strainer", "shell bowl, ivory-coloured handle", "white",
    sizes=sizes("length 17 cm"),
    marks=marked("925", "rim"),
    weighings=weighed("41.20 g"),
    evidence=[xrf("rim: Ag 927, Cu 73")],
)  # fmt: skip

CANDLESTICKS = ware(
    "tableware", "candlesticks", "column with a square foot", "white",
    kind="set", pieces=2,
    sizes=sizes("height 21 cm"),
    marks=marked("STERLING WEIGHTED", "rim of each foot"),
    damage="one column bent",
    weighings=weighed("612.4 g"),
    evidence=[
        xrf("rim of the first: Ag 924, Cu 76", "rim of the second: Ag 926, Cu 74"),
        magnet("weak", "the columns"),
        seen("filled", text="pitch under the felt of both feet"),
        {
            "test": "stripped",
            "who": "shop",
            "shell": "84.60",
            "unit": "g",
            "consent": {"given": True, "mark_left": "taken apart before the seller"},
        },
    ],
)  # fmt: skip

BROKEN_CHAIN = ware(
    "jewelry", "broken chain", "curb, rope and box links, sorted by their clasps", "yellow",
    kind="lot", pieces=41,
    marks=marked("14K", "nineteen of the clasps"),
    stones=[],
    contents="two clasp springs of steel",
    melted_on_arrival=False,
    weighings=weighed("38.74 g"),
    evidence=[
        xrf(
            "piece 1: Au 584, Ag 110, Cu 262, Zn 44",
            "piece 7: Au 580, Ag 112, Cu 264, Zn 44",
            "piece 19: Au 588, Ag 108, Cu 260, Zn 44",
        ),
        density("38.74", "35.79", note="all pieces in one basket, shaken free of bubbles"),
        magnet("weak", "two clasp springs"),
    ],
)  # fmt: skip


def gold_coin(year: str, air: str, water: str) -> Members:
    """A bullion coin of an invented mint."""
    return ware(
        "coin", "bullion coin", f"heron over a river, {year}", "yellow",
        marks=marked("1 OZ FINE GOLD 999.9", "back"),
        sizes=sizes("diameter 32.6 mm", "thickness 2.9 mm"),
        weighings=weighed(f"{air} g"),
        evidence=[
            xrf("field: Au 999.7, Cu 0.3"),
            density(air, water),
            conductance("60 kHz 75.8", "480 kHz 76.4"),
        ],
    )  # fmt: skip


FIRST_COIN = gold_coin("2019", "31.11", "29.50")
SECOND_COIN = gold_coin("2021", "31.12", "29.51")

SAUCE_BOAT = ware(
    "tableware", "sauce boat", "beaded rim, three hoof feet", "white",
    sizes=sizes("length 19 cm"),
    marks=marked("STERLING", "under the body"),
    inscriptions=[{"text": "M A", "where": "under the lip"}],
    weighings=weighed("231.50 g"),
    evidence=[xrf("body: Ag 924, Cu 76", "foot: Ag 925, Cu 75"), density("231.50", "209.20")],
)  # fmt: skip

NAPKIN_RINGS = ware(
    "tableware", "napkin rings", "engine turned, numbered 1 to 6", "white",
    kind="set", pieces=6,
    sizes=sizes("diameter 45 mm"),
    marks=marked("STERLING", "inside of each"),
    weighings=weighed("118.90 g"),
    evidence=[xrf("ring 1: Ag 926, Cu 74", "ring 4: Ag 924, Cu 76"), density("118.90", "107.44")],
)  # fmt: skip

CAST_BAR = ware(
    "bullion", "cast bar", "open mould, one corner sawn off for the assay", "yellow",
    sizes=sizes("length 74 mm", "width 31 mm"),
    marks=[],
    melted_on_arrival=True,
    weighings=weighed("412.6 g"),
    evidence=[
        xrf("top: Au 571, Ag 130, Cu 262, Zn 37", "bottom: Au 574, Ag 128, Cu 261, Zn 37"),
        {
            "test": "melt",
            "metal": "gold",
            "fineness": "573.2",
            "uncertainty": "1",
            "method": "fire-assay",
            "laboratory": "Tamsett Assay Bench (invented)",
            "consent": {"given": True, "mark_left": "a sawn corner"},
        },
    ],
)  # fmt: skip

SILVER_BAR = ware(
    "bullion", "cast bar", "flat, river-wave border", "white",
    marks=marked("999", "front"),
    serials=[{"text": "NR 004417", "of": "maker"}],
    weighings=weighed("1000.3 g"),
    evidence=[xrf("front: Ag 999.2, Cu 0.8"), density("1000.3", "905.0")],
)  # fmt: skip

TRAY = ware(
    "tableware", "tray", "round, gadrooned rim", "white",
    sizes=sizes("diameter 31 cm"),
    marks=marked("925", "under the rim"),
    inscriptions=[{"text": "Ε Μ", "where": "centre"}],
    damage="knife marks",
    weighings=weighed("548.2 g"),
    evidence=[
        xrf("rim: Ag 927, Cu 73", "centre: Ag 925, Cu 75"),
        density("548.2", "495.4"),
    ],
)  # fmt: skip

MEDAL = ware(
    "medal", "medal", "county fair, sheaf and plough", "white",
    sizes=sizes("diameter 51 mm"),
    marks=marked("STERLING", "edge"),
    inscriptions=[{"text": "FIRST PRIZE FOR HONEY 1931", "where": "back"}],
    weighings=weighed("1.85 ozt"),
    evidence=[xrf("front: Ag 925, Cu 75"), density("57.54", "52.00")],
)  # fmt: skip

THIMBLE = ware(
    "tableware", "thimble", "band of waves, dented dome", "white",
    sizes=sizes("height 24 mm"),
    marks=marked("925", "rim"),
    damage="one hole worn through",
    weighings=weighed("6.18 g"),
    evidence=[xrf("dome: Ag 928, Cu 72", "rim: Ag 926, Cu 74"), density("6.18", "5.58")],
)  # fmt: skip
