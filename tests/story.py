"""Seven weeks in a small shop, in which every kind of entry that changes a derived table happens at least once.

Decides: what happens and in which order. Leaves the checking to whoever reads it, step by step:

    for step in story(shop):
        check_book(shop)

Shop, people, goods and rules are invented.
"""

from collections.abc import Iterator
from datetime import date
from typing import Any

from ledger.acts import (
    closing,
    correcting,
    happening,
    holding,
    inquiring,
    leaving,
    looking,
    paying,
    permitting,
    recording,
    reporting,
    setting_up,
    undoing,
)
from ledger.shop import facts
from tests import shops, slip_samples
from tests.law_samples import recipient, rule
from tests.shops import Shop
from tests.slip_samples import GONE

RULES = (
    recipient("police"),
    rule("hold", "five-days", 'length = 5\nunit = "days"\nforbids = ["sell", "melt"]\n'),
    rule("hold", "seen", 'length = 2\nunit = "days"\nstart = "report-received:police"\nforbids = ["sell"]\n'),
    rule("report", "each", 'to = "police"\nper = "purchase"\ntitle = "T"\ndue = { within = 48, unit = "hours" }\n'),
    rule(
        "report",
        "weekly",
        'to = "police"\nper = "week"\ntitle = "W"\ndue = { weekly = "monday", by = "12:00" }\nnil = true\n',
    ),
    '\n[[event]]\nid = "tagged"\nabout = "item"\nsays = "The item was tagged."\n',
    '\n[[event]]\nid = "registered"\nabout = "shop"\nsays = "The clerk was registered."\n',
    '\n[[permission]]\nid = "vault"\nabout = "shop"\nsays = "A vault."\nsource = "S"\nbasis = "invented"\n',
    '\n[[permission]]\nid = "sooner"\nabout = "item"\nsays = "A shorter hold."\nsource = "S"\nbasis = "invented"\n',
    rule(
        "hold",
        "watched",
        'length = 90\nunit = "days"\nforbids = ["alter"]\n'
        'shorter = [{ when = [{ fact = "item.permissions", has = "sooner" }],'
        ' length = 3, unit = "days", says = "S" }]\n',
    ),
    rule(
        "task",
        "tag",
        'about = "item"\nwhat = "Tag it."\ndue = { within = 24, unit = "hours" }\n'
        'met_by = "event:tagged"\nwho = "clerk"\n',
    ),
    rule(
        "order",
        "police-hold",
        'forms = ["written", "spoken"]\nlength = 120\nunit = "days"\nstart = "order-notice"\nadds = "alongside"\n'
        'lapse = { unless = "written", within = { length = 10, unit = "days" } }\n'
        'notice = { before = { length = 20, unit = "days" }, silence = { length = 120, unit = "days" } }\n',
    ),
    rule(
        "report",
        "day-list",
        'to = "police"\nper = "request"\ntitle = "List of purchases"\ndue = { within = 24, unit = "hours" }\n'
        'met_by = "received"\n'
        'extension = { length = 48, unit = "hours", says = "The police may give two days.", ask = true }\n',
    ),
    rule(
        "refuse", "young", 'when = [{ fact = "seller.age", below = 18 }]\nmay_record = ["reason", "date", "seller"]\n'
    ),
)
RING: tuple[tuple[str, Any], ...] = (
    ("items", slip_samples.document()["items"][:1]),
    ("items.0.pictures", slip_samples.document()["items"][0]["pictures"][:1]),
    *((f"parties.0.{name}", GONE) for name in ("phones", "email", "workplace", "vehicle", "description")),
    ("parties.0.captures", []),
    ("tray.articles", 1),
    ("items.0.evidence", GONE),
    ("items.0.offer.amount", "140.00"),
    ("payout.amount", "140.00"),
    ("notes", GONE),
)
"""The sample slip with its ring alone, one picture and no more than it needs."""


def story(shop: Shop) -> Iterator[str]:
    """Says each step when it is done. The shop has adopted no rule file yet."""
    book = shop.book
    shops.adopt(shop, *RULES)
    yield "rules are adopted"
    setting_up.add_person(book, "ben", "clerk", "Ben Example")
    yield "a clerk begins"
    shop.record(*RING)
    yield "slip 1 is recorded"
    presented, slip = shop.present(*RING)
    yield "slip 2 is presented"
    recording.record_presented(book, presented.slip, slip, {}, answers=shops.ANSWERS)
    yield "slip 2 is signed and recorded"
    presented, _ = shop.present(*RING)
    undoing.withdraw(book, presented.slip, "she kept it")
    yield "slip 3 is withdrawn"
    undoing.refuse(book, shop.slip(*RING, ("parties.0.birth_date", "2012-01-01")), "too young")
    yield "a seller is refused"
    yield from _money(shop)
    yield from _corrections(shop)
    yield from _reports(shop)
    yield from _more(shop)
    yield from _orders(shop)
    yield from _leaving(shop)


def _money(shop: Shop) -> Iterator[str]:
    paying.settle(shop.book, 1, "paid", at=shop.local(), reference="cheque 1207")
    yield "slip 1 is paid"
    paying.settle(shop.book, 1, "failed", at=shop.local())
    yield "its cheque comes back"
    paying.settle(shop.book, 1, "reissued", at=shop.local(), instrument="transfer")
    yield "it is made out anew"
    worn = ("parties.0.documents.0.number", {"not_known": "worn away"})
    shop.record(*RING, worn, ("items.0.offer.answer", "declined"), ("payout", GONE))
    yield "slip 4 buys nothing"
    shop.record(("parties.0.captures", []))
    yield "slip 5 has three items, one of them declined"
    undoing.void(shop.book, 5, "not hers to sell", at=shop.wait(hours=1))
    yield "slip 5 is voided"


def _corrections(shop: Shop) -> Iterator[str]:
    correcting.correct(shop.book, 1, "item/1/description", {"damage": "a deep dent"}, "seen under the lamp")
    yield "a description is corrected"
    read = [{"text": "R to A 6.12.58", "where": "inside of the band"}]
    correcting.correct(shop.book, 1, "item/1/inscriptions", {"list": read}, "read again")
    yield "an inscription is corrected"
    correcting.correct(shop.book, 1, "seller/birth_date", {"text": "1984-02-28"}, "misread")
    yield "a birth date is corrected"
    correcting.correct(shop.book, 2, "seller/name", {"given": "Jonas"}, "misread")
    yield "a name is corrected"
    correcting.correct(shop.book, 2, "seller/name", {"given": "Jonah"}, "it was right")
    yield "and corrected back"
    correcting.correct(shop.book, 2, "seller/birth_date", {"not_known": "the document is worn"}, "guessed")
    yield "a birth date is not known after all"
    correcting.correct(shop.book, 2, "item/1/price", {"offer": {"currency": "USD", "minor": 13_500}}, "miscounted")
    yield "an offer is corrected"
    correcting.correct(shop.book, 2, "payout/amount", {"minor": 13_500}, "miscounted")
    yield "and what is owed with it"
    correcting.correct(shop.book, 2, "item/1/conclusion", {"agrees": False, "because": "the spring is brass"}, "seen")
    yield "a conclusion is corrected"


def _reports(shop: Shop) -> Iterator[str]:
    book = shop.book
    for report in ("purchase-1.police", "purchase-2.police"):
        reporting.make(book, report, "letter", at=shop.local())
        yield f"{report} is made"
        reporting.sent(book, report, at=shop.local(), how="by hand")
        yield f"{report} is sent"
    reporting.received(book, "purchase-1.police", at=shop.wait(days=1), who="Desk", reference="R 7")
    yield "the police have the first"
    correcting.correct(book, 2, "item/1/description", {"damage": "none"}, "it was dirt")
    yield "the second is to be corrected"
    reporting.make(book, "purchase-2.police", "letter", at=shop.local())
    yield "the second is made again"
    shop.wait(days=14)
    for owed in reporting.owed(book, at=shop.local()):
        reporting.make(book, owed.report, "a4", at=shop.local())
        yield f"{owed.report} is made"


def _more(shop: Shop) -> Iterator[str]:
    book = shop.book
    permit: dict[str, Any] = {"permission": "vault", "by": "An officer", "from": "2026-12-01", "until": "2027-12-31"}
    permitting.permit(book, permitting.read_permission(permit))
    yield "the shop may keep goods in a vault"
    sooner = {**permit, "permission": "sooner", "item": "1/1"}
    permitting.permit(book, permitting.read_permission(sooner))
    yield "one item is held for a shorter time"
    happening.happen(book, "tagged", "1/1", at=shop.local())
    yield "an item is tagged"
    happening.happen(book, "registered", "shop", at=shop.local())
    yield "a clerk is registered"
    asked, _ = reporting.asked(book, "xx-sample/day-list", "2026-11-24/2026-11-25", at=shop.local(), by="An officer")
    yield "the police ask for a list of the purchases"
    reporting.extended(book, asked, at=shop.local(), by="An officer")
    yield "they give two days more"
    reporting.make(book, asked, "letter", at=shop.local())
    yield "it is made"
    reporting.delivered(book, asked, at=shop.local(), how="by hand")
    yield "it is delivered"


def _orders(shop: Shop) -> Iterator[str]:
    book = shop.book
    asked = {
        "items": ["2/1"],
        "agency": "An agency",
        "officer": "An officer",
        "power": "Sample Act s. 9",
        "from": "2026-12-01T09:00:00-06:00[America/Chicago]",
        "form": "written",
    }
    name, _ = holding.order(book, holding.read_order(asked))
    yield "an authority holds an item"
    holding.lift(book, name, at=shop.local(), by="An officer", form="spoken")
    yield "it holds it no longer"
    name, _ = holding.order(book, holding.read_order({**asked, "form": "spoken"}))
    yield "it holds it again"
    holding.note(book, name, "confirmed", at=shop.local(), by="An officer")
    yield "it says so in writing"
    inquiring.ask(book, "ring 14K 6.12.58", {"agency": "An agency"})
    yield "a question is answered"
    looking.look(book, "slip/1", "the seller asks for a copy")
    yield "somebody looked"


def _leaving(shop: Shop) -> Iterator[str]:
    book = shop.book
    leaving.move(book, 1, 1, "safe", at=shop.local(), because="overnight")
    yield "an item is moved"
    leaving.out(book, 1, 1, "sold", at=shop.wait(days=30), to="a customer")
    yield "it is sold"
    for day in (date(2026, 11, 24), date(2026, 11, 25)):
        closing.close(book, day)
        yield f"{day} is closed"
    keys, book.keys = book.keys, None
    closing.close(book, date(2026, 11, 26))
    book.keys = keys
    yield "2026-11-26 is closed while nobody is there"
    setting_up.set_facts(book, facts.read(shops.FACTS.replace(b"2026-01-01", b"2027-01-01")))
    yield "the shop's facts change"
    setting_up.person_left(book, "ben", shop.local().date())
    yield "the clerk leaves"
