"""The tables of a rule file that state times: periods, holds, reports, retention, the calendar, recipients.

Decides: names, shapes and meanings of their keys. Leaves the other tables to `ledger.law.form`.
"""

from ledger.law.calendars import WEEKDAYS
from ledger.law.counting import ROLLS, UNITS
from ledger.law.form_parts import ID, SAYS, rule_table
from ledger.law.rules import ACTS, BASES, CLASSES, EVENTS, PERS, PLACES
from ledger.law.shapes import Day, Either, Flag, Key, ListOf, Table, Text, Whole, Word

CLOCK = Text('a clock time in quotes, such as "12:00"', r"([01][0-9]|2[0-3]):[0-5][0-9]|24:00", 5)
EVENT = Text(
    'an event: "purchase", or "report-made:ID", "report-sent:ID", "report-received:ID" with a recipient\'s id',
    "purchase|(" + "|".join(EVENTS[1:]) + "):[a-z0-9]+(-[a-z0-9]+)*",
    100,
)
TO = Text('a place or person in small letters, such as "secure-storage"', r"[a-z0-9]+(-[a-z0-9]+)*", 60)

LENGTH = Whole(1, 40_000)
SPAN_KEYS = (
    Key("length", LENGTH, "how many", need=True),
    Key("unit", Word(UNITS), "of what", need=True),
    Key("first_day_counts", Flag(), "true if the day of the event is day 1 (usually it is day 0)"),
    Key("roll", Word(ROLLS), "where a last day that is off moves to"),
)
SPAN = Table("a length of time", SPAN_KEYS)
EVENTS_TABLE = Table(
    "a start",
    (
        Key("later_of", ListOf(EVENT, 2), "the later of these events; waits for all"),
        Key("earlier_of", ListOf(EVENT, 2), "the earlier of these events"),
    ),
    one_of=("later_of", "earlier_of"),
)
START = Either(EVENT, EVENTS_TABLE)
READING = Table(
    "a reading",
    (
        Key("reason", SAYS, "why somebody may read the law so", need=True),
        Key("basis", Word(BASES), "how that was read"),
        Key("length", LENGTH, "another length"),
        Key("unit", Word(UNITS), "another unit"),
        Key("first_day_counts", Flag(), "the first day counted, or not"),
        Key("roll", Word(ROLLS), "another roll"),
        Key("start", START, "another start"),
    ),
)

HOLD = rule_table(
    "hold",
    *SPAN_KEYS,
    Key("start", START, "the event from which it runs; usually the purchase"),
    Key("forbids", ListOf(Word(ACTS)), "acts that are forbidden while it runs", need=True),
    Key("keep_in", Word(PLACES), "where the item must stay, if it must stay somewhere"),
    Key(
        "allows",
        ListOf(
            Table(
                "a permitted act",
                (
                    Key("act", Word(ACTS), "the act", need=True),
                    Key("to", TO, "to whom or where", need=True),
                    Key("says", SAYS, "why it is allowed"),
                ),
            )
        ),
        "acts allowed all the same",
    ),
    Key("readings", ListOf(READING, most=8), "how else the law may be read"),
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
        Key("by", CLOCK, "clock time; the end of the day if none is given"),
    ),
    one_of=("within", "next", "same_day", "weekly"),
)
REPORT = rule_table(
    "report",
    Key("to", ID, "id of the recipient", need=True),
    Key("per", Word(PERS), "one for each purchase, day or week", need=True),
    Key("due", _DUE, "by when", need=True),
    Key("title", Text("the title in quotes", longest=120), "title or form number on the paper", need=True),
    Key("copies", Whole(1, 20), "how many copies"),
    Key("nil", Flag(), "true if it is owed even when nothing was bought"),
    Key("asks", ListOf(ID), "ids of the ask rules whose fields it shows, in this order"),
)
RETAIN = rule_table(
    "retain",
    Key("classes", ListOf(Word(CLASSES)), "classes of data", need=True),
    Key("at_least", SPAN, "kept so long"),
    Key("at_most", SPAN, "and destroyed by then"),
    Key("start", START, "the event from which it runs; usually the purchase"),
)
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
        Key("id", ID, "short name; files of other layers use the same for the same agency", need=True),
        Key("name", Text("the name in quotes", longest=120), "name on the paper", need=True),
    ),
)
