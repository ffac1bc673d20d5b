"""Reads one line of the trade's shorthand into the fields of an item: "chain yg foxtail 45cm mk 375 clasp 5.06g ns".

Decides: which words fill which field, in the order in which a description is asked for: kind of article, wearer and
style, pieces, colour, marks and where, weight, sizes, stones, maker, inscriptions, damage, contents. Nothing is
dropped and nothing is guessed: a word that fills no field is told with the reason why, and a fineness that is not said
to be stamped is no mark. Leaves to others: the words (`shorthand_words`), whether the description is enough
(`describing`), and what the metal is (the tests).

>>> got = read("chain yg foxtail 45cm spring ring mk 375 clasp 5.06g ns")
>>> got.fields["article"], got.fields["style"], got.fields["metal_colour"], got.fields["marks.0.where"]
('chain', 'foxtail links, spring ring clasp', 'yellow', 'clasp')
>>> got.fields["weighings.0.value"], got.fields["stones.none"], got.left
('5.06', 'yes', ())
>>> [(left.word, left.why[:10]) for left in read("ring 14k yg").left]
[('14k', 'a fineness')]
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from ledger.measures import UNITS
from ledger.slip import shorthand_words as words

NONE: Final = "none"
"""A field of this last name says that a list was looked for and is empty."""
ORDER: Final = (
    "article", "kind", "goods", "wearer", "style", "pieces", "metal_colour", "marks", "weighings", "sizes", "stones",
    "maker", "model", "inscriptions", "serials", "damage", "alteration", "contents", "obtained", "seller_says",
    "evidence", "offer",
)  # fmt: skip
"""Fields in the order in which a description is asked for."""


@dataclass(frozen=True)
class Left:
    """A word that filled no field, and why."""

    word: str
    why: str


@dataclass(frozen=True)
class Understood:
    """What a line said."""

    fields: Mapping[str, str]
    """by field name below the item, such as marks.0.text; in the order of ORDER"""
    left: tuple[Left, ...]


@dataclass
class _Line:
    """A line while it is read: its words, the place reached, what was found."""

    words: list[str]
    unit: str
    ring_system: str
    at: int = 0
    fields: dict[str, str] = field(default_factory=dict)
    style: list[str] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    left: list[Left] = field(default_factory=list)

    @property
    def word(self) -> str:
        """The word reached, in small letters; "" at the end."""
        return self.words[self.at].casefold() if self.at < len(self.words) else ""

    def phrase(self, table: Mapping[str, object]) -> str | None:
        """The longest key of a table that stands here; the place does not move."""
        for length in (4, 3, 2, 1):
            text = " ".join(self.words[self.at : self.at + length]).casefold()
            if text in table and len(text.split()) == length:
                return text
        return None

    def take(self, table: Mapping[str, str]) -> str | None:
        """What a phrase that stands here means; the place moves behind it."""
        if (found := self.phrase(table)) is None:
            return None
        self.at += len(found.split())
        return table[found]

    def number(self, name: str) -> int:
        """The next free position of a list."""
        self.counts[name] = self.counts.get(name, -1) + 1
        return self.counts[name]


_TOKEN = re.compile(r'[lwhdLWHD]?\d+(?:\.\d+)?"(?=\s|;|$)|"[^"]*"?|[^\s;"]+|;')
_QUANTITY: Final = re.compile(r"^(\d{1,9}(?:\.\d{1,9})?)(" + "|".join(sorted(UNITS, key=len, reverse=True)) + r")$")
_DECIMAL: Final = re.compile(r"^\d{1,9}\.\d{1,9}$")
_SIZE: Final = re.compile(r'^([lwhd]?)(\d{1,9}(?:\.\d{1,9})?)(mm|cm|in|")$')
_SIZE_OF: Final = {"l": "length", "w": "width", "h": "height", "d": "diameter"}
_RING: Final = re.compile(r"^(\d{1,2}(?:\.\d{1,2}|½|¼|¾)?|[a-z][½¼¾]?)(us|uk|eu|iso|jp|in)?$")
_STAMP: Final = re.compile(
    r"^(\d{1,2}(?:\.\d)?(?:k|kt|ct|karat)\w?|\d/\d{1,3}|\.?\d{3}|gf|rgp|gp|hge|gep|kp|sterling|ster|silver|925/\d{3})$"
)
_OFFER: Final = re.compile(r"^@(\d{1,9}(?:\.\d{1,9})?)([+-]?)$")
_FINENESS: Final = re.compile(r"^(\d{1,2}(k|kt|ct)|\.?(375|417|583|585|750|800|830|835|900|916|917|925|950|958|999))$")
_COUNT: Final = re.compile(r"^\d{1,4}$")
_ELEMENT: Final = re.compile(r"^(au|ag|cu|zn|ni|pd|pt|cd|in|fe|rh|ir|ru|co|w|sn|pb)(\d{1,4}(?:\.\d{1,4})?)$")


def read(line: str, *, unit: str = "g", ring_system: str = "us") -> Understood:
    """What a line of shorthand says. Never an error: what it does not say is told as left.

    unit: of a weight that is written without one, such as 5.06. ring_system: of a ring size written without one.
    """
    reader = _Line(_TOKEN.findall(line), unit, ring_system)
    while reader.at < len(reader.words):
        before = reader.at
        if not any(rule(reader) for rule in _RULES):
            reader.left.append(Left(reader.words[reader.at], _why(reader.word)))
            reader.at = before + 1
    _close(reader)
    in_order = sorted(reader.fields.items(), key=lambda pair: ORDER.index(pair[0].partition(".")[0]))
    return Understood(dict(in_order), tuple(reader.left))


def _why(word: str) -> str:
    if _FINENESS.match(word):
        return words.A_FINENESS
    if _SIZE.match(word):
        return words.A_MEASURE
    if word in words.SPECIES or word in words.SHAPES:
        return words.HOW_MANY
    return words.NOTES.get(word, words.NOT_UNDERSTOOD)


def _separator(line: _Line) -> bool:
    if line.word not in (";", ",", "-", "/", "&", "w", "with"):
        return False
    line.at += 1
    return True


def _clause(line: _Line) -> bool:
    """Words of one's own, from `dmg:` to the next semicolon."""
    name, colon, rest = line.word.partition(":")
    if not colon or name not in words.CLAUSES:
        return False
    said = [line.words[line.at][len(name) + 1 :]] if rest else []
    line.at += 1
    while line.at < len(line.words) and line.word != ";":
        said.append(line.words[line.at].strip('"'))
        line.at += 1
    if not said:
        return True
    target = words.CLAUSES[name]
    if target == "style":
        line.style.append(" ".join(said))
    else:
        _add(line, target, " ".join(said))
    return True


def _add(line: _Line, name: str, text: str) -> None:
    """A text, behind what stands there already."""
    line.fields[name] = f"{line.fields[name]}, {text}" if name in line.fields else text


def _none_of(line: _Line) -> bool:
    if (name := line.take(words.NONE_OF)) is not None:
        line.fields[f"{name}.{NONE}"] = "yes"
        return True
    if (name := line.take(words.NOTHING_OF)) is not None:
        line.fields[name] = "none"
        return True
    return False


def _mark(line: _Line) -> bool:
    """`mk` and what is stamped: one word, a mark in quotation marks, or several pieces of a stamp; then the place."""
    if line.word not in ("mk", "mkd", "marked", "stamped", "stp") or line.at + 1 >= len(line.words):
        return False
    line.at += 1
    first = line.words[line.at]
    stamp = [first.strip('"')]
    line.at += 1
    while not first.startswith('"') and _STAMP.match(stamp[-1].casefold()) and _STAMP.match(line.word):
        stamp.append(line.words[line.at])
        line.at += 1
    number = line.number("marks")
    line.fields[f"marks.{number}.text"] = " ".join(stamp)
    _where(line, f"marks.{number}.where")
    return True


def _where(line: _Line, name: str) -> None:
    if (place := line.take(words.PLACES)) is not None:
        line.fields[name] = place


def _inscription(line: _Line) -> bool:
    """Anything in quotation marks is engraved so, letter for letter."""
    if not line.word.startswith('"') or not (text := line.words[line.at].strip('"').strip()):
        return False
    line.at += 1
    number = line.number("inscriptions")
    line.fields[f"inscriptions.{number}.text"] = text
    _where(line, f"inscriptions.{number}.where")
    return True


def _serial(line: _Line) -> bool:
    of = {"ser": "other", "sn": "other", "works": "works", "mvt": "works", "caseno": "case", "cert": "certificate"}
    if line.word not in of or line.at + 1 >= len(line.words):
        return False
    number = line.number("serials")
    line.fields[f"serials.{number}.of"] = of[line.word]
    line.fields[f"serials.{number}.text"] = line.words[line.at + 1].strip('"')
    line.at += 2
    return True


def _weight(line: _Line) -> bool:
    """A weight as the scale shows it: gross, or what the word before it says."""
    what = {"net": "net", "gross": "gross", "stones": "stones", "foreign": "foreign"}.get(line.word, "")
    at = line.at + 1 if what else line.at
    word = line.words[at].casefold() if at < len(line.words) else ""
    if found := _QUANTITY.match(word):
        value, unit = found[1], found[2]
    elif _DECIMAL.match(word):
        value, unit = word, line.unit
    else:
        return False
    line.at = at + 1
    if value_of_next := line.word if line.word in UNITS and not found else "":
        unit = value_of_next
        line.at += 1
    number = line.number("weighings")
    line.fields[f"weighings.{number}.what"] = what or "gross"
    line.fields[f"weighings.{number}.value"] = value
    line.fields[f"weighings.{number}.unit"] = unit
    return True


def _ring_size(line: _Line) -> bool:
    if line.word not in ("sz", "size") or line.at + 1 >= len(line.words):
        return False
    found = _RING.match(line.words[line.at + 1].casefold())
    if found is None:
        return False
    value = found[1].upper()
    usual = "uk" if value[0].isalpha() else "eu" if float(value.rstrip("½¼¾")) >= 40 else line.ring_system
    number = line.number("sizes")
    line.fields[f"sizes.{number}.what"] = "ring"
    line.fields[f"sizes.{number}.value"] = value
    line.fields[f"sizes.{number}.system"] = found[2] or usual
    line.at += 2
    return True


def _size(line: _Line) -> bool:
    """A measurement: what it measures stands before the figure, or follows from the kind of article."""
    found = _SIZE.match(line.word)
    if found is None:
        return False
    article, unit = line.fields.get("article", ""), "in" if found[3] == '"' else found[3]
    what = _SIZE_OF.get(found[1], "")
    if not what and article in words.WORN_ROUND:
        what = "length" if unit in ("cm", "in") else "width"
    if not what and article == "ring" and unit == "mm":
        what = "width"
    if not what:
        return False
    number = line.number("sizes")
    line.fields[f"sizes.{number}.what"] = what
    line.fields[f"sizes.{number}.value"] = found[2]
    line.fields[f"sizes.{number}.unit"] = unit
    line.at += 1
    return True


_OF_A_STONE: Final[tuple[tuple[str, Mapping[str, str]], ...]] = (
    ("cut", words.CUTS),
    ("shape", words.SHAPES),
    ("colour", words.GEM_COLOURS),
    ("setting", words.SETTINGS),
    ("species", words.SPECIES),
    ("basis", words.BASES),
)


def _stones(line: _Line) -> bool:
    """A number and what the stones look like: "3 rd red 1.5mm garnet claimed"."""
    if not _COUNT.match(line.word) or not 1 <= int(line.word) <= 10_000:
        return False
    start, count = line.at, line.word
    line.at += 1
    found: dict[str, str] = {}
    while line.word:
        if not _of_a_stone(line, found):
            break
    if not found.keys() - {"size", "carats", "basis"}:
        line.at = start
        return False
    number = line.number("stones")
    line.fields[f"stones.{number}.count"] = count
    for name, value in found.items():
        line.fields[f"stones.{number}.{name}"] = value
    return True


def _of_a_stone(line: _Line, found: dict[str, str]) -> bool:
    for name, table in _OF_A_STONE:
        phrase = line.phrase(table)
        if phrase is not None and name not in found:
            found[name] = line.take(table) or ""
            return True
    if "size" not in found and (size := re.match(r"^(\d{1,9}(?:\.\d+)?)(?:x(\d+(?:\.\d+)?))?mm$", line.word)):
        found["size"] = f"{size[1]} x {size[2]} mm" if size[2] else f"{size[1]} mm"
    elif "carats" not in found and (carats := re.match(r"^(\d{1,9}(?:\.\d+)?)ct$", line.word)):
        found["carats"] = carats[1]
    elif line.word not in ("stone", "stones"):
        return False
    line.at += 1
    return True


def _pieces(line: _Line) -> bool:
    """How many: a pair, a set of so many, a lot, so many pieces."""
    if line.word in ("pr", "pair"):
        line.fields |= {"kind": "set", "pieces": "2"}
        line.at += 1
        return True
    if line.word in ("lot", "scrap"):
        line.fields["kind"] = "lot"
        line.at += 1
        return True
    after = line.words[line.at + 1].casefold() if line.at + 1 < len(line.words) else ""
    if line.word == "set" and _COUNT.match(after):
        line.fields |= {"kind": "set", "pieces": after}
        line.at += 2
        return True
    if _COUNT.match(line.word) and after in ("pc", "pcs", "pieces", "x"):
        line.fields["pieces"] = line.word
        line.at += 2
        return True
    return False


def _colour(line: _Line) -> bool:
    if "metal_colour" in line.fields or (colour := line.take(words.COLOURS)) is None:
        return False
    line.fields["metal_colour"] = colour
    return True


def _wearer(line: _Line) -> bool:
    if (wearer := line.take(words.WEARERS)) is None:
        return False
    line.fields["wearer"] = wearer
    return True


def _article(line: _Line) -> bool:
    found = line.phrase(words.ARTICLES)
    if found is None or "article" in line.fields:
        return False
    article, goods = words.ARTICLES[found]
    line.fields |= {"article": article, "goods": goods}
    line.style += words.STYLE_OF.get(found, ())
    if found in words.WEARERS_OF:
        line.fields["wearer"] = words.WEARERS_OF[found]
    line.at += len(found.split())
    return True


def _style(line: _Line) -> bool:
    if (style := line.take(words.STYLES)) is None:
        return False
    line.style.append(style)
    return True


def _condition(line: _Line) -> bool:
    for name, table in (("damage", words.DAMAGE), ("alteration", words.ALTERATION)):
        if (said := line.take(table)) is not None:
            where = line.take({"shank": "shank", "clasp": "clasp", "band": "band", "link": "link", "links": "links"})
            _add(line, name, f"{said} {where}" if where else said)
            return True
    return False


def _test(line: _Line) -> bool:
    """Two tests that every counter makes: the magnet's pull, and a reading's figures by element."""
    after = line.words[line.at + 1].casefold() if line.at + 1 < len(line.words) else ""
    pulls = {"no": "none", "none": "none", "weak": "weak", "strong": "strong"}
    if line.word in ("mag", "magnet") and after in pulls:
        number = line.number("evidence")
        line.fields |= {f"evidence.{number}.test": "magnet", f"evidence.{number}.pull": pulls[after]}
        line.at += 2
        return True
    if line.word != "xrf" or not _ELEMENT.match(after):
        return False
    line.at += 1
    number, readings, total = line.number("evidence"), 0, 0.0
    place = f"evidence.{number}"
    line.fields[f"{place}.test"] = "xrf"
    seen: set[str] = set()
    while (found := _ELEMENT.match(line.word)) is not None:
        element = found[1].capitalize()
        if element in seen:  # the same element again begins the next reading
            readings, seen = readings + 1, set()
        seen.add(element)
        total = total + float(found[2]) if readings == 0 else total
        line.fields[f"{place}.readings.{readings}.elements.{element}"] = found[2]
        line.at += 1
    line.fields[f"{place}.unit"] = "per-cent" if total <= 110 else "per-mille"
    return True


def _offer(line: _Line) -> bool:
    """What is offered: @180, and whether it is taken (+) or declined (-)."""
    found = _OFFER.match(line.word)
    if found is None:
        return False
    line.fields["offer.amount"] = found[1]
    if found[2]:
        line.fields["offer.answer"] = "taken" if found[2] == "+" else "declined"
    line.at += 1
    return True


def _close(line: _Line) -> None:
    """What follows from the rest: style as one text, one piece unless said otherwise, the weighing that is paid on."""
    if line.style:
        line.fields["style"] = ", ".join(dict.fromkeys(line.style))
    if "article" in line.fields:
        pieces = int(line.fields.setdefault("pieces", "1"))
        line.fields.setdefault("kind", "single" if pieces == 1 else "set")
    kinds = [line.fields[f"weighings.{n}.what"] for n in range(line.counts.get("weighings", -1) + 1)]
    for what in ("net", "gross"):
        if what in kinds:
            line.fields[f"weighings.{kinds.index(what)}.paid_on"] = "yes"
            return


_RULES: Final[tuple[Callable[[_Line], bool], ...]] = (
    _separator, _clause, _none_of, _mark, _inscription, _serial, _test, _offer, _pieces, _ring_size, _stones, _weight,
    _size, _article, _style, _wearer, _colour, _condition,
)  # fmt: skip
"""The first that understands what stands at the place reached takes it."""
