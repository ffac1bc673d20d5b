"""Of whom a rule file speaks, and what it asks there: covers, own questions, forms, fields, limits, payment."""

from typing import Any

import pytest

from ledger.errors import InputError, RuleFileWrong
from ledger.law import files
from ledger.law.answers import Ahead, AskedTogether, Broken, Met, Undecided
from ledger.law.duties import Duties, weigh
from ledger.law.facts import DERIVED, FACTS
from ledger.law.rules import RuleFile
from ledger.measures import Money
from tests.law_samples import US_DAYS, facts, file_of, local, recipient, ring, rule, shown, text_of

AT = local("2026-11-24T10:15")
HOLD = 'length = 10\nunit = "days"\nforbids = ["sell", "melt"]\n'
GOLD = 'when = [{ fact = "item.metal", is = "gold" }]\n'
UNTESTED: dict[str, Any] = {"not_known": "not tested"}


def usd(minor: int) -> dict[str, Any]:
    return {"currency": "USD", "minor": minor}


def weighed(file: RuleFile, *items: dict[str, Any], **others: Any) -> Duties:
    return weigh([file], facts(*items, **others), at=AT)


def outcome(file: RuleFile, *items: dict[str, Any], **others: Any) -> Any:
    (found,) = weighed(file, *items, **others).duties
    return found.outcome


def faults(*tables: str) -> tuple[str, ...]:
    with pytest.raises(RuleFileWrong) as wrong:
        files.read(text_of(*tables), "sample.toml")
    return wrong.value.faults


class TestCover:
    """A rule that a cover names applies only where one of the covers holds; undecided, the rule stands."""

    FILE = file_of(
        rule("cover", "metals", GOLD),
        rule("hold", "h", HOLD),
        rule("ask", "a", 'fields = [{ fact = "slip.staff", label = "Staff" }]\n'),
    )

    def test_only_what_is_covered_is_held(self) -> None:
        found = weighed(self.FILE, ring(), ring(line=2, metal="silver"))
        assert [hold.line for hold in found.holds] == [1]
        assert [(one.about, one.applies) for one in found.scopes] == [("item/1", True), ("item/2", False)]

    def test_the_slip_is_covered_if_an_item_is(self) -> None:
        assert [one.rule for one in weighed(self.FILE, ring(), ring(line=2, metal="silver")).duties] == ["a", "h"]
        assert weighed(self.FILE, ring(metal="silver")).duties == ()
        assert [one.rule for one in weigh([self.FILE], {"items": []}, at=AT).duties] == ["a"]

    def test_an_undecided_cover_leaves_the_rule_and_says_so(self) -> None:
        found = weighed(self.FILE, ring(metal=UNTESTED))
        assert len(found.holds) == 1
        assert found.duties[1].trace["cover_undecided"] == ["metals: item.metal is not known: not tested"]
        assert found.duties[0].trace["cover_undecided"] == ["metals: item.metal is not known: not tested"]

    def test_any_of_several_covers_is_enough(self) -> None:
        file = file_of(
            rule("cover", "metals", 'rules = ["h"]\n' + GOLD),
            rule("cover", "old", 'rules = ["h"]\nwhen = [{ fact = "item.age_years", at_least = 30 }]\n'),
            rule("hold", "h", HOLD),
            rule("hold", "free-of-it", HOLD),
        )
        found = weighed(file, ring(metal="base", age_years=31), ring(line=2, metal="base", age_years=29))
        assert [(hold.rule, hold.line) for hold in found.holds] == [("h", 1), ("free-of-it", 1), ("free-of-it", 2)]

    def test_a_cover_about_the_seller_speaks_for_the_items_too(self) -> None:
        file = file_of(
            rule("cover", "public", 'when = [{ fact = "seller.kind", is = "person" }]\n'), rule("hold", "h", HOLD)
        )
        assert len(weighed(file, seller={"kind": "person"}).holds) == 1
        assert weighed(file, seller={"kind": "dealer"}).holds == ()
        assert len(weighed(file).holds) == 1

    def test_a_cover_whose_exception_is_not_decided_is_not_decided(self) -> None:
        file = file_of(
            rule("cover", "metals", GOLD + 'unless = [{ fact = "item.goods", is = "coin" }]\n'),
            rule("hold", "h", HOLD),
        )
        found = weighed(file, ring(goods=UNTESTED))
        assert found.duties[0].trace["cover_undecided"] == ["metals: item.goods is not known: not tested"]
        assert found.scopes[0].applies is None

    def test_an_exemption_whose_exception_is_not_decided_frees_nothing(self) -> None:
        file = file_of(
            rule("exempt", "gold", GOLD + 'unless = [{ fact = "item.goods", is = "coin" }]\n'), rule("hold", "h", HOLD)
        )
        assert weighed(file, ring()).holds == ()
        found = weighed(file, ring(goods=UNTESTED))
        assert found.duties[0].trace["exemptions_undecided"] == ["gold: item.goods is not known: not tested"]

    def test_of_two_sellers_both_must_be_exempt(self) -> None:
        dealer = 'when = [{ fact = "seller.kind", is = "dealer" }]\n'
        name = 'fields = [{ fact = "seller.name", label = "Name" }]\n'
        file = file_of(rule("exempt", "dealers", dealer), rule("hold", "h", HOLD), rule("ask", "name", name))
        for other, abouts in (("dealer", set()), ("person", {"party/2", "item/1"}), (None, {"party/2", "item/1"})):
            second = {"party": 2, "name": "B"} | ({"kind": other} if other else {})
            found = weighed(file, seller={"kind": "dealer"}, co_sellers=[second])
            assert {one.about for one in found.duties} == abouts
            doubted = {one.about for one in found.duties if "exemptions_undecided" in one.trace}
            assert doubted == (abouts if other is None else set())

    def test_a_cover_must_say_what_it_covers(self) -> None:
        (fault,) = faults(rule("cover", "c", ""))
        assert "[[cover]] needs 'when'" in fault


class TestFactsOfTheMoment:
    """Clock, day and weekday are worked out in the zone of the purchase and never handed in."""

    def test_hours_of_business(self) -> None:
        body = (
            'when = [{ any = [{ fact = "slip.clock", below = "08:00" }, { fact = "slip.clock", at_least = "21:00" },\n'
            '{ fact = "slip.weekday", is = "sunday" }, { fact = "slip.day", above = 2030-01-01 }] }]\n'
            'may_record = ["date"]\n'
        )
        file = file_of(rule("refuse", "hours", body))
        answers = [
            weigh([file], facts(), at=local(at)).refusal is not None
            for at in (
                "2026-11-24T07:59",
                "2026-11-24T08:00",
                "2026-11-24T20:59",
                "2026-11-24T21:00",
                "2026-11-22T12:00",
            )
        ]
        assert answers == [True, False, False, True, True]

    def test_what_is_handed_in_for_them_is_not_believed(self) -> None:
        file = file_of(
            rule("refuse", "r", 'when = [{ fact = "slip.clock", below = "08:00" }]\nmay_record = ["date"]\n')
        )
        assert weighed(file, slip={"clock": "03:00"}).refusal is None
        assert set(FACTS) >= DERIVED


QUESTION = """
[[question]]
id = "special-for-age"
about = "item"
type = "flag"
asks = "Is it specially valued for its age?"
who = "clerk"
"""
LAMP = rule(
    "hold",
    "antique",
    HOLD.replace("10", "30")
    + 'when = [{ fact = "item.age_years", at_least = 30 }, { fact = "item.answers.special-for-age", is = true }]\n',
)


class TestQuestions:
    """What a file declares is used like what is built in; not asked, it is not known."""

    FILE = file_of(QUESTION, LAMP)

    @pytest.mark.parametrize(
        ("years", "answers", "state"),
        [(30, {"special-for-age": True}, "ahead"), (30, {"special-for-age": False}, None), (30, None, "undecided"),
         (28, None, None), (30, {"special-for-age": {"not_known": "nobody can tell"}}, "undecided")],
    )  # fmt: skip
    def test_the_answer_decides(self, years: int, answers: Any, state: str | None) -> None:
        found = weighed(self.FILE, ring(age_years=years, **({"answers": answers} if answers else {})))
        assert [one.state for one in found.duties] == ([state] if state else [])

    def test_it_is_asked_where_a_rule_came_to_it(self) -> None:
        (asked,) = weighed(self.FILE, ring(age_years=31), ring(line=2, age_years=3)).questions
        assert (asked.fact, asked.who, asked.jurisdictions) == ("item.answers.special-for-age", "clerk", ("xx-sample",))
        assert asked.subjects == ("item/1",)
        other = file_of(QUESTION, LAMP, jurisdiction='"xx-other"')
        (asked,) = weigh([self.FILE, other], facts(), at=AT).questions
        assert asked.jurisdictions == ("xx-other", "xx-sample")

    def test_it_may_be_a_field(self) -> None:
        body = 'fields = [{ fact = "shop.answers.bond", label = "Bond" }]\n'
        question = QUESTION.replace("special-for-age", "bond").replace('"item"', '"shop"').replace("clerk", "owner")
        file = file_of(question, rule("ask", "bond", body))
        assert outcome(file, shop={"answers": {"bond": True}}) == Met()
        assert outcome(file) == Broken("The record lacks: Bond.")
        found = weighed(file)
        assert [one.about for one in found.duties] == ["slip"]
        assert found.questions[0].subjects == ("slip",)

    def test_fields_that_are_no_answers_are_no_questions(self) -> None:
        fields = 'fields = [{ fact = "item.marks", label = "Marks" }]\n'
        (asked,) = weighed(file_of(QUESTION, rule("ask", "a", fields)), ring()).questions
        assert asked.subjects == ()

    def test_the_seller_s_answers_and_the_slip_s(self) -> None:
        own = QUESTION.replace("special-for-age", "retailer").replace('"item"', '"seller"')
        slip = QUESTION.replace("special-for-age", "party").replace('"item"', '"slip"')
        body = 'when = [{ fact = "seller.answers.retailer", is = true }, { fact = "slip.answers.party", is = true }]\n'
        file = file_of(own, slip, rule("refuse", "r", body + 'may_record = ["date"]\n'))
        given = {"seller": {"answers": {"retailer": True}}, "slip": {"answers": {"party": True}}}
        assert weighed(file, **given).refusal is not None
        assert [one.subjects for one in weighed(file, **given).questions] == [("seller",), ("slip",)]

    def test_an_answer_of_another_type_is_refused(self) -> None:
        with pytest.raises(InputError, match=r"facts\.item\.answers\.special-for-age"):
            weighed(self.FILE, ring(age_years=31, answers={"special-for-age": "yes"}))

    def test_a_word_has_its_own_words(self) -> None:
        word = QUESTION.replace('"flag"', '"word"\nwords = ["sale", "pledge"]')
        file = file_of(
            word, rule("hold", "h", HOLD + 'when = [{ fact = "item.answers.special-for-age", is = "sale" }]\n')
        )
        assert len(weighed(file, ring(answers={"special-for-age": "sale"})).holds) == 1

    @pytest.mark.parametrize(
        ("table", "says"),
        [
            (QUESTION + QUESTION, "'special-for-age' is declared twice"),
            (QUESTION.replace('"flag"', '"word"'), "needs 'words'"),
            (QUESTION + 'words = ["a", "b"]\n', "'words' does not go with the type flag"),
            (QUESTION.replace('"flag"', '"flags"'), "'type' is 'flags'"),
            (
                rule("hold", "h", HOLD + 'when = [{ fact = "item.answers.x", is = true }]\n'),
                "declare it in a [[question]]",
            ),
            (rule("hold", "h", HOLD + 'when = [{ fact = "act.to", is = "x" }]\n'), "ask about it in a hold's 'allows'"),
            (rule("hold", "h", HOLD + 'unless = [{ fact = "act.to", is = "x" }]\n'), "is not known at the purchase"),
            (rule("ask", "a", 'fields = [{ fact = "act.to", label = "To" }]\n'), "is asked when the act is done"),
        ],
    )
    def test_faults_are_named(self, table: str, says: str) -> None:
        assert any(says in fault for fault in faults(table))

    def test_events_and_permissions_are_kept(self) -> None:
        file = file_of(
            '\n[[event]]\nid = "moved"\nabout = "item"\nsays = "It was moved."\n',
            '\n[[permission]]\nid = "storage"\nabout = "shop"\nsays = "Goods may lie elsewhere."\n',
            rule("hold", "h", HOLD + 'unless = [{ fact = "shop.permissions", has = "storage" }]\n'),
        )
        assert [one.id for one in file.declared.events] == ["moved"]
        assert [one.id for one in file.declared.permissions] == ["storage"]
        assert weighed(file, shop={"permissions": ["storage"]}).holds == ()
        assert "exemptions_undecided" in weighed(file).duties[0].trace
        assert "exemptions_undecided" not in weighed(file, shop={"permissions": []}).duties[0].trace


class TestFields:
    """Print with fallback; another fact that answers; what a way to prove identity needs besides documents."""

    PRINT = file_of(
        rule(
            "ask",
            "print",
            'fields = [{ fact = "seller.captures.print", label = "Print",'
            ' prefer = ["right-thumb", "left-thumb", "other-finger"], reason_allowed = true }]\n',
        )
    )

    @pytest.mark.parametrize(
        ("given", "state"),
        [
            ({"finger": "right-thumb"}, "met"),
            ({"finger": "left-thumb", "reason": "bandaged"}, "met"),
            ({"finger": "left-thumb"}, "undecided"),
            ({"finger": "right-ring", "reason": "bandaged"}, "undecided"),
            (True, "undecided"),
            ({"not_known": "no hands"}, "met"),
        ],
    )
    def test_the_finger_wanted_first_or_a_reason(self, given: Any, state: str) -> None:
        assert outcome(self.PRINT, seller={"captures": {"print": given}}).state == state

    def test_the_finger_is_handed_on(self) -> None:
        (field,) = weighed(self.PRINT).asks
        assert field.prefer == ("right-thumb", "left-thumb", "other-finger")

    INSTEAD = 'fields = [{ fact = "seller.workplace", label = "Work", instead = ["seller.phone", "seller.email"] }]\n'

    def test_another_fact_answers(self) -> None:
        file = file_of(rule("ask", "a", self.INSTEAD))
        assert outcome(file, seller={"email": "a@b.example"}) == Met()
        assert outcome(file, seller={}) == Broken("The record lacks: Work.")

    def test_only_what_every_insisting_rule_lets_answers_instead(self) -> None:
        other = 'fields = [{ fact = "seller.workplace", label = "Work", instead = ["seller.email"] }]\n'
        known = 'fields = [{ fact = "seller.workplace", label = "Work", need = "if-known" }]\n'
        for body, instead in ((other, ("seller.email",)), (known, ("seller.phone", "seller.email"))):
            (field,) = weighed(file_of(rule("ask", "a", self.INSTEAD), rule("ask", "b", body))).asks
            assert field.instead == instead

    def test_prefer_is_for_prints(self) -> None:
        body = 'fields = [{ fact = "seller.name", label = "Name", prefer = ["right-thumb"] }]\n'
        assert "goes with seller.captures.print only" in faults(rule("ask", "a", body))[0]

    WAYS = file_of(
        rule(
            "documents",
            "d",
            'any_of = [{ says = "a licence", documents = [{ types = ["driver-licence"] }] },\n'
            '{ says = "two documents and looks", documents = [{}, {}], fields = ["seller.sex", "seller.height"] }]\n',
        )
    )
    TWO = [{"type": "passport"}, {"type": "other"}]  # noqa: RUF012

    @pytest.mark.parametrize(
        ("seller", "state"),
        [
            ({"documents": TWO, "sex": "f", "height": "170 cm"}, "met"),
            ({"documents": TWO, "sex": "f"}, "broken"),
            ({"documents": TWO, "sex": "f", "height": {"not_known": "sat"}}, "undecided"),
            ({"documents": [{"type": "driver-licence"}]}, "met"),
        ],
    )
    def test_a_way_may_need_fields_too(self, seller: dict[str, Any], state: str) -> None:
        assert outcome(self.WAYS, seller=seller).state == state

    def test_a_way_names_the_seller_s_facts_only(self) -> None:
        body = 'any_of = [{ says = "w", fields = ["item.marks"] }]\n'
        assert "facts about the seller only" in faults(rule("documents", "d", body))[0]


class TestDeclaring:
    """Words in one of several languages, sworn where the law says so."""

    FILE = file_of(
        rule("declare", "d", 'words = "I own it."\nsworn = true\nalso = [{ language = "es", words = "Es mío." }]\n')
    )

    @pytest.mark.parametrize(
        ("text", "sworn", "state"),
        [
            ("I own it.", True, "met"),
            ("Es  mío.", True, "met"),
            ("Es mío.", False, "broken"),
            ("Es mío.", None, "undecided"),
            ("Mine.", True, "broken"),
        ],
    )
    def test_any_language_is_enough(self, text: str, sworn: bool | None, state: str) -> None:
        seller = {} if sworn is None else {"sworn": sworn}
        assert outcome(self.FILE, slip={"declaration": {"text": text}}, seller=seller).state == state

    def test_the_words_are_handed_on(self) -> None:
        (words,) = weighed(self.FILE).declarations
        assert (words.sworn, words.also) == (True, (("es", "Es mío."),))


class TestForms:
    """How the record looks on paper: copies and for whom, numbering, signatures, medium."""

    BODY = (
        'title = "Form 1"\ncopies = [{ for = "police", omits = ["seller.captures.print"] }, { for = "seller" }]\n'
        'numbered = "consecutive"\nsigned_by = ["seller", "staff"]\nmedium = ["bound-book", "electronic"]\n'
        'languages = ["en"]\n'
    )
    FILE = file_of(rule("form", "f", BODY))
    GOOD: dict[str, Any] = {  # noqa: RUF012
        "shop": {"record_medium": "electronic"},
        "slip": {"staff": "c1", "declaration": {"text": "x", "signed": True}},
    }

    @pytest.mark.parametrize(
        ("change", "state"),
        [
            ({}, "met"),
            ({"shop": {"record_medium": "cards"}}, "broken"),
            ({"shop": {}}, "undecided"),
            ({"slip": {"staff": "c1", "declaration": {"text": "x", "signed": False}}}, "broken"),
            ({"slip": {"staff": "c1"}}, "undecided"),
            ({"slip": {"staff": "c1"}, "seller": {"captures": {"signature": True}}}, "met"),
            ({"slip": {"declaration": {"signed": True}}}, "undecided"),
        ],
    )
    def test_medium_and_signatures(self, change: dict[str, Any], state: str) -> None:
        (found,) = weigh([self.FILE], facts(**{**self.GOOD, **change}), at=AT).duties
        assert (found.kind, found.state) == ("form", state)

    def test_the_paper_as_the_rule_wants_it(self) -> None:
        found = weigh([self.FILE], facts(**self.GOOD), at=AT)
        (form,) = found.forms
        assert [(one.keeper, one.omits) for one in form.copies] == [
            ("police", ("seller.captures.print",)),
            ("seller", ()),
        ]
        assert found.record()["forms"][0]["copies"][1] == {"for": "seller", "omits": []}

    def test_one_for_each_item(self) -> None:
        file = file_of(rule("form", "f", 'title = "Tag"\nper = "item"\n'))
        assert [one.about for one in weighed(file, ring(), ring(line=2)).forms] == ["item/1", "item/2"]

    def test_copies_name_facts(self) -> None:
        body = 'title = "F"\ncopies = [{ for = "police", omits = ["seller.prints"] }]\n'
        assert "'seller.prints' is not a fact" in faults(rule("form", "f", body))[0]


class TestBeforeSigning:
    """A slip is frozen before the seller signs: what lacks nothing but the signature is still ahead."""

    FILE = file_of(
        rule("form", "paper", 'title = "F"\nsigned_by = ["seller"]\n'),
        rule("ask", "both", 'fields = [{ fact = "seller.captures.signature", label = "Signature" }, '
             '{ fact = "seller.phone", label = "Phone" }]\n'),
    )  # fmt: skip

    @pytest.mark.parametrize(
        ("seller", "states"),
        [
            ({"phone": "1"}, ["ahead", "ahead"]),
            ({}, ["broken", "ahead"]),
            ({"phone": "1", "captures": {"signature": {"not_known": "refused"}}}, ["undecided", "undecided"]),
            ({"phone": "1", "captures": {"signature": True}}, ["met", "met"]),
        ],
    )
    def test_only_the_signature_is_waited_for(self, seller: dict[str, Any], states: list[str]) -> None:
        found = weighed(self.FILE, seller=seller)
        assert [one.state for one in found.before_signing().duties] == states
        assert found.undecided() or found.stopping() or states == ["met", "met"]


class TestLimits:
    """What must not be shown: to a recipient, on a copy, until it ends."""

    def test_by_recipient_and_copy(self) -> None:
        file = file_of(
            rule("limit", "a", 'must_not = "show"\nfacts = ["seller.phone"]\nto = ["police", "press"]\n'),
            rule("limit", "b", 'must_not = "show"\nfacts = ["seller.email"]\ncopy = ["police"]\n'),
            rule("limit", "c", 'must_not = "show"\nfacts = ["seller.name"]\nto = "press"\n'),
        )
        found = weighed(file)
        assert found.hidden_from("police") == {"seller.phone", "seller.email"}
        assert found.hidden_from("press") == {"seller.phone", "seller.name"}

    def test_it_may_end(self) -> None:
        file = file_of(
            rule("limit", "a", 'must_not = "keep"\nfacts = ["seller.phone"]\nends = { length = 2, unit = "days" }\n')
        )
        found = weighed(file)
        assert shown(found.limits[0].until) == "2026-11-27T00:00-05:00"
        assert isinstance(found.duties[0].outcome, Ahead)

    def test_an_answer_of_the_shop_is_about_the_slip(self) -> None:
        file = file_of(rule("limit", "a", 'must_not = "show"\nfacts = ["shop.licences"]\n'))
        assert [one.about for one in weighed(file).duties] == ["slip"]

    def test_what_must_be_asked_and_must_not_be_kept_is_a_contradiction(self) -> None:
        ask = rule("ask", "a", 'fields = [{ fact = "seller.phone", label = "Phone" }]\n')
        limit = rule("limit", "b", 'must_not = "keep"\nfacts = ["seller.phone"]\n')
        assert weighed(file_of(ask, limit)).contradictions == (
            "seller.phone must be asked and must not be kept: xx-sample/a and xx-sample/b.",
        )
        towards = rule("limit", "b", 'must_not = "keep"\nfacts = ["seller.phone"]\ncopy = ["police"]\n')
        assert weighed(file_of(ask, towards)).contradictions == ()


class TestPaying:
    """Payee, way of handing over, windows against splitting, not before and not later than."""

    @pytest.mark.parametrize(
        ("body", "slip", "says"),
        [
            ('payee = ["seller"]\n', {"payee_kind": "other"}, "Payment to other is not allowed; allowed is seller"),
            ('payee = ["seller"]\n', {"payee_kind": "seller"}, ""),
            ('delivery = ["in-person"]\n', {"delivery": "electronic"}, "Payment handed over electronic is not allowed"),
            ('delivery = ["in-person"]\n', {}, "Whether this payment is allowed is not decided"),
        ],
    )
    def test_payee_and_delivery(self, body: str, slip: dict[str, Any], says: str) -> None:
        (found,) = weighed(file_of(rule("pay", "p", body)), slip=slip).duties
        assert found.says.startswith(says or "A sample rule.")

    WINDOW = file_of(
        rule(
            "pay",
            "p",
            'ceilings = [{ instrument = "cash", amount = "500.00", window = { length = 1, unit = "days" } },\n'
            '{ instrument = "cheque", amount = "900.00", period = "month", by = "shop" }]\n',
        )
    )

    def past(self, minor: int, instrument: str = "cash", **more: Any) -> dict[str, Any]:
        occurred = "2026-11-24T09:00:00-05:00[America/New_York]"
        return {"occurred": occurred, "same_seller": True, "total": usd(minor), "instrument": instrument, **more}

    @pytest.mark.parametrize(
        ("slip", "past", "state"),
        [
            ({"instrument": "cash", "total": usd(30000)}, [20000], "met"),
            ({"instrument": "cash", "total": usd(30000)}, [20001], "broken"),
            ({"instrument": "cash", "total": usd(50001)}, None, "broken"),
            ({"instrument": "cash", "total": usd(30000)}, None, "undecided"),
            ({"instrument": "transfer", "total": usd(900000)}, None, "met"),
            ({"instrument": "transfer", "total": usd(90000), "cash_part": usd(30001)}, [20000], "broken"),
            ({"instrument": "transfer", "total": usd(90000), "cash_part": {"not_known": "later"}}, [], "undecided"),
            ({"instrument": "cheque", "total": usd(90000)}, [100], "met"),
        ],
    )
    def test_payments_of_a_window_count_together(self, slip: Any, past: Any, state: str) -> None:
        more = {} if past is None else {"past": [self.past(minor) for minor in past]}
        assert outcome(self.WINDOW, slip=slip, **more).state == state

    def test_another_currency_cannot_be_compared(self) -> None:
        past = {"past": [self.past(1) | {"total": {"currency": "EUR", "minor": 1}}]}
        slip = {"instrument": "cash", "total": usd(1)}
        assert isinstance(outcome(self.WINDOW, slip=slip, **past), Undecided)

    def test_what_was_paid_before_is_said(self) -> None:
        given = facts(slip={"instrument": "cash", "total": usd(30000)}, past=[self.past(20001)])
        pay = weigh([self.WINDOW], given, at=AT).pay
        assert pay.allows("cash", Money("USD", 30000), AT) == (
            "By law at most USD 500.00 may be paid by cash within 1 day, and USD 300.00 is to be paid,"
            " after USD 200.01 before (Sample Act s. 1)."
        )
        unsaid = weigh([self.WINDOW], facts(), at=AT).pay.allows("cash", Money("USD", 1), AT)
        assert unsaid is not None
        assert "and earlier slips were not stated" in unsaid
        foreign = [self.past(1) | {"total": {"currency": "EUR", "minor": 1}}]
        assert weigh([self.WINDOW], facts(past=foreign), at=AT).pay.allows("cash", Money("USD", 1), AT) is not None

    def test_lowest_ceilings_stand_apart_for_each_window(self) -> None:
        both = file_of(
            rule("pay", "q", 'ceilings = [{ instrument = "cash", amount = "100.00" }]\n'), jurisdiction='"xx-b"'
        )
        found = weigh([self.WINDOW, both], facts(), at=AT)
        assert [(one.amount.minor, one.window) for one in found.pay.ceilings if one.instrument == "cash"] == [
            (10000, ""),
            (50000, "1 day"),
        ]

    @pytest.mark.parametrize(
        ("ceiling", "says"),
        [
            ('by = "shop"', "'by' needs 'window' or 'period'"),
            ('period = "day", window = { length = 1, unit = "days" }', "not both"),
        ],
    )
    def test_faults_of_ceilings(self, ceiling: str, says: str) -> None:
        body = f'ceilings = [{{ instrument = "cash", amount = "1", {ceiling} }}]\n'
        assert says in faults(rule("pay", "p", body))[0]

    def test_not_before_and_not_after(self) -> None:
        body = 'not_before = { length = 2, unit = "days" }\nnot_after = { length = 5, unit = "days" }\n'
        pay = weighed(file_of(rule("pay", "p", body))).pay
        assert (shown(pay.not_before_cautious), shown(pay.not_after_cautious)) == (
            "2026-11-27T00:00-05:00",
            "2026-11-30T00:00-05:00",
        )

    def test_not_before_past_not_after_is_a_contradiction(self) -> None:
        wait = rule("pay", "wait", 'not_before = { length = 5, unit = "days" }\n')
        haste = rule("pay", "haste", 'not_after = { length = 2, unit = "days" }\n')
        (one,) = weighed(file_of(wait, haste)).contradictions
        assert "xx-sample/wait and xx-sample/haste contradict each other" in one

    def test_it_waits_for_an_event(self) -> None:
        report = 'to = "police"\nper = "purchase"\ntitle = "T"\ndue = { same_day = true }\n'
        wait = 'not_before = { length = 3, unit = "working-days", start = "report-sent:police" }\n'
        file = file_of(US_DAYS, recipient("police"), rule("report", "r", report), rule("pay", "p", wait))
        found = weighed(file)
        assert found.pay.waiting_for == "report-sent:police"
        assert "Payment waits for an event" in (found.pay.allows("cash", Money("USD", 1), AT) or "")
        assert next(one for one in found.duties if one.kind == "pay").outcome == Ahead(None)

    def test_only_common_payees_are_left(self) -> None:
        a, b = rule("pay", "a", 'payee = ["seller"]\n'), rule("pay", "b", 'payee = ["principal"]\n')
        found = weighed(file_of(a, b))
        assert found.pay.payees == ()
        assert found.contradictions == ("No payee is left: xx-sample/a and xx-sample/b allow nothing in common.",)

    def test_where_a_payment_rule_does_not_apply_nothing_is_counted(self) -> None:
        home = 'when = [{ fact = "slip.channel", is = "home" }]\n'
        found = weighed(file_of(rule("pay", "p", home + 'payee = ["seller"]\n')), slip={"channel": "kiosk"})
        assert found.pay.payees is None

    def test_a_payment_rule_that_gives_way_limits_nothing(self) -> None:
        strict = rule("pay", "strict", 'displaces = ["loose"]\npayee = ["seller"]\n')
        found = weighed(file_of(strict, rule("pay", "loose", 'payee = ["principal"]\n')))
        assert (found.pay.payees, found.contradictions) == (("seller",), ())


class TestPlaces:
    """No place is left where an item must stay on two premises at once."""

    LICENCE = rule("hold", "shop", HOLD + 'keep_in = "premises"\n')
    BOUGHT = rule("hold", "stall", HOLD + 'keep_in = "premises"\nkeep_of = "purchase"\n')

    def test_away_from_the_shop_two_premises_exclude_each_other(self) -> None:
        found = weighed(file_of(self.LICENCE, self.BOUGHT), slip={"place_kind": "event-place", "channel": "event"})
        assert found.contradictions == (
            "No place is left for item 1: it must stay on the premises of the licence and on those of the purchase:"
            " xx-sample/shop and xx-sample/stall.",
        )

    @pytest.mark.parametrize(
        ("slip", "excluded"),
        [
            ({"place_kind": "licensed-premises", "channel": "counter"}, 0),
            ({"channel": "home"}, 1),
            ({"channel": "home", "place_kind": "licensed-premises"}, 0),
            ({}, 0),
        ],
    )
    def test_at_the_shop_or_where_nobody_said_they_do_not(self, slip: dict[str, Any], excluded: int) -> None:
        assert len(weighed(file_of(self.LICENCE, self.BOUGHT), slip=slip).contradictions) == excluded


class TestKept:
    """What a file keeps because it is the same for every slip changes no answer, and never grows without end."""

    def test_a_file_that_has_kept_too_much_begins_anew(self) -> None:
        file = file_of(rule("hold", "h", HOLD))
        before = weighed(file).record()
        file.kept.update((number, None) for number in range(3_000))
        later = weigh([file], facts(), at=local("2026-11-25T10:15"))
        assert len(file.kept) < 100
        assert later.record() != before
        assert weighed(file).record() == before

    def test_fields_asked_together_are_known_by_what_they_are(self) -> None:
        (field,) = weighed(file_of(rule("ask", "a", 'fields = [{ fact = "slip.staff", label = "Staff" }]\n'))).asks
        one, other = AskedTogether((field,)), AskedTogether((field,))
        assert one == one
        assert one != other
        assert len({one, other}) == 2

    def test_the_moment_of_each_slip_stands_in_its_trace(self) -> None:
        roll = 'readings = [{ reason = "It may roll.", roll = "next-working-day" }]\n'
        file = file_of(US_DAYS, rule("hold", "h", HOLD + roll))
        for clock in ("10:15", "10:16"):
            trace = weigh([file], facts(), at=local(f"2026-11-24T{clock}")).holds[0].trace
            assert {trace["start"], trace["readings"][0]["start"]} == {f"2026-11-24T{clock}:00-05:00"}


class TestOrders:
    """An order of an authority is no part of a purchase, and displaces nothing at one."""

    def test_it_makes_no_duty_and_drops_none(self) -> None:
        body = 'displaces = ["h"]\nforms = ["written"]\nforbids = ["sell"]\nlength = 90\nunit = "days"\n'
        found = weighed(file_of(rule("hold", "h", HOLD), rule("order", "o", body)))
        assert [one.rule for one in found.duties] == ["h"]
        assert found.displaced == ()


class TestMemory:
    """A result that rests on memory says so, for the key that does."""

    def test_the_key_is_named(self) -> None:
        body = HOLD + 'basis_of = { length = "memory", forbids = "text" }\n'
        (found,) = weighed(file_of(rule("hold", "h", body))).duties
        assert found.rests_on_memory == ("length",)
        assert found.says.endswith("Rests on memory: length.")
        assert found.record()["rests_on_memory"] == ["length"]

    def test_a_reading_that_rests_on_memory(self) -> None:
        body = HOLD + 'readings = [{ reason = "It may roll.", basis = "memory", roll = "next-working-day" }]\n'
        (found,) = weighed(file_of(US_DAYS, rule("hold", "h", body))).duties
        assert found.rests_on_memory == ("readings",)

    def test_a_whole_rule(self) -> None:
        body = rule("hold", "h", HOLD).replace('basis = "invented"', 'basis = "memory"')
        (found,) = weighed(file_of(body)).duties
        assert found.says.endswith("Rests on memory: the whole rule.")

    def test_a_rule_cannot_give_way_to_itself(self) -> None:
        assert "cannot give way to itself" in faults(rule("hold", "h", 'displaces = ["h"]\n' + HOLD))[0]


class TestEffect:
    """Effect of broken duties: stops before warns before notes."""

    def test_the_strongest_is_told(self) -> None:
        fields = 'fields = [{ fact = "slip.staff", label = "Staff" }]\n'
        tables = [rule("ask", effect, f'effect = "{effect}"\n' + fields) for effect in ("notes", "warns", "stops")]
        assert weighed(file_of(*tables)).effect() == "stops"
        assert weighed(file_of(*tables[:2])).effect() == "warns"
        assert weighed(file_of(*tables[:1])).effect() == "notes"
        assert weighed(file_of()).effect() is None


class TestUndecided:
    """An undecided condition prints the answer if yes and if no."""

    def test_of_a_hold(self) -> None:
        found = outcome(file_of(rule("hold", "h", HOLD + GOLD)), ring(metal=UNTESTED))
        assert found.if_yes == "The rule applies; its time ends 2026-12-05 00:00 America/New_York."
        assert found.if_no == "The rule does not apply."

    def test_of_a_duty_that_is_undecided_itself(self) -> None:
        file = file_of(rule("pay", "p", 'when = [{ fact = "slip.channel", is = "home" }]\npayee = ["seller"]\n'))
        found = outcome(file)
        assert "whether this rule applies is not decided" in found.reason
        assert (found.if_yes[:30], found.if_no) == ("Whether this payment is allowe", "The rule does not apply.")
