"""The counter's door: who may ask for what, from where, how much, and what is told about it.

The requests are those of a browser, or of a page or program that means harm. Sources beside the checks.
"""

import io
import logging
import re
from collections.abc import AsyncIterator, Iterator

import pytest

from ledger.web import counter, guard, paths, posted, routes, serving
from ledger.web.visits import NOBODY, STAFF, Route, Visit
from tests import shops, web_shop
from tests.web_shop import CLERK, HOST, Web

CANARY = "Zwqxcanary"
SAID = {"owner": shops.OWNER, "clerk": CLERK}
OTHERS = ("inspector",)


def url_of(route: Route) -> str:
    """An address of a route, with something harmless in each place."""
    return re.sub(r"\{[^}]*\}", "1", route.path)


def as_role(web: Web, role: str) -> None:
    """Sign this browser in as a role; nobody is signed out."""
    if role in SAID:
        web.sign_in(SAID[role])
    elif role != NOBODY:
        web.sign_in(shops.OWNER)
        known = web.counter.known()
        secret, _ = web.counter.sessions.begin(staff="somebody", role=role, now=known.now)  # type: ignore[arg-type]
        web.cookie = f"{web.counter.cookie}={secret}"


class TestTheTable:
    """Every route x every role x signed out: only those it names get past the door, and no route is unlisted."""

    @pytest.mark.parametrize("role", [NOBODY, "clerk", "owner", *OTHERS])
    def test_every_route_lets_in_whom_it_names_and_nobody_else(self, web: Web, role: str) -> None:
        wrong = []
        for route in routes.ROUTES:
            as_role(web, role)
            got = web.get(url_of(route)) if route.method == "GET" else web.post(url_of(route), {})
            past = got.status_code not in (401, 403) or "Pass-phrase again" in got.text or "open nothing" in got.text
            if past is not (role in route.who):
                wrong.append((route.method, route.path, got.status_code))
            assert got.status_code < 500 or got.status_code == 503, (route.path, got.text)
            assert "Traceback" not in got.text
        assert wrong == []

    def test_the_application_has_no_route_beside_the_table(self, web: Web) -> None:
        assert web.counter.routes == routes.ROUTES
        listed = {(route.method, route.path) for route in routes.ROUTES}
        assert len(listed) == len(routes.ROUTES)
        for path in ("/docs", "/openapi.json", "/metrics", "/admin", "/static", "/static/", "/sign-in/"):
            assert web.get(path).status_code == 404

    def test_every_name_is_of_one_route(self) -> None:
        assert len({route.name for route in routes.ROUTES}) == len(routes.ROUTES)

    def test_only_a_few_pages_are_open_to_whoever_has_not_signed_in(self) -> None:
        open_to_all = {route.path for route in routes.ROUTES if NOBODY in route.who}
        assert open_to_all - {"/inspector"} == {"/sign-in", "/sign-out", "/covered", "/static/{file}"}

    @pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "BREW"])
    def test_other_methods_are_told_which_are_known(self, web: Web, method: str) -> None:
        got = web.ask(method, "/sign-in")
        assert (got.status_code, got.headers["allow"]) == (405, "GET, HEAD, OPTIONS, POST")

    def test_head_and_options_are_answered_without_content(self, web: Web) -> None:
        assert web.ask("HEAD", "/covered").status_code == 200
        got = web.ask("OPTIONS", "/again")
        assert (got.status_code, got.headers["allow"], got.content) == (204, "OPTIONS, POST", b"")

    def test_a_session_that_nobody_has_is_nobody(self, web: Web) -> None:
        web.cookie = f"{web.counter.cookie}=invented"
        assert web.get("/staff").status_code == 401


class TestHeaders:
    """Strict policy without inline code, nothing stored, nothing framed. Source: OWASP HTTP Headers Cheat Sheet."""

    @pytest.mark.parametrize("url", ["/sign-in", "/static/counter.css", "/nothing", "/staff"])
    def test_every_answer_has_them(self, web: Web, url: str) -> None:
        got = web.get(url)
        for name, value in guard.HEADERS.items():
            if (url, name) != ("/static/counter.css", "Cache-Control"):
                assert got.headers[name] == value
        assert "unsafe" not in got.headers["content-security-policy"]
        assert "server" not in got.headers
        assert "access-control-allow-origin" not in got.headers

    def test_no_template_holds_code_or_style_inside(self) -> None:
        for path in sorted((counter.HERE / "templates").glob("*.html")):
            text = path.read_text(encoding="utf-8")
            assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:|<script(?![^>]*\ssrc=)", text), path.name

    def test_every_form_that_is_posted_brings_a_token(self) -> None:
        for path in sorted((counter.HERE / "templates").glob("*.html")):
            for form in re.findall(
                r"<form[^>]*method=\"post\".*?</form>", path.read_text(encoding="utf-8"), flags=re.S
            ):
                assert "token" in form or 'action="/sign-in"' in form, path.name

    def test_devices_elsewhere_are_told_to_come_back_by_tls_only(self, web: Web) -> None:
        web.counter.secure, web.counter.hosts = True, frozenset({HOST, "counter.local:8470"})
        assert "max-age" in web.get("/covered", Host="counter.local:8470").headers["strict-transport-security"]
        assert "strict-transport-security" not in web.get("/covered").headers


class TestHosts:
    """An exact list of hosts with their port: a page whose name was bound to this machine's address gets nothing."""

    @pytest.mark.parametrize(
        "host",
        [
            "evil.example",
            "evil.example:8470",
            "127.0.0.1",
            "127.0.0.1:80",
            "localhost.:8470",
            "127.0.0.1:8470.evil",
            "",
        ],
    )
    def test_a_strange_name_is_turned_away(self, web: Web, host: str) -> None:
        web.sign_in("ada")
        got = web.get("/staff", Host=host)
        assert (got.status_code, "ada" in got.text) == (421, False)

    def test_capitals_are_the_same_name(self, web: Web) -> None:
        web.counter.hosts = frozenset({"counter.local:8470"})
        assert web.get("/covered", Host="Counter.LOCAL:8470").status_code == 200

    def test_two_hosts_are_none(self, web: Web) -> None:
        async def two() -> int:
            scope = {"type": "http", "method": "GET", "path": "/covered", "query_string": b"", "scheme": "http",
                     "server": ("127.0.0.1", 8470), "client": ("127.0.0.1", 1), "http_version": "1.1",
                     "headers": [(b"host", HOST.encode()), (b"host", b"evil.example")]}  # fmt: skip
            said = []

            async def send(message):  # type: ignore[no-untyped-def]
                said.append(message)

            async def receive():  # type: ignore[no-untyped-def]
                return {"type": "http.request", "body": b"", "more_body": False}

            await guard.Guard(web.counter)(scope, receive, send)
            return int(said[0]["status"])

        assert web.client.run(two()) == 400


class TestForgedRequests:
    """A form that no page of ours sent is not taken: by where it was sent from, and by its token."""

    FOREIGN = (
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},  # another program's page on another port of this machine
        {"Sec-Fetch-Site": "cross-site", "Origin": f"http://{HOST}"},
        {"Sec-Fetch-Site": "none", "Origin": "http://evil.example"},
    )

    @pytest.mark.parametrize("headers", FOREIGN)
    def test_another_sites_form_is_refused_even_with_the_token(self, web: Web, headers: dict[str, str]) -> None:
        web.sign_in("ada")
        assert web.post("/sign-out", {}, None, **headers).status_code == 403
        assert web.get("/staff").status_code == 200

    @pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:9000", f"https://{HOST}"])
    def test_without_fetch_metadata_the_origin_decides(self, web: Web, origin: str) -> None:
        web.sign_in("ada")
        web.headers = {}
        assert web.post("/inquiry", {"do": "words"}, Origin=origin).status_code == 403
        assert web.post("/inquiry", {"do": "words"}, Origin=f"http://{HOST}").status_code != 403

    @pytest.mark.parametrize("token", ["", "x", "ß", "\ud800".encode("utf-8", "surrogatepass").decode("latin-1")])
    def test_every_posting_route_wants_the_token_of_this_session(self, web: Web, token: str) -> None:
        web.sign_in("ada")
        other = web.other()
        other.sign_in("ada")
        for route in routes.ROUTES:
            if route.method == "POST" and NOBODY not in route.who and "owner" in route.who:
                for wrong in (token, other.token):
                    got = web.post(url_of(route), {"token": wrong})
                    assert (route.path, got.status_code) == (route.path, 403)
                    assert "does not belong to your sign-in" in got.text

    def test_a_script_brings_the_token_in_a_header(self, web: Web) -> None:
        web.sign_in("ada")
        got = web.ask("POST", "/inquiry", data={"do": "words"}, headers={"X-Token": web.token})
        assert got.status_code != 403

    def test_a_page_of_ours_is_not_loaded_into_another_sites_page(self, web: Web) -> None:
        web.sign_in("ada")
        foreign = {"Sec-Fetch-Site": "cross-site"}
        assert web.get("/staff", **{**foreign, "Sec-Fetch-Mode": "no-cors"}).status_code == 403
        assert web.get("/staff", **{**foreign, "Sec-Fetch-Mode": "navigate"}).status_code == 200

    def test_what_another_site_posted_is_never_carried_through_a_sign_in(self, web: Web) -> None:
        web.headers = {}  # a browser too old to say where a form was sent from
        got = web.ask("POST", "/staff", data={"do": "add", "staff": CANARY})
        assert (got.status_code, CANARY in got.text) == (401, False)


class TestPaths:
    """Only whole names of shipped files are served, and redirections stay in the house."""

    @pytest.mark.parametrize(
        "url",
        [
            "/static/../guard.py",
            "/static/..%2fguard.py",
            "/static/%2e%2e/guard.py",
            "/static/..%5cguard.py",
            "/static//etc/passwd",
            "/static/%2fetc%2fpasswd",
            "/static/counter.css%00.js",
            "/static/base.html",
            "/static/COUNTER.CSS",
        ],
    )
    def test_nothing_else_is_served_as_a_file(self, web: Web, url: str) -> None:
        assert web.get(url).status_code in (400, 404)

    def test_a_file_is_served_and_not_sent_twice(self, web: Web) -> None:
        first = web.get("/static/counter.css")
        assert (first.status_code, first.headers["content-type"]) == (200, "text/css; charset=utf-8")
        assert web.get("/static/counter.css", **{"If-None-Match": first.headers["etag"]}).status_code == 304

    @pytest.mark.parametrize(
        "target",
        [
            "http://evil.example/",
            "//evil.example/",
            "/\\evil.example",
            "https:evil.example",
            "/staff\r\nSet-Cookie: x=1",
            "/nowhere",
            "javascript:alert(1)",
            "",
        ],
    )
    def test_after_a_sign_in_one_goes_to_pages_of_ours_only(self, web: Web, target: str) -> None:
        told = {"staff": "ada", "pass_phrase": shops.PASS_PHRASE, "next": target}
        got = web.ask("POST", "/sign-in", data={**told})
        assert (got.status_code, got.headers["location"]) == (303, "/")
        assert got.headers.get_list("set-cookie")[0].startswith(web.counter.cookie)

    def test_a_page_of_ours_is_gone_to(self, web: Web) -> None:
        told = {"staff": "ada", "pass_phrase": shops.PASS_PHRASE, "next": "/month?month=2026-10"}
        assert web.ask("POST", "/sign-in", data={**told}).headers["location"] == "/month?month=2026-10"

    @pytest.mark.parametrize("url", ["/item/1%0d%0aX-Evil:%201/1", "/item/%00/1", "/%0a", "/x\u202e"])
    def test_control_characters_in_a_path_are_no_address(self, web: Web, url: str) -> None:
        web.sign_in("ada")
        got = web.get(url)
        assert got.status_code in (400, 404)
        assert "x-evil" not in got.headers

    def test_a_very_long_address_is_not_read(self, web: Web) -> None:
        assert web.get("/sign-in?x=" + "a" * 3_000).status_code == 414
        assert web.get("/" + "a" * 3_000).status_code == 414

    def test_a_name_of_a_paper_cannot_write_headers(self, web: Web) -> None:
        visit = Visit(web.counter, None, None, None, web.shop.book, web.shop.local(), None)  # type: ignore[arg-type]
        sent = visit.sent(b"", "text/csv", 'a"\r\nX-Evil: 1.csv')
        assert "\n" not in sent.headers["content-disposition"]
        assert sent.headers["content-disposition"].startswith('attachment; filename="a---X-Evil--1.csv"')


class TestSizes:
    """Bytes are counted before anything is parsed; each refusal is one sentence."""

    def test_too_large_by_its_own_word(self, web: Web) -> None:
        got = web.ask("POST", "/sign-out", content=b"a" * 70_000, headers={"Content-Type": posted.FORM})
        assert got.status_code == 413
        assert got.text == "This is too large: 70,000 bytes came, and at most 65,536 are taken here."

    def test_more_than_can_be_waited_for_is_refused_at_once(self, web: Web) -> None:
        assert web.post("/sign-out", {}, None, **{"Content-Length": "999999999999"}).status_code == 413

    @pytest.mark.parametrize("length", ["-1", "x", "1e3", "1 2", "9" * 30])
    def test_a_length_that_is_none_is_refused(self, web: Web, length: str) -> None:
        assert web.post("/sign-out", {}, None, **{"Content-Length": length}).status_code == 400

    def test_content_of_unknown_length_is_refused(self, web: Web) -> None:
        async def chunks() -> AsyncIterator[bytes]:
            yield b"staff=ada"

        got = web.client.request("POST", "/sign-in", content=chunks(), headers={"Content-Type": posted.FORM})
        assert got.status_code == 411

    def test_more_than_was_announced_is_counted_too(self, web: Web) -> None:
        content = {"Content-Type": posted.FORM, "Content-Length": "10"}
        assert web.ask("POST", "/sign-out", content=b"a" * 70_000, headers=content).status_code == 413

    def test_a_post_of_nothing_is_a_form_without_fields(self, web: Web) -> None:
        assert web.ask("POST", "/sign-out").status_code == 303

    def test_too_many_fields(self, web: Web) -> None:
        body = "&".join(f"f{n}=1" for n in range(1_001)).encode()
        got = web.ask("POST", "/sign-out", content=body, headers={"Content-Type": posted.FORM})
        assert (got.status_code, "at most 1000 are taken" in got.text) == (413, True)

    def test_a_file_where_none_is_taken(self, web: Web) -> None:
        got = web.post("/sign-out", {}, files={"picture": ("a.jpg", b"\xff\xd8", "image/jpeg")})
        assert (got.status_code, "no file is taken here" in got.text) == (413, True)


def parts(*bodies: bytes, end: bytes = b"--x--\r\n") -> bytes:
    return b"".join(b"--x\r\n" + body + b"\r\n" for body in bodies) + end


FIELD = b'Content-Disposition: form-data; name="a"\r\n\r\n'
FILE = b'Content-Disposition: form-data; name="p"; filename="%s"\r\nContent-Type: image/png\r\n\r\n'
MULTIPART = "multipart/form-data; boundary=x"


class TestForms:
    """Broken forms are told, none is half read. Source: RFC 7578; RFC 2046, 5.1.1."""

    BROKEN = (
        (MULTIPART, parts(FIELD + b"1", end=b"")),
        (MULTIPART, parts(FIELD + b"1", end=b"--x")),
        (MULTIPART, b"nothing"),
        (MULTIPART, b""),
        (MULTIPART, parts(b"Content-Disposition: form-data\r\n\r\n1")),
        (MULTIPART, parts(b'Content-Disposition: attachment; name="a"\r\n\r\n1')),
        (MULTIPART, parts(b"X: 1\r\n\r\n1")),
        (MULTIPART, parts(FIELD + b"\xff\xfe")),
        (MULTIPART, parts(b'Content-Disposition: form-data; name="\xff"\r\n\r\n1')),
        (MULTIPART, parts(b"X: " + b"a" * 10_000 + b"\r\n" + FIELD + b"1")),
        (MULTIPART, parts(b'Content-Disposition: form-data; name="a\tb"\r\n\r\n1')),
        ("multipart/form-data", parts(FIELD + b"1")),
        ("multipart/form-data; boundary=" + "x" * 71, parts(FIELD + b"1")),
        (posted.FORM, b"a=\xff"),
        (posted.FORM, b"a=%ff"),
        (posted.FORM, b"a%0db=1"),
        (posted.FORM, b"a" * 400 + b"=1"),
    )

    @pytest.mark.parametrize(("kind", "body"), BROKEN)
    def test_what_is_no_form_is_refused(self, kind: str, body: bytes) -> None:
        with pytest.raises(posted.Refused) as refused:
            posted.read(body, kind, most_fields=9, most_files=1)
        assert refused.value.status == 400

    @pytest.mark.parametrize("kind", ["text/plain", "text/xml", "multipart/mixed; boundary=x", "x", ""])
    def test_other_kinds_of_content_are_refused(self, kind: str) -> None:
        with pytest.raises(posted.Refused) as refused:
            posted.read(b"<a/>", kind, most_fields=9, most_files=1)
        assert refused.value.status == 415

    def test_fields_and_files_are_told_apart_and_names_of_files_lose_their_folders(self) -> None:
        body = parts(FIELD + b"1\r\n2", FIELD + b"3", FILE % b"..\\..\\C:/x/a\x01.png" + b"\x89PNG", FILE % b"")
        read = posted.read(body, MULTIPART, most_fields=2, most_files=1)
        assert (read.many, read.fields) == ({"a": ["1\n2", "3"]}, {"a": "3"})
        assert read.uploads == {"p": [posted.Upload("a.png", b"\x89PNG", "image/png")]}

    @pytest.mark.parametrize(
        ("body", "says"),
        [
            (parts(FIELD + b"1", FIELD + b"2", FIELD + b"3"), "too many fields"),
            (parts(FILE % b"a" + b"1", FILE % b"b" + b"2"), "at most 1 files are taken"),
        ],
    )
    def test_more_parts_than_are_taken(self, body: bytes, says: str) -> None:
        with pytest.raises(posted.Refused, match=says) as refused:
            posted.read(body, MULTIPART, most_fields=2, most_files=1)
        assert refused.value.status == 413

    def test_a_body_for_a_program_is_left_as_it_is(self) -> None:
        assert posted.read(b'{"a": 1}', "application/json; charset=utf-8", most_fields=9, most_files=0).body

    def test_no_picture_is_spooled_to_a_disk(self) -> None:
        large = parts(FILE % b"a" + b"\0" * 3_000_000)
        read = posted.read(large, MULTIPART, most_fields=1, most_files=1)
        assert len(read.uploads["p"][0].data) == 3_000_000


def bad(visit: Visit) -> None:
    raise RuntimeError(f"{CANARY} in a fault of the program")


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    """What the counter logs, as `serve` sets it up."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    log = logging.getLogger("counterfoil.counter")
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    yield written
    log.removeHandler(handler)


class TestLogs:
    """A line has the method, the pattern of the route, the status and the time: nothing that anybody typed."""

    def test_nothing_that_was_typed_stands_in_a_line(self, web: Web, lines: io.StringIO) -> None:
        web.get(f"/{CANARY}?q={CANARY}", **{"User-Agent": CANARY, "Referer": f"http://{HOST}/{CANARY}"})
        web.ask("POST", "/sign-in", data={"staff": CANARY, "pass_phrase": CANARY})
        web.sign_in("ada")
        web.get(f"/item/{CANARY}/1?x={CANARY}", Accept=CANARY)
        web.post("/inquiry", {"do": "words", "words": CANARY})
        web.ask(CANARY.upper(), "/staff")
        web.get("/staff", Host=CANARY)
        assert CANARY.lower() not in lines.getvalue().lower()
        assert re.search(r"^GET /item/\{slip\}/\{line\} \d{3} \d+ ms$", lines.getvalue(), flags=re.M)
        assert re.search(r"^\? \(no page\) 405 \d+ ms$", lines.getvalue(), flags=re.M)

    def test_a_fault_of_the_program_is_told_by_kind_and_place_alone(self, web: Web, lines: io.StringIO) -> None:
        route = Route(method="POST", path="/bad", page=bad, who=STAFF, name="bad")
        web.counter.routing = paths.Routing((*routes.ROUTES, route))
        web.sign_in("ada")
        got = web.post("/bad", {"name": CANARY})
        assert (got.status_code, CANARY in got.text, "Traceback" in got.text) == (500, False, False)
        assert "This is a fault of the program" in got.text
        assert CANARY not in lines.getvalue()
        assert re.search(r"^POST /bad: RuntimeError at tests/test_web_security\.py:\d+$", lines.getvalue(), flags=re.M)

    def test_a_fault_of_the_door_itself_is_told_too(
        self, web: Web, lines: io.StringIO, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(web.counter.routing, "find", lambda *_: 1 / 0)
        got = web.get("/staff")
        assert (got.status_code, "ZeroDivisionError" in got.text) == (500, False)
        assert "GET (door): ZeroDivisionError at tests/test_web_security.py" in lines.getvalue()

    def test_a_database_that_is_gone_is_told_in_one_sentence(self, web: Web, lines: io.StringIO) -> None:
        web.sign_in("ada")
        (web.shop.book.folder / "book.sqlite").rename(web.shop.book.folder / "away")
        web.counter.book.engine.dispose()
        got = web.get("/staff")
        assert (got.status_code, "restore the newest backup" in got.text) == (503, True)
        (web.shop.book.folder / "away").rename(web.shop.book.folder / "book.sqlite")

    def test_the_server_itself_logs_no_request(self) -> None:
        told = serving.log_config()["loggers"]
        assert set(told) == {"counterfoil.counter", "uvicorn.error"}
        assert told["uvicorn.error"]["level"] == "ERROR"


def test_the_tests_ask_as_a_browser_does(web: Web) -> None:
    assert web_shop.form_of('<form action="/x"><input type="hidden" name="a" value="&#34;"></form>', "/x") == {"a": '"'}
