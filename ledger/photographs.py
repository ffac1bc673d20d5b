"""The barcode on the back of a licence, found in a photograph.

Decides: how a picture is made ready so that the reader finds its code: shrunk, turned upright by the direction of its
edges, smoothed or sharpened. Leaves to others: decoding itself (zxing-cpp), what the payload says
(`ledger.identity.licence`), whether the picture is kept. The reader finds nothing in a code that is turned by 3 degrees
or more, so every picture is turned first.

    payload = photographs.find(photograph)          # bytes as printed, or None
"""

import io
import math
import warnings
from collections import Counter
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
    for turn in dict.fromkeys((tilt, tilt + 1, 0.0)):
        turned = grey.rotate(turn, Image.Resampling.BICUBIC, expand=True, fillcolor=128) if turn else grey
        yield turned.filter(ImageFilter.GaussianBlur(1))
        yield turned
        yield turned.filter(ImageFilter.UnsharpMask(2, 150, 0))


def tilt_of(grey: "Image.Image") -> float:
    """By how many degrees a picture must be turned so that most of its edges stand upright, -45 to 45.

    The directions of the strongest gradients (Sobel's), modulo a right angle, weighed by their strength.
    """
    from PIL import ImageFilter, ImageOps

    small = grey.copy()
    small.thumbnail((1000, 1000))
    small = ImageOps.autocontrast(small.filter(ImageFilter.GaussianBlur(1.2)))
    across, down = (small.filter(ImageFilter.Kernel((3, 3), kernel, 8, 128)).tobytes() for kernel in _SOBEL)
    gradients = Counter(zip(across, down, strict=True))
    strongest = sorted((((x - 128) ** 2 + (y - 128) ** 2, x - 128, y - 128, n) for (x, y), n in gradients.items()))
    counts = [0] * 360
    left = len(across) * 8 // 100
    while strongest and left > 0:
        strength, x, y, n = strongest.pop()
        counts[int(math.degrees(math.atan2(y, x)) % 90 * 4) % 360] += n * strength
        left -= n
    smooth = [sum(counts[(at + step) % 360] * (4 - abs(step)) for step in range(-3, 4)) for at in range(360)]
    # Faint gradients have few steps of grey and pile up on the diagonal, where no card is held.
    best = max((at for at in range(360) if abs(at - 180) > 10), key=lambda at: smooth[at])
    degrees = (best + 0.5) / 4
    return -degrees if degrees < 45 else 90 - degrees


_SOBEL = ((-1, 0, 1, -2, 0, 2, -1, 0, 1), (-1, -2, -1, 0, 0, 0, 1, 2, 1))
