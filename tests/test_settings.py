"""The settings of a book: what the owner may write, and what is refused."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from ledger.assay.buying import SITUATIONS, Limit
from ledger.assay.policy import SETTINGS, Policy
from ledger.errors import InputError
from ledger.measures import Money
from ledger.shop import settings


class TestSettings:
    """Decides what may stand in settings.toml; the first wrong member is named."""

    def test_an_empty_file_is_what_a_careful_owner_starts_with(self) -> None:
        usual = settings.read(b"")
        assert (usual.sheet, usual.idle_minutes, usual.database_url) == ("letter", 30, "")
        assert usual.policy == Policy()
        assert (usual.rate_ppm("gold"), usual.limits) == (None, {})

    def test_what_the_owner_wrote_is_read(self) -> None:
        read = settings.read(
            b'[papers]\nsheet = "a4"\n[payout_rates]\ngold = "0.805"\nsilver = "1"\n[assay]\ndensity_from_g = "2.5"\n'
            b'[buying]\ntest-owed = { USD = "150.00", JPY = "20000" }\ncontrary = "never"\n'
            b'[vault]\nidle_minutes = 720\n[database]\nurl = "postgresql://h/shop"\n'
        )
        assert (read.sheet, read.idle_minutes, read.database_url) == ("a4", 720, "postgresql://h/shop")
        assert (read.rate_ppm("gold"), read.rate_ppm("silver")) == (805_000, 1_000_000)
        assert read.policy == Policy(density_limit_mg=2_500)
        assert read.limits["test-owed"] == Limit((Money("USD", 15_000), Money("JPY", 20_000)))
        assert read.limits["contrary"] == Limit(())

    def test_the_shipped_file_names_every_setting_and_what_it_proposes_can_be_read(self) -> None:
        shipped = (Path(settings.__file__).parents[2] / "sample_config" / "settings.toml").read_text(encoding="utf-8")
        usual = settings.read(shipped.encode())
        assert usual.policy == Policy()
        assert usual.limits == {"test-owed": Limit((Money("USD", 15_000),))}
        every = settings.read(re.sub(r"^# (?=[a-z_-]+ = |\[\[)", "", shipped, flags=re.M).encode())
        assert set(every.limits) == set(SITUATIONS)
        assert replace(every.policy, instruments=()) == Policy()
        assert [name for name, _, _ in every.policy.instruments] == ["xrf-1"]
        assert all(f"{name} = " in shipped for name in SETTINGS)

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            (b"\xff", "^settings.toml: "),
            (b"[papers", "^settings.toml: .*TOML text in UTF-8"),
            (b"[paper]\n", r"^paper: 'paper' was given; wanted is one of the tables papers, payout_rates"),
            (b"papers = 3\n", "^papers: "),
            (b"[vault]\nminutes = 3\n", r"^vault\.minutes: 'minutes' was given; wanted is one of idle_minutes"),
            (b"[papers]\nsheet = 4\n", r"^papers\.sheet: 4 was given; wanted is text in quotes"),
            (b'[papers]\nsheet = "legal"\n', r"^papers\.sheet: 'legal' was given; wanted is 'letter' or 'a4'"),
            (b"[payout_rates]\ngold = 0.8\n", r"^payout_rates\.gold: 0\.8 was given; wanted is text in quotes"),
            (b'[payout_rates]\ngold = "1.01"\n', r"^payout_rates\.gold: '1\.01' .* at most"),
            (b'[payout_rates]\ngold = "-0.1"\n', r"^payout_rates\.gold: "),
            (b'[assay]\ndensity_from_g = "a lot"\n', r"^assay\.density_from_g: 'a lot' "),
            (b"[assay]\nflat_ppt = 8\n", r"^assay\.flat_ppt: 8 "),
            (b'[assay]\nspeed = "1"\n', r"^assay\.speed: 'speed' was given; wanted is one of curved_ppt"),
            (b'[assay]\nnothing_above = "150"\n', r"^assay\.nothing_above: .* a limit names its currency"),
            (b'[buying]\nhurry = "never"\n', r"^buying\.hurry: 'hurry' .* one of adulterant"),
            (b'[buying]\ntest-owed = "150.00"\n', r"^buying\.test-owed: '150\.00' .* amounts by currency"),
            (b"[buying]\ntest-owed = {}\n", r"^buying\.test-owed: "),
            (b'[buying]\ntest-owed = { USD = "1.234" }\n', r"^buying\.test-owed\.USD: '1\.234' .* 2 decimals for USD"),
            (b'[buying]\ntest-owed = { usd = "1" }\n', r"^currency: 'usd' "),
            (b"checks = 3\n", "^checks: 3 was given; wanted is a list of tables"),
            (b"checks = [3]\n", "^checks: "),
            (b"[[checks]]\nscale = 1\n", r"^checks\[1\]\.scale: 'scale' .* one of instrument"),
            (b"[[checks]]\nunit = 'g'\n", r"^checks\[1\]\.instrument: None "),
            (b"[[checks]]\ninstrument = 'a'\nunit = 'oz'\n", r"^checks\[1\]\.unit: 'oz' "),
            (b"[[checks]]\ninstrument = 'a'\nunit = 'g'\nplace = 'flat'\n", r"^checks\[1\]\.place: 'flat' "),
            (b"[[checks]]\ninstrument = 'a'\nunit = 'per-mille'\nplace = 'hot'\n", r"^checks\[1\]\.place: 'hot' "),
            (b"[[checks]]\ninstrument = 'a'\nunit = 'g'\nreadings = '1'\n", r"^checks\[1\]\.readings: '1' "),
            (b"[[checks]]\ninstrument = 'a'\nunit = 'g'\nreadings = [1]\n", r"^checks\[1\]\.readings\[1\]: 1 "),
            (b"[[checks]]\ninstrument = 'a'\nunit = 'g'\nreadings = []\n", r"^checks\[1\]\.known: None "),
            (
                b"[[checks]]\ninstrument = 'a'\nunit = 'g'\nreadings = ['1']\nknown = '1'\n",
                r"^checks\[1\]\.readings: '1 readings' .* at least 5 of one piece",
            ),
            (b"[vault]\nidle_minutes = 0\n", r"^vault\.idle_minutes: 0 .* 1 to 720"),
            (b"[vault]\nidle_minutes = true\n", r"^vault\.idle_minutes: True"),
            (b'[vault]\nidle_minutes = "5"\n', r"^vault\.idle_minutes: '5'"),
        ],
    )
    def test_what_cannot_be_used_is_named(self, text: bytes, message: str) -> None:
        with pytest.raises(InputError, match=message):
            settings.read(text)


LOG = """
[[checks]]
instrument = "xrf-1"
unit = "per-mille"
known = "585.0"
known_uncertainty = "1.0"
readings = ["583", "584", "583", "585", "584"]
"""


class TestChecks:
    """The uncertainty of the owner's instruments, from his own check-standard log."""

    def test_a_log_becomes_the_uncertainty_of_its_instrument(self) -> None:
        # |583.8 - 585| + 2.776 x sqrt(0.7 x 1.2 + 0.25) = 4.098 per thousand, worked by hand.
        assert settings.read(LOG.encode()).policy.instruments == (("xrf-1", "flat", 4_099),)

    def test_of_several_logs_of_an_instrument_the_widest_counts(self) -> None:
        worse = LOG.replace('"583", ', '"580", ', 1)
        curved = LOG.replace("unit", 'place = "curved"\nunit')
        read = settings.read((worse + LOG + curved).encode()).policy
        assert read.u_ppm("xrf-1", "flat") > 4_099
        assert read.u_ppm("xrf-1", "curved") == 4_099
        assert read.u_ppm("xrf-2", "flat") == 10_000

    def test_a_scale_becomes_the_standard_uncertainty_of_a_weighing(self) -> None:
        scale = """
        [[checks]]
        instrument = "scale-1"
        unit = "g"
        known = "50.000"
        readings = ["50.02", "50.02", "50.02", "50.02", "50.02"]
        """
        # No scatter: what is left is the bias, 0.02 g, taken as twice a standard uncertainty.
        policy = settings.read((scale + scale.replace("50.02", "50.01")).encode()).policy
        assert policy.scales == (("scale-1", 10_000),)
        assert policy.step_ug("scale-1", 1_000) == 10_000
        assert policy.step_ug("scale-1", 100_000) == 100_000
        assert policy.step_ug("scale-2", 1_000) == 1_000
