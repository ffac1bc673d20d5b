"""What a rule asks of one purchase, kind by kind: met, broken, undecided or ahead."""

from typing import Any, Final

import pytest

from ledger.errors import InputError
from ledger.law.answers import Broken, Met, Undecided
from ledger.law.duties import Duties, weigh
from ledger.law.rules import RuleFile
from ledger.measures import Money
from tests.law_samples import facts, file_of, local, recipient, ring, rule, shown

AT = local("2026-11-24T10:15")
USD = "USD"
HOLD = 'length = 10\nunit = "days"\nforbids = ["sell", "melt"]\n'


def usd(minor: int) -> dict[str, Any]:
    return {"currency": USD, "minor": minor}


def outcome(file: RuleFile, given_facts: dict[str, Any]) -> Any:
    (found,) = weigh([file], given_facts, at=AT).duties
    return found.outcome


class TestAsking:
    """A missing field is broken; one said to be not known must be answered by a person, unless a reason is enough."""

    FILE = file_of(
        rule(
            "ask",
            "seller",
            'fields = [\n  { fact = "seller.name", label = "Name" },\n'
            '  { fact = "seller.phone", label = "Telephone", need = "if-known" },\n'
            '  { fact = "seller.captures.print", label = "Print", reason_allowed = true },\n]\n',
        )
    )
    NUMBERS = file_of(rule("ask", "d", 'fields = [{ fact = "seller.document.number", label = "Number" }]\n'))
    ITEMS = file_of(
        rule(
            "ask",
            "lots",
            'when = [{ fact = "item.kind", is = "lot" }]\nfields = [{ fact = "item.pictures", label = "Pictures" }]\n',
        )
    )

    def of(self, **seller: Any) -> Any:
        return outcome(self.FILE, facts(seller=seller))

    def test_all_there(self) -> None:
        assert self.of(name="A", captures={"print": True}) == Met()

    def test_a_reason_is_enough_only_where_the_rule_says_so(self) -> None:
        assert self.of(name="A", captures={"print": {"not_known": "in plaster"}}) == Met()
        found = self.of(name={"not_known": "refused"}, captures={"print": True})
        assert isinstance(found, Undecided)
        assert "Name (seller.name is not known: refused)" in found.reason

    @pytest.mark.parametrize("name", ["", "  ", None])
    def test_what_is_missing_is_named(self, name: str | None) -> None:
        assert self.of(name=name) == Broken("The record lacks: Name and Print.")

    def test_every_document_must_have_its_number(self) -> None:
        documents = [{"type": "passport", "number": "1"}, {"type": "other"}]
        assert outcome(self.NUMBERS, facts(seller={"documents": documents[:1]})) == Met()
        assert outcome(self.NUMBERS, facts(seller={"documents": documents})) == Broken("The record lacks: Number.")
        none: dict[str, Any]
        for none in ({}, {"documents": []}):
            assert isinstance(outcome(self.NUMBERS, facts(seller=none)), Broken)
        unknown = outcome(self.NUMBERS, facts(seller={"documents": {"not_known": "left at home"}}))
        assert isinstance(unknown, Undecided)

    def test_no_picture_is_no_answer_and_no_mark_is_one(self) -> None:
        assert isinstance(outcome(self.ITEMS, facts(ring(kind="lot", pictures=0))), Broken)
        assert outcome(self.ITEMS, facts(ring(kind="lot", pictures=2))) == Met()
        marks = file_of(rule("ask", "m", 'fields = [{ fact = "item.marks", label = "Marks" }]\n'))
        assert outcome(marks, facts(ring(marks=[]))) == Met()
        assert isinstance(outcome(marks, facts(ring())), Broken)

    def test_a_rule_that_may_not_apply_is_undecided_if_it_would_be_broken(self) -> None:
        unknown = {"not_known": "bag is sealed"}
        assert outcome(self.ITEMS, facts(ring(kind=unknown, pictures=2))) == Met()
        found = outcome(self.ITEMS, facts(ring(kind=unknown, pictures=0)))
        assert found == Undecided(
            "It is not decided whether this rule applies: item.kind is not known: bag is sealed",
            "The record lacks: Pictures.",
            "The rule does not apply.",
        )

    def test_a_rule_that_may_not_apply_stays_undecided_if_its_answer_is(self) -> None:
        file = file_of(rule("pay", "p", 'when = [{ fact = "slip.channel", is = "kiosk" }]\ninstruments = ["cheque"]\n'))
        found = outcome(file, facts(slip={}))
        assert isinstance(found, Undecided)
        assert found.reason.endswith("and whether this rule applies is not decided: slip.channel was not stated")

    def test_fields_of_a_lot_are_asked_of_the_lot_alone(self) -> None:
        duties = weigh([self.ITEMS], facts(ring(kind="single"), ring(line=2, kind="lot", pictures=1)), at=AT)
        assert [(one.fact, one.subjects) for one in duties.asks] == [("item.pictures", ("item/2",))]
        assert weigh([self.ITEMS], facts(ring(kind="single")), at=AT).asks == ()

    def test_before_there_is_an_article_its_fields_are_known_already(self) -> None:
        duties = weigh([self.ITEMS], {"seller": {"name": "A"}}, at=AT)
        assert [one.fact for one in duties.asks] == ["item.pictures"]
        assert duties.duties == ()

    def test_each_of_two_sellers_is_asked(self) -> None:
        given_facts = facts(seller={"name": "A", "captures": {"print": True}}, co_sellers=[{"name": "B", "party": 3}])
        found = weigh([self.FILE], given_facts, at=AT)
        assert [(one.about, one.state) for one in found.duties] == [("seller", "met"), ("party/3", "broken")]
        assert found.about("party/3") == found.duties[1:]


class TestDocuments:
    """One document of the first kind, or two different ones; each counts once."""

    FILE = file_of(
        rule(
            "documents",
            "identity",
            'any_of = [\n  { says = "a government picture document", '
            "documents = [{ government = true, photo = true, current = true }] },\n"
            '  { says = "two others, one descriptive", documents = [{ descriptive = true }, {}] },\n'
            '  { says = "a seller the shop knows", personally_known = true },\n]\n',
        )
    )
    CARD: Final = {"type": "student-id", "government": False, "photo": True, "descriptive": False, "current": True}
    LICENCE: Final = {"type": "driver-licence", "government": True, "photo": True, "descriptive": True, "current": True}

    def of(self, *documents: Any, known: Any = False) -> Any:
        return outcome(self.FILE, facts(seller={"documents": list(documents), "personally_known": known}))

    def test_one_licence(self) -> None:
        assert self.of(self.LICENCE) == Met()

    def test_one_card_is_not_enough_and_says_what_is(self) -> None:
        found = self.of(self.CARD)
        assert isinstance(found, Broken)
        assert found.reason.endswith(
            "wanted is a government picture document or two others, one descriptive or a seller the shop knows."
        )

    def test_an_expired_licence_and_a_card_are_two_others_in_either_order(self) -> None:
        old = self.LICENCE | {"current": False}
        assert self.of(old, self.CARD) == self.of(self.CARD, old) == Met()
        assert isinstance(self.of(old), Broken)

    def test_a_seller_the_shop_knows(self) -> None:
        assert self.of(known=True) == Met()

    def test_what_is_not_known_of_a_document_does_not_settle_it(self) -> None:
        assert isinstance(self.of(self.LICENCE | {"current": {"not_known": "worn off"}}), Undecided)
        assert isinstance(self.of("a paper"), Undecided)
        assert isinstance(outcome(self.FILE, facts(seller={"personally_known": False})), Broken)
        found = outcome(self.FILE, facts(seller={"documents": {"not_known": "x"}, "personally_known": False}))
        assert isinstance(found, Undecided)
        nobody_said = outcome(self.FILE, facts(seller={"documents": [self.CARD]}))
        assert isinstance(nobody_said, Undecided)

    def test_some_documents_must_be_there_whatever_the_way(self) -> None:
        body = 'any_of = [{ says = "any two", documents = [{}, {}] }]\nalways = [{ types = ["passport"] }]\n'
        file = file_of(rule("documents", "d", body))
        passport = {"type": "passport"}
        assert outcome(file, facts(seller={"documents": [passport, self.CARD]})) == Met()
        assert isinstance(outcome(file, facts(seller={"documents": [self.LICENCE, self.CARD]})), Broken)
        assert isinstance(outcome(file, facts(seller={"documents": [{"type": None}, self.CARD]})), Undecided)


class TestRefusing:
    """A refusal is recorded only as far as every refusing rule lets it."""

    FILE = file_of(
        rule(
            "refuse",
            "age",
            'when = [{ fact = "seller.age", below = 18 }]\nmay_record = ["date", "reason", "count"]\n',
        ),
        rule(
            "refuse",
            "numbers",
            'when = [{ fact = "item.serial_obliterated", is = true }]\nmay_record = ["reason", "items"]\n',
        ),
        rule(
            "refuse",
            "warned",
            'effect = "warns"\nwhen = [{ fact = "slip.channel", is = "kiosk" }]\nmay_record = ["reason"]\n',
        ),
    )

    def weigh(self, age: Any, gone: bool, channel: str = "counter") -> Duties:
        item = ring(serial_obliterated=gone)
        return weigh([self.FILE], facts(item, seller={"age": age}, slip={"channel": channel}), at=AT)

    def test_nothing_refuses(self) -> None:
        found = self.weigh(18, False)
        assert found.refusal is None
        assert {one.state for one in found.duties} == {"met"}
        assert found.stopping() == found.undecided() == ()

    def test_two_rules_refuse_and_what_both_let_may_be_kept(self) -> None:
        refusal = self.weigh(17, True).refusal
        assert refusal is not None
        assert refusal.may_record == ("reason",)
        assert refusal.rules == ("xx-sample/age", "xx-sample/numbers")
        assert refusal.reasons == ("A sample rule (Sample Act s. 1).",) * 2

    def test_one_rule_refuses(self) -> None:
        refusal = self.weigh(17, False).refusal
        assert refusal is not None
        assert refusal.may_record == ("date", "reason", "count")

    def test_a_rule_that_warns_does_not_refuse(self) -> None:
        found = self.weigh(18, False, "kiosk")
        assert found.refusal is None
        assert found.stopping() == ()
        assert [one.state for one in found.duties if one.rule == "warned"] == ["broken"]

    def test_an_age_that_is_not_known_is_undecided_and_says_what_follows(self) -> None:
        found = self.weigh({"not_known": "no birth date"}, False)
        (undecided,) = found.undecided()
        assert undecided.outcome == Undecided(
            "It is not decided whether this must be refused: seller.age is not known: no birth date",
            "A sample rule.",
            "It may be bought.",
        )
        assert found.refusal is None


class TestPaying:
    """Instruments are those every layer allows, ceilings the lowest; an amount not known is undecided."""

    STATE = file_of(
        rule("pay", "ways", 'instruments = ["cash", "cheque", "transfer"]\n'),
        rule("pay", "ceiling", 'ceilings = [{ instrument = "cash", amount = "500.00" }]\n'),
    )
    CITY = file_of(
        rule(
            "pay",
            "city",
            'instruments = ["cheque", "cash"]\n'
            'ceilings = [{ instrument = "cash", amount = "500", inclusive = false }]\n',
        ),
        layer='"city"',
        jurisdiction='"xx-city"',
    )

    @staticmethod
    def slip(instrument: Any, total: Any) -> dict[str, Any]:
        return facts(slip={"instrument": instrument, "total": total})

    @pytest.mark.parametrize(
        ("instrument", "minor", "states"),
        [
            ("cash", 50_000, ["met", "met", "broken"]),
            ("cash", 49_999, ["met", "met", "met"]),
            ("cash", 50_001, ["met", "broken", "broken"]),
            ("transfer", 50_001, ["met", "met", "broken"]),
            ("card", 1, ["broken", "met", "broken"]),
        ],
    )
    def test_each_rule_speaks_for_itself(self, instrument: str, minor: int, states: list[str]) -> None:
        found = weigh([self.CITY, self.STATE], self.slip(instrument, usd(minor)), at=AT)
        assert [one.state for one in found.duties] == states

    def test_together_the_stricter_wins(self) -> None:
        pay = weigh([self.STATE, self.CITY], self.slip("cash", usd(1)), at=AT).pay
        assert pay.instruments == ("cash", "cheque")
        assert [(one.instrument, one.amount, one.inclusive) for one in pay.ceilings] == [
            ("cash", Money("USD", 50_000), False)
        ]
        assert pay.allows("cash", Money("USD", 49_999), AT) is None
        assert pay.allows("cheque", Money("USD", 99_999_999), AT) is None
        assert (pay.allows("cash", Money("USD", 50_000), AT) or "").startswith(
            "By law less than USD 500.00 may be paid"
        )
        assert (pay.allows("cash", Money("EUR", 1), AT) or "").startswith("By law")
        assert (pay.allows("transfer", Money("USD", 1), AT) or "").startswith("Payment by transfer is not allowed")

    def test_what_is_not_known_is_undecided(self) -> None:
        unknown = {"not_known": "not agreed yet"}
        found = weigh([self.STATE], self.slip(unknown, usd(1)), at=AT)
        assert [one.state for one in found.duties] == ["undecided", "undecided"]
        found = weigh([self.STATE], self.slip("cash", unknown), at=AT)
        assert [one.state for one in found.duties] == ["met", "undecided"]
        found = weigh([self.STATE], self.slip("cash", {"currency": "EUR", "minor": 1}), at=AT)
        assert found.duties[1].says.startswith("EUR 0.01 cannot be compared: at most USD 500.00")

    def test_no_rule_limits_nothing(self) -> None:
        pay = weigh([file_of()], facts(), at=AT).pay
        assert pay.instruments is None
        assert pay.allows("card", Money("EUR", 1), AT) is None

    def test_nothing_left_in_common_is_a_contradiction_and_nothing_is_allowed(self) -> None:
        other = file_of(rule("pay", "only", 'instruments = ["money-order"]\n'), layer='"county"', jurisdiction='"xx-c"')
        found = weigh([self.STATE, other], self.slip("cash", usd(1)), at=AT)
        assert found.pay.instruments == ()
        assert found.contradictions == ("No way to pay is left: xx-sample/ways and xx-c/only allow nothing in common.",)
        assert "since the rules contradict each other" in (found.pay.allows("cash", Money("USD", 1), AT) or "")

    def test_a_ceiling_of_another_currency_stays_beside(self) -> None:
        euros = file_of(
            rule("pay", "e", 'ceilings = [{ instrument = "cash", amount = "1" }]\n'),
            currency='"EUR"',
            layer='"city"',
            jurisdiction='"xx-e"',
        )
        pay = weigh([self.STATE, euros], self.slip("cash", usd(1)), at=AT).pay
        assert [one.amount.currency for one in pay.ceilings] == ["USD"]

    def test_payment_that_must_wait_is_ahead_and_not_allowed_before(self) -> None:
        file = file_of(rule("pay", "wait", 'not_before = { length = 2, unit = "days" }\n'))
        found = weigh([file], facts(), at=AT)
        assert shown(found.pay.not_before_cautious) == "2026-11-27T00:00-05:00"
        assert found.duties[0].state == "ahead"
        assert found.pay.allows("cash", Money("USD", 1), local("2026-11-27T00:00")) is None
        assert found.pay.allows("cash", Money("USD", 1), AT) == (
            "Payment may be made from 2026-11-27T00:00:00-05:00[America/New_York] (Sample Act s. 1)."
        )


class TestDeclaring:
    """The seller's statement contains the words that the law fixes, however they are broken into lines."""

    FILE = file_of(rule("declare", "words", 'words = "I own these goods."\nlanguage = "en"\n'))

    def of(self, **slip: Any) -> Any:
        return outcome(self.FILE, facts(slip=slip))

    def test_outcomes(self) -> None:
        assert self.of(declaration={"text": "Today: I own\n these  goods. Signed."}) == Met()
        assert self.of(declaration="I own these goods.") == Met()
        assert isinstance(self.of(declaration={"text": "They are mine."}), Broken)
        assert isinstance(self.of(), Undecided)

    def test_the_words_are_handed_out_to_be_printed(self) -> None:
        (words,) = weigh([self.FILE], facts(), at=AT).declarations
        assert (words.words, words.language, words.signed) == ("I own these goods.", "en", True)
        other = file_of(rule("declare", "w", 'when = [{ fact = "slip.channel", is = "parcel" }]\nwords = "Sworn."\n'))
        assert weigh([other], facts(slip={"channel": "counter"}), at=AT).declarations == ()


class TestLimits:
    """What must not be asked is broken when it is recorded; what must not be shown leaves a report."""

    FILE = file_of(
        recipient("sheriff"),
        recipient("police"),
        rule("ask", "who", 'fields = [{ fact = "seller.name", label = "N" }, { fact = "seller.race", label = "R" }]\n'),
        rule("limit", "no-race", 'must_not = "ask"\nfacts = ["seller.race"]\n'),
        rule("limit", "hidden", 'must_not = "show"\nfacts = ["seller.name"]\nto = "sheriff"\n'),
        *(
            rule(
                "report",
                f"to-{to}",
                f'to = "{to}"\nper = "purchase"\ndue = {{ same_day = true }}\ntitle = "T"\nasks = ["who"]\n',
            )
            for to in ("sheriff", "police")
        ),
    )

    def test_what_must_not_be_asked(self) -> None:
        found = weigh([self.FILE], facts(seller={"name": "A", "race": "x"}), at=AT)
        (limit,) = [one for one in found.duties if one.rule == "no-race"]
        assert limit.outcome == Broken("This must not be asked and is recorded: seller.race.")
        without = weigh([self.FILE], facts(seller={"name": "A"}), at=AT)
        assert next(one for one in without.duties if one.rule == "no-race").outcome == Met()

    def test_must_against_must_not_names_both_rules(self) -> None:
        found = weigh([self.FILE], facts(), at=AT)
        assert found.contradictions == (
            "seller.race must be asked and must not be asked: xx-sample/who and xx-sample/no-race.",
        )

    def test_a_field_that_must_not_be_shown_leaves_that_recipient_s_report(self) -> None:
        found = weigh([self.FILE], facts(), at=AT)
        fields = {one.recipient: [field.fact for field in one.fields] for one in found.reports}
        assert fields == {"sheriff": ["seller.race"], "police": ["seller.name", "seller.race"]}
        assert [(one.must_not, one.fact, one.to) for one in found.limits] == [
            ("ask", "seller.race", ""),
            ("show", "seller.name", "sheriff"),
        ]

    def test_a_limit_that_does_not_apply_limits_nothing(self) -> None:
        file = file_of(
            rule(
                "limit",
                "l",
                'when = [{ fact = "slip.channel", is = "kiosk" }]\nmust_not = "keep"\nfacts = ["slip.place"]\n',
            )
        )
        assert weigh([file], facts(slip={"channel": "home"}), at=AT).limits == ()


class TestRetaining:
    """Kept at least until the latest, destroyed at the latest by the earliest, each class for itself."""

    @staticmethod
    def keeps(body: str, **head: str) -> RuleFile:
        return file_of(rule("retain", "k", body), **head)

    def test_bounds_of_several_layers(self) -> None:
        state = self.keeps(
            'classes = ["seller", "print"]\nat_least = { length = 2, unit = "years" }\n'
            'at_most = { length = 6, unit = "years" }\n'
        )
        city = self.keeps(
            'classes = ["print"]\nat_most = { length = 1, unit = "years" }\n', layer='"city"', jurisdiction='"xx-city"'
        )
        found = weigh([city, state], facts(), at=AT)
        kept = {one.cls: (shown(one.at_least), shown(one.at_most)) for one in found.retention}
        assert kept == {
            "seller": ("2028-11-25T00:00-05:00", "2032-11-25T00:00-05:00"),
            "print": ("2028-11-25T00:00-05:00", "2027-11-25T00:00-05:00"),
        }
        assert found.contradictions[0].startswith("Data of class print must be kept until 2028-11-25")

    def test_a_period_that_waits_has_no_end(self) -> None:
        file = self.keeps(
            'classes = ["seller"]\nat_least = { length = 2, unit = "years" }\nstart = "report-sent:police"\n'
        )
        (kept,) = weigh([file], facts(), at=AT).retention
        assert (kept.at_least, kept.waiting_for) == (None, "report-sent:police")

    def test_a_condition_that_is_not_known_leaves_it_standing(self) -> None:
        file = self.keeps(
            'when = [{ fact = "slip.channel", is = "home" }]\nclasses = ["item"]\n'
            'at_most = { length = 2, unit = "days" }\n'
        )
        found = weigh([file], facts(), at=AT)
        assert isinstance(found.duties[0].outcome, Undecided)
        assert shown(found.retention[0].at_most) == "2026-11-27T00:00-05:00"


@pytest.mark.parametrize("lines", [(1, 1), (0, 1), (-1, 1)])
def test_two_items_never_share_a_line(lines: tuple[int, int]) -> None:
    """A hold names its item by the line: one that is doubled or below one would free or hold another."""
    goods = [{"line": line, "metal": "gold"} for line in lines]
    with pytest.raises(InputError, match="items"):
        weigh([file_of()], {"items": goods}, at=local("2026-11-24T10:15"))
