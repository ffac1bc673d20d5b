"""What a book keeps (never changed, never deleted) and what is derived from it (rebuilt at will).

Kept: entries, nodes, seals, rule_files, locked_rows; data_keys loses rows when something is forgotten.
Derived: every table in PROJECTIONS, filled by `ledger.book.projections` in the transaction of the entry it
stems from. No personal data of a seller stands in any of them: a document number and name + birth date only
as keyed digests in seller_index, officers and cases nowhere.

>>> [table.name for table in KEPT]
['entries', 'nodes', 'seals', 'rule_files', 'locked_rows']
"""

import sqlalchemy as sa

metadata = sa.MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _book() -> sa.Column[str]:
    return sa.Column("book", sa.Text, primary_key=True)


def _key(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, primary_key=True)


def _number(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger, primary_key=True, autoincrement=False)


def _text(name: str, *, may_lack: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=may_lack)


def _count(name: str, *, may_lack: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger, nullable=may_lack)


def _bytes(name: str) -> sa.Column[bytes]:
    return sa.Column(name, sa.LargeBinary, nullable=False)


entries = sa.Table(
    "entries",
    metadata,
    _book(),
    _number("seq"),
    _bytes("bytes"),
    _bytes("leaf"),
    _bytes("prev"),
    sa.UniqueConstraint("book", "prev"),  # the database itself refuses a fork
)
nodes = sa.Table("nodes", metadata, _book(), _number("level"), _number("idx"), _bytes("hash"))
seals = sa.Table("seals", metadata, _book(), _number("size"), _text("note"))
rule_files = sa.Table("rule_files", metadata, _book(), _key("digest"), _bytes("bytes"))
locked_rows = sa.Table(
    "locked_rows", metadata, _book(), _number("seq"), _key("class"), _key("subject"), _bytes("bytes")
)
data_keys = sa.Table("data_keys", metadata, _book(), _key("subject"), _key("class"), _text("epoch"), _bytes("wrapped"))

slips = sa.Table(
    "slips",
    metadata,
    _book(),
    _number("slip"),
    _text("draft"),  # the random id its data keys are bound to, for life
    _text("state"),  # presented | recorded | withdrawn | voided
    _text("presented_at"),
    _text("local_day"),
    _count("presented_seq"),
    _count("recorded_seq", may_lack=True),
    _count("closed_seq", may_lack=True),
    _count("items"),
    _text("currency", may_lack=True),
    _count("total_minor", may_lack=True),
    _text("channel"),
)
items = sa.Table(
    "items",
    metadata,
    _book(),
    _number("slip"),
    _number("line"),
    _text("draft"),
    _text("state"),  # offered | declined | in stock | the outcome's word
    _text("words"),  # one line that a person reads
    _text("description"),  # canonical JSON: what a search compares
    _count("gross_mg", may_lack=True),
    _count("net_mg", may_lack=True),
    _count("fine_mg", may_lack=True),
    _text("assessment"),  # canonical JSON: construction, standing, intervals
    _text("currency", may_lack=True),
    _count("offer_minor", may_lack=True),
    _text("place"),
    _count("changed_seq"),
)
holds = sa.Table(
    "holds",
    metadata,
    _book(),
    _number("slip"),
    _number("line"),
    _key("jurisdiction"),
    _key("rule"),
    _text("digest"),
    _text("acts"),
    _text("place"),
    _text("starts_from"),
    _text("plain", may_lack=True),
    _text("cautious", may_lack=True),
    _text("waiting_for", may_lack=True),
    _text("record"),  # canonical JSON: the hold as the law room reads it back
)
tasks = sa.Table(
    "tasks",  # duties with a deadline that are no reports
    metadata,
    _book(),
    _number("slip"),  # 0 for a task of the shop
    _key("about"),
    _key("jurisdiction"),
    _key("rule"),
    _text("digest"),
    _text("due", may_lack=True),
    _text("waiting_for", may_lack=True),
    _text("met_by"),
    _text("state"),  # open | met
    _text("met_at", may_lack=True),
    _text("record"),  # canonical JSON: the task as the law room made it, without its trace
    _count("seq"),
)
happenings = sa.Table(
    "happenings", metadata, _book(), _number("seq"), _text("event"), _key("about"), _text("at")
)  # what happened that a rule file gives a name
permissions = sa.Table(
    "permissions",
    metadata,
    _book(),
    _number("seq"),
    _text("permission"),
    _text("subject"),  # shop, or SLIP/LINE
    _text("from_day"),
    _text("until", may_lack=True),
)
orders = sa.Table(
    "orders",
    metadata,
    _book(),
    _key("hold"),
    _text("state"),  # standing | lifted
    _text("notice_due", may_lack=True),  # by when the shop must write to the authority
    _count("seq"),
)
payouts = sa.Table(
    "payouts",
    metadata,
    _book(),
    _number("slip"),
    _key("payout"),
    _text("state"),  # owed | paid | failed | reissued | recovered
    _text("instrument"),
    _text("currency"),
    _count("minor"),
    _text("at"),
    _count("cash_minor"),  # how much of it is cash
    _count("seq"),
)
reports = sa.Table(
    "reports",
    metadata,
    _book(),
    _key("report"),
    _text("rule"),
    _text("jurisdiction"),
    _text("digest"),
    _text("recipient"),
    _text("period"),
    _text("slips"),  # canonical JSON list of slip numbers
    _text("due"),
    _text("title"),
    _text("met_by"),  # made | sent | delivered | received
    _text("state"),  # due | made | sent | delivered | received | to correct
    _text("made_at", may_lack=True),
    _text("sent_at", may_lack=True),
    _text("delivered_at", may_lack=True),
    _text("received_at", may_lack=True),
    _text("met_at", may_lack=True),  # when it was first done what its rule asks
    _count("seq"),
)
outcomes = sa.Table(
    "outcomes", metadata, _book(), _number("seq"), _count("slip"), _count("line"), _text("state"), _text("at")
)
corrections = sa.Table(
    "corrections", metadata, _book(), _number("seq"), _count("slip"), _count("line"), _text("what"), _count("corrects")
)
seller_index = sa.Table(
    "seller_index",
    metadata,
    _book(),
    _key("kind"),  # document | person
    _key("digest"),  # keyed; tells nothing without the counter secret
    _number("slip"),
)

mentions = sa.Table("mentions", metadata, _book(), _key("name"), _number("seq"))  # what each entry is about
adoptions = sa.Table(
    "adoptions",
    metadata,
    _book(),
    _number("seq"),
    _text("jurisdiction"),
    _text("digest"),
    _text("compared_on"),
    _text("by"),
)
shop_facts = sa.Table("shop_facts", metadata, _book(), _number("seq"), _text("facts"))
staff = sa.Table("staff", metadata, _book(), _key("staff"), _text("role"), _text("until", may_lack=True), _count("seq"))
days = sa.Table("days", metadata, _book(), _key("day"), _count("seq"))

devices = sa.Table(
    "devices",  # that may speak to the counter; neither kept nor derived
    metadata,
    _book(),
    _key("device"),
    _text("digest"),  # SHA-256 of its token, hex
    _text("label"),
    _text("may"),  # words, sorted
    _text("made_at"),
    _text("made_by"),
    _text("until"),  # its last day
    _text("ended_at", may_lack=True),
    _text("ended_by", may_lack=True),
    _text("used_on", may_lack=True),  # the last day on which its token was shown
    sa.UniqueConstraint("book", "digest"),
)
drafts = sa.Table(
    "drafts",  # slips that are still being written; neither kept nor derived
    metadata,
    _book(),
    _key("draft"),
    _text("tray"),  # in clear: a short number, no room for a name
    _text("staff"),  # who began it
    _count("version"),
    _text("begun_at"),
    _text("saved_at"),
    _text("saved_by"),
    _count("slip", may_lack=True),  # its number, once it was presented
    _bytes("bytes"),  # what was typed, locked under class draft
    sa.UniqueConstraint("book", "tray"),
)
attempts = sa.Table(
    "attempts",  # to sign in, that failed; neither kept nor derived
    metadata,
    _book(),
    _key("who"),  # SHA-256 of an account or an address
    _count("failures"),
    _text("last_at"),
)

KEPT = (entries, nodes, seals, rule_files, locked_rows)
PROJECTIONS = (
    slips,
    items,
    holds,
    tasks,
    happenings,
    permissions,
    orders,
    payouts,
    reports,
    outcomes,
    corrections,
    seller_index,
    adoptions,
    shop_facts,
    staff,
    days,
    mentions,
)


def as_bytes(value: object) -> bytes:
    """What a column of bytes holds; nothing where somebody wrote text or a number into it."""
    return value if isinstance(value, bytes) else b""


# Search words of items lie in an index of the database's own kind (FTS5, tsvector); see `words_index`.
WORDS = "item_words"
sa.Index(None, items.c.book, items.c.state)
sa.Index(None, seller_index.c.book, seller_index.c.slip)
