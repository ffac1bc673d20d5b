"""What is stamped on an article, read as claims.

Decides: which metal, fineness and construction each part of a stamp speaks of; the longest reading wins, a number or
word with several meanings keeps them all, and letters that no table knows are a maker's, never a fineness. Leaves to
`judging` whether a claim holds: a mark of fineness is not believed without a test, a mark of plating is.

>>> [claim.words() for claim in read("1/20 12K GF")]
['gold-filled: a layer of 500.0 fine gold, 1/20 of the weight']
>>> [claim.words() for claim in read("14KP QZX")]
['gold, at least 583.3', 'QZX: a maker or dealer, no claim of fineness']
"""

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from ledger.assay import marks_table
from ledger.assay.marks_table import Meaning
from ledger.measures import Fineness, karat, thousandths


@dataclass(frozen=True)
class Claim:
    """One thing that a stamp says, in one of its meanings."""

    text: str
    """the letters of the stamp that say it"""
    kind: str = "metal"
    """metal, maker, origin or stone"""
    metal: str | None = None
    """gold, silver, platinum, palladium, base; None: not said"""
    fineness: Fineness | None = None
    """parts per million; of the layer, where the construction is layered or plated"""
    construction: str | None = None
    """solid, layered, plated, weighted, hollow, base; None: not said"""
    fraction: tuple[int, int] | None = None
    """share of the metal weight that is the layer, as (1, 20)"""
    tolerance_ppm: int = 0
    """how far below the mark the law lets metal without solder lie"""
    tolerance_solder_ppm: int = 0
    status: str = "practice"
    """law, practice or memory: how firmly this meaning is known"""
    source: str = ""
    note: str = ""
    ambiguous: bool = False
    """the same letters have other meanings, which are read too"""
    under: tuple[str, int] | None = None
    """metal and parts per million under a layer, as for vermeil"""
    where: str = ""
    """where on the article it was read"""

    @property
    def at_most_ppm(self) -> int | None:
        """Gold in the whole of a declared layered article as made, parts per million, rounded down; None: not said."""
        if self.fraction is None or self.fineness is None:
            return None
        return int(self.fineness) * self.fraction[0] // self.fraction[1]

    def words(self) -> str:
        """The claim in words."""
        if self.kind != "metal":
            says = {"maker": "a maker or dealer", "origin": "where it was made or tested", "stone": "about stones"}
            return f"{self.text}: {says[self.kind]}, no claim of fineness"
        fine = "" if self.fineness is None else thousandths(self.fineness)
        metal = self.metal or "metal not said"
        if self.construction == "layered" and self.metal == "gold":
            layer = f"{fine} fine gold" if fine else "gold, karat not said"
            share = f"{self.fraction[0]}/{self.fraction[1]} of the weight" if self.fraction else "share not said"
            return f"gold-filled: a layer of {layer}, {share}"
        if self.construction == "solid":
            return f"{metal}, at least {fine}" if fine else f"{metal}, fineness not said"
        return f"{self.construction}: {metal}" + (f" {fine}" if fine and fine != "0.0" else "")

    def record(self) -> dict[str, Any]:
        """As parts of the book hold it: text, whole numbers and truth values; what is not said is left out."""
        record: dict[str, Any] = {"text": self.text, "kind": self.kind, "status": self.status, "source": self.source}
        for name in ("metal", "construction", "note", "where"):
            if getattr(self, name):
                record[name] = getattr(self, name)
        if self.fineness is not None:
            record |= {"fineness_ppm": int(self.fineness), "tolerance_ppm": self.tolerance_ppm}
        if self.fraction:
            record["fraction"] = f"{self.fraction[0]}/{self.fraction[1]}"
        if self.ambiguous:
            record["ambiguous"] = True
        if self.under:
            record["under"] = {"metal": self.under[0], "fineness_ppm": self.under[1]}
        return record


def read(text: str, where: str = "") -> tuple[Claim, ...]:
    """The claims of one stamp, in the order in which they stand. Never raises: what cannot be read is a maker's.

    text: as read from the article; "?" stands for a character that could not be read. where: place on the article.
    """
    return _read(text[:200], where)


@lru_cache(maxsize=4096)
def _read(text: str, where: str) -> tuple[Claim, ...]:
    found: list[Claim] = []
    folded = fold(text)
    place = 0
    while place < len(folded):
        if folded[place] in " ,;:()[]<>|\"'*+&":
            place += 1
            continue
        claims, place = _next(folded, place)
        found += claims
    return tuple(dict.fromkeys(replace(claim, where=where) for claim in _together(found)))


_LOOKALIKES = str.maketrans("АВЕКМНОРСТХ", "ABEKMHOPCTX")


def fold(text: str) -> str:
    """A stamp in capitals, without accents, dots between letters, apostrophes and doubled spaces."""
    plain = unicodedata.normalize("NFKD", text.replace("⁄", "/")).upper().translate(_LOOKALIKES)
    plain = "".join(c for c in plain if not unicodedata.combining(c)).replace("⁄", "/")
    plain = re.sub(r"(?<=[A-Z])[.'’](?=[A-Z\s]|$)", "", plain)
    return " ".join(plain.split())


_KARAT_WORD = r"(?:KARAT|CARAT|KT|CT|KR|K|C)"
_NUMBER = r"(?:\d{1,2}(?:\.\d)?|[\d?]{1,2})"
_PLATED = r"RGP|GF|HGE|HGP|GEP|GPL|GP|GE|EP"
_PATTERNS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (name, re.compile(pattern, re.ASCII))
    for name, pattern in (
        ("stones", r"(?:\d{0,2}\.\d+|\d{1,2}/\d{1,2}|\d{1,2})\s?(?:CTTW|CTW|CT\.? ?TW|TCW|TW)(?![A-Z0-9])"),
        ("stones", r"(?:0?\.\d{1,2}|[0-5]\.\d+|[1-5]|\d/\d{1,2})\s?(?:CT|CARATS?)(?![A-Z0-9])"),
        (
            "share",
            rf"(\d{{1,2}})\s?/\s?(\d{{1,3}})(?:TH)?[\s.\-]?({_NUMBER})\s?{_KARAT_WORD}"
            rf"(?:\s?(?:{_PLATED}))?(?![A-Z])",
        ),
        ("of-twenty", r"(9|10|12|14|18)\s?/\s?20(?!\d)(?:\s?(?:GF|RGP)(?![A-Z]))?"),
        ("percent", r"(\d{1,2})\s?%\s?(?:BONDED )?(\d{1,2})\s?K(?:T)?(?![A-Z])"),
        ("word", r"(?:" + "|".join(map(re.escape, sorted(marks_table.WORDS, key=len, reverse=True))) + ")(?![A-Z0-9])"),
        ("bare-share", r"1\s?/\s?(5|8|10|15|20|25|30|40|50|100)(?![\d/])"),
        ("karat", rf"({_NUMBER})\s?{_KARAT_WORD}(P(?![A-Z])|\s?(?:PLUMB|{_PLATED})(?![A-Z]))?"),
        ("karat-first", r"K\s?(\d{1,2}(?:\.\d)?)(?!\d)(\s?(?:" + _PLATED + r")(?![A-Z]))?"),
        ("named", r"(PLAT|PT|PALL|PD|AU|AG)\s?(\d{3}(?:\.\d)?)(?!\d)"),
        ("named-after", r"\.?(\d{3}(?:\.\d)?)\s?(PLATINUM|PLAT|PT|PALLADIUM|PALL|PD|AU|AG)(?![A-Z])"),
        ("number", r"\.?(\d{1,4}(?:\.\d)?)(?![\d/.%?])"),
        ("unknown", r"[^\s]+"),
    )
)


def _next(folded: str, place: int) -> tuple[list[Claim], int]:
    """The claims of the longest reading that starts here, and where the next one starts."""
    for name, pattern in _PATTERNS:
        match = pattern.match(folded, place)
        if match and (claims := list(_READERS[name](match))):
            return claims, match.end()
    raise AssertionError("the last pattern takes whatever stands here")  # pragma: no cover


def _claim(text: str, meaning: Meaning, ambiguous: bool = False) -> Claim:
    fine = None if meaning.ppm is None else Fineness(meaning.ppm)
    tolerance = (0, 0, "")
    if fine and meaning.construction in ("solid", "weighted") and meaning.metal:
        tolerance = marks_table.TOLERANCES.get(meaning.metal, tolerance)
    return Claim(
        text=text.strip(),
        kind=meaning.kind,
        metal=meaning.metal,
        fineness=fine,
        construction=meaning.construction,
        tolerance_ppm=tolerance[0],
        tolerance_solder_ppm=tolerance[1],
        status=meaning.status,
        source=meaning.source,
        note=meaning.note,
        ambiguous=ambiguous,
        under=meaning.under,
    )


def _meant(text: str, meanings: tuple[Meaning, ...]) -> Iterator[Claim]:
    # A word such as "sterling weighted" says two things at once; other meanings exclude one another.
    metals = [meaning for meaning in meanings if meaning.construction not in ("weighted", None)]
    excludes = len(metals) > 1 or any(meaning.kind == "maker" for meaning in meanings)
    for meaning in meanings:
        yield _claim(text, meaning, ambiguous=excludes)


def _gold(text: str, digits: str, construction: str, fraction: tuple[int, int] | None = None) -> Iterator[Claim]:
    if "?" in digits:
        fine, note = None, "a figure of the karat could not be read"
    elif not 5 <= float(digits) <= 24:
        yield from _maker(text)
        return
    else:
        fine, note = int(karat(digits)), ""
    known = "practice" if digits in ("8", "9") else "law"
    source = marks_table.STAMPING if construction == "solid" else marks_table.FTC
    claim = _claim(text, Meaning("gold", fine, construction, known, source, note))
    yield replace(claim, fraction=fraction)


def _share(match: re.Match[str]) -> Iterator[Claim]:
    over, under = int(match[1]), int(match[2])
    if 0 < over < under:
        yield from _gold(match[0], match[3], "layered", (over, under))


def _percent(match: re.Match[str]) -> Iterator[Claim]:
    if int(match[1]):
        yield from _gold(match[0], match[2], "layered", (int(match[1]), 100))


_SUFFIXES = {"GF": "layered", "RGP": "layered", "P": "solid", "PLUMB": "solid"}


def _karat(match: re.Match[str]) -> Iterator[Claim]:
    suffix = (match[2] or "").strip()
    construction = _SUFFIXES.get(suffix, "plated" if suffix else "solid")
    for claim in _gold(match[0], match[1], construction):
        yield replace(claim, note="plumb: at least the marked karat") if suffix in ("P", "PLUMB") else claim


_NAMED = {"PLAT": "platinum", "PLATINUM": "platinum", "PT": "platinum", "PALL": "palladium", "PALLADIUM": "palladium"}
_NAMED |= {"PD": "palladium", "AU": "gold", "AG": "silver"}


def _named(match: re.Match[str], word: int, number: int) -> Iterator[Claim]:
    metal, ppm = _NAMED[match[word]], int(float(match[number]) * 1000)
    source = {"platinum": marks_table.FTC, "palladium": marks_table.UK}.get(metal, marks_table.ISO)
    if ppm >= 300_000:
        yield _claim(match[0], Meaning(metal, ppm, source=source))


def _number(match: re.Match[str]) -> Iterator[Claim]:
    if meanings := marks_table.NUMBERS.get(match[1]):
        yield from _meant(match[0], meanings)


def _maker(text: str) -> Iterator[Claim]:
    unread = "?" in text
    note = "not fully readable" if unread else "letters or numbers that no table of marks knows"
    yield Claim(text=text.strip(), kind="maker", source=marks_table.HABIT, note=note)


_READERS: dict[str, Callable[[re.Match[str]], Iterator[Claim]]] = {
    "stones": lambda match: iter([Claim(text=match[0], kind="stone", source=marks_table.HABIT, note="stone weight")]),
    "share": _share,
    "of-twenty": lambda match: _gold(match[0], match[1], "layered", (1, 20)),
    "percent": _percent,
    "word": lambda match: _meant(match[0], marks_table.WORDS[match[0]]),
    "bare-share": lambda match: iter(
        [
            replace(
                _claim(match[0], Meaning("gold", None, "layered", source=marks_table.FTC)), fraction=(1, int(match[1]))
            )
        ]
    ),
    "karat": _karat,
    "karat-first": _karat,
    "named": lambda match: _named(match, 1, 2),
    "named-after": lambda match: _named(match, 2, 1),
    "number": _number,
    "unknown": lambda match: _maker(match[0]),
}


def _together(claims: list[Claim]) -> list[Claim]:
    """What the parts of one stamp say of each other: GF beside 14K makes the 14K a layer's, WEIGHTED a shell's."""
    layer = _sure(claims, "layered") or _sure(claims, "plated")
    if layer and layer.metal == "gold":
        karats = any(_of_layer(claim, layer) for claim in claims)
        return [_as_layer(claim, layer) for claim in claims if not (karats and _only_describes(claim, layer))]
    for kind in ("weighted", "hollow"):
        if _sure(claims, kind) and any(claim.construction == "solid" for claim in claims):
            return [
                replace(claim, construction=kind) if claim.construction == "solid" else claim
                for claim in claims
                if claim.metal is not None or claim.construction != kind
            ]
    return claims


def _sure(claims: list[Claim], construction: str) -> Claim | None:
    found = [claim for claim in claims if claim.construction == construction and not claim.ambiguous]
    # The claim that says most stands for the others: one with its share, then one with its karat.
    return max(found, key=lambda claim: (claim.fraction is not None, claim.fineness is not None), default=None)


def _only_describes(claim: Claim, layer: Claim) -> bool:
    """Whether a bare word such as GF, or a bare 1/20, only describes a karat mark beside it."""
    same = (claim.construction, claim.metal) == (layer.construction, layer.metal)
    return same and claim.fineness is None and not claim.ambiguous


def _of_layer(claim: Claim, layer: Claim) -> bool:
    return claim is not layer and claim.metal == "gold" and claim.construction == "solid" and not claim.ambiguous


def _as_layer(claim: Claim, layer: Claim) -> Claim:
    if not _of_layer(claim, layer):
        return claim
    return replace(
        claim,
        construction=layer.construction,
        fraction=claim.fraction or layer.fraction,
        tolerance_ppm=0,
        tolerance_solder_ppm=0,
        under=layer.under,
        source=layer.source,
        note=layer.note,
    )
