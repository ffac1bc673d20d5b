"""One check that proves everything; scenario tests call it after every step. It is the code of `book verify`."""

from ledger.book import verifying
from ledger.book.faults import Findings
from tests.shops import Shop


def check_book(shop: Shop, *, entries: int | None = None) -> Findings:
    """Audit a shop's book at every level; fail on any fault, on a level not opened, or on another count of entries."""
    found = verifying.audit(shop.book)
    assert [str(fault) for fault in found.faults] == []
    assert found.not_opened == []
    assert set(found.levels) == {"chain", "forms", "tables", "parts", "pictures"}
    if entries is not None:
        assert found.entries == entries
    return found
