"""The primitives are the published ones, and a locked thing opens in its own place only."""

import hashlib
import hmac

import pytest
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from ledger.errors import InputError, LockedError, StorageError
from ledger.vault import locks
from ledger.vault.locks import Cost

KEY, NONCE = bytes(range(32)), bytes(range(12))


class TestPublishedVectors:
    """AES-256-GCM with a 96-bit nonce for everything that is locked; Argon2id for what a person types."""

    @pytest.mark.parametrize(
        ("key", "nonce", "data", "where", "expected"),
        [
            ("00" * 32, "00" * 12, "", "", "530f8afbc74536b9a963b4f1c4cb738b"),
            (
                "00" * 32,
                "00" * 12,
                "00" * 16,
                "",
                "cea7403d4d606b6e074ec5d3baf39d18d0d1c8a799996bf0265b98b5d48ab919",
            ),
            (
                "feffe9928665731c6d6a8f9467308308" * 2,
                "cafebabefacedbaddecaf888",
                "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
                "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39",
                "feedfacedeadbeeffeedfacedeadbeefabaddad2",
                "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
                "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662"
                "76fc6ece0f4e1768cddf8853bb2d551b",
            ),
        ],
    )
    def test_locking_is_aes_256_gcm(self, key: str, nonce: str, data: str, where: str, expected: str) -> None:
        # Source: McGrew and Viega, "The Galois/Counter Mode of Operation (GCM)", submitted to NIST, appendix B,
        # test cases 13, 14 and 16.
        keys = [bytes.fromhex(text) for text in (key, nonce, data, where)]
        locked = locks.lock(*keys)
        assert locked == bytes.fromhex(nonce + expected)
        assert locks.open_locked(keys[0], locked, keys[3], "A vector") == keys[2]

    def test_stretching_is_argon2id(self) -> None:
        # Source: test vectors of the Argon2 reference implementation (phc-winner-argon2, src/test.c), version
        # 0x13: 2 passes, 256 KiB, 1 lane; and 2 passes, 256 KiB, 2 lanes.
        one = locks.stretch("password", b"somesalt", Cost(256, 2, 1))
        two = locks.stretch("password", b"somesalt", Cost(256, 2, 2))
        assert one.hex() == "9dfeb910e80bad0311fee20f9c0e2b12c17987b4cac90c2ef54d5b3021c68bfe"
        assert two.hex() == "6d093c501fd5999645e0ea3bf620d7b8be7fd2db59c20d9fff9539da2bf57037"

    def test_the_argon2id_used_is_that_of_the_rfc(self) -> None:
        # Source: RFC 9106, section 5.3 (it uses a secret value and associated data, which this program does not).
        assert vars(locks)["Argon2id"] is Argon2id
        tag = Argon2id(
            salt=b"\x02" * 16,
            length=32,
            iterations=3,
            lanes=4,
            memory_cost=32,
            ad=b"\x04" * 12,
            secret=b"\x03" * 8,
        ).derive(b"\x01" * 32)
        assert tag.hex() == "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"

    def test_the_usual_cost_is_the_second_choice_of_the_rfc(self) -> None:
        # Source: RFC 9106, section 4: t=3, p=4, m=2^16 (64 MiB).
        assert (locks.USUAL.memory_kib, locks.USUAL.passes, locks.USUAL.lanes) == (2**16, 3, 4)

    @pytest.mark.parametrize(
        ("secret", "salt", "purpose", "expected"),
        [
            (
                "0b" * 22,
                "000102030405060708090a0b0c",
                "f0f1f2f3f4f5f6f7f8f9",
                "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865",
            ),
            (
                "0b" * 22,
                "",
                "",
                "8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d9d201395faa4b61a96c8",
            ),
        ],
    )
    def test_spreading_is_hkdf_with_sha_256(self, secret: str, salt: str, purpose: str, expected: str) -> None:
        # Source: RFC 5869, appendix A.1 and A.3.
        got = locks.spread(bytes.fromhex(secret), bytes.fromhex(salt), bytes.fromhex(purpose), 42)
        assert got.hex() == expected

    @pytest.mark.parametrize(
        ("key", "data", "expected"),
        [
            ("0b" * 20, b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
            (
                "4a656665",
                b"what do ya want for nothing?",
                "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
            ),
        ],
    )
    def test_the_code_over_the_list_is_hmac_with_sha_256(self, key: str, data: bytes, expected: str) -> None:
        # Source: RFC 4231, sections 4.2 and 4.3. `slots.list_code` calls this function of the standard library.
        assert hmac.digest(bytes.fromhex(key), data, hashlib.sha256).hex() == expected


class TestPlaces:
    """The byte form of what a ciphertext is bound to, so that it opens only in its own place."""

    def test_the_same_letters_cut_differently_are_another_place(self) -> None:
        lists = [("ab", "c"), ("a", "bc"), ("abc",), ("a", "b", "c"), ('a","b', "c"), ("ab", "c", "")]
        assert len({locks.bound(*parts) for parts in lists}) == len(lists)

    def test_a_number_is_not_its_digits(self) -> None:
        assert locks.bound(7) != locks.bound("7")

    def test_letters_beyond_ascii_stand_as_they_are(self) -> None:
        assert locks.bound("Åre", 1) == '["Åre",1]'.encode()

    def test_half_a_character_is_refused_without_being_repeated(self) -> None:
        with pytest.raises(InputError, match=r"name: 'text of .* characters, one of them half'") as caught:
            locks.bound("canary\ud800")
        assert "canary" not in str(caught.value)


class TestEveryBit:
    """LockedError when the key, the place or a single bit differs."""

    def test_any_flipped_bit_keeps_it_shut(self) -> None:
        locked = locks.lock(KEY, NONCE, b"words", b"place")
        for at in range(len(locked) * 8):
            changed = bytearray(locked)
            changed[at // 8] ^= 1 << at % 8
            with pytest.raises(LockedError):
                locks.open_locked(KEY, bytes(changed), b"place", "A row")

    @pytest.mark.parametrize("kept", [*range(33)])
    def test_a_cut_end_keeps_it_shut(self, kept: int) -> None:
        with pytest.raises(LockedError):
            locks.open_locked(KEY, locks.lock(KEY, NONCE, b"words", b"place")[:kept], b"place", "A row")

    @pytest.mark.parametrize("key", [bytes(32), KEY[:16], b""])
    def test_another_key_keeps_it_shut(self, key: bytes) -> None:
        with pytest.raises(LockedError) as caught:
            locks.open_locked(key, locks.lock(KEY, NONCE, b"words", b"place"), b"place", "A row")
        assert str(caught.value) == (
            "A row is locked: the key does not fit, or the bytes were changed or moved; open it with the right "
            "keys, or put it back from the newest backup."
        )

    @pytest.mark.parametrize(("key", "nonce"), [(KEY[:31], NONCE), (KEY, NONCE[:11]), (KEY, NONCE + b"0")])
    def test_keys_and_nonces_of_other_lengths_lock_nothing(self, key: bytes, nonce: bytes) -> None:
        with pytest.raises(InputError, match="wanted is 32 and 12 bytes"):
            locks.lock(key, nonce, b"words", b"place")


class TestTyped:
    """Argon2id over its NFC form in UTF-8."""

    def test_accents_typed_in_two_ways_are_one_pass_phrase(self) -> None:
        cost = Cost(64, 1, 1)
        assert locks.stretch("caf\u00e9", b"salt" * 4, cost) == locks.stretch("cafe\u0301", b"salt" * 4, cost)

    def test_a_pass_phrase_with_half_a_character_is_not_repeated(self) -> None:
        with pytest.raises(InputError) as caught:
            locks.stretch("canary\ud800", b"salt" * 4, Cost(64, 1, 1))
        assert "canary" not in str(caught.value)

    @pytest.mark.parametrize("cost", [(7, 1, 1), (8, 0, 1), (8, 1, 0), (8, 101, 1), (4_194_305, 1, 1), (520, 1, 65)])
    def test_a_cost_that_would_eat_the_machine_is_refused(self, cost: tuple[int, int, int]) -> None:
        with pytest.raises(InputError, match="8 KiB a lane up to 4 GiB"):
            Cost(*cost)


class TestChance:
    """StorageError when the source gives another number of them."""

    def test_a_source_that_gives_too_little_locks_nothing(self) -> None:
        with pytest.raises(StorageError, match="32 bytes were asked and 3 came"):
            locks.take(lambda count: b"abc", 32)
