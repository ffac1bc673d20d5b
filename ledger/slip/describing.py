"""Whether an item's description would let another person find the article.

Decides: which words say nothing, and what is still missing, in the order in which the counter asks for it: kind of
article, style, metal colour, marks, weight, size, stones, maker, inscriptions, serial numbers, damage, contents.
What was looked for and not found ("no marks", "no stones") is an answer; silence is not. Two details that tell one
article from its like are wanted besides; a scrap lot needs one, its count and its picture.
Leaves to others: what a rule asks beyond this (`ledger.law`), and whether the article is what it seems (assay).
Source: what the lists have in common that authorities give: 38 Rules of the City of New York chapter 21 (metal,
number and type of stones, marks with their words, visible alteration or damage); Fla. Stat. 538.04(1) (size, colour
as apparent to the untrained eye, stones and their number, other unique marks); Los Angeles County sheriff's manual
4-01/040 (kind, maker, numbers, initials and marks, shape, size, style, material, colour, condition); Code of Boise,
Idaho, on secondhand precious metals (type, weight, colour, number and kind of stones, style, size or length,
engraving). How many details are enough is the project's own choice, no published source.

>>> missing(Item(kind="single", goods="jewelry", article="gold ring", pieces=1))
('style', 'metal colour', 'marks', 'weight', 'size', 'stones')
"""

import re

from ledger.slip.document import Item, Known, NotKnown, Stone, listed

_METALS = "gold golden silver sterling platinum palladium white yellow rose karat carat"
_WEARERS = "man mans men mens woman womans women womens lady ladys ladies gents gent child childs kids"
_EMPTY = (
    "misc miscellaneous assorted assortment various mixed lot lots scrap stuff thing things item items article "
    "articles object objects piece pieces jewelry jewellery jewel jewels goods valuables same as above ditto see "
    "unknown other another metal precious broken old used bag box the a an of and some any number no nr one"
)
_WORDS_THAT_NAME_NOTHING = frozenset(f"{_METALS} {_WEARERS} {_EMPTY}".split())


def says_nothing(article: str) -> bool:
    """Whether words for a kind of article name none: "misc", "scrap", "assorted jewelry", "same as above".

    >>> says_nothing("Scrap"), says_nothing("gold jewelry"), says_nothing("man's ring")
    (True, True, False)
    """
    words = re.findall(r"\w+", article.casefold().replace("'", "").replace("’", ""))
    return all(word in _WORDS_THAT_NAME_NOTHING or word.isdigit() for word in words)


def says_none(text: str) -> bool:
    """Whether words for damage, alteration or contents say that there is none."""
    return text.strip().casefold().rstrip(".") in ("none", "no", "nothing", "no damage", "not altered", "empty")


def in_words(item: Item) -> str:
    """One line that describes an item in the order of asking, for labels, stubs and lists: no seller, no price."""
    said = [
        item.article,
        item.style,
        item.wearer and f"for {item.wearer}",
        None if item.kind == "single" else f"{item.kind} of {item.pieces}",
        _told(item.metal_colour, "{} metal"),
        *(f"marked {mark.text}" for mark in listed(item.marks)),
        item.paid_on and f"{item.paid_on.weight.text} {item.paid_on.weight.unit}",
        *(f"{size.what} {size.value} {size.unit or size.system}" for size in listed(item.sizes)),
        *(_stone(stone) for stone in listed(item.stones)),
        _told(item.maker, "by {}"),
        item.model,
        *(f"inscribed '{inscription.text}'" for inscription in listed(item.inscriptions)),
        *(f"{serial.of} number {serial.text}" for serial in listed(item.serials) if isinstance(serial.text, str)),
        _told(item.damage, "{}"),
        _told(item.alteration, "altered: {}"),
        "melted on arrival" if item.melted_on_arrival else None,
        _told(item.contents, "holds {}"),
    ]
    return ", ".join(word for word in said if word)


def _told(known: Known[str], words: str) -> str | None:
    return words.format(known) if isinstance(known, str) and not says_none(known) else None


def _stone(stone: Stone) -> str:
    count = None if isinstance(stone.count, NotKnown) else f"{stone.count}"
    noun = "stone" if stone.count == 1 else "stones"
    words = (count, stone.size, stone.colour, stone.shape, stone.cut, noun)
    return " ".join(word for word in words if word)


def missing(item: Item) -> tuple[str, ...]:
    """What the description of an item still lacks, in the order of asking; empty when it says enough."""
    answers = _answers(item)
    lacking = {name for name in _expected(item) if not answers[name]}
    if _details(item) < (1 if item.kind == "lot" else 2):
        lacking |= {name for name in _TELLING[item.kind == "lot"] if not answers[name]}
    if says_nothing(item.article) and not (item.kind == "lot" and _details(item)):
        lacking.add("kind of article")
    return tuple(name for name in answers if name in lacking)


_TELLING = {False: ("style", "marks", "size", "stones"), True: ("style", "contents")}


def _answers(item: Item) -> dict[str, bool]:
    """For each thing that is asked, in order, whether anything was answered."""
    return {
        "kind of article": not says_nothing(item.article),
        "style": item.style is not None,
        "metal colour": item.metal_colour is not None,
        "marks": item.marks is not None,
        "weight": bool(item.weighings),
        "size": item.sizes is not None,
        "stones": item.stones is not None,
        "contents": item.contents is not None,
        "picture": bool(item.pictures),
    }


def _expected(item: Item) -> tuple[str, ...]:
    if item.kind == "lot":
        return ("metal colour", "weight", "picture")
    if item.goods in ("coin", "bullion", "medal"):
        return ("marks", "weight")
    if item.goods == "gem":
        return ("weight", "stones")
    if item.goods in ("jewelry", "watch"):
        return ("metal colour", "marks", "weight", "stones")
    return ("metal colour", "marks", "weight")


def _details(item: Item) -> int:
    """How many details tell the article from its like. Lists that are empty, and what is not known, tell nothing."""
    details = (
        item.style, item.sizes, item.marks, item.inscriptions, item.serials, item.stones, item.maker, item.model,
        item.damage, item.alteration, item.contents,
    )  # fmt: skip
    return sum(1 for d in details if d and not isinstance(d, NotKnown) and not (isinstance(d, str) and says_none(d)))


def one_line(item: Item) -> str:
    """One line that a person reads on lists and labels: what it is, its metal's colour, its style, its marks.

    >>> one_line(Item(kind="single", goods="jewelry", article="ring", pieces=1, metal_colour="yellow"))
    'ring, yellow metal'
    """
    many = f"{item.pieces} pieces" if item.pieces > 1 else ""
    colour = f"{item.metal_colour} metal" if isinstance(item.metal_colour, str) else ""
    marks = item.marks if isinstance(item.marks, tuple) else ()
    marked = "marked " + ", ".join(mark.text for mark in marks) if marks else ""
    return ", ".join(word for word in (item.article, many, colour, item.style or "", marked) if word)
