"""What scanners that type like keyboards do to a payload, held against the example of AAMVA's standard of 2020.

How scanners change a payload is common experience, no published source.
"""

import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.identity import licence, wedge

VECTORS = json.loads((Path(__file__).parent / "vectors" / "identity" / "licences.json").read_text())
CARDS = [bytes.fromhex(one["payload_hex"]).decode("latin-1") for one in VECTORS["examples"]]
CARD = CARDS[2]
WHOLE = licence.read(CARD).party
MANGLED = {
    "as it is": CARD,
    "record separators are dropped": CARD.replace("\x1e", ""),
    "every line feed is Enter": CARD.replace("\n", "\r\n"),
    "every control character is Enter": re.sub(r"[\x00-\x1f]", "\n", CARD),
    "every control character is TAB": re.sub(r"[\x00-\x1f]", "\t", CARD),
    "control characters are doubled": re.sub(r"([\x00-\x1f])", r"\1\1", CARD),
    "keys were typed before": "qq\t5" + CARD,
    "a symbology identifier stands before": "]L2" + CARD,
    "the sign before the header is missing": CARD.lstrip("@\n\x1e\r"),
    "capitals were switched on": CARD.swapcase(),
    "the trigger was pressed twice": CARD + CARD,
    "the first try was broken off": CARD[:150] + CARD,
    "Enter follows": CARD + "\r\n\r\n",
}


class TestMangled:
    """Dropped or changed control characters, Enter in mid-stream, TAB, doubled, leading keys, capitals."""

    @pytest.mark.parametrize("why", MANGLED)
    def test_the_card_is_read_all_the_same(self, why: str) -> None:
        found = wedge.read(MANGLED[why])
        assert found.party == WHOLE, why
        assert found.to_type == ()

    @pytest.mark.parametrize("card", CARDS)
    def test_every_edition_with_capitals_switched_on(self, card: str) -> None:
        assert wedge.read(card.swapcase()).party == licence.read(card).party

    def test_elements_that_run_together_are_not_guessed_at(self) -> None:
        for between in ("", " "):
            found = wedge.read(re.sub(r"[\x00-\x1f]", between, CARD))
            assert found.party == {}
            assert "control characters" in found.why_not

    def test_two_cards_in_one_box_are_not_mixed(self) -> None:
        found = wedge.read(CARD + CARDS[1])
        assert found.party == {}
        assert "Two different cards" in found.why_not

    def test_what_is_no_licence_says_so(self) -> None:
        assert "no barcode" in wedge.read("hello").why_not
        assert "cut off" in wedge.read(CARD[:150]).why_not

    @given(st.text(alphabet="ANSIansi 0123@\n\x1eDAQDBB", max_size=300))
    def test_anything_typed_is_read_or_refused(self, typed: str) -> None:
        found = wedge.read(typed)
        assert bool(found.party) != bool(found.why_not)
