"""Pictures locked away, one file each, and the copy of a picture that is shown.

Decides: what a locked picture is bound to, how its file is named and written, which bytes count as a picture,
what the shown copy keeps. Leaves to others: the data keys (`opened`), the entry that names the file (chain,
book), which files no entry names (book). A picture is on the disk before anything names it: a crash leaves
at worst a file that nobody names.

The shown copy is drawn anew: it stands upright, is at most 2200 pixels a side, and holds nothing but its
pixels - no place, no camera, no remarks.

>>> import tempfile
>>> folder = Path(tempfile.mkdtemp())
>>> where = {"book": "counterfoil/ab", "subject": "slip/1f", "cls": "item", "picture_id": "p1"}
>>> digest = lock(folder, bytes(32), b"pixels", nonce=bytes(12), **where)
>>> stored(folder) == {digest}
True
>>> open_picture(folder, bytes(32), digest, **where)
b'pixels'
"""

import hashlib
import os
import re
import threading
import warnings
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from ledger.errors import CaptureChanged, InputError, StorageError
from ledger.vault import durable_files, locks

if TYPE_CHECKING:
    from PIL import Image, ImageFile

MOST_PIXELS = 1_000_000_000
"""No picture declares more; checked before a pixel is decoded."""
MOST_WHOLE_PIXELS = 200_000_000
"""Nor does one that can only be unpacked whole: PNG, WebP and progressive JPEG. About 0.8 GB of memory."""
LONGEST_SIDE = 2200
"""pixels, of the shown copy"""

_NAME = re.compile(r"[0-9a-f]{64}")
_QUALITY = 88
_FEW_COLOURS = 256


def lock(
    folder: Path, key: bytes, data: bytes, *, book: str, subject: str, cls: str, picture_id: str, nonce: bytes
) -> str:
    """The name of the file that now holds the picture: SHA-256 of its bytes, 64 hex digits.

    folder: the book's; key: the data key of (subject, class); nonce: 12 fresh random bytes.
    Shape: of the file `pictures/<2 hex>/<64 hex>`: nonce 12 | ciphertext | tag 16, bound to (format, book,
    subject, class, picture id).
    Raises: StorageError. When this returns the file survives a power cut.
    """
    locked = locks.lock(key, nonce, data, _place(book, subject, cls, picture_id))
    digest = hashlib.sha256(locked).hexdigest()
    path = _path(folder, digest)
    durable_files.make_folder(path.parent.parent)
    durable_files.make_folder(path.parent)
    durable_files.put(path, locked, mark=f".{os.getpid()}.{threading.get_ident()}")
    return digest


def open_picture(
    folder: Path,
    key: bytes,
    digest: str,
    *,
    book: str,
    subject: str,
    cls: str,
    picture_id: str,
    seq: int | None = None,
) -> bytes:
    """The bytes of a picture as they were received.

    seq: the entry that names it, for the error; None while it is drafted.
    Raises: StorageError when the file is missing or cannot be read; CaptureChanged (StorageError while drafted)
    when its bytes are not those of its name; LockedError when the key or the place is another.
    """
    path = _path(folder, digest)
    locked = durable_files.get(path, "the picture is missing; put it back from the newest data backup")
    found = hashlib.sha256(locked).hexdigest()
    if found != digest:
        if seq is not None:
            raise CaptureChanged(seq=seq, expected=digest, found=found)
        raise StorageError(path=path, why=f"its bytes were changed (digest {found}); take the picture again")
    return locks.open_locked(key, locked, _place(book, subject, cls, picture_id), f"The picture {picture_id}")


def remove(folder: Path, digest: str) -> None:
    """The file of a picture that nothing names any more is gone, also after a power cut. Raises: StorageError."""
    path = _path(folder, digest)
    try:
        path.unlink()
        durable_files.sync_folder(path.parent)
    except FileNotFoundError:
        return
    except OSError as error:
        raise StorageError(
            path=path, why=f"could not be deleted ({error.strerror}); nothing names it any more: delete it by hand"
        ) from None


def stored(folder: Path) -> set[str]:
    """Names of all pictures in the book's folder; unfinished files of a crash do not count.

    Raises: StorageError.
    """
    try:
        return {file.name for file in (folder / "pictures").glob("*/*") if _NAME.fullmatch(file.name)}
    except OSError as error:
        raise StorageError(
            path=folder / "pictures", why=f"could not be listed ({error.strerror}); mend this and do it again"
        ) from None


def check_file(folder: Path, digest: str) -> str | None:
    """What is wrong with a picture's file, without any key: "is missing", "holds bytes with ..."; or None."""
    try:
        with _path(folder, digest).open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return "is missing"
    except OSError as error:
        return f"could not be read ({error.strerror})"
    return None if found == digest else f"holds bytes with the digest {found}"


def _path(folder: Path, digest: str) -> Path:
    if not _NAME.fullmatch(digest):
        raise InputError(field="picture", given=digest, wanted="the 64 hex digits of a SHA-256")
    return folder / "pictures" / digest[:2] / digest


def _place(book: str, subject: str, cls: str, picture_id: str) -> bytes:
    return locks.bound("counterfoil-picture/0", book, subject, cls, picture_id)


# The shown copy.


def shown_copy(data: bytes, field: str) -> tuple[bytes, str]:
    """The copy of a picture that screens and papers show, and its media type.

    data: as received: JPEG, PNG or WebP by its bytes, whatever its name says; of several frames the first.
    field: names the picture in errors.
    Result: JPEG; or PNG for what was no JPEG, has at most 256 colours and is no longer that way (a signature). A
    transparent ground becomes white; colours are taken as sRGB.
    Raises: InputError for what is no such picture, is broken, or declares too many pixels.
    """
    with warnings.catch_warnings():
        # A camera's remarks that are odd but harmless would be told on the error stream, among our sentences.
        warnings.simplefilter("ignore")
        return _shown(data, field)


def _shown(data: bytes, field: str) -> tuple[bytes, str]:
    picture = _recognised(data, field)
    pixels = picture.width * picture.height
    if pixels > MOST_PIXELS:
        raise _too_big(field, picture, "at most 1,000 megapixels")
    whole = picture.format != "JPEG" or "progressive" in picture.info
    if whole and pixels > MOST_WHOLE_PIXELS:
        raise _too_big(field, picture, "at most 200 megapixels, or a JPEG that is not progressive")
    try:
        shown = _drawn_anew(picture)
        return _packed(shown, lossless=picture.format != "JPEG")
    except Exception as error:
        # Bytes of a stranger: whatever the decoder stumbles over, the picture is at fault and not the program.
        raise InputError(
            field=field,
            given=f"{_kind(picture)} that cannot be decoded ({type(error).__name__})",
            wanted="a whole picture; take or save it again",
        ) from None


def _recognised(data: bytes, field: str) -> "ImageFile.ImageFile":
    """The picture with its header read and no pixel decoded."""
    from PIL.JpegImagePlugin import JpegImageFile
    from PIL.PngImagePlugin import PngImageFile
    from PIL.WebPImagePlugin import WebPImageFile

    # The classes are called by name, not through Image.open: that would try every format Pillow knows, and its
    # own limit on pixels is a setting of the whole process.
    readers: list[tuple[bool, type[ImageFile.ImageFile]]] = [
        (data.startswith(b"\xff\xd8\xff"), JpegImageFile),
        (data.startswith(b"\x89PNG\r\n\x1a\n"), PngImageFile),
        (data.startswith(b"RIFF") and data[8:12] == b"WEBP", WebPImageFile),
    ]
    for fits, reader in readers:
        if fits:
            try:
                return reader(BytesIO(data))
            except Exception:
                given = "a picture whose header is broken"
                raise InputError(field=field, given=given, wanted="a whole picture; take or save it again") from None
    raise InputError(field=field, given=_other(data), wanted="a JPEG, PNG or WebP picture")


def _other(data: bytes) -> str:
    """What bytes are that are no picture of ours, by how they begin."""
    begins = {
        b"PK\x03\x04": "a zip archive",
        b"%PDF": "a PDF",
        b"GIF8": "a GIF",
        b"II*\x00": "a TIFF",
        b"MM\x00*": "a TIFF",
        b"BM": "a BMP",
    }
    if data[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypavif"):
        return "a HEIC or AVIF picture"
    if not data:
        return "an empty file"
    named = (name for begin, name in begins.items() if data.startswith(begin))
    return next(named, f"a file of {len(data):,} bytes that is no picture")


def _too_big(field: str, picture: "ImageFile.ImageFile", wanted: str) -> InputError:
    return InputError(field=field, given=_kind(picture), wanted=wanted)


def _kind(picture: "ImageFile.ImageFile") -> str:
    return f"a {picture.format} of {picture.width:,} x {picture.height:,} pixels"


def _drawn_anew(picture: "ImageFile.ImageFile") -> "Image.Image":
    """The pixels upright, in grey or colour, at most LONGEST_SIDE a side."""
    from PIL import Image

    turn = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }.get(_orientation(picture))
    if picture.format == "JPEG":
        # The decoder itself skips detail: a picture of 200 megapixels never lies whole in memory.
        longest = max(picture.size)
        wanted = tuple(max(1, side * LONGEST_SIDE // longest) for side in picture.size)
        picture.draft(None, (wanted[0], wanted[1]))
    # Where a picture is plain already it is made smaller in its own memory, without a second copy.
    shown = picture if picture.mode in ("L", "RGB") and "transparency" not in picture.info else _plain(picture)
    shown.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
    return shown if turn is None else shown.transpose(turn)


def _orientation(picture: "ImageFile.ImageFile") -> int:
    """How the camera was held: 1 to 8. Source: Exif 2.32 (CIPA DC-008), tag 274."""
    try:
        return int(picture.getexif().get(274, 1))
    except Exception:
        return 1  # the remarks of the camera are broken, not the picture


def _plain(picture: "Image.Image") -> "Image.Image":
    """The picture in grey (L) or colour (RGB) on a white ground."""
    from PIL import Image

    if picture.mode.startswith("I"):  # 16 bits of grey; a plain conversion would cut off all but the darkest
        return picture.convert("I").point(lambda grey: grey / 256).convert("L")
    if picture.mode in ("LA", "PA", "RGBA") or "transparency" in picture.info:
        ground = Image.new("RGBA", picture.size, "white")
        ground.alpha_composite(picture.convert("RGBA"))
        return ground.convert("RGB")
    return picture.convert("L" if picture.mode in ("1", "L") else "RGB")


def _packed(shown: "Image.Image", *, lossless: bool) -> tuple[bytes, str]:
    shown.info.clear()  # else remarks of the received picture travel along
    photo, drawing = BytesIO(), BytesIO()
    shown.save(photo, "JPEG", quality=_QUALITY)
    if lossless and shown.getcolors(_FEW_COLOURS) is not None:
        shown.save(drawing, "PNG")
        if drawing.tell() <= photo.tell():
            return drawing.getvalue(), "image/png"
    return photo.getvalue(), "image/jpeg"
