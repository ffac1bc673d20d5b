"""What all tables of a rule file share: names, sentences, conditions, and the keys that every rule has.

Decides: the shape of these. Leaves the tables themselves to `ledger.law.form` and `ledger.law.form_times`.
"""

from ledger.law.conditions import OPS
from ledger.law.rules import BASES, EFFECTS
from ledger.law.shapes import Day, Either, Key, ListOf, Operand, Recursive, Table, Text, Word

ID = Text('a short name in small letters, such as "cash-ceiling"', r"[a-z0-9]+(-[a-z0-9]+)*", 60)
SAYS = Text("one sentence in quotes", longest=500)
FACT = Text('the name of a fact, such as "seller.birth_date"', r"[a-z_]+(\.[a-z0-9_-]+)+", 90)
FAR_ID = Text(
    'a rule of another file, such as "xx-state/cash-ceiling"', r"[a-z0-9]+(-[a-z0-9]+)*/[a-z0-9]+(-[a-z0-9]+)*", 130
)
CITE = Text("the citation in quotes", longest=300)
AMOUNT = Text('an amount in quotes, such as "500.00"', r"[0-9]{1,12}(\.[0-9]{1,4})?", 20)

_TABLES: dict[str, Table] = {}
CONDITION = Recursive("condition", _TABLES)
_TABLES["condition"] = Table(
    "a condition",
    (
        Key("fact", FACT, "the fact that is compared"),
        *(Key(op, Operand(), f"the fact {op.replace('_', ' ')} this") for op in OPS),
        Key("share_of", FACT, 'the comparison is with a share of this fact, such as "50 %"'),
        Key("all", ListOf(CONDITION), "every one of these conditions"),
        Key("any", ListOf(CONDITION), "at least one of these conditions"),
        Key("not", CONDITION, "the opposite of this condition"),
    ),
    one_of=("fact", "all", "any", "not"),
)

_FAR = Table(
    "a rule of another file",
    (
        Key("rule", FAR_ID, "jurisdiction and id of the rule", need=True),
        Key("by", CITE, "the higher law that says so", need=True),
    ),
)
COMMON = (
    Key("id", ID, "name of the rule; its dated versions share it", need=True),
    Key("says", SAYS, "what the rule means, in one sentence of your own", need=True),
    Key("from", Day(), "first day of purchase to which this version applies", need=True),
    Key("until", Day(), "last day of purchase to which it applies; else until the next version begins"),
    Key("source", CITE, "where the rule stands: act and section", need=True),
    Key("url", Text('an address, such as "https://law.example/1-2"', r"https?://\S+", 500), "where it was read"),
    Key("quote", Text("the deciding words in quotes"), "the words of the law on which the rule rests"),
    Key("basis", Word(BASES), "how it was read: the text itself, an excerpt, guidance, memory; or invented", need=True),
    Key("effect", Word(EFFECTS), "what a broken duty does: stops the purchase (usual), warns, or notes"),
    Key("when", ListOf(CONDITION), "the rule applies only if all of these are so"),
    Key("unless", ListOf(CONDITION), "the rule does not apply if any of these is so"),
    Key("displaces", ListOf(Either(ID, _FAR)), "rules that do not apply where this one does"),
    Key("yields_to", ListOf(_FAR), "rules of other files before which this one gives way"),
)
_CITING = frozenset({"id", "says", "source", "url", "quote", "basis"})


def rule_table(kind: str, *keys: Key, one_of: tuple[str, ...] = ()) -> Table:
    """The table of one kind of rule: its own keys, those that every rule has, and how each of them was read."""
    read = [key for key in COMMON + keys if key.name not in _CITING]
    basis_of = Table(
        "basis_of", tuple(Key(key.name, Word(BASES), f"how '{key.name}' was read, if otherwise") for key in read)
    )
    return Table(f"[[{kind}]]", (*COMMON, Key("basis_of", basis_of, "keys that were read otherwise"), *keys), one_of)
