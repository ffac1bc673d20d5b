"""What a description says, in features that can be compared: from a victim's words or a shop's record alike.

Decides: which numbers are sizes, weights, finenesses, dates or serial numbers ("18 carat gold, 18 inch"), which
letters are initials, which words are features of `ledger.likeness.lexicon`. Nothing is guessed: a number without a
unit is none of these. Leaves to `ledger.likeness.comparing` what agrees.
Sources: inch and pennyweight as in `ledger.measures`; the inner circumference of a US ring size is
36.5 mm + 2.55 mm per size, from memory (no published source read); ISO 8653 sizes are that circumference.

>>> found = read('Rope chain 24" gold 6mm')
>>> sorted(found.of("form")), found.lengths_um
(['rope'], (609600, 6000))
>>> read("18 carat gold necklace, flat links, 18 inch").fineness_ppm
frozenset({750000})
"""

import math
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from ledger.likeness.lexicon import ALL_OF, BY_NAME, CONCEPTS, IGNORED, MONTHS, NUMBERS, Concept

Gem = tuple[int, frozenset[str]]
"""so many stones, and the features said of them"""


@dataclass(frozen=True)
class Written:
    """A date as it was written, and the days that it may mean."""

    figures: tuple[int, int, int]
    days: frozenset[date]


@dataclass(frozen=True)
class Traits:
    """Everything comparable that one description says."""

    features: Mapping[str, frozenset[str]] = field(default_factory=dict)
    fineness_ppm: frozenset[int] = frozenset()
    lengths_um: tuple[int, ...] = ()
    round_um: tuple[int, ...] = ()
    """inner circumferences: of a ring's size, of a diameter"""
    weights_mg: tuple[int, ...] = ()
    gem_centicarats: tuple[int, ...] = ()
    pieces: int | None = None
    gems: tuple[Gem, ...] = ()
    birth_months: tuple[str, ...] = ()
    dates: tuple[Written, ...] = ()
    years: frozenset[int] = frozenset()
    initials: frozenset[str] = frozenset()
    names: frozenset[str] = frozenset()
    serials: frozenset[str] = frozenset()
    added_up: bool = False
    """lengths that stand as a sum, of an article in pieces"""

    def of(self, kind: str) -> frozenset[str]:
        """Names of the features of one kind."""
        return self.features.get(kind, frozenset())


_NUMBER_WORDS = re.compile(r"\b(" + "|".join(word for word in NUMBERS if word not in ("a", "an")) + r")\b")
_HALF = re.compile(r"\b(\d+) and a half\b")
_A_UNIT = re.compile(r"\ban? (?=inch\b|tola\b|carat\b)")
_SPLIT_KARAT = re.compile(r"(?<=\d)\s?k(?=[ywr]g)")
_FIGURE = r"(?:\d+(?:\.\d+)?|\.\d+)"
_LENGTH = re.compile(
    rf"({_FIGURE}(?:\s*[/+]\s*{_FIGURE})*)\s*-?\s*(mm|millimet(?:er|re)s?|cm|centimet(?:er|re)s?|inch(?:es)?|in\b|\"|″)"
)
_WEIGHT = re.compile(
    rf"({_FIGURE})\s*(g|gm|gms|grams?|grammes?|dwt|pennyweights?|tolas?|ozt|troy ounces?|kg)\b(\s*each)?"
)
_SIZE = re.compile(rf"\b(?:size|sz)\.?\s*({_FIGURE})(?:\s*-\s*(\d{{1,2}}))?(?![\d/.]*\s*(?:mm|cm|in\b|inch))")
_INNER = re.compile(rf"\b(?:inner (?:width|diameter)|inside diameter|id)\s*({_FIGURE})\s*mm\b")
_KARAT = re.compile(r"\b(\d{1,2})\s*-?\s*(?:k|kt|karats?)\b")
_CARAT = re.compile(rf"({_FIGURE})\s*-?\s*(?:ct|cts|carats?)\b")
_KARATS = (8, 9, 10, 12, 14, 15, 18, 19, 20, 21, 22, 23, 24)
_MILLESIMAL = re.compile(
    r"(?<![\d./'$-])(333|375|416|417|500|583|585|750|800|830|833|835|875|900|916|917|925|950|958|990|999)(?![\d./-]|\s*(?:mm|cm|in\b|g\b))"
)
_DATE = re.compile(r"(?<![\d./-])(\d{1,4})[./-](\d{1,2})[./-](\d{2,4})(?![\d./-]*\d)")
_YEAR = re.compile(r"(?<![\d.$-])(1[89]\d\d|20[0-4]\d)(?!\d|\.\d|\s*(?:mm|cm|g\b))")
_SHORT_YEAR = re.compile(r"(?<![\w])['’](\d\d)\b")
_SERIAL = re.compile(
    r"\b(?:serials?|case|mvt|movement|number|no\.?|s/n|#)\s*(?:no\.?\s*)?([a-z]{0,3}\s?[\dio-]{3,}[a-z\d]*)"
)
_LONE_SERIAL = re.compile(r"(?<![\w.$/-])(?=[a-z\d]*\d[a-z\d]*)([a-z]{0,3}\d{5,}[a-z]{0,2})(?![\w/])")
_WORD = re.compile(r"[a-z]+|\d+(?:\.\d+)?")
_QUOTED = re.compile(r"(?<!\d)[\"“]([^\"”]{1,60})[\"”]")
_AFTER = re.compile(
    r"\b(?:engr(?:aved)?|inscribed|int|inside|says|mono(?:gram)?|initials)\b[\s.:,]*([^,;]{1,60})", re.I
)
_CAPITALS = re.compile(r"(?<![\w/])(?:[A-Z](?:\s?[.&+]\s?[A-Z]){1,3}\.?|[A-Z]{2,4})(?![\w])")
_CAPITALISED = re.compile(r"\b[A-Z][a-z]+\b")
_FOR_A_NAME = re.compile(r"(?:\b[A-Z][a-z]+\b[ ]?){2,4}")
_UM = {"m": 1_000, "c": 10_000, "i": 25_400, '"': 25_400, "″": 25_400}
_MG = {"g": 1_000, "d": 1_555.17384, "t": 11_663.8038, "o": 31_103.4768, "k": 1_000_000}
_KNOWN = frozenset(word for concept in CONCEPTS for phrase in concept.phrases for word in phrase.split()) | IGNORED
_NO_NAME = frozenset({"To", "From", "Fr", "Inside", "Int", "Mom", "Moms", "And", "The", "My", "Of"})


def _bare(text: str) -> str:
    """Without accents and compatibility forms."""
    plain = unicodedata.normalize("NFKD", text)
    return "".join(c for c in plain if not unicodedata.combining(c)).replace("⁄", "/")


def folded(text: str) -> str:
    """Small letters without accents; number words as figures."""
    plain = text if text.isascii() else _bare(text)
    plain = plain.casefold()
    plain = _NUMBER_WORDS.sub(lambda match: str(NUMBERS[match[1]]), plain.replace("-strand", " strand"))
    return _SPLIT_KARAT.sub("k ", _A_UNIT.sub("1 ", _HALF.sub(r"\1.5", plain)))


def read(text: str) -> Traits:
    """The traits of a description in words."""
    plain = folded(_QUOTED.sub(r" \1 ", text))
    left = plain
    dates = tuple(_dates(left))
    left = _DATE.sub(" ", left)
    serials = frozenset(serial(found) for found in _SERIAL.findall(left) + _LONE_SERIAL.findall(left))
    rounds = tuple(_rounds(left))
    left = _INNER.sub(" ", _SIZE.sub(" ", left))
    lengths, added_up = _lengths(left)
    words = _words(_WEIGHT.sub(" ", _LENGTH.sub(" ", left)))
    matches = _matches(words)
    pieces = _pieces(words, matches)
    weights = tuple(_weights(left, pieces or 1))
    fineness, gems = _fineness(left)
    years = frozenset(int(found) for found in _YEAR.findall(left)) | {
        1900 + int(found) if int(found) >= 30 else 2000 + int(found) for found in _SHORT_YEAR.findall(text)
    }
    features = _features(matches)
    return Traits(
        features=_with_metal(features, fineness),
        fineness_ppm=fineness,
        lengths_um=lengths,
        round_um=rounds,
        weights_mg=weights,
        gem_centicarats=gems,
        pieces=pieces,
        gems=tuple(_gems(words, matches)),
        birth_months=tuple(word for word in words if word in MONTHS) if "stone" in plain else (),
        dates=dates,
        years=years,
        initials=frozenset(_initials(text)),
        names=frozenset(_names(text)),
        serials=frozenset(one for one in serials if len(one) >= 3),
        added_up=added_up,
    )


def unknown(text: str) -> tuple[str, ...]:
    """Words of four letters and more that stand for no feature and are not among those that tell nothing."""
    words = (word for word in _words(folded(text)) if len(word) >= 4 and word.isalpha())
    return tuple(dict.fromkeys(word for word in words if _meant(word) not in _KNOWN))


def _words(plain: str) -> list[str]:
    return _WORD.findall(re.sub(r"['’](?=s\b)", "", plain))


_TABLE: Mapping[tuple[str, ...], tuple[Concept, ...]] = {
    tuple(_words(folded(" ".join(phrase)))): concepts for phrase, concepts in ALL_OF.items()
}
_BY_FIRST: dict[str, list[tuple[tuple[str, ...], tuple[Concept, ...]]]] = {}
for _phrase, _concepts in sorted(_TABLE.items(), key=lambda row: -len(row[0])):
    _BY_FIRST.setdefault(_phrase[0], []).append((_phrase, _concepts))

Match = tuple[int, tuple[Concept, ...]]
"""where a phrase of the lexicon begins, and the features that it stands for"""


def _matches(words: list[str]) -> list[Match]:
    """Phrases of the lexicon in a row of words, the longest first at each place."""
    found: list[Match] = []
    meant = [_meant(word) for word in words]
    at = 0
    while at < len(meant):
        for phrase, concepts in _BY_FIRST.get(meant[at], ()):
            if len(phrase) == 1 or tuple(meant[at : at + len(phrase)]) == phrase:
                found.append((at, concepts))
                at += len(phrase)
                break
        else:
            at += 1
    return found


def _features(matches: Iterable[Match]) -> dict[str, frozenset[str]]:
    """Features by kind, with what each brings along."""
    found: dict[str, set[str]] = {}
    for _, concepts in matches:
        for concept in concepts:
            found.setdefault(concept.kind, set()).add(concept.name)
            for name in concept.brings:
                found.setdefault(BY_NAME[name].kind, set()).add(name)
    return {kind: frozenset(names) for kind, names in found.items()}


@lru_cache(maxsize=20_000)
def _meant(word: str) -> str:
    """The word of the lexicon that a misspelt one was meant to be; the word itself where there is none."""
    if len(word) < 6 or word in _KNOWN or word[0].isdigit():
        return word
    near = process.extractOne(word, _LONG_WORDS, scorer=OSA.distance, score_cutoff=1)
    return near[0] if near else word


_LONG_WORDS = sorted(word for word in _KNOWN if len(word) >= 6)


_GOLDS = frozenset(round(karat * 1_000_000 / 24) for karat in (8, 9, 10, 12, 14, 15, 18, 20, 21, 22)) | {
    333_000, 375_000, 416_000, 417_000, 583_000, 585_000, 750_000, 916_000, 917_000
}  # fmt: skip
_SILVERS = frozenset({800_000, 830_000, 835_000, 925_000, 958_000})


def _with_metal(features: dict[str, frozenset[str]], fineness: frozenset[int]) -> dict[str, frozenset[str]]:
    """With the metal that a fineness is usual for, where none is named."""
    if "metal" in features:
        return features
    names = {name for name, usual in (("gold", _GOLDS), ("silver", _SILVERS)) if fineness & usual}
    return {**features, "metal": frozenset(names)} if len(names) == 1 else features


def _lengths(plain: str) -> tuple[tuple[int, ...], bool]:
    found: list[int] = []
    added = False
    for figures, unit in _LENGTH.findall(plain):
        each = [round(float(one) * _UM[unit[0]]) for one in re.split(r"[/+]", figures)]
        found += each
        if "+" in figures:
            found.append(sum(each))
            added = True
    return tuple(dict.fromkeys(found)), added


def _rounds(plain: str) -> Iterator[int]:
    for figure, sixteenths in _SIZE.findall(plain):
        size = float(figure)
        if sixteenths:
            yield round((size + int(sixteenths) / 16) * 25_400 * math.pi)
        elif size >= 40:
            yield round(size * 1_000)
        elif size <= 20:
            yield round(36_500 + 2_550 * size)
    for figure in _INNER.findall(plain):
        yield round(float(figure) * 1_000 * math.pi)


def _weights(plain: str, pieces: int) -> Iterator[int]:
    for figure, unit, each in _WEIGHT.findall(plain):
        weight = float(figure) * _MG[unit[0]]
        yield round(weight)
        if each and pieces > 1:
            yield round(weight * pieces)


def _fineness(plain: str) -> tuple[frozenset[int], tuple[int, ...]]:
    """Finenesses, and weights of stones: a carat of gold is a fineness, a carat of a stone a weight."""
    found = {round(int(karat) * 1_000_000 / 24) for karat in _KARAT.findall(plain) if int(karat) in _KARATS}
    gems = []
    for figure in _CARAT.findall(plain):
        if figure.isdigit() and int(figure) in _KARATS:
            found.add(round(int(figure) * 1_000_000 / 24))
        else:
            gems.append(round(float(figure) * 100))
    found |= {int(figure) * 1_000 for figure in _MILLESIMAL.findall(_SERIAL.sub(" ", plain))}
    if "sterling" in plain:
        found.add(925_000)
    return frozenset(found), tuple(gems)


def _pieces(words: list[str], matches: Iterable[Match]) -> int | None:
    """How many articles: a number before the word for one, unless it is a karat."""
    for at, concepts in matches:
        if concepts[0].kind == "article":
            for word in reversed(words[max(0, at - 3) : at]):
                if word.isdigit() and 1 <= int(word) <= 24 and int(word) not in _KARATS[5:]:
                    return int(word)
    return None


_OF_GEMS = ("species", "gem-colour", "gem-shape")


def _gems(words: list[str], matches: Iterable[Match]) -> Iterator[Gem]:
    """A number and what is said of stones in the four words after it."""
    at_word = dict(matches)
    for at, word in enumerate(words):
        if not word.isdigit() or not 1 <= int(word) <= 60:
            continue
        told: set[str] = set()
        for step in range(at + 1, min(at + 5, len(words))):
            if words[step][0].isdigit():
                break
            for concept in at_word.get(step, ()):
                if concept.kind in _OF_GEMS:
                    told.update((concept.name, *concept.brings))
        if told:
            yield int(word), frozenset(told)


def _dates(plain: str) -> Iterator[Written]:
    for figures in _DATE.findall(plain):
        first, middle, last = (int(figure) for figure in figures)
        days = set()
        for year, month, day in (
            ((first, middle, last),) if len(figures[0]) == 4 else ((last, first, middle), (last, middle, first))
        ):
            full = year if year > 99 else year + (1900 if year >= 30 else 2000)
            try:
                days.add(date(full, month, day))
            except ValueError:
                continue
        if days:
            yield Written((first, middle, last), frozenset(days))


def serial(text: str) -> str:
    """A serial number without spaces, hyphens and symbols."""
    return re.sub(r"[^a-z0-9]", "", text.casefold())


def alike_digits(text: str) -> str:
    """A serial number with the letters that are taken for digits read as those: O as nought, I and l as one."""
    return text.translate(_DIGITS)


_DIGITS = str.maketrans("oil", "011")


def _initials(text: str) -> Iterator[str]:
    """Initials that a description may give: of names in an inscription, or letters as they stand."""
    for segment in _segments(text):
        bare = _DATE.sub(" ", segment)
        tokens = [
            token
            for token in re.findall(r"[A-Za-z]+", re.sub(r"(?<=[A-Z])\s?[.&+]\s?(?=[A-Z])", "", bare))
            if token[0].isupper() and token not in _NO_NAME
        ]
        names = [token for token in tokens if len(token) > 1 and not token.isupper()]
        if names or all(len(token) == 1 for token in tokens):
            letters = "".join(token[0] for token in tokens).casefold()
            if 2 <= len(letters) <= 4:
                yield letters
        yield from (token.casefold() for token in tokens if token.isupper() and 2 <= len(token) <= 4)
    for match in _CAPITALS.findall(text):
        letters = re.sub(r"[^A-Z]", "", match).casefold()
        if letters not in _KNOWN and 2 <= len(letters) <= 4:
            yield letters
    for match in _FOR_A_NAME.findall(text):
        words = [word for word in match.split() if word not in _NO_NAME and word.casefold() not in _KNOWN]
        if len(words) >= 2:
            yield "".join(word[0] for word in words).casefold()


def _segments(text: str) -> Iterable[str]:
    return [*_QUOTED.findall(text), *(found for found in _AFTER.findall(text))]


def _names(text: str) -> Iterator[str]:
    """Words that may be a maker's or an owner's name: capitalised, and no feature."""
    for word in _CAPITALISED.findall(text):
        if len(word) >= 4 and word.casefold() not in _KNOWN and word.casefold() not in MONTHS:
            yield word.casefold()
