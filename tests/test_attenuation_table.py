"""The generated table of attenuation: still made by its generator, true to its source, and small."""

import pytest
import xraydb

from ledger.assay.attenuation_table import COLUMNS, LINES, TUBE, TUBE_KEV
from ledger.assay.xray import WEAKENING
from tests import make_attenuation


class TestTheTable:
    """From a small generated table."""

    def test_the_generator_makes_the_file_that_is_there(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert make_attenuation.main(["--check"]) == 0
        assert capsys.readouterr().out == ""

    def test_the_generator_says_when_the_file_differs(
        self,
        capsys: pytest.CaptureFixture[str],
        monkeypatch: pytest.MonkeyPatch,
        tmp_path_factory: pytest.TempPathFactory,
    ) -> None:
        other = tmp_path_factory.mktemp("table") / "attenuation_table.py"
        other.write_text("ROWS = {}\n", encoding="utf-8")
        monkeypatch.setattr(make_attenuation, "TARGET", other)
        assert make_attenuation.main(["--check"]) == 1
        assert "attenuation_table.py differs" in capsys.readouterr().out
        assert make_attenuation.main([]) == 0
        assert make_attenuation.main(["--check"]) == 0

    def test_the_file_is_small(self) -> None:
        assert make_attenuation.TARGET.stat().st_size < 10_000

    @pytest.mark.parametrize("element", sorted(WEAKENING))
    def test_every_figure_is_that_of_the_library(self, element: str) -> None:
        row = WEAKENING[element]
        asked = [LINES[name][0] if name in LINES else 1e3 * float(name.removesuffix(" keV")) for name in COLUMNS]
        assert [row[name] for name in COLUMNS] == pytest.approx(list(xraydb.mu_elam(element, asked)), rel=1e-3)

    @pytest.mark.parametrize("element", ["Au", "Ag", "Cu", "Zn", "Ni", "Pd", "Pt", "Rh", "W", "Fe"])
    @pytest.mark.parametrize("kev", [20, 25, 32])
    def test_another_table_says_about_the_same(self, element: str, kev: int) -> None:
        # C.T. Chantler, NIST FFAST tables (1995, 2000), another calculation, also carried by xraydb. The two differ by
        # several per cent near absorption edges.
        other = float(xraydb.mu_chantler(element, kev * 1e3))
        assert WEAKENING[element][f"{kev} keV"] == pytest.approx(other, rel=0.06)

    def test_the_light_of_the_tube_adds_up(self) -> None:
        assert len(TUBE) == len(TUBE_KEV)
        assert sum(TUBE) == pytest.approx(1, abs=0.001)
