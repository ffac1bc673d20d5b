"""What the slip page shows beside the fields: forms of tests, items, and the margin; nothing here needs a browser."""

from dataclasses import replace

import pytest

from ledger.acts import recording
from ledger.assay import evidence
from ledger.assay.evidence_schema import MEMBERS, NEEDED
from ledger.law.answers import QuestionAsked
from ledger.slip.document import Slip
from ledger.web import evidence_form, items_page, margin_page
from tests import slip_samples
from tests.shops import Shop

ITEM = "items.0"


def of_kind(kind: str, **more: str) -> evidence_form.Test:
    begin = f"{ITEM}.evidence.0"
    fields = {f"{begin}.test": kind} | {f"{begin}.{name}": value for name, value in more.items()}
    (found,) = evidence_form.tests(fields, ITEM)
    return found


def names(groups: tuple[tuple[str, tuple[evidence_form.Ask, ...]], ...]) -> set[str]:
    return {ask.name.removeprefix(f"{ITEM}.evidence.0.") for _, asks in groups for ask in asks}


class TestTests:
    """ "Evidence of each kind: choose the kind, only its fields appear, with caution texts." """

    @pytest.mark.parametrize("kind", MEMBERS)
    def test_every_member_of_a_kind_has_a_field_and_what_it_needs_is_asked_at_once(self, kind: str) -> None:
        shown = of_kind(kind)
        tops = {name.partition(".")[0] for name in names(shown.groups) | names(shown.more)}
        assert set(MEMBERS[kind]) <= tops
        assert set(NEEDED[kind]) <= {name.partition(".")[0] for name in names(shown.groups)}

    def test_every_kind_is_offered_by_a_name_of_its_own(self) -> None:
        assert {kind for kind, _ in evidence_form.KINDS} == set(MEMBERS)
        assert len({title for _, title in evidence_form.KINDS}) == len(MEMBERS)

    @pytest.mark.parametrize(
        ("kind", "word"),
        [("xrf", "radiation"), ("filed-xrf", "radiation"), ("streak", "corrosive"), ("silver-streak", "corrosive")],
    )
    def test_a_caution_stands_beside_acid_and_rays(self, kind: str, word: str) -> None:
        assert word in of_kind(kind).caution

    @pytest.mark.parametrize("kind", sorted(evidence.MARKING))
    def test_before_a_test_that_marks_the_seller_is_asked(self, kind: str) -> None:
        assert of_kind(kind).consent
        assert not of_kind(kind, **{"consent.given": "no"}).consent

    def test_a_deep_streak_marks_and_a_light_one_does_not(self) -> None:
        assert of_kind("streak", depth="deep").consent
        assert not of_kind("streak", depth="light").consent

    def test_a_further_reading_waits_folded(self) -> None:
        shown = of_kind("xrf", **{"readings.0.elements.Au": "585"})
        assert "readings.0.elements.Au" in names(shown.groups)
        assert "readings.1.elements.Au" in names(shown.more)

    def test_an_element_that_was_read_is_not_folded(self) -> None:
        assert "readings.0.elements.W" in names(of_kind("xrf", **{"readings.0.elements.W": "3"}).groups)

    def test_a_kind_that_nobody_knows_is_not_shown(self) -> None:
        assert evidence_form.tests({f"{ITEM}.evidence.0.test": "tasting"}, ITEM) == ()


def fields_of(count: int, first: int = 0) -> dict[str, str]:
    return {f"items.{first + n}.article": "thing" for n in range(count)}


@pytest.fixture
def sample(shop: Shop) -> tuple[Shop, Slip]:
    return shop, shop.slip()


class TestItems:
    """ "The strip drawn live with its words, the headline, tests owed, the shop's rate suggested." """

    def test_items_are_told_by_the_place_at_which_they_stand_on_the_page(self, sample: tuple[Shop, Slip]) -> None:
        shop, slip = sample
        examined = recording.check(shop.book, slip)
        rows = items_page.rows(fields_of(3, first=1), examined, [])
        assert [row.says[:6] for row in rows] == ["", "ring, ", "locket", "broken"]

    def test_the_strip_is_drawn_with_its_words(self, sample: tuple[Shop, Slip]) -> None:
        shop, slip = sample
        row = items_page.rows(fields_of(3), recording.check(shop.book, slip), [])[0]
        assert row.weighed is not None
        assert row.weighed.picture.startswith("<svg")
        assert 'id="strip-0-title"' in row.weighed.picture
        assert "Mark 14K" in row.weighed.words
        assert row.weighed.headline

    def test_what_a_mark_says_cannot_leave_the_picture(self, sample: tuple[Shop, Slip]) -> None:
        shop, _ = sample
        slip = shop.slip(("items.0.marks.0.text", "<script>14K"))
        row = items_page.rows(fields_of(3), recording.check(shop.book, slip), [])[0]
        assert row.weighed is not None
        assert "<script" not in row.weighed.picture

    def test_the_rate_of_the_shop_is_suggested_in_digits(self, sample: tuple[Shop, Slip]) -> None:
        shop, slip = sample
        examined = recording.check(shop.book, slip)
        row = items_page.rows(fields_of(3), examined, [])[0]
        value = examined.valuations[1]
        assert value.offer is not None
        assert row.suggested.replace(".", "") == str(value.offer.minor)
        assert str(value.offer) in row.worth

    def test_an_item_nobody_examined_shows_its_line_only(self) -> None:
        (row,) = items_page.rows({"ui.line.0": "ring frob", "ui.read.0": "ring frob"}, None, [])
        assert (row.says, row.weighed, row.worth, row.suggested, row.leaves) == ("", None, "", "", "")
        assert [left.word for left in row.left] == ["frob"]

    def test_fields_stand_open_where_one_of_them_is_wrong(self) -> None:
        faults = [{"path": "items.0.pieces", "says": "x"}]
        assert items_page.rows({"items.0.article": "ring"}, None, faults)[0].open
        elsewhere = [{"path": "items.0.evidence.0.air", "says": "x"}]
        assert not items_page.rows({"items.0.article": "ring"}, None, elsewhere)[0].open


class TestMargin:
    """ "Duties sorted broken, undecided, ahead, met, each with its section; every line leads to its field." """

    def test_duties_stand_in_order_and_those_met_apart(self, sample: tuple[Shop, Slip]) -> None:
        shop, slip = sample
        beside = margin_page.beside(recording.check(shop.book, slip), fields_of(3), {})
        ranks = [margin_page.ORDER.index(one.state) for one in beside.duties]
        assert ranks == sorted(ranks)
        assert beside.met
        assert all(one.state == "met" for one in beside.met)
        assert all(one.source for one in (*beside.duties, *beside.met))

    def test_what_the_record_lacks_leads_to_its_field(self, sample: tuple[Shop, Slip]) -> None:
        shop, _ = sample
        slip = shop.slip(("parties.0.birth_date", slip_samples.GONE))
        beside = margin_page.beside(recording.check(shop.book, slip), fields_of(3), {})
        broken = [one for one in beside.duties if one.state == "broken" and "Birth date" in one.says]
        assert {one.leads_to for one in broken} == {"f-parties-0-birth_date"}

    def test_an_undecided_duty_asks_for_a_reason_once(self, sample: tuple[Shop, Slip]) -> None:
        shop, _ = sample
        slip = shop.slip(("parties.0.birth_date", {"not_known": "worn away"}))
        examined = recording.check(shop.book, slip)
        asked = [one.why for one in margin_page.beside(examined, fields_of(3), {}).duties if one.why]
        open_ = {f"why.{one.jurisdiction}/{one.rule}" for one in examined.duties.undecided()}
        assert sorted(asked) == sorted(open_)

    def test_a_reason_that_was_given_stands_in_its_field(self, sample: tuple[Shop, Slip]) -> None:
        shop, _ = sample
        examined = recording.check(shop.book, shop.slip(("parties.0.birth_date", {"not_known": "worn away"})))
        first = examined.duties.undecided()[0]
        rule = f"{first.jurisdiction}/{first.rule}"
        told = margin_page.beside(examined, fields_of(3), {rule: "seen by the owner"}).duties
        assert "seen by the owner" in {one.answered for one in told}

    def test_goods_that_are_bought_say_from_when_they_may_leave(self, sample: tuple[Shop, Slip]) -> None:
        shop, slip = sample
        beside = margin_page.beside(recording.check(shop.book, slip), fields_of(3), {})
        assert [one.number for one in beside.leaving] == [line for line, _ in slip.taken]
        assert all(one.when for one in beside.leaving)

    def test_without_rules_for_the_day_the_margin_says_so(self) -> None:
        beside = margin_page.beside(None, {}, {}, says=["No rule file holds on this day."])
        assert (beside.says, beside.duties) == (("No rule file holds on this day.",), ())

    def test_a_fault_of_an_item_leads_to_the_place_on_the_page(self) -> None:
        faults = [{"path": "items.0", "says": "too little"}, {"path": "items.0.weighings", "says": "none"}]
        beside = margin_page.beside(None, fields_of(1, first=2), {}, faults=faults)
        assert [leads for _, leads in beside.owed] == ["f-ui-line-2", "f-items-2-weighings-0-value"]

    @pytest.mark.parametrize(
        ("path", "leads"),
        [
            ("payout", "f-payout-instrument"),
            ("declaration", "f-declaration-text"),
            ("tray.articles", "f-tray-articles"),
            ("parties.0.name", "f-parties-0-name-family"),
            ("parties.0", "f-parties-0-name-family"),
            ("items.5.marks", "f-items-5-marks-0-text"),
            ("", ""),
        ],
    )
    def test_each_path_leads_somewhere(self, path: str, leads: str) -> None:
        assert margin_page.leads_to(path, {}) == leads

    def test_a_slip_without_rules_is_not_asked_anything(self, sample: tuple[Shop, Slip]) -> None:
        shop, slip = sample
        examined = recording.check(shop.book, slip)
        bare = replace(examined, duties=replace(examined.duties, duties=(), questions=()))
        assert margin_page.beside(bare, fields_of(3), {}).duties == ()
        assert list(margin_page.questions(bare, fields_of(3))) == []


class TestQuestions:
    """ "Questions that rule files declare appear as fields where they belong." """

    def asked(self, shop: Shop, fields: dict[str, str]) -> list[tuple[str, str]]:
        examined = recording.check(shop.book, shop.slip())
        every = tuple(
            QuestionAsked(f"{about}.answers.heirloom", about, "flag", (), "Is it?", "the seller", ("A",), subjects)
            for about, subjects in (
                ("item", ("item/1", "item/3", "item/9")),
                ("seller", ("seller",)),
                ("slip", ("slip",)),
                ("party", ("party/2",)),
                ("shop", ("shop",)),
            )
        )
        with_questions = replace(examined, duties=replace(examined.duties, questions=every))
        return [(one.path, one.question) for one in margin_page.questions(with_questions, fields)]

    def test_each_stands_with_what_it_is_about_and_the_shop_answers_elsewhere(self, shop: Shop) -> None:
        paths = [path for path, _ in self.asked(shop, fields_of(3, first=1))]
        items = ["items.1.answers.0", "items.3.answers.0"]
        assert paths == [*items, "parties.0.answers.0", "answers.0", "parties.1.answers.0"]

    def test_one_that_was_answered_keeps_its_place_and_the_next_stands_behind_other_answers(self, shop: Shop) -> None:
        written = {"answers.0.question": "rooms", "parties.0.answers.2.question": "heirloom"}
        asked = dict(self.asked(shop, fields_of(3) | written))
        assert asked["answers.1"] == "heirloom"
        assert asked["parties.0.answers.2"] == "heirloom"
