"""The words under which an item is found, and the words of a question; both made by the same rules.

Decides: what a word is. Case, accents and compatibility forms do not count; a number keeps its unit ("18 in" is `18in`,
never the karat `18k`); a mark stays whole (`1/20`, `750`); initials close up ("J.T.M." is `jtm`); a date is found in
either order of day and month. Every index that is fed these words splits them at spaces and does nothing else.
Leaves to others: synonyms and likeness (inquiries), ranking, the index itself (`ledger.book`).

>>> query_tokens('Rope chain 18", 14 Kt., "J.T.M." Müller')
('rope', 'chain', '18in', '14k', 'jtm', 'muller')
>>> query_tokens("6.12.58") == query_tokens("12/6/1958")
True
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from datetime import date

from ledger.slip.document import Item, NotKnown, Size, Weighing, listed

_UNITS = {
    "mm": "mm", "millimeter": "mm", "millimeters": "mm", "millimetre": "mm", "millimetres": "mm",
    "cm": "cm", "centimeter": "cm", "centimeters": "cm", "centimetre": "cm", "centimetres": "cm",
    "in": "in", "inch": "in", "inches": "in", '"': "in", "″": "in",
    "g": "g", "gm": "g", "gms": "g", "gram": "g", "grams": "g", "gramme": "g", "grammes": "g", "kg": "kg", "mg": "mg",
    "dwt": "dwt", "pennyweight": "dwt", "pennyweights": "dwt", "ozt": "ozt", "gr": "gr", "grain": "gr", "grains": "gr",
    "tola": "tola", "tolas": "tola", "ct": "ct", "cts": "ct", "carat": "ct", "carats": "ct",
    "k": "k", "kt": "k", "karat": "k", "karats": "k",
}  # fmt: skip
_FOLDED = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "æ": "ae", "œ": "oe", "þ": "th", "ı": "i", "⁄": "/"})
_APOSTROPHE = re.compile(r"(?<=\w)['’ʼ](?=\w)")
_UNIT = "|".join(sorted(map(re.escape, _UNITS), key=len, reverse=True))
_WORD = re.compile(
    r"(?P<date>\d{1,4}[./-]\d{1,2}[./-]\d{1,4}(?![./-]?\d))"
    r"|(?P<initials>(?:[^\W\d_]\s?[.&+]\s?){1,7}[^\W\d_](?![^\W_])\.?)"
    r"|(?P<fraction>\d+/\d+)"
    rf"|(?P<number>\d+(?:[.,]\d+)?)(?:\s?(?P<unit>{_UNIT}))?(?![^\W_])"
    r"|(?P<word>[^\W_]+)"
)


def tokens(item: Item) -> tuple[str, ...]:
    """The words under which an item is found, each once, in the order of its description.

    Weights and sizes stand with their unit, as entered. What is not known gives no word, nor does anything of the
    seller or in his words: the index lies in clear.
    """
    found = [word for text in _texts(item) for word in query_tokens(text)]
    return tuple(dict.fromkeys(found))


def query_tokens(text: str) -> tuple[str, ...]:
    """The words of a question or of any text, each once, in order. Shape: small letters, digits, '.' and '/'."""
    plain = unicodedata.normalize("NFKD", text).casefold().translate(_FOLDED)
    bare = _APOSTROPHE.sub("", "".join(c for c in plain if not unicodedata.combining(c)))
    return tuple(dict.fromkeys(word for match in _WORD.finditer(bare) for word in _read(match)))


def _read(match: re.Match[str]) -> Iterator[str]:
    if match["date"]:
        yield from _dates(match["date"])
    elif match["initials"]:
        yield re.sub(r"\W", "", match["initials"])
    elif match["number"]:
        yield _number(match["number"], match["unit"])
    else:
        yield match[0]


def _number(digits: str, unit: str | None) -> str:
    """A number with its unit. A whole 6 to 24 carat is read as karat: for gold, many places use one word for both."""
    figure = digits.replace(",", ".")
    if "." in figure:
        figure = figure.rstrip("0").rstrip(".")
    known = _UNITS[unit] if unit else ""
    return figure + ("k" if known == "ct" and figure in _KARATS else known)


_KARATS = frozenset(str(karat) for karat in range(6, 25))


def _dates(text: str) -> Iterator[str]:
    """A date as d followed by year, month and day, once for each order that makes a day; else the text itself."""
    first, middle, last = re.split(r"[./-]", text)
    orders = [(first, middle, last)] if len(first) > 2 else [(last, first, middle), (last, middle, first)]
    days = set()
    for year, month, day in orders:
        try:
            days.add(date(_year(year), int(month), int(day)))
        except ValueError:
            continue
    yield from (f"d{day:%Y%m%d}" for day in sorted(days))
    if not days:
        yield text


def _year(digits: str) -> int:
    """A year of four digits; of two digits, the one engraved on old goods: 30 to 99 are of the last century."""
    return int(digits) if len(digits) > 2 else int(digits) + (1900 if int(digits) >= 30 else 2000)


def _texts(item: Item) -> Iterator[str]:
    yield from _strings((item.article, item.style, item.wearer, item.metal_colour, item.goods))
    for mark in listed(item.marks):
        yield mark.text
    for weighing in item.weighings:
        yield _weight(weighing)
    for size in listed(item.sizes):
        yield _size(size)
    for stone in listed(item.stones):
        yield from _strings((stone.colour, stone.shape, stone.cut, stone.setting, stone.species, stone.size))
        if stone.carats is not None:
            yield f"{stone.carats.text}ct"
    yield from _strings((item.maker, item.model))
    for inscription in listed(item.inscriptions):
        yield inscription.text
    for serial in listed(item.serials):
        if isinstance(serial.text, str):
            yield from (serial.text, re.sub(r"\W", "", serial.text))
    yield from _strings((item.damage, item.alteration, item.contents))


def _weight(weighing: Weighing) -> str:
    return weighing.weight.text + weighing.weight.unit.replace("-", "")


def _size(size: Size) -> str:
    return f"{size.value}{size.unit}" if size.unit else size.value


def _strings(values: Iterable[str | NotKnown | None]) -> Iterator[str]:
    return (value for value in values if isinstance(value, str))
