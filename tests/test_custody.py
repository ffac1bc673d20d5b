"""Goods that an authority takes, or that are given up, and that may come back; and what is told of goods that are gone.

An order is played ten times: in time, after the sale, after the melt, spoken and lapsed, secret, for the wrong item,
under a hold, with a preservation, as a replevin, and as a seizure whose follow-up day passes.
"""

from datetime import timedelta
from typing import Any

import pytest

from ledger.acts import aftermath, custody, holding, leaving, replying, requests, showing, telling
from ledger.acts.custody import Custody
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book
from ledger.errors import ForbiddenByLaw, InputError
from ledger.moments import local_text
from tests import shops
from tests.check_book import check_book
from tests.law_samples import rule
from tests.paper_tools import text_of
from tests.shops import Shop
from tests.test_requests import GIVEN, came, followed, known

TAKEN: dict[str, Any] = {
    "items": ["1/1"],
    "outcome": "seized",
    "taken_by": "Canary Officer, badge 4417",
    "receipt": "PR-2026-118",
    "condition": "one clear bag, sealed, seal 00417",
}


def took(shop: Shop, name: str, **changes: Any) -> Custody:
    told = {**TAKEN, "at": local_text(shop.local()), **changes}
    return custody.take(shop.book, name, custody.read(told))


def gone(book: Book, slip: int, line: int) -> aftermath.Gone | None:
    with engines.reading(book.engine) as connection:
        return aftermath.of(connection, book, slip, line)


def state(book: Book, slip: int, line: int) -> str:
    with engines.reading(book.engine) as connection:
        return str(reading.item_row(connection, book.origin, slip, line).state)


class TestTaking:
    """Seizure and surrender are changes of custody, with the receipt and what must follow by when."""

    def test_items_leave_with_receipt_and_follow_up(self, shop: Shop) -> None:
        shop.record()
        name = came(shop, kind="warrant", decision=GIVEN)
        due = shop.local() + timedelta(days=120)
        done = took(shop, name, follow_up=[{"what": "return or a warrant", "due": local_text(due)}])
        assert (state(shop.book, 1, 1), done.items[0].about) == ("seized", ("item/1/1",))
        assert known(shop, name).follow_ups == [("return or a warrant", due)]
        (step,) = known(shop, name).of("taken")
        assert (step["receipt"], step["entries"]) == ("PR-2026-118", [done.items[0].seq])
        check_book(shop)

    def test_the_items_own_entry_tells_only_that_it_left(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        done = took(sqlite_shop, came(sqlite_shop))
        with engines.reading(sqlite_shop.book.engine) as connection:
            opened = reading.open_entry(connection, sqlite_shop.book, done.items[0].seq)
        assert opened.get("item/1/outcome") == {
            "at": done.items[0].occurred_at,
            "to": "an authority, under a receipt",
            "because": "",
        }

    def test_a_seizure_is_recorded_where_a_hold_forbids_it_and_a_surrender_is_not(self, bare_shop: Shop) -> None:
        # The shop does not decide a seizure; giving goods up is its own act, which the law can forbid.
        forbids = 'length = 5\nunit = "days"\nforbids = ["sell", "surrender"]\n'
        shops.adopt(bare_shop, rule("hold", "five-days", forbids))
        bare_shop.record()
        name = came(bare_shop, items=["1/1", "1/3"])
        before = check_book(bare_shop).entries
        with pytest.raises(ForbiddenByLaw, match="surrender"):
            took(bare_shop, name, outcome="surrendered")
        check_book(bare_shop, entries=before)
        done = took(bare_shop, name)
        assert len(done.against) == 1
        assert "surrender" in done.against[0]
        assert known(bare_shop, name).of("taken")[0]["against"] == list(done.against)
        bare_shop.wait(days=6)
        assert took(bare_shop, name, outcome="surrendered", items=["1/3"]).against == ()

    def test_goods_come_back_under_every_hold_that_runs(self, shop: Shop) -> None:
        shop.record()
        name = came(shop, items=["1/1", "1/3"])
        took(shop, name, items=["1/1", "1/3"])
        assert custody.away(known(shop, name)) == ["1/1", "1/3"]
        custody.give_back(shop.book, name, [(1, 1)], at=shop.local(), by="the officer", said="the case is over")
        assert (state(shop.book, 1, 1), state(shop.book, 1, 3)) == ("in stock", "seized")
        assert custody.away(known(shop, name)) == ["1/3"]
        with pytest.raises(ForbiddenByLaw):
            leaving.out(shop.book, 1, 1, "melted", at=shop.local())
        check_book(shop)

    def test_what_is_not_out_cannot_come_back(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop)
        with pytest.raises(InputError, match=f"^items: '1/1' .* out on request {name}: none"):
            custody.give_back(sqlite_shop.book, name, [(1, 1)], at=sqlite_shop.local(), by="x")
        took(sqlite_shop, name)
        with pytest.raises(InputError, match=f"^items: nothing .* out on request {name}: 1/1"):
            custody.give_back(sqlite_shop.book, name, [], at=sqlite_shop.local(), by="x")

    def test_only_what_the_request_names_and_the_shop_has_is_taken(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop)
        with pytest.raises(InputError, match="^items: '1/3' was given; wanted is items that request"):
            took(sqlite_shop, name, items=["1/3"])
        any_item = came(sqlite_shop, items=None)
        took(sqlite_shop, any_item, items=["1/3"])
        with pytest.raises(InputError, match="^items: '1/3, seized' was given; wanted is items that the shop still"):
            took(sqlite_shop, any_item, items=["1/3"])
        followed(sqlite_shop, name, "closed")
        with pytest.raises(InputError, match="wanted is a request that has not ended"):
            took(sqlite_shop, name)

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"seal": "x"}, "^seal: 'seal' was given; wanted is one of items"),
            ({"outcome": "lost"}, "^outcome: "),
            ({"to": "claimant"}, "^to: "),
            ({"to": "me"}, "^to: "),
            ({"items": []}, "^items: "),
            ({"items": ["1/1", "1/1"]}, "^items: "),
            ({"receipt": ""}, "^receipt: "),
        ],
    )
    def test_what_is_wrong_is_named(self, changes: dict[str, Any], message: str) -> None:
        at = "2026-11-24T09:15:00-06:00[America/Chicago]"
        with pytest.raises(InputError, match=message) as fault:
            custody.read({**TAKEN, "at": at, **changes})
        assert "Canary" not in str(fault.value)

    def test_on_a_secret_request_the_item_is_away_and_nobody_is_told_where(self, shop: Shop) -> None:
        shop.record()
        name = came(shop, kind="warrant", secret_until="lifted")
        done = took(shop, name)
        assert (state(shop.book, 1, 1), done.items[0].public) == ("away", {"state": "away"})
        found = gone(shop.book, 1, 1)
        assert found is not None
        assert found.sentences[1] == "The book names nobody else who has it."
        dossier = telling.tell(shop.book, 1, 1, telling.Request("Another", "s. 2"), "letter", at=shop.local())[1]
        register = showing.folder(shop.book, "letter", at=shop.local()).files["register.csv"].decode()
        for said in (text_of(dossier), register):
            assert "away" in said.lower()
            assert not [word for word in ("seiz", "authority,", "warrant", "canary") if word in said.lower()]
        custody.give_back(shop.book, name, [(1, 1)], at=shop.local(), by="the officer")
        assert state(shop.book, 1, 1) == "in stock"
        dossier = telling.tell(shop.book, 1, 1, telling.Request("Another", "s. 2"), "letter", at=shop.local())[1]
        assert "came back" in text_of(dossier)
        assert "It lies in the shop again." in text_of(dossier)
        assert "came back" in showing.folder(shop.book, "letter", at=shop.local()).files["register.csv"].decode()
        check_book(shop)


class TestReceipt:
    """The paper on which both sides sign."""

    def test_it_names_goods_case_power_and_what_must_follow(self, shop: Shop) -> None:
        shop.record()
        name = came(shop, kind="warrant")
        due = local_text(shop.local() + timedelta(days=120))
        done = took(shop, name, follow_up=[{"what": "return or a warrant", "due": due}])
        said = text_of(custody.receipt(shop.book, name, done.entry, "letter"))
        for words in (
            "Receipt: goods seized",
            "Canary Officer, badge 4417",
            "CASE-CANARY-77",
            "Canary Code 9 (invented), subpoena 12",
            "PR-2026-118",
            "one clear bag, sealed, seal 00417",
            "return or a warrant Wed 24 Mar 2027",
            "Nobody gives up or admits a right to them by signing",
            "Received by",
            f"entry {done.entry.seq}, leaf",
        ):
            assert words in said

    def test_a_claimant_is_named_and_a_case_without_dates_says_so(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, kind="replevin", case=None, true_owner="Ruth Canary, by order of the court")
        done = took(sqlite_shop, name, outcome="surrendered", to="claimant")
        said = text_of(custody.receipt(sqlite_shop.book, name, done.entry, "a4"))
        for words in ("goods surrendered", "Ruth Canary", "none named", "The papers of the case name no date."):
            assert words in said


class TestGone:
    """An order that comes after the item was sold or melted shows what the book knows and what is left."""

    def test_what_the_shop_still_has_is_not_gone(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        assert gone(sqlite_shop.book, 1, 1) is None

    def test_a_sale_names_the_buyer_as_the_book_does(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.move(bare_shop.book, 1, 1, "safe 2", at=bare_shop.local(), because="")
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local(), to="Bellweather Metals", because="")
        found = gone(bare_shop.book, 1, 1)
        assert found is not None
        assert (found.state, found.to, found.beside) == ("sold", "Bellweather Metals", ("1/3",))
        assert found.record()["says"] == list(found.sentences)
        assert "It went to Bellweather Metals." in found.sentences

    def test_a_declined_item_never_was_the_shops(self, bare_shop: Shop) -> None:
        bare_shop.record()
        found = gone(bare_shop.book, 1, 2)
        assert found is not None
        assert (found.state, found.at, found.lots) == ("declined", "", ())
        assert len(found.sentences) == 1
        assert found.sentences[0].endswith("was never bought: declined.")

    def test_a_melt_lot_shows_the_share_and_what_of_it_is_left(self, bare_shop: Shop) -> None:
        bare_shop.record()
        bare_shop.record()
        with bare_shop.book.writing() as page:
            about = ["lot/7", "item/1/1", "item/2/1"]
            page.append("lot/0", about=about, public={"state": "melted-together"}, held=[])
        leaving.out(bare_shop.book, 1, 1, "melted", at=bare_shop.local(), to="lot 7")
        found = gone(bare_shop.book, 1, 1)
        assert found is not None
        (lot,) = found.lots
        assert (lot.id, lot.state, lot.items, lot.left) == ("7", "melted together", ("1/1", "2/1"), ("2/1",))
        assert lot.share_mg is not None
        assert lot.whole_mg == 2 * lot.share_mg  # the same article twice
        assert "Of the lot there are still here: 2/1." in found.sentences
        leaving.out(bare_shop.book, 2, 1, "melted", at=bare_shop.local(), to="lot 7")
        leaving.out(bare_shop.book, 1, 3, "sold", at=bare_shop.local())
        found = gone(bare_shop.book, 1, 1)
        assert found is not None
        assert found.sentences[-2:] == ("Nothing of it is here.", "Of the same purchase nothing else is here.")

    def test_a_share_that_is_not_known_is_said_to_be(self) -> None:
        lot = aftermath.Lot("7", "melted", ("1/1", "2/1"), None, None, ())
        found = aftermath.Gone("1/1", "Ring", "melted", "", "", (lot,), ())
        assert "; how much of the metal came from it is not known." in found.sentences[2]
        assert found.record()["lots"][0]["share_mg"] is None


class TestAnOrderArrives:
    """Ten runs of an order that arrives, each on a book that stays sound."""

    def order(self, shop: Shop, **changes: Any) -> str:
        told = {
            **dict.fromkeys(("agency", "officer", "power"), "Canary"),
            "items": ["1/1"],
            "form": "written",
            "from": local_text(shop.local()),
            **changes,
        }
        return holding.order(shop.book, holding.read_order(told))[0]

    def kept(self, shop: Shop) -> list[str]:
        with engines.reading(shop.book.engine) as connection:
            return [one.by for one in requests.preserved(connection, shop.book, "slip/1", at=shop.local())]

    @pytest.mark.parametrize("late", ["sold", "melted"])
    def test_after_the_goods_left_the_answer_tells_where_they_went(self, bare_shop: Shop, late: str) -> None:
        bare_shop.record()
        leaving.out(bare_shop.book, 1, 1, late, at=bare_shop.local(), to="Bellweather Metals")
        name = came(bare_shop, decision={"state": "narrowed", "by": "ada", "because": "the ring is gone"})
        with bare_shop.book.writing() as page:
            page.seal()
        said = text_of(replying.paper(bare_shop.book, name, "letter", at=bare_shop.local()))
        assert f"is not in stock: {late} on" in said
        assert "still here: 1/3" in said
        with pytest.raises(InputError, match="items that the shop still has"):
            took(bare_shop, name)
        check_book(bare_shop)

    def test_in_time_it_holds_and_then_goods_are_taken_on_a_warrant(self, shop: Shop) -> None:
        shop.record()
        order = self.order(shop)
        with pytest.raises(ForbiddenByLaw):
            leaving.out(shop.book, 1, 1, "melted", at=shop.local())
        took(shop, came(shop, kind="warrant"))
        holding.lift(shop.book, order, at=shop.local(), by="Canary", form="written")
        assert state(shop.book, 1, 1) == "seized"
        check_book(shop)

    def test_spoken_and_never_confirmed_it_ends_by_its_own_words(self, bare_shop: Shop) -> None:
        bare_shop.record()
        self.order(bare_shop, form="spoken", until=local_text(bare_shop.local() + timedelta(days=3)))
        bare_shop.wait(days=4)
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        check_book(bare_shop)

    def test_a_secret_one_is_kept_and_not_seen(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        came(sqlite_shop, secret_until="lifted")
        with engines.reading(sqlite_shop.book.engine) as connection:
            assert requests.on_screen(connection, sqlite_shop.book, at=sqlite_shop.local()) == []
        assert self.kept(sqlite_shop) == ["request"]

    def test_for_an_item_that_the_book_has_not_nothing_is_logged(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = check_book(sqlite_shop).entries
        with pytest.raises(InputError):
            came(sqlite_shop, items=["7/1"])
        check_book(sqlite_shop, entries=before)

    def test_a_replevin_gives_goods_to_the_true_owner(self, bare_shop: Shop) -> None:
        bare_shop.record()
        name = came(bare_shop, kind="replevin", true_owner="Ruth Canary")
        followed(bare_shop, name, "claimed", claimant="Ruth Canary", claim="her grandmother's ring")
        took(bare_shop, name, outcome="surrendered", to="claimant")
        followed(bare_shop, name, "closed")
        assert (state(bare_shop.book, 1, 1), self.kept(bare_shop)) == ("surrendered", [])
        check_book(bare_shop)

    def test_a_day_by_which_something_must_follow_passes_and_is_seen(self, bare_shop: Shop) -> None:
        bare_shop.record()
        name = came(bare_shop, kind="warrant")
        due = local_text(bare_shop.local() + timedelta(days=2))
        took(bare_shop, name, follow_up=[{"what": "return or a warrant", "due": due}])
        ((what, by),) = known(bare_shop, name).follow_ups
        assert by < bare_shop.wait(days=3)
        followed(bare_shop, name, "followed-up", what=what)
        assert known(bare_shop, name).follow_ups == []

    def test_a_preservation_and_a_request_both_keep_the_slip(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        came(sqlite_shop, kind="preservation", preserve={"names": ["slip/1"]})
        came(sqlite_shop)
        assert self.kept(sqlite_shop) == ["preservation", "request"]
