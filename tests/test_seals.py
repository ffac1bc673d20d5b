"""Seals, notes and keys: against published notes, and every lie by name."""

import base64
import re
from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import seals, tree
from ledger.errors import InputError
from tests.chain_book import ORIGIN, key, public, small_book
from tests.lies.cases import Case, published, vectors

NOTES = published("c2sp_notes")["notes"]
RFC8032 = published("rfc8032")["vectors"]
LIES = vectors("seal")
BOOK_KEY = seals.read_vkey(seals.vkey(ORIGIN, public(key())))


class TestPublishedNotes:
    """Source: C2SP signed-note and tlog-checkpoint, golang.org/x/mod/sumdb/note, sum.golang.org; in published/."""

    @pytest.mark.parametrize("note", NOTES, ids=lambda each: str(each["name"]))
    def test_a_note_verifies_under_its_key_or_does_not(self, note: Case) -> None:
        known = seals.read_vkey(note["vkey"])
        assert seals.vkey(known.name, known.public) == note["vkey"]
        assert seals.write_note(seals.read_note(note["note"])) == note["note"]
        if note["valid"]:
            assert seals.verify_note(note["note"], [known]).text == note["note"].split("\n\n")[0] + "\n"
        else:
            with pytest.raises(seals.SealWrong):
                seals.verify_note(note["note"], [known])

    def test_the_published_seed_signs_the_published_note_to_the_byte(self) -> None:
        (note,) = [each for each in NOTES if "seed" in each]
        secret = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(note["seed"]))
        text = note["note"].split("\n\n")[0] + "\n"
        name = note["vkey"].split("+")[0]
        assert seals.sign_note(text, name, public(secret), secret.sign) == note["note"]

    def test_a_checkpoint_of_a_public_log_is_read(self) -> None:
        (note,) = [each for each in NOTES if each["name"] == "real go.sum database checkpoint"]
        checkpoint = seals.verify_seal(note["note"], seals.read_vkey(note["vkey"]))
        assert (checkpoint.origin, checkpoint.size) == ("go.sum database tree", 35_225_469)
        assert len(checkpoint.root) == 32

    def test_the_sample_with_another_origin_reads_and_does_not_verify(self) -> None:
        (note,) = [each for each in NOTES if not each["valid"]]
        assert seals.read_seal(note["note"]).size == 20_852_163
        renamed = note["note"].replace("— example.com/behind-the-sofa", "— sum.golang.org")
        with pytest.raises(seals.SealWrong, match=re.escape("sum.golang.org is not over this text")):
            seals.verify_seal(renamed, seals.read_vkey(note["vkey"]))
        true = renamed.replace("example.com/behind-the-sofa\n", "go.sum database tree\n", 1)
        assert seals.verify_seal(true, seals.read_vkey(note["vkey"])).size == 20_852_163

    @pytest.mark.parametrize("vector", RFC8032, ids=lambda each: str(each["message"]) or "empty")
    def test_the_signatures_are_those_of_rfc_8032(self, vector: Case) -> None:
        """Source: RFC 8032, section 7.1, tests 1 to 3. It is the library's work; a note leans on it."""
        secret = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(vector["seed"]))
        assert public(secret).hex() == vector["public"]
        assert secret.sign(bytes.fromhex(vector["message"])).hex() == vector["signature"]


class TestSeal:
    """A seal is a signed note whose text is a checkpoint: origin, size, root."""

    def test_a_seal_verifies_under_the_books_key(self) -> None:
        book = small_book()
        checkpoint = seals.verify_seal(book.seals[12], BOOK_KEY)
        assert checkpoint == seals.Checkpoint(ORIGIN, 12, book.root(12))
        assert checkpoint == seals.read_seal(book.seals[12])

    @pytest.mark.parametrize("name", LIES)
    def test_each_lie_is_refused(self, name: str) -> None:
        case = LIES[name]
        known = seals.read_vkey(case["vkey"])
        if case["valid"]:
            assert seals.verify_seal(case["note"], known).origin == ORIGIN
        else:
            with pytest.raises(seals.SealWrong):
                seals.verify_seal(case["note"], known)

    @given(st.data())
    def test_a_changed_letter_anywhere_is_refused(self, draw: st.DataObject) -> None:
        note = small_book().seals[12]
        place = draw.draw(st.integers(0, len(note) - 1))
        letter = draw.draw(st.characters().filter(lambda each: each != note[place]))
        with pytest.raises(seals.SealWrong):
            seals.verify_seal(note[:place] + letter + note[place + 1 :], BOOK_KEY)

    def test_both_keys_sign_at_a_change_of_key(self) -> None:
        new = key(32)
        note = seals.add_signature(small_book().seals[12], ORIGIN, public(new), new.sign)
        new_key = seals.read_vkey(seals.vkey(ORIGIN, public(new)))
        assert [each.name for each in seals.verify_note(note, [BOOK_KEY, new_key]).signatures] == [ORIGIN, ORIGIN]
        assert seals.verify_seal(note, new_key) == seals.verify_seal(note, BOOK_KEY)

    def test_signatures_of_strangers_are_left_out(self) -> None:
        stranger = key(32)
        note = seals.add_signature(small_book().seals[12], "witness.example", public(stranger), stranger.sign)
        assert [each.name for each in seals.verify_note(note, [BOOK_KEY]).signatures] == [ORIGIN]

    def test_one_false_signature_of_a_known_key_spoils_the_note(self) -> None:
        stranger = key(32)
        known = seals.read_vkey(seals.vkey("witness.example", public(stranger)))
        note = seals.add_signature(small_book().seals[12], "witness.example", public(stranger), lambda _: bytes(64))
        assert seals.verify_seal(note, BOOK_KEY).size == 12
        with pytest.raises(seals.SealWrong, match=re.escape("witness.example is not over this text")):
            seals.verify_note(note, [BOOK_KEY, known])

    def test_the_sentence_says_what_to_do(self) -> None:
        with pytest.raises(seals.SealWrong) as caught:
            seals.verify_note(small_book().seals[12], [])
        assert str(caught.value) == (
            "This seal proves nothing: it is not signed by the key it should be signed by. "
            "Ask for another copy and compare the key's fingerprint."
        )

    @pytest.mark.parametrize(
        ("origin", "size", "root"),
        [
            (ORIGIN, 0, tree.EMPTY_ROOT),
            (ORIGIN, 2**53, bytes(32)),
            (ORIGIN, 1, bytes(31)),
            ("", 1, bytes(32)),
            ("a\nb", 1, bytes(32)),
        ],
    )
    def test_nothing_is_sealed_that_could_not_be_verified(self, origin: str, size: int, root: bytes) -> None:
        with pytest.raises(ValueError, match="a seal has an origin, a size from 1 and a root of 32 bytes"):
            seals.checkpoint_text(origin, size, root)

    @pytest.mark.parametrize("text", ["no line feed", "a\tb\n", ""])
    def test_no_text_is_signed_that_a_note_cannot_hold(self, text: str) -> None:
        with pytest.raises(ValueError, match="ends with a line feed"):
            seals.sign_note(text, ORIGIN, public(key()), key().sign)

    @pytest.mark.parametrize("name", ["", "a b", "a+b", "a\u00a0b"])
    def test_no_key_signs_under_a_name_that_a_line_cannot_hold(self, name: str) -> None:
        with pytest.raises(ValueError, match="holds no space and no plus sign"):
            seals.sign_note("text\n", name, public(key()), key().sign)

    def test_a_text_with_empty_lines_is_split_at_the_last(self) -> None:
        note = seals.sign_note("one\n\ntwo\n", ORIGIN, public(key()), key().sign)
        assert seals.verify_note(note, [BOOK_KEY]).text == "one\n\ntwo\n"

    def test_extension_lines_are_kept(self) -> None:
        text = seals.checkpoint_text(ORIGIN, 1, bytes(32)) + "one\ntwo\n"
        assert seals.read_checkpoint(text).extensions == ("one", "two")


class TestKeys:
    """Key id, vkey and fingerprint are hashes of the public key; a fingerprint needs all its 64 digits."""

    def test_the_id_and_the_fingerprint_are_what_the_format_says(self) -> None:
        raw = public(key())
        assert seals.key_id("a", raw) == sha256(b"a\n\x01" + raw).digest()[:4]
        assert seals.fingerprint(raw) == sha256(b"\x01" + raw).hexdigest()

    @pytest.mark.parametrize(
        "text",
        [
            "",
            "name+00000000+AA==",
            BOOK_KEY.name,
            seals.vkey("a", public(key())).replace("a+", "b+", 1),
            "a+00000000+" + base64.b64encode(b"\x01" + bytes(32)).decode(),
            "a+00000000+" + base64.b64encode(b"\x04" + bytes(32)).decode(),
            "a+00000000+" + base64.b64encode(b"\x01" + bytes(31)).decode(),
            "a+00000000+!",
        ],
    )
    def test_a_key_of_another_form_or_with_another_id_is_refused(self, text: str) -> None:
        with pytest.raises(InputError) as caught:
            seals.read_vkey(text)
        assert caught.value.wanted.startswith("a verification key, name+id+base64, of Ed25519")

    def test_a_key_whose_base64_holds_a_plus_is_read(self) -> None:
        raw = next(bytes([n]) * 32 for n in range(256) if "+" in base64.b64encode(b"\x01" + bytes([n]) * 32).decode())
        assert seals.read_vkey(seals.vkey("name", raw)).public == raw

    def test_it_is_printed_in_sixteen_groups_of_four(self) -> None:
        groups = seals.fingerprint_groups(seals.fingerprint(public(key())))
        assert groups.startswith("cb39 f0f6 ")
        assert [len(each) for each in groups.split(" ")] == [4] * 16

    @pytest.mark.parametrize(
        "write", [str, str.upper, seals.fingerprint_groups, lambda text: ":".join(text), "  {}\n".format]
    )
    def test_spaces_colons_and_capitals_do_not_count(self, write: object) -> None:
        digits = seals.fingerprint(public(key()))
        assert callable(write)
        assert seals.same_fingerprint(digits, write(digits))

    @pytest.mark.parametrize("other", ["", "c", "0" * 64, "x" * 64])
    def test_anything_less_than_all_digits_is_a_no(self, other: str) -> None:
        digits = seals.fingerprint(public(key()))
        assert not seals.same_fingerprint(digits, other)
        assert not seals.same_fingerprint(digits[:63], digits[:63])
        assert not seals.same_fingerprint("x" * 64, "x" * 64)
        assert not seals.same_fingerprint("", "")


class TestShortForm:
    """Size, a hyphen, 20 base32 characters of the root."""

    @given(st.integers(1, 2**53 - 1), st.binary(min_size=32, max_size=32))
    def test_it_reads_back(self, size: int, root: bytes) -> None:
        short = seals.short_form(size, root)
        assert seals.read_short_form(short) == (size, short.split("-")[1])
        assert base64.b32encode(root).decode().startswith(short.split("-")[1])

    def test_small_letters_and_spaces_are_taken_as_a_pen_leaves_them(self) -> None:
        assert seals.read_short_form(" 12-ceir ceir ceir CEIR ceir\n") == (12, "CEIR" * 5)

    @pytest.mark.parametrize(
        "text", ["", "12", "0-" + "A" * 20, "12-" + "A" * 19, "12-" + "A" * 21, "12-" + "1" * 20, "-" + "A" * 20]
    )
    def test_another_form_is_refused(self, text: str) -> None:
        with pytest.raises(InputError) as caught:
            seals.read_short_form(text)
        assert caught.value.field == "seal"
