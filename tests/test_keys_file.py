"""Who can open a book, what an owner does to that, and what is lost when."""

import base64
import errno
import hashlib
import hmac
import json
import os
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from cryptography.exceptions import InvalidSignature, InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from ledger.errors import InputError, LedgerError, LockedError, StorageError
from ledger.vault import keys_file, opened, paper_key, rows
from ledger.vault.keys_file import Cost, OpenKeys, WrappedKey

QUICK = Cost(64, 1, 1)
BOOK = "counterfoil/" + "0" * 31 + "7"
ADA, BEN, EVE = "ada's long words", "ben's long words", "eve's long words"


class Counted:
    """Chance that is the same in every run: SHA-256 of a counter."""

    def __init__(self) -> None:
        self.calls: list[bytes] = []

    def __call__(self, count: int) -> bytes:
        given = hashlib.sha256(str(len(self.calls)).encode()).digest()[:count]
        self.calls.append(given)
        return given


class Shop:
    """A keys file with two owners, Ada and Eve, and a clerk, Ben."""

    def __init__(self, folder: Path) -> None:
        self.chance = Counted()
        self.path = folder / "keys.json"
        self.ada, self.paper = keys_file.create(
            self.path, book=BOOK, owner="ada", pass_phrase=ADA, chance=self.chance, cost=QUICK
        )
        self.add("ben", "clerk", BEN)
        self.add("eve", "owner", EVE)

    def add(self, staff: str, role: keys_file.Role, pass_phrase: str, by: OpenKeys | None = None) -> None:
        keys_file.add_person(
            self.path,
            by or self.ada,
            staff=staff,
            role=role,
            pass_phrase=pass_phrase,
            chance=self.chance,
            cost=QUICK,
        )

    def open(self, pass_phrase: str, staff: str | None = None) -> OpenKeys:
        return keys_file.open_file(self.path, pass_phrase, staff=staff)

    def reset(self, staff: str, pass_phrase: str, by: OpenKeys | None = None) -> OpenKeys:
        return keys_file.reset_pass_phrase(
            self.path, by or self.ada, staff=staff, pass_phrase=pass_phrase, chance=self.chance, cost=QUICK
        )

    def member(self, *names: str | int) -> Any:
        found: Any = json.loads(self.path.read_bytes())
        for name in names:
            found = found[name]
        return found

    def rewrite(self, change: Callable[[Any], None]) -> None:
        """The file as someone with an editor, and no key, would leave it."""
        read = json.loads(self.path.read_bytes())
        change(read)
        self.path.write_text(json.dumps(read, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def same(one: OpenKeys, other: OpenKeys) -> bool:
    """Whether two people opened the same book's keys."""
    a, b = one.secrets, other.secrets
    return (a.index, a.signing, a.wrapping, one.public) == (b.index, b.signing, b.wrapping, other.public)


class TestOpening:
    """A clerk's slot opens the counter secret: a clerk can open the shop without the owner."""

    def test_each_person_opens_the_same_book(self, shop: Shop) -> None:
        for pass_phrase, staff, role in ((ADA, "ada", "owner"), (BEN, "ben", "clerk"), (EVE, "eve", "owner")):
            keys = shop.open(pass_phrase)
            assert (keys.staff, keys.role, keys.book, keys.owner) == (staff, role, BOOK, role == "owner")
            assert same(keys, shop.ada)

    def test_people_and_the_public_key_are_read_without_a_key(self, shop: Shop) -> None:
        assert keys_file.people(shop.path) == [("ada", "owner"), ("ben", "clerk"), ("eve", "owner")]
        assert keys_file.public_key(shop.path) == shop.ada.public
        assert keys_file.book_of(shop.path) == BOOK

    @pytest.mark.parametrize(
        ("pass_phrase", "staff"),
        [("wrong words", None), (ADA.upper(), None), (ADA, "ben"), (ADA, "nobody"), ("", None)],
    )
    def test_a_wrong_pass_phrase_opens_nothing(self, shop: Shop, pass_phrase: str, staff: str | None) -> None:
        with pytest.raises(LockedError) as caught:
            shop.open(pass_phrase, staff)
        assert str(caught.value) == (
            "The book is locked: this pass-phrase opens no slot of its keys file; type it again, or ask an owner "
            "for a new one."
        )

    def test_the_paper_key_opens_as_an_owner(self, shop: Shop) -> None:
        keys = keys_file.open_with_paper(shop.path, shop.paper.lower().replace("-", " "))
        assert (keys.staff, keys.role, keys.owner) == ("paper", "owner", True)
        assert same(keys, shop.ada)

    def test_the_paper_key_is_no_pass_phrase(self, shop: Shop) -> None:
        with pytest.raises(LockedError):
            shop.open(shop.paper)

    def test_a_miscopied_paper_key_is_told_apart_from_a_foreign_one(self, shop: Shop, tmp_path: Path) -> None:
        other = tmp_path / "other"
        other.mkdir()
        foreign = Shop(other)
        with pytest.raises(LockedError, match="made for another book, or a newer paper has replaced it"):
            keys_file.open_with_paper(foreign.path, keys_file.new_paper_key(shop.path, shop.ada, os.urandom))
        wrong = ("1" if shop.paper[0] != "1" else "2") + shop.paper[1:]
        for text in (wrong, shop.paper[:-1], shop.paper + "0", "", "ü" * 36):
            with pytest.raises(InputError, match="compare them one by one"):
                keys_file.open_with_paper(shop.path, text)

    def test_a_missing_file_says_where_to_get_it(self, tmp_path: Path) -> None:
        with pytest.raises(StorageError, match="put back the newest keys backup"):
            keys_file.open_file(tmp_path / "keys.json", ADA)


class TestCreating:
    """Then no file was made."""

    def test_a_file_that_is_there_is_not_overwritten(self, shop: Shop) -> None:
        before = shop.path.read_bytes()
        with pytest.raises(StorageError, match="a keys file is there already; name another folder"):
            Shop(shop.path.parent)
        assert shop.path.read_bytes() == before

    @pytest.mark.parametrize("pass_phrase", ["", "sevench", "with a line\nfeed", "with a tab\t"])
    def test_a_pass_phrase_that_will_not_do_is_not_repeated(self, tmp_path: Path, pass_phrase: str) -> None:
        with pytest.raises(InputError) as caught:
            keys_file.create(tmp_path / "keys.json", book=BOOK, owner="ada", pass_phrase=pass_phrase, chance=os.urandom)
        assert str(caught.value) == (
            "pass-phrase: 'a text that is too short or holds a control character' was given; wanted is one line of "
            "at least 8 characters; several words are best."
        )
        assert os.listdir(tmp_path) == []

    @pytest.mark.parametrize("staff", ["", "paper", " ada", "a\nb", "e\u0301ve", "x" * 65])
    def test_a_staff_id_that_will_not_do_is_refused(self, tmp_path: Path, staff: str) -> None:
        with pytest.raises(InputError, match="1 to 64 printable characters"):
            keys_file.create(
                tmp_path / "keys.json", book=BOOK, owner=staff, pass_phrase=ADA, chance=os.urandom, cost=QUICK
            )

    @pytest.mark.parametrize("call", ["write", "fsync", "replace"])
    @pytest.mark.parametrize("wrote", [False, True])
    def test_a_disk_that_fails_leaves_no_file_whose_paper_key_nobody_saw(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, wrote: bool
    ) -> None:
        monkeypatch.setattr(os, call, failing(getattr(os, call) if wrote else None))
        with pytest.raises(StorageError):
            Shop(tmp_path)
        assert os.listdir(tmp_path) == []

    def test_the_usual_cost_of_a_guess_stands_in_the_file(self, tmp_path: Path) -> None:
        # Source: RFC 9106, section 4, second recommended choice.
        path = tmp_path / "keys.json"
        keys_file.create(path, book=BOOK, owner="ada", pass_phrase=ADA, chance=os.urandom)
        typed = json.loads(path.read_bytes())["slots"][0]["typed"]
        assert (typed["memory_kib"], typed["passes"], typed["lanes"]) == (65_536, 3, 4)
        assert keys_file.open_file(path, ADA).owner

    def test_the_file_is_its_owners_only(self, shop: Shop) -> None:
        assert shop.path.stat().st_mode & 0o777 == 0o600


def failing(real: Callable[..., Any] | None) -> Callable[..., None]:
    """A call of the system that fails; given the real one, it does the work first."""

    def call(*given: Any) -> None:
        if real is not None:
            real(*given)
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    return call


class TestDataKeys:
    """Data key: random, per subject x class, wrapped with AAD (book, subject, class, epoch)."""

    def test_a_data_key_opens_for_everyone_who_opens_the_book(self, shop: Shop) -> None:
        key, wrapped = shop.open(BEN).fresh_data_key("slip/1f", "seller", shop.chance)
        assert key == shop.chance.calls[-2]
        assert len(wrapped.wrapped) == 60
        assert shop.open(EVE).unwrap(wrapped) == key

    @pytest.mark.parametrize(
        "moved",
        [
            {"subject": "slip/2f"},
            {"subject": "lot/1f"},
            {"cls": "item"},
            {"cls": "slip/1f", "subject": "seller"},
            {"wrapped": bytes(60)},
            {"wrapped": b""},
        ],
    )
    def test_moved_to_another_subject_or_class_it_stays_shut(self, shop: Shop, moved: dict[str, Any]) -> None:
        _, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        kept = {"subject": "slip/1f", "cls": "seller", "epoch": wrapped.epoch, "wrapped": wrapped.wrapped}
        with pytest.raises(LockedError, match="class of"):
            shop.ada.unwrap(WrappedKey(**(kept | moved)))

    def test_moved_to_another_book_it_stays_shut_even_under_the_same_wrapping_key(self, shop: Shop) -> None:
        _, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        elsewhere = opened.opened("ada", "owner", BOOK[:-1] + "8", shop.ada.epoch, shop.ada.secrets)
        with pytest.raises(LockedError):
            elsewhere.unwrap(wrapped)

    def test_moved_to_another_epoch_it_stays_shut_even_under_the_same_wrapping_key(self, shop: Shop) -> None:
        _, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        wrapping = {"e2": shop.ada.secrets.wrapping[shop.ada.epoch]}
        secrets = opened.Secrets(bytes(32), bytes(32), bytes(32), wrapping)
        elsewhere = opened.opened("ada", "owner", BOOK, "e2", secrets)
        with pytest.raises(LockedError):
            elsewhere.unwrap(WrappedKey("slip/1f", "seller", "e2", wrapped.wrapped))

    def test_any_flipped_bit_keeps_it_shut(self, shop: Shop) -> None:
        _, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        for at in range(480):
            changed = bytearray(wrapped.wrapped)
            changed[at // 8] ^= 1 << at % 8
            with pytest.raises(LockedError):
                shop.ada.unwrap(WrappedKey("slip/1f", "seller", wrapped.epoch, bytes(changed)))

    def test_an_epoch_that_is_not_held_is_named(self, shop: Shop) -> None:
        with pytest.raises(LockedError, match="belongs to the epoch e9, which these keys do not hold"):
            shop.ada.unwrap(WrappedKey("slip/1f", "seller", "e9", bytes(60)))

    @pytest.mark.parametrize(("subject", "cls"), [("slip/1f", "photo"), ("", "seller")])
    def test_an_unknown_class_gets_no_key(self, shop: Shop, subject: str, cls: str) -> None:
        with pytest.raises(InputError, match="wanted is a subject, and one of"):
            shop.ada.fresh_data_key(subject, cls, shop.chance)

    def test_a_row_is_unwrapped_and_opened(self, shop: Shop) -> None:
        key, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        where: dict[str, Any] = {"book": BOOK, "seq": 3, "cls": "seller", "subject": "slip/1f"}
        locked = rows.lock(key, disclosures=["WyJh"], nonce=shop.chance(12), **where)
        assert rows.open_row(shop.open(BEN).unwrap(wrapped), locked, **where) == ["WyJh"]


class TestIndexAndSeals:
    """Counter secret (wraps the wrapping key, index key, signing key)."""

    def test_equal_values_of_a_kind_have_one_row_and_nothing_else_does(self, shop: Shop) -> None:
        ben = shop.open(BEN)
        assert ben.blind("document", "X123") == shop.ada.blind("document", "X123")
        values = [("document", "X123"), ("name", "X123"), ("document", "X124"), ("documentX", "123"), ("", "")]
        assert len({ben.blind(kind, value) for kind, value in values}) == len(values)

    def test_a_row_of_the_index_is_hmac_with_sha_256(self, shop: Shop) -> None:
        message = b'["counterfoil-blind/0","document","X123"]'
        expected = hmac.digest(shop.ada.secrets.index, message, "sha256").hex()
        assert shop.ada.blind("document", "X123") == expected

    def test_another_book_has_other_rows(self, shop: Shop, tmp_path: Path) -> None:
        keys, _ = keys_file.create(
            tmp_path / "b.json", book=BOOK, owner="ada", pass_phrase=ADA, chance=os.urandom, cost=QUICK
        )
        assert keys.blind("document", "X123") != shop.ada.blind("document", "X123")

    def test_a_clerk_signs_with_the_books_key(self, shop: Shop) -> None:
        signature = shop.open(BEN).sign(b"a seal")
        public = Ed25519PublicKey.from_public_bytes(keys_file.public_key(shop.path))
        public.verify(signature, b"a seal")
        with pytest.raises(InvalidSignature):
            public.verify(signature, b"another seal")

    @pytest.mark.parametrize(
        ("seed", "public", "message", "signature"),
        [
            (
                "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
                "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
                "72",
                "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
                "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
            ),
            (
                "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
                "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
                "af82",
                "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
                "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
            ),
        ],
    )
    def test_signing_is_ed25519(self, seed: str, public: str, message: str, signature: str) -> None:
        # Source: RFC 8032, section 7.1, tests 2 and 3.
        secrets = opened.Secrets(bytes(32), bytes(32), bytes.fromhex(seed), {})
        keys = opened.opened("ada", "clerk", BOOK, "e1", secrets)
        assert keys.public.hex() == public
        assert keys.sign(bytes.fromhex(message)).hex() == signature


def owner_acts(shop: Shop, keys: OpenKeys) -> list[Callable[[], object]]:
    """Every act that only an owner may do."""
    return [
        lambda: shop.add("dan", "owner", "dan's long words", by=keys),
        lambda: keys_file.remove_person(shop.path, keys, "eve", shop.chance),
        lambda: shop.reset("eve", "eve's other words", by=keys),
        lambda: keys_file.new_paper_key(shop.path, keys, shop.chance),
        lambda: keys_file.new_epoch(shop.path, keys, shop.chance, []),
        lambda: keys_file.drop_old_epochs(shop.path, keys),
    ]


class TestClerks:
    """Without the owner secret the list of people, the paper key and the epochs cannot be changed."""

    def test_a_clerks_keys_do_no_owners_act(self, shop: Shop) -> None:
        before = shop.path.read_bytes()
        for act in owner_acts(shop, shop.open(BEN)):
            with pytest.raises(LockedError) as caught:
                act()
            assert str(caught.value) == ("The list of people is locked: only an owner's keys change it; ask an owner.")
        assert shop.path.read_bytes() == before

    def test_the_owner_secret_is_nowhere_in_a_clerks_keys(self, shop: Shop) -> None:
        secret = shop.ada.secrets.owner
        assert secret is not None
        assert secret.hex().encode() not in shop.open(BEN).to_bytes()

    def test_a_clerk_who_makes_herself_owner_in_the_file_is_none(self, shop: Shop) -> None:
        def promote(read: Any) -> None:
            read["slots"][2]["role"] = "owner"

        shop.rewrite(promote)
        with pytest.raises(LockedError):
            shop.open(BEN)
        with pytest.raises(LockedError, match="changed by someone without an owner's keys"):
            shop.open(ADA)

    def test_a_clerk_who_invents_an_owner_secret_is_found_by_every_owner(self, shop: Shop) -> None:
        """The strongest forgery a clerk has: a whole owner's slot made with her own slot key."""
        ben = shop.open(BEN)
        place = json.dumps(["counterfoil-keys/0", BOOK, "slot", "ben", "clerk", "owner"], separators=(",", ":"))
        forged = bytes(12) + AESGCM(ben.secrets.slot).encrypt(bytes(12), bytes(32), place.encode())

        def promote(read: Any) -> None:
            read["slots"][2]["owner"] = forged.hex()

        shop.rewrite(promote)
        for pass_phrase in (BEN, ADA, EVE):
            with pytest.raises(LockedError, match="changed by someone without an owner's keys"):
                shop.open(pass_phrase)

    def test_a_clerk_changes_the_own_pass_phrase_alone(self, shop: Shop) -> None:
        keys_file.change_pass_phrase(shop.path, shop.open(BEN), "ben's other words", shop.chance, QUICK)
        assert same(shop.open("ben's other words"), shop.ada)
        assert shop.open(ADA).owner
        with pytest.raises(LockedError):
            shop.open(BEN)

    def test_keys_from_the_paper_have_no_pass_phrase_to_change(self, shop: Shop) -> None:
        paper = keys_file.open_with_paper(shop.path, shop.paper)
        with pytest.raises(InputError):
            keys_file.change_pass_phrase(shop.path, paper, "other long words", shop.chance, QUICK)


class TestLeaving:
    """The owner replaces the counter secret when someone leaves, without asking the others."""

    def test_a_clerk_leaves_and_nobody_else_notices(self, shop: Shop) -> None:
        shop.add("dan", "clerk", "dan's long words")
        counters = {shop.member("slots", at, "counter") for at in range(5)}
        now, paper = keys_file.remove_person(shop.path, shop.ada, "ben", shop.chance)
        assert paper is None
        with pytest.raises(LockedError):
            shop.open(BEN)
        for keys in (now, shop.open(ADA), shop.open(EVE), shop.open("dan's long words")):
            assert same(keys, shop.ada)
        assert same(keys_file.open_with_paper(shop.path, shop.paper), shop.ada)
        assert counters.isdisjoint(shop.member("slots", at, "counter") for at in range(4))

    def test_the_old_counter_secret_opens_nothing_in_the_new_file(self, shop: Shop) -> None:
        reader = Reader(shop.path)
        counter = reader.counter("ben", reader.slot_key("ben", BEN))
        reader.book_key("index", counter)
        keys_file.remove_person(shop.path, shop.ada, "ben", shop.chance)
        newer = Reader(shop.path)
        for use in ("index", "signing", newer.file["epoch"]):
            with pytest.raises(InvalidTag):
                newer.book_key(use, counter)

    def test_an_owner_leaves_and_the_owner_secret_and_the_paper_go_too(self, shop: Shop) -> None:
        eve, old_paper = shop.open(EVE), shop.paper
        now, paper = keys_file.remove_person(shop.path, shop.ada, "eve", shop.chance)
        assert paper is not None
        assert now.secrets.owner != shop.ada.secrets.owner
        for keys in (now, shop.open(ADA), shop.open(BEN), keys_file.open_with_paper(shop.path, paper)):
            assert same(keys, shop.ada)
        with pytest.raises(LockedError):
            keys_file.open_with_paper(shop.path, old_paper)
        for act in owner_acts(shop, eve) + owner_acts(shop, shop.ada):
            with pytest.raises(LockedError, match="these keys were opened before an owner left"):
                act()
        shop.add("dan", "clerk", "dan's long words", by=now)
        assert shop.open("dan's long words").role == "clerk"

    def test_slot_keys_that_a_former_owner_knew_are_listed_until_they_are_renewed(self, shop: Shop) -> None:
        now, _ = keys_file.remove_person(shop.path, shop.ada, "eve", shop.chance)
        assert keys_file.known_to_former_owners(shop.path) == ["ada", "ben"]
        now = shop.reset("ben", "ben's other words", by=now)
        now = shop.reset("ada", "ada's other words", by=now)
        assert keys_file.known_to_former_owners(shop.path) == []
        shop.add("dan", "clerk", "dan's long words", by=now)
        assert keys_file.known_to_former_owners(shop.path) == []

    def test_a_former_owners_slot_keys_open_nothing_once_renewed(self, shop: Shop) -> None:
        before = Reader(shop.path)
        secret = before.owner("eve", before.slot_key("eve", EVE))
        known = {staff: before.slot_key_of_owner(staff, secret) for staff in ("ada", "ben", "paper")}
        now, _ = keys_file.remove_person(shop.path, shop.ada, "eve", shop.chance)
        after = Reader(shop.path)
        after.counter("ben", known["ben"])  # what KEYS.md says plainly: old slot keys open the newer file
        now = shop.reset("ben", "ben's other words", by=now)
        shop.reset("ada", "ada's other words", by=now)
        after = Reader(shop.path)
        for staff, slot_key in known.items():
            with pytest.raises(InvalidTag):
                after.counter(staff, slot_key)

    def test_a_forgotten_pass_phrase_is_replaced_and_the_counter_secret_with_it(self, shop: Shop) -> None:
        counters = {shop.member("slots", at, "counter") for at in range(4)}
        assert same(shop.reset("ben", "ben's other words"), shop.ada)
        assert same(shop.open("ben's other words"), shop.ada)
        assert same(shop.open(EVE), shop.ada)
        assert counters.isdisjoint(shop.member("slots", at, "counter") for at in range(4))
        with pytest.raises(LockedError):
            shop.open(BEN)

    def test_the_paper_lets_an_owner_back_in(self, shop: Shop) -> None:
        shop.reset("ada", "ada's other words", by=keys_file.open_with_paper(shop.path, shop.paper))
        assert shop.open("ada's other words").owner

    def test_an_owner_is_removed_with_the_paper_in_hand(self, shop: Shop) -> None:
        paper_keys = keys_file.open_with_paper(shop.path, shop.paper)
        now, paper = keys_file.remove_person(shop.path, paper_keys, "eve", shop.chance)
        assert paper is not None
        assert now.staff == "paper"
        keys_file.check_current(shop.path, now)
        assert same(keys_file.open_with_paper(shop.path, paper), now)

    @pytest.mark.parametrize("staff", ["nobody", "paper", "ada"])
    def test_nobody_else_can_be_removed_and_not_oneself(self, shop: Shop, staff: str) -> None:
        with pytest.raises(InputError, match="someone else who has a slot"):
            keys_file.remove_person(shop.path, shop.ada, staff, shop.chance)

    def test_the_last_owner_cannot_be_removed(self, shop: Shop) -> None:
        now, _ = keys_file.remove_person(shop.path, shop.ada, "eve", shop.chance)
        with pytest.raises(InputError):
            keys_file.remove_person(shop.path, now, "ada", shop.chance)

    def test_nobody_gets_a_second_slot(self, shop: Shop) -> None:
        with pytest.raises(InputError, match="someone who has no slot yet"):
            shop.add("ben", "owner", "ben's other words")

    def test_someone_without_a_slot_has_no_pass_phrase_to_reset(self, shop: Shop) -> None:
        with pytest.raises(InputError, match="someone who has a slot"):
            shop.reset("nobody", "some long words")

    def test_a_new_paper_replaces_the_old_one(self, shop: Shop) -> None:
        paper = keys_file.new_paper_key(shop.path, shop.ada, shop.chance)
        assert same(keys_file.open_with_paper(shop.path, paper), shop.ada)
        with pytest.raises(LockedError):
            keys_file.open_with_paper(shop.path, shop.paper)

    def test_the_pass_phrase_of_the_last_owner_and_the_paper_lost_is_all_lost(self, shop: Shop) -> None:
        """What is left is a clerk's pass-phrase: it opens the shop and makes no owner ever again."""
        keys_file.remove_person(shop.path, shop.ada, "eve", shop.chance)
        keys_file.change_pass_phrase(
            shop.path, shop.open(ADA), base64.b64encode(os.urandom(24)).decode(), os.urandom, QUICK
        )
        ben = shop.open(BEN)
        for act in owner_acts(shop, ben):
            with pytest.raises(LockedError):
                act()
        for pass_phrase in (ADA, EVE):
            with pytest.raises(LockedError):
                shop.open(pass_phrase)
        with pytest.raises(LockedError):
            keys_file.open_with_paper(shop.path, shop.paper)


class TestStaleKeys:
    """Nothing, when these keys still are what the file gives their person. Call it before writing."""

    def test_keys_just_opened_are_current(self, shop: Shop) -> None:
        for keys in (shop.ada, shop.open(BEN), keys_file.open_with_paper(shop.path, shop.paper)):
            keys_file.check_current(shop.path, keys)

    def test_keys_stay_current_when_someone_else_leaves(self, shop: Shop) -> None:
        ben = shop.open(BEN)
        keys_file.remove_person(shop.path, shop.ada, "eve", shop.chance)
        keys_file.check_current(shop.path, ben)

    def test_keys_of_a_person_who_left_or_got_another_slot_are_not(self, shop: Shop) -> None:
        ben, eve = shop.open(BEN), shop.open(EVE)
        keys_file.remove_person(shop.path, shop.ada, "ben", shop.chance)
        shop.reset("eve", "eve's other words")
        for keys in (ben, eve):
            with pytest.raises(LockedError, match="its keys were renewed after these were opened"):
                keys_file.check_current(shop.path, keys)
        with pytest.raises(LockedError, match="ben has no slot in its keys file any more"):
            keys_file.change_pass_phrase(shop.path, ben, "ben's other words", shop.chance, QUICK)
        with pytest.raises(LockedError):
            keys_file.change_pass_phrase(shop.path, eve, "eve's third words", shop.chance, QUICK)
        with pytest.raises(LockedError):
            keys_file.new_paper_key(shop.path, eve, shop.chance)
        assert shop.open("eve's other words").owner

    def test_keys_of_an_older_epoch_or_another_book_are_not(self, shop: Shop, tmp_path: Path) -> None:
        keys_file.new_epoch(shop.path, shop.ada, shop.chance, [])
        elsewhere = opened.opened("ada", "owner", BOOK[:-1] + "8", shop.open(ADA).epoch, shop.ada.secrets)
        for keys in (shop.ada, elsewhere):
            with pytest.raises(LockedError):
                keys_file.check_current(shop.path, keys)


class TestEpochs:
    """New random epoch, re-wrap the rest, destroy the old wrapping key ... restartable at every step."""

    def test_what_is_not_rewrapped_is_lost_and_the_rest_opens(self, shop: Shop) -> None:
        kept_key, kept = shop.ada.fresh_data_key("slip/1f", "item", shop.chance)
        _, forgotten = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        keys, [rewrapped] = keys_file.new_epoch(shop.path, shop.ada, shop.chance, [kept])
        assert rewrapped.epoch == keys.epoch != kept.epoch
        keys = keys_file.drop_old_epochs(shop.path, keys)
        assert keys.unwrap(rewrapped) == kept_key
        for wrapped in (forgotten, kept):
            for reader in (keys, shop.open(ADA), shop.open(BEN)):
                with pytest.raises(LockedError):
                    reader.unwrap(wrapped)
        assert list(shop.member("epochs")) == [keys.epoch]

    def test_a_crash_before_the_old_one_is_dropped_loses_nothing(self, shop: Shop) -> None:
        key, wrapped = shop.ada.fresh_data_key("slip/1f", "item", shop.chance)
        keys_file.new_epoch(shop.path, shop.ada, shop.chance, [wrapped])  # its result never reached the book
        again = shop.open(EVE)
        assert again.unwrap(wrapped) == key
        rewrapped = again.rewrap(wrapped, shop.chance)
        assert again.rewrap(rewrapped, shop.chance) is rewrapped
        assert keys_file.drop_old_epochs(shop.path, again).unwrap(rewrapped) == key

    def test_a_key_that_does_not_open_stops_it_before_anything_changes(self, shop: Shop) -> None:
        before = shop.path.read_bytes()
        bad = WrappedKey("slip/1f", "item", shop.ada.epoch, bytes(60))
        with pytest.raises(LockedError):
            keys_file.new_epoch(shop.path, shop.ada, shop.chance, [bad])
        assert shop.path.read_bytes() == before

    def test_both_epochs_go_over_to_a_new_counter_secret(self, shop: Shop) -> None:
        key, wrapped = shop.ada.fresh_data_key("slip/1f", "item", shop.chance)
        keys, _ = keys_file.new_epoch(shop.path, shop.ada, shop.chance, [])
        keys, _ = keys_file.remove_person(shop.path, keys, "ben", shop.chance)
        assert keys.unwrap(wrapped) == key
        assert len(keys.secrets.wrapping) == 2

    def test_wrapping_keys_are_random_and_not_derived(self, shop: Shop) -> None:
        keys, _ = keys_file.new_epoch(shop.path, shop.ada, shop.chance, [])
        assert set(keys.secrets.wrapping.values()) <= set(shop.chance.calls)


class TestTheFile:
    """A file that is not exactly so is refused."""

    def test_every_flipped_bit_is_found_or_changes_nothing(self, shop: Shop) -> None:
        """One bit of each byte: an owner opens the same keys (another person's typed wrap was hit) or nothing."""
        good = shop.path.read_bytes()
        others = 0
        for at in range(len(good)):
            changed = bytearray(good)
            changed[at] ^= 1 << at % 7
            shop.path.write_bytes(changed)
            try:
                keys = shop.open(ADA, "ada")
            except (LockedError, StorageError):
                continue
            assert same(keys, shop.ada)
            others += 1
        # Three typed wraps that are not Ada's: 32 hex digits of salt, 120 of the wrap, and the figures of the cost.
        assert 0 < others <= 3 * (32 + 120 + 12)

    @pytest.mark.parametrize(
        "content",
        [
            b"",
            b"{}",
            b"[]",
            b"null",
            b"\xff",
            b"[" * 100_000,
            b'{"format": "counterfoil-keys/9"}',
            b"1e999",
        ],
    )
    def test_other_files_are_refused_in_one_sentence(self, shop: Shop, content: bytes) -> None:
        shop.path.write_bytes(content)
        for reads in (
            lambda: shop.open(ADA),
            lambda: keys_file.people(shop.path),
            lambda: keys_file.public_key(shop.path),
        ):
            with pytest.raises(StorageError) as caught:
                reads()
            assert str(caught.value) == (
                f"{shop.path}: is not a keys file that this program wrote; put back the newest keys backup."
            )

    @pytest.mark.parametrize(
        ("names", "value"),
        [
            (("book",), 7),
            (("owners",), "1"),
            (("owners",), True),
            (("epochs",), []),
            (("epochs",), {"e": 3}),
            (("index",), "zz"),
            (("slots",), {}),
            (("slots", 0), None),
            (("slots", 0, "role"), "king"),
            (("slots", 0, "staff"), None),
            (("slots", 0, "typed", "memory_kib"), 10**9),
            (("slots", 0, "typed", "lanes"), 0),
            (("slots", 0, "typed", "by"), "md5"),
            (("slots", 0, "owner"), 3),
            (("more",), 1),
            (("slots", 0, "more"), 1),
        ],
    )
    def test_a_member_of_another_kind_is_refused(self, shop: Shop, names: tuple[Any, ...], value: Any) -> None:
        def change(read: Any) -> None:
            for name in names[:-1]:
                read = read[name]
            read[names[-1]] = value

        shop.rewrite(change)
        with pytest.raises(StorageError, match="is not a keys file that this program wrote"):
            shop.open(ADA)

    def test_a_missing_member_is_refused(self, shop: Shop) -> None:
        for name in json.loads(shop.path.read_bytes()):
            good = shop.path.read_bytes()
            shop.rewrite(lambda read, name=name: read.pop(name))  # type: ignore[misc]
            with pytest.raises(StorageError):
                shop.open(ADA)
            shop.path.write_bytes(good)

    def test_a_list_with_a_slot_taken_out_is_found_by_an_owner(self, shop: Shop) -> None:
        shop.rewrite(lambda read: read["slots"].pop(1))
        with pytest.raises(LockedError, match="put back the newest keys backup"):
            shop.open(ADA)
        with pytest.raises(LockedError, match="has no slot for a paper key"):
            keys_file.open_with_paper(shop.path, shop.paper)

    @pytest.mark.parametrize("name", ["public", "epoch"])
    def test_a_clerk_too_sees_that_the_signing_key_or_the_epoch_is_another(self, shop: Shop, name: str) -> None:
        other = "0" * len(shop.member(name))
        shop.rewrite(lambda read: read.update({name: other}))
        with pytest.raises(LockedError, match="a signing key or an epoch that is not its own"):
            shop.open(BEN)

    def test_book_keys_cannot_change_places(self, shop: Shop) -> None:
        shop.rewrite(lambda read: read.update({"index": read["signing"], "signing": read["index"]}))
        with pytest.raises(LockedError):
            shop.open(BEN)

    def test_slots_cannot_lend_each_other_what_they_hold(self, shop: Shop) -> None:
        def lend(read: Any) -> None:
            read["slots"][2]["counter"] = read["slots"][0]["counter"]

        shop.rewrite(lend)
        with pytest.raises(LockedError):
            shop.open(BEN)

    def test_the_slot_of_one_cannot_be_opened_by_the_pass_phrase_of_another(self, shop: Shop) -> None:
        def lend(read: Any) -> None:
            read["slots"][0]["typed"] = read["slots"][2]["typed"]

        shop.rewrite(lend)
        with pytest.raises(LockedError):
            shop.open(BEN, "ada")


class TestCrashes:
    """The file on the disk is whole at every moment."""

    @pytest.mark.parametrize("call", ["open", "write", "fsync", "replace"])
    @pytest.mark.parametrize("wrote", [False, True])
    def test_a_crash_in_any_call_leaves_the_old_file_or_the_new_one(
        self, shop: Shop, monkeypatch: pytest.MonkeyPatch, call: str, wrote: bool
    ) -> None:
        class PowerCut(BaseException):
            pass

        def crash(*given: Any) -> None:
            if wrote:
                real(*given)
            raise PowerCut

        before, real = shop.path.read_bytes(), getattr(os, call)
        with monkeypatch.context() as patched:
            patched.setattr(os, call, crash)
            with pytest.raises(PowerCut):
                keys_file.remove_person(shop.path, shop.ada, "ben", shop.chance)
        renamed = call == "replace" and wrote
        assert (shop.path.read_bytes() == before) is not renamed
        assert [name for name, _ in keys_file.people(shop.path)] == (
            ["ada", "eve"] if renamed else ["ada", "ben", "eve"]
        )
        assert same(shop.open(ADA), shop.ada)
        shop.add("dan", "clerk", "dan's long words")
        assert os.listdir(shop.path.parent) == ["keys.json"]

    def test_a_disk_that_fails_but_wrote_is_told_so_and_the_book_opens(
        self, shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        with monkeypatch.context() as patched:
            patched.setattr(os, "replace", failing(os.replace))
            with pytest.raises(StorageError, match="it may hold the old or the new content, either whole"):
                keys_file.change_pass_phrase(shop.path, shop.ada, "ada's other words", shop.chance, QUICK)
        assert shop.open("ada's other words").owner

    def test_a_full_disk_keeps_the_old_pass_phrase(self, shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
        with monkeypatch.context() as patched:
            patched.setattr(os, "write", failing(None))
            with pytest.raises(StorageError, match="nothing was changed"):
                keys_file.change_pass_phrase(shop.path, shop.ada, "ada's other words", shop.chance, QUICK)
        assert shop.open(ADA).owner


class TestCanary:
    """Nothing secret in repr, error text or the file's bytes."""

    def secrets_of(self, shop: Shop) -> list[bytes]:
        drawn = [value for value in shop.chance.calls if len(value) in (20, 32)]
        return [*drawn, *shop.ada.secrets.wrapping.values()]

    def spellings(self, secret: bytes) -> list[bytes]:
        return [secret, secret.hex().encode(), base64.b64encode(secret), repr(secret).encode()]

    def test_no_secret_lies_in_the_file(self, shop: Shop) -> None:
        keys_file.new_epoch(shop.path, shop.ada, shop.chance, [])
        shop.reset("ben", "ben's other words", by=shop.open(ADA))
        content = shop.path.read_bytes()
        for secret in self.secrets_of(shop):
            assert not any(spelling in content for spelling in self.spellings(secret))
        for text in (ADA, BEN, EVE, shop.paper, shop.paper.replace("-", "")):
            assert text.encode() not in content

    def test_no_secret_stands_in_a_repr(self, shop: Shop) -> None:
        keys, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        shown = f"{shop.ada!r} {shop.ada} {shop.ada.secrets!r} {[shop.ada]} {wrapped!r}".encode()
        for secret in [*self.secrets_of(shop), keys]:
            assert not any(spelling in shown for spelling in self.spellings(secret))

    def test_no_secret_stands_in_an_error_or_its_traceback(self, shop: Shop) -> None:
        foreign = os.urandom(20)
        acts: list[Callable[[], object]] = [
            *owner_acts(shop, shop.open(BEN)),
            lambda: shop.open("canary words"),
            lambda: shop.add("x", "clerk", "canary\n"),
            lambda: keys_file.open_with_paper(shop.path, "canary"),
            lambda: keys_file.open_with_paper(shop.path, paper_key.written(foreign)),
            lambda: shop.ada.unwrap(WrappedKey("slip/1f", "seller", "e9", bytes(60))),
            lambda: OpenKeys.from_bytes(b'{"slot": "canary"}'),
        ]
        for act in acts:
            with pytest.raises(LedgerError) as caught:
                act()
            said = f"{caught.value} {caught.value!r} " + "".join(traceback.format_exception(caught.value))
            said = "\n".join(line for line in said.splitlines() if "lambda" not in line)
            for secret in self.secrets_of(shop):
                assert not any(spelling in said.encode() for spelling in self.spellings(secret))
            assert paper_key.written(foreign) not in said
            assert caught.value.__cause__ is None or "canary" not in str(caught.value.__cause__)
            assert "canary" not in str(caught.value)


class TestHandingOver:
    """Everything, secrets too, for the key keeper's socket and nothing else."""

    def test_keys_come_through_unchanged(self, shop: Shop) -> None:
        for keys in (shop.ada, shop.open(BEN)):
            other = OpenKeys.from_bytes(keys.to_bytes())
            assert same(keys, other)
            assert (keys.staff, keys.role, keys.book, keys.epoch) == (other.staff, other.role, other.book, other.epoch)
            assert (keys.secrets.slot, keys.secrets.owner) == (other.secrets.slot, other.secrets.owner)

    @pytest.mark.parametrize(
        "data", [b"", b"{", b"[]", b"null", b"{}", b'{"format": "counterfoil-opened-keys/1"}', b"\xff"]
    )
    def test_anything_else_is_refused(self, data: bytes) -> None:
        with pytest.raises(LockedError, match="run `counterfoil lock` and `counterfoil unlock`"):
            OpenKeys.from_bytes(data)

    def test_a_key_of_another_length_is_refused(self, shop: Shop) -> None:
        packed = json.loads(shop.ada.to_bytes())
        for name in ("signing", "wrapping"):
            with pytest.raises(LockedError):
                OpenKeys.from_bytes(json.dumps(packed | {name: "00"}).encode())


class Reader:
    """Opens a keys file by KEYS.md alone: the standard library and cryptography, nothing of this program's."""

    FORMAT = "counterfoil-keys/0"

    def __init__(self, path: Path) -> None:
        self.file = json.loads(path.read_bytes())
        self.slots = {slot["staff"]: slot for slot in self.file["slots"]}

    def open(self, key: bytes, locked: str, place: list[Any]) -> bytes:
        data = bytes.fromhex(locked)
        where = json.dumps(place, separators=(",", ":"), ensure_ascii=False).encode()
        return AESGCM(key).decrypt(data[:12], data[12:], where)

    def hkdf(self, secret: bytes, salt: bytes, purpose: str) -> bytes:
        return HKDF(algorithm=SHA256(), length=32, salt=salt, info=purpose.encode()).derive(secret)

    def in_slot(self, staff: str, use: str) -> list[Any]:
        return [self.FORMAT, self.file["book"], "slot", staff, self.slots[staff]["role"], use]

    def slot_key(self, staff: str, text: str) -> bytes:
        typed = self.slots[staff]["typed"]
        salt = bytes.fromhex(typed["salt"])
        if typed["by"] == "argon2id":
            key = Argon2id(
                salt=salt,
                length=32,
                iterations=typed["passes"],
                lanes=typed["lanes"],
                memory_cost=typed["memory_kib"],
            ).derive(text.encode())
        else:
            letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
            number = 0
            for letter in text.replace("-", "")[:32]:
                number = number * 32 + letters.index(letter)
            key = self.hkdf(number.to_bytes(20), salt, "counterfoil-keys/0 paper key")
        return self.open(key, typed["wrapped"], self.in_slot(staff, "typed"))

    def counter(self, staff: str, slot_key: bytes) -> bytes:
        return self.open(slot_key, self.slots[staff]["counter"], self.in_slot(staff, "counter"))

    def owner(self, staff: str, slot_key: bytes) -> bytes:
        return self.open(slot_key, self.slots[staff]["owner"], self.in_slot(staff, "owner"))

    def slot_key_of_owner(self, staff: str, owner: bytes) -> bytes:
        key = self.hkdf(owner, b"", "counterfoil-keys/0 wrap slot keys")
        return self.open(key, self.slots[staff]["for_owner"], self.in_slot(staff, "for owner"))

    def book_key(self, use: str, counter: bytes) -> bytes:
        locked = self.file["epochs"].get(use) or self.file[use]
        return self.open(counter, locked, [self.FORMAT, self.file["book"], "key", use])

    def code(self, owner: bytes) -> str:
        told = self.file | {"code": ""}
        told["slots"] = [
            {name: value for name, value in slot.items() if name != "typed"} for slot in self.file["slots"]
        ]
        key = self.hkdf(owner, b"", "counterfoil-keys/0 authenticate the list")
        text = json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        return hmac.digest(key, text.encode(), "sha256").hex()


class TestAStranger:
    """This page is enough to open a book's locked rows and pictures without this program."""

    @pytest.mark.parametrize("staff", ["ada", "ben", "eve", "paper", "zoë"])
    def test_a_reader_written_from_the_page_opens_a_row(self, shop: Shop, staff: str) -> None:
        shop.add("zoë", "clerk", "zoë's long words")
        texts = {"ada": ADA, "ben": BEN, "eve": EVE, "paper": shop.paper, "zoë": "zoë's long words"}
        key, wrapped = shop.ada.fresh_data_key("slip/1f", "seller", shop.chance)
        where: dict[str, Any] = {"book": BOOK, "seq": 3, "cls": "seller", "subject": "slip/1f"}
        locked = rows.lock(key, disclosures=["WyJh", "WyJi"], nonce=shop.chance(12), **where)

        reader = Reader(shop.path)
        slot_key = reader.slot_key(staff, texts[staff])
        counter = reader.counter(staff, slot_key)
        wrapping = reader.book_key(wrapped.epoch, counter)
        place = ["counterfoil-data-key/0", BOOK, "slip/1f", "seller", wrapped.epoch]
        data_key = reader.open(wrapping, wrapped.wrapped.hex(), place)
        row = reader.open(data_key, locked.hex(), ["counterfoil-row/0", BOOK, 3, "seller", "slip/1f"])
        assert row.split(b"\n") == [b"WyJh", b"WyJi"]
        seed = reader.book_key("signing", counter)
        public = Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw()
        assert public.hex() == reader.file["public"]

    def test_the_code_over_the_list_is_as_the_page_says(self, shop: Shop) -> None:
        shop.add("zoë", "clerk", "zoë's long words")
        reader = Reader(shop.path)
        owner = reader.owner("ada", reader.slot_key("ada", ADA))
        assert reader.code(owner) == reader.file["code"]
        assert reader.slot_key_of_owner("ben", owner) == reader.slot_key("ben", BEN)
