"""The form of a rule file: every table and key that may be written, and what each means.

Decides: names, shapes and meanings of keys. Leaves the holding of a file against them to `ledger.law.shapes`
and the making of rules to `ledger.law.building`. Keys may be added here; none is ever taken away or given
another meaning, so that a file written today is read the same way later.

>>> FILE.key("hold") is not None
True
"""

from ledger.law.calendars import WEEKDAYS
from ledger.law.conditions import OPS
from ledger.law.counting import ROLLS, UNITS
from ledger.law.facts import INSTRUMENTS
from ledger.law.rules import (
    ACTS,
    BASES,
    CLASSES,
    EFFECTS,
    EVENTS,
    LAYERS,
    MUST_NOTS,
    PERS,
    PLACES,
    RECORDABLE,
)
from ledger.law.shapes import Day, Either, Flag, Key, ListOf, Operand, Recursive, Table, Text, Whole, Word

FORMAT = "rules/0"

_ID = Text('a short name in small letters, such as "cash-ceiling"', r"[a-z0-9]+(-[a-z0-9]+)*", 60)
_SAYS = Text("one sentence in quotes", longest=500)
_FACT = Text('the name of a fact, such as "seller.birth_date"', r"[a-z_]+(\.[a-z_-]+)+", 80)
_CLOCK = Text('a clock time in quotes, such as "12:00"', r"([01][0-9]|2[0-3]):[0-5][0-9]|24:00", 5)
_AMOUNT = Text('an amount in quotes, such as "500.00"', r"[0-9]{1,12}(\.[0-9]{1,4})?", 20)
_EVENT = Text(
    'an event: "purchase", or "report-made:ID", "report-sent:ID", "report-received:ID" with a recipient\'s id',
    "purchase|(" + "|".join(EVENTS[1:]) + "):[a-z0-9]+(-[a-z0-9]+)*",
    100,
)
_TO = Text('a place or person in small letters, such as "secure-storage"', r"[a-z0-9]+(-[a-z0-9]+)*", 60)

_TABLES: dict[str, Table] = {}
CONDITION = Recursive("condition", _TABLES)
_TABLES["condition"] = Table(
    "a condition",
    (
        Key("fact", _FACT, "the fact that is compared"),
        *(Key(op, Operand(), f"the fact {op.replace('_', ' ')} this") for op in OPS),
        Key("all", ListOf(CONDITION), "every one of these conditions"),
        Key("any", ListOf(CONDITION), "at least one of these conditions"),
        Key("not", CONDITION, "the opposite of this condition"),
    ),
    one_of=("fact", "all", "any", "not"),
)

_COMMON = (
    Key("id", _ID, "name of the rule; its dated versions share it", need=True),
    Key("says", _SAYS, "what the rule means, in one sentence of your own", need=True),
    Key("from", Day(), "first day of purchase to which this version applies", need=True),
    Key("until", Day(), "last day of purchase to which it applies; else until the next version begins"),
    Key("source", Text("the citation in quotes", longest=300), "where the rule stands: act and section", need=True),
    Key("url", Text('an address, such as "https://law.example/1-2"', r"https?://\S+", 500), "where it was read"),
    Key("quote", Text("the deciding words in quotes"), "the words of the law on which the rule rests"),
    Key("basis", Word(BASES), "how it was read: the text itself, an excerpt, guidance, memory; or invented", need=True),
    Key("effect", Word(EFFECTS), "what a broken duty does: stops the purchase (usual), warns, or notes"),
    Key("when", ListOf(CONDITION), "the rule applies only if all of these are so"),
    Key("unless", ListOf(CONDITION), "the rule does not apply if any of these is so"),
)


def _rule(kind: str, *keys: Key, one_of: tuple[str, ...] = ()) -> Table:
    return Table(f"[[{kind}]]", _COMMON + keys, one_of)


_LENGTH = Whole(1, 40_000)
_SPAN_KEYS = (
    Key("length", _LENGTH, "how many", need=True),
    Key("unit", Word(UNITS), "of what", need=True),
    Key("first_day_counts", Flag(), "true if the day of the event is day 1 (usually it is day 0)"),
    Key("roll", Word(ROLLS), "where a last day that is off moves to"),
)
_SPAN = Table("a length of time", _SPAN_KEYS)
_EVENTS = Table(
    "a start",
    (
        Key("later_of", ListOf(_EVENT, 2), "the later of these events; waits for all"),
        Key("earlier_of", ListOf(_EVENT, 2), "the earlier of these events"),
    ),
    one_of=("later_of", "earlier_of"),
)
_START = Either(_EVENT, _EVENTS)
_READING = Table(
    "a reading",
    (
        Key("reason", _SAYS, "why somebody may read the law so", need=True),
        Key("basis", Word(BASES), "how that was read"),
        Key("length", _LENGTH, "another length"),
        Key("unit", Word(UNITS), "another unit"),
        Key("first_day_counts", Flag(), "the first day counted, or not"),
        Key("roll", Word(ROLLS), "another roll"),
        Key("start", _START, "another start"),
    ),
)

ASK = _rule(
    "ask",
    Key(
        "fields",
        ListOf(
            Table(
                "a field",
                (
                    Key("fact", _FACT, "the fact that answers it", need=True),
                    Key("label", Text("the label in quotes", longest=80), "the label on screen and paper", need=True),
                    Key("need", Word(("must", "if-known")), "whether it must be there (usual) or only if known"),
                    Key("reason_allowed", Flag(), "true if a reason why it is not there is enough"),
                ),
            )
        ),
        "what is asked, in the order of the paper; all about the seller, all about the item, or all about the slip",
        need=True,
    ),
)
_FLAGS = ("government", "photo", "descriptive", "current")
_DOCUMENT = Table(
    "a document",
    (
        Key("types", ListOf(Text("a kind of document in quotes", longest=60)), "kinds that are accepted"),
        *(Key(name, Flag(), f"whether it must be {name}") for name in _FLAGS),
    ),
)
DOCUMENTS = _rule(
    "documents",
    Key(
        "any_of",
        ListOf(
            Table(
                "a way",
                (
                    Key("says", _SAYS, "this way in words", need=True),
                    Key("documents", ListOf(_DOCUMENT), "so many different documents, each such"),
                    Key("personally_known", Flag(), "true if the shop must know the seller personally"),
                ),
            )
        ),
        "ways to prove identity, of which one is enough",
        need=True,
    ),
    Key("always", ListOf(_DOCUMENT), "documents that must be among those shown, whatever the way"),
)
DECLARE = _rule(
    "declare",
    Key("words", Text("the words in quotes", longest=5_000), "the words of the seller's statement", need=True),
    Key("language", Text('a language tag, such as "en"', r"[a-z]{2,3}(-[A-Za-z0-9]+)*", 20), "language of the words"),
    Key("signed", Flag(), "whether the seller signs it (usual) or only hears it"),
)
REFUSE = _rule(
    "refuse",
    Key("may_record", ListOf(Word(RECORDABLE)), "all that may be kept of a refused purchase", need=True),
)
PAY = _rule(
    "pay",
    Key("instruments", ListOf(Word(INSTRUMENTS)), "the only ways in which may be paid"),
    Key(
        "ceilings",
        ListOf(
            Table(
                "a ceiling",
                (
                    Key("instrument", Word(INSTRUMENTS), "paid so", need=True),
                    Key("amount", _AMOUNT, "the most for one slip", need=True),
                    Key("inclusive", Flag(), "true (usual) if exactly this amount may still be paid"),
                ),
            )
        ),
        "the most that may be paid in one way",
    ),
    Key("not_before", _SPAN, "how long after the purchase payment must wait"),
)
HOLD = _rule(
    "hold",
    *_SPAN_KEYS,
    Key("start", _START, "the event from which it runs; usually the purchase"),
    Key("forbids", ListOf(Word(ACTS)), "acts that are forbidden while it runs", need=True),
    Key("keep_in", Word(PLACES), "where the item must stay, if it must stay somewhere"),
    Key(
        "allows",
        ListOf(
            Table(
                "a permitted act",
                (
                    Key("act", Word(ACTS), "the act", need=True),
                    Key("to", _TO, "to whom or where", need=True),
                    Key("says", _SAYS, "why it is allowed"),
                ),
            )
        ),
        "acts allowed all the same",
    ),
    Key("readings", ListOf(_READING, most=8), "how else the law may be read"),
)
_DUE = Table(
    "due",
    (
        Key("within", Whole(1, 10_000), "so many units after the purchase"),
        Key("unit", Word(UNITS), "the unit of within"),
        Key("roll", Word(ROLLS), "where a last day that is off moves to, with within"),
        Key("next", Word(("day", "working-day")), "on the next day or working day"),
        Key("same_day", Flag(), "true: on the day of the purchase itself"),
        Key("weekly", Word(WEEKDAYS), "on this weekday, for the seven days before it"),
        Key("by", _CLOCK, "clock time; the end of the day if none is given"),
    ),
    one_of=("within", "next", "same_day", "weekly"),
)
REPORT = _rule(
    "report",
    Key("to", _ID, "id of the recipient", need=True),
    Key("per", Word(PERS), "one for each purchase, day or week", need=True),
    Key("due", _DUE, "by when", need=True),
    Key("title", Text("the title in quotes", longest=120), "title or form number on the paper", need=True),
    Key("copies", Whole(1, 20), "how many copies"),
    Key("nil", Flag(), "true if it is owed even when nothing was bought"),
    Key("asks", ListOf(_ID), "ids of the ask rules whose fields it shows, in this order"),
)
RETAIN = _rule(
    "retain",
    Key("classes", ListOf(Word(CLASSES)), "classes of data", need=True),
    Key("at_least", _SPAN, "kept so long"),
    Key("at_most", _SPAN, "and destroyed by then"),
    Key("start", _START, "the event from which it runs; usually the purchase"),
)
LIMIT = _rule(
    "limit",
    Key("must_not", Word(MUST_NOTS), "what must not be done", need=True),
    Key("facts", ListOf(_FACT), "with which facts", need=True),
    Key("to", _ID, "only towards this recipient; else towards everybody"),
)
EXEMPT = _rule("exempt", Key("rules", ListOf(_ID), "ids of the rules that do not apply; else none of the file's does"))

KINDS = {
    "exempt": EXEMPT,
    "ask": ASK,
    "documents": DOCUMENTS,
    "declare": DECLARE,
    "refuse": REFUSE,
    "limit": LIMIT,
    "pay": PAY,
    "hold": HOLD,
    "report": REPORT,
    "retain": RETAIN,
}
"""The kinds of rules, in the order in which a reference lists them."""

CALENDAR = Table(
    "[calendar]",
    (
        Key("weekend", ListOf(Word(WEEKDAYS), 0), "days of the week that are never working days", need=True),
        Key("from", Day(), "first day for which the list was checked", need=True),
        Key("until", Day(), "last day for which the list was checked", need=True),
        Key("source", Text("the citation in quotes", longest=300), "where the list stands", need=True),
        Key(
            "closed",
            ListOf(
                Table(
                    "a day off",
                    (
                        Key("day", Day(), "the day", need=True),
                        Key("name", Text("its name in quotes", longest=80), "its name", need=True),
                        Key("source", Text("the citation in quotes", longest=300), "if other than the list's"),
                        Key("arguable", Flag(), "true if it may or may not be a day off"),
                    ),
                ),
                0,
            ),
            "dated days off",
        ),
    ),
)
RECIPIENT = Table(
    "[[recipient]]",
    (
        Key("id", _ID, "short name; files of other layers use the same for the same agency", need=True),
        Key("name", Text("the name in quotes", longest=120), "name on the paper", need=True),
    ),
)
FILE = Table(
    "the file",
    (
        Key("format", Word((FORMAT,)), "the form in which the file is written", need=True),
        Key("jurisdiction", _ID, "short name of the place", need=True),
        Key("name", Text("the name in quotes", longest=120), "name of the place", need=True),
        Key("layer", Word(LAYERS), "whose law it is", need=True),
        Key("known_from", Day(), "first day that the file can answer for", need=True),
        Key("read_on", Day(), "the day a person last read every source", need=True),
        Key("checked_until", Day(), "after this day every result says that nobody checked", need=True),
        Key("zone", Text('a time zone, such as "America/New_York"', longest=60), "time zone of the place"),
        Key("currency", Text('a currency, such as "USD"', "[A-Z]{3}", 3), "currency of all amounts in the file"),
        Key("note", Text("a sentence in quotes"), "shown with every result, such as that the place is invented"),
        Key("calendar", CALENDAR, "the days that are not working days"),
        Key("recipient", ListOf(RECIPIENT), "whom reports go to"),
        *(Key(kind, ListOf(table), f"rules of this kind, each under [[{kind}]]") for kind, table in KINDS.items()),
    ),
)
