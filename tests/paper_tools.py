"""What the tests of the papers look at papers with: text, pictures, barcodes, other programs."""

import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from reports import (
    answered,
    authority,
    custody,
    day_sheet,
    declaration,
    dossier,
    hold_list,
    inspection,
    label,
    purchase,
    stub,
)
from tests import authority_samples
from tests import paper_samples as samples

PAPERS: dict[str, Callable[[], bytes]] = {
    "stub": lambda: stub.draw(samples.stub()),
    "purchase-report": lambda: purchase.draw(samples.purchase()),
    "bag-label": lambda: label.draw([samples.label()]),
    "day-sheet": lambda: day_sheet.draw(samples.day_sheet()),
    "weekly-report": lambda: authority.draw_weekly(samples.weekly()),
    "nil-report": lambda: authority.draw_nil(samples.nil()),
    "hold-list": lambda: hold_list.draw(samples.hold_list()),
    "dossier": lambda: dossier.draw(samples.dossier()),
    "slip-for-signature": lambda: declaration.draw(samples.slip_page()),
    "answer-to-a-request": lambda: answered.draw(authority_samples.answer()),
    "receipt-for-goods": lambda: custody.draw(authority_samples.receipt()),
    "for-inspection": lambda: inspection.draw(authority_samples.shown()),
    "shelf-check": lambda: inspection.draw_shelf(authority_samples.shelf()),
    "inspection": lambda: inspection.draw_findings(authority_samples.findings()),
}
NAMES = list(PAPERS)


@cache
def drawn(name: str) -> bytes:
    """One of the sample papers, drawn once for all tests."""
    return PAPERS[name]()


@cache
def pages_of(pdf: bytes) -> list[str]:
    """The text of each page."""
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


def text_of(pdf: bytes) -> str:
    """All text as one line, so that a wrapped sentence is found whole."""
    return " ".join(" ".join(pages_of(pdf)).split())


def program(name: str) -> str:
    """Where another program lies. Skips the test where it is not installed (with COUNTERFOIL_CI=1 that fails)."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed; Debian has it in poppler-utils (pdf...) or qpdf")
    return found


def told(pdf: bytes, folder: Path, *command: str) -> str:
    """What a program prints about the paper; `PDF` in the command stands for its file. It must end with 0."""
    file = folder / "paper.pdf"
    file.write_bytes(pdf)
    words = [program(command[0]), *(str(file) if word == "PDF" else word for word in command[1:])]
    ended = subprocess.run(words, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, f"{' '.join(command)}: {ended.stdout}{ended.stderr}"
    return ended.stdout


def pictures_of(pdf: bytes, folder: Path, *how: str) -> list[Image.Image]:
    """Each page as a picture. how: options of pdftoppm, such as "-r", "150"."""
    told(pdf, folder, "pdftoppm", *how, "PDF", str(folder / "page"))
    return [Image.open(file) for file in sorted(folder.glob("page*.p[bg]m"))]


def codes_in(picture: Image.Image) -> dict[str, str]:
    """Kind and text of every barcode that zxing-cpp reads in a picture."""
    return {str(code.format).replace(" ", ""): code.text for code in zxingcpp.read_barcodes(picture.convert("L"))}
