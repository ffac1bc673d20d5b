"""The marks as data: what stamped numbers and words claim, how firmly that is known and from where.

Decides: nothing; it is a table. `marks` reads an article's stamp with it. A number or word with several rows keeps
every meaning. Status: "law" (a statute or standard was read), "practice" (the trade's habit, published or not),
"memory" (not yet compared with a source).
"""

from dataclasses import dataclass, replace

from ledger.assay.tolerances import CONVENTION, GERMANY, UK

FTC = "16 CFR 23 (FTC Jewelry Guides, 83 FR 40665, 2018)"
KARAT = "karat: twenty-fourths; 15 USC 294 to 300 (National Gold and Silver Stamping Act)"
ISO = "ISO 9202"
NATIONAL = "published references on national marks (hallmarking.com, silvercollection.it, 830-1000.dk, tukes.fi)"
PLATE = "published references on electroplate (silvercollection.it)"
HABIT = "common practice, no published source"
RUSSIA = "Imperial Russian assay, zolotniks of 96; published references on national marks"
LOTS = "German and Austrian lots of 16; published references on national marks"
WEIGHED_WARE = "published accounts of stripped weighted ware (10.0 % and 10.4 % of gross was silver)"
CHINA = "marks of Chinese retail gold, from memory"


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
    """metal, maker, origin, stone, weight, part"""
    under: tuple[str, int] | None = None
    countries: tuple[str, ...] = ()
    """whose system this is, ISO 3166-1 (SU: the Soviet Union); empty: used in many"""
    years: tuple[int | None, int | None] = (None, None)
    """first and last year in which it was struck, where that is known"""
    covers: str = ""
    """the part that it names itself"""


_NORDIC = ("NO", "DK", "SE", "FI")
_RUSSIAN = ("RU", "SU")
_GERMAN = ("DE", "AT")


def _zolotnik(metal: str, zolotniks: int, note: str = "") -> Meaning:
    # The metric system of finenesses came by a decree of 15 November 1927.
    ppm, years = zolotniks * 1_000_000 // 96, (None, 1927)
    return Meaning(metal, ppm, source=RUSSIA, note=note, countries=_RUSSIAN, years=years)


def _fine(ppm: int) -> tuple[Meaning, ...]:
    note = "fine metal: the number does not say which"
    return tuple(Meaning(metal, ppm, source=UK, note=note) for metal in ("gold", "silver", "platinum", "palladium"))


def _lot(sixteenths: int) -> Meaning:
    return Meaning("silver", sixteenths * 1_000_000 // 16, source=LOTS, note=f"{sixteenths} lot", countries=_GERMAN)


_GRAMS = Meaning(
    "silver",
    0,
    "plated",
    "practice",
    HABIT,
    "grams of silver spread over a dozen pieces",
    countries=("FR", "DE", "AT", "CH", "IT", "BE", "DK"),
)

NUMBERS: dict[str, tuple[Meaning, ...]] = {
    "333": (Meaning("gold", 333_000, source=GERMANY, note="8 karat, a mark of Germany"),),
    "375": (Meaning("gold", 375_000, source=UK, note="9 carat"),),
    "9": (Meaning("gold", 375_000, status="practice", source=UK, note="9 carat, beside .375"),),
    "416": (Meaning("gold", 416_666, status="practice", source=HABIT, note="10 karat"),),
    "417": (Meaning("gold", 416_666, status="practice", source=HABIT, note="10 karat"),),
    "500": (
        Meaning("gold", 500_000, note="12 karat, USSR and Russia", countries=_RUSSIAN),
        Meaning("palladium", 500_000, source=UK),
    ),
    "575": (Meaning("gold", 575_000, status="practice", source=HABIT, note="not the same as 585"),),
    "583": (Meaning("gold", 583_000, note="USSR from 1927", countries=_RUSSIAN, years=(1927, None)),),
    "585": (Meaning("gold", 585_000, source=ISO, note="14 karat in Europe, 1.7 per thousand above 14/24"),),
    "625": (Meaning("gold", 625_000, status="practice", note="15 carat, Britain to 1932", years=(None, 1932)),),
    "750": (Meaning("gold", 750_000, source=ISO, note="18 karat"), _lot(12)),
    "800": (
        Meaning("silver", 800_000, source=GERMANY, note="the surface of 800 silver reads high"),
        Meaning("gold", 800_000, status="memory", note="Portugal, 19.2 karat", countries=("PT",)),
    ),
    "813": (Meaning("silver", 813_000, note="Finland", countries=("FI",)),),
    "826": (Meaning("silver", 826_000, note="older Danish", countries=("DK",)),),
    "830": (Meaning("silver", 830_000, note="Nordic countries", countries=_NORDIC),),
    "833": (
        Meaning("gold", 833_000, note="20 karat, Netherlands", countries=("NL",)),
        Meaning("silver", 833_000, note="10 dinheiros, Portugal and Brazil", countries=("PT", "BR")),
    ),
    "835": (Meaning("silver", 835_000, note="Germany, Netherlands, Austria", countries=("DE", "NL", "AT")),),
    "840": (Meaning("gold", 840_000, note="Sweden 20 karat; French second title", countries=("SE", "FR")),),
    "850": (Meaning("platinum", 850_000, source=FTC),),
    "875": (
        Meaning("silver", 875_000, source=RUSSIA, note="84 zolotnik or 14 lot", countries=(*_RUSSIAN, *_GERMAN)),
        Meaning("gold", 875_000, status="practice", source=HABIT, note="21 karat"),
    ),
    "900": (
        Meaning("silver", 900_000, note="coin silver"),
        Meaning("gold", 900_000, status="practice", source=HABIT, note="coin gold"),
        Meaning("platinum", 900_000, source=FTC),
    ),
    "916": (Meaning("gold", 916_000, source=UK, note="22 carat"),),
    "916.7": (Meaning("gold", 916_666, source=UK, note="22 carat"),),
    "917": (Meaning("gold", 916_666, source=UK, note="22 carat"),),
    "925": (Meaning("silver", 925_000, source=FTC, note="on a gold-coloured article: gilt silver"),),
    "934": (Meaning("silver", 934_000, note="Netherlands", countries=("NL",)),),
    "935": (Meaning("silver", 935_000, note="Austria", countries=("AT", "CH", "DE")),),
    "950": (
        Meaning("silver", 950_000, note="French first title", countries=("FR",)),
        Meaning("platinum", 950_000, source=FTC),
        Meaning("palladium", 950_000, source=UK),
    ),
    "958": (
        Meaning("gold", 958_000, note="23 karat, USSR", countries=_RUSSIAN),
        Meaning("silver", 958_000, source=UK, note="Britannia silver", countries=("GB",)),
    ),
    "965": (Meaning("gold", 965_000, status="memory", source=HABIT, note="Thai baht gold", countries=("TH",)),),
    "96.5": (Meaning("gold", 965_000, status="memory", source=HABIT, note="Thai baht gold", countries=("TH",)),),
    "986": (Meaning("gold", 986_000, status="memory", note="ducat gold, Austria", countries=("AT",)),),
    "990": _fine(990_000),
    "995": _fine(995_000),
    "999": _fine(999_000),
    "999.5": _fine(999_500),
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

KARATS = ("8", "9", "10", "12", "14", "15", "16", "18", "19.2", "20", "21", "22", "23", "24")
"""Karats that are stamped; others are read too, and are not taken for what an unread figure may have been."""
SHARES = ("1/2", "1/3", "1/4", "1/5", "1/8", "1/10", "1/15", "1/20", "1/25", "1/30", "1/40", "1/50", "1/100")
"""Shares of a layer that are stamped; others are read too. Source: the product standards for gold filled and for silver
with gold (PS 67-76, PS 68-76) for 1/2 to 1/20, the FTC's guides for 1/40, common practice for the rest."""

_STERLING = Meaning("silver", 925_000, source=FTC)
_COIN = Meaning(
    "silver", 900_000, source=FTC, note="before 1906 unregulated: 750 to 950 was sold as coin", countries=("US",)
)
_WEIGHTED = Meaning(None, None, "weighted", "practice", WEIGHED_WARE, "only the shell is silver")
_HANDLE = Meaning(
    "silver", 925_000, "weighted", "practice", WEIGHED_WARE, "shell, filler and a blade or tines", covers="handle"
)
_LAYER = Meaning("gold", None, "layered", "law", FTC, "the karat, if any, is that of the layer")
_OLD_CASE = Meaning("gold", None, "layered", "practice", HABIT, "watch case: a layer; years are a promise of wear")
_EUROPEAN = Meaning("gold", None, "layered", "practice", NATIONAL, "rolled or plated on the Continent")
_BONDED = Meaning("gold", None, "layered", "practice", HABIT, "a gold layer over sterling", under=("silver", 925_000))
_HEAVY = Meaning("gold", None, "plated", "law", FTC, "heavy electroplate, 2.5 micrometres of fine gold or its like")
_ELECTRO = Meaning("gold", None, "plated", "law", FTC, "electroplate, at least 0.175 micrometre")
_GILT = Meaning("gold", None, "plated", "law", FTC, "gold plate")
_FLASH = Meaning("gold", None, "plated", "law", FTC, "thinner than 0.175 micrometre")
_PLATED = Meaning(None, None, "plated", "practice", HABIT, "plated; with what, the other marks say")
_VERMEIL = Meaning("gold", None, "plated", "law", FTC, "gold over sterling", under=("silver", 925_000))
_EPNS = Meaning("silver", 0, "plated", "law", PLATE, "electroplate on base metal")
_GRADE = Meaning("silver", 0, "plated", "law", PLATE, "a quality of plate")
_FUSED = Meaning("silver", 0, "layered", "law", PLATE, "silver fused on copper")
_NO_SILVER = Meaning("base", 0, "base", "practice", PLATE, "holds no silver")
_NO_METAL = Meaning("base", 0, "base", "practice", HABIT, "no precious metal")
_STEEL = Meaning("base", 0, "base", "practice", HABIT, "stainless steel: 18/10 is chromium and nickel")
_PLATINUM = Meaning("platinum", 950_000, source=FTC, note="unqualified platinum: at least 950")
_IRID = Meaning("platinum", 900_000, source=FTC, note="usually 900 platinum and 100 iridium; the mark gives no number")
_PALLADIUM = Meaning("palladium", 950_000, source=UK, note="older American work gives no number by it")
_HOLLOW = Meaning(None, None, "hollow", "practice", HABIT, "hollow or filled")
_PLUMB = Meaning("gold", None, "solid", "practice", HABIT, "plumb: at least the marked karat")
_STONE = Meaning(None, None, None, "practice", HABIT, "speaks of stones", kind="stone")
_ORIGIN = Meaning(None, None, None, "memory", HABIT, "says where, not how fine", kind="origin")
_TOWN = Meaning(
    None, None, None, "memory", UK, "an assay office's own mark: no fineness by itself", "origin", countries=("GB",)
)
_CONTROL = Meaning(None, None, None, "law", CONVENTION, "common control mark: no tolerance below", "origin")
_MINT = Meaning(None, None, None, "law", NATIONAL, "Japan, tested by the Mint", "origin", countries=("JP",))
_MAKER = Meaning(None, None, None, "practice", HABIT, "may be a maker's letters", kind="maker")
_PART = Meaning(None, None, None, "practice", HABIT, "names the part that the mark covers", kind="part")
_PARTS = (
    *("HANDLE", "HANDLES", "CLASP", "CATCH", "POST", "POSTS", "PIN", "PIN STEM", "BLADE", "BACK", "BEZEL", "CASE"),
    *("TOP", "RIM", "FRAME", "NIB", "BUCKLE"),
)


def _names(metal: str) -> Meaning:
    note = "names the metal; in the United States gold without a karat is to be fine gold" if metal == "gold" else ""
    return Meaning(metal, None, None, "law", FTC, note or "names the metal, not how fine it is")


def _from(country: str) -> tuple[Meaning, ...]:
    return (replace(_ORIGIN, countries=(country,)),)


def _french(metal: str, ppm: int, note: str, status: str = "law", first: int | None = None) -> tuple[Meaning, ...]:
    return (Meaning(metal, ppm, "solid", status, NATIONAL, note, countries=("FR",), years=(first, None)),)


_WORDS: tuple[tuple[str, tuple[Meaning, ...]], ...] = (
    ("STERLING,STER,STERL,STG,STERLING SILVER,S925,925S,SS925,SV925", (_STERLING,)),
    ("STERLING WEIGHTED,WEIGHTED STERLING,STERLING REINFORCED,FILLED STERLING", (_STERLING, _WEIGHTED)),
    ("WEIGHTED,REINFORCED,CEMENT FILLED,CEMENT REINFORCED,LOADED", (_WEIGHTED,)),
    ("STERLING HANDLE,STG HANDLE,STERLING HANDLES", (_HANDLE,)),
    ("COIN,PURE COIN,COIN SILVER", (_COIN,)),
    ("DOLLAR,STANDARD", (_COIN, _MAKER)),
    ("FINE SILVER,PURE SILVER", (Meaning("silver", 999_000, status="practice", source=HABIT),)),
    ("FINE GOLD,PURE GOLD", (Meaning("gold", 999_000, status="practice", source=HABIT, note="bullion"),)),
    ("FINE PLATINUM", (Meaning("platinum", 999_000, status="practice", source=HABIT, note="bullion"),)),
    ("FINE PALLADIUM", (Meaning("palladium", 999_000, status="practice", source=HABIT, note="bullion"),)),
    ("GOLD", (_names("gold"),)),
    ("SILVER", (_names("silver"),)),
    ("BRITANNIA", (Meaning("silver", 958_000, source=UK, note="Britannia metal is tin", countries=("GB",)),)),
    ("MINERVA 1", _french("silver", 950_000, "France, first title")),
    ("MINERVA 2,BOAR HEAD,BOARS HEAD,CRAB", _french("silver", 800_000, "France, at least 800")),
    ("EAGLE HEAD,EAGLES HEAD", _french("gold", 750_000, "France from 1838", first=1838)),
    ("EAGLE HEAD 2,EAGLES HEAD 2", _french("gold", 840_000, "France from 1919, second title", first=1919)),
    ("EAGLE HEAD 3,EAGLES HEAD 3", _french("gold", 750_000, "France from 1919, third title", first=1919)),
    ("OWL,HIBOU", _french("gold", 750_000, "France, import or unknown origin", "practice")),
    ("DOGS HEAD,DOG HEAD", _french("platinum", 950_000, "France from 1912", first=1912)),
    ("LION PASSANT", (Meaning("silver", 925_000, status="memory", source=UK, countries=("GB",)),)),
    ("THREE CROWNS", (Meaning("silver", 830_000, note="Sweden under the law of 1912", countries=("SE",)),)),
    ("800 CROWN MOON,CROWN MOON", (Meaning("silver", 800_000, source=GERMANY, countries=("DE",)),)),
    ("830S,830H", (Meaning("silver", 830_000, countries=_NORDIC),)),
    ("826S", (Meaning("silver", 826_000, countries=("DK",)),)),
    ("813H", (Meaning("silver", 813_000, countries=("FI",)),)),
    *((f"{lot} LOT,{lot}L,{lot}LOT", (_lot(lot),)) for lot in (12, 13, 14, 15)),
    ("10 DINHEIROS", (Meaning("silver", 833_000, note="Portugal and Brazil", countries=("PT", "BR")),)),
    ("11 DINHEIROS", (Meaning("silver", 916_666, status="memory", note="Portugal", countries=("PT", "BR")),)),
    ("足金", (Meaning("gold", 990_000, "solid", "memory", CHINA, countries=("CN", "HK")),)),
    ("千足金", (Meaning("gold", 999_000, "solid", "memory", CHINA, countries=("CN", "HK")),)),
    ("足银", (Meaning("silver", 990_000, "solid", "memory", CHINA, countries=("CN", "HK")),)),
    ("PLAT,PLATINUM,PT", (_PLATINUM,)),
    ("IRIDPLAT,IRID PLAT,10% IRID PLAT,90% PLAT 10% IRID", (_IRID,)),
    ("PM", (Meaning("platinum", None, note="old Japanese platinum, no number", countries=("JP",)), _MAKER)),
    ("PALL,PALLADIUM,PD", (_PALLADIUM,)),
    ("PLUMB,KP", (_PLUMB,)),
    ("GF,GOLD FILLED,GOLDFILLED,RGP,ROLLED GOLD,ROLLED GOLD PLATE,GOLD OVERLAY,OVERLAY,GOLD CLAD", (_LAYER,)),
    ("GO", (_LAYER, _MAKER)),
    ("GOLD SHELL,WARRANTED 10 YEARS,WARRANTED 20 YEARS,WARRANTED 25 YEARS", (_OLD_CASE,)),
    ("GUARANTEED 10 YEARS,GUARANTEED 20 YEARS,GUARANTEED 25 YEARS", (_OLD_CASE,)),
    ("GS", (_OLD_CASE, _MAKER)),
    ("DOUBLE,AMERIKANER,WALZGOLD,20/000,PLAQUE OR,PLAQUE G,P20,P10,GP 20,GP 10,G 10M,G 20M", (_EUROPEAN,)),
    ("10 MICRONS,20 MICRONS,40 MICRONS", (_EUROPEAN, replace(_GRAMS, note="thickness of silver plate"))),
    ("BONDED,BONDED GOLD,GOLD BONDED,GOLD ON STERLING,GOLD OVER STERLING", (_BONDED,)),
    ("HGE,HGP,HGEP,HEAVY GOLD ELECTROPLATE", (_HEAVY,)),
    ("GEP,GOLD ELECTROPLATE,GOLD ELECTROPLATED", (_ELECTRO,)),
    ("GE", (_ELECTRO, _MAKER)),
    ("GP,KGP,GPL,GOLD PLATE,GOLD PLATED,GILT", (_GILT,)),
    ("GOLD WASHED,GOLD WASH,GOLD FLASHED,FLASH,GOLD TONE", (_FLASH,)),
    ("GT", (_FLASH, _MAKER)),
    ("PLATED,ELECTROPLATE,ELECTROPLATED,CLAD", (_PLATED,)),
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
    ("TUNGSTEN,TUNGSTEN CARBIDE,TITANIUM,STEEL", (_NO_METAL,)),
    ("HOLLOW,RESIN,ELECTROFORM", (_HOLLOW,)),
    ("CZ,DIA,TW,CTTW,CTW", (_STONE,)),
    ("ITALY", _from("IT")),
    ("MEXICO", _from("MX")),
    ("FRANCE", _from("FR")),
    ("GERMANY", _from("DE")),
    ("ENGLAND", _from("GB")),
    ("JAPAN", _from("JP")),
    ("THAILAND", _from("TH")),
    ("INDIA", _from("IN")),
    ("CHINA", _from("CN")),
    ("TURKEY", _from("TR")),
    ("USA", _from("US")),
    ("ANCHOR,LEOPARD HEAD,LEOPARDS HEAD,ROSE,CASTLE", (_TOWN,)),
    ("CCM,BALANCE SCALES", (_CONTROL,)),
    ("SUNBURST FLAG", (_MINT,)),
    *((part, (replace(_PART, covers=part.removesuffix("S").lower()),)) for part in _PARTS),
)

WORDS: dict[str, tuple[Meaning, ...]] = {word: meanings for names, meanings in _WORDS for word in names.split(",")}
"""Words as stamps.fold() writes them: capitals, no dots, single spaces."""
