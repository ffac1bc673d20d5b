"""Drafts are kept encrypted, survive, and belong to one tray; the form's fields are a slip document."""

from pathlib import Path

import pytest
import sqlalchemy as sa

from ledger.acts import drafting, drafts, recording
from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.pages import Page
from ledger.errors import InputError, LockedError, StorageError
from ledger.slip import fields, unfinished
from ledger.vault import pictures
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.shops import Shop

TYPED = {"tray.number": "7", "parties.0.name.family": "Quillfeather-Canary", "items.0.article": "ring"}


class TestFields:
    """`document_of(fields_of(d)) == d`"""

    def test_a_document_becomes_fields_and_the_same_document_again(self) -> None:
        document = slip_samples.document()
        assert fields.document_of(fields.fields_of(document)) == document

    def test_what_was_entered_counts_beside_a_tick_that_there_is_none(self) -> None:
        typed = {"items.0.stones.none": "yes", "items.0.stones.0.colour": "red", "items.0.marks.none": "yes"}
        assert fields.document_of(typed) == {"items": [{"stones": [{"colour": "red"}], "marks": []}]}

    @pytest.mark.parametrize(
        ("written", "comes_back"), [("0", 0), ("yes", True), ("07", 7), ("0 rings", "0 rings"), ("maybe", "maybe")]
    )
    def test_an_answer_that_looks_like_a_number_or_a_truth_comes_back_as_one(
        self, written: str, comes_back: object
    ) -> None:
        document = {"answers": [{"question": "how-many", "answer": written}]}
        (answer,) = fields.document_of(fields.fields_of(document))["answers"]
        assert (answer["answer"], type(answer["answer"])) == (comes_back, type(comes_back))

    def test_lists_close_up_and_blank_fields_are_left_out(self) -> None:
        typed = {"items.0.article": "", "items.2.article": "ring", "items.2.pieces": "x", "why.a/b": " worn "}
        assert fields.document_of(typed) == {"items": [{"article": "ring", "pieces": "x"}]}
        assert fields.reasons_of(typed) == {"a/b": "worn"}


class TestUnfinished:
    """A partial document gives a slip, or says why there is none."""

    def test_what_cannot_be_taken_is_set_aside_and_named(self) -> None:
        document = slip_samples.document()
        document["items"][0]["pieces"] = "many"
        del document["parties"][0]["name"]
        slip, faults = unfinished.provisional(document)
        assert slip is not None
        assert {fault.field for fault in faults} == {"items[1].pieces", "parties[1].name"}

    def test_faults_of_many_items_are_told_in_few_readings(self) -> None:
        item = {name: value for name, value in slip_samples.document()["items"][0].items() if name != "pieces"}
        slip, faults = unfinished.provisional(slip_samples.document() | {"items": [dict(item) for _ in range(20)]})
        assert slip is not None
        assert len(slip.items) == 20
        assert len(faults) == 20

    @pytest.mark.parametrize("name", sorted(slip_samples.document()))
    def test_every_member_may_lack(self, name: str) -> None:
        document = {member: value for member, value in slip_samples.document().items() if member != name}
        slip, faults = unfinished.provisional(document)
        assert slip is not None or faults


class TestDrafts:
    """Kept encrypted, each with its tray."""

    def test_what_was_typed_is_there_again_and_lies_nowhere_in_clear(self, shop: Shop) -> None:
        kept = drafts.begin(shop.book, tray="7", fields=TYPED)
        now = drafts.save(shop.book, kept.id, {**TYPED, "items.0.style": "plain"}, version=1)
        assert drafts.open_(shop.book, kept.id) == now
        assert (now.version, now.fields["items.0.style"]) == (2, "plain")
        assert [one.tray for one in drafts.listed(shop.book)] == ["7"]
        files = [path for path in Path(shop.book.folder).rglob("*") if path.is_file()]
        assert not any(b"Canary" in path.read_bytes() for path in files)
        with engines.reading(shop.book.engine) as connection:
            (row,) = connection.execute(sa.select(tables.drafts)).all()
        assert b"Canary" not in tables.as_bytes(row.bytes)
        assert "Canary" not in repr(row)
        check_book(shop)

    def test_of_two_who_save_one_version_the_second_is_told(self, shop: Shop) -> None:
        kept = drafts.begin(shop.book, tray="7", fields=TYPED)
        shop.book.by = "ben"
        drafts.save(shop.book, kept.id, TYPED, version=1)
        shop.book.by = "ada"
        with pytest.raises(InputError, match="version 1, while ben saved version 2 at 1"):
            drafts.save(shop.book, kept.id, {}, version=1)
        (listed,) = drafts.listed(shop.book)
        assert (listed.staff, listed.saved_by) == ("ada", "ben")

    def test_a_tray_has_one_draft(self, shop: Shop) -> None:
        drafts.begin(shop.book, tray="7", fields=TYPED)
        with pytest.raises(InputError, match="a tray that no other open slip has"):
            drafts.begin(shop.book, tray="7", fields={})

    @pytest.mark.parametrize("tray", ["", "Quillfeather", "tray 1", "12345678901", "7\n"])
    def test_a_tray_stands_in_clear_and_has_no_room_for_a_name(self, sqlite_shop: Shop, tray: str) -> None:
        with pytest.raises(InputError, match="1 to 8 letters and digits") as caught:
            drafts.begin(sqlite_shop.book, tray=tray, fields={})
        assert "Quillfeather" not in str(caught.value)

    def test_a_tray_that_is_written_anew_counts_where_no_other_draft_has_it(self, shop: Shop) -> None:
        drafts.begin(shop.book, tray="2", fields={})
        kept = drafts.begin(shop.book, tray="7", fields=TYPED)
        for version, (written, stands) in enumerate((("9", "9"), ("2", "9"), ("a name", "9"), ("7", "7")), start=1):
            now = drafts.save(shop.book, kept.id, {**TYPED, "tray.number": written}, version=version)
            assert (now.tray, now.fields["tray.number"]) == (stands, written)
        assert sorted(one.tray for one in drafts.listed(shop.book)) == ["2", "7"]

    def test_a_picture_belongs_to_its_draft_alone(self, shop: Shop) -> None:
        one, other = (drafts.begin(shop.book, tray=tray, fields={}) for tray in ("1", "2"))
        now, name = drafts.attach(shop.book, one.id, shops.picture("a"), "item", field="items.0.pictures.0")
        assert name in now.pictures
        assert drafts.picture(shop.book, one.id, name)[1] == "image/jpeg"
        assert drafts.picture(shop.book, one.id, name, "received")[0] == shops.picture("a")
        with pytest.raises(InputError, match="a picture of this slip"):
            drafts.picture(shop.book, other.id, name)

    def test_the_margin_speaks_of_what_there_is(self, shop: Shop) -> None:
        typed = fields.fields_of(slip_samples.changed(("occurred_at", shop.slip().occurred_text), ("staff", "ada")))
        whole = drafts.margin(shop.book, drafts.begin(shop.book, tray="1", fields=typed))
        assert whole.examined is not None
        assert drafts.margin(shop.book, drafts.begin(shop.book, tray="2", fields={})).says != []

    def test_a_slip_that_contradicts_itself_meanwhile_has_its_margin(self, shop: Shop) -> None:
        at = shop.slip().occurred_text
        typed = fields.fields_of(slip_samples.changed(("occurred_at", at), ("staff", "ada"), ("tray.articles", 9)))
        beside = drafts.margin(shop.book, drafts.begin(shop.book, tray="1", fields=typed))
        assert beside.examined is not None
        assert "tray.articles" in [fault.field for fault in beside.examined.owed]
        assert beside.examined.duties.duties != ()

    def test_a_slip_without_an_article_has_its_margin(self, shop: Shop) -> None:
        at = shop.slip().occurred_text
        typed = {"occurred_at": at, "staff": "ada", "tray.number": "1", "tray.articles": "1"}
        beside = drafts.margin(shop.book, drafts.begin(shop.book, tray="1", fields=typed))
        assert beside.examined is not None
        assert beside.examined.slip.items == ()

    def test_no_draft_of_that_name_is_said(self, shop: Shop) -> None:
        with pytest.raises(InputError, match="a slip that is still open"):
            drafts.open_(shop.book, "0" * 32)


def keys_of(shop: Shop, draft: str) -> int:
    """How many wrapped data keys the database holds of a draft."""
    row = tables.data_keys.c
    with engines.reading(shop.book.engine) as connection:
        wanted = sa.select(sa.func.count()).where(row.book == shop.book.origin, row.subject == draft)
        return int(connection.execute(wanted).scalar_one())


def with_picture(shop: Shop) -> tuple[str, str]:
    """A draft with one picture; its id, and the picture's name."""
    kept = drafts.begin(shop.book, tray="7", fields=TYPED)
    now, name = drafts.attach(shop.book, kept.id, shops.picture("a"), "item", field="items.0.pictures.0")
    return now.id, name


class TestGivingUp:
    """Row, data keys and pictures go, in an order in which nothing that stays names what is gone."""

    def test_nothing_of_it_is_left_and_its_tray_is_free(self, shop: Shop) -> None:
        before = pictures.stored(shop.book.folder)
        draft, _name = with_picture(shop)
        other = drafts.begin(shop.book, tray="8", fields=TYPED)
        assert len(pictures.stored(shop.book.folder) - before) == 2
        assert keys_of(shop, draft) == 2  # of its text and of its picture
        drafts.give_up(shop.book, draft)
        assert [one.id for one in drafts.listed(shop.book)] == [other.id]
        assert keys_of(shop, draft) == 0
        assert pictures.stored(shop.book.folder) == before
        assert not any(subject == draft for subject, _cls in shop.book._data_keys)
        with pytest.raises(InputError, match="a slip that is still open"):
            drafts.give_up(shop.book, draft)
        assert drafts.open_(shop.book, other.id).fields == TYPED
        assert drafts.begin(shop.book, tray="7", fields={}).tray == "7"
        check_book(shop)

    def test_a_slip_that_was_presented_is_not_given_up(self, shop: Shop) -> None:
        draft = drafts.begin(shop.book, tray="7", fields=TYPED).id
        slip, same = shop.slip(), drafting.Draft(draft)
        locked = drafting.lock_pictures(shop.book, same, slip, shop.file)
        number = recording.present(shop.book, slip, same, locked, answers={}).slip
        keys, files = keys_of(shop, draft), pictures.stored(shop.book.folder)
        with pytest.raises(InputError, match=f"slip {number}, presented' was given; wanted is .* withdraw that one"):
            drafts.give_up(shop.book, draft)
        assert drafts.open_(shop.book, draft).fields == TYPED
        assert (keys_of(shop, draft), pictures.stored(shop.book.folder)) == (keys, files)
        check_book(shop)

    def test_where_the_database_fails_the_draft_stands_with_its_pictures(
        self, shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        draft, name = with_picture(shop)

        def fails(page: Page, subject: str) -> None:
            raise StorageError(path="disk", why="it is full")

        monkeypatch.setattr(Page, "drop_keys", fails)
        with pytest.raises(StorageError):
            drafts.give_up(shop.book, draft)
        assert drafts.picture(shop.book, draft, name, "received")[0] == shops.picture("a")

    def test_where_a_file_cannot_be_deleted_nobody_opens_it_any_more(
        self, shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        draft, _name = with_picture(shop)

        def fails(folder: Path, digest: str) -> None:
            raise StorageError(path=digest, why="it could not be deleted")

        monkeypatch.setattr(pictures, "remove", fails)
        with pytest.raises(StorageError):
            drafts.give_up(shop.book, draft)
        assert (drafts.listed(shop.book), keys_of(shop, draft)) == ([], 0)
        assert any("2 locked pictures" in note for note in check_book(shop).notes)

    def test_a_locked_book_gives_nothing_up(self, shop: Shop) -> None:
        draft, _name = with_picture(shop)
        keys, shop.book.keys = shop.book.keys, None
        shop.book._data_keys.clear()
        with pytest.raises(LockedError):
            drafts.give_up(shop.book, draft)
        shop.book.keys = keys
        assert drafts.open_(shop.book, draft).tray == "7"
