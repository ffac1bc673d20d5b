"""One day at the counter, and what it still owes in the weeks after, as a clerk and the owner live it.

Everything goes through the acts on a real book; the whole book is audited after every step, and a stranger's verifier,
which shares no code with the program, has the last word. People, goods and laws are invented.
"""

from datetime import UTC, date, datetime

import pytest

from ledger.acts import (
    closing,
    correcting,
    drafting,
    handing_over,
    holding,
    inquiring,
    leaving,
    listing,
    paying,
    recording,
    reporting,
    setting_up,
    telling,
    undoing,
)
from ledger.book import engine as engines
from ledger.book import verifying
from ledger.errors import ForbiddenByLaw, InputError
from ledger.identity import names
from ledger.moments import local_text
from tests import standalone_verifier
from tests.check_book import check_book
from tests.paper_tools import text_of
from tests.shops import ANSWERS, ZONE, Shop
from tests.slip_samples import document

RING = (("items", document()["items"][:1]), ("tray.articles", 1), ("payout.amount", "180.00"), ("staff", "mara"))
"""The sample with its ring alone, taken in by the clerk."""


class Step:
    """Counts entries, so that each step says how many it adds and is followed by an audit of everything."""

    def __init__(self, shop: Shop) -> None:
        self.shop, self.entries = shop, check_book(shop).entries

    def adds(self, entries: int) -> None:
        self.entries += entries
        check_book(self.shop, entries=self.entries)


def test_a_day_at_the_shop(shop: Shop) -> None:
    book, step = shop.book, Step(shop)
    stubs: list[str] = []

    # Nine o'clock. Mara begins to work here; the owner's three rule files were adopted when the shop was made.
    setting_up.add_person(book, "mara", "clerk", "Mara of the counter")
    step.adds(1)

    # A man sells his grandfather's ring. The slip is presented, he signs on the pad, the purchase is recorded.
    slip = shop.slip(*RING, ("declaration.signature", {"file": "signed.jpg"}))
    assert recording.check(book, slip).duties.stopping() == ()
    draft = drafting.begin(book)
    unsigned = shop.slip(*RING)
    presented = recording.present(
        book, slip, draft, drafting.lock_pictures(book, draft, unsigned, shop.file), answers=ANSWERS
    )
    step.adds(1)
    with engines.reading(book.engine) as connection:
        page = text_of(handing_over.slip_page(connection, book, presented.slip, "letter"))
    assert "I own these goods" in page
    signature = drafting.lock_signature(book, drafting.resume(book, presented.slip), slip, shop.file)
    bought = recording.record_presented(book, presented.slip, slip, signature, answers=ANSWERS)
    step.adds(1)
    stubs.append(bought.seal)
    with engines.reading(book.engine) as connection:
        stub = text_of(handing_over.stub_paper(connection, book, 1, "letter"))
    assert closing.short(bought.seal) in stub
    paying.settle(book, 1, "paid", at=shop.local(), reference="cheque 1207")
    step.adds(1)

    # A boy of sixteen is sent away; the book keeps that it was so, not who he was.
    shop.wait(minutes=20)
    young = shop.slip(*RING, ("parties.0.birth_date", "2010-03-01"))
    with pytest.raises(ForbiddenByLaw, match="under eighteen"):
        shop.record(slip=young)
    undoing.refuse(book, young, "under age")
    step.adds(1)

    # A woman changes her mind at the last moment; her number is used up all the same.
    shop.wait(minutes=20)
    changed, _ = shop.present(*RING)
    undoing.withdraw(book, changed.slip, "she keeps it")
    step.adds(2)

    # The man comes again with more, wants cash for 540.00 and may not have it; he takes a transfer.
    shop.wait(minutes=30)
    dear = (*RING, ("items.0.offer.amount", "540.00"), ("payout.amount", "540.00"))
    with pytest.raises(ForbiddenByLaw, match=r"at most USD 500\.00 may be paid by cash"):
        shop.record(*dear, ("payout.instrument", "cash"))
    again = shop.record(*dear, ("payout.instrument", "transfer"))
    stubs.append(again.seal)
    step.adds(2)
    assert inquiring.returning(book, "document", names.number_key("A417-2290-11")) == [3, 2, 1]

    # An officer telephones about a yellow ring with initials; another asks for a tiara that nobody has seen.
    found, _ = inquiring.ask(book, "yellow ring 14K R fr A", {"agency": "Pellwick Police", "officer": "J. Ward"})
    assert [(one.slip, one.line) for one in found.pointers] == [(3, 1), (2, 1), (1, 1)]
    nothing, _ = inquiring.ask(book, "platinum tiara", {"agency": "Pellwick Police"})
    assert nothing.pointers == ()
    step.adds(2)
    asked = {
        "items": ["1/1"],
        "agency": "Pellwick Police",
        "officer": "J. Ward",
        "power": "Pellwick Town Code 7-9 (invented)",
        "from": local_text(shop.local()),
        "form": "spoken",
    }
    order, _ = holding.order(book, holding.read_order(asked))
    step.adds(1)

    # Under the loupe the initials read otherwise: the old line stays, the new one is what the search finds.
    correcting.correct(book, 1, "item/1/inscriptions", {"list": [{"text": "B fr A", "where": "inside"}]}, "read again")
    step.adds(1)
    assert inquiring.search(book, "b fr a").pointers[0].slip == 1

    # The first cheque bounces and is made good; a purchase that should not have been is undone.
    paying.settle(book, 1, "failed", at=shop.local())
    paying.settle(book, 1, "reissued", at=shop.local(), instrument="transfer")
    paying.settle(book, 1, "paid", at=shop.local())
    step.adds(3)
    undoing.void(book, 3, "the second ring is his brother's", at=shop.local())
    step.adds(2)

    # Six o'clock. The day is closed; the sheet names every article of it.
    shop.now = datetime(2026, 11, 24, 18, tzinfo=ZONE).astimezone(UTC)
    closed = closing.close(book, date(2026, 11, 24))
    assert closed.seal is not None
    stubs.append(closed.seal)
    step.adds(1)
    assert (closed.counts["slips_recorded"], closed.counts["slips_voided"], closed.counts["slips_withdrawn"]) == (
        1,
        1,
        1,
    )
    with engines.reading(book.engine) as connection:
        sheet = text_of(listing.day_sheet_paper(connection, book, date(2026, 11, 24), "letter", at=shop.local()))
    assert all(f" {item} " in sheet for item in ("1/1", "2/1", "3/1"))

    # Wednesday: the purchase reports and the day's list go to the sheriff, who has them by noon.
    shop.wait(hours=15)
    owed = [one.report for one in reporting.owed(book, at=shop.local())]
    assert owed == ["day-2026-11-24.county-sheriff", "purchase-1.county-sheriff", "purchase-3.county-sheriff"]
    for report in owed:
        _, paper = reporting.make(book, report, "letter", at=shop.local())
        reporting.sent(book, report, at=shop.local(), how="by hand")
        reporting.received(book, report, at=shop.local(), who="the property desk")
        assert "Averill" in text_of(paper)
    step.adds(9)

    # Nine days later the order still holds the ring; it is lifted, but the town's fifteen days are not over.
    shop.now = datetime(2026, 12, 4, 10, tzinfo=ZONE).astimezone(UTC)
    holding.lift(book, order, at=shop.local(), by="J. Ward, Pellwick Police", form="written")
    step.adds(1)
    with pytest.raises(ForbiddenByLaw, match=r"Pellwick Town Code 7-6 .* before 2026-12-10 00:00 America/Chicago"):
        leaving.out(book, 1, 1, "melted", at=shop.local())
    (ring,) = holding.standing(book)
    assert (ring.cautious, ring.orders) == (datetime(2026, 12, 10, tzinfo=ZONE), ())

    # Two weeks were reported, one of them with nothing bought.
    shop.now = datetime(2026, 12, 7, 9, tzinfo=ZONE).astimezone(UTC)
    for report, nil in (("week-2026-11-23.town-police", False), ("week-2026-11-30.town-police", True)):
        entry, _ = reporting.make(book, report, "a4", at=shop.local())
        assert entry.public["nil"] is nil
        reporting.sent(book, report, at=shop.local(), how="by the town's post")
    step.adds(4)

    # On the tenth the ring goes to the refiner, and a judge gets its whole history, with its parties.
    shop.now = datetime(2026, 12, 10, 9, tzinfo=ZONE).astimezone(UTC)
    leaving.out(book, 1, 1, "melted", at=shop.local(), to="a refiner", because="lot 1")
    _, paper = telling.tell(
        book, 1, 1, telling.Request("a judge", "a warrant", parties=True, reasons=True), "letter", at=shop.local()
    )
    step.adds(2)
    history = text_of(paper)
    for words in ("Jonah Averill", "B fr A", "read again", "Melted. To: a refiner."):
        assert words in history
    with pytest.raises(InputError, match="an item in stock"):
        leaving.out(book, 1, 1, "sold", at=shop.local())

    # Whoever kept a stub can hold the book against it.
    for note in stubs:
        assert verifying.audit(book, against=note).faults == []
        assert verifying.audit(book, against=closing.short(note)).faults == []
    if book.engine.dialect.name == "sqlite":
        book.engine.dispose()
        for against in (None, *stubs):
            assert standalone_verifier.verify(book.folder, against) == []
        origin, size, rest = stubs[0].split("\n", 2)
        assert standalone_verifier.verify(book.folder, f"{origin}\n{int(size) + 1}\n{rest}") != []
