"""Proof files: every place of a book, and every lie by name."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import proof_files, seals, tree
from tests.chain_book import ORIGIN, key, public, small_book
from tests.lies.cases import vectors

LIES = vectors("proof_file")
BOOK = small_book()
KEY = seals.read_vkey(seals.vkey(ORIGIN, public(key())))


def proof(index: int, size: int, extra: bytes | None = None) -> str:
    return proof_files.write(index, tree.inclusion(index, size, BOOK.node()), BOOK.seals[size], extra)


class TestProofFile:
    """Shows that one entry stands in the book of one seal. Source: C2SP tlog-proof."""

    @pytest.mark.parametrize("size", [6, 12])
    def test_every_entry_under_a_seal_has_a_proof(self, size: int) -> None:
        for index in range(size):
            checkpoint = proof_files.verify(proof(index, size), BOOK.data[index], KEY)
            assert (checkpoint.origin, checkpoint.size) == (ORIGIN, size)
            assert proof_files.verify(proof(index, size), BOOK.leaves[index], KEY) == checkpoint

    def test_the_layout_is_that_of_the_standard(self) -> None:
        lines = proof(3, 6, b"\x00").split("\n")
        assert lines[:3] == ["c2sp.org/tlog-proof@v1", "extra AA==", "index 3"]
        assert [re.fullmatch("[A-Za-z0-9+/]{43}=", line) is not None for line in lines[3:6]] == [True] * 3
        assert "\n".join(lines[6:]) == "\n" + BOOK.seals[6]

    @given(st.binary(max_size=100) | st.none(), st.integers(0, 11))
    def test_what_was_written_reads_back(self, extra: bytes | None, index: int) -> None:
        read = proof_files.read(proof(index, 12, extra))
        assert read == proof_files.ProofFile(index, tree.inclusion(index, 12, BOOK.node()), BOOK.seals[12], extra)

    @pytest.mark.parametrize("name", LIES)
    def test_each_lie_is_refused(self, name: str) -> None:
        case = LIES[name]
        known = seals.read_vkey(case["vkey"])
        if case["valid"]:
            assert proof_files.verify(case["text"], case["entry"].encode(), known).origin == ORIGIN
        else:
            with pytest.raises(seals.SealWrong):
                proof_files.verify(case["text"], case["entry"].encode(), known)

    @given(st.data())
    def test_a_changed_letter_anywhere_is_refused(self, draw: st.DataObject) -> None:
        text = proof(3, 12)
        place = draw.draw(st.integers(0, len(text) - 1))
        letter = draw.draw(st.characters().filter(lambda each: each != text[place]))
        with pytest.raises(seals.SealWrong):
            proof_files.verify(text[:place] + letter + text[place + 1 :], BOOK.data[3], KEY)

    def test_the_sentence_says_which_place_was_claimed(self) -> None:
        with pytest.raises(seals.SealWrong, match="do not lead from this entry, as number 3, to the sealed root"):
            proof_files.verify(proof(3, 12), BOOK.data[4], KEY)
