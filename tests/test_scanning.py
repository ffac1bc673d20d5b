"""Documents read for a slip, and what strangers' bytes do to it."""

import io
import struct
import zlib
from datetime import date

import pytest
from PIL import Image

from ledger.acts import scanning
from ledger.errors import InputError
from tests.test_wedge import CARD
from tests.test_zone import SPECIMENS

TODAY = date(2026, 11, 25)


def png(width: int, height: int, data: bytes = b"") -> bytes:
    """A PNG whose header declares any size. Source: PNG, third edition, sections 5.3 and 11.2.1."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def jpeg(size: tuple[int, int] = (400, 300)) -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", size, "white").save(kept, "JPEG")
    return kept.getvalue()


HOSTILE = {
    "an SVG": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "a page that is called a picture": b"<!doctype html><script>alert(1)</script>",
    "a GIF with a JPEG behind it": b"GIF89a" + jpeg(),
    "a HEIC": bytes(4) + b"ftypheic" + bytes(90),
    "a PNG of 300 megapixels": png(20_000, 15_000),
    "a PNG that unpacks without an end": png(14_000, 14_000, zlib.compress(bytes(1_000_000), 9)),
    "a JPEG that breaks off": jpeg((3000, 2000))[:400],
    "nothing": b"",
}


class TestReading:
    """A scan, a photograph or typed lines become members of a party."""

    def test_a_scan_names_how_it_was_read(self) -> None:
        found = scanning.of_scanner("xx" + CARD, field="scan")
        assert (found.how, found.party["documents"][0]["number"]) == ("barcode", "T64235789")

    def test_every_slip_of_the_finger_is_named_by_line_and_field(self) -> None:
        first, second = SPECIMENS[0][1]
        wrong = second.replace("740812", "740813").replace("120415", "120416")
        with pytest.raises(scanning.NotRead) as fault:
            scanning.of_lines([first, wrong], today=TODAY, field="lines")
        assert "Line 2: the check digit of the birth date" in fault.value.why
        assert "Line 2: the check digit of the expiry date" in fault.value.why

    def test_a_photograph_without_a_code_says_what_to_do(self) -> None:
        with pytest.raises(scanning.NotRead) as fault:
            scanning.of_photograph(jpeg(), field="picture")
        assert "take it closer" in fault.value.why

    @pytest.mark.parametrize("what", HOSTILE)
    def test_hostile_bytes_are_refused_in_one_sentence(self, what: str) -> None:
        with pytest.raises(InputError) as fault:
            scanning.of_photograph(HOSTILE[what], field="picture")
        assert str(fault.value).count("\n") == 0
        assert "script" not in str(fault.value)
