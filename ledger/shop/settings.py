"""The owner's settings of one book: settings.toml in its folder.

Decides what may stand in the file. Leaves to `assay` and the acts what the numbers do.

>>> read(b'[payout_rates]\\ngold = "0.8"').rate_ppm("gold")
800000
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ledger.errors import InputError
from ledger.measures import Milligrams, Money, decimal, down, money, weigh


@dataclass(frozen=True)
class Settings:
    """What the owner sets up. Every value has the meaning that sample_config/settings.toml gives beside it."""

    sheet: str = "letter"
    rates_ppm: Mapping[str, int] = field(default_factory=dict)
    density_from: Milligrams = field(default_factory=lambda: Milligrams(3_000))
    nothing_above: str = ""
    idle_minutes: int = 30
    database_url: str = ""

    def rate_ppm(self, metal: str) -> int | None:
        """Share of melt value offered for a metal, in parts per million, or None where the owner set none."""
        return self.rates_ppm.get(metal)

    def limit(self, currency: str) -> Money | None:
        """The amount above which an article is not bought while a test is owed."""
        return money(currency, self.nothing_above, "assay.nothing_above") if self.nothing_above else None


_TABLES: dict[str, set[str]] = {
    "papers": {"sheet"},
    "payout_rates": set(),
    "assay": {"density_from_g", "nothing_above"},
    "vault": {"idle_minutes"},
    "database": {"url"},
}


@lru_cache(maxsize=8)
def read(data: bytes) -> Settings:
    """The settings that a file says. Raises: InputError naming the member that is wrong."""
    try:
        document = tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise InputError(field="settings.toml", given=str(fault), wanted="TOML text in UTF-8") from fault
    for table, members in document.items():
        if table not in _TABLES or not isinstance(members, dict):
            raise InputError(field=table, given=table, wanted="one of the tables " + ", ".join(_TABLES))
        for name in members:
            if _TABLES[table] and name not in _TABLES[table]:
                raise InputError(
                    field=f"{table}.{name}", given=name, wanted="one of " + ", ".join(sorted(_TABLES[table]))
                )
    assay = document.get("assay", {})
    sheet = _text(document, "papers", "sheet", "letter")
    if sheet not in ("letter", "a4"):
        raise InputError(field="papers.sheet", given=sheet, wanted="'letter' or 'a4'")
    settings = Settings(
        sheet=sheet,
        rates_ppm={metal: _rate(metal, text) for metal, text in document.get("payout_rates", {}).items()},
        density_from=weigh(str(assay.get("density_from_g", "3")), "g", "assay.density_from_g").mg,
        nothing_above=_text(document, "assay", "nothing_above", ""),
        idle_minutes=_minutes(document.get("vault", {}).get("idle_minutes", 30)),
        database_url=_text(document, "database", "url", ""),
    )
    settings.limit("USD")
    return settings


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
