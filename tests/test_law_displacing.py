"""Rules that displace others, or yield to them: by name, with the higher law's citation, never by accident."""

from itertools import permutations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.law.displacing import NOTHING, Claim, Node, settle
from ledger.law.duties import Duties, weigh
from ledger.law.rules import GivesWay, RuleFile
from tests.law_samples import facts, file_of, local, ring, rule

AT = local("2026-11-24T10:15")
HOLD = 'length = 10\nunit = "days"\nforbids = ["sell", "melt"]\n'


def claim(name: str, *displaces: str, applies: dict[str, bool | None] | None = None, yields: str = "") -> Claim:
    return Claim(
        name,
        f"Act of {name}",
        applies if applies is not None else {"item/1": True},
        tuple(GivesWay(one, "") for one in displaces),
        (GivesWay(yields, "the higher act"),) if yields else (),
    )


def gone(*claims: Claim) -> set[str]:
    return {f"{node.name} {node.about}" for node in settle(claims).gone}


class TestSettling:
    """Undecided displacement leaves both; a ring leaves all; a displaced rule displaces nothing."""

    def test_nothing_gives_way_where_nothing_is_named(self) -> None:
        assert settle([claim("a"), claim("b")]) is NOTHING
        assert settle([claim("a", "nobody"), claim("b", yields="nobody")]) == NOTHING

    def test_the_named_rule_gives_way(self) -> None:
        found = settle([claim("a", "b"), claim("b")])
        assert found.gone[Node("b", "item/1")].by == "Act of a"
        assert found.doubtful == {}

    def test_a_rule_that_yields_cites_the_higher_law(self) -> None:
        found = settle([claim("a"), claim("b", yields="a")])
        assert found.gone[Node("b", "item/1")].by == "the higher act"

    def test_a_displaced_rule_displaces_nothing(self) -> None:
        assert gone(claim("a", "b"), claim("b", "c"), claim("c")) == {"b item/1"}

    def test_a_ring_leaves_all_standing(self) -> None:
        ring = [claim("a", "b"), claim("b", "c"), claim("c", "a")]
        assert gone(*ring) == set()
        assert settle(ring).doubtful[Node("b", "item/1")] == ["a"]

    @pytest.mark.parametrize("answer", [None, False])
    def test_a_rule_that_does_not_apply_for_certain_displaces_nothing(self, answer: bool | None) -> None:
        found = settle([claim("a", "b", applies={"item/1": answer}), claim("b")])
        assert found.gone == {}
        assert found.doubtful == ({Node("b", "item/1"): ["a"]} if answer is None else {})

    def test_a_rule_of_which_it_is_not_decided_whether_it_gives_way_displaces_nothing(self) -> None:
        found = settle([claim("a", "b", applies={"item/1": None}), claim("b", "c"), claim("c")])
        assert found.gone == {}
        assert found.doubtful[Node("c", "item/1")] == ["b"]

    def test_a_rule_of_two_is_named_by_the_first_in_the_alphabet(self) -> None:
        assert settle([claim("z", "c"), claim("b", "c"), claim("c")]).gone[Node("c", "item/1")].by == "Act of b"


class TestReach:
    """A rule about the slip speaks for all of it; one about an item for the whole only if every item has it."""

    def test_the_slip_reaches_every_item(self) -> None:
        items: dict[str, bool | None] = {"item/1": True, "item/2": True}
        assert gone(claim("a", "b", applies={"slip": True}), claim("b", applies=items)) == {"b item/1", "b item/2"}

    def test_one_item_does_not_reach_another(self) -> None:
        a = claim("a", "b", applies={"item/1": True, "item/2": False})
        assert gone(a, claim("b", applies={"item/1": True, "item/2": True})) == {"b item/1"}

    @pytest.mark.parametrize(("second", "given_way"), [(True, {"b slip"}), (False, set()), (None, set())])
    def test_the_slip_goes_only_with_all_items(self, second: bool | None, given_way: set[str]) -> None:
        a = claim("a", "b", applies={"item/1": True, "item/2": second})
        assert gone(a, claim("b", applies={"slip": True})) == given_way

    def test_no_items_reach_nothing(self) -> None:
        assert gone(claim("a", "b", applies={}), claim("b", applies={"slip": True})) == set()


ANSWERS: st.SearchStrategy[bool | None] = st.sampled_from([True, True, False, None])
NAMES = ("a", "b", "c", "d")


@st.composite
def some_claims(draw: st.DrawFn) -> list[Claim]:
    return [
        Claim(
            name,
            name,
            {about: draw(ANSWERS) for about in ("item/1", "item/2")},
            tuple(GivesWay(one, "") for one in draw(st.sets(st.sampled_from(NAMES), max_size=2)) if one != name),
        )
        for name in NAMES
    ]


class TestLaws:
    """The order of the files does not matter; to know less never drops more."""

    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(some_claims())
    def test_the_order_does_not_matter(self, claims: list[Claim]) -> None:
        assert settle(claims) == settle(claims[::-1])

    @settings(max_examples=300, deadline=None, derandomize=True)
    @given(some_claims(), st.sets(st.tuples(st.sampled_from(NAMES), st.sampled_from(["item/1", "item/2"]))))
    def test_to_know_less_never_drops_more(self, claims: list[Claim], forgotten: set[tuple[str, str]]) -> None:
        less = [
            Claim(
                one.name,
                one.cite,
                {about: None if (one.name, about) in forgotten else answer for about, answer in one.applies.items()},
                one.displaces,
            )
            for one in claims
        ]
        assert settle(less).gone.keys() <= settle(claims).gone.keys()


def layer(place: str, *tables: str, kind: str = "city") -> RuleFile:
    return file_of(*tables, jurisdiction=f'"{place}"', layer=f'"{kind}"')


STATE = layer("xx-state", rule("hold", "h", HOLD), kind="state")
OVER = 'displaces = [{ rule = "xx-state/h", by = "Sample Constitution art. 4" }]\n'


class TestLayers:
    """A rule displaces another of its own file by id, of another file only with the higher law's citation."""

    def over(self, *more: str) -> RuleFile:
        return layer("xx-town", rule("hold", "short", OVER + "".join(more) + HOLD.replace("10", "5")))

    def test_the_hold_is_dropped_and_kept_in_the_record_with_the_citation(self) -> None:
        found = weigh([STATE, self.over()], facts(), at=AT)
        assert [hold.rule for hold in found.holds] == ["short"]
        (one,) = found.displaced
        assert one.says() == "xx-state/h gives way to xx-town/short (Sample Constitution art. 4)."
        assert found.record()["displaced"] == [
            {
                "rule": "h",
                "jurisdiction": "xx-state",
                "about": "item/1",
                "by_rule": "xx-town/short",
                "citation": "Sample Constitution art. 4",
                "source": "Sample Act s. 1",
            }
        ]

    def test_where_the_displacing_rule_does_not_apply_the_other_stays(self) -> None:
        over = self.over('when = [{ fact = "item.metal", is = "gold" }]\n')
        found = weigh([STATE, over], facts(ring(), ring(line=2, metal="silver")), at=AT)
        assert [(hold.rule, hold.line) for hold in found.holds] == [("h", 2), ("short", 1)]

    def test_undecided_displacement_leaves_both_and_says_so(self) -> None:
        over = self.over('when = [{ fact = "item.metal", is = "gold" }]\n')
        found = weigh([STATE, over], facts(ring(metal={"not_known": "not tested"})), at=AT)
        assert [hold.rule for hold in found.holds] == ["h", "short"]
        assert found.duties[0].trace["displacement_undecided"] == ["xx-town/short"]
        assert found.displaced == ()

    def test_within_one_file_by_id(self) -> None:
        file = file_of(
            rule("hold", "general", HOLD),
            rule("hold", "special", 'displaces = ["general"]\n' + HOLD.replace("10", "5"), "Sample Act s. 2"),
        )
        found = weigh([file], facts(), at=AT)
        assert [hold.rule for hold in found.holds] == ["special"]
        assert found.displaced[0].citation == "Sample Act s. 2"

    def test_a_rule_yields_to_another_law(self) -> None:
        body = 'yields_to = [{ rule = "xx-state/h", by = "Town Code 3" }]\n' + HOLD
        town = layer("xx-town", rule("hold", "own", body))
        assert [hold.rule for hold in weigh([STATE, town], facts(), at=AT).holds] == ["h"]
        assert [hold.rule for hold in weigh([town], facts(), at=AT).holds] == ["own"]

    @pytest.mark.parametrize("order", list(permutations(range(3))))
    def test_the_order_of_the_files_does_not_matter(self, order: tuple[int, ...]) -> None:
        county = layer("xx-county", rule("hold", "c", HOLD.replace("10", "20")), kind="county")
        listed = [STATE, county, self.over()]
        expected: Duties = weigh(listed, facts(), at=AT)
        found: dict[str, Any] = weigh([listed[number] for number in order], facts(), at=AT).record()
        assert found == expected.record()
