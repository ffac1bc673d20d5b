"""Font files made ready for a paper.

Decides: how bold is cut from a variable font, how CJK outlines become TrueType, where a mark is anchored, which glyphs
a cut font holds and its name (two fonts with one PostScript name would print as one).
Leaves to others: which characters are wanted and where they are drawn (fonts). The same request gives the same bytes:
no clock is read, and glyphs stand in the order of their code points.

>>> bold(Path("nowhere.ttf"), "Nothing-Bold", [32])
Traceback (most recent call last):
    ...
FileNotFoundError: [Errno 2] No such file or directory: 'nowhere.ttf'
"""

from collections.abc import Iterable
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any

CJK_FACES = {"jp": 0, "kr": 1, "sc": 2}
"""place of each region's face in the font collection"""


def bold(path: Path, name: str, codes: Iterable[int]) -> bytes:
    """A TrueType font of weight 700 with the characters of codes that the variable font has."""
    from fontTools import subset
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    font = TTFont(BytesIO(path.read_bytes()), recalcTimestamp=False, lazy=True)
    for table in ("GPOS", "GSUB", "GDEF"):  # half the time goes there, and these papers place letters themselves
        del font[table]
    options = subset.Options()
    options.hinting = False
    options.notdef_outline = True
    options.name_IDs = [1, 2, 4, 6]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=list(codes))
    cutter.subset(font)
    font = instancer.instantiateVariableFont(font, {"wght": 700}, inplace=True)
    for record in font["name"].names:
        if record.nameID in (4, 6):
            record.string = name
    return _saved(font)


def _saved(font: Any) -> bytes:
    out = BytesIO()
    font.save(out, reorderTables=True)
    return out.getvalue()


@lru_cache(maxsize=1)
def _collection() -> bytes:
    import noto_cjk_sans_otc

    return Path(str(noto_cjk_sans_otc.FONT_PATH)).read_bytes()


@lru_cache(maxsize=len(CJK_FACES))
def _face(script: str) -> Any:
    from fontTools.ttLib import TTFont

    return TTFont(BytesIO(_collection()), fontNumber=CJK_FACES[script], lazy=True)


@lru_cache(maxsize=1)
def cjk_characters() -> frozenset[int]:
    """Code points that the CJK collection draws; every face of it has them all."""
    return frozenset(_face("sc").getBestCmap())


@lru_cache(maxsize=64)
def cjk(script: str, characters: str, name: str) -> bytes:
    """A TrueType font that holds exactly these characters, in one region's shapes.

    The collection has cubic outlines, which the PDF library does not embed: each glyph is redrawn with quadratic
    curves that stay within half a unit (of a thousand) of the original.
    """
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    face = _face(script)
    glyphs, cmap = face.getGlyphSet(), face.getBestCmap()
    wanted = {ord(character): cmap[ord(character)] for character in characters}
    order = [".notdef", *dict.fromkeys(wanted.values())]
    drawn, metrics = {}, {}
    for glyph in order:
        pen = TTGlyphPen(None)
        glyphs[glyph].draw(Cu2QuPen(pen, max_err=0.5, reverse_direction=True))
        drawn[glyph] = pen.glyph()
    builder = FontBuilder(unitsPerEm=face["head"].unitsPerEm, isTTF=True)
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap(wanted)
    builder.setupGlyf(drawn)
    for glyph in order:
        metrics[glyph] = (face["hmtx"][glyph][0], getattr(drawn[glyph], "xMin", 0) or 0)
    builder.setupHorizontalMetrics(metrics)
    builder.setupHorizontalHeader(ascent=face["hhea"].ascent, descent=face["hhea"].descent)
    builder.setupNameTable({"familyName": name, "styleName": "Regular", "fullName": name, "psName": name})
    builder.setupOS2(
        sTypoAscender=face["OS/2"].sTypoAscender,
        sTypoDescender=face["OS/2"].sTypoDescender,
        sCapHeight=face["OS/2"].sCapHeight,
        fsType=0,
    )
    builder.setupPost()
    builder.updateHead(created=0, modified=0)
    builder.font.recalcTimestamp = False
    return _saved(builder.font)


@lru_cache(maxsize=4)
def _layout(path: Path) -> Any:
    from fontTools.ttLib import TTFont

    return TTFont(BytesIO(path.read_bytes()), lazy=True)


def anchored(path: Path, letter: str, mark: str) -> tuple[float, float]:
    """How far a mark moves from the letter's origin to sit on it: right, up, in thousandths of the size.

    Source: OpenType specification, GPOS lookup type 4 (mark to base): the mark's anchor lies on the base's.
    """
    font = _layout(path)
    cmap, scale = font.getBestCmap(), 1000 / font["head"].unitsPerEm
    base_glyph, mark_glyph = cmap.get(ord(letter)), cmap.get(ord(mark))
    for table in _mark_tables(font):
        if mark_glyph in table.MarkCoverage.glyphs and base_glyph in table.BaseCoverage.glyphs:
            record = table.MarkArray.MarkRecord[table.MarkCoverage.glyphs.index(mark_glyph)]
            bases = table.BaseArray.BaseRecord[table.BaseCoverage.glyphs.index(base_glyph)]
            anchor = bases.BaseAnchor[record.Class]
            if anchor is not None:
                right = anchor.XCoordinate - record.MarkAnchor.XCoordinate
                up = anchor.YCoordinate - record.MarkAnchor.YCoordinate
                return right * scale, up * scale
    advance = font["hmtx"][base_glyph][0] if base_glyph else 0
    return advance * scale, 0.0


def _mark_tables(font: Any) -> list[Any]:
    tables = []
    for lookup in font["GPOS"].table.LookupList.Lookup:
        for table in lookup.SubTable:
            table = getattr(table, "ExtSubTable", table)
            if table.LookupType == 4:
                tables.append(table)
    return tables
