"""The barcode on the back of a licence, found in a photograph.

Decides: how a picture is made ready so that the reader finds its code: shrunk, turned upright by the direction of its
edges, smoothed or sharpened. Leaves to others: decoding itself (zxing-cpp), what the payload says
(`ledger.identity.licence`), whether the picture is kept. The reader finds nothing in a code that is turned by 3 degrees
or more, so every picture is turned first.

    payload = photographs.find(photograph)          # bytes as printed, or None
"""

import io
import warnings
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ledger.errors import InputError

if TYPE_CHECKING:
    from PIL import Image

LONGEST_SIDE = 2200
"""pixels; larger pictures are shrunk while they are decoded"""
MOST_PIXELS = 200_000_000


def find(picture: bytes) -> bytes | None:
    """The payload of the PDF417 code in a picture, byte for byte; None where none is found.

    Raises: InputError for bytes that are no picture, or one of more than 200 megapixels.
    """
    import zxingcpp

    for ready in _ways(_grey(picture)):
        for found in zxingcpp.read_barcodes(
            ready, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.PDF417), try_rotate=True
        ):
            if found.bytes:
                return bytes(found.bytes)
    return None


def _grey(picture: bytes) -> "Image.Image":
    from PIL import Image, ImageOps

    wanted = "a photograph (JPEG, PNG or WebP) of at most 200 megapixels"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(io.BytesIO(picture), formats=("JPEG", "PNG", "WEBP"))
            if opened.width * opened.height > MOST_PIXELS:
                raise InputError(field="picture", given=f"{opened.width} x {opened.height} pixels", wanted=wanted)
            opened.draft("L", (LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(opened).convert("L")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise InputError(field="picture", given=f"{len(picture):,} bytes", wanted=wanted) from None
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    return ImageOps.autocontrast(upright)


def _ways(grey: "Image.Image") -> Iterator["Image.Image"]:
    """The picture as the reader may be able to read it, the likeliest way first."""
    from PIL import Image, ImageFilter

    tilt = tilt_of(grey)
    for turn in dict.fromkeys((tilt, tilt - 1, tilt + 1, 0.0)):
        turned = grey.rotate(turn, Image.Resampling.BICUBIC, expand=True, fillcolor=128) if turn else grey
        yield turned
        yield turned.filter(ImageFilter.GaussianBlur(1))
        yield turned.filter(ImageFilter.UnsharpMask(2, 150, 0))


def tilt_of(grey: "Image.Image") -> float:
    """By how many degrees most edges of a picture are turned from upright, -45 to 45.

    The directions of the strongest gradients, modulo a right angle, weighed by their strength.
    """
    import numpy
    from PIL import ImageFilter

    small = grey.copy()
    small.thumbnail((1000, 1000))
    values = numpy.asarray(small.filter(ImageFilter.GaussianBlur(1.2)), dtype=float)
    down, right = numpy.gradient(values)
    strength = numpy.hypot(right, down)
    strong = strength > numpy.percentile(strength, 92)
    if not strong.any():
        return 0.0
    quarters = (numpy.degrees(numpy.arctan2(down, right))[strong] % 90 * 4).astype(int) % 360
    counts = numpy.bincount(quarters, weights=strength[strong] ** 2, minlength=360)
    smooth = sum(numpy.roll(counts, step) * (4 - abs(step)) for step in range(-3, 4))
    degrees = float(numpy.argmax(smooth)) / 4
    return degrees if degrees < 45 else degrees - 90
