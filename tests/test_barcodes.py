"""The barcode of a licence found in a photograph.

The code is written by zxing-cpp from the example payload of AAMVA's standard; the photographs are made here: a card on
a table, turned, blurred, in three lights, with the noise and the compression of a camera.
"""

import io
import json
from pathlib import Path
from random import Random

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from ledger import photographs
from ledger.errors import InputError
from ledger.identity import licence
from tests.long import long_count

EXAMPLES = json.loads((Path(__file__).parent / "vectors" / "identity" / "licences.json").read_text())["examples"]
PAYLOAD = bytes.fromhex(EXAMPLES[2]["payload_hex"])
LIGHTS = ("even", "dim", "from the side")


def card(scale: int = 5) -> Image.Image:
    """The back of a card with the code at its foot."""
    code = zxingcpp.create_barcode(PAYLOAD, zxingcpp.BarcodeFormat.PDF417)
    printed = Image.fromarray(np.array(code.to_image(scale=scale))).convert("L")
    made = Image.new("L", (printed.width + 160, int((printed.width + 160) * 0.63)), 230)
    made.paste(printed, (80, made.height - printed.height - 60))
    return made


CARD = card()


def photograph(angle: float, blur: float, noise: float, light: str, seed: int = 1) -> bytes:
    """A JPEG of the card on a table. angle: degrees; blur: pixels; noise: grey levels."""
    chance = np.random.default_rng(seed)
    table = Image.fromarray(chance.integers(90, 150, (1080, 1920), dtype=np.uint8)).filter(ImageFilter.GaussianBlur(6))
    turned = CARD.rotate(angle, Image.Resampling.BICUBIC, expand=True)
    place = ((table.width - turned.width) // 2, (table.height - turned.height) // 2)
    table.paste(turned, place, Image.new("L", CARD.size, 255).rotate(angle, expand=True))
    seen = np.asarray(table.filter(ImageFilter.GaussianBlur(blur)), dtype=float)
    if light == "dim":
        seen = seen * 0.45 + 15
    elif light == "from the side":
        seen = seen * (0.45 + 0.7 * np.linspace(0, 1, seen.shape[1]))
    seen = seen + chance.normal(0, noise, seen.shape)
    kept = io.BytesIO()
    Image.fromarray(np.clip(seen, 0, 255).astype(np.uint8)).save(kept, "JPEG", quality=85)
    return kept.getvalue()


class TestFinding:
    """Turned by up to 15 degrees, blurred, noisy, in three lights."""

    @pytest.mark.parametrize("light", LIGHTS)
    @pytest.mark.parametrize("angle", [0, 4, -9, 15])
    def test_the_code_is_read_byte_for_byte(self, angle: float, light: str) -> None:
        assert photographs.find(photograph(angle, 1.0, 4, light)) == PAYLOAD

    def test_what_was_found_is_a_licence(self) -> None:
        found = photographs.find(photograph(7, 1.0, 4, "even"))
        assert found is not None
        assert licence.read(found).party["name"]["family"] == "SAMPLE"

    def test_a_picture_without_a_code_gives_none(self) -> None:
        kept = io.BytesIO()
        Image.new("RGB", (300, 200), "white").save(kept, "PNG")
        assert photographs.find(kept.getvalue()) is None

    @pytest.mark.parametrize(
        "data", [b"", b"no picture", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"\xff\xd8\xff"]
    )
    def test_what_is_no_picture_is_refused(self, data: bytes) -> None:
        with pytest.raises(InputError, match="picture"):
            photographs.find(data)

    def test_a_picture_that_is_too_large_is_refused_before_it_is_decoded(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(photographs, "MOST_PIXELS", 10_000)
        with pytest.raises(InputError, match="megapixels"):
            photographs.find(photograph(0, 1, 1, "even"))


@long_count("barcodes", count=400)
def photographs_are_read(random: Random, count: int) -> None:
    """Of photographs turned by up to 15 degrees, blurred, noisy and in three lights, 95 in 100 are read."""
    read = sum(
        photographs.find(
            photograph(
                random.uniform(-15, 15), random.uniform(0.4, 2.2), random.uniform(0, 9), random.choice(LIGHTS), seed
            )
        )
        == PAYLOAD
        for seed in range(count)
    )
    assert read >= 0.95 * count, f"{read} of {count} were read"
