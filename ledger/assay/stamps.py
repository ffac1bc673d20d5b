"""The grammar of a stamp: its letters taken apart into pieces, longest reading first, and put together again.

Decides: where one mark ends and the next begins, and what marks in one stamp say of each other (GF beside 14K makes
the 14K a layer's, GOLD beside 750 leaves no silver). Knows no law and no worn letters: `marks` adds those.

>>> [(piece.metal, piece.ppm, piece.construction) for piece in pieces("14K GF 925")]
[('gold', 583333, 'layered'), ('silver', 925000, 'solid')]
>>> pieces("10K RGP BEZEL STAINLESS BACK")[1].covers
'back'
"""

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from ledger.assay import marks_table
from ledger.assay.marks_table import Meaning
from ledger.assay.tolerances import UK
from ledger.measures import karat


@dataclass(frozen=True)
class Piece:
    """What a run of letters says, in one meaning; members as in `Meaning`."""

    text: str
    start: int
    end: int
    kind: str = "metal"
    metal: str | None = None
    ppm: int | None = None
    construction: str | None = None
    fraction: tuple[int, int] | None = None
    status: str = "practice"
    source: str = ""
    note: str = ""
    ambiguous: bool = False
    under: tuple[str, int] | None = None
    countries: tuple[str, ...] = ()
    years: tuple[int | None, int | None] = (None, None)
    covers: str = ""
    plumb: bool = False
    worn: bool = False
    completed: str = ""


@lru_cache(maxsize=4096)
def pieces(folded: str) -> tuple[Piece, ...]:
    """The pieces of a stamp as `fold` gives it, in the order in which they stand, each once."""
    found: list[Piece] = []
    place = 0
    while place < len(folded):
        if folded[place] in _BETWEEN:
            place += 1
            continue
        read, place = _next(folded, place)
        found += read
    return tuple(dict.fromkeys(_by_part(found)))


_BETWEEN = " ,;:()[]<>|\"'*+&/-"
_LOOKALIKES = str.maketrans("АВЕКМНОРСТХ", "ABEKMHOPCTX")
_SPACED = re.compile(r"(?<![A-Z0-9?])[A-Z](?: [A-Z]){1,3}(?![A-Z0-9?])")


def fold(text: str) -> str:
    """A stamp in capitals, without accents and doubled spaces; between letters without dots, strokes or apostrophes."""
    plain = unicodedata.normalize("NFKD", text.replace("⁄", "/")).upper().translate(_LOOKALIKES)
    plain = "".join(c for c in plain if not unicodedata.combining(c)).replace("⁄", "/")
    plain = re.sub(r"(?<=[A-Z])[.'’](?=[A-Z\s]|$)", "", plain)
    plain = re.sub(r"(?<=[A-Z])[/-](?=[A-Z])", " ", plain)
    return _SPACED.sub(_drawn_together, " ".join(plain.split()))


def _drawn_together(match: re.Match[str]) -> str:
    letters = match[0].replace(" ", "")
    if letters in marks_table.WORDS:
        return letters
    # The K of "14 K G F" is the karat's, the others are what is said of it.
    karats = letters[0] == "K" and letters[1:] in marks_table.WORDS
    return f"K {letters[1:]}" if karats else match[0]


_KARAT_WORD = r"(?:KARAT|CARAT|KT|CT|KR(?!GP)|K|C)"
_NUMBER = r"(?:\d{1,2}(?:\.\d)?)"
_PLATED = r"RGP|GF|HGE|HGP|GEP|GPL|GP|GE|EP"
_METALS = r"PLATINUM|PLAT|PT|PALLADIUM|PALL|PD|GOLD|AU|SILVER|SV|AG"
_OTHERS = r"IRID|IR|PALL|PD|RUTH|RU|RHOD|RH|OSMI|OS|CO|CU"
_UNITS = r"OZT|OZS|OZ|OUNCES?|GRAMS?|GRAMMES?|GM|G|KG|KILOS?|TOLAS?|DWT|GRAINS?"
_PROVINCES = r"AL|AR|VI|MI|FI|RM|NA|TO"
_PATTERNS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (name, re.compile(pattern, re.ASCII))
    for name, pattern in (
        ("stones", r"(?:\d{0,2}\.\d+|\d{1,2}/\d{1,2}|\d{1,2})\s?(?:CTTW|CTW|CT\.? ?TW|TCW|TW)(?![A-Z0-9])"),
        ("stones", r"(?:0?\.\d{1,2}|[0-5]\.\d+|[1-5]|\d/\d{1,2})\s?(?:CT|CARATS?)(?![A-Z0-9])"),
        ("weight", rf"(?:\d{{1,4}}(?:\.\d{{1,4}})?|\d{{1,2}}/\d{{1,3}})\s?(?:TROY )?(?:{_UNITS})\.?(?![A-Z0-9])"),
        (
            "share",
            rf"(\d{{1,2}})\s?/\s?(\d{{1,3}})(?:TH)?[\s.\-]?({_NUMBER})\s?{_KARAT_WORD}"
            rf"(?:\s?(?:{_PLATED}))?(?![A-Z])",
        ),
        ("of-twenty", r"(9|10|12|14|18)\s?/\s?20(?!\d)(?:\s?(?:GF|RGP)(?![A-Z]))?"),
        ("percent", r"(\d{1,2})\s?%\s?(?:BONDED )?(\d{1,2})\s?K(?:T)?(?![A-Z])"),
        ("named", rf"({_METALS})[\s.-]?(\d{{3,4}}(?:\.\d)?)(?!\d)"),
        ("word", r"(?:" + "|".join(map(re.escape, sorted(marks_table.WORDS, key=len, reverse=True))) + ")(?![A-Z0-9])"),
        ("bare-share", r"1\s?/\s?(5|8|10|15|20|25|30|40|50|100)(?![\d/])"),
        ("karat", rf"({_NUMBER})\s?{_KARAT_WORD}(P(?![A-Z])|\s?(?:PLUMB|{_PLATED})(?![A-Z]))?"),
        ("karat-first", r"K\s?(\d{1,2}(?:\.\d)?)(?!\d)(\s?(?:" + _PLATED + r")(?![A-Z]))?"),
        ("alloy", rf"(\d{{3}})\s?(?:PLAT|PT)\.?\s?(\d{{3}})\s?(?:{_OTHERS})(?![A-Z])"),
        ("named-after", rf"\.?(\d{{3,4}}(?:\.\d)?)\s?({_METALS})(?![A-Z])"),
        ("points", r"0?\.\d{2}(?![\dA-Z?%])"),
        ("italian", rf"(?:STAR )?\d{{1,4}}\s?(?:{_PROVINCES})(?![A-Z0-9])"),
        ("number", r"\.?(\d{1,4}(?:\.\d)?)(?![\d/.%?])"),
        ("unknown", r"[^\s]+"),
    )
)


def _next(folded: str, place: int) -> tuple[list[Piece], int]:
    """The meanings of the longest reading that starts here, and where the next one starts."""
    for name, pattern in _PATTERNS:
        match = pattern.match(folded, place)
        if match and (read := list(_READERS[name](match))):
            return read, match.end()
    raise AssertionError("the last pattern takes whatever stands here")  # pragma: no cover


def _piece(match: re.Match[str], meaning: Meaning, ambiguous: bool = False) -> Piece:
    return Piece(
        text=match[0].strip(),
        start=match.start(),
        end=match.end(),
        kind=meaning.kind,
        metal=meaning.metal,
        ppm=meaning.ppm,
        construction=meaning.construction,
        status=meaning.status,
        source=meaning.source,
        note=meaning.note,
        ambiguous=ambiguous,
        under=meaning.under,
        countries=meaning.countries,
        years=meaning.years,
        covers=meaning.covers,
    )


def _meant(match: re.Match[str], meanings: tuple[Meaning, ...]) -> Iterator[Piece]:
    # A word such as "sterling weighted" says two things at once; other meanings exclude one another.
    metals = [meaning for meaning in meanings if meaning.construction not in ("weighted", None)]
    excludes = len(metals) > 1 or any(meaning.kind == "maker" for meaning in meanings)
    for meaning in meanings:
        yield _piece(match, meaning, ambiguous=excludes)


def _gold(
    match: re.Match[str], digits: str, construction: str, fraction: tuple[int, int] | None = None
) -> Iterator[Piece]:
    if not 5 <= float(digits) <= 24:
        yield from _maker(match)
        return
    usual = digits in marks_table.KARATS
    known = "law" if usual and digits not in ("8", "9") else "practice"
    source = marks_table.KARAT if construction == "solid" else marks_table.FTC
    note = "" if usual else "no usual karat"
    yield replace(
        _piece(match, Meaning("gold", int(karat(digits)), construction, known, source, note)), fraction=fraction
    )


def _share(match: re.Match[str]) -> Iterator[Piece]:
    over, under = int(match[1]), int(match[2])
    if 0 < over < under:
        yield from _gold(match, match[3], "layered", (over, under))


def _percent(match: re.Match[str]) -> Iterator[Piece]:
    if int(match[1]):
        yield from _gold(match, match[2], "layered", (int(match[1]), 100))


_SUFFIXES = {"GF": "layered", "RGP": "layered", "P": "solid", "PLUMB": "solid"}


def _karat(match: re.Match[str]) -> Iterator[Piece]:
    suffix = (match[2] or "").strip()
    plumb = suffix in ("P", "PLUMB")
    for piece in _gold(match, match[1], _SUFFIXES.get(suffix, "plated" if suffix else "solid")):
        yield replace(piece, note="plumb: at least the marked karat", plumb=True) if plumb else piece


_NAMED = {"PLAT": "platinum", "PLATINUM": "platinum", "PT": "platinum", "PALL": "palladium", "PALLADIUM": "palladium"}
_NAMED |= {"PD": "palladium", "AU": "gold", "GOLD": "gold", "AG": "silver", "SILVER": "silver", "SV": "silver"}
_SOURCES = {"platinum": marks_table.FTC, "palladium": UK}


def _named(match: re.Match[str], word: int, number: int) -> Iterator[Piece]:
    metal, figure = _NAMED[match[word]], match[number]
    ppm = 999_900 if figure == "9999" else int(float(figure) * 1000)
    # What is less fine is not sold as that metal: 16 CFR 23.6 for platinum, the lowest marks for the others.
    if (500_000 if metal in _SOURCES else 300_000) <= ppm <= 1_000_000:
        yield _piece(match, Meaning(metal, ppm, source=_SOURCES.get(metal, marks_table.ISO)))


def _alloy(match: re.Match[str]) -> Iterator[Piece]:
    ppm = int(match[1]) * 1000
    if ppm >= 500_000:
        note = "platinum between 500 and 850 names its other metals"
        yield _piece(match, Meaning("platinum", ppm, source=marks_table.FTC, note=note))


def _number(match: re.Match[str]) -> Iterator[Piece]:
    # A single figure with a letter on its heels is part of a maker's mark.
    alone = len(match[1]) > 1 or not match.string[match.end() : match.end() + 1].isalpha()
    if alone and (meanings := marks_table.NUMBERS.get(match[1])):
        yield from _meant(match, meanings)


def _maker(match: re.Match[str]) -> Iterator[Piece]:
    kind, note = "maker", "letters or numbers that no table of marks knows"
    if "?" in match[0]:
        kind, note = "unread", "not fully readable"
    yield _piece(match, Meaning(None, None, None, "practice", marks_table.HABIT, note, kind))


def _about(kind: str, note: str, countries: tuple[str, ...] = ()) -> Callable[[re.Match[str]], Iterator[Piece]]:
    meaning = Meaning(None, None, None, "practice", marks_table.HABIT, note, kind, countries=countries)
    return lambda match: iter([_piece(match, meaning)])


def _bare_share(match: re.Match[str]) -> Iterator[Piece]:
    yield replace(_piece(match, Meaning("gold", None, "layered", source=marks_table.FTC)), fraction=(1, int(match[1])))


_READERS: dict[str, Callable[[re.Match[str]], Iterator[Piece]]] = {
    "stones": _about("stone", "stone weight"),
    "points": _about("stone", "may be a stone weight in carats"),
    "weight": _about("weight", "a weight, as on bullion; a bare ounce is not said to be troy"),
    "italian": _about("origin", "number and province of an Italian maker", ("IT",)),
    "share": _share,
    "of-twenty": lambda match: _gold(match, match[1], "layered", (1, 20)),
    "percent": _percent,
    "word": lambda match: _meant(match, marks_table.WORDS[match[0]]),
    "bare-share": _bare_share,
    "karat": _karat,
    "karat-first": _karat,
    "alloy": _alloy,
    "named": lambda match: _named(match, 1, 2),
    "named-after": lambda match: _named(match, 2, 1),
    "number": _number,
    "unknown": _maker,
}


def _by_part(found: list[Piece]) -> list[Piece]:
    """Marks that stand with the name of a part cover that part: what comes before it, else what comes after."""
    done: list[Piece] = []
    group: list[Piece] = []
    waiting: Piece | None = None
    for piece in [*found, None]:
        if piece is not None and piece.kind != "part":
            group.append(piece)
            continue
        part = piece if any(each.kind == "metal" for each in group) else None
        named = part or waiting
        together = _together(group)
        done += [replace(each, covers=named.covers) for each in together] if named and together else together
        if waiting and not together:
            done.append(waiting)
        waiting, group = (None if part else piece), []
    return done + ([waiting] if waiting else [])


def _together(found: list[Piece]) -> list[Piece]:
    """What the marks of one stamp say of each other: GF beside 14K makes the 14K a layer's, WEIGHTED a shell's."""
    found = _of_named_metal(found)
    layer = _sure(found, "layered") or _sure(found, "plated")
    if layer and layer.metal is None and any(_of_layer(piece, layer) for piece in found):
        found = [replace(piece, metal="gold") if piece == layer else piece for piece in found]
        layer = replace(layer, metal="gold")
    if layer and layer.metal == "gold":
        silver = [piece for piece in found if piece.metal == "silver" and piece.construction == "solid" and piece.ppm]
        if silver and not silver[0].ambiguous:
            layer = replace(layer, under=layer.under or ("silver", silver[0].ppm or 0))
        karats = any(_of_layer(piece, layer) for piece in found)
        return [_as_layer(piece, layer) for piece in found if not (karats and _only_describes(piece, layer))]
    for kind in ("weighted", "hollow"):
        if _sure(found, kind) and any(piece.construction == "solid" for piece in found):
            return [
                replace(piece, construction=kind) if piece.construction == "solid" else piece
                for piece in found
                if piece.metal is not None or piece.construction != kind
            ]
    return found


def _of_named_metal(found: list[Piece]) -> list[Piece]:
    """A metal's name beside a number that several metals bear settles which it is; the name alone says no more."""
    names = {piece.metal for piece in found if _is_name(piece)}
    if len(names) != 1:
        return found
    settled = [piece for piece in found if not (piece.ambiguous and piece.kind == "metal" and piece.metal not in names)]
    kept = {piece.start for piece in settled}
    settled = [piece for piece in found if piece in settled or piece.start not in kept]
    counts = {piece.start: sum(each.start == piece.start for each in settled) for piece in settled}
    fine = any(piece.metal in names and not _is_name(piece) for piece in settled)
    return [
        replace(piece, ambiguous=piece.ambiguous and counts[piece.start] > 1)
        for piece in settled
        if not (fine and _is_name(piece))
    ]


def _is_name(piece: Piece) -> bool:
    bare = piece.metal is not None and piece.construction is None
    return piece.kind == "metal" and (bare or piece.text.startswith(("FINE ", "PURE ")))


def _sure(found: list[Piece], construction: str) -> Piece | None:
    sure = [piece for piece in found if piece.construction == construction and not piece.ambiguous]
    # The mark that says most stands for the others: one with its share, then one with its karat.
    return max(sure, key=lambda piece: (piece.fraction is not None, piece.ppm is not None), default=None)


def _only_describes(piece: Piece, layer: Piece) -> bool:
    """Whether a bare word such as GF, or a bare 1/20, only describes a karat mark beside it."""
    same = (piece.construction, piece.metal) == (layer.construction, layer.metal)
    return same and piece.ppm is None and not piece.ambiguous


def _of_layer(piece: Piece, layer: Piece) -> bool:
    return piece is not layer and piece.metal == "gold" and piece.construction == "solid" and not piece.ambiguous


def _as_layer(piece: Piece, layer: Piece) -> Piece:
    if piece.construction == layer.construction and piece.metal == "gold" and not piece.ambiguous:
        return replace(piece, under=piece.under or layer.under)
    if not _of_layer(piece, layer):
        return piece
    return replace(
        piece,
        construction=layer.construction,
        fraction=piece.fraction or layer.fraction,
        under=layer.under,
        source=layer.source,
        note=layer.note,
        plumb=False,
    )
