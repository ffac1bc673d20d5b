"""Which font draws which character, and in which order.

Decides: one font per character (Arimo for Latin, Cyrillic, Greek, Vietnamese and Hebrew; Noto Sans Arabic; Noto
Sans CJK cut down to a paper's own characters), bold, right-to-left order, where accents sit, where a line
breaks. A character that no font has stops the paper and is named; it never becomes an empty box.
Leaves to others: where a line stands on the page (page).

>>> with setting_type({"seller": "Zoë Đặng"}) as case:
...     [piece.font for piece in case.pieces("Zoë")]
['Arimo']
>>> with setting_type({"seller": "Zoë \U0001f600"}) as case:
...     pass
Traceback (most recent call last):
    ...
ledger.errors.InputError: seller: 'U+1F600 GRINNING FACE' was given; wanted is characters that the papers can draw.
"""

import dataclasses
import re
import threading
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from ledger.errors import InputError
from reports import outlines

REGULAR = "Arimo"
BOLD = "Arimo-Bold-Latin"
ARABIC = "NotoSansArabic"

# Bold is cut from the variable font block by block, so that a Latin paper does not wait for Greek.
_BOLD_BLOCKS: dict[str, tuple[tuple[int, int], ...]] = {
    BOLD: ((0x20, 0xFF), (0x2000, 0x206F), (0x20AC, 0x20AC), (0x2212, 0x2212)),
    "Arimo-Bold-Accented": ((0x100, 0x24F), (0x1E00, 0x1EFF)),
    "Arimo-Bold-Greek": ((0x370, 0x3FF), (0x1F00, 0x1FFF)),
    "Arimo-Bold-Cyrillic": ((0x400, 0x52F),),
    "Arimo-Bold-Hebrew": ((0x590, 0x5FF), (0xFB1D, 0xFB4F)),
}
_RIGHT_TO_LEFT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")
_INVISIBLE = dict.fromkeys((0x200B, 0x200C, 0x200D, 0x200E, 0x200F, 0x2060, 0xFEFF, 0xAD))
_NO_LOOK = {"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"}
_NARROWEST = 180
"""thousandths of the size: no letter of a long word is narrower on average"""
_KANA = re.compile("[\u3040-\u30ff\u31f0-\u31ff\uff66-\uff9f]")
_HANGUL = re.compile("[\u1100-\u11ff\u3130-\u318f\uac00-\ud7a3]")
_BREAKS_ANYWHERE = "[\u2e80-\ua4cf\uf900-\ufaff\ufe30-\ufe4f\uff00-\uffef\U00020000-\U0003ffff]"
_TOKENS = re.compile(rf" +|{_BREAKS_ANYWHERE}|(?:(?!{_BREAKS_ANYWHERE})[^ ])+")

_DRAWING = threading.RLock()
"""reportlab keeps its fonts in one table for the whole process, so one paper is set at a time."""


@dataclasses.dataclass(frozen=True)
class Piece:
    """Characters drawn by one font in one stroke. right, up: offsets in thousandths of the size."""

    font: str
    text: str
    width: float
    """advance in thousandths of the size"""
    right: float = 0.0
    up: float = 0.0


@dataclasses.dataclass(frozen=True)
class Line:
    """One line of text in the order the eye reads it. width: points at the size it was made for."""

    pieces: tuple[Piece, ...]
    width: float


def _package_file(package: str, name: str) -> Path:
    return Path(str(files(package))) / "files" / name


@lru_cache(maxsize=1)
def _arimo_path() -> Path:
    return _package_file("fontpkg_arimo", "Arimo[wght].ttf")


@lru_cache(maxsize=1)
def _arabic_path() -> Path:
    return _package_file("fontpkg_noto_sans_arabic", "NotoSansArabic[wdth,wght].ttf")


class _Face:
    """A font and the advance of every character it draws, in thousandths of the size.

    Controls, direction overrides, private and unassigned code points have no look of their own: they are left out,
    so that a paper that holds one stops and names it.
    """

    def __init__(self, name: str, source: Path | bytes) -> None:
        self.font = TTFont(name, BytesIO(source) if isinstance(source, bytes) else str(source), shapable=False)
        widths = self.font.face.charWidths
        codes = (code for code in self.font.face.charToGlyph if code in widths)
        self.widths = {
            chr(code): float(widths[code]) for code in codes if unicodedata.category(chr(code)) not in _NO_LOOK
        }


@lru_cache(maxsize=1)
def _regular() -> _Face:
    face = _Face(REGULAR, _arimo_path())
    pdfmetrics.registerFont(face.font)  # a file's first font is looked up by name; all others are handed over
    return face


@lru_cache(maxsize=1)
def _arabic() -> _Face:
    return _Face(ARABIC, _arabic_path())


@lru_cache(maxsize=len(_BOLD_BLOCKS))
def _bold(name: str) -> _Face:
    codes = [code for first, last in _BOLD_BLOCKS[name] for code in range(first, last + 1)]
    return _Face(name, outlines.bold(_arimo_path(), name, [0x20, *codes]))


def _bold_block(character: str) -> str | None:
    code = ord(character)
    for name, ranges in _BOLD_BLOCKS.items():
        if any(first <= code <= last for first, last in ranges):
            return name
    return None


def _script(text: str) -> str:
    """Which region's shapes Chinese characters take: kana beside them say Japan, hangul Korea, else China."""
    if _KANA.search(text):
        return "jp"
    return "kr" if _HANGUL.search(text) else "sc"


def printed_texts(value: object, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text inside a paper's values, with the path that names it, counted from one: ("items[2].title", "...")."""
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, tuple | list):
        for number, inner in enumerate(value, 1):
            yield from printed_texts(inner, f"{path}[{number}]")
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from printed_texts(inner, f"{path}.{key}" if path else str(key))
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for name in _field_names(type(value)):
            yield from printed_texts(getattr(value, name), f"{path}.{name}" if path else name)


@lru_cache(maxsize=256)
def _field_names(kind: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind))


def unprintable(character: str, path: str) -> InputError:
    """The error for a character that no font has. The text around it is not repeated: it may be personal."""
    name = unicodedata.name(character, "no name")
    return InputError(field=path, given=f"U+{ord(character):04X} {name}", wanted="characters that the papers can draw")


class Case:
    """The type one paper is set with. Made by `setting_type`; used inside its `with` block only."""

    def __init__(self, foreign: Mapping[str, _Face]) -> None:
        """foreign: the CJK font of each region's script this paper uses, {"jp": ...}."""
        self._cjk = dict(foreign)
        self._known: dict[tuple[str, bool, str], tuple[Piece, ...]] = {}

    def wrap(self, text: str, size: float, width: float, bold: bool = False) -> list[Line]:
        """Lines no wider than width points; a line feed always breaks. At least one line."""
        lines: list[Line] = []
        script = _script(text) if self._cjk else ""
        for paragraph in text.split("\n"):
            pieces = self.pieces(paragraph, bold, script)
            total = sum(piece.width for piece in pieces) * size / 1000
            if total <= width:
                lines.append(Line(pieces, total))
            else:
                lines.extend(self._broken(paragraph, size, width, bold, script))
        return lines

    def line(self, text: str, size: float, bold: bool = False) -> Line:
        """The whole text on one line, however wide."""
        pieces = self.pieces(text, bold, _script(text) if self._cjk else "")
        return Line(pieces, sum(piece.width for piece in pieces) * size / 1000)

    def pieces(self, text: str, bold: bool = False, script: str = "") -> tuple[Piece, ...]:
        """The text as pieces in visual order. script: of the text it is cut from, "jp", "kr" or "sc"."""
        known = self._known.get((text, bold, script))
        if known is None:
            made = self._made(unicodedata.normalize("NFC", text), bold, script)
            known = self._known[text, bold, script] = made
        return known

    def _made(self, text: str, bold: bool, script: str) -> tuple[Piece, ...]:
        name = BOLD if bold else REGULAR
        table = (_bold(name) if bold else _regular()).widths
        try:  # nearly every text of nearly every paper
            if not _RIGHT_TO_LEFT.search(text) and not _has_marks(text):
                return (Piece(name, text, sum([table[character] for character in text])),)
        except KeyError:
            pass
        if _RIGHT_TO_LEFT.search(text):
            text = _in_visual_order(text)
        return self._mixed(text.translate(_INVISIBLE), bold, script)

    def _mixed(self, text: str, bold: bool, script: str) -> tuple[Piece, ...]:
        pieces: list[Piece] = []
        waiting: list[str] = []  # marks that stand before their letter, as in right-to-left text
        for character in text:
            font, width = self._font(character, script, bold)
            if unicodedata.combining(character) and _RIGHT_TO_LEFT.match(character):
                waiting.append(character)
                continue
            last = pieces[-1] if pieces else None
            if unicodedata.combining(character) and last:
                pieces.append(self._mark(character, pieces, font))
            elif last and last.font == font and not (last.right or last.up) and not waiting:
                pieces[-1] = Piece(font, last.text + character, last.width + width)
            else:
                pieces.append(Piece(font, character, width))
            pieces.extend([self._mark(mark, pieces, self._font(mark, script, bold)[0]) for mark in reversed(waiting)])
            waiting.clear()
        alone = [self._font(mark, script, bold) for mark in waiting]
        pieces.extend(Piece(font, mark, width) for mark, (font, width) in zip(waiting, alone, strict=True))
        return tuple(pieces)

    def _mark(self, mark: str, pieces: list[Piece], font: str) -> Piece:
        """A mark set over or under the letter before it, where the font's own anchors put it."""
        base = next((piece for piece in reversed(pieces) if piece.width), pieces[0])
        letter = base.text[-1]
        right, up = outlines.anchored(_arabic_path() if font == ARABIC else _arimo_path(), letter, mark)
        return Piece(font, mark, 0.0, right - self._advance(base.font, letter), up)

    def font(self, name: str) -> TTFont:
        """The font that a piece names."""
        return self._face(name).font

    def _face(self, name: str) -> _Face:
        if name == REGULAR:
            return _regular()
        if name == ARABIC:
            return _arabic()
        return _bold(name) if name in _BOLD_BLOCKS else next(f for f in self._cjk.values() if f.font.fontName == name)

    def _advance(self, font: str, letter: str) -> float:
        return self._face(font).widths[letter]

    def _font(self, character: str, script: str, bold: bool) -> tuple[str, float]:
        faces = [_regular(), _arabic(), *(self._cjk[name] for name in (script, *self._cjk) if name in self._cjk)]
        if bold and (block := _bold_block(character)):
            faces.insert(0, _bold(block))
        for face in faces:
            if character in face.widths:
                return str(face.font.fontName), face.widths[character]
        raise unprintable(character, "text")

    def _broken(self, paragraph: str, size: float, width: float, bold: bool, script: str) -> list[Line]:
        """Greedy lines; a word longer than the line is cut where it must be."""
        limit = width * 1000 / size
        lines: list[str] = []
        current, used = "", 0.0
        for token in _TOKENS.findall(unicodedata.normalize("NFC", paragraph)):
            length = self._length(token, bold, script)
            if used + length > limit and current.strip():
                lines.append(current.rstrip())
                current, used = "", 0.0
                if token.isspace():
                    continue
            while length > limit and len(token) > 1:
                head = self._fitting(token, limit, bold, script)
                lines.append(head)
                token = token[len(head) :]
                length = self._length(token, bold, script)
            current, used = current + token, used + length
        lines.append(current.rstrip())
        made = [self.pieces(line, bold, script) for line in lines]
        return [Line(pieces, sum(piece.width for piece in pieces) * size / 1000) for pieces in made]

    def _length(self, text: str, bold: bool, script: str) -> float:
        return sum([piece.width for piece in self.pieces(text, bold, script)])

    def _fitting(self, word: str, limit: float, bold: bool, script: str) -> str:
        """The longest beginning of a word that fits, marks and all (they have no width); at least one character."""
        low, high = 1, min(len(word), int(limit / _NARROWEST) + 1)
        while low < high:
            middle = (low + high + 1) // 2
            if self._length(word[:middle], bold, script) <= limit:
                low = middle
            else:
                high = middle - 1
        return word[:low]


def reads_right_to_left(text: str) -> bool:
    """Whether the first letter with a direction is Hebrew or Arabic. Source: Unicode UAX #9, rules P2 and P3."""
    for character in text:
        direction = unicodedata.bidirectional(character)
        if direction in ("L", "R", "AL"):
            return direction != "L"
    return False


def _has_marks(text: str) -> bool:
    return not text.isascii() and any(map(unicodedata.combining, text))


def _in_visual_order(text: str) -> str:
    """Letters joined as Arabic writing joins them, then put in the order they stand on the line."""
    from arabic_reshaper import ArabicReshaper
    from bidi.algorithm import get_display

    joined = ArabicReshaper({"delete_harakat": False, "support_ligatures": True}).reshape(text)
    return str(get_display(joined))


@contextmanager
def setting_type(paper: object) -> Iterator[Case]:
    """The type case for a paper, every character of which has been found in a font.

    Raises: InputError that names the field and the character no font has.
    """
    with _DRAWING:
        yield Case(_prepared(paper))


def _prepared(paper: object) -> dict[str, _Face]:
    texts = list(printed_texts(paper))
    known = _regular().widths
    characters = set("".join([text for _, text in texts]))
    if characters <= known.keys() | {"\n"} and not any(map(unicodedata.combining, characters)):
        return {}
    cjk: dict[str, set[str]] = {}
    for path, text in texts:
        text = unicodedata.normalize("NFC", text)
        if _RIGHT_TO_LEFT.search(text):
            text = _in_visual_order(text)
        for character in text.translate(_INVISIBLE):
            if character == "\n" or character in known or character in _arabic().widths:
                continue
            if ord(character) not in outlines.cjk_characters():
                raise unprintable(character, path)
            cjk.setdefault(_script(text), set()).add(character)
    return {
        script: _Face(name, outlines.cjk(script, "".join(sorted(characters)), name))
        for script, characters in sorted(cjk.items())
        for name in [f"NotoSansCJK{script}-Cut"]
    }
