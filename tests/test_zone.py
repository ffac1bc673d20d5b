"""The machine-readable zone, held against the specimens and check digits of ICAO Doc 9303."""

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.identity import zone

VECTORS = json.loads((Path(__file__).parent / "vectors" / "identity" / "zones.json").read_text())
SPECIMENS = [(one["type"], one["lines"], one["fields"]) for one in VECTORS["specimens"]]
_MEMBERS = {
    "surname": "family",
    "given": "given",
    "number": "number",
    "birth": "birth",
    "sex": "sex",
    "expiry": "expiry",
}


class TestSpecimens:
    """The specimens of the fictional State of Utopia."""

    @pytest.mark.parametrize("row", VECTORS["check_digits"])
    def test_check_digits(self, row: dict[str, str]) -> None:
        assert zone.check_digit(row["in"]) == row["cd"]

    @pytest.mark.parametrize(("form", "lines", "fields"), SPECIMENS)
    def test_every_specimen_is_read_without_a_fault(self, form: str, lines: list[str], fields: dict[str, str]) -> None:
        found = zone.read(lines)
        assert (found.form, found.faults) == (form, ())
        for name, member in _MEMBERS.items():
            if name in fields:
                assert getattr(found, member) == fields[name], name
        for name in ("issuer", "nationality", "code"):
            if name in fields:
                assert getattr(found, name) == fields[name]

    def test_spaces_and_small_letters_do_not_count(self) -> None:
        _, lines, _ = SPECIMENS[0]
        assert zone.read([f" {line.lower()} " for line in lines]) == zone.read(lines)

    def test_the_kind_of_document(self) -> None:
        kinds = [zone.read(lines).document_type for _, lines, _ in SPECIMENS[:4]]
        assert kinds == ["passport", "identity-card", "identity-card", "travel-document"]


class TestSlips:
    """A slip of the finger is found wherever a check digit covers it."""

    @pytest.mark.parametrize(("form", "lines", "fields"), SPECIMENS)
    def test_every_single_wrong_character_under_a_check_digit_is_found(
        self, form: str, lines: list[str], fields: dict[str, str]
    ) -> None:
        covered, found, missed = 0, 0, []
        for row, line in enumerate(lines):
            for at, letter in enumerate(line):
                if not _is_covered(form, row, at):
                    continue
                for other in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ<":
                    if other == letter or _weighs(other) == _weighs(letter):
                        continue  # the sum of weights cannot tell them apart: A and K, 0 and <
                    covered += 1
                    typed = [*lines[:row], line[:at] + other + line[at + 1 :], *lines[row + 1 :]]
                    if zone.read(typed).faults:
                        found += 1
                    else:
                        missed.append((row, at, letter, other))
        assert found == covered, missed[:5]

    def test_a_mistaken_letter_is_named(self) -> None:
        _, (first, second), _ = SPECIMENS[0]
        typed = second.replace("L898902C3", "L8989O2C3", 1)
        assert "is O perhaps 0" in zone.read([first, typed]).faults[0]
        assert "one character is wrong" in zone.read([first, second.replace("L898902C3", "L998902C3", 1)]).faults[0]

    @pytest.mark.parametrize("lines", [[], ["P<UTO"], ["A" * 44], ["A" * 44, "B" * 36], ["A" * 43 + "*", "B" * 44]])
    def test_what_is_no_zone_is_one_sentence(self, lines: list[str]) -> None:
        found = zone.read(lines)
        assert len(found.faults) == 1
        assert found.form == ""

    @given(st.lists(st.text(alphabet="ABCZ0189<", min_size=30, max_size=44), min_size=1, max_size=3))
    def test_any_lines_are_read_or_refused(self, lines: list[str]) -> None:
        assert isinstance(zone.read(lines).faults, tuple)


def _weighs(letter: str) -> int:
    return 0 if letter == "<" else int(letter, 36) % 10


def _is_covered(form: str, row: int, at: int) -> bool:
    """Whether a check digit covers the character, and reading does not change with it."""
    if form == "TD3":
        return row == 1 and (at < 10 or 13 <= at < 20 or 21 <= at < 43)
    if form == "TD2":
        return row == 1 and (at < 9 or 13 <= at < 20 or 21 <= at < 28)
    if form == "TD1":
        return (row == 0 and 5 <= at < 14) or (row == 1 and (at < 7 or 8 <= at < 15))
    return row == 1 and (at < 10 or 13 <= at < 20 or 21 <= at < 28)


class TestDates:
    """Two digits of a year are read as the birth or the document lets them be."""

    def test_a_birth_is_never_ahead(self) -> None:
        found = zone.read(SPECIMENS[0][1])
        assert found.birth_date(date(2026, 11, 25)) == date(1974, 8, 12)
        assert found.birth_date(date(2073, 1, 1)) == date(1974 if 2073 < 2074 else 2074, 8, 12).replace(year=1974)

    def test_an_expiry_lies_within_the_life_of_a_document(self) -> None:
        assert zone.read(SPECIMENS[0][1]).expires(date(2026, 11, 25)) == date(2012, 4, 15)

    def test_a_birth_day_that_is_not_known_is_none(self) -> None:
        assert zone.Zone(birth="74<<<<").birth_date(date(2026, 1, 1)) is None
        assert zone.Zone(birth="741332").birth_date(date(2026, 1, 1)) is None
        assert zone.Zone(code="X").document_type == "other"
