"""slip scan: a barcode or the lines of a passport become a slip's party; nothing is kept."""

import json
from pathlib import Path

import pytest

from tests.test_barcodes import photograph
from tests.till import Till

FOLDER = Path(__file__).parent / "vectors" / "identity"
LICENCE = bytes.fromhex(json.loads((FOLDER / "licences.json").read_text())["examples"][2]["payload_hex"])
SPECIMENS = json.loads((FOLDER / "zones.json").read_text())["specimens"]


class TestScan:
    """What was read, what to type, what to compare."""

    def test_a_licence_becomes_a_party(self, till: Till) -> None:
        found = till.answer("slip", "scan", till.keep("scan.txt", LICENCE), unlocked=False, book=False)
        assert found["party"]["name"]["family"] == "SAMPLE"
        assert found["party"]["documents"][0]["how_read"] == "barcode"
        shown = till.run("slip", "scan", till.keep("scan.txt", LICENCE), unlocked=False, book=False)
        assert "2300 WEST BROAD STREET, RICHMOND, VA, 23269, US" in shown.stdout
        assert "compare it with the person" in shown.stdout

    @pytest.mark.parametrize("number", [0, 1, 2])
    def test_typed_lines_become_a_party(self, till: Till, number: int) -> None:
        lines = "\n".join(SPECIMENS[number]["lines"])
        words = ("slip", "scan", "-", "--today", "2026-11-24")
        found = till.answer(*words, stdin=lines, unlocked=False, book=False)
        assert found["party"]["birth_date"] == "1974-08-12"
        assert found["party"]["name"] == {"family": "ERIKSSON", "given": "ANNA MARIA"}
        assert found["party"]["documents"][0]["expires"] == "2012-04-15"
        assert "as it is printed" in found["warnings"][0]
        assert till.run("slip", "scan", "-", stdin=lines, unlocked=False, book=False).exit_code == 0

    def test_a_birth_day_that_the_lines_lack_is_to_be_typed(self, till: Till) -> None:
        first, second = SPECIMENS[4]["lines"]
        # The check digit of 40<<<< is 8: 7 times 4, 3 times 0, and < weighs nothing.
        lines = f"{first}\n{second[:13]}40<<<<8{second[20:]}"
        found = till.answer("slip", "scan", "-", stdin=lines, unlocked=False, book=False)
        assert found["to_type"] == ["birth date: the lines do not give the whole of it"]
        assert "birth_date" not in found["party"]

    @pytest.mark.parametrize("data", [b"", b"hello", b"\xff\x00"])
    def test_anything_else_ends_with_2_in_one_sentence(self, till: Till, data: bytes) -> None:
        done = till.run("slip", "scan", till.keep("scan.bin", data), unlocked=False, book=False)
        assert done.exit_code == 2
        assert done.stderr.count("\n") == 1

    def test_a_slip_of_the_finger_names_the_check_digit(self, till: Till) -> None:
        first, second = SPECIMENS[0]["lines"]
        lines = f"{first}\n{second.replace('740812', '740813')}"
        done = till.run("slip", "scan", "-", stdin=lines, unlocked=False, book=False)
        assert done.exit_code == 2
        assert "check digit of the birth date" in done.stderr

    def test_a_photograph_of_the_barcode_is_read(self, till: Till) -> None:
        shown = till.keep("back.jpg", photograph(6, 1.0, 4, "dim"))
        found = till.answer("slip", "scan", shown, unlocked=False, book=False)
        assert found["party"]["name"]["family"] == "SAMPLE"

    def test_a_day_that_is_none_is_refused(self, till: Till) -> None:
        done = till.run(
            "slip", "scan", "-", "--today", "soon", stdin="\n".join(SPECIMENS[0]["lines"]), unlocked=False, book=False
        )
        assert done.exit_code == 2
