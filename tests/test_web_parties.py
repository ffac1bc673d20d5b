"""The people of a slip at the counter: scanned, photographed, typed, pictured, each on its own draft."""

import json

import pytest

from ledger.acts import drafts
from ledger.law.answers import Limit
from tests.test_barcodes import photograph
from tests.test_scanning import HOSTILE
from tests.test_wedge import CARD
from tests.test_zone import SPECIMENS
from tests.web_shop import Web

FAMILY = "parties.0.name.family"
PHOTO = "unkept.file.parties.0.photo"


@pytest.fixture
def desk(web: Web) -> Web:
    """A counter with an owner signed in and three open trays."""
    web.sign_in("ada")
    return web


def begin(web: Web, tray: str = "4", **fields: str) -> str:
    """A draft on a tray; its id."""
    at = web.shop.local().isoformat()
    usual = {"tray.number": tray, "tray.articles": "1", "occurred_at": f"{at}[America/Chicago]", "staff": "ada"}
    web.shop.book.by = "ada"
    return drafts.begin(web.shop.book, tray=tray, fields={**usual, "channel": "counter", **fields}).id


def form(web: Web, draft: str, **more: str) -> dict[str, str]:
    """What the page would post of a draft as it stands."""
    kept = drafts.open_(web.shop.book, draft)
    return {**kept.fields, "draft": draft, "version": str(kept.version), **more}


def fields(web: Web, draft: str) -> dict[str, str]:
    return dict(drafts.open_(web.shop.book, draft).fields)


class TestReading:
    """What was read, what was typed and what the clerk confirmed are kept apart."""

    def test_a_mangled_scan_fills_blank_fields_and_is_not_kept(self, desk: Web) -> None:
        draft = begin(desk)
        scanned = {"unkept.scan.0": CARD.swapcase().replace("\n", "\r\n"), "unkept.party": "0", FAMILY: "Sampler"}
        got = desk.post(f"/slip/{draft}/scan", form(desk, draft, **scanned))
        assert (got.status_code, got.headers["location"]) == (303, f"/slip/{draft}#party-0")
        kept = fields(desk, draft)
        assert (kept[FAMILY], kept["parties.0.birth_date"]) == ("Sampler", "1986-06-06")
        assert kept["parties.0.documents.0.how_read"] == "barcode"
        assert "ansi" not in json.dumps(kept).casefold()
        page = desk.get(f"/slip/{draft}").text
        assert "was read from the barcode and is another" in page
        assert "Read, to be compared with the document" in page
        assert "40 years old today" in page

    def test_the_clerk_may_take_what_was_read(self, desk: Web) -> None:
        draft = begin(desk)
        desk.post(f"/slip/{draft}/scan", form(desk, draft, **{"unkept.scan.0": CARD, FAMILY: "Sampler"}))
        desk.post(f"/slip/{draft}/people", form(desk, draft, **{"unkept.do": f"take:{FAMILY}"}))
        assert fields(desk, draft)[FAMILY] == "SAMPLE"

    def test_a_photograph_of_the_barcode_is_read_and_not_kept(self, desk: Web) -> None:
        draft = begin(desk)
        files = {"unkept.file.barcode.0": ("back.jpg", photograph(6, 1.0, 4, "dim"), "image/jpeg")}
        assert desk.post(f"/slip/{draft}/barcode", form(desk, draft), files=files).status_code == 303
        kept = drafts.open_(desk.shop.book, draft)
        assert kept.fields[FAMILY] == "SAMPLE"
        assert kept.pictures == {}

    def test_a_slip_in_typed_lines_is_told_and_nothing_typed_is_lost(self, desk: Web) -> None:
        draft = begin(desk)
        lines = "\n".join(SPECIMENS[0][1])
        wrong = {"unkept.lines.0": lines.replace("740812", "740813"), "parties.0.email": "a@example.org"}
        desk.post(f"/slip/{draft}/lines", form(desk, draft, **wrong))
        assert "Line 2: the check digit of the birth date" in desk.get(f"/slip/{draft}").text
        assert fields(desk, draft)["parties.0.email"] == "a@example.org"
        desk.post(f"/slip/{draft}/lines", form(desk, draft, **{"unkept.lines.0": lines}))
        assert fields(desk, draft)[FAMILY] == "ERIKSSON"

    def test_one_more_person_has_a_box_of_his_own(self, desk: Web) -> None:
        draft = begin(desk)
        desk.post(f"/slip/{draft}/people", form(desk, draft, **{"unkept.do": "add:"}))
        assert 'name="unkept.scan.1"' in desk.get(f"/slip/{draft}").text
        desk.post(f"/slip/{draft}/scan", form(desk, draft, **{"unkept.scan.1": CARD, "unkept.party": "1"}))
        assert fields(desk, draft)["parties.1.name.family"] == "SAMPLE"
        assert FAMILY not in fields(desk, draft)


class TestReturning:
    """A returning seller is found, and copied from only after a look."""

    def test_the_address_is_copied_after_a_look_with_a_reason(self, desk: Web) -> None:
        desk.shop.record()
        number = str(desk.shop.slip().seller.documents[0].number)
        draft = begin(desk, **{"parties.0.documents.0.number": number})
        page = desk.get(f"/slip/{draft}").text
        assert "Sold here before: slip 1" in page
        city = str(getattr(desk.shop.slip().seller.address, "city", ""))
        assert city not in page
        copied = {"unkept.do": "copy:0:1", "unkept.why.0": ""}
        desk.post(f"/slip/{draft}/people", form(desk, draft, **copied))
        assert "parties.0.address.city" not in fields(desk, draft)
        desk.post(f"/slip/{draft}/people", form(desk, draft, **{**copied, "unkept.why.0": "sells again"}))
        assert fields(desk, draft)["parties.0.address.city"] == city

    def test_a_slip_of_somebody_else_is_not_shown(self, desk: Web) -> None:
        desk.shop.record()
        draft = begin(desk)
        desk.post(f"/slip/{draft}/people", form(desk, draft, **{"unkept.do": "copy:0:1", "unkept.why.0": "curious"}))
        assert "parties.0.address.city" not in fields(desk, draft)


class TestPictures:
    """A picture cannot land on the neighbour's draft."""

    def test_a_picture_is_kept_and_shown_with_harmless_headers(self, desk: Web) -> None:
        draft = begin(desk)
        files = {PHOTO: ("../../etc/me.jpg", photograph(0, 1, 1, "even"), "text/html")}
        assert desk.post(f"/slip/{draft}/picture", form(desk, draft), files=files).status_code == 303
        name = fields(desk, draft)["parties.0.captures.0.file"]
        got = desk.get(f"/slip/{draft}/picture/{name}")
        assert (got.status_code, got.headers["content-type"]) == (200, "image/jpeg")
        assert got.headers["x-content-type-options"] == "nosniff"
        assert got.headers["cache-control"] == "no-store"
        assert got.headers["content-disposition"].startswith('inline; filename="picture.jpg"')

    def test_three_drafts_interleaved_each_keep_their_own(self, desk: Web) -> None:
        three = [begin(desk, tray) for tray in ("4", "5", "6")]
        forms = [form(desk, draft) for draft in three]
        for draft, told in reversed([*zip(three, forms, strict=True)]):
            files = {PHOTO: ("a.jpg", photograph(0, 1, 1, "even"), "image/jpeg")}
            assert desk.post(f"/slip/{draft}/picture", told, files=files).status_code == 303
        names = [fields(desk, draft)["parties.0.captures.0.file"] for draft in three]
        assert len(set(names)) == 3
        for draft, own in zip(three, names, strict=True):
            seen = {name: desk.get(f"/slip/{draft}/picture/{name}").status_code for name in names}
            assert seen == {name: 200 if name == own else 422 for name in names}

    def test_the_form_of_another_draft_is_refused(self, desk: Web) -> None:
        mine, other = begin(desk, "4"), begin(desk, "5")
        files = {PHOTO: ("a.jpg", photograph(0, 1, 1, "even"), "image/jpeg")}
        assert desk.post(f"/slip/{other}/picture", form(desk, mine), files=files).status_code == 422
        assert drafts.open_(desk.shop.book, other).pictures == {}

    def test_a_stale_tab_takes_nothing_and_loses_nothing(self, desk: Web) -> None:
        draft = begin(desk)
        stale = form(desk, draft, **{FAMILY: "Stale"})
        desk.post(f"/slip/{draft}/scan", form(desk, draft, **{"unkept.scan.0": CARD}))
        got = desk.post(f"/slip/{draft}/scan", {**stale, "unkept.scan.0": CARD})
        assert got.status_code == 409
        assert "Stale" in got.text
        files = {PHOTO: ("a.jpg", photograph(0, 1, 1, "even"), "image/jpeg")}
        assert desk.post(f"/slip/{draft}/picture", stale, files=files).status_code == 422
        assert drafts.open_(desk.shop.book, draft).pictures == {}
        assert fields(desk, draft)[FAMILY] == "SAMPLE"

    @pytest.mark.parametrize("what", [name for name in HOSTILE if name != "nothing"])
    def test_hostile_uploads_are_refused_in_one_sentence(self, desk: Web, what: str) -> None:
        draft = begin(desk)
        files = {PHOTO: ("a.jpg", HOSTILE[what], "image/jpeg")}
        got = desk.post(f"/slip/{draft}/picture", form(desk, draft), files=files, Accept="application/json")
        assert got.status_code == 422
        assert got.json()["detail"].count("\n") == 0
        assert drafts.open_(desk.shop.book, draft).pictures == {}
        assert desk.post(f"/slip/{draft}/picture", form(desk, draft), files=files).status_code == 303
        assert "A picture was not kept" in desk.get(f"/slip/{draft}").text

    @pytest.mark.parametrize(
        ("must_not", "fact", "copy", "against"),
        [
            ("keep", "seller.captures.print", "", True),
            ("ask", "seller.captures.print", "", True),
            ("show", "seller.captures.print", "", False),
            ("keep", "seller.captures.photo", "", False),
            ("keep", "seller.captures.print", "seller", False),
        ],
    )
    def test_a_rule_that_forbids_keeping_is_honoured(self, must_not: str, fact: str, copy: str, against: bool) -> None:
        limit = Limit(must_not, fact, "", "r", "j", "Sample Code 1", copy)
        assert limit.forbids_capture("print") is against
