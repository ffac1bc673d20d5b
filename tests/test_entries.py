"""Entries: made and read back, every kind and member, and every lie by name."""

import json
from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import entries, kinds, parts, tree
from ledger.chain.canonical import NotCanonical
from ledger.errors import BookUnsound, InputError
from tests.chain_book import NOON, ORIGIN, small_book
from tests.lies.cases import flipped, vectors
from tests.test_canonical import BYTE_LIES, bytes_of

LIES = vectors("entry")
DIGEST, HEX, VKEY = "A" * 43, "ab" * 32, "counterfoil/0+01234567+AQ=="

# One sound value of each public member, and values that are not.
SOUND: dict[str, Any] = {
    "class": "seller",
    "compared_on": "2031-03-01",
    "continues": {"origin": ORIGIN, "size": 12, "root": HEX},
    "corrects": 0,
    "counts": {"slips": 0},
    "day": "2032-02-29",
    "digest": HEX,
    "digests": [DIGEST],
    "event": "goods-moved",
    "facts": {"name": "A shop"},
    "format": "counterfoil-book/0",
    "from": "2031-03-01",
    "instrument": "scale-1",
    "items": 100,
    "jurisdiction": "xx-sample/town",
    "line": 1,
    "manifest": HEX,
    "nil": False,
    "old": VKEY,
    "payout": 1,
    "permission": "off-site-storage",
    "period": "2031-03-03/2031-03-03",
    "pictures": [{"received": DIGEST, "shown": DIGEST}],
    "pieces": 2,
    "presented": HEX,
    "recipient": "town-police",
    "reply": "MAo=",
    "report": "2031-w10",
    "role": "owner",
    "rules": [],
    "seal": ["counterfoil/0", "12", "root", "", "- x", ""],
    "slip": 1,
    "slips": [1, 2],
    "source": "the old day-book, page 12",
    "staff": "ida",
    "state": "stolen-or-lost",
    "until": "2031-03-01",
    "vkey": VKEY,
    "what": "a scale to 0.01 g",
    "zone": "America/Argentina/Buenos_Aires",
}
UNSOUND: dict[str, list[Any]] = {
    "class": ["draft", 1],
    "compared_on": ["2031-2-1", "2031-02-29", 20310301],
    "continues": [
        {"origin": ORIGIN, "size": 0, "root": HEX},
        {"origin": ORIGIN, "size": 1},
        {"origin": ORIGIN, "size": 1, "root": HEX, "why": ""},
        {"origin": "x", "size": 1, "root": HEX},
        [],
    ],
    "corrects": [-1, "0", True],
    "counts": [{"slips": -1}, {"Slips": 1}, []],
    "day": ["2031-02-29", ""],
    "digest": ["AB" * 32, "ab"],
    "digests": [[], [DIGEST, DIGEST], DIGEST, ["x"], ["\ud800" * 43]],
    "event": ["", "a b", 1],
    "facts": [{}, []],
    "format": ["book/0", 0],
    "from": [None],
    "instrument": ["", "a b", "x" * 65],
    "items": [0, 101, "1"],
    "jurisdiction": ["", "Sample"],
    "line": [0],
    "manifest": [""],
    "nil": [0],
    "old": ["key", "a b+01234567+AQ=="],
    "payout": [0],
    "permission": ["", "x" * 65, None],
    "period": ["2031-03-04/2031-03-03", "2031-03-03", "/", 1],
    "pictures": [[{}], {}, [{"received": DIGEST, "shown": HEX}], [{"received": DIGEST, "shown": DIGEST, "x": 1}]],
    "pieces": [0],
    "presented": ["0"],
    "recipient": ["-x"],
    "reply": ["", "MAo", "MAp=", 1, ["MAo="]],
    "report": ["a/b"],
    "role": ["Owner", ""],
    "rules": [[HEX, HEX], ["cd" * 32, HEX], HEX, [1]],
    "seal": [[], ["x"], "0-" + "A" * 20, "1-" + "a" * 20, 1, [1] * 6],
    "slip": [0, -1, "1", True],
    "slips": [[2, 1], [1, 1], [0], 1],
    "source": ["", 1],
    "staff": [""],
    "state": ["", "Sold"],
    "until": ["never"],
    "vkey": [""],
    "what": [""],
    "zone": ["", "America/", "/x", 5],
}


def made(**changed: Any) -> entries.Entry:
    """A withdrawal of slip 12, with some members changed."""
    members: dict[str, Any] = {
        "book": ORIGIN,
        "seq": 7,
        "prev": b"\x11" * 32,
        "kind": "withdrawn/0",
        "recorded_at": NOON,
        "previous_recorded_at": None,
        "by": "ida",
        "program": "0.1.0",
        "about": ["slip/12"],
        "public": {"slip": 12},
        "parts": [],
    }
    return entries.make(**{**members, **changed})


class TestMake:
    """The machine's reading stays as it is read; members are checked as they will be read."""

    def test_an_entry_reads_back_and_is_found_by_position(self) -> None:
        entry = made(occurred_at="2031-03-01T12:00:00-05:00[America/New_York]", parts=[DIGEST])
        assert entries.read(entry.data) == entry
        assert (entries.seq_at(entry.data), entries.prev_at(entry.data)) == (7, b"\x11" * 32)
        assert entry.leaf == tree.leaf_hash(entry.data)

    def test_parts_are_sorted_whatever_the_order_they_come_in(self) -> None:
        digests = [parts.make("seller/name", n, bytes(16)).digest for n in range(5)]
        assert made(parts=digests).parts == made(parts=reversed(digests)).parts == tuple(sorted(digests))

    def test_a_clock_that_went_back_is_marked_and_does_not_stop_the_book(self) -> None:
        assert made(previous_recorded_at="2031-03-04T17:00:00.001Z").clock == "behind"
        assert b'"clock":"behind"' in made(previous_recorded_at="2031-03-04T17:00:00.001Z").data

    def test_a_clock_that_stood_still_is_not_marked(self) -> None:
        entry = made(previous_recorded_at="2031-03-04T17:00:00.000Z")
        assert entry.clock is None
        assert b'"clock"' not in entry.data

    @pytest.mark.parametrize(
        ("moment", "text"),
        [
            (datetime(2031, 3, 4, 12, 0, 0, 999_999, ZoneInfo("America/New_York")), "2031-03-04T17:00:00.999Z"),
            (datetime(2031, 3, 4, 0, 30, tzinfo=timezone(timedelta(hours=5, minutes=45))), "2031-03-03T18:45:00.000Z"),
            (datetime(800, 1, 1, tzinfo=UTC), "0800-01-01T00:00:00.000Z"),
        ],
    )
    def test_moments_are_written_in_utc_with_three_decimals(self, moment: datetime, text: str) -> None:
        assert entries.utc_text(moment) == text

    def test_a_moment_without_a_zone_is_refused(self) -> None:
        with pytest.raises(ValueError, match="time zone"):
            entries.utc_text(datetime(2031, 3, 4))

    def test_an_entry_that_is_too_long_says_so(self) -> None:
        digests = [parts.make("seller/name", n, bytes(16)).digest for n in range(1_300)]
        with pytest.raises(InputError) as caught:
            made(parts=digests)
        assert str(caught.value) == (
            "entry: '60,079 bytes' was given; wanted is at most 60,000 bytes; make two slips of one."
        )

    def test_a_hundred_items_of_seven_parts_and_two_pictures_fit(self) -> None:
        digests = [parts.make("seller/name", n, bytes(16)).digest for n in range(730)]
        pictures = [entries.picture(f"{n:064x}", f"{n + 1:064x}") for n in range(200)]
        public = {"slip": 999_999, "items": 100, "rules": [f"{n:064x}" for n in range(4)], "pictures": pictures}
        about = ["slip/999999", *(f"item/999999/{line}" for line in range(1, 101))]
        assert len(made(kind="presented/0", about=about, public=public, parts=digests).data) < 60_000

    @pytest.mark.parametrize(
        ("changed", "reason"),
        [
            ({"public": {}}, "public.slip is missing"),
            ({"public": {"slip": 12, "who": "x"}}, "public.who does not belong to this kind"),
            ({"kind": "sold/0"}, "kind is not one that this program knows"),
            ({"parts": [DIGEST, DIGEST]}, "parts is not a sorted list of digests"),
            ({"about": ["seller/averill"]}, "about is not a list of names"),
            ({"occurred_at": "yesterday"}, "occurred_at is not a local moment with offset and zone"),
            ({"prev": bytes(31)}, "prev is not 64 lower-case hex digits"),
            ({"seq": 0}, "a book is opened by its entry 0 and by no other"),
        ],
    )
    def test_members_that_its_kind_cannot_have_are_refused(self, changed: dict[str, Any], reason: str) -> None:
        with pytest.raises(InputError) as caught:
            made(**changed)
        assert (caught.value.given, caught.value.wanted) == (reason, "an entry as ledger/chain/FORMAT.md describes it")

    def test_a_value_that_a_book_cannot_hold_names_its_path(self) -> None:
        with pytest.raises(InputError) as caught:
            made(kind="shop/0", public={"facts": {"name": "A\nB"}, "from": "2031-03-01"})
        assert caught.value.field == "public.facts.name"


class TestRead:
    """Bytes that are not canonical and members that are not those of the kind are told apart."""

    @pytest.mark.parametrize("name", LIES)
    def test_each_lie_is_called_by_its_name(self, name: str) -> None:
        case = LIES[name]
        if case["valid"]:
            assert entries.read(bytes_of(case)).data == bytes_of(case)
        elif case["finds"] in BYTE_LIES:
            with pytest.raises(NotCanonical) as unreadable:
                entries.read(bytes_of(case))
            assert unreadable.value.reason == case["finds"]
        else:
            with pytest.raises(BookUnsound) as unsound:
                entries.read(bytes_of(case))
            assert unsound.value.what == f"An entry is not as its kind asks: {case['finds']}."

    def test_a_leap_second_is_a_second(self) -> None:
        value = json.loads(made().data)
        value["recorded_at"] = "2016-12-31T23:59:60.000Z"
        assert entries.member_fault(value) is None

    @pytest.mark.parametrize("member", ["seq", "recorded_at", "parts", "about", "kind", "by"])
    @pytest.mark.parametrize("value", [None, 1.5, {}, [[]], "", [None], -1])
    def test_any_type_anywhere_is_a_fault_and_never_an_exception(self, member: str, value: Any) -> None:
        assert entries.member_fault({**json.loads(made().data), member: value}) is not None


class TestKinds:
    """A member has the same shape in every kind."""

    def test_every_member_of_every_kind_is_described_and_every_description_used(self) -> None:
        used = {name for kind in kinds.KINDS.values() for name in kind.required | kind.optional}
        assert used == set(kinds.MEMBERS) == set(SOUND) == set(UNSOUND)

    @pytest.mark.parametrize("name", kinds.KINDS)
    def test_each_kind_takes_its_members_and_misses_those_it_must_have(self, name: str) -> None:
        kind = kinds.KINDS[name]
        assert not kind.required & kind.optional
        public = {member: SOUND[member] for member in kind.required | kind.optional}
        assert kinds.public_fault(name, public) is None
        assert kinds.public_fault(name, {member: SOUND[member] for member in kind.required}) is None
        for member in kind.required:
            less = {other: value for other, value in public.items() if other != member}
            assert kinds.public_fault(name, less) == f"public.{member} is missing"

    @pytest.mark.parametrize(("member", "value"), [(name, value) for name in UNSOUND for value in UNSOUND[name]])
    def test_a_member_of_another_shape_is_refused(self, member: str, value: Any) -> None:
        name, kind = next((n, k) for n, k in kinds.KINDS.items() if member in k.required | k.optional)
        public = {**{each: SOUND[each] for each in kind.required}, member: value}
        assert kinds.public_fault(name, public) == f"public.{member} is not {kinds.MEMBERS[member][0]}"

    def test_a_kept_seal_is_whole_and_an_inquiry_may_name_one_in_short(self) -> None:
        short = {"seal": "12-" + "A" * 20}
        assert kinds.public_fault("inquiry/0", short) is None
        assert kinds.public_fault("seal-kept/0", short) == "public.seal is not the lines of a signed note"

    @pytest.mark.parametrize(("kind", "prefix"), kinds.OWN_ID_ONLY.items())
    def test_an_entry_about_a_question_does_not_say_what_it_is_about(self, kind: str, prefix: str) -> None:
        assert made(kind=kind, about=[f"{prefix}7f3a"], public={}).about == (f"{prefix}7f3a",)
        for about in ([], ["slip/12"], [f"{prefix}7f3a", "item/12/1"], [f"{prefix}1", f"{prefix}2"]):
            with pytest.raises(InputError):
                made(kind=kind, about=about, public={})

    @pytest.mark.parametrize(
        "name",
        [
            "book",
            "slip/12",
            "item/12/3",
            "item/12/3.2",
            f"rules/{HEX}",
            "day/2031-03-04",
            "report/2031-w10",
            "draft/x_-.",
            "inspection/7f3a",
            "extract/90bc",
            "instrument/scale-1",
            "parcel/11aa",
        ],
    )
    def test_names_of_what_an_entry_is_about(self, name: str) -> None:
        assert made(about=[name]).about == (name,)

    @pytest.mark.parametrize(
        "name", ["slip/0", "slip/012", "item/12", "item/12/3.", "rules/ab", "books", "slip/1 slip/2", "look/", "case/1"]
    )
    def test_names_that_an_entry_cannot_be_about(self, name: str) -> None:
        with pytest.raises(InputError):
            made(about=[name])


class TestClocks:
    """`clock` says behind where the moment lies before the previous entry's, and never otherwise."""

    @pytest.mark.parametrize(
        ("before", "after", "clock", "finds"),
        [
            ("2031-03-04T17:00:00.000Z", "2031-03-04T17:00:00.000Z", None, None),
            ("2031-03-04T17:00:00.000Z", "2031-03-04T16:59:59.999Z", "behind", None),
            (
                "2031-03-04T17:00:00.000Z",
                "2031-03-04T16:59:59.999Z",
                None,
                "recorded_at lies before the previous entry's and clock does not say so",
            ),
            (
                "2031-03-04T17:00:00.000Z",
                "2031-03-04T17:00:00.000Z",
                "behind",
                "clock says behind and recorded_at does not lie before the previous entry's",
            ),
        ],
    )
    def test_a_re_dated_entry_does_not_fit_its_neighbours(
        self, before: str, after: str, clock: str | None, finds: str | None
    ) -> None:
        assert entries.order_fault(before, after, clock) == finds


class TestPositions:
    """The chain can be followed by position, without parsing."""

    @pytest.mark.parametrize("data", small_book().data)
    def test_positions_agree_with_the_parsed_entry(self, data: bytes) -> None:
        entry = entries.read(data)
        assert (entries.seq_at(data), entries.prev_at(data)) == (entry.seq, entry.prev)

    @pytest.mark.parametrize(
        "data",
        [
            b"",
            b"{}",
            b'{"a":1,"prev":"ab"}',
            b'{"a":1,"prev":"' + b"x" * 64 + b'"}',
            b'{"a":1,"prev":"' + b"\xff" * 64 + b'"}',
            b'{"a":1,"prev":"' + b"a" * 65 + b'"}',
            b'{"a":1,"seq":}',
            b'{"a":1,"seq":-1}',
            b'{"a":1,"seq":1' + b"0" * 20 + b"}",
        ],
    )
    def test_bytes_without_positions_give_none(self, data: bytes) -> None:
        assert entries.prev_at(data) is None
        assert entries.seq_at(data) is None

    def test_a_nested_member_of_the_same_name_is_not_taken_for_it(self) -> None:
        public = {"facts": {"a": 1, "prev": "00" * 32, "seq": 99}, "from": "2031-03-01"}
        entry = made(kind="shop/0", about=["book"], public=public)
        assert (entries.seq_at(entry.data), entries.prev_at(entry.data)) == (7, b"\x11" * 32)


class TestPictures:
    """`public.pictures` holds base64url of the SHA-256 that names the encrypted file."""

    def test_file_names_come_back_as_they_were(self) -> None:
        entry = entries.read(small_book().data[2])
        assert entries.picture_files(entry) == (tuple(small_book().pictures),)

    def test_an_entry_without_pictures_has_no_files(self) -> None:
        assert entries.picture_files(made()) == ()

    def test_a_name_that_is_no_digest_is_refused(self) -> None:
        with pytest.raises(InputError, match="64 lower-case hex digits"):
            entries.picture("AB" * 32, "ab" * 32)


def chain_faults(data: list[bytes]) -> list[int]:
    """Places at which the bytes do not follow from those before: what level chain does, without a database."""
    before, faults = entries.ZERO, []
    for place, each in enumerate(data):
        if entries.seq_at(each) != place or entries.prev_at(each) != before:
            faults.append(place)
        before = tree.leaf_hash(each)
    return faults


class TestChain:
    """Any flipped bit of an entry, dropped, doubled, swapped or re-dated entry is found; a cut end needs a seal."""

    DATA = small_book().data

    def test_the_untouched_chain_has_no_fault(self) -> None:
        assert chain_faults(self.DATA) == []

    @given(st.data())
    def test_a_flipped_bit_is_found_in_this_entry_or_at_the_next(self, draw: st.DataObject) -> None:
        place = draw.draw(st.integers(0, len(self.DATA) - 2))
        data = list(self.DATA)
        data[place] = flipped(data[place], draw.draw(st.integers(0, 8 * len(data[place]) - 1)))
        assert set(chain_faults(data)) & {place, place + 1}

    @given(st.integers(0, 11), st.integers(0, 12))
    def test_a_dropped_doubled_or_swapped_entry_is_found(self, one: int, other: int) -> None:
        data = self.DATA
        assert chain_faults(data[:one] + data[one + 1 :])
        assert chain_faults([*data[:one], data[other], *data[one:]])
        swapped = list(data)
        swapped[one], swapped[other] = swapped[other], swapped[one]
        assert bool(chain_faults(swapped)) == (one != other)

    def test_a_cut_end_leaves_a_chain_without_a_fault(self) -> None:
        assert chain_faults(self.DATA[:9]) == []
