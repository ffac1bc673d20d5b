"""Generated calls on the devices' API: schemathesis makes them from its OpenAPI document, and slips are spoilt.

`python -m tests.long api --seed N --count N` tries as many as one has patience for; an ordinary run a hundredth.
"""

import hashlib
import itertools
import json
import logging
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import quote, urlencode

import hypothesis
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase

from ledger.acts import devices, owing
from ledger.web import api, api_form, guard
from tests import shops, test_web_api, web_shop
from tests.conftest import MOMENT
from tests.long import long_count
from tests.web_shop import Web

CANARY = "Canaryworth"
ODD: tuple[Any, ...] = (
    None,
    True,
    -1,
    10**30,
    1.5,
    "",
    " ",
    CANARY,
    "\x00",
    "\ud800",
    "\u202e",
    [],
    {},
    [CANARY],
    {"not_known": CANARY},
)
SPOILT_SHARE = 4
"""One case in so many is a good slip with some members spoilt; the rest come from the document."""


@contextmanager
def open_counter() -> Iterator[tuple[Web, dict[str, str]]]:
    """A counter whose vault is open, and the header of a device that may do everything."""
    drawn = itertools.count()
    with tempfile.TemporaryDirectory() as folder:
        shop = shops.open_shop(
            Path(folder) / "book",
            moment=MOMENT,
            chance=lambda count: hashlib.shake_256(b"chance of generated calls %d" % next(drawn)).digest(count),
        )
        web = web_shop.opened(shop)
        web.sign_in("ada")
        web.sign_out()
        until = shop.local().date() + timedelta(days=300)
        _, token = devices.make(shop.book, label="A device", may=devices.MAY, until=until, now=shop.local())
        try:
            yield web, {"Authorization": f"Bearer {token}"}
        finally:
            web.client.close()
            web.counter.close()
            shop.book.engine.dispose()


class Listening(logging.Handler):
    """Everything that was logged, as one text."""

    def __init__(self) -> None:
        super().__init__(logging.DEBUG)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())
        self.said += [str(record.exc_info)] if record.exc_info else []


@long_count("api", count=10_000)
def no_generated_call_breaks_the_counter(random: Random, count: int) -> None:
    """No generated call on the API is answered with a fault of the program or a trace, and no name is in its log."""
    listening, before = Listening(), guard.log.level
    guard.log.addHandler(listening)
    guard.log.setLevel(logging.DEBUG)
    try:
        with open_counter() as (web, header):
            spoilt = count // SPOILT_SHARE
            for number in range(spoilt):
                _judge(web, "POST", *_spoilt(web, random, number), header)
            _from_document(web, header, random.randrange(2**32), count - spoilt)
    finally:
        guard.log.removeHandler(listening)
        guard.log.setLevel(before)
    assert len(listening.said) >= count, "every call has its line in the log that is searched"
    assert CANARY not in " ".join(listening.said)


def _from_document(web: Web, header: dict[str, str], seed: int, count: int) -> None:
    """Cases that schemathesis makes, the same number for every call; the share of wrong ones is its own."""
    document = api_form.openapi(api.CALLS, version="0")
    read: Any = schemathesis.openapi.from_dict(document)
    found = [one.ok() for one in read.get_all_operations()]
    modes = [schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE]
    each = -(-count // (len(found) * len(modes)))
    for operation, mode in itertools.product(found, modes):

        @hypothesis.seed(seed)
        @hypothesis.settings(
            max_examples=each,
            database=None,
            deadline=None,
            derandomize=False,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @hypothesis.given(case=operation.as_strategy(generation_mode=mode))
        def tried(case: Any) -> None:
            told = case.as_transport_kwargs(base_url="http://counter")
            sent = {name: str(value) for name, value in (told.get("headers") or {}).items()}
            plain = {name: value for name, value in sent.items() if (name + value).isascii() and value.isprintable()}
            query = urlencode(told.get("params") or {}, errors="replace")
            body = told.get("data") if told.get("json") is None else json.dumps(told["json"])
            data = body.encode("utf-8", "surrogatepass") if isinstance(body, str) else body
            path = quote(told["url"].removeprefix("http://counter"), safe="/%", errors="replace")
            url = path + (f"?{query}" if query else "")
            _judge(web, case.method, url, data if isinstance(data, bytes) else b"", {**plain, **header})

        tried()


def _spoilt(web: Web, random: Random, number: int) -> tuple[str, bytes, dict[str, str]]:
    """A whole slip with its pictures, up to four of its members made odd."""
    body = test_web_api.with_pictures(test_web_api.document(web, ("parties.0.name.family", CANARY)))
    for _ in range(random.randrange(5)):
        place, step = random.choice(list(_places(body)))
        place[step] = random.choice(ODD)
    path = random.choice(("check", "present", "record"))
    if path == "check" and random.random() < 0.9:
        del body["pictures"]
    return f"/api/v0/slips/{path}", json.dumps(body).encode(), {"Idempotency-Key": f"generated-{number}"}


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every member of a document, as what holds it and its name or number."""
    members = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in members:
        yield value, step
        yield from _places(inner)


def _judge(web: Web, method: str, url: str, body: bytes, *headers: dict[str, str]) -> None:
    told: dict[str, str] = {"Content-Type": "application/json"}
    for one in headers:
        told |= one
    got = web.ask(method, url, headers=told, content=body)
    asked = f"{method} {url} {body[:300]!r}: {got.status_code} {got.text[:300]}"
    assert got.status_code < 500, asked
    assert "Traceback" not in got.text, asked
    assert got.status_code == 200 or CANARY not in got.text, asked


def test_the_judge_finds_a_program_at_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def falls(_book: Any, **_told: Any) -> None:
        raise RuntimeError(CANARY)

    monkeypatch.setattr(owing, "owed", falls)
    with open_counter() as (web, header), pytest.raises(AssertionError, match="500") as fault:
        _judge(web, "GET", "/api/v0/due", b"", header)
    assert CANARY not in str(fault.value)
