"""The owner's pages through the browser's door: what they show, whom they let in, and that they call the acts.

The shop is that of tests/shops.py; holds and reports are those of the demonstration's invented places.
"""

import re
from datetime import timedelta

import pytest

from ledger.acts import holding, reporting
from ledger.book import engine as engines
from ledger.book import reading
from tests import shops, slip_samples
from tests.shops import Shop
from tests.web_shop import Web

PURCHASE = "purchase-1.county-sheriff"
SELLER = slip_samples.document()["parties"][0]["name"]["family"]


def size(shop: Shop) -> int:
    with engines.reading(shop.book.engine) as connection:
        return reading.size(connection, shop.book.origin)


def last(shop: Shop) -> str:
    with engines.reading(shop.book.engine) as connection:
        return reading.entry_at(connection, shop.book.origin, size(shop) - 1).kind


def again(**fields: str) -> dict[str, str]:
    """Fields of a form that asks for the pass-phrase again, with it."""
    return {**fields, "again": shops.PASS_PHRASE}


@pytest.fixture
def bought(web: Web) -> Web:
    """An owner at the counter, after one purchase."""
    web.shop.record()
    web.sign_in("ada")
    return web


class TestToday:
    """Each number is also a word and leads on; steps with reports, money and tasks are the acts of the commands."""

    def test_every_number_is_a_word_and_a_link(self, bought: Web) -> None:
        page = bought.get("/today")
        assert page.status_code == 200
        found = re.findall(r'<li><a href="#(\w+)"><b>\d+</b> (\w+)', page.text)
        assert [word for _, word in found] == ["slip", "payout", "may", "held", "report", "tasks"]
        assert all(f'id="{target}"' in page.text for target, _ in found)
        assert SELLER not in page.text

    def test_a_report_is_made_sent_and_received_from_the_page(self, bought: Web) -> None:
        made = bought.post("/today/report", {"report": PURCHASE, "step": "make"})
        assert made.content.startswith(b"%PDF")
        assert made.headers["cache-control"].startswith("no-store")
        sent = bought.post("/today/report", {"report": PURCHASE, "step": "sent", "how": "by hand"})
        assert (sent.status_code, sent.headers["location"]) == (303, "/today")
        bought.post("/today/report", {"report": PURCHASE, "step": "delivered", "how": "signed for"})
        told = {"report": PURCHASE, "step": "received", "who": "Desk", "reference": "R 1", "wrong": "seller.name\n\n"}
        assert bought.post("/today/report", told).status_code == 303
        one, steps = reporting.history(bought.shop.book, PURCHASE, at=bought.shop.local())
        assert (one.state, [step.step for step in steps]) == ("received", ["made", "sent", "delivered", "received"])

    def test_what_is_left_away_is_asked_for_and_nothing_is_written(self, bought: Web) -> None:
        bought.post("/today/report", {"report": PURCHASE, "step": "make"})
        before = size(bought.shop)
        for fields in ({"step": "sent"}, {"step": "delivered"}, {"step": "received"}, {"step": "burn"}):
            assert bought.post("/today/report", {"report": PURCHASE, **fields}).status_code == 422
        assert bought.post("/today/payout", {"slip": "one", "state": "paid"}).status_code == 422
        assert size(bought.shop) == before

    def test_money_is_paid_and_the_day_closed(self, bought: Web) -> None:
        assert bought.post("/today/payout", {"slip": "1", "state": "paid", "reference": "C 7"}).status_code == 303
        assert last(bought.shop) == "payout/0"
        assert bought.post("/today/close", {}).status_code == 303
        assert last(bought.shop) == "day-closed/0"
        assert "today is closed" in bought.get("/today").text

    def test_a_notice_before_an_order_ends_is_recorded(self, bought: Web) -> None:
        now = bought.shop.local()
        asked = holding.OrderAsked(
            ((1, 1),), "Police", "Officer", "26-1", "section 1", now, now + timedelta(days=9), "written", rule="none"
        )
        name, _ = holding.order(bought.shop.book, asked)
        assert bought.post("/today/task", {"about": f"order {name}", "said": ""}).status_code == 422
        assert bought.post("/today/task", {"about": f"order {name}", "said": "the owner, by letter"}).status_code == 303
        assert last(bought.shop) == "hold-noted/0"
        assert bought.post("/today/task", {"about": "1/1", "event": "no-such"}).status_code == 422

    def test_papers_of_the_day(self, bought: Web) -> None:
        for path in ("/today/sheet", "/today/sheet?day=2026-11-24", "/today/holds"):
            assert bought.get(path).content.startswith(b"%PDF")
        assert bought.get("/today/sheet?day=yesterday").status_code == 422

    def test_a_clerk_sees_her_own_part(self, web: Web) -> None:
        web.shop.record()
        web.sign_in("ben")
        page = web.get("/today").text
        assert "Your slips of today" in page
        assert "To be mended" not in page


class TestItem:
    """Everything without people; these only after a look with a reason; a refusal stands on the page."""

    def test_it_shows_goods_strip_and_holds_and_nobody(self, bought: Web) -> None:
        page = bought.get("/item/1/1").text
        assert "ring, yellow metal" in page
        assert 'role="img"' in page
        assert "waiting for" in page
        assert SELLER not in page
        assert bought.get("/item/1/1/picture/1").headers["content-type"] == "image/jpeg"
        assert bought.get("/item/1/1/label").content.startswith(b"%PDF")

    def test_what_is_not_there_is_said(self, bought: Web) -> None:
        for path in ("/item/9/9", "/item/x/1", "/item/1/1/picture/x", "/item/1/1/picture/99"):
            assert bought.get(path).status_code == 422

    def test_its_people_are_told_after_a_look_with_a_reason(self, bought: Web) -> None:
        assert bought.post("/item/1/1", {"do": "people", "why": ""}).status_code == 422
        page = bought.post("/item/1/1", {"do": "people", "why": "the detective called back"})
        assert SELLER in page.text
        assert last(bought.shop) == "look/0"
        assert SELLER not in bought.get("/item/1/1").text

    def test_a_refusal_of_the_law_stands_on_the_page_with_its_section(self, bought: Web) -> None:
        no = bought.post("/item/1/1", {"do": "out", "outcome": "sold", "has_it": "A buyer", "taker": "buyer"})
        assert no.status_code == 409
        assert "The law says no" in no.text
        assert "Pellwick Town Code 7-6" in no.text
        assert "A buyer" in no.text, "what was typed is still there"

    def test_goods_are_moved_within_the_premises(self, bought: Web) -> None:
        assert bought.post("/item/1/1", {"do": "move", "to": ""}).status_code == 422
        to = {"do": "move", "to": "back room", "known_as": "premises", "because": "for the night"}
        assert bought.post("/item/1/1", to).status_code == 303
        assert "moved from shop to back room" in bought.get("/item/1/1").text
        assert bought.post("/item/1/1", {"do": "burn"}).status_code == 422


class TestInquiry:
    """By POST; reasons for each pointer; who asked is recorded; the paper that says nothing was found."""

    def test_words_of_the_shops_own_write_nothing(self, bought: Web) -> None:
        before = size(bought.shop)
        assert bought.get("/inquiry").status_code == 200
        page = bought.post("/inquiry", {"do": "words", "question": "ring 14K"})
        assert "1/1" in page.text
        assert "2 of 2" in page.text
        assert size(bought.shop) == before
        assert bought.post("/inquiry", {"do": "words", "question": ""}).status_code == 422
        assert bought.post("/inquiry", {"do": "guess"}).status_code == 422

    def test_an_authoritys_question_is_kept_with_its_power(self, bought: Web) -> None:
        who = {"agency": "Police", "officer": "Canary Officer", "power": "section 9"}
        page = bought.post("/inquiry", {"do": "words", "question": "ring 14K", **who})
        assert "Kept as entry" in page.text
        assert last(bought.shop) == "inquiry/0"
        assert bought.post("/inquiry", {"do": "words", "question": "ring", "officer": "X"}).status_code == 422

    def test_a_pasted_list_shows_what_agrees_and_what_does_not(self, bought: Web) -> None:
        page = bought.post(
            "/inquiry", {"do": "list", "list": "ring 14K, inside it says R to A 6.12.58\nchain 18 inches"}
        )
        assert "agrees:" in page.text
        kept = bought.post("/inquiry", {"do": "list", "list": "yellow ring 14K", "agency": "Police"})
        assert "Kept as entry" in kept.text

    def test_a_list_comes_as_a_file_too(self, bought: Web) -> None:
        page = bought.post("/inquiry", {"do": "list"}, files={"file": ("list.txt", b"yellow ring 14K", "text/plain")})
        assert "yellow ring 14K" in page.text

    def test_nothing_found_is_a_paper_and_something_found_is_none(self, bought: Web) -> None:
        who = {"agency": "Police", "power": "section 9"}
        paper = bought.post("/inquiry", {"do": "nothing", "list": "platinum tiara with rubies", **who})
        assert paper.content.startswith(b"%PDF")
        assert bought.post("/inquiry", {"do": "nothing", "list": "yellow ring 14K", **who}).status_code == 409
        assert bought.post("/inquiry", {"do": "nothing", "list": "tiara"}).status_code == 422

    def test_a_dossier_is_an_owners_with_the_pass_phrase_again(self, bought: Web) -> None:
        told = {"item": "1/1", "recipient": "Police", "basis": "section 9"}
        paper = bought.post("/inquiry/dossier", again(**told))
        assert paper.content.startswith(b"%PDF")
        assert bought.post("/inquiry/dossier", again(item="1/1", recipient="", basis="x")).status_code == 422
        bought.sign_out()
        bought.sign_in("ben")
        assert bought.post("/inquiry/dossier", told).status_code == 403


class TestMonth:
    """The month in pictures, with the same numbers in tables."""

    def test_every_picture_has_its_numbers_beside_it(self, bought: Web) -> None:
        page = bought.get("/month?month=2026-11").text
        assert page.count("<svg") == page.count("<caption>The same numbers") > 0
        assert "USD 218.50" in page
        assert "style=" not in page
        weekly = bought.get("/month?month=2026-11&by=week").text
        assert "2026-11-23" in weekly, "the Monday of the week"

    def test_a_month_without_purchases_and_one_that_is_none(self, bought: Web) -> None:
        assert "Nothing was bought" in bought.get("/month?month=2025-01").text
        assert bought.get("/month?month=2026-13").status_code == 422
        assert "November 2026" in bought.get("/month").text


class TestStaff:
    """Who works here, added, left and reset by an owner with the pass-phrase again; roles from the route table."""

    def test_the_table_of_roles_is_that_of_the_routes(self, bought: Web) -> None:
        from ledger.web import routes

        page = bought.get("/staff").text
        for one in routes.ROUTES:
            assert f"{one.method} {one.path}" in page.replace("&#39;", "'")

    def test_somebody_comes_gets_a_new_pass_phrase_and_leaves(self, bought: Web) -> None:
        phrase = {"phrase": "a long pass-phrase of eve", "phrase_twice": "a long pass-phrase of eve"}
        assert bought.post("/staff", again(do="add", staff="eve", role="clerk", **phrase)).status_code == 303
        assert ">eve<" in bought.get("/staff").text
        other = {"phrase": "another long pass-phrase", "phrase_twice": "another long pass-phrase"}
        assert bought.post("/staff", again(do="reset", staff="eve", **other)).status_code == 303
        assert bought.post("/staff", again(do="left", staff="eve")).status_code == 303
        assert bought.get("/today").status_code == 200, "the counter has the new secret"

    def test_what_does_not_do_is_told_at_its_field(self, bought: Web) -> None:
        twice = {"phrase": "a long pass-phrase of eve", "phrase_twice": "something else"}
        assert "the same pass-phrase twice" in bought.post("/staff", again(do="add", staff="eve", **twice)).text
        assert bought.post("/staff", again(do="left", staff="ada")).status_code == 422
        assert bought.post("/staff", again(do="left", staff="ben", until="soon")).status_code == 422
        assert bought.post("/staff", again(do="promote", staff="ben")).status_code == 422


class TestRules:
    """The files in force, and one adopted after its differences were seen."""

    def test_they_stand_with_their_layer_and_who_compared_them(self, bought: Web) -> None:
        page = bought.get("/rules").text
        assert "xx-norrowa-tamsett-pellwick" in page
        assert "ada, 2026-11-01" in page
        bought.sign_out()
        bought.shop.wait(days=1200)
        bought.sign_in("ada")
        assert "not checked since 2028-12-31" in bought.get("/rules").text

    def test_a_file_shows_what_it_changes_and_is_then_adopted(self, bought: Web) -> None:
        data = shops.rule_files()[2].read_bytes().replace(b"checked_until = 2028-12-31", b"checked_until = 2029-06-30")
        before = size(bought.shop)
        page = bought.post("/rules/differences", {}, files={"file": ("town.toml", data, "text/plain")})
        assert "becomes 2029-06-30" in page.text
        assert size(bought.shop) == before
        found = re.search(r'name="digest" value="(\w{64})"', page.text)
        assert found is not None
        # A browser sends every line's end of a text field as two characters: WHATWG HTML, 4.10.21.4.
        text = data.decode().replace("\n", "\r\n")
        told = again(text=text, digest=found[1], compared_on="2026-11-24")
        assert bought.post("/rules/adopt", told).status_code == 303
        assert last(bought.shop) == "rules-adopted/0"
        assert "2029-06-30" in bought.get("/rules").text

    def test_other_bytes_than_those_shown_are_not_adopted(self, bought: Web) -> None:
        told = again(text="format = 1", digest="0" * 64, compared_on="2026-11-24")
        assert bought.post("/rules/adopt", told).status_code == 422
        assert bought.post("/rules/adopt", {**told, "compared_on": "today"}).status_code == 422

    def test_a_file_with_faults_and_no_file_at_all(self, bought: Web) -> None:
        wrong = bought.post("/rules/differences", {}, files={"file": ("x.toml", b"nonsense = ", "text/plain")})
        assert "cannot be adopted" in wrong.text
        assert bought.post("/rules/differences", {}).status_code == 422
