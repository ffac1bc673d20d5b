"""One check that proves everything: each level alone, what cannot be opened, what is held against the book."""

import hashlib
import json
import os
from pathlib import Path

import pytest

from ledger.acts import closing
from ledger.book import engine as engines
from ledger.book import faults, reading, tables, verifying
from ledger.book.faults import LEVELS, Fault, Findings
from ledger.chain import entries, proof_files, seals
from ledger.errors import InputError, LockedError
from ledger.vault import pictures
from tests.check_book import check_book
from tests.forgeries import Forger
from tests.shops import Shop
from tests.tampering import OTHER, damaged, found, tampering


class TestLevels:
    """chain, forms, tables, parts, pictures: each alone, or all that can be opened."""

    def test_a_sound_book_is_sound_at_all_levels(self, after: Shop) -> None:
        result = check_book(after)
        assert tuple(result.levels) == LEVELS
        assert result.record() == {
            "ok": True,
            "entries": result.entries,
            "root": seals.read_seal(closing.seal(after.book)).root.hex(),
            "levels": list(LEVELS),
            "not_opened": [],
            "faults": [],
            "notes": [],
        }

    @pytest.mark.parametrize("level", LEVELS)
    def test_a_level_alone_says_how_many_entries_there_are(self, after: Shop, level: str) -> None:
        alone, together = verifying.audit(after.book, levels=[level]), verifying.audit(after.book)
        assert (alone.levels, alone.ok, alone.entries) == ([level], True, together.entries)
        assert bool(alone.root) == (level == "chain")

    # One damage for each level, and the levels whose business it is.
    DAMAGE = (
        ("UPDATE nodes SET hash = zeroblob(32) WHERE level = 2 AND idx = 1", {"chain"}),
        ("UPDATE rule_files SET bytes = x'00'", {"forms"}),
        ("UPDATE payouts SET minor = minor + 1", {"tables"}),
        ("DELETE FROM locked_rows WHERE class = 'staff'", {"parts"}),
    )

    @pytest.mark.parametrize(("statement", "levels"), DAMAGE, ids=[levels.copy().pop() for _, levels in DAMAGE])
    def test_a_level_finds_what_is_its_business_and_nothing_else(
        self, after: Shop, statement: str, levels: set[str]
    ) -> None:
        with tampering(after.book.folder) as raw:
            raw.execute(statement)
        result = verifying.audit(after.book)
        assert {fault.level for fault in result.faults} == levels
        for level in LEVELS:
            assert bool(found(after, level)) == (level in levels), level

    def test_a_picture_that_is_gone_or_another_is_named(self, after: Shop) -> None:
        one, two, *_ = sorted(path for path in (after.book.folder / "pictures").glob("*/*") if path.is_file())
        one.unlink()
        two.write_bytes(two.read_bytes() + b"x")
        result = verifying.audit(after.book)
        assert {fault.level for fault in result.faults} == {"pictures"}
        said = "\n".join(found(after, "pictures"))
        assert f"a picture file that it names is missing: expected {one.name}" in said
        assert f"a picture file that it names holds bytes with the digest {pictures_digest(two)}: expected" in said
        assert said.count("a picture does not open as it was locked") == 2

    def test_a_locked_picture_nobody_names_is_a_note_and_no_fault(self, after: Shop) -> None:
        key, _ = after.book.opened().fresh_data_key("d1", "item", os.urandom)
        place = {"book": after.book.origin, "subject": "d1", "cls": "item", "picture_id": "p/shown"}
        pictures.lock(after.book.folder, key, b"x", nonce=bytes(12), **place)
        result = verifying.audit(after.book)
        assert result.ok
        assert result.notes == ["1 locked pictures lie in the folder that no entry names (a slip not recorded)."]

    def test_an_unknown_level_is_refused(self, after: Shop) -> None:
        with pytest.raises(InputError, match="level: 'colour' was given; wanted is one of chain, forms, tables, parts"):
            verifying.audit(after.book, levels=["chain", "colour"])

    def test_what_this_process_remembers_is_no_evidence(self, after: Shop) -> None:
        """The keys found before are in memory; the table has lost them."""
        check_book(after)
        with engines.reading(after.book.engine) as connection:
            row = reading.slip_row(connection, after.book.origin, 1)
            reading.open_entry(connection, after.book, row.presented_seq)
        assert after.book._data_keys
        said = damaged(after, "DELETE FROM data_keys WHERE class = 'money'")
        assert any("of its digests have no part in the vault, and none was forgotten" in each for each in said)

    def test_both_databases_are_audited_alike(self, shop: Shop) -> None:
        shop.record()
        check_book(shop)
        with engines.writing(shop.book.engine, shop.book.origin) as connection:
            connection.execute(tables.payouts.update().values(minor=1))
            connection.execute(tables.mentions.delete())
        result = verifying.audit(shop.book)
        assert {fault.what.partition(":")[0] for fault in result.faults} == {"payouts", "mentions"}
        assert len(result.faults) <= 100


def pictures_digest(path: Path) -> str:
    """Hex SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


class TestForgotten:
    """Every digest has its part, or an entry says that it was forgotten."""

    def test_what_was_forgotten_is_not_missed_and_what_was_lost_is(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            hired = next(
                entry for entry in reading.all_entries(connection, after.book.origin) if "staff/ben" in entry.about
            )
        lost = damaged(after, "DELETE FROM data_keys WHERE subject = 'staff-ben'")
        assert lost == [
            f"parts, entry {hired.seq}: 1 of its digests have no part in the vault, and none was forgotten: expected"
            f" {hired.parts[0]}, found no part"
        ]
        with after.book.writing() as page:
            public = {"digests": list(hired.parts), "class": "staff"}
            page.append("forgotten/0", about=["staff/ben"], public=public)
        check_book(after)


class TestLocked:
    """A level that cannot be opened is said with the reason; one that was named and cannot be opened stops."""

    def test_plain_verify_checks_what_it_can_and_says_what_not(self, after: Shop) -> None:
        after.book.keys = None
        result = verifying.audit(after.book)
        assert result.ok
        assert result.levels == ["chain", "forms", "pictures"]
        assert result.not_opened == [
            ("tables", "the vault is locked; give --unlock-with FILE"),
            ("parts", "the vault is locked; give --unlock-with FILE"),
            ("pictures", "only their encrypted files were compared: the vault is locked"),
        ]

    @pytest.mark.parametrize("level", ["tables", "parts"])
    def test_a_named_level_that_needs_the_vault_stops(self, after: Shop, level: str) -> None:
        after.book.keys = None
        with pytest.raises(LockedError, match=f"Level {level} is locked: the vault is locked; give --unlock-with FILE"):
            verifying.audit(after.book, levels=["chain", level])

    def test_pictures_are_compared_as_they_lie(self, after: Shop) -> None:
        after.book.keys = None
        one = next(path for path in (after.book.folder / "pictures").glob("*/*") if path.is_file())
        one.unlink()
        result = verifying.audit(after.book, levels=["pictures"])
        assert [fault.found for fault in result.faults] == ["not that"]


class TestAgainst:
    """A seal, a proof, a stub's QR text, or the short form printed on a paper; and the key's fingerprint."""

    @pytest.fixture
    def seal(self, after: Shop) -> str:
        """A seal that left the shop."""
        return closing.seal(after.book)

    def against(self, shop: Shop, text: str) -> list[str]:
        """What holding the book against something finds."""
        return [str(fault) for fault in verifying.audit(shop.book, levels=["forms"], against=text).faults]

    def test_every_form_of_a_true_seal_agrees(self, after: Shop, seal: str) -> None:
        short = closing.short(seal)
        with engines.reading(after.book.engine) as connection:
            proof = reading.proof(connection, after.book, 7)
        forms = (seal, seal.rstrip("\n"), f"\n{seal}\n", short, f" {short.lower()}\n", proof, proof + "\n")
        for text in forms:
            assert self.against(after, text) == [], text
        assert verifying.audit(after.book, levels=["forms"], against=seal).levels == ["chain", "forms"]

    def test_a_book_that_was_rewritten_agrees_with_none(self, after: Shop, seal: str) -> None:
        with engines.reading(after.book.engine) as connection:
            size = reading.size(connection, after.book.origin)
            proof = reading.proof(connection, after.book, size - 1)
        forger = Forger(after.book.folder, after.book.origin, after.book.opened(), seal)
        changed = forger.entries()
        changed[-1] = changed[-1].replace(b'"by":"ada"', b'"by":"eve"')
        forger.rewrite(changed, resign=True)
        told = "covers entries 0 to .*, and at least one of them was another when it was"
        for text, what in ((seal, "the seal from outside"), (proof, "the proof from outside"),
                           (closing.short(seal), "the printed seal")):  # fmt: skip
            (fault,) = self.against(after, text)
            assert f"{what} " in fault
            assert told.partition(" .*")[0] in fault

    def test_a_book_that_was_cut_is_too_short_for_all(self, after: Shop, seal: str) -> None:
        with engines.reading(after.book.engine) as connection:
            proof = reading.proof(connection, after.book, 0)
        forger = Forger(after.book.folder, after.book.origin, after.book.opened(), seal)
        forger.rewrite(forger.entries()[:-2], resign=True)
        for text in (seal, proof, closing.short(seal)):
            (fault,) = self.against(after, text)
            assert "was cut" in fault

    def test_an_empty_book_is_too_short_for_all(self, after: Shop, seal: str) -> None:
        with engines.reading(after.book.engine) as connection:
            proof = reading.proof(connection, after.book, 0)
        with tampering(after.book.folder) as raw:
            for table in ("entries", "nodes", "seals"):
                raw.execute(f"DELETE FROM {table}")
        for text in (seal, proof, closing.short(seal)):
            said = self.against(after, text)
            assert any("the opening entry names no key" in fault for fault in said)
            assert len(said) > 1

    def test_a_proof_of_another_entry_is_no_proof_of_this_one(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            proof = proof_files.read(reading.proof(connection, after.book, 7))
        for index in (6, 8, 999):
            forged = proof_files.write(index, proof.path, proof.note)
            (fault,) = self.against(after, forged)
            assert fault == f"chain, entry {index}: the entry is not the one that the proof from outside was made for"

    def test_a_seal_of_another_book_says_so(self, after: Shop) -> None:
        keys = after.book.opened()
        (fault,) = self.against(after, seals.seal(OTHER, 3, bytes(32), keys.public, keys.sign))
        assert "is not signed by this book's key" in fault

    def test_a_checkpoint_of_another_book_under_this_books_name_says_so(self, after: Shop) -> None:
        """A note may be signed under one name and speak of another."""
        keys = after.book.opened()
        text = seals.checkpoint_text(OTHER, 3, bytes(32))
        (fault,) = self.against(after, seals.sign_note(text, after.book.origin, keys.public, keys.sign))
        assert f"the seal from outside speaks of another book: expected {after.book.origin}, found {OTHER}" in fault

    @pytest.mark.parametrize(
        "text",
        ["", "a stub", "12-", "0-AAAAAAAAAAAAAAAAAAAA", "a\nb\nc\n", "Dear Sir,\n\nwe write to you\n",
         proof_files.HEAD + "\nindex x\n", proof_files.HEAD + "\nindex 1\n\n" + "no seal\n"],
    )  # fmt: skip
    def test_what_is_none_of_these_is_no_fault_of_the_book(self, after: Shop, text: str) -> None:
        with pytest.raises(InputError, match=r"seal: |against: "):
            self.against(after, text)

    def test_the_key_is_compared_with_the_fingerprint_from_outside(self, after: Shop) -> None:
        digits = seals.fingerprint(after.book.opened().public)
        for given in (digits, digits.upper(), seals.fingerprint_groups(digits), ":".join(digits)):
            assert verifying.audit(after.book, levels=["chain"], key=given).ok
        for given in (digits[:-1], "", "0" * 64, digits[:-1] + "g"):
            (fault,) = verifying.audit(after.book, levels=["chain"], key=given).faults
            assert fault.what == "this book's key is not the one you named"


class TestPictureParts:
    """The pictures inside are those that the parts describe, and their files are those that the entry names."""

    def append(self, shop: Shop, value: object, cls: str = "item", pair: dict[str, str] | None = None) -> int:
        """An entry of somebody who holds all keys, with a part that describes a picture."""
        named = pair or entries.picture("0" * 64, "1" * 64)
        with engines.reading(shop.book.engine) as connection:
            row = reading.slip_row(connection, shop.book.origin, 3)
            presented = reading.entry_at(connection, shop.book.origin, row.presented_seq)
        with shop.book.writing() as page:
            number = page.next_slip()
            held = [shop.book.hold("item/1/picture/1", value, row.draft, cls)]
            try:
                entry = page.append(
                    "presented/0",
                    about=[f"slip/{number}", f"draft/{row.draft}"],
                    public={"slip": number, "items": 1, "rules": presented.public["rules"], "pictures": [named]},
                    held=held,
                )
            except (KeyError, TypeError):  # the tables take no such entry; the entry itself is there
                entry = None
            return page.head.size - 1 if entry is None else entry.seq

    def of(self, shop: Shop, value: object) -> list[str]:
        seq = self.append(shop, value)
        return [str(fault).partition(": ")[2] for fault in verifying.audit(shop.book, levels=["pictures"]).faults
                if fault.seq == seq and "picture file" not in fault.what]  # fmt: skip

    def test_a_part_that_describes_no_picture(self, after: Shop) -> None:
        assert self.of(after, {"file_received": "0" * 64}) == ["the part item/1/picture/1 describes no picture"]

    def test_files_that_the_entry_does_not_name(self, after: Shop) -> None:
        value = {"file_received": "2" * 64, "file_shown": "1" * 64, "class": "case"}
        assert self.of(after, value) == ["the files of item/1/picture/1 are not named by its entry"]

    def test_a_picture_that_is_another_inside(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            row = reading.slip_row(connection, after.book.origin, 3)
            real = dict(reading.open_entry(connection, after.book, row.presented_seq).parts)["item/1/picture/1"]
        value = {**real, "received": "0" * 64}
        pair = entries.picture(real["file_received"], real["file_shown"])
        seq = self.append(after, value, pair=pair)
        said = [fault for fault in verifying.audit(after.book, levels=["pictures"]).faults if fault.seq == seq]
        assert said == [
            Fault(
                "pictures", seq, "the received copy of item/1/picture/1 is another picture", "0" * 64, real["received"]
            )
        ]


class TestFaults:
    """A fault is a value: it reads as a sentence and prints as JSON, whatever was found."""

    def test_what_was_found_can_do_nothing_to_a_screen(self) -> None:
        for value in (
            "\x1b[31m",
            "\u202e",
            "a\nb",
            "\udcff",
            "x" * 5_000,
            b"\xff" * 5_000,
            10**400,
            None,
            float("nan"),
        ):
            text = faults.shown(value)
            assert text.isprintable()
            assert len(text) <= 310

    def test_a_finding_prints_as_json(self) -> None:
        told = Findings(3, "ab", ["chain"], [("parts", "locked")], [Fault("chain", 1, "w", "e", "f")], ["n"]).record()
        assert json.loads(json.dumps(told)) == told
        assert told["ok"] is False
