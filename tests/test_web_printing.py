"""Papers of a slip through the browser's door."""

import pytest

from ledger.book import engine as engines
from ledger.book import reading
from tests import slip_samples
from tests.paper_tools import text_of
from tests.web_shop import Web

SELLER = slip_samples.document()["parties"][0]["name"]["family"]
HEADS = {"to-sign": "Slip 1, for signature", "stub": "Stub of slip 1", "labels": "Item 1/1", "report": "Purchase"}


def kinds(web: Web) -> list[str]:
    """Kinds of all entries, the first one first."""
    book = web.shop.book
    with engines.reading(book.engine) as connection:
        count = reading.size(connection, book.origin)
        return [reading.entry_at(connection, book.origin, seq).kind for seq in range(count)]


@pytest.fixture
def bought(web: Web) -> Web:
    """A clerk at the counter, after one purchase."""
    web.shop.record()
    web.sign_in("ben")
    return web


class TestPapers:
    """One address for each paper; printing opens the right PDF."""

    @pytest.mark.parametrize("name", HEADS)
    def test_each_address_answers_with_its_own_paper_inline_and_never_stored(self, bought: Web, name: str) -> None:
        got = bought.get(f"/paper/slip/1/{name}")
        assert got.status_code == 200
        assert got.headers["content-type"] == "application/pdf"
        assert got.headers["content-disposition"].startswith("inline")
        assert got.headers["cache-control"].startswith("no-store")
        assert HEADS[name] in text_of(got.content)

    def test_the_labels_name_no_person(self, bought: Web) -> None:
        assert SELLER not in text_of(bought.get("/paper/slip/1/labels").content)
        assert SELLER in text_of(bought.get("/paper/slip/1/to-sign").content)

    def test_a_presented_slip_has_its_page_to_sign_and_no_stub_yet(self, web: Web) -> None:
        web.shop.present()
        web.sign_in("ben")
        assert web.get("/paper/slip/1/to-sign").status_code == 200
        assert web.get("/paper/slip/1/stub").status_code == 422

    @pytest.mark.parametrize("url", ["/paper/slip/1/all", "/paper/slip/2/stub", "/paper/slip/one/stub"])
    def test_what_is_no_paper_of_this_book_is_refused(self, bought: Web, url: str) -> None:
        assert bought.get(url).status_code == 422

    def test_nobody_who_is_signed_out_sees_a_paper(self, bought: Web) -> None:
        got = bought.other().get("/paper/slip/1/stub")
        assert not got.content.startswith(b"%PDF")


class TestALook:
    """A person's paper drawn again after the day of its slip is a look, and recorded as one."""

    def test_on_the_day_itself_nothing_is_recorded(self, bought: Web) -> None:
        before = kinds(bought)
        bought.get("/paper/slip/1/stub")
        assert kinds(bought) == before

    def test_later_a_stub_is_a_look_and_a_label_is_none(self, web: Web) -> None:
        web.shop.record()
        web.shop.wait(days=2)
        web.sign_in("ben")
        before = kinds(web)
        assert web.get("/paper/slip/1/labels").status_code == 200
        assert kinds(web) == before
        assert web.get("/paper/slip/1/stub").status_code == 200
        assert kinds(web) == [*before, "look/0"]
