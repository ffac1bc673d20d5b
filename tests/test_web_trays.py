"""The trays at the counter: what is open, and a draft that is given up."""

from ledger.acts import drafts
from tests.web_shop import Web


class TestGivingUp:
    """A draft that nobody goes on with is given up by a button, and its tray is free."""

    def test_the_button_on_the_page_frees_the_tray(self, web: Web) -> None:
        web.sign_in("ben")
        web.post("/trays", {"tray.number": "4", "tray.articles": "1"})
        (one,) = drafts.listed(web.shop.book)
        act = f"/trays/{one.id}/give-up"
        assert f'action="{act}"' in web.get("/trays").text
        got = web.post(act, {})
        assert (got.status_code, got.headers["location"]) == (303, "/trays")
        assert drafts.listed(web.shop.book) == []
        assert "No tray is open." in web.get("/trays").text

    def test_a_second_press_is_told_that_there_is_no_such_slip(self, web: Web) -> None:
        web.sign_in("ben")
        got = web.post(f"/trays/{'0' * 32}/give-up", {})
        assert got.status_code == 422
        assert "a slip that is still open" in got.text

    def test_who_saved_last_is_told_where_it_is_another(self, web: Web) -> None:
        web.sign_in("ben")
        web.post("/trays", {"tray.number": "4", "tray.articles": "1"})
        (one,) = drafts.listed(web.shop.book)
        assert "ben, saved at" in web.get("/trays").text
        web.shop.book.by = "ada"
        drafts.save(web.shop.book, one.id, {"tray.number": "4"}, version=1)
        assert " by ada</span>" in web.get("/trays").text

    def test_a_tray_with_a_name_on_it_is_not_begun(self, web: Web) -> None:
        web.sign_in("ben")
        got = web.post("/trays", {"tray.number": "Quillfeather", "tray.articles": "1"})
        assert got.status_code == 422
        assert "1 to 8 letters and digits" in got.text
        assert drafts.listed(web.shop.book) == []


def test_the_stub_of_a_slip_names_the_other_trays(web: Web) -> None:
    one, other = (drafts.begin(web.shop.book, tray=tray, fields={}).id for tray in ("1", "2"))
    web.sign_in("ada")
    page = web.get(f"/slip/{one}").text
    assert f'<a href="/slip/{other}">2</a>' in page
    assert '<strong aria-current="page">1</strong>' in page
