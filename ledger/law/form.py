"""The form of a rule file: every table and key that may be written, and what each means.

Decides: names, shapes and meanings of keys. Leaves the holding of a file against them to `ledger.law.shapes`
and the making of rules to `ledger.law.building`. Keys may be added here; none is ever taken away or given
another meaning, so that a file written today is read the same way later.

>>> FILE.key("hold") is not None
True
"""

from ledger.law.declared import PERIODS, TALLIED_BY
from ledger.law.facts import DELIVERIES, FINGERS, INSTRUMENTS, PAYEE_KINDS
from ledger.law.form_declared import EVENT, PERMISSION, QUESTION, TALLY, WINDOW
from ledger.law.form_parts import AMOUNT, FACT, ID, SAYS, rule_table
from ledger.law.form_times import CALENDAR, RECIPIENT, SPAN, TIMED_KINDS
from ledger.law.rules import LAYERS, MEDIA, MUST_NOTS, NUMBERINGS, RECORDABLE, SIGNERS
from ledger.law.shapes import AnyOf, Day, Flag, Key, ListOf, Table, Text, Word

FORMAT = "rules/0"

ASK = rule_table(
    "ask",
    Key(
        "fields",
        ListOf(
            Table(
                "a field",
                (
                    Key("fact", FACT, "the fact that answers it", need=True),
                    Key("label", Text("the label in quotes", longest=80), "the label on screen and paper", need=True),
                    Key("need", Word(("must", "if-known")), "whether it must be there (usual) or only if known"),
                    Key("reason_allowed", Flag(), "true if a reason why it is not there is enough"),
                    Key("prefer", ListOf(Word(FINGERS)), "of a print: the finger wanted first, then those that do"),
                    Key("instead", ListOf(FACT), "facts of which any answers for it"),
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
DOCUMENTS = rule_table(
    "documents",
    Key(
        "any_of",
        ListOf(
            Table(
                "a way",
                (
                    Key("says", SAYS, "this way in words", need=True),
                    Key("documents", ListOf(_DOCUMENT), "so many different documents, each such"),
                    Key("personally_known", Flag(), "true if the shop must know the seller personally"),
                    Key("fields", ListOf(FACT), "facts about the seller that must be there too, if this way is taken"),
                ),
            )
        ),
        "ways to prove identity, of which one is enough",
        need=True,
    ),
    Key("always", ListOf(_DOCUMENT), "documents that must be among those shown, whatever the way"),
)
_WORDS = Text("the words in quotes", longest=5_000)
_LANGUAGE = Text('a language tag, such as "en"', r"[a-z]{2,3}(-[A-Za-z0-9]+)*", 20)
DECLARE = rule_table(
    "declare",
    Key("words", _WORDS, "the words of the seller's statement", need=True),
    Key("language", _LANGUAGE, "language of the words"),
    Key("signed", Flag(), "whether the seller signs it (usual) or only hears it"),
    Key("sworn", Flag(), "true if the statement must be sworn"),
    Key(
        "also",
        ListOf(
            Table(
                "the words in another language",
                (
                    Key("language", _LANGUAGE, "language of the words", need=True),
                    Key("words", _WORDS, "the words", need=True),
                ),
            )
        ),
        "the same words in other languages; any one is enough",
    ),
)
_FOR = Text('a recipient\'s id, or "seller", "dealer" ...', r"[a-z0-9]+(-[a-z0-9]+)*", 60)
PAPER = rule_table(
    "form",
    Key("title", Text("the title in quotes", longest=120), "title or form number on the paper", need=True),
    Key(
        "copies",
        ListOf(
            Table(
                "a copy",
                (
                    Key("for", _FOR, "who keeps this copy", need=True),
                    Key("omits", ListOf(FACT), "facts that this copy leaves out"),
                ),
            )
        ),
        "how many copies, and for whom",
    ),
    Key("numbered", Word(NUMBERINGS), "whether the papers are numbered one after another"),
    Key("per", Word(("slip", "item")), "one paper for a slip (usual) or for each item"),
    Key("signed_by", ListOf(Word(SIGNERS)), "who signs it"),
    Key("languages", ListOf(_LANGUAGE), "languages it may be in"),
    Key("medium", ListOf(Word(MEDIA)), "how the record may be kept; compared with shop.record_medium"),
)
REFUSE = rule_table(
    "refuse",
    Key("may_record", ListOf(Word(RECORDABLE)), "all that may be kept of a refused purchase", need=True),
)
PAY = rule_table(
    "pay",
    Key("instruments", ListOf(Word(INSTRUMENTS)), "the only ways in which may be paid"),
    Key(
        "ceilings",
        ListOf(
            Table(
                "a ceiling",
                (
                    Key("instrument", Word(INSTRUMENTS), "paid so", need=True),
                    Key("amount", AMOUNT, "the most for one slip, or in all of a window", need=True),
                    Key("inclusive", Flag(), "true (usual) if exactly this amount may still be paid"),
                    Key("window", WINDOW, "all payments in this time count together, this one included"),
                    Key("period", Word(PERIODS), "all payments in this day, week, month or year count together"),
                    Key("by", Word(TALLIED_BY), "whose payments: this seller's (usual), or all of the shop"),
                ),
            )
        ),
        "the most that may be paid in one way",
    ),
    Key("payee", ListOf(Word(PAYEE_KINDS)), "who may be paid"),
    Key("delivery", ListOf(Word(DELIVERIES)), "how the payment may reach the payee"),
    Key("not_before", SPAN, "how long payment must wait; usually after the purchase"),
    Key("not_after", SPAN, "by when payment must be made; usually after the purchase"),
)
LIMIT = rule_table(
    "limit",
    Key("must_not", Word(MUST_NOTS), "what must not be done", need=True),
    Key("facts", ListOf(FACT), "with which facts", need=True),
    Key("to", AnyOf((ID, ListOf(ID))), "only towards this recipient, or these; else towards everybody"),
    Key("copy", ListOf(_FOR), "only on the copies that these keep"),
    Key("ends", SPAN, "how long it lasts; usually after the purchase"),
)
EXEMPT = rule_table(
    "exempt", Key("rules", ListOf(ID), "ids of the rules that do not apply; else none of the file's does")
)

COVER = rule_table(
    "cover", Key("rules", ListOf(ID), "ids of the rules that need this cover; else all of the file's do")
)

KINDS = {
    "cover": COVER,
    "exempt": EXEMPT,
    "ask": ASK,
    "documents": DOCUMENTS,
    "declare": DECLARE,
    "form": PAPER,
    "refuse": REFUSE,
    "limit": LIMIT,
    "pay": PAY,
    **TIMED_KINDS,
}
"""The kinds of rules, in the order in which a reference lists them."""

DECLARED = {"question": QUESTION, "event": EVENT, "permission": PERMISSION, "tally": TALLY}
"""What a file may declare of its own and then use like what is built in."""

FILE = Table(
    "the file",
    (
        Key("format", Word((FORMAT,)), "the form in which the file is written", need=True),
        Key("jurisdiction", ID, "short name of the place", need=True),
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
        *(Key(name, ListOf(table), table.name) for name, table in DECLARED.items()),
        *(Key(kind, ListOf(table), f"rules of this kind, each under [[{kind}]]") for kind, table in KINDS.items()),
    ),
)
