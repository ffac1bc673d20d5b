"""Writes ledger/assay/attenuation_table.py: how strongly each metal weakens X-rays, at the energies that matter here.

    python tests/make_attenuation.py            writes the file
    python tests/make_attenuation.py --check    makes it in memory and exits 1 if the file on disk differs

The figures are those of W.T. Elam, B.D. Ravel, J.R. Sieber (2002), as the package xraydb carries them (a test
dependency: it brings scipy and ten megabytes, the table a few kilobytes).
"""

import math
import sys
from pathlib import Path

import xraydb

TARGET = Path(__file__).resolve().parent.parent / "ledger" / "assay" / "attenuation_table.py"

ELEMENTS = (
    "Ti", "Cr", "Mn", "Fe", "Co", "Ni", "Cu", "Zn", "Ga", "Mo", "Ru", "Rh", "Pd", "Ag", "Cd", "In", "Sn",
    "Ta", "W", "Os", "Ir", "Pt", "Au", "Pb",
)  # fmt: skip
"""Metals of jewellery, coins, imitations and solders that an analyser reads."""
BY_L_LINES = ("Ta", "W", "Os", "Ir", "Pt", "Au", "Pb")
SOFT = (("Au", "Ma", "Ma", "M5"), ("Ag", "La", "La1", "L3"))
"""Soft lines that some analysers use beside the hard ones."""
SINGLE_KEV = (20, 25, 32)
TUBE_KEV = tuple(range(9, 40, 3))
"""Middles of the bins, 3 keV wide, into which the light of the tube is divided: finer ones move no reading by more
than 3 per thousand."""
TUBE_KV = 40.0
FILTER_CM = 0.05
ALUMINIUM = 2.70


def lines() -> dict[str, tuple[float, float]]:
    """Each line by name, such as "Cu Ka": its energy and the edge that has to be passed to excite it, eV."""
    found: dict[str, tuple[float, float]] = {}
    for element in ELEMENTS:
        short, line, edge = ("La", "La1", "L3") if element in BY_L_LINES else ("Ka", "Ka1", "K")
        found[f"{element} {short}"] = _line(element, line, edge)
    for element, short, line, edge in SOFT:
        found[f"{element} {short}"] = _line(element, line, edge)
    return found


def _line(element: str, line: str, edge: str) -> tuple[float, float]:
    return float(xraydb.xray_line(element, line).energy), float(xraydb.xray_edge(element, edge).energy)


def tube() -> dict[int, float]:
    """Photons per bin of a 40 kV tube behind 0.5 mm of aluminium: Kramers' law times what the filter lets through."""
    photons = {}
    for kev in TUBE_KEV:
        filtered = math.exp(-float(xraydb.mu_elam("Al", kev * 1e3)) * ALUMINIUM * FILTER_CM)
        photons[kev] = (TUBE_KV / kev - 1) * filtered
    total = sum(photons.values())
    return {kev: number / total for kev, number in photons.items()}


def text() -> str:
    """The whole module, as it should stand on disk."""
    energies = dict.fromkeys([*(ev for ev, _ in lines().values()), *(1e3 * kev for kev in (*SINGLE_KEV, *TUBE_KEV))])
    names = [*lines(), *(f"{kev} keV" for kev in (*SINGLE_KEV, *TUBE_KEV))]
    out = [HEAD, "# fmt: off", "LINES: dict[str, tuple[float, float]] = {"]
    out += _folded([f'"{name}": ({ev:g}, {edge:g}),' for name, (ev, edge) in lines().items()])
    out += ["}", '"""Line: its energy and the edge that has to be passed to excite it, eV."""', ""]
    out += [f"TUBE_KEV = {TUBE_KEV}", "TUBE = (", *_folded([f"{share:.4f}," for share in tube().values()]), ")"]
    out += ['"""Share of the photons of a 40 kV tube behind 0.5 mm of aluminium around each energy of TUBE_KEV."""', ""]
    out += ["COLUMNS = (", *_folded([f'"{name}",' for name in names]), ")"]
    out += ['"""What each figure of a row belongs to: the energy of a line, or so many keV."""', "", "ROWS = {"]
    for element in ELEMENTS:
        figures = [f"{figure:.4g}" for figure in xraydb.mu_elam(element, list(energies))]
        out += [f'    "{element}": (', *(f'    "{row.strip()} "' for row in _folded(figures, 112)), "    ),"]
    out += ["}", '"""Element: its total mass attenuation coefficients in the order of COLUMNS, cm2/g."""', ""]
    return "\n".join(out)


def _folded(words: list[str], width: int = 112) -> list[str]:
    rows, row = [], ""
    for word in words:
        if len(row) + len(word) > width:
            rows.append(f"    {row.strip()}")
            row = ""
        row += f"{word} "
    return [*rows, f"    {row.strip()}"]


HEAD = f'''"""How strongly each metal weakens X-rays. Made by tests/make_attenuation.py; not to be edited.

Decides: mass attenuation coefficients at the energies of the lines that analysers use and of the light that excites
them. Leaves to `xray` what follows.

Source: W.T. Elam, B.D. Ravel, J.R. Sieber, A new atomic database for X-ray spectroscopic calculations, Radiation
Physics and Chemistry 63 (2002) 121. All of it, energies of lines and edges too, was taken from the public package
xraydb {xraydb.__version__}. Licence: the package is under the MIT licence, and its authors place the data in the public
domain.
"""
'''


def main(arguments: list[str]) -> int:
    """Write the file, or compare it."""
    made = text()
    if "--check" not in arguments:
        TARGET.write_text(made, encoding="utf-8")
        return 0
    if TARGET.read_text(encoding="utf-8") == made:
        return 0
    print(f"{TARGET.name} differs from what is made now.")
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
