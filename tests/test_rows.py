"""A locked row opens where it was locked and nowhere else."""

import os
from collections.abc import Callable
from typing import Any

import pytest

from ledger.errors import InputError, LockedError
from ledger.vault import pictures, rows
from ledger.vault.locks import bound, open_locked

KEY, OTHER_KEY = bytes(range(32)), bytes(range(1, 33))
NONCE = bytes(range(12))
ROW: dict[str, Any] = {"book": "counterfoil/" + "0" * 32, "seq": 7, "cls": "seller", "subject": "slip/1f"}
TEXT: dict[str, Any] = {"book": ROW["book"], "subject": "slip/1f", "cls": "draft", "id": "text"}
DISCLOSURES = ["WyJhIiwic2VsbGVyL25hbWUiLCJBZGEiXQ", "WyJiIiwic2VsbGVyL2JpcnRoX2RhdGUiLCIxOTAxLTAxLTAxIl0"]


def _row() -> bytes:
    return rows.lock(KEY, disclosures=DISCLOSURES, nonce=NONCE, **ROW)


class TestRows:
    """One per entry x class, its disclosures joined by line feeds, bound to (format, book, seq, class, subject)."""

    def test_disclosures_come_back_word_for_word(self) -> None:
        assert rows.open_row(KEY, _row(), **ROW) == DISCLOSURES

    def test_the_bytes_are_as_published(self) -> None:
        place = bound("counterfoil-row/0", ROW["book"], 7, "seller", "slip/1f")
        assert place == f'["counterfoil-row/0","{ROW["book"]}",7,"seller","slip/1f"]'.encode()
        assert open_locked(KEY, _row(), place, "A row") == "\n".join(DISCLOSURES).encode()

    def test_names_of_parts_lie_only_inside(self) -> None:
        assert b"seller" not in _row()
        assert DISCLOSURES[0].encode() not in _row()

    @pytest.mark.parametrize("wrong", [[], [""], ["a", ""], ["a\nb"]])
    def test_what_would_not_come_back_is_refused(self, wrong: list[str]) -> None:
        with pytest.raises(InputError, match="at least one, none empty and none with a line feed"):
            rows.lock(KEY, disclosures=wrong, nonce=NONCE, **ROW)


def _open_row(data: bytes, key: bytes = KEY, **changed: Any) -> Any:
    return rows.open_row(key, data, **(ROW | changed))


def _open_text(data: bytes, key: bytes = KEY, **changed: Any) -> Any:
    return rows.open_text(key, data, **(TEXT | changed))


class TestMoved:
    """Moved to another row, picture, person, class, epoch or book, they stay shut."""

    @pytest.mark.parametrize(
        "changed",
        [
            {"book": "counterfoil/" + "0" * 31 + "1"},
            {"seq": 8},
            {"seq": -7},
            {"cls": "item"},
            {"cls": "staff"},
            {"subject": "slip/2f"},
            {"subject": "lot/1f"},
            {"cls": "slip/1f", "subject": "seller"},
            {"key": OTHER_KEY},
        ],
    )
    def test_a_row_stays_shut(self, changed: dict[str, Any]) -> None:
        with pytest.raises(LockedError, match="row of entry"):
            _open_row(_row(), **changed)

    @pytest.mark.parametrize(
        "changed",
        [
            {"book": "counterfoil/" + "1" * 32},
            {"subject": "slip/2f"},
            {"cls": "seller"},
            {"id": "text2"},
            {"subject": "text", "id": "slip/1f"},
            {"key": OTHER_KEY},
        ],
    )
    def test_a_draft_stays_shut(self, changed: dict[str, Any]) -> None:
        locked = rows.lock_text(KEY, text="half a slip", nonce=NONCE, **TEXT)
        with pytest.raises(LockedError, match="The text of"):
            _open_text(locked, **changed)

    def test_nothing_passes_for_a_thing_of_another_kind(self, tmp_path: Any) -> None:
        one = ROW | {"cls": "draft", "seq": 1}
        row = rows.lock(KEY, disclosures=["x"], nonce=NONCE, **one)
        text = rows.lock_text(KEY, text="x", nonce=NONCE, **(TEXT | {"id": "1"}))
        digest = pictures.lock(
            tmp_path, KEY, b"x", book=ROW["book"], subject="slip/1f", cls="draft", picture_id="1", nonce=NONCE
        )
        picture = (tmp_path / "pictures" / digest[:2] / digest).read_bytes()
        opened: list[tuple[Callable[[bytes], Any], bytes]] = [
            (lambda data: rows.open_row(KEY, data, **one), row),
            (lambda data: _open_text(data, id="1"), text),
        ]
        for opens, own in opened:
            opens(own)
            for other in {row, text, picture} - {own}:
                with pytest.raises(LockedError):
                    opens(other)


class TestEveryBit:
    """LockedError when key, place or a bit differs."""

    def test_any_flipped_bit_of_a_row_is_found(self) -> None:
        for at in range(len(_row())):
            changed = bytearray(_row())
            changed[at] ^= 1 << at % 8
            with pytest.raises(LockedError):
                _open_row(bytes(changed))

    def test_any_flipped_bit_of_a_draft_is_found(self) -> None:
        locked = rows.lock_text(KEY, text="half a slip", nonce=NONCE, **TEXT)
        for at in range(len(locked)):
            changed = bytearray(locked)
            changed[at] ^= 0x80 >> at % 8
            with pytest.raises(LockedError):
                _open_text(bytes(changed))

    def test_an_error_says_nothing_of_what_is_inside(self) -> None:
        with pytest.raises(LockedError) as caught:
            _open_row(_row(), seq=9)
        for secret in (DISCLOSURES[0], KEY.hex(), repr(KEY)):
            assert secret not in f"{caught.value} {caught.value!r}"


class TestDrafts:
    """A draft's text; a fresh nonce also when the draft is saved again."""

    @pytest.mark.parametrize("text", ["", "Zażółć gęślą jaźń\n金\U0001f48d"])
    def test_text_comes_back_letter_for_letter(self, text: str) -> None:
        assert _open_text(rows.lock_text(KEY, text=text, nonce=NONCE, **TEXT)) == text

    def test_half_a_character_is_refused_without_being_repeated(self) -> None:
        with pytest.raises(InputError) as caught:
            rows.lock_text(KEY, text="canary\ud800", nonce=NONCE, **TEXT)
        assert "canary" not in str(caught.value)


class TestNonces:
    """Random 96-bit nonce: the chance is the caller's, the place in the bytes is ours."""

    def test_a_hundred_thousand_nonces_of_the_system_are_all_different(self) -> None:
        # NIST SP 800-38D, section 8.3 allows 2^32 random nonces a key; 100,000 of 96 bits collide with p = 6e-20.
        locked = (rows.lock(KEY, disclosures=["x"], nonce=os.urandom(12), **ROW)[:12] for _ in range(100_000))
        assert len(set(locked)) == 100_000
