"""Drawings in place of photographs: every article, face, document, thumb and signature of the demonstration.

Decides: simple outlines that tell a goblet from a spoon. The same words give the same bytes; nothing here looks like
a person who lives, and every document says that it is none.

>>> drawing("ring", "yellow")[:3]
b'\\xff\\xd8\\xff'
"""

import hashlib
import io
import math
from collections.abc import Callable
from typing import TypeAlias

from PIL import Image, ImageDraw, ImageFont

SIZE = (480, 360)
_CLOTH = (38, 52, 66)
_INK = (24, 28, 60)
_SHADE = 0.62
_METALS = {
    "yellow": (214, 175, 66),
    "rose": (212, 150, 122),
    "white": (200, 204, 210),
    "two-tone": (210, 190, 130),
}

Colour: TypeAlias = tuple[int, int, int]
Pen: TypeAlias = ImageDraw.ImageDraw
Draw: TypeAlias = Callable[[Pen, Colour, Colour], None]


def _sheet(colour: Colour, size: tuple[int, int] = SIZE) -> tuple[Image.Image, Pen]:
    image = Image.new("RGB", size, colour)
    return image, ImageDraw.Draw(image)


def _jpeg(image: Image.Image) -> bytes:
    made = io.BytesIO()
    image.save(made, "JPEG", quality=80)
    return made.getvalue()


def _png(image: Image.Image) -> bytes:
    made = io.BytesIO()
    image.save(made, "PNG")
    return made.getvalue()


def _letters(pen: Pen, place: tuple[float, float], text: str, size: int, colour: Colour) -> None:
    pen.text(place, text, fill=colour, font=ImageFont.load_default(size), anchor="mm")


def drawing(article: str, colour: str) -> bytes:
    """A JPEG of an article lying on dark cloth beside a ruler. article: a key of ARTICLES. colour: of its metal."""
    image, pen = _sheet(_CLOTH)
    bright = _METALS.get(colour, _METALS["two-tone"])
    dark = (int(bright[0] * _SHADE), int(bright[1] * _SHADE), int(bright[2] * _SHADE))
    ARTICLES[article](pen, bright, dark)
    _ruler(pen)
    return _jpeg(image)


def _ruler(pen: Pen) -> None:
    pen.rectangle((20, 330, 460, 350), fill=(228, 222, 200))
    for tick in range(45):
        height = 12 if tick % 10 == 0 else 9 if tick % 5 == 0 else 5
        pen.line((25 + tick * 10, 330, 25 + tick * 10, 330 + height), fill=(40, 40, 40))


def mark_drawing(text: str, colour: str) -> bytes:
    """A JPEG of a stamp as the loupe shows it."""
    bright = _METALS.get(colour, _METALS["two-tone"])
    image, pen = _sheet((20, 20, 20))
    pen.ellipse((70, 10, 410, 350), fill=bright)
    for ring in range(1, 8):
        edge = (70 + ring * 9, 10 + ring * 9, 410 - ring * 9, 350 - ring * 9)
        pen.ellipse(edge, outline=(bright[0] - 12, bright[1] - 12, bright[2] - 12), width=2)
    words = text.split(" ") if len(text) > 9 else [text]
    for number, word in enumerate(words):
        _letters(pen, (240, 180 + (number - (len(words) - 1) / 2) * 52), word, 46, (50, 40, 20))
    return _jpeg(image)


def face(name: str) -> bytes:
    """A JPEG in place of a picture of a person: head and shoulders, told apart by colours of the name's digest."""
    seed = hashlib.sha256(name.encode()).digest()
    image, pen = _sheet((205 + seed[0] % 40, 210 + seed[1] % 40, 215 + seed[2] % 40), (360, 440))
    skin = (120 + seed[3] // 2, 84 + seed[3] * 2 // 5, 60 + seed[3] * 2 // 5)
    coat = (40 + seed[4] % 150, 40 + seed[5] % 150, 40 + seed[6] % 150)
    hair = (20 + seed[7] * 3 // 4, 16 + seed[7] // 2, 12 + seed[7] // 3)
    pen.ellipse((40, 300, 320, 560), fill=coat)
    pen.ellipse((105, 80, 255, 320), fill=hair)
    pen.ellipse((118, 110, 242, 290), fill=skin)
    for eye in (155, 205):
        pen.ellipse((eye - 7, 180, eye + 7, 194), fill=(250, 250, 250))
        pen.ellipse((eye - 3, 183, eye + 3, 191), fill=(30, 30, 30))
    pen.arc((155, 215, 205, 258), 20, 160, fill=(120, 50, 50), width=4)
    _letters(pen, (180, 420), "INVENTED PERSON", 20, (255, 255, 255))
    return _jpeg(image)


def card(kind: str, issuer: str, number: str) -> bytes:
    """A JPEG of an identity document that says that it is none."""
    image, pen = _sheet((226, 232, 226), (520, 330))
    pen.rectangle((0, 0, 520, 60), fill=(52, 92, 84))
    _letters(pen, (260, 30), f"{issuer}  -  {kind}".upper(), 22, (255, 255, 255))
    pen.rectangle((24, 84, 164, 270), fill=(188, 196, 204))
    pen.ellipse((64, 104, 124, 184), fill=(120, 110, 104))
    pen.ellipse((40, 190, 148, 300), fill=(90, 96, 110))
    pen.rectangle((24, 270, 164, 300), fill=(226, 232, 226))
    for row in range(4):
        pen.rectangle((188, 96 + row * 34, 420 - row * 40, 110 + row * 34), fill=(150, 156, 160))
    _letters(pen, (330, 250), number, 26, (30, 30, 30))
    _letters(pen, (260, 312), "SPECIMEN - INVENTED - NOT A DOCUMENT", 18, (170, 30, 30))
    return _jpeg(image)


def thumb(name: str) -> bytes:
    """A PNG of ridges in place of a thumb's print: rings about a centre that the name's digest shifts."""
    seed = hashlib.sha256(f"thumb of {name}".encode()).digest()
    image, pen = _sheet((255, 255, 255), (240, 320))
    x, y = 100 + seed[0] % 40, 130 + seed[1] % 40
    for ring in range(1, 22):
        wide, high = ring * (5 + seed[2] % 2), ring * (7 + seed[3] % 2)
        start = (seed[4 + ring % 20] * 5 + ring * 31) % 360
        pen.arc((x - wide, y - high, x + wide, y + high), start, start + 300, fill=(60, 60, 70), width=3)
    return _png(image)


def signature(name: str) -> bytes:
    """A PNG of a stroke of the pen, another one for every name."""
    seed = hashlib.sha256(f"hand of {name}".encode()).digest()
    image, pen = _sheet((255, 255, 255), (520, 150))
    length = 120 + min(len(name), 24) * 12
    points = []
    for step in range(240):
        at = step / 240
        lift = sum(math.sin(at * (9 + seed[k] % 23) + seed[k + 8]) * (12 - k) for k in range(6))
        points.append((30 + at * length + 6 * math.sin(at * (40 + seed[20] % 20)), 75 + lift))
    pen.line(points, fill=_INK, width=4, joint="curve")
    pen.line((30, 122, 60 + length, 112 + seed[21] % 14), fill=_INK, width=3)
    return _png(image)


def _ring(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((140, 70, 340, 290), outline=dark, width=40)
    pen.ellipse((146, 66, 334, 280), outline=bright, width=30)


def _stone_ring(pen: Pen, bright: Colour, dark: Colour) -> None:
    _ring(pen, bright, dark)
    pen.polygon([(190, 80), (240, 30), (290, 80), (240, 118)], fill=(96, 140, 210), outline=(230, 240, 255))


def _signet(pen: Pen, bright: Colour, dark: Colour) -> None:
    _ring(pen, bright, dark)
    pen.polygon([(190, 40), (290, 40), (290, 96), (240, 132), (190, 96)], fill=bright, outline=dark, width=4)
    pen.line([(240, 52), (232, 84), (252, 92), (244, 116)], fill=dark, width=5)


def _locket(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((150, 80, 330, 310), fill=bright, outline=dark, width=6)
    pen.ellipse((220, 44, 260, 84), outline=bright, width=8)
    for leaf in range(5):
        pen.ellipse((180 + leaf * 24, 150 + leaf % 2 * 50, 210 + leaf * 24, 200 + leaf % 2 * 50), outline=dark, width=4)


def _goblet(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.pieslice((150, -80, 330, 190), 0, 180, fill=bright, outline=dark)
    pen.rectangle((150, 44, 330, 56), fill=dark)
    pen.rectangle((230, 188, 250, 280), fill=bright)
    pen.ellipse((218, 220, 262, 246), fill=dark)
    pen.ellipse((170, 272, 310, 308), fill=bright, outline=dark, width=4)


def _bangle(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((100, 30, 380, 310), outline=dark, width=30)
    pen.ellipse((104, 30, 376, 304), outline=bright, width=20)
    pen.rectangle((366, 150, 394, 190), fill=bright, outline=dark, width=4)
    pen.ellipse((360, 140, 366, 146), fill=(0, 0, 0))


def _earrings(pen: Pen, bright: Colour, dark: Colour) -> None:
    for left in (110, 270):
        pen.ellipse((left, 110, left + 110, 220), outline=bright, width=14)
        pen.line((left + 55, 80, left + 55, 112), fill=dark, width=6)


def _spoon(pen: Pen, x: int, bright: Colour, dark: Colour) -> None:
    pen.ellipse((x, 30, x + 26, 92), fill=bright, outline=dark, width=2)
    pen.line((x + 13, 90, x + 13, 290), fill=bright, width=8)
    pen.ellipse((x + 2, 270, x + 24, 310), fill=bright, outline=dark, width=2)


def _teaspoons(pen: Pen, bright: Colour, dark: Colour) -> None:
    for number in range(12):
        _spoon(pen, 26 + number * 36, bright, dark)


def _strainer(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((80, 110, 240, 270), fill=bright, outline=dark, width=6)
    for hole in range(24):
        x, y = 108 + hole % 6 * 20, 140 + hole // 6 * 26
        pen.ellipse((x, y, x + 7, y + 7), fill=_CLOTH)
    pen.rectangle((236, 180, 410, 200), fill=(222, 208, 170))


def _candlesticks(pen: Pen, bright: Colour, dark: Colour) -> None:
    for left in (90, 270):
        pen.rectangle((left + 40, 30, left + 80, 56), fill=bright, outline=dark)
        pen.rectangle((left + 50, 56, left + 70, 250), fill=bright, outline=dark)
        pen.polygon([(left, 306), (left + 30, 250), (left + 90, 250), (left + 120, 306)], fill=bright, outline=dark)


def _heap(pen: Pen, bright: Colour, dark: Colour) -> None:
    for piece in range(41):
        seed = hashlib.sha256(f"piece {piece}".encode()).digest()
        x, y = 70 + seed[0] * 300 // 255, 60 + seed[1] * 220 // 255
        for link in range(3 + seed[2] % 5):
            dx, dy = link * 13, (seed[3] % 9 - 4) * link
            pen.ellipse((x + dx, y + dy, x + dx + 16, y + dy + 10), outline=bright if link % 2 else dark, width=3)


def _disc(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((110, 40, 370, 300), fill=bright, outline=dark, width=8)
    pen.line([(250, 90), (236, 150), (266, 170), (250, 230)], fill=dark, width=9)
    pen.arc((150, 220, 330, 270), 180, 360, fill=dark, width=6)


def _medal(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((110, 40, 370, 300), fill=bright, outline=dark, width=8)
    for straw in range(7):
        pen.line((240, 240, 180 + straw * 20, 90), fill=dark, width=5)


def _chain(pen: Pen, bright: Colour, dark: Colour) -> None:
    for link in range(44):
        at = link / 44 * 2 * math.pi
        x, y = 240 + 170 * math.cos(at), 170 + 120 * math.sin(at)
        pen.ellipse((x - 13, y - 9, x + 13, y + 9), outline=bright if link % 2 else dark, width=5)
    pen.rectangle((228, 280, 252, 304), fill=bright, outline=dark, width=3)


def _charms(pen: Pen, bright: Colour, dark: Colour) -> None:
    _chain(pen, bright, dark)
    for number in range(5):
        x = 130 + number * 55
        pen.line((x, 240, x, 262), fill=bright, width=3)
        pen.regular_polygon((x, 276, 15), 3 + number, fill=bright, outline=dark)


def _wheat(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.line((110, 280, 360, 70), fill=dark, width=8)
    for grain in range(9):
        x, y = 170 + grain * 21, 228 - grain * 18
        pen.ellipse((x - 34, y - 14, x - 2, y + 4), fill=bright, outline=dark)
        pen.ellipse((x + 2, y, x + 34, y + 18), fill=bright, outline=dark)


def _bow(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.polygon([(240, 140), (90, 70), (90, 210)], fill=bright, outline=dark)
    pen.polygon([(240, 140), (390, 70), (390, 210)], fill=(214, 218, 224), outline=dark)
    pen.ellipse((218, 118, 262, 162), fill=bright, outline=dark, width=4)
    pen.ellipse((222, 190, 258, 250), fill=(246, 238, 220))


def _watch(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((110, 60, 350, 300), fill=bright, outline=dark, width=10)
    pen.ellipse((140, 90, 320, 270), fill=(248, 248, 244))
    pen.rectangle((220, 30, 240, 62), fill=bright)
    for hour in range(12):
        at = hour / 12 * 2 * math.pi
        x, y = 230 + 76 * math.sin(at), 180 - 76 * math.cos(at)
        pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=(30, 30, 30))
    pen.line((230, 180, 230, 126), fill=(30, 30, 30), width=5)
    pen.line((230, 180, 272, 200), fill=(30, 30, 30), width=5)


def _anchor(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((220, 40, 260, 80), outline=bright, width=8)
    pen.line((240, 80, 240, 290), fill=bright, width=14)
    pen.line((180, 120, 300, 120), fill=bright, width=12)
    pen.arc((140, 120, 340, 300), 20, 160, fill=bright, width=14)
    pen.line([(240, 80), (260, 150), (220, 210), (250, 280)], fill=dark, width=6)


def _boat(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.pieslice((100, 20, 360, 260), 0, 180, fill=bright, outline=dark)
    pen.polygon([(100, 140), (50, 100), (130, 140)], fill=bright, outline=dark)
    pen.arc((330, 90, 430, 220), 250, 90, fill=bright, width=12)
    for foot in (170, 230, 290):
        pen.line((foot, 250, foot - 10, 304), fill=dark, width=10)


def _napkin_rings(pen: Pen, bright: Colour, dark: Colour) -> None:
    for number in range(6):
        x, y = 60 + number % 3 * 130, 40 + number // 3 * 140
        pen.ellipse((x, y + 70, x + 100, y + 120), fill=dark)
        pen.rectangle((x, y + 25, x + 100, y + 95), fill=bright)
        pen.ellipse((x, y, x + 100, y + 50), fill=dark, outline=bright, width=6)
        _letters(pen, (x + 50, y + 78), str(number + 1), 24, dark)


def _bar(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.polygon([(90, 110), (370, 90), (410, 210), (120, 240)], fill=bright, outline=dark)
    pen.polygon([(120, 240), (410, 210), (410, 240), (124, 276)], fill=dark)
    pen.arc((160, 130, 260, 200), 180, 360, fill=dark, width=5)
    pen.arc((250, 122, 350, 192), 180, 360, fill=dark, width=5)


def _tray(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.ellipse((90, 20, 390, 316), fill=dark)
    pen.ellipse((98, 26, 382, 310), fill=bright)
    pen.ellipse((130, 58, 350, 278), outline=dark, width=4)


def _thimble(pen: Pen, bright: Colour, dark: Colour) -> None:
    pen.pieslice((160, 60, 320, 220), 180, 360, fill=bright, outline=dark)
    pen.polygon([(160, 140), (320, 140), (340, 290), (140, 290)], fill=bright, outline=dark)
    for pit in range(40):
        x, y = 172 + pit % 8 * 18, 150 + pit // 8 * 22
        pen.ellipse((x, y, x + 6, y + 6), fill=dark)
    pen.rectangle((136, 284, 344, 304), fill=dark)


ARTICLES: dict[str, Draw] = {
    "ring": _ring,
    "stone ring": _stone_ring,
    "signet": _signet,
    "locket": _locket,
    "goblet": _goblet,
    "bangle": _bangle,
    "earrings": _earrings,
    "teaspoons": _teaspoons,
    "tea strainer": _strainer,
    "candlesticks": _candlesticks,
    "broken chain": _heap,
    "bullion coin": _disc,
    "medal": _medal,
    "chain": _chain,
    "bracelet": _charms,
    "brooch": _wheat,
    "bow brooch": _bow,
    "pocket watch": _watch,
    "pendant": _anchor,
    "sauce boat": _boat,
    "napkin rings": _napkin_rings,
    "cast bar": _bar,
    "tray": _tray,
    "thimble": _thimble,
}
"""What can be drawn, by the word that a slip uses for it."""
