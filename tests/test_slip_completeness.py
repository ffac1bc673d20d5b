"""What contradicts itself in a slip that reads well, and what is not yet entered."""

from typing import Any

import pytest

from ledger.slip import completeness
from ledger.slip.document import Slip
from tests.slip_samples import GONE, document, slip

RING, LOCKET, CHAIN = document()["items"]

CONTRADICTIONS: dict[str, tuple[list[tuple[str, Any]], str]] = {
    "the tray holds more than the lines": (
        [("tray.articles", 4)],
        "tray.articles: 4 was given; wanted is the number of articles that the lines describe, 3; count the tray"
        " again.",
    ),
    "an item taken but no payout": (
        [("payout", GONE)],
        "payout: nothing was given; wanted is how the offers taken are paid: item 1, item 3.",
    ),
    "a payout of another sum": (
        [("payout.amount", "218.49")],
        "payout.amount: USD 218.49 was given; wanted is the sum of the offers taken, USD 218.50.",
    ),
    "a payout for nothing": (
        [("items.0.offer.answer", "declined"), ("items.2.offer", GONE)],
        "payout: a payout was given; wanted is none, since no offer was taken.",
    ),
    "two currencies": (
        [("items.2.offer.currency", "CAD")],
        "items[3].offer.currency: 'CAD' was given; wanted is USD, as the first offer taken.",
    ),
    "a payout due before the purchase": (
        [("payout.due", "2026-11-23")],
        "payout.due: '2026-11-23' was given; wanted is a day not before the slip's.",
    ),
    "a document that expires before it was issued": (
        [("parties.0.documents.0.expires", "2022-02-28")],
        "parties[1].documents[1].expires: a day before the document was issued was given; wanted is a day after it was"
        " issued.",
    ),
    "a document issued tomorrow": (
        [("parties.0.documents.0.issued", "2026-11-25")],
        "parties[1].documents[1].issued: a day after the slip's was given; wanted is a day before the slip's.",
    ),
    "a document issued before its holder was born": (
        [("parties.0.documents.0.issued", "1984-02-28")],
        "parties[1].documents[1].issued: a day before its holder was born was given; wanted is a day after the birth.",
    ),
    "a seller born tomorrow": (
        [("parties.0.birth_date", "2026-11-25"), ("parties.0.documents", [])],
        "parties[1].birth_date: a day after the slip's was given; wanted is a day before the slip's.",
    ),
    "a seller of the century before the last": (
        [("parties.0.birth_date", "1895-12-31")],
        "parties[1].birth_date: a day more than 130 years before the slip's was given; wanted is the day of birth of a"
        " living person.",
    ),
    "a capture of a document that is not there": (
        [("parties.0.captures.2.document", 2)],
        "parties[1].captures[3].document: 2 was given; wanted is the number of one of the party's documents, of which"
        " there are 1.",
    ),
    "nobody sells": (
        [("parties.0.role", "guardian")],
        "parties[1].role: 'guardian' was given; wanted is 'seller'; the seller stands first.",
    ),
    "two sellers": (
        [("parties", document()["parties"] * 2)],
        "parties[2].role: 'seller' was given; wanted is 'co-seller' for a second seller.",
    ),
    "a dealer without a business": (
        [("parties.0.kind", "dealer")],
        "parties[1].dealer: nothing was given; wanted is the dealer that sells, since the party's kind is 'dealer'.",
    ),
    "a person with an estate": (
        [("parties.0.estate", {"of": "Ida Wren", "capacity": "executor"})],
        "parties[1].kind: 'person' was given; wanted is 'estate', since parties[1].estate is described.",
    ),
    "a parcel that is not described": (
        [("channel", "parcel")],
        "parcel: nothing was given; wanted is how the parcel came, since the channel is 'parcel'.",
    ),
    "a parcel at the counter": (
        [("parcel", {"carrier": "post", "received_at": "2026-11-23T09:00:00-05:00", "tamper_band": "whole"})],
        "channel: 'counter' was given; wanted is 'parcel', since a parcel is described.",
    ),
    "a parcel that came after it was bought": (
        [
            ("channel", "parcel"),
            ("parcel", {"carrier": "post", "received_at": "2026-11-24T10:15:01-06:00", "tamper_band": "whole"}),
        ],
        "parcel.received_at: a moment after the slip's was given; wanted is a moment before the slip's.",
    ),
    "an event without a place": (
        [("channel", "event")],
        "place: nothing was given; wanted is the place, since the channel is 'event'.",
    ),
    "two prices of one metal": (
        [("spot.1.metal", "gold")],
        "spot[2].metal: 'gold' was given; wanted is one price for each metal.",
    ),
    "a single article of two pieces": (
        [("items.0.pieces", 2), ("tray.articles", 4)],
        "items[1].pieces: 2 was given; wanted is 1 for a single article, or kind 'set' or 'lot'.",
    ),
    "a set of one": (
        [("items.0.kind", "set")],
        "items[1].pieces: 1 was given; wanted is at least 2 for a set, or kind 'single'.",
    ),
    "nothing weighed to pay on": (
        [("items.0.weighings.0.paid_on", False)],
        "items[1].weighings: no weighing with paid_on was given; wanted is exactly one on which the offer rests.",
    ),
    "two weighings to pay on": (
        [("items.0.weighings", RING["weighings"] * 2)],
        "items[1].weighings[2].paid_on: true a second time was given; wanted is paid_on once for each item; weighing 1"
        " has it.",
    ),
    "stones paid by weight as if they were metal": (
        [("items.0.weighings.0.what", "stones")],
        "items[1].weighings[1].what: 'stones' was given; wanted is 'gross' or 'net' for the weighing that is paid on.",
    ),
    "stones heavier than the whole": (
        [("items.1.weighings.1.value", "32.00")],
        "items[2].weighings: 6,400 mg of stones and foreign parts was given; wanted is no more than the gross weight,"
        " 6,298 mg.",
    ),
    "more net than gross": (
        [
            (
                "items.0.weighings",
                [
                    {"what": "gross", "value": "4.20", "unit": "g"},
                    {"what": "net", "value": "4.21", "unit": "g", "paid_on": True},
                ],
            )
        ],
        "items[1].weighings: 4,210 mg net was given; wanted is no more than the gross weight, 4,200 mg.",
    ),
    "a piece weighed without its number": (
        [("items.2.weighings", [*CHAIN["weighings"], {"what": "piece", "value": "2", "unit": "g"}])],
        "items[3].weighings[2].piece: nothing was given; wanted is the number of the piece weighed, 1 to 23.",
    ),
    "a piece beyond the last": (
        [("items.2.weighings", [*CHAIN["weighings"], {"what": "piece", "value": "2", "unit": "g", "piece": 24}])],
        "items[3].weighings[2].piece: 24 was given; wanted is the number of the piece weighed, 1 to 23.",
    ),
    "a filed spot without the seller's consent": (
        [("items.0.evidence.0.test", "filed-xrf")],
        "items[1].evidence[1].consent: no consent was given; wanted is the seller's consent, since this test leaves a"
        " mark on the article.",
    ),
    "a deep streak that the seller refused": (
        [
            (
                "items.0.evidence.1",
                {"test": "streak", "acid_karat": "14", "depth": "deep", "result": "holds", "consent": {"given": False}},
            )
        ],
        "items[1].evidence[2].consent: no consent was given; wanted is the seller's consent, since this test leaves a"
        " mark on the article.",
    ),
    "a clerk who differs without a reason": (
        [("items.0.conclusion", {"agrees": False})],
        "items[1].conclusion.because: nothing was given; wanted is the reason for differing from the assessment.",
    ),
    "a description of nothing": (
        [("items.0.article", "misc")],
        "items[1].article: 'misc' was given; wanted is a description by which another person could find the article;"
        " missing: kind of article.",
    ),
    "a scrap lot without its picture": (
        [("items.2.pictures", [])],
        "items[3]: a description that says too little was given; wanted is a description by which another person could"
        " find the article; missing: picture.",
    ),
}


class TestContradictions:
    """A fault of the check stage stops everything."""

    @pytest.mark.parametrize("kind", CONTRADICTIONS)
    def test_a_contradiction_is_named_in_one_sentence(self, kind: str) -> None:
        changes, sentence = CONTRADICTIONS[kind]
        read = slip(*changes)
        first = completeness.faults(read)[0]
        assert (str(first.error()), first.stage) == (sentence, "check")

    def test_the_sample_has_none(self) -> None:
        assert completeness.faults(slip()) == ()

    def test_a_set_counts_its_pieces_and_a_lot_counts_once(self) -> None:
        set_of_six = {**RING, "kind": "set", "pieces": 6}
        read = slip(("items.0", set_of_six), ("tray.articles", 8))
        assert completeness.articles(read) == 8
        assert completeness.faults(read) == ()

    def test_consent_given_is_enough(self) -> None:
        filed = {**RING["evidence"][0], "test": "filed-xrf", "consent": {"given": True, "mark_left": "inside"}}
        assert completeness.faults(slip(("items.0.evidence.0", filed))) == ()

    def test_a_light_streak_needs_none(self) -> None:
        streak = {"test": "streak", "acid_karat": "14", "depth": "light", "result": "holds"}
        assert completeness.faults(slip(("items.0.evidence.1", streak))) == ()

    def test_dealer_estate_and_parcel_as_they_should_be(self) -> None:
        read = slip(
            ("parties.0.kind", "dealer"),
            ("parties.0.dealer", {"business": "Averill & Co."}),
            ("channel", "parcel"),
            ("parcel", {"carrier": "post", "received_at": "2026-11-23T09:00:00-05:00", "tamper_band": "broken"}),
        )
        assert completeness.faults(read) == ()

    def test_the_payout_may_be_due_later(self) -> None:
        assert completeness.faults(slip(("payout.due", "2026-11-27"))) == ()

    def test_a_slip_with_nothing_taken_needs_no_payout(self) -> None:
        read = slip(
            ("items.0.offer.answer", "declined"), ("items.2.offer", GONE), ("payout", GONE), ("declaration", GONE)
        )
        assert completeness.faults(read) == ()


class TestNotYetEntered:
    """A gap of the present stage: a draft may have it, a slip that the seller signs may not."""

    @pytest.mark.parametrize(
        ("gap", "sentence"),
        [
            (
                "items.0.conclusion",
                "items[1].conclusion: nothing was given; wanted is whether the person agrees with the assessment, or"
                " differs because.",
            ),
            (
                "declaration",
                "declaration: nothing was given; wanted is the words the seller signs and their language.",
            ),
        ],
    )
    def test_a_draft_passes_the_check_and_not_the_presenting(self, gap: str, sentence: str) -> None:
        read = slip((gap, GONE))
        assert {fault.stage for fault in completeness.faults(read)} == {"present"}
        assert str(completeness.faults(read)[0].error()) == sentence

    def test_a_contradiction_comes_before_a_gap(self) -> None:
        read = slip(("declaration", GONE), ("tray.articles", 9))
        assert [fault.stage for fault in completeness.faults(read)] == ["check", "present"]


class TestExpiredDocuments:
    """Flagged, not refused: places differ. A document is good on the last day printed on it."""

    @pytest.mark.parametrize(
        ("expires", "flagged"),
        [("2026-11-24", ()), ("2026-11-23", ((1, 1),)), ({"not_known": "worn off"}, ()), (GONE, ())],
    )
    def test_by_the_day_of_the_slip(self, expires: Any, flagged: tuple[tuple[int, int], ...]) -> None:
        read = slip(("parties.0.documents.0.expires", expires))
        assert completeness.expired_documents(read) == flagged
        assert completeness.faults(read) == ()


class TestWeights:
    """Net is gross less stones and foreign parts; every weighing is kept, one is paid on."""

    @staticmethod
    def weighed(*weighings: dict[str, Any]) -> Slip:
        return slip(("items.0.weighings", list(weighings)))

    def test_net_is_what_is_left_of_the_weighing_paid_on(self) -> None:
        # 4.05 dwt = 6298 mg and 0.10 ct = 20 mg, by NIST Handbook 44 Appendix C (dwt 1.55517384 g, ct 0.2 g).
        locket = slip().items[1]
        assert (locket.gross_mg, locket.set_aside_mg, locket.net_mg) == (6298, 20, 6278)

    def test_each_part_set_aside_counts_as_it_was_weighed_last(self) -> None:
        item = self.weighed(
            {"what": "gross", "value": "10", "unit": "g", "paid_on": True},
            {"what": "stones", "value": "1", "unit": "g"},
            {"what": "stones", "value": "2", "unit": "g"},
            {"what": "foreign", "value": "3", "unit": "g"},
        ).items[0]
        assert item.net_mg == 5000

    def test_a_net_weighing_is_taken_as_it_is(self) -> None:
        item = self.weighed(
            {"what": "gross", "value": "10", "unit": "g"},
            {"what": "gross", "value": "11", "unit": "g"},
            {"what": "net", "value": "9.5", "unit": "g", "paid_on": True},
            {"what": "stones", "value": "1", "unit": "g"},
        ).items[0]
        assert (item.gross_mg, item.net_mg) == (11_000, 9_500)

    def test_nothing_paid_on_gives_no_net(self) -> None:
        item = self.weighed({"what": "gross", "value": "10", "unit": "g"}).items[0]
        assert (item.paid_on, item.net_mg, item.gross_mg) == (None, None, 10_000)

    def test_more_set_aside_than_there_is_gives_no_net(self) -> None:
        item = self.weighed(
            {"what": "gross", "value": "1", "unit": "g", "paid_on": True}, {"what": "stones", "value": "2", "unit": "g"}
        ).items[0]
        assert item.net_mg is None


class TestTheWhole:
    """Seller, day, lines taken and their sum."""

    def test_what_was_taken_and_for_how_much(self) -> None:
        read = slip()
        assert [line for line, _ in read.taken] == [1, 3]
        assert str(read.total_taken) == "USD 218.50"
        assert read.seller.role == "seller"
        assert read.local_day.isoformat() == "2026-11-24"

    def test_nothing_taken_has_no_sum(self) -> None:
        read = slip(("items.0.offer.answer", "declined"), ("items.2.offer.answer", "declined"))
        assert read.total_taken is None

    def test_the_day_is_the_local_one(self) -> None:
        # 23:50 in New York on 24 November is 25 November in UTC.
        assert slip(("occurred_at", "2026-11-24T23:50:00-05:00[America/New_York]")).local_day.day == 24
