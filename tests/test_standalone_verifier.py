"""The stand-alone verifier: says nothing against a good book, and finds by name what was done to a bad one."""

import base64
import hashlib
import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import canonical, entries, seals, tree
from tests import standalone_verifier
from tests.chain_book import ORIGIN, RULES_DIGEST, SmallBook, key, public, small_book
from tests.lies.cases import flipped, vectors
from tests.test_canonical import BYTE_LIES, bytes_of, objects

ENTRIES = vectors("entry")
SEALS = vectors("seal")
Change = Callable[[SmallBook], object]


def faults(book: SmallBook, folder: Path, against: str | None = None) -> list[standalone_verifier.Fault]:
    return standalone_verifier.verify(book.write(folder), against)


def sentences(found: list[standalone_verifier.Fault]) -> list[str]:
    return [f"{each['level']} {each['seq']}: {each['what']}" for each in found]


def rewritten(book: SmallBook, seq: int, **public: Any) -> None:
    """Changes an entry's public members and links and seals everything after it anew, as one with the key can."""
    values = [json.loads(each) for each in book.data]
    values[seq]["public"].update(public)
    relinked(book, values)


def relinked(book: SmallBook, values: list[dict[str, Any]]) -> None:
    book.data = []
    for seq, value in enumerate(values):
        before = tree.leaf_hash(book.data[-1]).hex() if seq else "0" * 64
        book.data.append(
            json.dumps({**value, "seq": seq, "prev": before}, sort_keys=True, separators=(",", ":")).encode()
        )
    sizes = [size for size in book.seals if size <= len(book.data)]
    book.seals = {}
    for size in sizes:
        note = seals.seal(book.origin, size, book.root(size), public(book.secret), book.secret.sign)
        book.seals[size] = note


def edited(book: SmallBook, seq: int, old: bytes, new: bytes) -> None:
    assert old in book.data[seq]
    book.data[seq] = book.data[seq].replace(old, new)


def sql(folder: Path, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(folder / "book.sqlite")) as database:
        database.execute(statement, values)
        database.commit()


class TestGoodBook:
    """No fault is found where none is."""

    def test_the_small_book_is_sound(self, tmp_path: Path) -> None:
        assert faults(small_book(), tmp_path) == []

    @pytest.mark.parametrize("size", [6, 12])
    def test_it_agrees_with_its_seals_from_outside_whole_short_and_in_a_proof(self, tmp_path: Path, size: int) -> None:
        book = small_book()
        book.write(tmp_path)
        proof = f"c2sp.org/tlog-proof@v1\nindex 3\n{base64.b64encode(bytes(32)).decode()}\n\n{book.seals[size]}"
        for against in (book.seals[size], seals.short_form(size, book.root(size)).lower(), proof):
            assert standalone_verifier.verify(tmp_path, against) == []

    def test_a_change_of_key_needs_both_signatures_on_its_seal(self, tmp_path: Path) -> None:
        book, new = small_book(), key(32)
        old_vkey, new_vkey = (seals.vkey(ORIGIN, public(each)) for each in (book.secret, new))
        book.add("key-changed/0", {"vkey": new_vkey, "old": old_vkey}, ["book"])
        once = book.seal()
        book.seals[len(book.data)] = seals.add_signature(once, ORIGIN, public(new), new.sign)
        book.secret = new
        book.add("look/0", {}, ["look/1"])
        book.seal()
        assert faults(book, tmp_path) == []
        sql(tmp_path, "UPDATE seals SET note = ? WHERE size = 14", once)
        assert sentences(standalone_verifier.verify(tmp_path)) == [
            "chain 13: the seal over 14 entries: it is not signed by the book's key"
        ]

    def test_forgotten_pictures_may_be_gone(self, tmp_path: Path) -> None:
        book = small_book()
        rewritten(book, 3, pictures=[])
        book.add("forgotten/0", {"digests": json.loads(book.data[2])["parts"], "class": "item"}, ["slip/1"])
        book.pictures = {}
        assert faults(book, tmp_path) == []


def with_key(book: SmallBook, vkey: str) -> None:
    """Opens the book with another key; the purchase names its presented entry again, as a careful forger would."""
    rewritten(book, 0, vkey=vkey)
    rewritten(book, 5, presented=book.leaves[2].hex())


EDITS: dict[str, tuple[Change, list[str]]] = {
    "an edited entry": (
        lambda book: edited(book, 7, b'"state":"paid"', b'"state":"owed"'),
        [
            "chain 8: its stored link is not the leaf hash of the entry before",
            "chain 8: its bytes do not link to the entry before",
            "chain 11: the seal over 12 entries: the first 12 entries do not have the root it tells",
        ],
    ),
    "a skipped slip number": (
        lambda book: rewritten(book, 10, slip=4),
        ["forms 10: it presents slip 4; the next number is 3"],
    ),
    "a slip presented twice": (
        lambda book: rewritten(book, 10, slip=2),
        ["forms 10: it presents slip 2; the next number is 3"],
    ),
    "a withdrawn slip voided": (
        lambda book: rewritten(book, 9, slip=2),
        ["forms 9: slip 2 is withdrawn and cannot become voided"],
    ),
    "a payout for a slip that never was": (
        lambda book: rewritten(book, 6, slip=9),
        ["forms 6: slip 9 was never presented"],
    ),
    "a purchase of another presented slip": (
        lambda book: rewritten(book, 5, presented=book.leaves[3].hex()),
        ["forms 5: it does not name the entry that presented slip 1"],
    ),
    "a purchase without its seal": (
        lambda book: book.seals.pop(6),
        ["chain 5: this purchase does not have its own seal"],
    ),
    "a seal of a stranger": (
        lambda book: book.seals.update({12: seals.seal(ORIGIN, 12, book.root(12), public(key(32)), key(32).sign)}),
        ["chain 11: the seal over 12 entries: it is not signed by the book's key"],
    ),
    "a seal under another size": (
        lambda book: book.seals.update({11: book.seals.pop(12)}),
        ["chain 10: the seal over 11 entries: its text tells another size"],
    ),
    "a seal with a false signature": (
        lambda book: book.seals.update({12: book.seals[12].replace("\n12\n", "\n11\n")}),
        ["chain 11: the seal over 12 entries: its signature is false"],
    ),
    "a seal that is none": (
        lambda book: book.seals.update({12: "sealed"}),
        ["chain 11: the seal over 12 entries: it is not a seal"],
    ),
    "a seal of another book": (
        lambda book: book.seals.update({12: book.seals[12].replace("eeff\n", "ee00\n")}),
        ["chain 11: the seal over 12 entries: it seals another book"],
    ),
    "a seal with a short root": (
        lambda book: book.seals.update({12: f"{ORIGIN}\n12\nAAAA\n\n— x\n"}),
        ["chain 11: the seal over 12 entries: its root is not 32 bytes long, or no book is so large"],
    ),
    "a cut tail": (
        lambda book: book.data.__delitem__(slice(8, None)),
        ["chain 11: the seal over 12 entries: it tells of 12 entries and the book has 8: the end was cut"],
    ),
    "a replaced rule file": (
        lambda book: book.rule_files.update({RULES_DIGEST: b"other"}),
        [f"forms None: the rule file {RULES_DIGEST} does not have this digest"],
    ),
    "a missing rule file": (
        lambda book: book.rule_files.clear(),
        [f"forms 1: the rule file {RULES_DIGEST} is missing"],
    ),
    "a rule file that nobody adopted": (
        lambda book: book.rule_files.update({hashlib.sha256(b"other").hexdigest(): b"other"}),
        [f"forms None: no entry adopted the rule file {hashlib.sha256(b'other').hexdigest()}"],
    ),
    "a rule that governed before it was adopted": (
        lambda book: rewritten(book, 10, rules=[hashlib.sha256(b"other").hexdigest()]),
        [f"forms 10: no entry before it adopted the rule file {hashlib.sha256(b'other').hexdigest()}"],
    ),
    "a changed picture": (
        lambda book: book.pictures.update({next(iter(book.pictures)): b"other"}),
        [f"pictures {seq}: the picture {next(iter(small_book().pictures))} was changed" for seq in (2, 3)],
    ),
    "a missing picture": (
        lambda book: book.pictures.pop(next(iter(book.pictures))),
        [f"pictures {seq}: the picture {next(iter(small_book().pictures))} is missing" for seq in (2, 3)],
    ),
    "a re-dated entry": (
        lambda book: relinked(
            book,
            [
                {**json.loads(each), **({"recorded_at": "2031-03-04T16:59:00.000Z"} if seq == 12 else {})}
                for seq, each in enumerate(book.data)
            ],
        ),
        ["forms 12: its moment and the entry's before do not fit together"],
    ),
    "an entry of another book": (
        lambda book: relinked(
            book,
            [
                {**json.loads(each), **({"book": ORIGIN.replace("f", "0")} if seq == 12 else {})}
                for seq, each in enumerate(book.data)
            ],
        ),
        ["chain 12: its bytes name another book or another number"],
    ),
    "a key that is not the one it says": (
        lambda book: with_key(book, seals.vkey(ORIGIN, public(book.secret)).replace("9648c761", "00000000")),
        ["chain 0: the verification key does not have the id it says"],
    ),
    "a key in another name": (
        lambda book: with_key(book, seals.vkey("x", public(book.secret))),
        ["chain 0: the verification key is not an Ed25519 key in the book's name"],
    ),
}


class TestBadBooks:
    """Each forgery is found where it was done, in a sentence that says what."""

    @pytest.mark.parametrize("name", EDITS)
    def test_what_was_done_is_found(self, tmp_path: Path, name: str) -> None:
        book = small_book()
        change, expected = EDITS[name]
        change(book)
        assert sentences(faults(book, tmp_path)) == expected

    @pytest.mark.parametrize(
        ("statement", "expected"),
        [
            (
                "UPDATE entries SET leaf = x'00' WHERE seq = 4",
                ["chain 4: its stored leaf hash is not that of its bytes"],
            ),
            (
                "UPDATE entries SET prev = x'00' WHERE seq = 4",
                ["chain 4: its stored link is not the leaf hash of the entry before"],
            ),
            ("UPDATE entries SET book = 'x' WHERE seq = 4", ["chain 4: it stands under another book"]),
            (
                "UPDATE nodes SET hash = x'00' WHERE level = 1 AND idx = 2",
                ["chain None: the stored tree is not the tree over the entries (1, 2)"],
            ),
            (
                "DELETE FROM nodes WHERE level = 0 AND idx = 12",
                ["chain None: the stored tree is not the tree over the entries (0, 12)"],
            ),
            (
                "INSERT INTO nodes SELECT 'x', level, idx, hash FROM nodes WHERE level = 3",
                ["chain None: the stored tree is not the tree over the entries"],
            ),
            (
                "UPDATE seals SET book = 'x' WHERE size = 12",
                ["chain 11: the seal over 12 entries: it stands under another book"],
            ),
            ("DELETE FROM locked_rows", ["rows 2: it has parts and nothing is locked away for it"]),
            (
                "UPDATE locked_rows SET seq = 4",
                [
                    "rows 2: it has parts and nothing is locked away for it",
                    "rows 4: something is locked away for an entry that has no parts",
                ],
            ),
            (
                "INSERT INTO locked_rows SELECT book, 99, class, subject, bytes FROM locked_rows",
                ["rows 99: something is locked away for an entry that has no parts"],
            ),
            ("DELETE FROM entries", ["chain None: the book has no entries"]),
            ("DROP TABLE seals", ["chain None: the book cannot be read as a book: OperationalError"]),
            ("UPDATE entries SET bytes = 'text'", ["chain None: the book cannot be read as a book: TypeError"]),
        ],
    )
    def test_what_was_done_to_the_tables_is_found(self, tmp_path: Path, statement: str, expected: list[str]) -> None:
        folder = small_book().write(tmp_path)
        sql(folder, statement)
        assert sentences(standalone_verifier.verify(folder)) == expected

    def test_a_deleted_entry_is_found(self, tmp_path: Path) -> None:
        folder = small_book().write(tmp_path)
        sql(folder, "DELETE FROM entries WHERE seq = 8")
        found = sentences(standalone_verifier.verify(folder))
        assert found[0] == "chain 9: it stands where entry 8 should stand"
        assert "chain 9: its bytes do not link to the entry before" in found

    def test_an_opening_that_cannot_be_read_leaves_no_key_to_trust(self, tmp_path: Path) -> None:
        book = small_book()
        note = book.seals[12]
        book.data[0] = b"{}"
        found = sentences(faults(book, tmp_path, note))
        assert "forms 0: it does not have the members of an entry" in found
        assert "chain 0: the entry with the book's key cannot be read" in found
        assert found[-1] == "against None: there is no key to check it by"

    def test_members_of_strange_types_are_faults_and_no_exception(self, tmp_path: Path) -> None:
        book = small_book()
        rewritten(book, 10, slip=[])
        assert sentences(faults(book, tmp_path))[-1].startswith("forms None: something has a type that it cannot have")

    @pytest.mark.parametrize(
        ("changed", "what"),
        [
            ({"seller": "somebody"}, "it does not have the members of an entry"),
            ({"parts": "x"}, "a member has the wrong type"),
            ({"by": 7}, "a member has the wrong type"),
            ({"public": []}, "a member has the wrong type"),
            ({"recorded_at": "2031-03-04T17:12:00Z"}, "its moment is not UTC with three decimals"),
            ({"parts": ["b", "a"]}, "its parts are not sorted, or one stands twice"),
            ({"kind": "opened/0"}, "a book is opened by entry 0 and no other"),
        ],
    )
    def test_members_of_another_shape_are_found(self, tmp_path: Path, changed: dict[str, Any], what: str) -> None:
        book = small_book()
        relinked(book, [{**json.loads(each), **(changed if seq == 12 else {})} for seq, each in enumerate(book.data)])
        assert f"forms 12: {what}" in sentences(faults(book, tmp_path))

    @pytest.mark.parametrize("seq", range(12))
    def test_a_flipped_bit_of_any_sealed_entry_is_found_there_or_next(self, tmp_path: Path, seq: int) -> None:
        book = small_book()
        book.data[seq] = flipped(book.data[seq], 4 * len(book.data[seq]))
        assert {each["seq"] for each in faults(book, tmp_path)} & {seq, seq + 1}


class TestAgainst:
    """A book rewritten as a whole, or cut at its end, with its key passes; what left the shop earlier tells."""

    def test_a_rewritten_book_is_found_by_an_old_seal_only(self, tmp_path: Path) -> None:
        old = small_book()
        book = small_book()
        rewritten(book, 7, state="failed")
        book.write(tmp_path)
        assert standalone_verifier.verify(tmp_path) == []
        assert standalone_verifier.verify(tmp_path, old.seals[6]) == []
        for against in (old.seals[12], seals.short_form(12, old.root(12))):
            assert sentences(standalone_verifier.verify(tmp_path, against)) == [
                "against None: the first 12 entries do not have the root it tells"
            ]

    def test_a_cut_book_is_found_by_an_old_seal_only(self, tmp_path: Path) -> None:
        old = small_book()
        book = small_book()
        del book.data[8:], book.seals[12]
        book.write(tmp_path)
        assert standalone_verifier.verify(tmp_path) == []
        for against in (old.seals[12], seals.short_form(12, old.root(12))):
            assert sentences(standalone_verifier.verify(tmp_path, against)) == [
                "against None: it tells of 12 entries and the book has 8: the end was cut"
            ]

    def test_a_book_under_a_new_key_does_not_pass_the_old_seal(self, tmp_path: Path) -> None:
        old, book = small_book(), small_book()
        book.secret = key(32)
        with_key(book, seals.vkey(ORIGIN, public(book.secret)))
        book.write(tmp_path)
        assert standalone_verifier.verify(tmp_path) == []
        assert sentences(standalone_verifier.verify(tmp_path, old.seals[12])) == [
            "against None: it is not signed by the book's key"
        ]

    @pytest.mark.parametrize("against", ["", "12", "12-AAAA", "no seal\n\n— x y\n"])
    def test_something_that_is_no_seal_is_a_fault(self, tmp_path: Path, against: str) -> None:
        assert [each["level"] for each in faults(small_book(), tmp_path, against)] == ["against"]


class TestCommandLine:
    """Exit 0 or 3, one JSON document."""

    def run(self, *arguments: str) -> tuple[int, Any]:
        script = Path(standalone_verifier.__file__)
        done = subprocess.run(
            [sys.executable, "-I", script, *arguments], capture_output=True, text=True, check=False, cwd=script.parent
        )
        return done.returncode, json.loads(done.stdout)

    def test_a_good_book_and_one_against_a_seal_in_a_file(self, tmp_path: Path) -> None:
        book = small_book()
        book.write(tmp_path)
        (tmp_path / "old-seal.txt").write_text(book.seals[6], encoding="utf-8")
        assert self.run(str(tmp_path)) == (0, {"ok": True, "faults": []})
        assert self.run(str(tmp_path), "--against", str(tmp_path / "old-seal.txt"))[0] == 0

    def test_a_bad_book_by_a_short_form(self, tmp_path: Path) -> None:
        small_book().write(tmp_path)
        code, document = self.run(str(tmp_path), "--against", "99-" + "A" * 20)
        assert (code, document["ok"]) == (3, False)
        what = "it tells of 99 entries and the book has 13: the end was cut"
        assert document["faults"] == [{"level": "against", "seq": None, "what": what}]

    def test_a_folder_without_a_book(self, tmp_path: Path) -> None:
        assert self.run(str(tmp_path))[0] == 3


class TestTwoReaders:
    """Two implementations over the same corpus: they share no code and agree on what is canonical."""

    @pytest.mark.parametrize("name", ENTRIES)
    def test_they_agree_on_every_lie_about_bytes(self, name: str) -> None:
        case = ENTRIES[name]
        refused = case["finds"] in BYTE_LIES
        assert (canonical.fault(bytes_of(case)) is not None) == refused
        if refused:
            with pytest.raises(standalone_verifier.Bad):
                standalone_verifier.parse(bytes_of(case))
        else:
            assert standalone_verifier.parse(bytes_of(case)) == canonical.decode(bytes_of(case))

    @pytest.mark.parametrize("name", SEALS)
    def test_they_agree_on_every_lie_about_seals(self, name: str) -> None:
        case = SEALS[name]
        if case["valid"]:
            checkpoint = seals.read_seal(case["note"])
            assert standalone_verifier.read_seal(case["note"], [public(key())], ORIGIN) == (
                checkpoint.size,
                checkpoint.root,
            )
        else:
            with pytest.raises(standalone_verifier.Bad):
                standalone_verifier.read_seal(case["note"], [public(key())], ORIGIN)

    @given(objects(st.floats() | st.integers()))
    def test_they_agree_on_any_document(self, value: dict[str, Any]) -> None:
        data = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()
        try:
            read = standalone_verifier.parse(data)
        except standalone_verifier.Bad:
            assert canonical.fault(data) is not None
        else:
            assert canonical.decode(data) == read

    def test_they_agree_on_size_and_depth(self) -> None:
        longest = b'{"a":"' + b"a" * (canonical.MAX_BYTES - 8) + b'"}'
        deepest = b'{"a":' + b"[" * 31 + b"]" * 31 + b"}"
        for data in (longest, deepest):
            assert standalone_verifier.parse(data) == canonical.decode(data)
        for data in (
            longest + b" ",
            b'{"a":' + b"[" * 32 + b"]" * 32 + b"}",
            b'{"a":' + b"[" * 20_000 + b"]" * 20_000 + b"}",
        ):
            assert canonical.fault(data) is not None
            with pytest.raises(standalone_verifier.Bad):
                standalone_verifier.parse(data)

    def test_they_agree_on_hashes(self) -> None:
        book = small_book()
        levels = standalone_verifier.levels_of([standalone_verifier.leaf_hash(each) for each in book.data])
        assert [level for level in levels if level] == tree.all_levels(book.leaves)
        for size in range(1, 14):
            assert standalone_verifier.root_of(levels, size) == book.root(size)
        assert hashlib.sha256(b"\x00" + book.data[0]).digest() == entries.read(book.data[0]).leaf
