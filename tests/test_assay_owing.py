"""Tests owed, what the seller allows, and what tests left on the article."""

from typing import Any

import pytest

from ledger.assay.assessments import MarkLeft
from ledger.assay.evidence_schema import CHOICES
from tests.assay_samples import Document, assess, dense, filed, owed, streak, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
LIGHT_14 = (GOLD_14, dense(18.0, 8.7))
"""What owes a notch."""


def asked(given: bool, *to: str) -> Document:
    """The seller was asked about tests that leave a mark; without names, about all of them."""
    return {"test": "consent", "given": given, **({"to": list(to)} if to else {})}


def agreed(*tests: Document, **more: Any) -> list[tuple[str, bool | None]]:
    """The tests owed and what the seller answered to each."""
    return [(each.test, each.agreed) for each in assess(*tests, marks="14K", grams=18.0, **more).owed]


class TestConsent:
    """A test that leaves a mark is owed only with the seller's consent, which is recorded with any mark left."""

    def test_nobody_was_asked(self) -> None:
        assert agreed(*LIGHT_14) == [("filed-xrf", None)]
        assert (
            assess(*LIGHT_14, marks="14K", grams=18.0)
            .headline()
            .endswith("still owed: a filed spot read by X-ray, if the seller agrees.")
        )

    @pytest.mark.parametrize("given", [True, False])
    def test_an_answer_stands_with_the_test_whether_of_the_item_or_in_the_evidence(self, given: bool) -> None:
        assert agreed(*LIGHT_14, consent=given) == [("filed-xrf", given)]
        assert agreed(*LIGHT_14, asked(given)) == [("filed-xrf", given)]
        assert agreed(*LIGHT_14, asked(given, "filed-xrf")) == [("filed-xrf", given)]
        assert agreed(*LIGHT_14, asked(given, "cut")) == [("filed-xrf", None)]

    def test_an_answer_in_the_evidence_goes_before_that_of_the_item_and_a_refusal_before_an_agreement(self) -> None:
        assert agreed(*LIGHT_14, asked(False, "filed-xrf"), consent=True) == [("filed-xrf", False)]
        for answers in ([asked(False), asked(True)], [asked(True), asked(False)]):
            assert agreed(*LIGHT_14, *answers) == [("filed-xrf", False)]

    def test_what_is_refused_is_owed_last_and_said(self) -> None:
        pull = {"test": "magnet", "pull": "weak"}
        wet = dense(18.0, 13.1, bubbles="seen")
        ring = assess(GOLD_14, wet, pull, asked(False), marks="14K", grams=18.0)
        assert owed(ring) == ["density", "filed-xrf"]
        said = [reason.text for reason in ring.reasons if reason.rule == "consent-refused"]
        assert said == ["The seller did not agree to a filed spot read by X-ray: what that would decide stays open."]
        assert (
            assess(*LIGHT_14, asked(False), marks="14K", grams=18.0)
            .headline()
            .endswith("to which the seller did not agree.")
        )

    def test_one_of_two_ways_agreed_to_is_enough_and_both_must_be_refused(self) -> None:
        charm = (GOLD_14, dense(0.8, 12.9))
        way = "filed-xrf-or-deep-streak"
        assert agreed(*charm, asked(True, "streak"), asked(False, "filed-xrf"))[0] == (way, True)
        assert agreed(*charm, asked(False, "streak"))[0] == (way, None)
        assert agreed(*charm, asked(False, "streak", "filed-xrf"))[0] == (way, False)

    def test_every_test_that_leaves_a_mark_can_be_asked_about(self) -> None:
        everything = assess(*LIGHT_14, asked(False), {"test": "cut", "shows": "filler"}, xrf(Au=917, Ir=83), grams=18.0)
        assert all(each.agreed is False for each in everything.owed if each.consent)
        assert {"filed-xrf", "streak", "cut", "stripped", "melt"} == set(CHOICES["leaves-a-mark"])


class TestMarksLeft:
    """What a test left on the article, and whether the seller agreed, stands in the assessment."""

    def test_a_notch_is_recorded_with_its_place_and_consent(self) -> None:
        notch = filed("clasp", Au=584, Cu=416) | {"consent": {"given": True, "mark_left": "a notch of 0.3 mm"}}
        ring = assess(notch | {"spot": "under the clasp"}, marks="14K", grams=5.0)
        assert ring.marks_left == (MarkLeft("filed-xrf", "under the clasp", "a notch of 0.3 mm", True),)
        assert ring.record()["marks_left"] == [
            {"test": "filed-xrf", "place": "under the clasp", "mark": "a notch of 0.3 mm", "agreed": True}
        ]
        assert [reason.text for reason in ring.reasons if reason.rule == "mark-left"] == [
            "The test filed-xrf, under the clasp left a mark on the article: a notch of 0.3 mm."
        ]
        assert "no-consent" not in ring.rules

    def test_nobody_said_what_was_left_nor_who_agreed(self) -> None:
        ring = assess(streak(14, "holds", "deep"), marks="14K", grams=5.0)
        assert ring.marks_left == (MarkLeft("streak", "", "", None),)
        assert ring.record()["marks_left"] == [{"test": "streak"}]
        assert "no-consent" in ring.rules
        assert "mark-left" not in ring.rules

    def test_a_mark_made_in_spite_of_a_refusal_is_said_so(self) -> None:
        ring = assess(filed(Au=584, Cu=416), asked(False), marks="14K", grams=5.0)
        assert ring.marks_left[0].agreed is False
        assert "no-consent" in ring.rules

    def test_an_answer_to_the_deep_streak_serves_the_acid_for_silver_too(self) -> None:
        rub = {"test": "silver-streak", "colour": "dark-red", "depth": "deep"}
        assert assess(rub, asked(True, "streak"), marks="STERLING").marks_left[0].agreed is True
        assert assess(rub | {"depth": "light"}, marks="STERLING").marks_left == ()

    def test_a_mark_without_a_place_names_none(self) -> None:
        cut = {"test": "cut", "shows": "one-metal", "consent": {"given": True, "mark_left": "sawn through"}}
        ring = assess(GOLD_14, cut, marks="14K", grams=5.0)
        assert any(reason.text.startswith("The test cut left a mark") for reason in ring.reasons)
