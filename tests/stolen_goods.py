"""A made book of many articles and a made list of stolen ones, in other words than the book's.

Invented throughout. An article is drawn as its shop would describe it; a victim's wording of the same article leaves
things out, converts units, rounds weights, says stones by species, and misspells now and then.
"""

from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Any

_ARTICLES = (
    ("ring", 45, ("plain", "solitaire", "signet", "claddagh", "three stone", "eternity", "class", "halo", "filigree")),
    ("chain", 15, ("rope", "curb", "figaro", "box link", "cable", "herringbone", "byzantine")),
    ("bracelet", 12, ("rope", "curb", "figaro", "bangle", "line", "charm bracelet", "hammered")),
    ("earrings", 12, ("hoop", "stud", "drop", "hinged hoop", "filigree")),
    ("pendant", 8, ("cross", "crucifix", "heart", "anchor", "six pointed star", "elephant", "cameo", "butterfly")),
    ("brooch", 3, ("bee", "flower", "leaf", "bird", "cameo", "filigree")),
    ("watch", 3, ("hunter case", "open face", "chronograph", "black strap", "brown strap")),
    ("cuff links", 2, ("square", "oblong", "enamel", "monogram", "knot")),
)
_SAID_OTHERWISE = {
    "solitaire": "engagement", "six pointed star": "Star of David", "crucifix": "cross with Jesus", "line": "tennis",
    "three stone": "trilogy", "class": "school", "claddagh": "two hands and a heart with a crown", "halo": "cluster",
    "hunter case": "lid opens", "box link": "venetian", "cable": "trace", "byzantine": "king chain", "curb": "cuban",
    "stud": "studs", "drop": "dangle", "butterfly": "butterfly", "flower": "daisy",
}  # fmt: skip
_STONES = (
    ("blue", "sapphire"), ("red", "ruby"), ("green", "emerald"), ("clear", "diamond"), ("purple", "amethyst"),
    ("pink", "pink stone"), ("light blue", "aquamarine"),
)  # fmt: skip
_SHAPES = ("round", "oval", "square", "marquise", "pear shaped")
_MAKERS = ("Aldergate", "Marvel", "Tollemere", "Quillon", "Brasswick", "Fenmarch", "Ostrander", "Velloway")
_FIRST = (
    "Ada Bram Cora Dell Esme Finn Greta Hale Ines Joss Kit Lena Moss Nell Otto Pia Rune Sol Tess Uma Vic Wren".split
)


@dataclass(frozen=True)
class Article:
    """One article: the shop's description, and what a victim would say."""

    item: dict[str, Any]
    words: str


def article(random: Random) -> Article:
    """An article drawn as the trade sees them: many plain rings, few brooches."""
    name, _, styles = random.choices(_ARTICLES, [row[1] for row in _ARTICLES])[0]
    style = random.choices(styles, [max(1, 5 - place) for place in range(len(styles))])[0]
    karat, millesimal = random.choice(((10, 417), (14, 585), (18, 750), (9, 375)))
    colour = random.choice(("yellow", "yellow", "yellow", "white", "rose"))
    grams = round(random.lognormvariate(1.4, 0.6), 2)
    item: dict[str, Any] = {
        "kind": "set" if name in ("earrings", "cuff links") else "single",
        "goods": "watch" if name == "watch" else "jewelry",
        "article": name,
        "pieces": 2 if name in ("earrings", "cuff links") else 1,
        "style": style,
        "metal_colour": colour,
        "marks": [{"text": random.choice((f"{karat}K", str(millesimal)))}],
        "weighings": [{"what": "gross", "value": f"{grams:.2f}", "unit": "g", "paid_on": True}],
    }
    said = [_SAID_OTHERWISE.get(style, style), name if random.random() < 0.8 or name != "chain" else "necklace"]
    metal = {"yellow": "gold", "white": "white gold", "rose": "rose gold"}[colour]
    said.insert(0, f"{karat} karat {metal}" if random.random() < 0.6 else metal)
    _sizes(random, name, item, said)
    if random.random() < (0.5 if name in ("ring", "pendant", "brooch", "earrings") else 0.1) and style != "plain":
        _stones(random, item, said)
    if random.random() < 0.2:
        _inscription(random, item, said)
    if name == "watch":
        number = str(random.randrange(10_000, 9_999_999))
        item["serials"] = [{"text": number, "of": "case"}]
        if random.random() < 0.6:
            said.append(f"serial {number[:2] + ' ' + number[2:]}")
    if random.random() < (0.8 if name == "watch" else 0.05):
        item["maker"] = maker = random.choice(_MAKERS)
        said.append(f"by {_misspelt(random, maker)}")
    if random.random() < 0.7:
        close = grams * random.uniform(0.98, 1.02)
        said.append(f"about {close / 1.55517384:.1f} dwt" if random.random() < 0.5 else f"about {close:.1f} grams")
    return Article(item, ", ".join(said))


def _sizes(random: Random, name: str, item: dict[str, Any], said: list[str]) -> None:
    if name == "ring":
        size = random.randrange(8, 25) / 2
        item["sizes"] = [{"what": "ring", "value": f"{size:g}", "system": "us"}]
        if random.random() < 0.75:
            said.append(f"size {size:g}" if random.random() < 0.7 else f"European size {36.5 + 2.55 * size:.0f}")
        return
    if name in ("watch",):
        return
    middle = {"chain": 480, "bracelet": 190}.get(name, 25)
    mm = round(middle * random.uniform(0.7, 1.3))
    item["sizes"] = [{"what": "length", "value": str(mm), "unit": "mm"}]
    if random.random() < 0.75:
        said.append(f"{mm / 25.4:.1f} inches long" if random.random() < 0.6 else f"{mm / 10:.1f} cm long")


def _stones(random: Random, item: dict[str, Any], said: list[str]) -> None:
    colour, species = random.choice(_STONES)
    count, shape = random.choice((1, 1, 1, 2, 3, 3, 5, 7)), random.choice(_SHAPES)
    item["stones"] = [{"count": count, "colour": colour, "shape": shape}]
    if random.random() < 0.85:
        noun = species if random.random() < 0.5 else f"{colour} stone"
        plural = noun if count == 1 else noun[:-1] + "ies" if noun.endswith("y") else f"{noun}s"
        said.append(f"{count if count > 1 else 'a'} {shape if random.random() < 0.6 else ''} {plural}")


def _inscription(random: Random, item: dict[str, Any], said: list[str]) -> None:
    one, two = random.sample(_FIRST(), 2)
    day = date(random.randrange(1940, 2020), random.randrange(1, 13), random.randrange(1, 29))
    written = f"{day.month}.{day.day}.{day:%y}"
    item["inscriptions"] = [{"text": f"{one[0]} & {two[0]} {written}"}]
    if random.random() < 0.85:
        told = f"{day.month}-{day.day}-{day:%y}" if random.random() < 0.7 else f"{day.year}"
        said.append(f'engraved inside "{one} and {two} {told}"')


def _misspelt(random: Random, word: str) -> str:
    if random.random() < 0.7:
        return word
    at = random.randrange(1, len(word) - 1)
    return word[:at] + word[at] + word[at:]
