"""The owner's settings of one book: settings.toml in its folder.

Decides what may stand in the file. Leaves to `assay` what the numbers do, and to the acts what follows from a limit.

>>> read(b'[payout_rates]\\ngold = "0.8"').rate_ppm("gold")
800000
>>> read(b'[buying]\\ntest-owed = { USD = "150.00" }').limits["test-owed"].of("USD")
Money(currency='USD', minor=15000)
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from ledger.assay import checks
from ledger.assay.buying import SITUATIONS, Limit
from ledger.assay.policy import GEOMETRIES, SETTINGS, Policy
from ledger.errors import InputError
from ledger.measures import decimal, down, money, nearest


@dataclass(frozen=True)
class CounterSettings:
    """How the counter in a browser is served."""

    address: str = "127.0.0.1"
    port: int = 8470
    names: tuple[str, ...] = ()
    """further host names under which browsers may ask for it"""
    idle_minutes: int = 15
    longest_hours: int = 12
    certificate: str = ""
    certificate_key: str = ""


@dataclass(frozen=True)
class Settings:
    """What the owner sets up. Every value has the meaning that sample_config/settings.toml gives beside it."""

    sheet: str = "letter"
    rates_ppm: Mapping[str, int] = field(default_factory=dict)
    policy: Policy = field(default_factory=Policy)
    limits: Mapping[str, Limit] = field(default_factory=dict)
    idle_minutes: int = 30
    counter: CounterSettings = field(default_factory=CounterSettings)
    database_url: str = ""

    def rate_ppm(self, metal: str) -> int | None:
        """Share of melt value offered for a metal, in parts per million, or None where the owner set none."""
        return self.rates_ppm.get(metal)


_TABLES: dict[str, set[str]] = {
    "papers": {"sheet"},
    "payout_rates": set(),
    "assay": set(SETTINGS),
    "buying": set(SITUATIONS),
    "vault": {"idle_minutes"},
    "counter": {"address", "port", "names", "idle_minutes", "longest_hours", "certificate", "certificate_key"},
    "database": {"url"},
}
_MOVED = {("assay", "nothing_above"): 'test-owed = { USD = "150.00" } under [buying]: a limit names its currency'}
"""Names of earlier settings, and what stands in their place."""
_CHECK = {"instrument", "place", "unit", "known", "known_uncertainty", "readings"}


@lru_cache(maxsize=8)
def read(data: bytes) -> Settings:
    """The settings that a file says. Raises: InputError naming the member that is wrong."""
    try:
        document = tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise InputError(field="settings.toml", given=str(fault), wanted="TOML text in UTF-8") from fault
    logs = document.pop("checks", [])
    for table, members in document.items():
        if table not in _TABLES or not isinstance(members, dict):
            raise InputError(field=table, given=table, wanted="one of the tables " + ", ".join((*_TABLES, "checks")))
        for name in members:
            if _TABLES[table] and name not in _TABLES[table]:
                wanted = _MOVED.get((table, name), "one of " + ", ".join(sorted(_TABLES[table])))
                raise InputError(field=f"{table}.{name}", given=name, wanted=wanted)
    sheet = _text(document, "papers", "sheet", "letter")
    if sheet not in ("letter", "a4"):
        raise InputError(field="papers.sheet", given=sheet, wanted="'letter' or 'a4'")
    return Settings(
        sheet=sheet,
        rates_ppm={metal: _rate(metal, text) for metal, text in document.get("payout_rates", {}).items()},
        policy=_checked(Policy.read(document.get("assay", {})), logs),
        limits={situation: _limit(situation, given) for situation, given in document.get("buying", {}).items()},
        idle_minutes=_minutes(document.get("vault", {}).get("idle_minutes", 30)),
        counter=_counter(document),
        database_url=_text(document, "database", "url", ""),
    )


def _counter(document: Mapping[str, Any]) -> CounterSettings:
    given, usual = document.get("counter", {}), CounterSettings()
    names = given.get("names", [])
    if not isinstance(names, list) or not all(isinstance(name, str) and name for name in names):
        raise InputError(field="counter.names", given=names, wanted='a list of names, such as ["counter.local"]')
    return CounterSettings(
        address=_text(document, "counter", "address", usual.address),
        port=_whole("counter.port", given.get("port", usual.port), 65_535),
        names=tuple(names),
        idle_minutes=_whole("counter.idle_minutes", given.get("idle_minutes", usual.idle_minutes), 240),
        longest_hours=_whole("counter.longest_hours", given.get("longest_hours", usual.longest_hours), 24),
        certificate=_text(document, "counter", "certificate", ""),
        certificate_key=_text(document, "counter", "certificate_key", ""),
    )


def _whole(name: str, value: object, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= most:
        raise InputError(field=name, given=value, wanted=f"a whole number from 1 to {most}")
    return value


def _limit(situation: str, given: object) -> Limit:
    name = f"buying.{situation}"
    if given == "never":
        return Limit(())
    if not isinstance(given, dict) or not given:
        raise InputError(field=name, given=given, wanted='amounts by currency, such as { USD = "150.00" }, or "never"')
    return Limit(tuple(money(currency, text, f"{name}.{currency}") for currency, text in given.items()))


def _checked(policy: Policy, logs: object) -> Policy:
    """The policy with what the owner's check logs say of his instruments; of several logs the widest counts."""
    if not isinstance(logs, list) or not all(isinstance(log, dict) for log in logs):
        raise InputError(field="checks", given=logs, wanted="a list of tables, each headed [[checks]]")
    readers: dict[tuple[str, str], int] = {}
    scales: dict[str, int] = {}
    for number, log in enumerate(logs, 1):
        name, place, u = _log(log, f"checks[{number}]")
        if place:
            readers[name, place] = max(u, readers.get((name, place), 0))
        else:
            scales[name] = max(u, scales.get(name, 0))
    instruments = tuple((name, place, u) for (name, place), u in sorted(readers.items()))
    return replace(policy, instruments=instruments, scales=tuple(sorted(scales.items())))


def _log(log: Mapping[str, Any], field: str) -> tuple[str, str, int]:
    """Instrument, kind of place (empty: a scale) and uncertainty: k = 2 in parts per million, k = 1 in micrograms."""
    for name in log:
        if name not in _CHECK:
            raise InputError(field=f"{field}.{name}", given=name, wanted="one of " + ", ".join(sorted(_CHECK)))
    instrument, unit = log.get("instrument"), log.get("unit")
    if not isinstance(instrument, str) or not instrument:
        raise InputError(field=f"{field}.instrument", given=instrument, wanted="the name under which tests name it")
    if unit not in ("per-mille", "g"):
        raise InputError(
            field=f"{field}.unit", given=unit, wanted="'per-mille' for a reader of fineness, 'g' for a scale"
        )
    place = log.get("place", "flat" if unit == "per-mille" else "")
    if place not in (GEOMETRIES if unit == "per-mille" else ("",)):
        raise InputError(field=f"{field}.place", given=place, wanted="flat, curved or tiny, and for a scale nothing")
    factor = 1_000 if unit == "per-mille" else 1_000_000
    given = log.get("readings")
    if not isinstance(given, list):
        raise InputError(field=f"{field}.readings", given=given, wanted='a list of figures in quotes, such as ["584"]')
    readings = [nearest(decimal(each, f"{field}.readings[{n}]") * factor) for n, each in enumerate(given, 1)]
    known, known_u = (
        nearest(decimal(log.get(name, usual), f"{field}.{name}") * factor)
        for name, usual in (("known", None), ("known_uncertainty", "0"))
    )
    u = checks.uncertainty(known, readings, known_u=known_u, field=field)
    return instrument, str(place), u if place else -(-u // 2)


def _text(document: Mapping[str, Any], table: str, name: str, usual: str) -> str:
    value = document.get(table, {}).get(name, usual)
    if not isinstance(value, str):
        raise InputError(field=f"{table}.{name}", given=value, wanted="text in quotes")
    return value


def _rate(metal: str, text: object) -> int:
    field_name = f"payout_rates.{metal}"
    if not isinstance(text, str):
        raise InputError(field=field_name, given=text, wanted='text in quotes, such as "0.80"')
    rate = decimal(text, field_name)
    if rate > 1:
        raise InputError(field=field_name, given=text, wanted='a share of melt value, at most "1"')
    return down(rate * 1_000_000)


def _minutes(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 720:
        raise InputError(field="vault.idle_minutes", given=value, wanted="a whole number of minutes, 1 to 720")
    return value
