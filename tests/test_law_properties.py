"""What must hold whatever the rules and facts: layers only add, order is nothing, less known is never less strict."""

import json
from copy import deepcopy
from datetime import datetime
from functools import cache
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger import shipped
from ledger.law import cases
from ledger.law import files as rule_files
from ledger.law.counting import utc
from ledger.law.duties import Duties, weigh
from ledger.law.rules import RuleFile
from tests.law_retelling import retell
from tests.law_samples import US_DAYS, file_of, local, recipient, rule

RULES_FOLDER = shipped.folder("sample_config") / "rules"
AT = local("2026-11-24T10:15")
QUESTION = """
[[question]]
id = "special-for-age"
about = "item"
type = "flag"
asks = "Is it specially valued for its age?"
who = "clerk"

[[tally]]
id = "cash"
of = "cash"
by = "seller"
window = { length = 1, unit = "days" }
"""
GOLD = '{ fact = "item.metal", is = "gold" }'
FINE = '{ any = [{ fact = "item.fineness", at_least = "10 karat" }, { fact = "item.marks", has = "STERLING" }] }'
OLD = '{ fact = "item.age_years", at_least = 30 }, { fact = "item.answers.special-for-age", is = true }'
DEALER = '{ fact = "seller.kind", is = "dealer" }'
SEND = 'to = "police"\nper = "purchase"\ntitle = "T"\n'


def hold(length: int, unit: str = "days", more: str = "") -> str:
    return f'length = {length}\nunit = "{unit}"\nforbids = ["sell", "melt"]\n{more}'


POOL = {
    "short": rule("hold", "short", hold(5, more=f"when = [{GOLD}]\n")),
    "long": rule("hold", "long", hold(30, more=f"when = [{OLD}]\n")),
    "working": rule("hold", "working", hold(5, "working-days", f"unless = [{DEALER}]\n")),
    "hours": rule("hold", "hours", hold(72, "hours")),
    "waits": rule("hold", "waits", hold(7, more='start = "report-received:police"\n')),
    "report": rule("report", "report", SEND + 'due = { next = "working-day", by = "12:00" }\n'),
    "day": rule("report", "day", SEND.replace("purchase", "day") + "due = { same_day = true }\n"),
    "seller": rule(
        "ask",
        "seller",
        'fields = [{ fact = "seller.name", label = "Name" }, '
        '{ fact = "seller.phone", label = "Phone", need = "if-known" }, '
        '{ fact = "seller.captures.print", label = "Print", reason_allowed = true,'
        ' prefer = ["right-thumb", "other-finger"] }, '
        '{ fact = "seller.workplace", label = "Work", instead = ["seller.email"] }]\n',
    ),
    "article": rule("ask", "article", f'when = [{FINE}]\nfields = [{{ fact = "item.marks", label = "Marks" }}]\n'),
    "identity": rule(
        "documents",
        "identity",
        'any_of = [{ says = "one", documents = [{ government = true, photo = true }] },\n'
        '{ says = "two", documents = [{ current = true }, { types = ["passport"] }], fields = ["seller.sex"] },\n'
        '{ says = "known", personally_known = true }]\n',
    ),
    "words": rule("declare", "words", 'words = "I own it."\nsworn = true\n'),
    "paper": rule("form", "paper", 'title = "F"\nsigned_by = ["seller"]\nmedium = ["cards", "electronic"]\n'),
    "minor": rule("refuse", "minor", 'when = [{ fact = "seller.age", below = 18 }]\nmay_record = ["date", "reason"]\n'),
    "dear": rule(
        "refuse",
        "dear",
        'when = [{ fact = "item.price", share_of = "item.melt_value", above = "100 %" }]\nmay_record = ["reason"]\n',
    ),
    "split": rule("refuse", "split", 'when = [{ fact = "tally.cash", above = "500" }]\nmay_record = ["reason"]\n'),
    "race": rule("limit", "race", 'must_not = "ask"\nfacts = ["seller.race"]\n'),
    "ways": rule(
        "pay",
        "ways",
        'instruments = ["cash", "cheque"]\nceilings = [{ instrument = "cash", amount = "500", inclusive = false }]\n',
    ),
    "wait": rule(
        "pay",
        "wait",
        'when = [{ fact = "seller.address.city", differs_from= "shop.municipality" }]\npayee = ["seller"]\n'
        'not_before = { length = 3, unit = "working-days" }\nnot_after = { length = 30, unit = "days" }\n'
        'ceilings = [{ instrument = "cheque", amount = "900", window = { length = 2, unit = "days" } }]\n',
    ),
    "keep": rule("retain", "keep", 'classes = ["seller", "item"]\nat_least = { length = 2, unit = "years" }\n'),
    "drop": rule("retain", "drop", 'classes = ["print"]\nat_most = { length = 90, unit = "days" }\n'),
    "dealers": rule("exempt", "dealers", f'rules = ["short", "keep"]\nwhen = [{DEALER}]\n'),
    "coins": rule("exempt", "coins", 'when = [{ fact = "item.goods", in = ["coin", "bullion"] }]\n'),
    "metals": rule("cover", "metals", f'when = [{{ fact = "item.metal", in = ["gold", "silver"] }}, {FINE}]\n'),
    "some": rule("cover", "some", 'rules = ["hours"]\nwhen = [{ fact = "slip.channel", is_not = "home" }]\n'),
}
"""Rules of every kind, of which a file has some."""
NAMED = {"dealers": ("short", "keep"), "some": ("hours",)}
"""rules that a rule of the pool names, and that must stand beside it"""
KINDS = sorted(POOL)
PLACES = ("xx-a", "xx-b", "xx-c")
RULES = tuple(name for name in KINDS if name not in ("dealers", "coins", "metals", "some"))


@cache
def layer(place: str, names: frozenset[str], displaced: str = "") -> RuleFile:
    """A file of one place with those rules; its own `short` and `ways` displace a rule of another place."""
    named = [name for one, names_ in NAMED.items() if one in names for name in names_]
    tables = [POOL[name] for name in sorted(names.union(named))]
    if displaced:
        by = f'displaces = [{{ rule = "{displaced}", by = "Act s. 9" }}]\n'
        tables = [one.replace('basis = "invented"\n', f'basis = "invented"\n{by}') for one in tables]
    return file_of(US_DAYS, QUESTION, recipient("police"), *tables, jurisdiction=f'"{place}"')


def layers(least: int = 1) -> st.SearchStrategy[list[RuleFile]]:
    """Some files of different places."""
    names = st.frozensets(st.sampled_from(KINDS), min_size=3, max_size=8)
    return st.lists(names, min_size=least, max_size=3).map(
        lambda chosen: [layer(place, one) for place, one in zip(PLACES, chosen, strict=False)]
    )


def maybe(*values: Any) -> st.SearchStrategy[Any]:
    """A fact that is stated, or said to be not known, or not stated at all."""
    return st.sampled_from([*values, *values, {"not_known": "nobody looked"}, None])


def stated(**members: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(members).map(
        lambda table: {name: value for name, value in table.items() if value is not None}
    )


def usd(minor: int) -> dict[str, Any]:
    return {"currency": "USD", "minor": minor}


PASSPORT = {"type": "passport", "government": True, "photo": True, "current": True}
CARD = {"type": "other", "current": True, "government": False}
ITEM = stated(
    kind=st.just("single"),
    goods=maybe("jewelry", "coin"),
    metal=maybe("gold", "silver", "base"),
    fineness_ppm=maybe(375_000, 416_667, 585_000),
    marks=maybe([], ["Sterling"], ["14K"]),
    age_years=maybe(3, 30),
    price=maybe(usd(100), usd(101)),
    melt_value=maybe(usd(100)),
    answers=maybe({"special-for-age": True}, {"special-for-age": False}),
)
SELLER = stated(
    kind=maybe("person", "dealer"),
    name=maybe("A. Sample"),
    phone=maybe("1"),
    age=maybe(17, 18),
    sex=maybe("f"),
    race=maybe("x"),
    email=maybe("a@b.example"),
    workplace=maybe("mill"),
    sworn=maybe(True, False),
    personally_known=maybe(True, False),
    address=maybe({"city": "Oak"}, {"city": "ELM"}),
    documents=maybe([PASSPORT], [CARD], [CARD, {"type": "passport"}], []),
    captures=maybe({"print": True}, {"print": {"finger": "right-thumb"}}, {"print": {"finger": "other-finger"}}),
)
SLIP = stated(
    channel=maybe("counter", "home"),
    instrument=maybe("cash", "cheque", "card"),
    total=maybe(usd(49_999), usd(50_000), usd(90_001)),
    payee_kind=maybe("seller", "other"),
    cash_part=maybe(None, usd(1)),
    declaration=maybe({"text": "I  own it.", "signed": True}, {"text": "Mine.", "signed": False}),
)
PAST = {"same_seller": True, "instrument": "cash", "total": usd(100)}
FACTS = stated(
    shop=stated(municipality=maybe("Elm"), record_medium=maybe("cards", "bound-book")),
    slip=SLIP,
    seller=SELLER,
    items=st.lists(ITEM, min_size=1, max_size=2),
    past=maybe([], [{**PAST, "occurred": "2026-11-24T09:00:00-05:00[America/New_York]"}]),
)
MOMENTS = st.datetimes(datetime(2026, 2, 1), datetime(2027, 10, 1)).map(
    lambda moment: local(moment.replace(microsecond=0).isoformat())
)
STRICT = ("hold", "report", "retain")


def keys(found: Duties) -> set[tuple[str, str, str]]:
    return {(one.jurisdiction, one.rule, one.about) for one in found.duties}


def free(found: Duties, line: int) -> tuple[int, float]:
    """How late an item is free: never while a clock has not started."""
    leave = found.leave(line)
    if leave.cautious is None:
        return (2 if leave.waiting_for else 0), 0.0
    return 1, utc(leave.cautious).timestamp()


class TestLayers:
    """Adding a layer never frees an item earlier or drops a duty unless it displaces by name."""

    @settings(max_examples=40, deadline=None, derandomize=True)
    @given(layers(2), FACTS, MOMENTS)
    def test_a_further_layer_only_adds(self, files: list[RuleFile], facts: dict[str, Any], at: datetime) -> None:
        before, after = weigh(files[:-1], facts, at=at), weigh(files, facts, at=at)
        told = {(one.jurisdiction, one.rule, one.about): one.record() for one in after.duties}
        assert {key: told[key] for key in keys(before)} == {
            (one.jurisdiction, one.rule, one.about): one.record() for one in before.duties
        }
        assert all(free(after, line) >= free(before, line) for line in range(1, len(facts["items"]) + 1))
        assert (after.refusal is not None) >= (before.refusal is not None)
        assert {one.fact for one in after.asks if one.need == "must"} >= {
            one.fact for one in before.asks if one.need == "must"
        }

    @settings(max_examples=25, deadline=None, derandomize=True)
    @given(layers(1), st.sampled_from(RULES), st.sampled_from(RULES), FACTS)
    def test_only_what_is_named_is_dropped(
        self, files: list[RuleFile], own: str, other: str, facts: dict[str, Any]
    ) -> None:
        over = layer("xx-over", frozenset({own}), f"xx-a/{other}")
        before, after = weigh(files, facts, at=AT), weigh([*files, over], facts, at=AT)
        gone = keys(before) - keys(after)
        assert gone == {(one.jurisdiction, one.rule, one.about) for one in after.displaced}
        assert {(place, name) for place, name, _ in gone} <= {("xx-a", other)}

    @settings(max_examples=25, deadline=None, derandomize=True)
    @given(layers(2), st.sampled_from(RULES), FACTS)
    def test_the_order_of_the_layers_does_not_matter(
        self, files: list[RuleFile], other: str, facts: dict[str, Any]
    ) -> None:
        files = [*files, layer("xx-over", frozenset({"hours"}), f"xx-a/{other}")]
        expected = json.dumps(weigh(files, facts, at=AT).record())
        assert {json.dumps(weigh(order, facts, at=AT).record()) for order in permutations(files)} == {expected}


def forgotten(facts: dict[str, Any], subject: str, name: str) -> dict[str, Any]:
    less = deepcopy(facts)
    for table in less["items"] if subject == "item" else [less.get(subject, {})]:
        table.pop(name, None)
    return less


CONDITIONS = [
    ("item", "metal"), ("item", "goods"), ("item", "marks"), ("item", "fineness_ppm"), ("item", "answers"),
    ("item", "age_years"), ("item", "melt_value"), ("seller", "kind"), ("seller", "age"), ("seller", "address"),
    ("slip", "channel"), ("slip", "instrument"), ("shop", "municipality"), ("shop", "record_medium"),
]  # fmt: skip


class TestNotKnown:
    """Unknown facts give undecided, never a default: to know less frees nothing and decides nothing otherwise."""

    @settings(max_examples=60, deadline=None, derandomize=True)
    @given(layers(1), FACTS, st.sampled_from(CONDITIONS), st.sampled_from(RULES))
    def test_to_forget_a_fact_frees_nothing(
        self, files: list[RuleFile], facts: dict[str, Any], fact: tuple[str, str], other: str
    ) -> None:
        files = [*files, layer("xx-over", frozenset({"short"}), f"xx-a/{other}")]
        known, less = weigh(files, facts, at=AT), weigh(files, forgotten(facts, *fact), at=AT)
        kept = {(one.jurisdiction, one.rule, one.about): one for one in less.duties}
        for one in known.duties:
            now = kept[one.jurisdiction, one.rule, one.about]
            # What was asked and is forgotten is missing; an answer once given may become open, never another one.
            if one.kind not in ("ask", "limit"):
                assert now.state in (one.state, "undecided"), (one.rule, one.state, now.state)
        assert all(free(less, line) >= free(known, line) for line in range(1, len(facts["items"]) + 1))

    @settings(max_examples=25, deadline=None, derandomize=True)
    @given(layers(1))
    def test_of_nothing_known_nothing_is_met_that_needs_a_fact(self, files: list[RuleFile]) -> None:
        for one in weigh(files, {"items": [{"line": 1}]}, at=AT).duties:
            if one.kind in ("refuse", "pay", "form"):
                assert one.state in ("undecided", "ahead"), one


class TestTraces:
    """Every result is reproduced from its trace alone."""

    @settings(max_examples=80, deadline=None, derandomize=True)
    @given(layers(1), FACTS, MOMENTS)
    def test_a_record_tells_all_that_leads_to_it(
        self, files: list[RuleFile], facts: dict[str, Any], at: datetime
    ) -> None:
        retell(json.loads(json.dumps(weigh(files, facts, at=at).record())))

    def test_every_rule_of_the_pool_is_retold(self) -> None:
        everything = layer("xx-a", frozenset(set(KINDS) - {"metals", "coins", "dealers", "some"}))
        found = weigh([everything], {"items": [{"metal": "gold", "age_years": 31}]}, at=AT)
        assert {one.rule for one in found.duties} == set(RULES)
        retell(json.loads(json.dumps(found.record())))

    @pytest.mark.parametrize("path", sorted(RULES_FOLDER.glob("*/*.cases.toml")), ids=lambda path: path.name)
    def test_every_worked_case_beside_a_rule_file_is_retold(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        written = path.read_bytes()
        names = [path.name.replace(".cases", ""), *cases.layers(written, path.name)]
        files = [rule_files.read((path.parent / name).read_bytes(), name) for name in names]
        told: list[Duties] = []

        def weighed(*given: Any, **more: Any) -> Duties:
            told.append(weigh(*given, **more))
            return told[-1]

        monkeypatch.setattr(cases, "weigh", weighed)
        cases.run(written, files, path.name)
        assert told
        for one in told:
            retell(json.loads(json.dumps(one.record())))
