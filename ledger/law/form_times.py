"""The tables of a rule file that state times: periods, holds, orders, reports, tasks, retention, the calendar.

Decides: names, shapes and meanings of their keys. Leaves the other tables to `ledger.law.form`, and what the keys
mean together to `ledger.law.building_times`.
"""

from ledger.law.calendars import WEEKDAYS
from ledger.law.counting import COUNTS, ROLLS, UNITS
from ledger.law.form_parts import CONDITION, ID, SAYS, rule_table
from ledger.law.periods import CALENDARS, PLAIN_EVENTS
from ledger.law.rules import ACTS, BASES, CLASSES, PLACES
from ledger.law.rules_times import ADDS, KEEP_OF, MET_BY, NEXTS, PERS, SPOKEN_OR_WRITTEN, WHO
from ledger.law.shapes import Day, Either, Flag, Key, ListOf, Table, Text, Whole, Word

_NAME = "[a-z0-9]+(-[a-z0-9]+)*"
CLOCK = Text('a clock time in quotes, such as "12:00"', r"([01][0-9]|2[0-3]):[0-5][0-9]|24:00", 5)
_BY = Text('a clock time in quotes, such as "12:00", or "close"', r"([01][0-9]|2[0-3]):[0-5][0-9]|24:00|close", 5)
EVENT_NAME = Text(
    'an event: "purchase", "receipt", "contract", "payment", "last-entry", "order-notice", "order-written",'
    ' "report-sent:ID" (made, sent, delivered or received, with a recipient\'s id, "all" or "any"),'
    ' "due:RULE", "end:RULE", "request:ID" or "event:ID"',
    f"{'|'.join(PLAIN_EVENTS)}|report-({'|'.join(MET_BY)}):{_NAME}|(due|end):({_NAME}/)?{_NAME}|(request|event):{_NAME}",
    130,
)
TO = Text('a place or person in small letters, such as "secure-storage"', _NAME, 60)

LENGTH = Whole(1, 40_000)
_EVENTS = Table(
    "a start",
    (
        Key("later_of", ListOf(EVENT_NAME, 2), "the later of these events; waits for all"),
        Key("earlier_of", ListOf(EVENT_NAME, 2), "the earlier of these events"),
    ),
    one_of=("later_of", "earlier_of"),
)
START = Either(EVENT_NAME, _EVENTS)
_COUNTING = (
    Key("first_day_counts", Flag(), "true if the day of the event is day 1 (usually it is day 0)"),
    Key("counts", Word(COUNTS), "for so long (usual), or before the day or month of that number begins"),
    Key("roll", Word(ROLLS), "where a last day that is off moves to"),
    Key("calendar", Word(CALENDARS), "whose days off: the file's own (usual), or the shop's where the law says so"),
)
LENGTH_KEYS = (
    Key("length", LENGTH, "how many", need=True),
    Key("unit", Word(UNITS), "of what", need=True),
    *_COUNTING,
)
_READ_KEYS = (
    Key("reason", SAYS, "why somebody may read the law so", need=True),
    Key("basis", Word(BASES), "how that was read"),
)
READINGS = ListOf(
    Table(
        "a reading",
        (
            *_READ_KEYS,
            Key("length", LENGTH, "another length"),
            Key("unit", Word(UNITS), "another unit"),
            *_COUNTING,
            Key("start", START, "another start"),
        ),
    ),
    most=8,
)
SPAN_KEYS = (
    *LENGTH_KEYS,
    Key("start", START, "the event from which it runs; usually the purchase"),
    Key("readings", READINGS, "how else the law may be read"),
)
SPAN = Table("a length of time", SPAN_KEYS)
_LENGTH_ONLY = Table("a length of time", LENGTH_KEYS)

_SHORTER = Table(
    "a shorter time",
    (
        Key("when", ListOf(CONDITION), "if all of these are so", need=True),
        *SPAN_KEYS,
        Key("says", SAYS, "why it is shorter"),
        Key("source", Text("the citation in quotes", longest=300), "where that stands, if elsewhere"),
    ),
)
_PERMITTED = Table(
    "a permitted act",
    (
        Key("act", Word(ACTS), "the act", need=True),
        Key("to", TO, "to whom or where; else to anybody and anywhere"),
        Key("says", SAYS, "why it is allowed"),
        Key("when", ListOf(CONDITION), "only if all of these are so: facts of the act, the item or the shop"),
        Key("after", _LENGTH_ONLY, "only so long after the hold began"),
        Key("permission", ID, "only under this permission, one that the file declares"),
    ),
)
_IMPLIED = Table(
    "an implied act",
    (
        Key("act", Word(ACTS), "an act that the text does not name", need=True),
        Key("basis", Word(BASES), "how it was read", need=True),
        Key("says", SAYS, "why it is forbidden too"),
    ),
)
HOLD = rule_table(
    "hold",
    Key("length", LENGTH, "how many"),
    Key("unit", Word(UNITS), "of what"),
    *SPAN_KEYS[2:],
    Key("until_released", Flag(), "true if it has no length and runs until it is lifted"),
    Key("ends_with", EVENT_NAME, "if it has no length and runs until this event"),
    Key("shorter", ListOf(_SHORTER, most=8), "shorter times under conditions; an undecided one leaves the longer"),
    Key("forbids", ListOf(Word(ACTS)), "acts that are forbidden while it runs", need=True),
    Key("implied", ListOf(_IMPLIED, most=20), "acts that follow from the text, each with how it was read"),
    Key("keep_in", Word(PLACES), "where the item must stay, if it must stay somewhere"),
    Key("keep_of", Word(KEEP_OF), "whose premises, county ...: the licence's (usual), the purchase's or the receipt's"),
    Key("allows", ListOf(_PERMITTED, most=100), "acts allowed all the same"),
    one_of=("length", "until_released", "ends_with"),
)

ORDER = rule_table(
    "order",
    Key("forms", ListOf(Word(SPOKEN_OR_WRITTEN)), "how the authority may give it"),
    Key("length", LENGTH, "how many"),
    Key("unit", Word(UNITS), "of what"),
    *SPAN_KEYS[2:],
    Key("open_ended", Flag(), "true if it has no end until it is lifted"),
    Key("adds", Word(ADDS), "beside the running hold (usual), added to its end, or in its place"),
    Key("cap", _LENGTH_ONLY, "never longer than this from the first notice"),
    Key(
        "renewal",
        Table("a renewal", (*LENGTH_KEYS, Key("times", Whole(1, 1_000), "how often; else as often as it likes"))),
        "how much each renewal adds",
    ),
    Key(
        "lapse",
        Table(
            "a lapse",
            (
                Key("unless", Word(("written",)), "what keeps it alive", need=True),
                Key("within", _LENGTH_ONLY, "how long after the notice", need=True),
            ),
        ),
        "when an order that was only spoken ends of itself",
    ),
    Key(
        "notice",
        Table(
            "a notice",
            (
                Key("before", _LENGTH_ONLY, "so long before the end the dealer must write to the authority", need=True),
                Key("silence", _LENGTH_ONLY, "what a dealer who does not write adds"),
            ),
        ),
        "the dealer's own duty before the order ends",
    ),
    Key("release", ListOf(TO), "what ends it early"),
    Key("forbids", ListOf(Word(ACTS)), "acts that it forbids; else all but surrendering"),
    Key("asks_for", ListOf(Text("words in quotes", longest=200)), "what the order must state"),
    one_of=("length", "open_ended"),
)

_NAMED_DAY = Text('month and day in quotes, such as "01-31"', r"(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])", 5)
_DUE_KEYS = (
    Key("within", Whole(1, 10_000), "so many units after the start"),
    Key("unit", Word(UNITS), "the unit of within"),
    Key("next", Word(NEXTS), "on the next day or working day"),
    Key("same_day", Flag(), "true: on the day of the start itself"),
    Key("weekly", Word(WEEKDAYS), "on this weekday, for the seven days before it"),
    Key(
        "quarterly",
        ListOf(_NAMED_DAY, most=12),
        "on the first of these days after the quarter; a task: after the start",
    ),
    Key("yearly", ListOf(_NAMED_DAY, most=12), "on the first of these days after the year; a task: after the start"),
    Key("no_day", Flag(), "true: the law states no day; it is listed and never late"),
    Key("at_once", Flag(), "true: at once"),
    *_COUNTING,
    Key("by", _BY, "clock time, or the hour of closing; the end of the day if none is given"),
    Key("start", START, "the event from which it runs; usually the purchase"),
)
DUE_SHAPES = ("within", "next", "same_day", "weekly", "quarterly", "yearly", "at_once", "no_day")
DUE = Table(
    "due",
    (
        *_DUE_KEYS,
        Key("on_request", Flag(), "true if it is owed only when the recipient asks"),
        Key("readings", ListOf(Table("a reading", (*_READ_KEYS, *_DUE_KEYS)), most=8), "how else the law may be read"),
    ),
    one_of=DUE_SHAPES,
)
_REPLACED = Table(
    "a replacing rule",
    (
        Key(
            "rule",
            Text('a rule of another file, such as "xx-state/daily-report"', f"{_NAME}/{_NAME}", 130),
            "the report that takes its place",
            need=True,
        ),
        Key("by", Text("the citation in quotes", longest=300), "where it stands that it replaces this", need=True),
    ),
)
REPORT = rule_table(
    "report",
    Key("to", ID, "id of the recipient", need=True),
    Key("per", Word(PERS), "one for each purchase, day, week, quarter, year or request", need=True),
    Key("due", DUE, "by when", need=True),
    Key("title", Text("the title in quotes", longest=120), "title or form number on the paper", need=True),
    Key("copies", Whole(1, 20), "how many copies"),
    Key("nil", Flag(), "true if it is owed even when nothing was bought"),
    Key("asks", ListOf(ID), "ids of the ask rules whose fields it shows, in this order"),
    Key("met_by", Word(MET_BY), "what meets the deadline: that it is made, sent (usual), delivered or received"),
    Key("manner", Text("words in quotes", longest=200), "how it goes: electronically, by hand, on the form"),
    Key(
        "extension",
        Table(
            "an extension",
            (
                *LENGTH_KEYS,
                Key("says", SAYS, "the extension in words"),
                Key("ask", Flag(), "true (usual) if it must be asked for"),
            ),
        ),
        "how much longer the recipient may allow",
    ),
    Key(
        "failure",
        Table(
            "a failure",
            (
                Key("says", SAYS, "what counts as a failure of the usual way, and what follows", need=True),
                Key("instead", Text("words in quotes", longest=200), "how it goes then"),
                Key("length", LENGTH, "how much longer there is then"),
                Key("unit", Word(UNITS), "of what"),
            ),
        ),
        "what a technical failure allows",
    ),
    Key("replaced_by", ListOf(_REPLACED), "reports of other laws that make this one needless"),
)

TASK = rule_table(
    "task",
    Key("what", SAYS, "what is to be done", need=True),
    Key("about", Word(("item", "slip", "shop")), "for each item, for the slip (usual), or for the shop"),
    Key("due", DUE, "by when"),
    Key(
        "before_end",
        Table("an end", (Key("of", ID, "id of the hold or order that ends", need=True), *LENGTH_KEYS)),
        "so long before a hold ends",
    ),
    Key(
        "met_by",
        Text('an event of the file, such as "event:goods-moved"', f"event:{_NAME}", 80),
        "what shows it was done",
    ),
    Key("who", Word(WHO), "who does it; usually the owner"),
    one_of=("due", "before_end"),
)

RETAIN = rule_table(
    "retain",
    Key("classes", ListOf(Word(CLASSES)), "classes of data", need=True),
    Key("at_least", SPAN, "kept so long"),
    Key("at_most", SPAN, "and destroyed by then"),
    Key("start", START, "the event from which both run; usually the purchase"),
    Key("place", Word(("premises", "anywhere")), "where they are kept: anywhere (usual), or on the premises"),
    Key("medium", ListOf(Text("a medium in quotes", longest=40)), "only if the shop's record_medium is one of these"),
)

TIMED_KINDS = {"hold": HOLD, "order": ORDER, "report": REPORT, "task": TASK, "retain": RETAIN}
"""The kinds of rules with a clock, in the order in which a reference lists them."""

_DAY_OFF = Table(
    "a day off",
    (
        Key("day", Day(), "the day", need=True),
        Key("name", Text("its name in quotes", longest=80), "its name", need=True),
        Key("source", Text("the citation in quotes", longest=300), "if other than the list's"),
        Key("arguable", Flag(), "true if it may or may not be a day off"),
    ),
)
_NOT_OFF = Table(
    "a day that is not off",
    (
        Key("day", Day(), "a day of the named list", need=True),
        Key("source", Text("the citation in quotes", longest=300), "where that stands", need=True),
        Key("arguable", Flag(), "true if it may be off all the same"),
    ),
)
_CLOSING = Table(
    "an hour of closing",
    (
        Key("at", CLOCK, "the hour", need=True),
        Key("arguable", Flag(), "true if the law does not name it; midnight is then the later reading"),
        Key("source", Text("the citation in quotes", longest=300), "where that stands"),
    ),
)
CALENDAR = Table(
    "[calendar]",
    (
        Key("weekend", ListOf(Word(WEEKDAYS), 0), "days of the week that are never working days", need=True),
        Key("arguable_weekend", ListOf(Word(WEEKDAYS)), "days of the week that may or may not be working days"),
        Key("from", Day(), "first day for which the list was checked", need=True),
        Key("until", Day(), "last day for which the list was checked", need=True),
        Key("source", Text("the citation in quotes", longest=300), "where the list stands", need=True),
        Key(
            "list",
            Table(
                "a named list",
                (
                    Key("country", Text('two capital letters, such as "US"', "[A-Z]{2}", 2), "country", need=True),
                    Key("subdivision", Text('a code in quotes, such as "TX"', "[A-Z0-9]{1,3}", 3), "state or province"),
                    Key("observed", Flag(), "false if days moved off a weekend are not off"),
                ),
            ),
            "days off as the `holidays` library lists them, beside those written here",
        ),
        Key("closed", ListOf(_DAY_OFF, 0), "dated days off; one that the named list has too takes its place"),
        Key("not_closed", ListOf(_NOT_OFF, 0), "days of the named list that are no days off"),
        Key("closing_hour", Either(CLOCK, _CLOSING), "the hour that the close of a day means; else midnight"),
    ),
)
RECIPIENT = Table(
    "[[recipient]]",
    (
        Key("id", ID, "short name; files of other layers use the same for the same agency", need=True),
        Key("name", Text("the name in quotes", longest=120), "name on the paper", need=True),
        Key("role", ID, "role of the shop's own agency, whose name is printed if the shop states it"),
        Key(
            "named_by",
            Text('the name of a fact, such as "seller.address.city"', r"[a-z_]+(\.[a-z_-]+)+", 80),
            'the fact that completes the name: "<name> of <fact>"',
        ),
    ),
)
