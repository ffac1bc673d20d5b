"""An inspector's sign-in: opened by an owner, scoped, each look recorded, over with the entry he signs.

What authorities may see is purchase records and the articles in them, as in Liberty Coins v. Goodman (6th Cir. 2018).
"""

import re
from datetime import timedelta

import pytest

from ledger.acts import inspecting, reaching
from ledger.book import engine as engines
from ledger.book import reading
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.paper_tools import text_of
from tests.web_shop import Web

FORM = {"name": "Canary Officer", "number": "4417", "agency": "Canary Agency", "power": "Canary Code 9 (invented)"}
USUAL = ["register", "stock", "records", "reports", "rules"]


def code_of(web: Web, scope: list[str], minutes: str = "60") -> str:
    web.sign_in("ada")
    told: dict[str, str | list[str]] = {**FORM, "minutes": minutes, "scope": scope, "again": shops.PASS_PHRASE}
    got = web.post("/inspection", told)
    found = re.search(r"<code>([A-Z2-7]{4}(?:-[A-Z2-7]{4}){3})</code>", got.text)
    assert found, got.text
    return found[1]


def officer(web: Web, scope: list[str] | None = None) -> Web:
    """The inspector's own browser, signed in."""
    code = code_of(web, USUAL if scope is None else scope)
    his = web.other()
    got = his.ask("POST", "/inspector", data={"code": code.lower()})
    assert (got.status_code, got.headers["location"]) == (303, "/inspector/desk")
    return his


def looks(web: Web) -> list[str]:
    with engines.reading(web.shop.book.engine) as connection:
        return [
            reading.open_parts(connection, web.shop.book, entry).get("look")["what"]
            for entry in reading.all_entries(connection, web.shop.book.origin)
            if entry.kind == "look/0"
        ]


class TestTheCode:
    """A code that is told once, opens one sign-in, and ends with time or when the owner ends it."""

    def test_it_opens_once_and_wrong_ones_are_counted(self, web: Web) -> None:
        code = code_of(web, USUAL)
        assert code not in web.get("/inspection").text
        one, two = web.other(), web.other()
        assert one.ask("POST", "/inspector", data={"code": code}).status_code == 303
        tried = [two.ask("POST", "/inspector", data={"code": code}).status_code for _ in range(12)]
        assert tried[0] == 422
        assert tried[-1] == 429

    def test_the_sign_in_ends_with_its_time(self, web: Web) -> None:
        his = officer(web)
        assert his.get("/inspector/desk").status_code == 200
        web.shop.wait(minutes=61)
        assert his.get("/inspector/desk").status_code == 401

    def test_the_owner_ends_it(self, web: Web) -> None:
        his = officer(web)
        (one,) = web.counter.passes.standing(web.counter.known().now)
        web.post("/inspection/end", {"pass": one.id})
        assert his.get("/inspector/desk").status_code == 401

    def test_a_session_without_its_pass_is_told_that_it_is_over(self, web: Web) -> None:
        his = officer(web)
        (one,) = web.counter.passes.standing(web.counter.known().now)
        web.counter.passes.end(one.id)
        assert his.get("/inspector/desk").status_code == 410

    @pytest.mark.parametrize("change", [{"name": " "}, {"minutes": "4"}, {"minutes": "481"}, {"scope": []}])
    def test_what_is_wrong_opens_nothing(self, web: Web, change: dict[str, str | list[str]]) -> None:
        web.sign_in("ada")
        told: dict[str, str | list[str]] = {**FORM, "minutes": "60", "scope": USUAL, "again": shops.PASS_PHRASE}
        assert web.post("/inspection", {**told, **change}).status_code == 422
        assert web.counter.passes.standing(web.counter.known().now) == []


class TestWhatIsSeen:
    """Only purchase records and the articles in them, in the scope given; each look is recorded first."""

    def test_each_list_is_shown_with_the_banner_and_recorded(self, web: Web) -> None:
        web.shop.record()
        his = officer(web)
        for what in reaching.LISTS:
            page = his.get(f"/inspector/list/{what}")
            assert page.status_code == 200
            assert "Each look is recorded" in page.text
            assert slip_samples.document()["parties"][0]["name"]["family"] not in page.text
        assert looks(web) == list(reaching.LISTS)

    def test_what_is_not_in_the_scope_is_refused_and_no_look_is_recorded(self, web: Web) -> None:
        web.shop.record()
        his = officer(web, ["rules"])
        for what in ("register", "stock", "reports", "people", "staff"):
            assert his.get(f"/inspector/list/{what}").status_code == 403
        for path in ("record", "shelf", "sample"):
            assert his.post(f"/inspector/{path}", {"slip": "1"}).status_code == 403
        assert looks(web) == []

    def test_a_record_shows_articles_and_its_people_only_where_the_power_reaches_them(self, web: Web) -> None:
        web.shop.record()
        family = slip_samples.document()["parties"][0]["name"]["family"]
        plain = officer(web).post("/inspector/record", {"slip": "1"})
        assert plain.content.startswith(b"%PDF-"), plain.text
        assert family not in text_of(plain.content)
        full = officer(web, ["records", "people"]).post("/inspector/record", {"slip": "1"})
        assert family in text_of(full.content)
        assert looks(web) == ["slip/1", "slip/1 with its people"]

    def test_a_purchase_before_the_last_inspection_is_not_reached(self, web: Web) -> None:
        web.shop.record()
        his = officer(web)
        assert his.post("/inspector/sign", {"signature": "on the paper"}).status_code == 200
        again = officer(web)
        for number in ("1", "99", "x"):
            assert again.post("/inspector/record", {"slip": number}).status_code == 403

    def test_the_shelf_and_a_sample_are_his(self, web: Web) -> None:
        web.shop.record()
        his = officer(web)
        assert "1 with an entry" in his.post("/inspector/shelf", {"codes": "1/1\r\n7/7"}).text
        assert "Sample by seed 31" in his.post("/inspector/sample", {"seed": "31", "count": "2"}).text
        assert his.post("/inspector/sample", {"seed": "", "count": "2"}).status_code == 422
        assert his.post("/inspector/shelf", {"codes": ""}).status_code == 422

    def test_pages_of_the_shop_are_not_his(self, web: Web) -> None:
        his = officer(web)
        for route in web.counter.routes:
            if "inspector" not in route.who and route.method == "GET" and not route.path.startswith("/api/"):
                assert his.get(re.sub(r"\{[^}]*\}", "1", route.path)).status_code == 403, route.path


class TestTheEntry:
    """The inspection entry he signs, sealed after the last entry; the sign-in ends with it."""

    def test_it_holds_findings_and_ends_the_sign_in_and_the_owner_prints_its_paper(self, web: Web) -> None:
        his = officer(web)
        told: dict[str, str | list[str]] = {
            "what": ["A label cannot be read.", ""],
            "cure_by": [(web.shop.local().date() + timedelta(days=7)).isoformat(), ""],
            "signature": "on the printed paper",
        }
        assert his.post("/inspector/sign", {**told, "signature": ""}).status_code == 422
        assert his.post("/inspector/sign", told).status_code == 200
        assert his.get("/inspector/desk").status_code == 401
        with engines.reading(web.shop.book.engine) as connection:
            (one,) = inspecting.every(connection, web.shop.book)
        assert [what for _, what, _ in one.open] == ["A label cannot be read."]
        paper = web.get(f"/inspection/{one.seq}/paper")
        assert "A label cannot be read." in text_of(paper.content)
        assert web.get("/inspection/0/paper").status_code == 422
        check_book(web.shop)
