"""The marks as data: what stamped numbers and words claim, how firmly that is known and from where.

Decides: nothing; it is a table. `marks` reads an article's stamp with it. A number or word with several rows keeps
every meaning. Status: "law" (a statute or standard was read), "practice" (the trade's habit, published or not),
"memory" (not yet compared with a source).
"""

from dataclasses import dataclass

FTC = "16 CFR 23 (FTC Jewelry Guides, 83 FR 40665, 2018)"
STAMPING = "15 USC 295 (National Gold and Silver Stamping Act as amended by Pub. L. 94-450)"
SILVER_STAMPING = "15 USC 296"
PRODUCT = "NBS Voluntary Product Standards PS 67-76 and PS 70-76"
UK = "Hallmarking Act 1973 (UK), schedules"
GERMANY = "Feingehaltsgesetz 1884 (Germany)"
CONVENTION = "Convention on the Control and Marking of Articles of Precious Metals, Annex I"
ISO = "ISO 9202"
NATIONAL = "published references on national marks (hallmarking.com, silvercollection.it, 830-1000.dk, tukes.fi)"
PLATE = "published references on electroplate (silvercollection.it)"
HABIT = "common practice, no published source"
RUSSIA = "Imperial Russian assay, zolotniks of 96; published references on national marks"
LOTS = "German and Austrian lots of 16; published references on national marks"
WEIGHED_WARE = "published accounts of stripped weighted ware (10.0 % and 10.4 % of gross was silver)"


@dataclass(frozen=True)
class Meaning:
    """One meaning of a stamped number or word."""

    metal: str | None
    ppm: int | None
    construction: str | None = "solid"
    status: str = "law"
    source: str = NATIONAL
    note: str = ""
    kind: str = "metal"
    under: tuple[str, int] | None = None


def _zolotnik(metal: str, zolotniks: int, note: str = "") -> Meaning:
    return Meaning(metal, zolotniks * 1_000_000 // 96, source=RUSSIA, note=note)


def _fine(ppm: int) -> tuple[Meaning, ...]:
    note = "fine metal: the number does not say which"
    return tuple(Meaning(metal, ppm, source=UK, note=note) for metal in ("gold", "silver", "platinum", "palladium"))


_GRAMS = Meaning("silver", 0, "plated", "practice", HABIT, "grams of silver spread over a dozen pieces")

NUMBERS: dict[str, tuple[Meaning, ...]] = {
    "333": (Meaning("gold", 333_000, source=GERMANY, note="8 karat, a mark of Germany"),),
    "375": (Meaning("gold", 375_000, source=UK, note="9 carat"),),
    "9": (Meaning("gold", 375_000, status="practice", source=UK, note="9 carat, beside .375"),),
    "416": (Meaning("gold", 416_666, status="practice", source=HABIT, note="10 karat"),),
    "417": (Meaning("gold", 416_666, status="practice", source=HABIT, note="10 karat"),),
    "500": (Meaning("gold", 500_000), Meaning("palladium", 500_000, source=UK)),
    "575": (Meaning("gold", 575_000, status="practice", source=HABIT, note="not the same as 585"),),
    "583": (Meaning("gold", 583_000, note="USSR from 1927"),),
    "585": (Meaning("gold", 585_000, source=ISO, note="14 karat in Europe, 1.7 per thousand above 14/24"),),
    "625": (Meaning("gold", 625_000, status="practice", note="15 carat, Britain to 1932"),),
    "750": (
        Meaning("gold", 750_000, source=ISO, note="18 karat"),
        Meaning("silver", 750_000, source=LOTS, note="12 lot"),
    ),
    "800": (
        Meaning("silver", 800_000, source=GERMANY, note="the surface of 800 silver reads high"),
        Meaning("gold", 800_000, status="memory", note="Portugal, 19.2 karat"),
    ),
    "813": (Meaning("silver", 813_000, note="Finland"),),
    "826": (Meaning("silver", 826_000, note="older Danish"),),
    "830": (Meaning("silver", 830_000, note="Nordic countries"),),
    "833": (
        Meaning("gold", 833_000, note="20 karat, Netherlands"),
        Meaning("silver", 833_000, note="10 dinheiros, Portugal and Brazil"),
    ),
    "835": (Meaning("silver", 835_000, note="Germany, Netherlands, Austria"),),
    "840": (Meaning("gold", 840_000, note="Sweden 20 karat; French second title"),),
    "850": (Meaning("platinum", 850_000, source=FTC),),
    "875": (
        Meaning("silver", 875_000, source=RUSSIA, note="84 zolotnik or 14 lot"),
        Meaning("gold", 875_000, status="practice", source=HABIT, note="21 karat"),
    ),
    "900": (
        Meaning("silver", 900_000, note="coin silver"),
        Meaning("gold", 900_000, status="practice", source=HABIT, note="coin gold"),
        Meaning("platinum", 900_000, source=FTC),
    ),
    "916": (Meaning("gold", 916_000, source=UK, note="22 carat"),),
    "917": (Meaning("gold", 916_666, source=UK, note="22 carat"),),
    "925": (Meaning("silver", 925_000, source=FTC, note="on a gold-coloured article: gilt silver"),),
    "934": (Meaning("silver", 934_000, note="Netherlands"),),
    "935": (Meaning("silver", 935_000, note="Austria"),),
    "950": (
        Meaning("silver", 950_000, note="French first title"),
        Meaning("platinum", 950_000, source=FTC),
        Meaning("palladium", 950_000, source=UK),
    ),
    "958": (
        Meaning("gold", 958_000, note="23 karat, USSR"),
        Meaning("silver", 958_000, source=UK, note="Britannia silver"),
    ),
    "986": (Meaning("gold", 986_000, status="memory", note="ducat gold, Austria"),),
    "990": _fine(990_000),
    "995": _fine(995_000),
    "999": _fine(999_000),
    "999.9": _fine(999_900),
    "9999": _fine(999_900),
    "1000": _fine(1_000_000),
    "36": (_zolotnik("gold", 36),),
    "56": (_zolotnik("gold", 56),),
    "72": (_zolotnik("gold", 72),),
    "82": (_zolotnik("gold", 82),),
    "92": (_zolotnik("gold", 92),),
    "84": (_zolotnik("silver", 84), _GRAMS),
    "88": (_zolotnik("silver", 88),),
    "91": (_zolotnik("silver", 91),),
    "94": (_zolotnik("gold", 94, "a gold standard too"), _zolotnik("silver", 94)),
    "90": (_GRAMS,),
    "100": (_GRAMS,),
}

_STERLING = Meaning("silver", 925_000, source=FTC)
_COIN = Meaning("silver", 900_000, source=FTC, note="before 1906 unregulated: 750 to 950 was sold as coin")
_WEIGHTED = Meaning(None, None, "weighted", "practice", WEIGHED_WARE, "only the shell is silver")
_HANDLE = Meaning("silver", 925_000, "weighted", "practice", WEIGHED_WARE, "handle: shell, filler and a blade or tines")
_LAYER = Meaning("gold", None, "layered", "law", FTC, "the karat, if any, is that of the layer")
_OLD_CASE = Meaning("gold", None, "layered", "practice", HABIT, "watch case: a layer; years are a promise of wear")
_EUROPEAN = Meaning("gold", None, "layered", "practice", NATIONAL, "rolled or plated on the Continent")
_BONDED = Meaning("gold", None, "layered", "practice", HABIT, "a gold layer over sterling", under=("silver", 925_000))
_HEAVY = Meaning("gold", None, "plated", "law", FTC, "heavy electroplate, 2.5 micrometres of fine gold or its like")
_ELECTRO = Meaning("gold", None, "plated", "law", FTC, "electroplate, at least 0.175 micrometre")
_GILT = Meaning("gold", None, "plated", "law", FTC, "gold plate")
_FLASH = Meaning("gold", None, "plated", "law", FTC, "thinner than 0.175 micrometre")
_VERMEIL = Meaning("gold", None, "plated", "law", FTC, "gold over sterling", under=("silver", 925_000))
_EPNS = Meaning("silver", 0, "plated", "law", PLATE, "electroplate on base metal")
_GRADE = Meaning("silver", 0, "plated", "law", PLATE, "a quality of plate")
_FUSED = Meaning("silver", 0, "layered", "law", PLATE, "silver fused on copper")
_NO_SILVER = Meaning("base", 0, "base", "practice", PLATE, "holds no silver")
_STEEL = Meaning("base", 0, "base", "practice", HABIT, "stainless steel: 18/10 is chromium and nickel")
_PLATINUM = Meaning("platinum", 950_000, source=FTC, note="unqualified platinum: at least 950")
_IRID = Meaning("platinum", 900_000, source=FTC, note="usually 900 platinum and 100 iridium; the mark gives no number")
_PALLADIUM = Meaning("palladium", 950_000, source=UK, note="older American work gives no number by it")
_HOLLOW = Meaning(None, None, "hollow", "practice", HABIT, "hollow or filled")
_PLUMB = Meaning("gold", None, "solid", "practice", HABIT, "plumb: at least the marked karat")
_STONE = Meaning(None, None, None, "practice", HABIT, "speaks of stones", kind="stone")
_ORIGIN = Meaning(None, None, None, "memory", HABIT, "says where, not how fine", kind="origin")
_TOWN = Meaning(None, None, None, "memory", UK, "an assay office's own mark: no fineness by itself", kind="origin")
_MAKER = Meaning(None, None, None, "practice", HABIT, "may be a maker's letters", kind="maker")

_WORDS: tuple[tuple[str, tuple[Meaning, ...]], ...] = (
    ("STERLING,STER,STERL,STG,STERLING SILVER,S925,925S,SS925", (_STERLING,)),
    ("STERLING WEIGHTED,WEIGHTED STERLING,STERLING REINFORCED,FILLED STERLING", (_STERLING, _WEIGHTED)),
    ("WEIGHTED,REINFORCED,CEMENT FILLED,CEMENT REINFORCED,LOADED", (_WEIGHTED,)),
    ("STERLING HANDLE,STG HANDLE,STERLING HANDLES", (_HANDLE,)),
    ("COIN,PURE COIN,COIN SILVER", (_COIN,)),
    ("DOLLAR,STANDARD", (_COIN, _MAKER)),
    ("FINE SILVER", (Meaning("silver", 999_000, status="practice", source=HABIT),)),
    ("BRITANNIA", (Meaning("silver", 958_000, source=UK, note="Britannia metal is tin"),)),
    ("MINERVA 1", (Meaning("silver", 950_000),)),
    ("MINERVA 2,BOAR HEAD,BOARS HEAD,CRAB", (Meaning("silver", 800_000),)),
    ("EAGLE HEAD,EAGLES HEAD", (Meaning("gold", 750_000, note="France from 1838"),)),
    ("OWL,HIBOU", (Meaning("gold", 750_000, status="practice", note="France, import or unknown origin"),)),
    ("DOGS HEAD,DOG HEAD", (Meaning("platinum", 950_000, note="France from 1912"),)),
    ("LION PASSANT", (Meaning("silver", 925_000, status="memory", source=UK),)),
    ("THREE CROWNS", (Meaning("silver", 830_000, note="Sweden under the law of 1912"),)),
    ("800 CROWN MOON,CROWN MOON", (Meaning("silver", 800_000, source=GERMANY),)),
    ("830S,830H", (Meaning("silver", 830_000),)),
    ("826S", (Meaning("silver", 826_000),)),
    ("813H", (Meaning("silver", 813_000),)),
    ("12 LOT,12L,12LOT", (Meaning("silver", 750_000, source=LOTS),)),
    ("13 LOT,13L,13LOT", (Meaning("silver", 812_500, source=LOTS),)),
    ("14 LOT,14L,14LOT", (Meaning("silver", 875_000, source=LOTS),)),
    ("15 LOT,15L,15LOT", (Meaning("silver", 937_500, source=LOTS),)),
    ("PLAT,PLATINUM,PT", (_PLATINUM,)),
    ("IRIDPLAT,IRID PLAT,10% IRID PLAT,90% PLAT 10% IRID", (_IRID,)),
    ("PM", (Meaning("platinum", None, source=NATIONAL, note="old Japanese platinum, no number"), _MAKER)),
    ("PALL,PALLADIUM,PD", (_PALLADIUM,)),
    ("PLUMB,KP", (_PLUMB,)),
    ("GF,GOLD FILLED,RGP,ROLLED GOLD,ROLLED GOLD PLATE,GOLD OVERLAY", (_LAYER,)),
    ("GO", (_LAYER, _MAKER)),
    ("GOLD SHELL,WARRANTED 10 YEARS,WARRANTED 20 YEARS,WARRANTED 25 YEARS", (_OLD_CASE,)),
    ("GUARANTEED 10 YEARS,GUARANTEED 20 YEARS,GUARANTEED 25 YEARS", (_OLD_CASE,)),
    ("GS", (_OLD_CASE, _MAKER)),
    ("DOUBLE,AMERIKANER,WALZGOLD,20/000,PLAQUE OR,PLAQUE G,P20,P10,GP 20,GP 10,G 10M,G 20M", (_EUROPEAN,)),
    ("10 MICRONS,20 MICRONS,40 MICRONS", (_EUROPEAN,)),
    ("BONDED,BONDED GOLD,GOLD BONDED", (_BONDED,)),
    ("HGE,HGP", (_HEAVY,)),
    ("GEP,GOLD ELECTROPLATE,GOLD ELECTROPLATED", (_ELECTRO,)),
    ("GE", (_ELECTRO, _MAKER)),
    ("GP,KGP,GPL,GOLD PLATE,GOLD PLATED,GILT", (_GILT,)),
    ("GOLD WASHED,GOLD WASH,GOLD FLASHED,FLASH,GOLD TONE", (_FLASH,)),
    ("GT", (_FLASH, _MAKER)),
    ("VERMEIL", (_VERMEIL,)),
    ("EPNS,EPBM,EPC,EPWM,EPSS,EPCA,SILVER PLATE,SILVER PLATED,SILVERPLATE", (_EPNS,)),
    ("EP", (_EPNS, _MAKER)),
    ("A1,TRIPLE,TRIPLE PLATE,QUADRUPLE,QUADRUPLE PLATE,QUAD PLATE,STANDARD PLATE,INLAID,XII", (_GRADE,)),
    ("AI,AA", (_GRADE, _MAKER)),
    ("90-21,100-45", (_GRAMS,)),
    ("SHEFFIELD PLATE,OLD SHEFFIELD,SILVER ON COPPER", (_FUSED,)),
    ("NICKEL SILVER,GERMAN SILVER,ALPACA,ALPAKA,ARGENTAN,NEVADA SILVER,BRAZIL SILVER", (_NO_SILVER,)),
    ("TIBETAN SILVER,BRITANNIA METAL,PEWTER,BRASS,BRONZE,COPPER", (_NO_SILVER,)),
    ("NS", (_NO_SILVER, _MAKER)),
    ("INOX,STAINLESS,STAINLESS STEEL,ROSTFREI,18/8,18/10", (_STEEL,)),
    ("HOLLOW,RESIN,ELECTROFORM", (_HOLLOW,)),
    ("CZ,DIA,TW,CTTW,CTW", (_STONE,)),
    ("ITALY,MEXICO,FRANCE,GERMANY,ENGLAND,JAPAN,THAILAND,INDIA,CHINA,TURKEY", (_ORIGIN,)),
    ("ANCHOR,LEOPARD HEAD,LEOPARDS HEAD,ROSE,CASTLE", (_TOWN,)),
    ("CCM,BALANCE SCALES", (Meaning(None, None, None, "law", CONVENTION, "no tolerance below", "origin"),)),
    ("SUNBURST FLAG", (Meaning(None, None, None, "law", NATIONAL, "Japan, tested by the Mint", "origin"),)),
)

WORDS: dict[str, tuple[Meaning, ...]] = {word: meanings for names, meanings in _WORDS for word in names.split(",")}
"""Words as marks.fold() writes them: capitals, no dots, single spaces."""

TOLERANCES: dict[str, tuple[int, int, str]] = {
    "gold": (3_000, 7_000, STAMPING),
    "silver": (4_000, 10_000, SILVER_STAMPING + ", figures from memory"),
}
"""Parts per million by which US law lets an article made from 1 October 1981 lie below its mark: metal without
solder, and the article with solder melted as one. Other metals: none."""
