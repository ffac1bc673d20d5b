"""What one button of the slip page does to the form's fields."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.slip import editing
from ledger.slip.editing import applied, followed, read_lines, usual

TWO = {"items.0.article": "ring", "items.1.article": "chain", "ui.line.0": "ring", "ui.line.1": "chain", "staff": "ada"}


class TestRows:
    """ "A row more or less, an item moved up." """

    def test_one_more_item_is_asked_for_and_its_line_is_next(self) -> None:
        after, place = applied(TWO, "add:items")
        assert (after["ui.items"], place) == ("3", "ui.line.2")

    def test_an_item_goes_with_its_line_and_the_next_moves_up(self) -> None:
        after, place = applied(TWO, "remove:items.0")
        assert after == {"items.0.article": "chain", "ui.line.0": "chain", "staff": "ada", "ui.items": "1"}
        assert place == "ui.line.0"

    def test_an_item_changes_places_with_the_one_before(self) -> None:
        after, place = applied(TWO, "up:items.1")
        assert (after["items.0.article"], after["ui.line.1"], place) == ("chain", "ring", "ui.line.0")

    def test_the_first_item_stays_where_it_is(self) -> None:
        assert applied(TWO, "up:items.0")[0] == TWO

    def test_the_last_item_leaves_a_blank_line(self) -> None:
        assert editing.items_shown(applied({"items.0.article": "ring"}, "remove:items.0")[0]) == 1

    def test_a_row_of_a_list_inside_an_item_goes(self) -> None:
        fields = {"items.0.marks.0.text": "14K", "items.0.marks.1.text": "QZX", "items.1.marks.0.text": "375"}
        after, place = applied(fields, "remove:items.0.marks.0")
        assert after == {"items.0.marks.0.text": "QZX", "items.1.marks.0.text": "375"}
        assert place == "items.0.marks.0"

    def test_one_more_mark_ends_the_word_that_there_is_none(self) -> None:
        after, place = applied({"items.0.marks.none": "yes"}, "add:items.0.marks")
        assert (after, place) == ({}, "items.0.marks.0")

    def test_a_test_of_the_kind_chosen_is_added_with_what_is_known_of_it(self) -> None:
        after, place = applied({"ui.test.0": "magnet"}, "add:items.0.evidence", test=lambda kind: {"by": f"ada {kind}"})
        assert after == {"items.0.evidence.0.test": "magnet", "items.0.evidence.0.by": "ada magnet"}
        assert place == "items.0.evidence.0"

    def test_a_test_without_a_kind_is_not_added(self) -> None:
        assert applied({}, "add:items.0.evidence")[0] == {}

    @pytest.mark.parametrize(
        "do",
        [
            "save",
            "",
            "add:",
            "add:../x",
            "remove:items",
            "remove:items.99999",
            "up:items.x",
            "read:payout.0",
            "read:items",
        ],
    )
    def test_anything_else_changes_nothing(self, do: str) -> None:
        assert applied(TWO, do) == (TWO, "")

    @given(st.text(max_size=30), st.dictionaries(st.text(max_size=20), st.text(max_size=5), max_size=6))
    def test_no_button_is_an_error(self, do: str, fields: dict[str, str]) -> None:
        applied(fields, do)


class TestLines:
    """ "Nothing typed by hand is written over." """

    LINE = {"ui.line.0": "ring yg mk 14K scr"}  # noqa: RUF012

    def test_reading_goes_on_at_the_next_line_and_after_the_last_at_the_first_conclusion(self) -> None:
        assert applied({**self.LINE, "ui.items": "2"}, "read:items.0")[1] == "ui.line.1"
        assert applied(self.LINE, "read:items.0")[1] == "items.0.conclusion.agrees"

    def test_a_line_that_was_read_is_not_read_again(self) -> None:
        once = read_lines(self.LINE)
        once["items.0.damage"] = "scratched deep"
        assert read_lines(once) == once

    def test_a_changed_line_takes_back_what_it_said_before(self) -> None:
        after = read_lines({**read_lines(self.LINE), "ui.line.0": "ring wg"})
        assert (after["items.0.metal_colour"], "items.0.damage" in after) == ("white", False)

    def test_a_line_that_is_emptied_takes_everything_back(self) -> None:
        assert read_lines({**read_lines(self.LINE), "ui.line.0": ""}) == {"ui.line.0": ""}

    def test_what_a_hand_changed_stays(self) -> None:
        once = read_lines(self.LINE) | {"items.0.metal_colour": "rose", "ui.line.0": "ring wg"}
        assert read_lines(once)["items.0.metal_colour"] == "rose"

    def test_a_mark_of_the_line_stands_behind_one_of_the_hand(self) -> None:
        after = read_lines({"items.0.marks.0.text": "QZX", **self.LINE})
        assert (after["items.0.marks.0.text"], after["items.0.marks.1.text"]) == ("QZX", "14K")

    def test_words_not_understood_stay_in_the_line_and_are_told(self) -> None:
        after = read_lines({"ui.line.0": "ring frob"})
        assert after["ui.line.0"] == "ring frob"
        assert [left.word for left in editing.left(after, 0)] == ["frob"]

    def test_a_weight_without_unit_is_in_the_unit_of_the_session(self) -> None:
        after = read_lines({"ui.unit": "dwt", "ui.line.0": "ring 3.25"})
        assert after["items.0.weighings.0.unit"] == "dwt"


class TestUsual:
    """ "Defaults that save keys without inventing facts." """

    def test_a_figure_of_the_scale_is_gross_and_in_its_unit(self) -> None:
        after = usual({"items.0.weighings.0.value": "4.2", "ui.unit": "dwt", "ui.scale": "scale-1"})
        begin = "items.0.weighings.0"
        assert {after[f"{begin}.what"], after[f"{begin}.unit"], after[f"{begin}.scale"]} == {"gross", "dwt", "scale-1"}

    def test_what_somebody_said_stays(self) -> None:
        assert (
            usual({"items.0.weighings.0.value": "1", "items.0.weighings.0.what": "net"})["items.0.weighings.0.what"]
            == "net"
        )

    def test_an_article_is_single_until_somebody_says_otherwise(self) -> None:
        assert usual({"items.0.article": "ring"})["items.0.pieces"] == "1"

    def test_an_offer_is_in_the_currency_of_the_session(self) -> None:
        assert usual({"items.0.offer.amount": "5", "ui.currency": "USD"})["items.0.offer.currency"] == "USD"

    def test_a_blank_figure_brings_nothing(self) -> None:
        assert usual({"items.0.weighings.0.value": ""}) == {"items.0.weighings.0.value": ""}


class TestFollowing:
    """ "Amount = total by default", until a hand writes another."""

    def test_the_amount_follows_the_offers(self) -> None:
        once = followed({}, "payout.amount", "60")
        assert followed(once, "payout.amount", "72")["payout.amount"] == "72"

    def test_a_hand_that_wrote_another_is_not_overruled(self) -> None:
        once = followed({}, "payout.amount", "60") | {"payout.amount": "50"}
        assert followed(once, "payout.amount", "72")["payout.amount"] == "50"

    def test_nothing_to_follow_leaves_nothing(self) -> None:
        assert followed(followed({}, "payout.amount", "60"), "payout.amount", "") == {}
