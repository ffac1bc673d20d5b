"""One purchase, from the slip to the book, on both databases."""

import pytest
import sqlalchemy as sa

from ledger.acts import drafting, gathering, recording, undoing
from ledger.acts.examining import rule_name
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import ForbiddenByLaw, InputError, StillUndecided
from tests.check_book import check_book
from tests.shops import ANSWERS, Shop
from tests.slip_samples import GONE


class TestRecording:
    """`slip record` on an unpresented slip: presented and purchase, two entries in one transaction."""

    def test_a_purchase_is_two_entries_and_a_seal_over_them(self, shop: Shop) -> None:
        before = check_book(shop).entries
        done = shop.record()
        assert done.purchase is not None
        assert (done.presented.seq, done.purchase.seq) == (before, before + 1)
        assert done.purchase.public["presented"] == done.presented.leaf.hex()
        check_book(shop, entries=before + 2)

    def test_slip_numbers_follow_each_other_without_a_gap(self, shop: Shop) -> None:
        assert [shop.record().slip for _ in range(3)] == [1, 2, 3]
        check_book(shop)

    def test_a_slip_rebuilt_from_the_vault_says_what_was_written(self, shop: Shop) -> None:
        slip = shop.slip()
        number = shop.record(slip=slip).slip
        with engines.reading(shop.book.engine) as connection:
            again = gathering.whole(connection, shop.book, number).slip
        assert again.parties[0].name == slip.parties[0].name
        assert again.parties[0].documents == slip.parties[0].documents
        assert [item.offer for item in again.items] == [item.offer for item in slip.items]
        assert [item.marks for item in again.items] == [item.marks for item in slip.items]
        assert [item.weighings for item in again.items] == [item.weighings for item in slip.items]
        assert [item.evidence for item in again.items] == [item.evidence for item in slip.items]
        assert again.payout == slip.payout

    def test_a_broken_duty_stops_it_and_nothing_is_written(self, shop: Shop) -> None:
        before = check_book(shop).entries
        with pytest.raises(ForbiddenByLaw, match="words that this rule fixes"):
            shop.record(("declaration.text", "They are mine."))
        check_book(shop, entries=before)

    def test_an_undecided_duty_stops_it_until_a_person_gives_a_reason(self, shop: Shop) -> None:
        slip = shop.slip(("parties.0.birth_date", {"not_known": "worn away on the document"}))
        draft = drafting.begin(shop.book)
        pictures = drafting.lock_pictures(shop.book, draft, slip, shop.file)
        with pytest.raises(StillUndecided, match="--answer"):
            recording.record(shop.book, slip, draft, pictures, answers={})
        open_now = recording.check(shop.book, slip).duties.undecided()
        reasons = {rule_name(duty): "plainly of age" for duty in open_now}
        assert "xx-norrowa/minimum-age" in reasons
        done = recording.record(shop.book, slip, draft, pictures, answers=reasons)
        assert done.purchase is not None
        with engines.reading(shop.book.engine) as connection:
            kept = reading.open_entry(connection, shop.book, done.purchase.seq).get("duties")["answers"]
        assert kept == reasons
        check_book(shop)

    def test_a_slip_that_lacks_something_is_not_recorded_and_is_not_ready(self, shop: Shop) -> None:
        slip = shop.slip(("items.0.conclusion", GONE))
        with pytest.raises(InputError, match=r"items\[1\]\.conclusion: nothing was given"):
            recording.ready(shop.book, slip, answers=ANSWERS, what="It cannot be recorded")
        with pytest.raises(InputError, match=r"items\[1\]\.conclusion: nothing was given"):
            shop.record(slip=slip)
        whole = recording.ready(shop.book, shop.slip(), answers=ANSWERS, what="It cannot be recorded")
        assert whole.owed == ()

    def test_a_tray_that_holds_more_than_the_lines_stops_the_slip(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="^tray"):
            recording.check(sqlite_shop.book, sqlite_shop.slip(("tray.articles", 4)))

    def test_a_purchase_of_tomorrow_is_refused(self, shop: Shop) -> None:
        with pytest.raises(InputError, match="not after the machine's clock"):
            shop.record(("occurred_at", "2027-01-05T10:00:00-06:00[America/Chicago]"))

    def test_an_unknown_clerk_is_refused(self, shop: Shop) -> None:
        with pytest.raises(InputError, match="staff: 'nobody' was given"):
            shop.record(("staff", "nobody"))


class TestPresenting:
    """Presented (frozen, numbered, signed by the seller), then recorded, withdrawn or voided."""

    def test_a_presented_slip_is_recorded_when_it_is_signed(self, shop: Shop) -> None:
        presented, slip = shop.present()
        check_book(shop)
        done = recording.record_presented(shop.book, presented.slip, slip, {}, answers=ANSWERS)
        assert done.purchase is not None
        assert done.purchase.public["slip"] == presented.slip
        check_book(shop)

    def test_what_was_frozen_cannot_change_before_recording(self, shop: Shop) -> None:
        presented, _ = shop.present()
        other = shop.slip(("items.0.damage", "a deep dent"))
        with pytest.raises(InputError, match="presenting anew"):
            recording.record_presented(shop.book, presented.slip, other, {}, answers=ANSWERS)
        check_book(shop)

    def test_a_new_rate_or_program_since_keeps_no_signed_slip_from_being_recorded(self, sqlite_shop: Shop) -> None:
        done, slip = sqlite_shop.present()
        file = sqlite_shop.book.folder / "settings.toml"
        file.write_text(file.read_text().replace('gold = "0.80"', 'gold = "0.75"'))
        sqlite_shop.book.program = "0.1.1"
        draft = drafting.resume(sqlite_shop.book, done.slip)
        locked = drafting.lock_signature(sqlite_shop.book, draft, slip, sqlite_shop.file)
        recording.record_presented(sqlite_shop.book, done.slip, slip, locked, answers={})
        with engines.reading(sqlite_shop.book.engine) as connection:
            whole = gathering.whole(connection, sqlite_shop.book, done.slip)
        assert whole.parts["item/1/assessment"]["program"] == "0.1.0", "the frozen one stands"
        check_book(sqlite_shop)

    def test_a_withdrawn_slip_keeps_its_number_and_cannot_be_recorded(self, shop: Shop) -> None:
        presented, slip = shop.present()
        undoing.withdraw(shop.book, presented.slip, "the seller thought better of it")
        with pytest.raises(InputError, match="withdrawn"):
            recording.record_presented(shop.book, presented.slip, slip, {}, answers=ANSWERS)
        assert shop.record().slip == presented.slip + 1
        check_book(shop)


class TestProjections:
    """Nothing of the seller stands in clear in any derived table."""

    def test_no_derived_row_names_the_seller(self, shop: Shop) -> None:
        slip = shop.slip()
        shop.record(slip=slip)
        name = slip.parties[0].name
        words = {str(part) for part in vars(name).values() if part}
        with engines.reading(shop.book.engine) as connection:
            for table in tables.PROJECTIONS:
                text = repr(connection.execute(sa.select(table)).all())
                assert not [word for word in words if word in text], table.name
