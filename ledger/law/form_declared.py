"""The tables by which a rule file declares questions, events, permissions and tallies of its own.

Decides: names, shapes and meanings of their keys. Leaves rules to `ledger.law.form` and `ledger.law.form_times`.
"""

from ledger.law.declared import (
    ANSWERERS,
    ASKED_ABOUT,
    ASKED_TYPES,
    PERIODS,
    TALLIED,
    TALLIED_BY,
    WINDOW_UNITS,
)
from ledger.law.form_parts import CITE, CONDITION, ID, SAYS
from ledger.law.rules import BASES
from ledger.law.shapes import Flag, Key, ListOf, Table, Text, Whole, Word

_CITED = (
    Key("source", CITE, "where it stands: act and section"),
    Key("url", Text('an address, such as "https://law.example/1-2"', r"https?://\S+", 500), "where it was read"),
    Key("basis", Word(BASES), "how it was read"),
)
QUESTION = Table(
    "[[question]]",
    (
        Key("id", ID, "short name; conditions and fields write it after 'item.answers.' or the like", need=True),
        Key("about", Word(ASKED_ABOUT), "whom or what it is about", need=True),
        Key("type", Word(ASKED_TYPES), "what kind of answer it has", need=True),
        Key("words", ListOf(Text("a word in quotes", longest=60), 2), "the answers, where the type is word"),
        Key("asks", SAYS, "the question as a person reads it", need=True),
        Key("who", Word(ANSWERERS), "who answers it", need=True),
        *_CITED,
    ),
)
EVENT = Table(
    "[[event]]",
    (
        Key("id", ID, 'short name; times run from it as "event:ID"', need=True),
        Key("about", Word(("slip", "item", "shop", "report")), "what it happens to", need=True),
        Key("says", SAYS, "what happens, in one sentence", need=True),
        *_CITED,
    ),
)
PERMISSION = Table(
    "[[permission]]",
    (
        Key("id", ID, "short name; conditions look for it in shop.permissions or item.permissions", need=True),
        Key("about", Word(("shop", "item")), "whom it is given for", need=True),
        Key("says", SAYS, "what it allows, in one sentence", need=True),
        Key("by", ID, "id of the recipient who gives it"),
        *_CITED,
    ),
)
WINDOW = Table(
    "a window",
    (
        Key("length", Whole(1, 1_000), "how many; 1 day is today alone", need=True),
        Key("unit", Word(WINDOW_UNITS), "of what", need=True),
    ),
)
TALLY = Table(
    "[[tally]]",
    (
        Key("id", ID, "short name; conditions write it as tally.ID", need=True),
        Key("of", Word(TALLIED), "what is added up or counted", need=True),
        Key("by", Word(TALLIED_BY), "over the slips of this seller, or of the whole shop", need=True),
        Key("window", WINDOW, "a stretch of time that ends with this slip"),
        Key("period", Word(PERIODS), "or the day, week, month or year that holds it"),
        Key("with_this", Flag(), "whether this slip counts too (usual)"),
        Key("when", ListOf(CONDITION), "only slips for which all of these hold, over past.channel and past.instrument"),
        *_CITED,
    ),
    one_of=("window", "period"),
)
