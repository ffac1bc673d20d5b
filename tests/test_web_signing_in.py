"""Signing in, staying in, being asked again, running out: what each of them keeps and what it ends."""

import re
import threading
import time
from datetime import timedelta
from typing import ClassVar

import pytest

from ledger.acts import setting_up
from ledger.book import engine as engines
from ledger.book import tables
from ledger.errors import InputError, LockedError
from ledger.vault import keys_file
from ledger.web import counter, paths, problems, routes, serving, sessions, throttle
from ledger.web.visits import INSPECTORS, OWNERS, STAFF, PassPhraseAgain, Route, Visit
from tests import shops, web_shop
from tests.web_shop import CLERK, HOST, Web

WRONG = "open nothing together"


def with_routes(web: Web, *more: Route) -> None:
    """A few routes beside the counter's own."""
    web.counter.routing = paths.Routing((*routes.ROUTES, *more))


def echo(visit: Visit) -> object:
    """What was posted, said back."""
    return visit.json({"many": visit.many, "files": sorted(visit.uploads), "by": visit.book.by})


ECHO = Route(method="POST", path="/echo/{draft}", page=echo, who=STAFF, name="echo", most_files=2)


class TestTheFirstOfTheMorning:
    """The first sign-in opens the vault, with a clerk's own pass-phrase or the paper key; nobody waits for an owner."""

    def test_while_it_is_closed_the_page_says_so(self, web: Web) -> None:
        assert "The vault is closed" in web.get("/sign-in").text
        web.sign_in(CLERK)
        assert web.counter.keys is not None
        assert "The vault is closed" not in web.other().get("/sign-in").text

    def test_a_clerks_session_never_holds_the_owner_secret_nor_anything_that_opens_it(self, web: Web) -> None:
        web.sign_in("ada")
        other = web.other()
        other.sign_in(CLERK)
        for session in web.counter.sessions.standing(web.counter.known().now):
            assert session.keys is not None
            assert not session.keys.owner
            assert session.keys.staff == session.staff
        assert web.counter.keys is not None
        assert web.counter.keys.staff == CLERK, "behind the counter's own keys stands no owner once a clerk is in"

    def test_the_paper_key_is_an_owners(self, web: Web) -> None:
        assert web.sign_in("paper", web.shop.paper_key).status_code == 303
        assert web.get("/month").status_code == 200
        assert web.sign_in("paper", "ABCD").status_code == 401
        assert web.sign_in("paper", "A" * 36).status_code == 401

    def test_what_is_done_stands_under_the_name_of_whoever_signed_in(self, web: Web) -> None:
        with_routes(web, ECHO)
        web.sign_in(CLERK)
        assert web.post("/echo/1", {}).json()["by"] == CLERK


class TestFailing:
    """Every failure is told in the same words: a stranger, a wrong pass-phrase, one who left."""

    @pytest.mark.parametrize(
        ("staff", "phrase"), [("ada", "wrong"), ("nobody", shops.PASS_PHRASE), ("", ""), (CLERK, shops.PASS_PHRASE)]
    )
    def test_it_is_the_same_answer(self, web: Web, staff: str, phrase: str) -> None:
        got = web.sign_in(staff, phrase)
        assert (got.status_code, WRONG in got.text, web.cookie) == (401, True, "")

    def test_one_who_left_cannot_come_back(self, web: Web) -> None:
        setting_up.person_left(web.shop.book, CLERK, web.shop.local().date() - timedelta(days=1))
        assert WRONG in web.sign_in(CLERK).text

    def test_the_pass_phrase_is_not_on_the_page(self, web: Web) -> None:
        assert "a long wrong phrase" not in web.sign_in("ada", "a long wrong phrase").text


class TestThrottle:
    """Waits grow and end; they survive a restart; no address and no name lies in the table."""

    def test_after_three_failures_of_an_account_one_waits_and_the_right_pass_phrase_waits_too(self, web: Web) -> None:
        for _ in range(4):
            assert web.sign_in("ada", "wrong").status_code == 401
        for _ in range(4):  # the clock of a test moves a second at each look
            web.counter.throttle.failed(throttle.person("ada", "198.51.100.1"), web.counter.known().now)
        got = web.sign_in("ada")
        assert got.status_code == 429
        assert 20 <= int(got.headers["retry-after"]) <= 32
        assert re.search(r"wait \d+ seconds, then type it again", got.text)
        web.shop.wait(seconds=32)
        assert web.sign_in("ada").status_code == 303

    def test_a_success_begins_anew(self, web: Web) -> None:
        for _ in range(3):
            web.sign_in("ada", "wrong")
        web.sign_in("ada")
        for _ in range(3):
            assert web.sign_in("ada", "wrong").status_code == 401
        assert web.sign_in("ada").status_code == 303

    def test_a_restart_forgives_nobody(self, web: Web) -> None:
        for _ in range(8):
            web.sign_in("ada", "wrong")
            web.shop.wait(seconds=61)
        web.sign_in("ada", "wrong")
        again = web_shop.opened(web.shop)
        assert again.sign_in("ada").status_code == 429
        again.client.close()
        again.counter.close()

    def test_nobody_waits_longer_than_a_minute_for_her_own_account(self, web: Web) -> None:
        now = web.counter.known().now
        for _ in range(200):
            web.counter.throttle.failed(throttle.person("ada", "198.51.100.1"), now)
        assert 0 < web.counter.throttle.seconds(throttle.person("ada", "198.51.100.2"), now) <= 60
        assert web.counter.throttle.seconds(throttle.person("ada", "198.51.100.2"), now + timedelta(seconds=61)) == 0

    def test_one_address_that_tries_many_names_waits(self, web: Web) -> None:
        now = web.counter.known().now
        for n in range(20):
            web.counter.throttle.failed(throttle.person(f"name{n}", "198.51.100.1"), now)
        assert 60 < web.counter.throttle.seconds(throttle.person("ada", "198.51.100.1"), now) <= 300
        assert web.counter.throttle.seconds(throttle.person("ada", "198.51.100.2"), now) == 0
        assert web.counter.throttle.seconds(throttle.person("ada", "198.51.100.1"), now + throttle.FORGOTTEN * 2) == 0

    def test_what_a_stranger_typed_for_a_name_is_not_kept_even_as_a_digest(self, web: Web) -> None:
        """It may be a pass-phrase in the wrong field, and a digest of that is easily guessed at."""
        book = web.shop.book
        web.sign_in("seven-quiet-geese", "x")
        with engines.reading(book.engine) as connection:
            rows = {row.who for row in connection.execute(tables.attempts.select())}
        assert throttle.who(book, throttle.ACCOUNT, "seven-quiet-geese") not in rows
        assert throttle.who(book, throttle.ACCOUNT, counter.STRANGER) in rows

    def test_names_and_addresses_lie_there_as_digests_only_and_not_for_long(self, web: Web) -> None:
        web.sign_in("ada", "wrong")
        with engines.reading(web.shop.book.engine) as connection:
            rows = connection.execute(tables.attempts.select()).all()
        assert len(rows) == 2
        assert all(re.fullmatch("[0-9a-f]{64}", row.who) for row in rows)
        web.counter.throttle.failed(
            throttle.person("ben", "198.51.100.1"), web.counter.known().now + throttle.FORGOTTEN * 2
        )
        with engines.reading(web.shop.book.engine) as connection:
            assert len(connection.execute(tables.attempts.select()).all()) == 2

    def test_the_pass_phrase_again_is_counted_too(self, web: Web) -> None:
        web.sign_in("ada")
        assert WRONG in web.post("/again", {"again": "wrong"}).text
        for _ in range(7):
            web.counter.throttle.failed(throttle.person("ada", "198.51.100.1"), web.counter.known().now)
        got = web.post("/again", {"again": shops.PASS_PHRASE})
        assert (got.status_code, "retry-after" in got.headers) == (429, True)


class TestSessions:
    """A random secret of 256 bits of which only the SHA-256 is kept; limits idle and absolute; a new id each time."""

    def test_a_sign_in_makes_a_new_session_and_ends_the_one_before(self, web: Web) -> None:
        web.cookie = f"{web.counter.cookie}=chosen-by-somebody-else"
        web.sign_in(CLERK)
        first = web.cookie
        assert "chosen" not in first
        web.sign_in("ada")
        assert web.cookie != first
        web.cookie = first
        assert web.get("/rules").status_code == 401

    def test_the_cookie_cannot_be_read_by_scripts_nor_sent_from_elsewhere(self, web: Web) -> None:
        (line,) = web.sign_in("ada").headers.get_list("set-cookie")
        name, _, rest = line.partition("=")
        assert name.startswith("__Host-")
        assert rest.partition("; ")[2] == "Path=/; Secure; HttpOnly; SameSite=Strict"
        assert len(rest.partition(";")[0]) == 43, "256 bits in base64"

    def test_only_a_digest_is_kept(self, web: Web) -> None:
        web.sign_in("ada")
        secret = web.cookie.partition("=")[2]
        assert secret not in repr(vars(web.counter.sessions))

    def test_after_a_quarter_of_an_hour_without_use_it_is_over(self, web: Web) -> None:
        web.sign_in("ada")
        web.shop.wait(minutes=14)
        assert web.get("/rules").status_code == 200
        web.shop.wait(minutes=14)
        assert web.get("/rules").status_code == 200
        web.shop.wait(minutes=15)
        assert web.get("/rules").status_code == 401

    def test_after_twelve_hours_it_is_over_in_any_case(self, web: Web) -> None:
        web.sign_in("ada")
        for _ in range(12 * 6 - 1):
            web.shop.wait(minutes=10)
            assert web.counter.sessions.find(web.cookie.partition("=")[2], web.counter.known().now) is not None
        web.shop.wait(minutes=10)
        assert web.get("/rules").status_code == 401

    def test_the_owner_sets_both_limits(self, sqlite_shop: shops.Shop) -> None:
        web = web_shop.opened(sqlite_shop, text=b"[counter]\nidle_minutes = 2\nlongest_hours = 1\n")
        web.sign_in("ada")
        web.shop.wait(minutes=3)
        assert web.get("/rules").status_code == 401
        assert (web.counter.sessions.idle, web.counter.sessions.longest) == (timedelta(minutes=2), timedelta(hours=1))
        web.client.close()
        web.counter.close()

    def test_a_page_that_asks_by_itself_is_no_sign_of_life(self, web: Web) -> None:
        web.sign_in("ada")
        for _ in range(3):
            web.shop.wait(minutes=5)
            web.get("/static/counter.css")
        assert web.get("/rules").status_code == 401

    def test_signing_out_ends_it(self, web: Web) -> None:
        web.sign_in("ada")
        kept = web.cookie
        assert web.sign_out().headers["location"] == "/sign-in"
        assert web.cookie == ""
        web.cookie = kept
        assert web.get("/rules").status_code == 401
        assert web.sign_out().status_code == 303

    def test_a_role_is_read_from_the_book_at_each_request(self, web: Web) -> None:
        web.sign_in(CLERK)
        assert web.get("/month").status_code == 403
        setting_up.add_person(web.shop.book, CLERK, "owner", "Ben")
        assert web.get("/month").status_code == 200

    def test_one_who_left_is_out_at_once(self, web: Web) -> None:
        web.sign_in(CLERK)
        setting_up.person_left(web.shop.book, CLERK, web.shop.local().date() - timedelta(days=1))
        assert web.get("/rules").status_code == 401

    def test_a_new_pass_phrase_puts_out_whoever_used_the_old_one(self, web: Web) -> None:
        web.sign_in(CLERK)
        path = web.shop.book.folder / "keys.json"
        owner = keys_file.open_file(path, shops.PASS_PHRASE)
        keys_file.reset_pass_phrase(
            path, owner, staff=CLERK, pass_phrase="another of the clerk's", chance=web.shop.book.chance
        )
        assert web.get("/rules").status_code == 401
        assert web.sign_in(CLERK).status_code == 401
        assert web.sign_in(CLERK, "another of the clerk's").status_code == 303

    def test_there_is_an_end_to_how_many_there_are(self, web: Web, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(sessions, "MOST", 2)
        all_, now = web.counter.sessions, web.counter.known().now
        secrets = [
            all_.begin(staff=f"s{n}", role="inspector", now=now + timedelta(seconds=n), about="d")[0] for n in range(3)
        ]
        assert [all_.find(one, now + timedelta(seconds=9)) is not None for one in secrets] == [False, True, True]
        assert all_.end_about("d") == 2

    def test_all_of_a_person_end_together(self, web: Web) -> None:
        web.sign_in(CLERK)
        other = web.other()
        other.sign_in(CLERK)
        assert web.counter.sessions.end_of(CLERK) == 2
        assert web.get("/rules").status_code == other.get("/rules").status_code == 401


class TestSecondScreens:
    """An inspector has a session of its own, as long and for as much as whoever opened it says."""

    def test_it_lasts_until_the_moment_that_was_set_and_is_ended_with_what_it_shows(self, web: Web) -> None:
        def begin(visit: Visit) -> object:
            answer = visit.json({"begun": True})
            until = visit.now + timedelta(minutes=10)
            visit.begin_session(answer, staff="inspector", role="inspector", about="inspection/1", until=until)
            return answer

        def shown(visit: Visit) -> object:
            assert visit.session is not None
            return visit.json({"about": visit.session.about, "open": visit.book.keys is not None})

        with_routes(
            web,
            Route(method="GET", path="/begin", page=begin, who=STAFF, name="begin"),
            Route(method="GET", path="/shown", page=shown, who=INSPECTORS, name="shown"),
        )
        web.sign_in(CLERK)
        web.get("/begin")
        assert web.get("/shown").json() == {"about": "inspection/1", "open": True}
        assert web.get("/rules").status_code == 403
        web.shop.wait(minutes=9)
        assert web.get("/shown").status_code == 200
        web.shop.wait(minutes=1)
        assert web.get("/shown").status_code == 401


class TestAgain:
    """What matters asks for the pass-phrase again, which counts five minutes, and hands over the owner's keys once."""

    def owners(self, visit: Visit) -> object:
        """A page that needs the owner's keys."""
        return visit.json({"owner": visit.owner_keys.owner, "fields": sorted(visit.fields)})

    def routes(self) -> tuple[Route, ...]:
        return (
            Route(method="GET", path="/export", page=echo, who=OWNERS, name="export", again=True),
            Route(method="POST", path="/keys", page=self.owners, who=STAFF, name="keys-change", most_files=1),
        )

    def test_a_page_is_reached_after_it(self, web: Web) -> None:
        with_routes(web, *self.routes())
        web.sign_in("ada")
        page = web.get("/export?month=2026-10")
        assert (page.status_code, "Pass-phrase again" in page.text) == (401, True)
        form = web_shop.form_of(page.text, "/again")
        assert web.post("/again", {**form, "again": "wrong"}).status_code == 401
        onward = web.post("/again", {**form, "again": shops.PASS_PHRASE})
        assert (onward.status_code, onward.headers["location"]) == (303, "/export?month=2026-10")
        assert web.get("/export").status_code == 200
        web.shop.wait(minutes=5)
        assert web.get("/export").status_code == 401

    def test_a_form_goes_on_with_everything_that_was_typed(self, web: Web) -> None:
        with_routes(web, *self.routes())
        web.sign_in("ada")
        asked = web.post("/keys", {"staff": 'eve"<&', "role": "clerk"}, files={"p": ("a.png", b"1", "image/png")})
        assert (asked.status_code, "Files have to be chosen again" in asked.text) == (401, True)
        form = web_shop.form_of(asked.text, "/keys")
        assert form["staff"] == 'eve"<&'
        done = web.post("/keys", {**form, "again": shops.PASS_PHRASE})
        assert done.json() == {"owner": True, "fields": ["role", "staff"]}
        # The keys were for that request only.
        assert web.post("/keys", form).status_code == 401

    def test_a_clerks_pass_phrase_gives_no_owners_keys(self, web: Web) -> None:
        with_routes(web, *self.routes())
        web.sign_in(CLERK)
        got = web.post("/keys", {"again": web_shop.CLERK_PHRASE}, Accept="application/json")
        assert (got.status_code, got.headers["content-type"]) == (423, problems.MEDIA_TYPE)
        assert "only an owner's pass-phrase opens it" in got.json()["detail"]

    def test_another_persons_pass_phrase_does_not_do(self, web: Web) -> None:
        web.sign_in(CLERK)
        assert WRONG in web.post("/again", {"again": shops.PASS_PHRASE}).text

    def test_a_script_is_told_in_json(self, web: Web) -> None:
        with_routes(web, *self.routes())
        web.sign_in("ada")
        got = web.get("/export", Accept="application/json")
        assert (got.status_code, got.json()["detail"]) == (401, "Type your pass-phrase again.")


class TestNothingIsLost:
    """A form whose session has run out goes on after the sign-in, with no state on the server."""

    FIELDS: ClassVar = {"items.0.line": "ring 14k\nwith <stone>", "text": "Zoë \"&'", "empty": ""}

    def go_through(self, web: Web, page: str, **more: str) -> dict[str, str]:
        form = web_shop.form_of(page, "/sign-in")
        got = web.ask("POST", "/sign-in", data={**form, "staff": "ada", "pass_phrase": shops.PASS_PHRASE, **more})
        assert got.status_code == 200
        return web_shop.form_of(got.text, "/echo/7f?x=1")

    def test_after_idle_time(self, web: Web) -> None:
        with_routes(web, ECHO)
        web.sign_in("ada")
        old = web.token
        web.shop.wait(minutes=20)
        lost = web.post("/echo/7f?x=1", {"token": old, **self.FIELDS})
        assert (lost.status_code, "What you typed is still here" in lost.text) == (401, True)
        onward = self.go_through(web, lost.text)
        assert onward.pop("token") == web.token != old
        done = web.post("/echo/7f?x=1", onward)
        assert done.json()["many"] == {name: [value] for name, value in self.FIELDS.items()}

    def test_after_a_restart_and_a_wrong_pass_phrase(self, web: Web) -> None:
        with_routes(web, ECHO)
        lost = web.post("/echo/7f?x=1", {"token": "of a process that ended", **self.FIELDS})
        again = web.ask(
            "POST", "/sign-in", data={**web_shop.form_of(lost.text, "/sign-in"), "staff": "ada", "pass_phrase": "x"}
        )
        assert again.status_code == 401
        onward = self.go_through(web, again.text)
        assert {name: onward[name] for name in self.FIELDS} == self.FIELDS

    def test_files_have_to_be_chosen_again_and_the_page_says_so(self, web: Web) -> None:
        with_routes(web, ECHO)
        lost = web.post("/echo/7f", {"a": "1"}, files={"p": ("a.png", b"\x89PNG", "image/png")})
        assert "Files have to be chosen again" in lost.text
        assert "PNG" not in lost.text

    def test_pass_phrases_are_never_carried(self, web: Web) -> None:
        with_routes(web, ECHO)
        lost = web.post("/echo/7f", {"again": "a secret", "pass_phrase": "another"})
        assert "a secret" not in lost.text
        assert "another" not in lost.text

    def test_a_script_is_told_in_json_and_keeps_what_it_has(self, web: Web) -> None:
        got = web.post("/inquiry", {"do": "words"}, Accept="application/json")
        assert (got.status_code, got.json()["detail"]) == (401, "You are signed out; sign in again.")
        assert got.headers["www-authenticate"]


class TestFaults:
    """What an act refuses is told with its own sentence and the status that fits."""

    def page_that_raises(self, fault: Exception) -> Route:
        def raising(visit: Visit) -> object:
            raise fault

        return Route(method="GET", path="/raising", page=raising, who=STAFF, name="raising")

    def test_the_field_is_named_for_a_program(self, web: Web) -> None:
        with_routes(web, self.page_that_raises(InputError(field="tray", given="7", wanted="a free number")))
        web.sign_in("ada")
        got = web.get("/raising", Accept="application/json")
        assert (got.status_code, got.json()["field"]) == (422, "tray")
        assert got.json()["detail"] == "tray: '7' was given; wanted is a free number."
        assert "wanted is a free number" in web.get("/raising").text

    def test_what_is_locked_is_told(self, web: Web) -> None:
        with_routes(web, self.page_that_raises(LockedError(what="The vault of this book", why="nobody opened it")))
        web.sign_in("ada")
        got = web.get("/raising")
        assert (got.status_code, "nobody opened it" in got.text) == (423, True)

    def test_the_pass_phrase_again_is_a_kind_of_locked(self) -> None:
        assert issubclass(PassPhraseAgain, LockedError)

    def test_see_leads_to_pages_of_ours_only(self, web: Web) -> None:
        def leave(visit: Visit) -> object:
            return visit.see("https://evil.example/")

        with_routes(web, Route(method="GET", path="/leave", page=leave, who=STAFF, name="leave"))
        web.sign_in("ada")
        assert web.get("/leave").status_code == 422


class TestWriter:
    """What several people do at once is written one after the other, in the order it came."""

    def test_what_an_act_raises_is_raised_to_whoever_asked(self, web: Web) -> None:
        with pytest.raises(InputError):
            web.counter.writer.run(lambda: web.shop.slip(("items", 7)))

    def test_it_is_one_thread_and_first_come_first_written(self, web: Web) -> None:
        gate, begun = threading.Event(), threading.Event()
        order: list[int] = []
        threads: set[int] = set()

        def hold() -> None:
            begun.set()
            gate.wait()

        waiting = threading.Thread(target=web.counter.writer.run, args=(hold,))
        waiting.start()
        begun.wait()

        def write(n: int) -> None:
            order.append(n)
            threads.add(threading.get_ident())

        others = []
        for n in range(5):
            others.append(threading.Thread(target=web.counter.writer.run, args=(lambda n=n: write(n),)))
            others[-1].start()
            while web.counter.writer._pool._work_queue.qsize() < n + 1:
                time.sleep(0.001)
        gate.set()
        for one in (*others, waiting):
            one.join()
        assert (order, len(threads)) == ([0, 1, 2, 3, 4], 1)


def test_the_counter_of_serve_begins_closed(web: Web) -> None:
    counter = serving.counter_of(web.shop.book, web.counter.settings, frozenset({HOST}))
    assert counter.keys is None
    assert counter.book.keys is None
    counter.close()
