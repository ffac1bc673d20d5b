"""The files themselves: the same bytes every time, sound, all fonts inside, codes that a scanner reads back."""

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from ledger.chain import seals
from ledger.errors import InputError
from reports import codes, label, page, purchase, stub
from tests import paper_samples as samples
from tests.paper_tools import NAMES, PAPERS, codes_in, drawn, pages_of, pictures_of, told

GOLDEN = Path(__file__).parent / "golden"


def words_by_line(text: str) -> list[list[str]]:
    """Lines without their spacing, which differs between releases of poppler."""
    return [words for line in text.splitlines() if (words := line.split())]


class TestSameBytes:
    """Deterministic bytes, dated by the record."""

    def test_in_another_process_with_other_chance_zone_and_epoch(self) -> None:
        program = (
            "import json; from hashlib import sha256; from tests.paper_tools import PAPERS;"
            "print(json.dumps({name: sha256(PAPERS[name]()).hexdigest() for name in reversed(PAPERS)}))"
        )
        odd = {"PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo", "SOURCE_DATE_EPOCH": "86400"}
        ended = subprocess.run(
            [sys.executable, "-c", program],
            cwd=Path(__file__).parent.parent,
            env={**os.environ, **odd},
            capture_output=True,
            text=True,
            check=True,
        )
        assert json.loads(ended.stdout) == {name: sha256(drawn(name)).hexdigest() for name in NAMES}

    def test_when_drawn_again_after_other_papers(self) -> None:
        shop = replace(samples.imprint(), shop="Gold Łódź Χρυσός Ювелир זהב 金")
        first = stub.draw(replace(samples.stub(), imprint=shop))
        for draw in PAPERS.values():
            draw()
        assert stub.draw(replace(samples.stub(), imprint=shop)) == first

    def test_when_several_threads_draw_at_once(self) -> None:
        shops = ["王小明", "田中さくら", "김철수", "Zoë"] * 2
        papers = [replace(samples.stub(), imprint=replace(samples.imprint(), shop=shop)) for shop in shops]
        with ThreadPoolExecutor(4) as pool:
            assert list(pool.map(stub.draw, papers)) == [stub.draw(paper) for paper in papers]

    def test_another_moment_gives_another_file_with_that_date(self) -> None:
        later = replace(samples.imprint(), at=samples.AT + timedelta(days=1))
        pdf = stub.draw(replace(samples.stub(), imprint=later))
        assert pdf != stub.draw(samples.stub())
        information = PdfReader(BytesIO(pdf)).metadata
        assert information is not None
        assert information.creation_date == datetime(2031, 3, 5, 15, 15, tzinfo=UTC)


class TestMetadata:
    """PDF metadata has no personal data."""

    @pytest.mark.parametrize("name", NAMES)
    def test_holds_a_neutral_title_and_the_records_date_only(self, name: str) -> None:
        reader = PdfReader(BytesIO(drawn(name)))
        assert reader.metadata is not None
        held = {key: str(value) for key, value in reader.metadata.items()}
        assert held.pop("/CreationDate") == held.pop("/ModDate") == "D:20310304151500+00'00'"
        assert held.pop("/Creator") == "counterfoil"
        assert held.pop("/Title").split()[0] in {
            "Stub",
            "Purchase",
            "Bag",
            "Day",
            "Report",
            "Nil",
            "Hold",
            "Dossier",
            "Slip",
            "Answer",
            "Receipt:",
            "For",
            "Shelf",
            "Inspection",
        }
        assert {key for key, value in held.items() if value} <= {"/Producer", "/Keywords", "/Trapped"}
        assert "ReportLab" in held["/Producer"]
        assert reader.xmp_metadata is None
        assert b"/Lang (en)" in drawn(name)

    def test_the_title_of_a_purchase_report_is_its_number(self) -> None:
        information = PdfReader(BytesIO(drawn("purchase-report"))).metadata
        assert information is not None
        assert information.title == "Purchase report 12"

    def test_no_part_of_a_seller_stands_outside_the_pages(self) -> None:
        for field in samples.purchase().fields:
            if field.value:
                assert field.value.encode("utf-16-be") not in drawn("purchase-report")
                assert field.value.encode() not in drawn("purchase-report")


class TestOtherPrograms:
    @pytest.mark.parametrize("name", NAMES)
    def test_qpdf_finds_no_fault(self, name: str, tmp_path: Path) -> None:
        assert "No syntax or stream encoding errors" in told(drawn(name), tmp_path, "qpdf", "--check", "PDF")

    @pytest.mark.parametrize("name", NAMES)
    def test_every_font_is_embedded_and_named_once(self, name: str, tmp_path: Path) -> None:
        lines = told(drawn(name), tmp_path, "pdffonts", "PDF").splitlines()[2:]
        assert lines
        assert all(line.split()[-5] == "yes" for line in lines)
        names = [line.split()[0] for line in lines]
        assert len(names) == len(set(names))

    @pytest.mark.parametrize("name", NAMES)
    def test_reads_as_the_golden_text(self, name: str, tmp_path: Path) -> None:
        # Made anew with `python -m tests.make_golden` after a look at the papers.
        text = told(drawn(name), tmp_path, "pdftotext", "-layout", "PDF", "-")
        golden = (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")
        assert words_by_line(text) == words_by_line(golden)

    def test_every_golden_text_belongs_to_a_paper(self) -> None:
        assert sorted(file.stem for file in GOLDEN.glob("*.txt")) == sorted(NAMES)


class TestCodes:
    """Barcode readable at 150 dpi; the QR holds the whole seal."""

    @pytest.mark.parametrize("name", [name for name in NAMES if name != "bag-label"])
    def test_every_page_holds_the_whole_seal(self, name: str, tmp_path: Path) -> None:
        pictures = pictures_of(drawn(name), tmp_path, "-r", "150", "-gray")
        assert len(pictures) == len(pages_of(drawn(name)))
        for picture in pictures:
            assert codes_in(picture) == {"QRCode": samples.SEAL_NOTE}

    def test_the_seal_read_from_a_stub_verifies(self, tmp_path: Path) -> None:
        read = codes_in(pictures_of(drawn("stub"), tmp_path, "-r", "150", "-gray")[0])["QRCode"]
        key = seals.read_vkey(seals.vkey(samples.BOOK, samples.PUBLIC))
        checkpoint = seals.verify_seal(read, key)
        assert seals.short_form(checkpoint.size, checkpoint.root) == samples.SEAL_SHORT

    def test_the_seal_is_read_from_a_fine_fax(self, tmp_path: Path) -> None:
        # Source: ITU-T T.4, fine resolution: 204 dots an inch across, 196 down, black or white only.
        picture = pictures_of(drawn("stub"), tmp_path, "-rx", "204", "-ry", "196", "-mono")[0]
        assert codes_in(picture) == {"QRCode": samples.SEAL_NOTE}

    @pytest.mark.parametrize("item", ["1/1", "12/1", "999999/100.12"])
    def test_a_label_is_read_at_150_dpi(self, item: str, tmp_path: Path) -> None:
        pdf = label.draw([replace(samples.label(), item=item)])
        assert codes_in(pictures_of(pdf, tmp_path, "-r", "150", "-gray")[0]) == {
            "Code128": item,
            "QRCode": f"{samples.BOOK} item/{item} {samples.SEAL_SHORT}",
        }

    def test_a_long_seal_with_co_signers_still_fits_and_reads(self, tmp_path: Path) -> None:
        note = samples.SEAL_NOTE + "".join(f"— co-signer.example/{n} {'QUJD' * 24}\n" for n in range(4))
        pdf = stub.draw(replace(samples.stub(), imprint=replace(samples.imprint(), seal_note=note)))
        assert codes_in(pictures_of(pdf, tmp_path, "-r", "150", "-gray")[0]) == {"QRCode": note}

    def test_text_too_long_for_a_camera_is_refused(self) -> None:
        with pytest.raises(InputError, match="at most 1,200 bytes"):
            codes.modules("x" * 1201)


class TestSheets:
    @pytest.mark.parametrize(("sheet", "size"), [("a4", (595.28, 841.89)), ("letter", (612.0, 792.0))])
    def test_come_as_a4_and_us_letter(self, sheet: str, size: tuple[float, float]) -> None:
        box = PdfReader(BytesIO(purchase.draw(samples.purchase(), sheet))).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size)

    def test_no_other_sheet_is_known(self) -> None:
        with pytest.raises(InputError, match="'a5' was given; wanted is 'a4' or 'letter'"):
            stub.draw(samples.stub(), "a5")

    def test_moments_are_written_with_their_zone(self) -> None:
        assert page.moment(samples.AT) == "Tue 4 Mar 2031 10:15 America/New_York"
        assert page.moment(datetime(2031, 3, 4, 9, 5, tzinfo=timezone(timedelta(hours=-5)))) == (
            "Tue 4 Mar 2031 09:05 UTC-0500"
        )
