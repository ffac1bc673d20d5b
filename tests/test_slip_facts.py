"""What the law room and the assay room read of a slip."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from ledger.assay import value, weighing
from ledger.errors import InputError
from ledger.law.facts import FACTS, Unknown
from ledger.slip import facts, reading
from ledger.slip.document import NotKnown
from tests.slip_samples import GONE, document, slip
from tests.slip_strategies import documents

SHOP = {"state": "Tamarack", "county": "Harrow"}


def told(*changes: tuple[str, Any], every_item: bool = False) -> dict[str, Any]:
    """The facts of the sample with changes."""
    return facts.facts_of(slip(*changes), shop=SHOP, every_item=every_item)


def known(all_facts: dict[str, Any]) -> set[str]:
    """Names of the vocabulary that a rule would find known, for the slip, its seller and its first item."""
    frame = {**all_facts, "item": all_facts["items"][0] if all_facts["items"] else {}}
    return {name for name, fact in FACTS.items() if not isinstance(fact.read(frame), Unknown)}


class TestFactsForTheLaw:
    """What nobody said is left out, what is not known keeps its reason, looked-and-none is an answer."""

    def test_the_vocabulary_finds_what_the_sample_says(self) -> None:
        found = known(told())
        assert {
            "shop.state", "slip.channel", "slip.instrument", "slip.total", "slip.items", "slip.articles",
            "slip.occurred", "slip.tray", "slip.declaration", "slip.staff", "slip.payee",
            "seller.name", "seller.birth_date", "seller.age", "seller.address", "seller.address.street",
            "seller.address.city", "seller.address.state", "seller.phone", "seller.workplace", "seller.sex",
            "seller.height", "seller.hair", "seller.vehicle", "seller.obtained", "seller.documents",
            "seller.document.number", "seller.document.issuer", "seller.document.expires", "seller.captures.photo",
            "seller.captures.document-front", "seller.kind", "seller.acts_for", "seller.personally_known",
            "item.article", "item.pieces", "item.pictures", "item.metal", "item.metal_colour", "item.marked",
            "item.marks", "item.claimed_fineness", "item.inscriptions", "item.stones", "item.sizes", "item.damage",
            "item.weight", "item.gross_weight", "item.net_weight", "item.price", "item.goods", "item.kind",
            "item.style", "item.wearer", "item.evidence", "item.description",
        } <= found  # fmt: skip
        assert not {"seller.email", "seller.captures.print", "seller.race", "item.serials", "item.altered"} & found

    @settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
    @given(documents())
    def test_every_fact_of_any_slip_has_the_type_that_the_law_wants(self, drawn: dict[str, Any]) -> None:
        try:
            read = reading.slip_of(drawn)
            all_facts = facts.facts_of(read, shop=SHOP, every_item=True)
        except InputError:  # a birth after the slip, which `completeness` names first
            return
        for item in all_facts["items"]:
            known({**all_facts, "items": [item]})
        for party in all_facts.get("co_sellers", []):
            known({**all_facts, "seller": party})

    def test_what_is_not_known_keeps_its_reason(self) -> None:
        seller = told()["seller"]
        assert seller["email"] == {"not_known": "has none"}
        assert seller["captures"] == {
            "photo": True,
            "print": {"not_known": "thumb in plaster"},
            "document-front": True,
            "signature": True,
        }
        assert told(("parties.0.birth_date", {"not_known": "no document"}))["seller"]["age"] == {
            "not_known": "no document"
        }
        assert told(("parties.0.description", {"not_known": "by post"}))["seller"]["hair"] == {"not_known": "by post"}

    @pytest.mark.parametrize(
        ("signature", "fact"),
        [
            ({"on_paper": "stub 7"}, True),
            ({"not_taken": "hand in plaster"}, {"not_known": "hand in plaster"}),
            (GONE, None),
        ],
    )
    def test_the_signature_is_the_one_under_the_statement(self, signature: Any, fact: Any) -> None:
        assert told(("declaration.signature", signature))["seller"]["captures"].get("signature") == fact

    def test_a_signature_that_was_captured_apart_goes_before(self) -> None:
        apart = ("parties.0.captures", [{"what": "signature", "not_taken": "pad broken"}])
        assert told(apart)["seller"]["captures"] == {"signature": {"not_known": "pad broken"}}

    def test_what_nobody_said_is_left_out(self) -> None:
        all_facts = told(("parties.0.description", GONE), ("items.0.marks", GONE), ("parties.0.phones", []))
        assert not {"hair", "race", "phone"} & set(all_facts["seller"])
        assert not {"marks", "marked"} & set(all_facts["items"][0])

    def test_looked_and_none_is_an_answer(self) -> None:
        ring = told(("items.0.marks", []), ("items.0.serials", []), ("items.0.alteration", "none"))["items"][0]
        assert (ring["marks"], ring["marked"], ring["stones"]) == ([], False, [])
        assert (ring["serials"], ring["serial_obliterated"], ring["altered"]) == ([], False, False)

    def test_the_age_is_that_of_the_local_day(self) -> None:
        # Born 25 November 2008: 17 at 23:50 on the 24th in New York, when it is the 25th in UTC.
        late = ("occurred_at", "2026-11-24T23:50:00-05:00[America/New_York]")
        assert told(("parties.0.birth_date", "2008-11-25"), late)["seller"]["age"] == 17

    def test_a_document_is_what_its_kind_is_unless_the_slip_says_otherwise(self) -> None:
        licence = told()["seller"]["documents"][0]
        assert (licence["government"], licence["photo"], licence["descriptive"]) == (True, True, True)
        assert licence["current"] is True
        assert told(("parties.0.documents.0.picture", False))["seller"]["documents"][0]["photo"] is False

    @pytest.mark.parametrize(
        ("expires", "current"),
        [("2026-11-24", True), ("2026-11-23", False), ({"not_known": "worn"}, {"not_known": "worn"})],
    )
    def test_a_document_is_current_to_the_end_of_its_last_day(self, expires: Any, current: Any) -> None:
        changes = [("parties.0.documents.0.expires", expires)]
        assert told(*changes)["seller"]["documents"][0]["current"] == current

    def test_a_number_that_was_filed_off_is_a_fact(self) -> None:
        serials = [
            {"text": {"not_known": "filed off"}, "of": "works", "condition": "removed"},
            {"text": "44", "of": "case"},
        ]
        ring = told(("items.0.serials", serials), ("items.0.alteration", "crown exchanged"))["items"][0]
        assert (ring["serials"], ring["serial_obliterated"], ring["altered"]) == (["44"], True, True)

    def test_only_what_is_bought_unless_all_is_asked(self) -> None:
        assert [item["line"] for item in told()["items"]] == [1, 3]
        assert (told()["slip"]["items"], told()["slip"]["articles"]) == (2, 24)
        assert [item["line"] for item in told(every_item=True)["items"]] == [1, 2, 3]

    def test_principal_guardian_and_co_sellers(self) -> None:
        others = [
            {"role": "principal", "kind": "person", "name": {"family": "Wren"}},
            {"role": "co-seller", "kind": "dealer", "name": {"family": "Rook"},
             "dealer": {"business": "Rook & Rook", "declaration": "None of it is stolen."}},
            {"role": "guardian", "kind": "person", "name": {"family": "Crane"}},
            {"role": "witness", "kind": "person", "name": {"family": "Finch"}},
        ]  # fmt: skip
        all_facts = told(("parties", [*document()["parties"], *others]))
        assert all_facts["seller"]["acts_for"] == "principal"
        assert (all_facts["principal"]["name"], all_facts["guardian"]["name"]) == ("Wren", "Crane")
        assert [(party["party"], party["declared_dealer"]) for party in all_facts["co_sellers"]] == [(3, True)]
        assert "witness" not in all_facts

    @pytest.mark.parametrize(
        ("signature", "signed"),
        [({"file": "s.png"}, True), ({"on_paper": "form 12"}, True), ({"not_taken": "left"}, False), (GONE, None)],
    )
    def test_a_declaration_not_yet_signed_is_not_a_refusal_to_sign(self, signature: Any, signed: bool | None) -> None:
        assert told(("declaration.signature", signature))["slip"]["declaration"].get("signed") is signed

    def test_a_slip_without_money_and_words_has_no_such_facts(self) -> None:
        bare = told(("payout", GONE), ("declaration", GONE), ("parties.0.vehicle", GONE), ("items.0.obtained", GONE))
        assert not {"payee", "total", "instrument", "declaration"} & set(bare["slip"])
        assert not {"vehicle", "obtained"} & set(bare["seller"])

    def test_what_was_observed_of_a_person(self) -> None:
        seller = told(("parties.0.observed", {"intoxicated": False}))["seller"]
        assert seller["intoxicated"] is False
        assert "known_offender" not in seller


class TestEvidenceForAssay:
    """Evidence, marks, weighings, colour and stones, as assay reads them; what it says comes back as facts."""

    def test_assay_weighs_what_the_slip_hands_over(self) -> None:
        read = slip()
        assessments = {line: weighing.weigh_item(facts.evidence_of(item)) for line, item in enumerate(read.items, 1)}
        # 584 parts per thousand of gold in both readings, a 14 K mark (14/24 = 583.3), density of solid 14 K.
        assert (assessments[1].metal, assessments[1].construction) == ("gold", "solid")
        values = {1: value.value(assessments[1], {spot.metal: spot for spot in read.spot}, {"gold": 800_000})}
        ring = facts.facts_of(read, shop=SHOP, assessments=assessments, values=values)["items"][0]
        assert (ring["metal"], ring["construction"]) == ("gold", "solid")
        assert ring["claimed_ppm"] == 583_333
        assert ring["fineness_ppm"] == assessments[1].paid_fineness_ppm
        assert ring["fine_mg"] == values[1].fine_paid_mg
        assert ring["melt_value"]["currency"] == "USD"
        assert ring["assessment"]

    def test_without_an_assessment_the_mark_names_the_metal(self) -> None:
        ring, chain = told()["items"]
        assert (ring["metal"], ring["claimed_ppm"], ring["marked"]) == ("gold", 583_333, True)
        assert not {"metal", "claimed_ppm", "fineness_ppm", "construction"} & set(chain)

    def test_a_mark_of_which_a_figure_is_open_is_a_mark_and_no_figure(self) -> None:
        ring = told(("items.0.marks", [{"text": "1?K"}]))["items"][0]
        assert ring["marked"] is True
        assert "claimed_ppm" not in ring

    def test_an_assessment_without_a_figure_gives_none(self) -> None:
        read = slip(("items.0.evidence", []))
        assessment = weighing.weigh_item(facts.evidence_of(read.items[0]))
        ring = facts.facts_of(read, shop=SHOP, assessments={1: assessment})["items"][0]
        assert ("fineness_ppm" in ring) == (assessment.payable is not None)

    def test_where_and_when_it_was_made_decides_which_law_governs_its_mark(self) -> None:
        # 15 USC 295 before 1 October 1981 allowed half a karat, 20.8 per thousand; since then 3.
        made = {"country": "US", "from": "1970", "to": "1975"}
        handed = facts.evidence_of(slip(("items.0.made", made), ("items.0.consent", "refused")).items[0])
        assert (handed["made"], handed["consent"]) == (made, "refused")
        old, new = (weighing.weigh_item({**handed, "made": each}).claim for each in (made, {"from": "1990"}))
        assert old is not None
        assert new is not None
        assert (old.tolerance_ppm, new.tolerance_ppm) == (20_833, 3_000)
        unknown = facts.evidence_of(slip(("items.0.made", {"not_known": "no idea"})).items[0])
        assert weighing.weigh_item(unknown).claim is not None

    def test_what_is_not_known_is_handed_over_as_such(self) -> None:
        handed = facts.evidence_of(slip().items[2])
        assert handed["marks"] == {"not_known": "too many pieces to read each; several bear 925"}
        assert isinstance(slip().items[2].marks, NotKnown)
        assert handed["stones"] == []
        assert handed["weighings"][0]["paid_on"] is True
        # A lot is weighed up as one: its spots are its pieces.
        assert (handed["kind"], slip().items[2].kind) == ("lot", "lot")
