"""What a hold allows all the same: under conditions, after a time, with an authority's permission, within a place."""

import json
from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from ledger.law.duties import weigh
from ledger.law.held import Hold
from ledger.law.holds import Act, Allowed, Forbidden, may, renewed
from ledger.law.rules import RuleFile
from tests.law_samples import US_DAYS, facts, file_of, held, local, rule

HERE = ZoneInfo("America/New_York")
AT = local("2026-11-24T10:15")
LATER = local("2026-11-27T10:00")
PERMISSION = '[[permission]]\nid = "elsewhere"\nabout = "item"\nsays = "Storage elsewhere."\n'
QUESTION = '[[question]]\nid = "ticket"\nabout = "act"\ntype = "flag"\nasks = "Is the ticket shown?"\nwho = "clerk"\n'


def allowing(*permits: str, more: str = "") -> RuleFile:
    listed = ",\n".join(f"  {{ {one} }}" for one in permits)
    body = f'length = 30\nunit = "days"\nforbids = ["sell", "melt", "move", "return"]\nkeep_in = "county"\n{more}'
    return file_of(rule("hold", "h", f"{body}allows = [\n{listed}\n]\n"), PERMISSION, QUESTION, US_DAYS)


def asked(
    file: RuleFile, act: Act, known: Mapping[str, Any] | None = None, files: bool = True, **given: Any
) -> Allowed | Forbidden:
    """The answer to an act, from the hold as a book gives it back."""
    hold = held(weigh([file], facts(**given), at=AT))
    kept = Hold.parse(json.loads(json.dumps(hold.record())))
    assert kept == hold
    return may(act, [kept], (), LATER, facts=known, files=[file] if files else [])


def says(found: Allowed | Forbidden) -> str:
    assert isinstance(found, Forbidden)
    return found.says


class TestConditions:
    """A permit whose conditions are not decided does not permit, and the sentence says what must be known."""

    FILE = allowing(
        'act = "return", to = "original-seller", says = "The seller may have it back.",'
        ' when = [{ fact = "act.identity_checked", is = true }]'
    )

    def test_met(self) -> None:
        assert asked(self.FILE, Act("return", "original-seller", {"identity_checked": True})) == Allowed()

    def test_not_met(self) -> None:
        found = asked(self.FILE, Act("return", "original-seller", {"identity_checked": False}))
        assert says(found).endswith("The seller may have it back: only if act.identity_checked is yes.")

    def test_not_known(self) -> None:
        found = asked(self.FILE, Act("return", "original-seller"))
        wanted = "The seller may have it back, but it must be known first: act.identity_checked was not stated."
        assert says(found).endswith(wanted)

    def test_somebody_else_is_not_meant(self) -> None:
        found = asked(self.FILE, Act("return", "buyer", {"identity_checked": True}))
        assert "have it back" not in says(found)

    def test_without_the_rule_file_nothing_is_allowed(self) -> None:
        found = asked(self.FILE, Act("return", "original-seller", {"identity_checked": True}), files=False)
        assert f"the rule file {self.FILE.digest[:12]} states, which is not at hand" in says(found)

    def test_facts_of_item_and_shop_and_of_the_file_s_own_questions(self) -> None:
        file = allowing(
            'act = "melt", when = [{ fact = "item.metal", is = "gold" }, { fact = "shop.county", is = "Here" },'
            ' { fact = "act.answers.ticket", is = true }, { fact = "act.to", is = "refiner" }]'
        )
        known = {"item": {"metal": "gold"}, "shop": {"county": "Here"}}
        assert asked(file, Act("melt", "refiner", {"answers": {"ticket": True}}), known) == Allowed()
        told = {**known, "act": {"answers": {"ticket": True}}}
        assert asked(file, Act("melt", "refiner"), told) == Allowed()
        assert "act.to was not stated" in says(asked(file, Act("melt", "", {"answers": {"ticket": True}}), known))

    def test_the_version_that_made_the_hold_states_the_conditions(self) -> None:
        permit = 'allows = [{{ act = "sell", when = [{{ fact = "act.taker", is = "{}" }}] }}]\n'
        body = 'from = {}\nlength = 30\nunit = "days"\nforbids = ["sell"]\n'
        file = file_of(
            rule("hold", "h", body.format("2020-01-01") + permit.format("carrier")),
            rule("hold", "h", body.format("2026-11-25") + permit.format("buyer")),
        )
        assert asked(file, Act("sell", "", {"taker": "carrier"})) == Allowed()
        assert isinstance(asked(file, Act("sell", "", {"taker": "buyer"})), Forbidden)
        other = file_of(rule("hold", "other", body.format("2020-01-01") + permit.format("carrier")))
        hold = held(weigh([file], facts(), at=AT))
        found = may(Act("sell"), [Hold.parse({**hold.record(), "digest": other.digest})], (), LATER, files=[other])
        assert "not at hand" in says(found)


class TestAfter:
    """Some acts are allowed only so long after the hold began."""

    BODY = 'act = "sell", says = "After five days", after = { length = 5, unit = "days" }'

    def test_from_that_moment(self) -> None:
        file = allowing(self.BODY)
        hold = held(weigh([file], facts(), at=AT))
        assert may(Act("sell"), [hold], (), local("2026-11-30T00:00")) == Allowed()
        found = may(Act("sell"), [hold], (), local("2026-11-29T23:59"))
        assert says(found).endswith("After five days: from 2026-11-30 00:00 America/New_York.")

    def test_it_waits_with_the_hold(self) -> None:
        file = allowing(self.BODY, more='start = "receipt"\n')
        hold = held(weigh([file], facts(), at=AT))
        found = may(Act("sell"), [Hold.parse(hold.record())], (), local("2027-11-29T23:59"))
        assert says(found).endswith("so long after the hold began, and that waits for the receipt of the goods.")
        later = renewed(hold, file, {"purchase": AT, "receipt": AT}, HERE)
        assert may(Act("sell"), [later], (), local("2026-11-30T00:00")) == Allowed()

    def test_by_the_shop_s_days(self) -> None:
        file = allowing('act = "sell", after = { length = 2, unit = "working-days", calendar = "shop" }')
        assert held(weigh([file], facts(), at=AT)).allows[0].waits
        calendar = {"weekend": ["sunday"], "closed": [], "from": "2026-01-01", "until": "2027-12-31"}
        hold = held(weigh([file], facts(shop={"calendar": calendar}), at=AT))
        assert may(Act("sell"), [hold], (), local("2026-11-27T00:00")) == Allowed()


class TestPermissions:
    """An authority's permission must be in force for the item, the shop or the act."""

    FILE = allowing('act = "move", to = "secure-storage", permission = "elsewhere", says = "Storage elsewhere."')

    @pytest.mark.parametrize("subject", ["item", "shop", "act"])
    def test_in_force(self, subject: str) -> None:
        act, known = Act("move", "secure-storage"), {subject: {"permissions": ["other", "elsewhere"]}}
        assert asked(self.FILE, act, known) == Allowed()

    def test_not_in_force(self) -> None:
        found = asked(self.FILE, Act("move", "secure-storage"), {"item": {"permissions": []}})
        assert "under the permission 'elsewhere', which is not in force" in says(found)

    def test_not_known(self) -> None:
        found = asked(self.FILE, Act("move", "secure-storage"))
        assert "it is not known whether the permission 'elsewhere' is in force" in says(found)


class TestPlaces:
    """A place is seen from the licence, the purchase or the receipt, as the rule says."""

    @pytest.mark.parametrize("keep_of", ["purchase", "receipt"])
    def test_seen_from_elsewhere(self, keep_of: str) -> None:
        file = allowing('act = "sell", to = "nobody"', more=f'keep_of = "{keep_of}"\n')
        event = {"channel": "event"}
        assert "as seen from the place of " + keep_of in says(asked(file, Act("move", "premises"), slip=event))
        near = Act("move", "abroad", {f"to_of_{keep_of}": "municipality"})
        assert asked(file, near, slip=event) == Allowed()
        far = Act("move", "premises", {f"to_of_{keep_of}": "state"})
        assert isinstance(asked(file, far, slip=event), Forbidden)

    @pytest.mark.parametrize("slip", [{"channel": "counter"}, {"channel": "event", "place_kind": "licensed-premises"}])
    def test_at_the_shop_all_are_the_same(self, slip: dict[str, str]) -> None:
        file = allowing('act = "sell", to = "nobody"', more='keep_of = "purchase"\n')
        assert asked(file, Act("move", "county"), slip=slip) == Allowed()
        assert isinstance(asked(file, Act("move", "state"), slip=slip), Forbidden)


class TestImplied:
    """An act that the text does not name is forbidden all the same, and its basis is told."""

    def test_the_basis_is_told(self) -> None:
        stay = '{ act = "hand-over", basis = "memory", says = "It must stay." }'
        more = f'implied = [{stay}, {{ act = "sell", basis = "text" }}]\n'
        file = allowing('act = "return", to = "original-seller"', more=more)
        hold = held(weigh([file], facts(), at=AT))
        assert [one.act for one in hold.implied] == ["hand-over"]
        assert hold.forbids == ("sell", "melt", "move", "return", "hand-over")
        assert hold.rests_on_memory == ("implied",)
        found = asked(file, Act("hand-over"))
        wanted = "The text does not name this act; that it is meant rests on memory: It must stay."
        assert says(found).endswith(wanted)
        assert "does not name" not in says(asked(file, Act("sell")))

    def test_without_a_reason(self) -> None:
        file = allowing('act = "return"', more='implied = [{ act = "hand-over", basis = "guidance" }]\n')
        assert says(asked(file, Act("hand-over"))).endswith("rests on guidance.")
        assert asked(file, Act("return", "anybody")) == Allowed()

    def test_until_it_is_lifted(self) -> None:
        file = file_of(rule("hold", "h", 'until_released = true\nforbids = ["sell"]\n'))
        assert "forbids selling it until it is lifted (rule h" in says(asked(file, Act("sell")))


class TestOldBooks:
    """A hold that a book kept before holds fewer members, and means the same."""

    def test_it_reads(self) -> None:
        old = {
            "rule": "h",
            "jurisdiction": "xx-sample",
            "digest": "0" * 64,
            "line": 1,
            "forbids": ["sell"],
            "keep_in": "",
            "allows": [{"act": "return", "to": "original-seller", "says": ""}],
            "starts_from": "purchase",
            "plain": "2026-12-05T00:00:00-05:00[America/New_York]",
            "cautious": None,
            "waiting_for": "report-sent:x",
            "undecided": None,
            "source": "s",
            "url": "",
            "basis": "text",
            "trace": {},
        }
        hold = Hold.parse(old)
        assert (hold.earliest, hold.keep_of, hold.implied, hold.in_person, hold.recipients) == (
            None,
            "licence",
            (),
            False,
            None,
        )
        assert may(Act("return", "original-seller"), [hold], (), LATER) == Allowed()
        assert "waits" not in hold.allows[0].record()
