"""Devices that may speak to the counter: what is kept of their tokens, how long they are good, what ends them."""

from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import devices, setting_up
from ledger.book import engine as engines
from ledger.book import tables
from ledger.errors import InputError
from tests.shops import Shop


def made(shop: Shop, **changes: Any) -> tuple[devices.Device, str]:
    now = shop.local()
    told: dict[str, Any] = {
        "label": "Scale at the window",
        "may": ["slips"],
        "until": now.date(),
        "now": now,
        **changes,
    }
    return devices.make(shop.book, **told)


def known(shop: Shop, token: str) -> devices.Device | None:
    return devices.known(shop.book, token, shop.local())


class TestTokens:
    """The book's database holds the SHA-256 of a token and nothing that could be used instead."""

    def test_a_device_is_known_by_its_token_and_by_nothing_else(self, shop: Shop) -> None:
        device, token = made(shop)
        found = known(shop, token)
        assert found is not None
        assert (found.device, found.may, found.staff) == (device.device, frozenset({"slips"}), "ada")
        with engines.reading(shop.book.engine) as connection:
            row = connection.execute(sa.select(tables.devices)).one()
        assert token not in map(str, row)
        for wrong in (row.digest, device.device, token[:-1], token + "A", "", "\udcff"):
            assert known(shop, wrong) is None

    def test_no_two_tokens_are_the_same_and_each_has_256_bits(self, shop: Shop) -> None:
        tokens = {made(shop)[1] for _ in range(5)}
        assert len(tokens) == 5
        # 32 bytes are 43 letters of base64url without padding (RFC 4648, section 5)
        assert {len(token.removeprefix("counter-device-")) for token in tokens} == {43}

    def test_it_is_known_on_its_last_day_and_not_after(self, shop: Shop) -> None:
        device, token = made(shop)
        assert device.state_on(shop.local().date()) == "in use"
        assert known(shop, token) is not None
        shop.wait(days=1)
        assert device.state_on(shop.local().date()) == "run out"
        assert known(shop, token) is None

    def test_the_day_of_its_last_use_is_noted(self, shop: Shop) -> None:
        _, token = made(shop, until=shop.local().date() + timedelta(days=3))
        assert devices.listed(shop.book)[0].used_on is None
        for _ in range(2):
            known(shop, token)
        assert devices.listed(shop.book)[0].used_on == shop.local().date()
        shop.wait(days=1)
        known(shop, token)
        assert devices.listed(shop.book)[0].used_on == shop.local().date()

    def test_a_device_whose_maker_left_the_shop_is_none(self, shop: Shop) -> None:
        setting_up.add_person(shop.book, "mara", "owner", "Mara of the tests")
        shop.book.by = "mara"
        _, token = made(shop, until=shop.local().date() + timedelta(days=3))
        shop.book.by = "ada"
        assert known(shop, token) is not None
        setting_up.person_left(shop.book, "mara", shop.local().date())
        shop.wait(days=1)
        assert known(shop, token) is None


class TestEnding:
    """Its token opens nothing from here on."""

    def test_an_ended_device_is_unknown_and_says_who_ended_it(self, shop: Shop) -> None:
        device, token = made(shop)
        ended = devices.end(shop.book, device.device, now=shop.local())
        assert (ended.ended_by, ended.state_on(shop.local().date())) == ("ada", "ended")
        assert known(shop, token) is None
        assert [one.device for one in devices.listed(shop.book)] == [device.device]

    def test_it_ends_once_and_only_if_it_is_there(self, shop: Shop) -> None:
        device, _ = made(shop)
        devices.end(shop.book, device.device, now=shop.local())
        for name in (device.device, "0" * 16):
            with pytest.raises(InputError, match="device that has not ended"):
                devices.end(shop.book, name, now=shop.local())


class TestMaking:
    """Every token ends on a day, may do only what its owner ticked, and labels name a thing."""

    @pytest.mark.parametrize(
        ("changes", "field"),
        [
            ({"label": "  "}, "label"),
            ({"label": "a" * 61}, "label"),
            ({"label": "bell\x07"}, "label"),
            ({"may": []}, "may"),
            ({"may": ["slips", "everything"]}, "may"),
        ],
    )
    def test_what_is_wrong_is_named(self, sqlite_shop: Shop, changes: dict[str, Any], field: str) -> None:
        with pytest.raises(InputError) as fault:
            made(sqlite_shop, **changes)
        assert fault.value.field == field
        assert devices.listed(sqlite_shop.book) == []

    @pytest.mark.parametrize(("days", "good"), [(-1, False), (0, True), (400, True), (401, False)])
    def test_a_token_lives_from_today_to_400_days(self, sqlite_shop: Shop, days: int, good: bool) -> None:
        until = sqlite_shop.local().date() + timedelta(days=days)
        if good:
            assert made(sqlite_shop, until=until)[0].until == until
        else:
            with pytest.raises(InputError, match="until"):
                made(sqlite_shop, until=until)
