"""Pictures are on the disk before anything names them, open in their own place only, and show nothing but pixels."""

import errno
import hashlib
import os
import re
import struct
import sys
import zipfile
import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageChops, ImageOps, ImageStat, PngImagePlugin
from PIL.JpegImagePlugin import JpegImageFile

from ledger.errors import CaptureChanged, InputError, LockedError, StorageError
from ledger.vault import pictures
from ledger.vault.locks import bound, open_locked

KEY, OTHER_KEY = bytes(range(32)), bytes(range(1, 33))
NONCE = bytes(range(12))
PLACE: dict[str, Any] = {
    "book": "counterfoil/" + "0" * 32,
    "subject": "slip/1f",
    "cls": "item",
    "picture_id": "p1",
}
DATA = b"received bytes" * 1_000


def locked(folder: Path) -> str:
    return pictures.lock(folder, KEY, DATA, nonce=NONCE, **PLACE)


def file_of(folder: Path, digest: str) -> Path:
    return folder / "pictures" / digest[:2] / digest


class TestLocked:
    """Its file `pictures/<2 hex>/<64 hex>` holds nonce, ciphertext and tag; the name is the SHA-256 of its bytes."""

    def test_a_picture_comes_back_byte_for_byte(self, tmp_path: Path) -> None:
        assert pictures.open_picture(tmp_path, KEY, locked(tmp_path), **PLACE) == DATA

    def test_the_file_is_named_by_its_bytes_and_bound_as_published(self, tmp_path: Path) -> None:
        digest = locked(tmp_path)
        content = file_of(tmp_path, digest).read_bytes()
        assert digest == hashlib.sha256(content).hexdigest()
        place = bound("counterfoil-picture/0", PLACE["book"], "slip/1f", "item", "p1")
        assert open_locked(KEY, content, place, "A picture") == DATA
        assert b"received" not in content
        assert file_of(tmp_path, digest).stat().st_mode & 0o777 == 0o600

    def test_all_pictures_are_listed_and_nothing_else_is(self, tmp_path: Path) -> None:
        assert pictures.stored(tmp_path) == set()
        digest = locked(tmp_path)
        other = pictures.lock(tmp_path, KEY, b"other", nonce=NONCE, **PLACE)
        (file_of(tmp_path, digest).parent / f".{digest}.1.1.new").write_bytes(b"left by a crash")
        assert pictures.stored(tmp_path) == {digest, other}

    def test_locking_the_same_again_is_no_fault(self, tmp_path: Path) -> None:
        assert locked(tmp_path) == locked(tmp_path)

    @pytest.mark.parametrize(
        "changed",
        [
            {"book": "counterfoil/" + "1" * 32},
            {"subject": "slip/2f"},
            {"cls": "scan"},
            {"picture_id": "p2"},
            {"subject": "item", "cls": "slip/1f"},
            {"key": OTHER_KEY},
        ],
    )
    def test_in_another_place_it_stays_shut(self, tmp_path: Path, changed: dict[str, Any]) -> None:
        given: dict[str, Any] = {"key": KEY, "digest": locked(tmp_path)} | PLACE | changed
        with pytest.raises(LockedError, match="The picture p"):
            pictures.open_picture(tmp_path, **given)


class TestFaults:
    """A row must never point to a missing file; a changed one is found without any key."""

    def test_a_sound_file_has_no_fault(self, tmp_path: Path) -> None:
        assert pictures.check_file(tmp_path, locked(tmp_path)) is None

    def test_a_missing_file_is_missing(self, tmp_path: Path) -> None:
        digest = locked(tmp_path)
        file_of(tmp_path, digest).unlink()
        assert pictures.check_file(tmp_path, digest) == "is missing"
        with pytest.raises(StorageError, match="the picture is missing; put it back from the newest data backup"):
            pictures.open_picture(tmp_path, KEY, digest, **PLACE)

    def test_every_changed_byte_is_found(self, tmp_path: Path) -> None:
        digest = pictures.lock(tmp_path, KEY, b"short", nonce=NONCE, **PLACE)
        path = file_of(tmp_path, digest)
        good = path.read_bytes()
        for at in range(len(good)):
            changed = bytearray(good)
            changed[at] ^= 1 << at % 8
            path.write_bytes(changed)
            found = hashlib.sha256(changed).hexdigest()
            assert pictures.check_file(tmp_path, digest) == f"holds bytes with the digest {found}"
            with pytest.raises(CaptureChanged) as caught:
                pictures.open_picture(tmp_path, KEY, digest, seq=7, **PLACE)
            assert (caught.value.seq, caught.value.expected, caught.value.found) == (7, digest, found)

    def test_a_changed_picture_of_a_draft_is_to_be_taken_again(self, tmp_path: Path) -> None:
        digest = locked(tmp_path)
        file_of(tmp_path, digest).write_bytes(b"changed")
        with pytest.raises(StorageError, match=r"its bytes were changed .* take the picture again"):
            pictures.open_picture(tmp_path, KEY, digest, **PLACE)

    def test_a_swapped_picture_is_found(self, tmp_path: Path) -> None:
        one, two = locked(tmp_path), pictures.lock(tmp_path, KEY, b"other", nonce=NONCE, **PLACE)
        file_of(tmp_path, one).write_bytes(file_of(tmp_path, two).read_bytes())
        assert pictures.check_file(tmp_path, one) == f"holds bytes with the digest {two}"

    def test_a_file_that_cannot_be_read_says_why(self, tmp_path: Path) -> None:
        digest = "ab" * 32
        file_of(tmp_path, digest).mkdir(parents=True)
        assert pictures.check_file(tmp_path, digest) == "could not be read (Is a directory)"

    @pytest.mark.parametrize("digest", ["", "../keys.json", "AB" * 32, "ab" * 31])
    def test_a_name_that_is_no_digest_leads_nowhere(self, tmp_path: Path, digest: str) -> None:
        with pytest.raises(InputError, match="the 64 hex digits of a SHA-256"):
            pictures.check_file(tmp_path, digest)

    @pytest.mark.parametrize("call", ["write", "fsync", "replace", "mkdir"])
    def test_a_disk_that_fails_leaves_no_picture(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
    ) -> None:
        def fails(*_: Any) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        with monkeypatch.context() as patched:
            patched.setattr(os, call, fails)
            with pytest.raises(StorageError, match="No space left on device"):
                locked(tmp_path)
        assert pictures.stored(tmp_path) == set()

    def test_a_disk_that_fails_but_wrote_leaves_a_whole_picture(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        real = os.replace

        def wrote(*given: Any) -> None:
            real(*given)
            raise OSError(errno.EIO, os.strerror(errno.EIO))

        with monkeypatch.context() as patched:
            patched.setattr(os, "replace", wrote)
            with pytest.raises(StorageError, match="either whole"):
                locked(tmp_path)
        (digest,) = pictures.stored(tmp_path)
        assert pictures.check_file(tmp_path, digest) is None

    def test_a_picture_that_is_removed_is_gone_and_may_be_gone_already(self, tmp_path: Path) -> None:
        digest = locked(tmp_path)
        pictures.remove(tmp_path, digest)
        pictures.remove(tmp_path, digest)
        pictures.remove(tmp_path, "ab" * 32)
        assert pictures.stored(tmp_path) == set()

    def test_a_picture_that_cannot_be_removed_says_why(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def fails(*_: Any, **__: Any) -> None:
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))

        digest = locked(tmp_path)
        monkeypatch.setattr(Path, "unlink", fails)
        with pytest.raises(StorageError, match=r"could not be deleted \(Read-only file system\).*delete it by hand"):
            pictures.remove(tmp_path, digest)
        assert pictures.stored(tmp_path) == {digest}

    def test_a_folder_that_cannot_be_listed_says_why(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def fails(*_: Any, **__: Any) -> None:
            raise OSError(errno.EIO, os.strerror(errno.EIO))

        monkeypatch.setattr(Path, "glob", fails)
        with pytest.raises(StorageError, match="could not be listed"):
            pictures.stored(tmp_path)


def drawn(size: tuple[int, int] = (60, 40), mode: str = "RGB") -> Image.Image:
    """A picture whose four corners differ: red, green, blue, white on grey."""
    picture = Image.new("RGB", size, "grey")
    half = (size[0] // 2, size[1] // 2)
    for colour, corner in (("red", (0, 0)), ("lime", (half[0], 0)), ("blue", (0, half[1]))):
        picture.paste(colour, (*corner, corner[0] + half[0], corner[1] + half[1]))
    return picture.convert(mode)


def packed(picture: Image.Image, kind: str, **more: Any) -> bytes:
    into = BytesIO()
    picture.save(into, kind, **more)
    return into.getvalue()


def shown(data: bytes) -> Image.Image:
    copy, media = pictures.shown_copy(data, "picture")
    picture = Image.open(BytesIO(copy))
    assert media == f"image/{str(picture.format).lower()}"
    picture.load()
    return picture


def near(one: Image.Image, other: Image.Image) -> bool:
    """Whether two pictures look the same: colours differ by at most 10 of 255 on average."""
    difference = ImageStat.Stat(ImageChops.difference(one.convert("RGB"), other.convert("RGB")))
    return one.size == other.size and max(difference.mean) <= 10


class TestShownCopy:
    """It stands upright, is at most 2200 pixels a side, and holds nothing but its pixels."""

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_a_picture_of_each_kind_is_shown(self, kind: str) -> None:
        assert near(shown(packed(drawn(), kind)), drawn())

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_it_stands_upright_however_the_camera_was_held(self, kind: str, orientation: int) -> None:
        # Held against Pillow's own reading of the same tag.
        exif = Image.Exif()
        exif[274] = orientation
        data = packed(drawn(), kind, exif=exif)
        with Image.open(BytesIO(data)) as received:
            assert near(shown(data), ImageOps.exif_transpose(received))

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_no_remark_of_the_camera_travels_along(self, kind: str) -> None:
        exif = Image.Exif()
        exif[270], exif[315], exif[274] = "canary place", "canary name", 6
        more: dict[str, Any] = {"exif": exif, "icc_profile": b"canary profile"}
        if kind == "JPEG":
            more |= {"comment": b"canary comment", "dpi": (301, 301)}
        if kind == "PNG":
            text = PngImagePlugin.PngInfo()
            text.add_text("Author", "canary author")
            more |= {"pnginfo": text}
        data = packed(drawn(), kind, **more) + b"canary tail"
        assert b"canary" in data
        copy, _ = pictures.shown_copy(data, "picture")
        assert b"canary" not in copy
        picture = Image.open(BytesIO(copy))
        assert not set(picture.info) - {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert picture.info.get("jfif_density", (1, 1)) == (1, 1)
        assert not picture.getexif()

    def test_remarks_that_are_broken_do_not_spoil_the_picture(self) -> None:
        data = packed(drawn(), "JPEG", exif=b"Exif\x00\x00II*\x00\xff\xff\xff\xff")
        assert shown(data).size == (60, 40)

    def test_a_tag_that_is_no_orientation_turns_nothing(self) -> None:
        for value in (0, 9):
            exif = Image.Exif()
            exif[274] = value
            assert shown(packed(drawn(), "JPEG", exif=exif)).size == (60, 40)

    @pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
    def test_every_sort_of_png_is_shown(self, mode: str) -> None:
        picture = drawn(mode="L" if mode == "I;16" else mode)
        if mode == "I;16":  # sixteen bits of grey: each value twice over, the low byte first
            picture = Image.frombytes(mode, picture.size, bytes(v for grey in picture.tobytes() for v in (grey, grey)))
        expected = drawn(mode="1" if mode == "1" else "L" if mode in ("L", "LA", "I;16") else "RGB")
        assert near(shown(packed(picture, "PNG")), expected)

    def test_print_colours_are_shown(self) -> None:
        assert near(shown(packed(drawn(mode="CMYK"), "JPEG", quality=95)), drawn())

    def test_a_transparent_ground_becomes_white(self) -> None:
        clear = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
        with_colour_left_out = packed(Image.new("RGB", (20, 20), "black"), "PNG", transparency=(0, 0, 0))
        for data in (packed(clear, "PNG"), packed(clear, "WEBP"), with_colour_left_out):
            assert shown(data).convert("L").getextrema() == (255, 255)

    def test_a_signature_stays_sharp(self) -> None:
        assert pictures.shown_copy(packed(drawn(mode="L"), "PNG"), "signature")[1] == "image/png"

    def test_a_png_of_many_colours_becomes_a_jpeg(self) -> None:
        noise = Image.merge("RGB", [Image.effect_noise((60, 40), 90) for _ in range(3)])
        assert pictures.shown_copy(packed(noise, "PNG"), "picture")[1] == "image/jpeg"

    def test_of_several_frames_the_first_is_shown(self) -> None:
        data = packed(drawn(), "WEBP", save_all=True, append_images=[Image.new("RGB", (60, 40), "black")])
        assert near(shown(data), drawn())
        data = packed(drawn(), "MPO", save_all=True, append_images=[Image.new("RGB", (60, 40), "black")])
        assert near(shown(data), drawn())

    @pytest.mark.parametrize(
        ("size", "expected"),
        [((2200, 2200), (2200, 2200)), ((4400, 1100), (2200, 550)), ((40, 8800), (10, 2200)), ((1, 1), (1, 1))],
    )
    def test_a_big_one_is_made_smaller(self, size: tuple[int, int], expected: tuple[int, int]) -> None:
        assert shown(packed(drawn(size, "L"), "JPEG")).size == expected
        assert shown(packed(drawn(size, "1"), "PNG")).size == expected

    def test_a_jpeg_is_scaled_while_it_is_decoded(self, monkeypatch: pytest.MonkeyPatch) -> None:
        decoded: list[tuple[int, int]] = []
        real = JpegImageFile.load

        def load(self: JpegImageFile) -> Any:
            decoded.append(self.size)
            return real(self)

        monkeypatch.setattr(JpegImageFile, "load", load)
        copy = shown(packed(drawn((9000, 6000), "L"), "JPEG"))
        # A quarter of 9000 is the smallest size of the decoder that still is at least 2200.
        assert decoded[0] == (2250, 1500)
        assert copy.size == (2200, 1467)


def png_header(width: int, height: int) -> bytes:
    """A PNG that declares a size and holds one row of nothing."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    content = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1_000))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + content


def jpeg_header(width: int, height: int, *, progressive: bool = False) -> bytes:
    """A small JPEG whose frame header declares another size."""
    data = packed(drawn(mode="L"), "JPEG", progressive=progressive)
    at = data.index(b"\xff\xc2" if progressive else b"\xff\xc0")
    return data[: at + 5] + struct.pack(">HH", height, width) + data[at + 9 :]


def archive() -> bytes:
    into = BytesIO()
    with zipfile.ZipFile(into, "w") as file:
        file.writestr("ring.jpg", packed(drawn(), "JPEG"))
    return into.getvalue()


class TestRefused:
    """InputError for what is no such picture, is broken, or declares too many pixels."""

    @pytest.mark.parametrize(
        ("data", "given"),
        [
            (archive(), "a zip archive"),
            (b"%PDF-1.7\n", "a PDF"),
            (packed(drawn(mode="P"), "GIF"), "a GIF"),
            (packed(drawn(), "TIFF"), "a TIFF"),
            (b"MM\x00*" + bytes(90), "a TIFF"),
            (packed(drawn(), "BMP"), "a BMP"),
            (bytes(4) + b"ftypheic" + bytes(90), "a HEIC or AVIF picture"),
            (b"", "an empty file"),
            (b"canary" * 500, "a file of 3,000 bytes that is no picture"),
        ],
    )
    def test_a_file_that_is_no_picture_is_called_what_it_is(self, data: bytes, given: str) -> None:
        with pytest.raises(InputError) as caught:
            pictures.shown_copy(data, "items[2].pictures[0]")
        assert str(caught.value) == (
            f"items[2].pictures[0]: '{given}' was given; wanted is a JPEG, PNG or WebP picture."
        )

    @pytest.mark.parametrize(
        ("data", "given"),
        [
            (png_header(31_623, 31_623), "a PNG of 31,623 x 31,623 pixels"),
            (png_header(2**31 - 1, 1), "a PNG of 2,147,483,647 x 1 pixels"),
            (jpeg_header(65_500, 15_268), "a JPEG of 65,500 x 15,268 pixels"),
        ],
    )
    def test_more_than_a_thousand_megapixels_are_refused_before_decoding(
        self, data: bytes, given: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(pictures, "_drawn_anew", None)  # to decode would be an error
        with pytest.raises(InputError) as caught:
            pictures.shown_copy(data, "picture")
        assert str(caught.value) == f"picture: '{given}' was given; wanted is at most 1,000 megapixels."

    @pytest.mark.parametrize("data", [png_header(200_001, 1_000), jpeg_header(20_001, 10_000, progressive=True)])
    def test_what_can_only_be_unpacked_whole_is_refused_from_200_megapixels(
        self, data: bytes, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(pictures, "_drawn_anew", None)
        with pytest.raises(InputError, match="at most 200 megapixels, or a JPEG that is not progressive"):
            pictures.shown_copy(data, "picture")

    def test_the_limit_is_ours_alone_and_no_setting_of_the_process_is_touched(self) -> None:
        before = Image.MAX_IMAGE_PIXELS
        with pytest.raises(InputError):
            pictures.shown_copy(png_header(31_623, 31_623), "picture")
        assert before == Image.MAX_IMAGE_PIXELS

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_a_picture_cut_short_anywhere_is_refused_in_one_sentence(self, kind: str) -> None:
        data = packed(drawn((300, 200)), kind)
        for kept in range(12, len(data) * 9 // 10, max(1, len(data) // 60)):
            with pytest.raises(InputError, match=r"^picture: .* wanted is a whole picture; take or save it again\.$"):
                pictures.shown_copy(data[:kept], "picture")

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_a_damaged_picture_is_shown_or_refused_and_never_more(self, kind: str) -> None:
        data = packed(drawn(), kind)
        for at in range(0, len(data), max(1, len(data) // 150)):
            changed = bytearray(data)
            changed[at] ^= 0x55
            try:
                copy, _ = pictures.shown_copy(bytes(changed), "picture")
            except InputError as error:
                said = str(error)
            else:
                said = f"picture: '{Image.open(BytesIO(copy)).format}' was given; wanted is shown."
            assert re.fullmatch(r"picture: '.*' was given; wanted is .*\.", said)

    def test_only_a_picture_brings_the_picture_library_in(self) -> None:
        # Commands that show no picture must start fast.
        lines = "import sys, ledger.vault.pictures; sys.exit('PIL' in sys.modules)"
        assert os.spawnv(os.P_WAIT, sys.executable, [sys.executable, "-c", lines]) == 0
