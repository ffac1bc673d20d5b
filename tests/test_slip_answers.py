"""What a slip holds of what rule files ask beyond the common: answers, authority, sworn statements, how it is paid."""

import json
from typing import Any

import pytest

from ledger.errors import InputError
from ledger.measures import Milligrams, Money, Weight
from ledger.slip import completeness, facts, parts, reading, rebuilding, writing
from ledger.slip.document import Answer, NotKnown
from tests.slip_samples import changed, slip

ANSWERS: list[dict[str, Any]] = [
    {"question": "heirloom", "answer": True},
    {"question": "rooms", "answer": 3},
    {"question": "since", "answer": "2020-05-01"},
    {"question": "names", "answer": ["Ada", "Bo"]},
    {"question": "appraised", "answer": {"amount": "120.50", "currency": "USD"}},
    {"question": "shipping-weight", "answer": {"value": "2.5", "unit": "dwt"}},
    {"question": "origin", "answer": {"not_known": "he did not say"}},
]
FULL: tuple[tuple[str, Any], ...] = (
    ("answers", ANSWERS[:2]),
    ("parties.0.answers", ANSWERS),
    ("items.0.answers", ANSWERS),
    ("items.0.assayed", True),
    ("place_kind", "dwelling"),
    ("traded_for", {"amount": "300.00", "currency": "USD", "goods": "a new chain"}),
    ("declaration.sworn", True),
    ("payout.payee_kind", "seller"),
    ("payout.delivery", "in-person"),
    ("payout.cash_part", "50.00"),
    ("payout.paid_by_weight", False),
)
GUARDIAN = {"role": "guardian", "kind": "person", "name": {"family": "Averill"}}


class TestRoundTrips:
    """Nothing that was said is lost: in the document, in the book's parts, in the facts."""

    def test_a_document_reads_as_it_is_written(self) -> None:
        read = slip(*FULL)
        assert reading.slip_of(json.loads(json.dumps(writing.as_document(read)))) == read
        assert read.items[0].answers[4] == Answer("appraised", Money("USD", 12_050))
        # NIST Handbook 44, Appendix C: one pennyweight is 1.55517384 g.
        assert read.items[0].answers[5] == Answer("shipping-weight", Weight("2.5", "dwt", Milligrams(3888)))
        assert read.items[0].answers[6] == Answer("origin", NotKnown("he did not say"))

    def test_the_books_parts_give_it_back(self) -> None:
        read = slip(*FULL)
        unread = {asked.part: parts.UNREAD for asked in parts.pictures(read)}
        named = dict(parts.presented_parts(read, assessments={}, values={}, pictures=unread))
        assert named["seller/answers"][4] == {
            "question": "appraised",
            "answer": {"currency": "USD", "minor": 12_050},
        }
        assert named["item/1/description"]["answers"][5]["answer"]["weight_mg"] == 3888
        assert named["payout/trade"] == {"currency": "USD", "minor": 30_000, "goods": "a new chain"}
        assert named["payout/method"]["cash_part"] == {"currency": "USD", "minor": 5_000}
        assert named["visit"]["place_kind"] == "dwelling"
        again = rebuilding.slip_of({**named, **dict(parts.recorded_parts(read, duties=None, pictures=unread))})
        assert (again.answers, again.seller.answers, again.items[0].answers) == (
            read.answers,
            read.seller.answers,
            read.items[0].answers,
        )
        assert (again.payout, again.traded_for, again.place_kind) == (read.payout, read.traded_for, read.place_kind)
        assert again.declaration is not None
        assert again.declaration.sworn is True
        assert "answers" not in named["item/2/description"], "what nobody asked takes no room in an entry"

    def test_rule_files_read_it_by_their_names(self) -> None:
        told = facts.facts_of(slip(*FULL), shop={})
        assert told["items"][0]["answers"] == {
            "heirloom": True,
            "rooms": 3,
            "since": "2020-05-01",
            "names": ["Ada", "Bo"],
            "appraised": {"currency": "USD", "minor": 12_050},
            "shipping-weight": 3888,
            "origin": {"not_known": "he did not say"},
        }
        assert told["slip"]["answers"] == {"heirloom": True, "rooms": 3}
        assert told["seller"]["answers"]["rooms"] == 3
        assert (told["seller"]["sworn"], told["items"][0]["assayed"], told["items"][0]["permissions"]) == (
            True,
            True,
            [],
        )
        wanted = ("place_kind", "payee_kind", "delivery", "paid_by_weight", "traded_for", "cash_part")
        assert [told["slip"][name] for name in wanted] == [
            "dwelling",
            "seller",
            "in-person",
            False,
            {"currency": "USD", "minor": 30_000},
            {"currency": "USD", "minor": 5_000},
        ]


class TestFacts:
    """What was not said is left out; what follows from something else that was said is said."""

    def test_what_nobody_said_is_left_out(self) -> None:
        told = facts.facts_of(slip(), shop={})
        assert not {"place_kind", "payee_kind", "delivery", "traded_for", "answers"} & set(told["slip"])
        assert not {"sworn", "answers", "written_authority"} & set(told["seller"])
        assert not {"assayed", "answers"} & set(told["items"][0])

    @pytest.mark.parametrize(("instrument", "minor"), [("cash", 21_850), ("cheque", 0)])
    def test_how_much_is_cash_follows_from_the_instrument(self, instrument: str, minor: int) -> None:
        told = facts.facts_of(slip(("payout.instrument", instrument)), shop={})
        assert told["slip"]["cash_part"] == {"currency": "USD", "minor": minor}

    def test_a_melt_assay_is_an_assay(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "585", "method": "fire-assay"}
        told = facts.facts_of(slip(("items.0.evidence", [melt])), shop={})
        assert told["items"][0]["assayed"] is True

    def test_a_print_says_which_finger_and_why_not_another(self) -> None:
        captures = [
            {"what": "print", "not_taken": "in plaster", "finger": "Right Thumb"},
            {"what": "print", "file": "left.jpg", "finger": "left thumb"},
        ]
        told = facts.facts_of(slip(("parties.0.captures", captures)), shop={})
        assert told["seller"]["captures"]["print"] == {"finger": "left-thumb", "reason": "Right Thumb: in plaster"}

    @pytest.mark.parametrize(
        ("estate", "papers"),
        [
            ({"of": "E. Varnham", "capacity": "executor"}, None),
            ({"of": "E. Varnham", "capacity": "executor", "authority": "letters of 3 May"}, True),
            (
                {"of": "E. Varnham", "capacity": "executor", "authority": {"not_known": "at home"}},
                {"not_known": "at home"},
            ),
        ],
    )
    def test_papers_of_an_estate(self, estate: dict[str, Any], papers: Any) -> None:
        told = facts.facts_of(slip(("parties.0.kind", "estate"), ("parties.0.estate", estate)), shop={})
        assert told["seller"].get("estate_papers") == papers
        assert facts.facts_of(slip(), shop={})["seller"]["estate_papers"] is False

    def test_written_authority_of_a_guardian(self) -> None:
        seller = changed()["parties"][0]
        parties = [seller, {**GUARDIAN, "authority": {"written": True, "says": "he may sell it"}}]
        told = facts.facts_of(slip(("parties", parties)), shop={})
        assert told["guardian"]["written_authority"] is True


class TestFaults:
    """One clear sentence per fault."""

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"answers": [{"question": "Heirloom", "answer": True}]}, "answers[1].question: "),
            ({"answers": [{"question": "x"}]}, "answers[1].answer: nothing was given; wanted is yes or no"),
            ({"answers": [{"question": "x", "answer": {"amount": "1"}}]}, "answers[1].answer.currency: nothing"),
            ({"answers": [{"question": "x", "answer": 1.5}]}, "answers[1].answer: the number 1.5 was given"),
            ({"place_kind": "palace"}, "place_kind: "),
            ({"payout.delivery": "pigeon"}, "payout.delivery: 'pigeon' was given; wanted is one of in-person"),
            ({"traded_for": {"amount": "1"}}, "traded_for.currency: nothing was given"),
        ],
    )
    def test_of_the_form(self, changes: dict[str, Any], message: str) -> None:
        document = json.dumps(changed(*changes.items())).encode()
        (fault,) = reading.faults(document, toml=False)
        assert str(fault).startswith(message)

    @pytest.mark.parametrize(
        ("field", "value"),
        [
            ("traded_for", {"amount": "1.001", "currency": "USD"}),
            ("answers", [{"question": "x", "answer": {"amount": "1.001", "currency": "USD"}}]),
            ("payout.cash_part", "1.001"),
        ],
    )
    def test_of_amounts_with_too_many_decimals(self, field: str, value: Any) -> None:
        with pytest.raises(InputError, match=r"1\.001"):
            slip((field, value))
        assert len(reading.faults(json.dumps(changed((field, value))).encode(), toml=False)) == 1

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            (
                (("answers", ANSWERS[:1] * 2),),
                "answers[2].question: 'heirloom' was given; wanted is each question once.",
            ),
            ((("items.0.answers", ANSWERS[:1] * 2),), "items[1].answers[2].question: "),
            ((("parties.0.answers", ANSWERS[:1] * 2),), "parties[1].answers[2].question: "),
            (
                (("payout.cash_part", "999.00"),),
                "payout.cash_part: USD 999.00 was given; wanted is no more than the whole",
            ),
            ((("parties.0.authority", {"written": True}),), "parties[1].role: "),
        ],
    )
    def test_of_what_does_not_go_together(self, changes: tuple[tuple[str, Any], ...], message: str) -> None:
        (fault, *_) = completeness.faults(slip(*changes))
        assert str(fault.error()).startswith(message)
