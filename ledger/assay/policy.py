"""The owner's policy: how far his instruments are trusted, and from which weights tests decide.

Decides: which uncertainty a reading and which step a scale has, from the owner's own checks where there are any, else
by this project's defaults, which are choices and not facts. Leaves to `checks` working an uncertainty out of a log, to
`buying` what may be bought, and to the shop's settings where the figures are written.

>>> Policy.read({"density_from_g": "2"}).density_limit_mg
2000
>>> Policy(instruments=(("xrf-1", "flat", 12_000),)).u_ppm("xrf-1", "flat")
12000
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from typing import Any

from ledger.errors import InputError
from ledger.measures import decimal, nearest

GEOMETRIES = ("flat", "curved", "tiny")
"""Places under an X-ray reading, the easiest first."""

SETTINGS = {
    "flat_ppt": "flat_ppm",
    "curved_ppt": "curved_ppm",
    "tiny_ppt": "tiny_ppm",
    "model_ppt": "model_ppm",
    "finer_ppt": "finer_ppm",
    "density_from_g": "density_limit_mg",
    "fine_limit_g": "fine_limit_mg",
    "heavy_limit_g": "heavy_limit_mg",
    "scale_step_g": "scale_step_ug",
}
"""Names in the settings, per thousand or in grams, and the members they become."""


@dataclass(frozen=True)
class Policy:
    """What the shop's owner has settled about instruments and limits."""

    flat_ppm: int = 10_000
    """uncertainty (k = 2) of an X-ray reading on a flat place"""
    curved_ppm: int = 20_000
    tiny_ppm: int = 30_000
    density_limit_mg: int = 3_000
    """weight from which a density may bear out that a piece is solid"""
    scale_step_ug: int = 10_000
    """smallest step of the scale where a density does not say its own, micrograms"""
    model_ppm: int = 25_000
    """standard share by which a density predicted from a reading may be wrong"""
    fine_limit_mg: int = 10_000
    """weight from which fine gold needs a test that tells tungsten"""
    heavy_limit_mg: int = 100_000
    """weight above which conductance does not reach deep enough"""
    finer_ppm: int = 10_000
    """how far a reading may lie above a mark before it is a warning"""
    instruments: tuple[tuple[str, str, int], ...] = ()
    """by the owner's checks: instrument, kind of place, uncertainty (k = 2) of a reading, parts per million"""
    scales: tuple[tuple[str, int], ...] = ()
    """by the owner's checks: scale and standard uncertainty of a weighing, micrograms"""

    @staticmethod
    def read(settings: Mapping[str, object], field: str = "assay") -> "Policy":
        """A policy from settings: decimal text, per thousand for `_ppt`, grams for `_g`; SETTINGS names them all.

        What is not given keeps its default. Raises: InputError.
        """
        values: dict[str, int] = {}
        for name, given in settings.items():
            if name not in SETTINGS:
                raise InputError(field=f"{field}.{name}", given=name, wanted="one of " + ", ".join(SETTINGS))
            number: Fraction = decimal(given, f"{field}.{name}")  # type: ignore[arg-type]
            values[SETTINGS[name]] = nearest(number * (1_000_000 if name == "scale_step_g" else 1_000))
        return replace(Policy(), **values)  # type: ignore[arg-type]

    @staticmethod
    def parse(record: Mapping[str, Any]) -> "Policy":
        """The policy that a record holds; members that came later than the record have their defaults."""
        checked = {
            "instruments": tuple((each["instrument"], each["place"], each["u_ppm"]) for each in record["instruments"])
            if "instruments" in record
            else (),
            "scales": tuple((each["scale"], each["u_ug"]) for each in record["scales"]) if "scales" in record else (),
        }
        return Policy(**{**record, **checked})

    def record(self) -> dict[str, Any]:
        """Every member by name: whole numbers, and lists of what the owner's checks showed, where there are any."""
        record: dict[str, Any] = {
            f.name: getattr(self, f.name) for f in fields(self) if f.type == "int" or f.type is int
        }
        if self.instruments:
            record["instruments"] = [
                {"instrument": name, "place": place, "u_ppm": u_ppm} for name, place, u_ppm in self.instruments
            ]
        if self.scales:
            record["scales"] = [{"scale": name, "u_ug": u_ug} for name, u_ug in self.scales]
        return record

    def u_ppm(self, instrument: str, geometry: str) -> int:
        """Uncertainty (k = 2) of a reading with this instrument on this kind of place, parts per million.

        By the owner's checks on such a place; without any, the default, and no less than easier places showed.
        """
        checked = {place: u_ppm for name, place, u_ppm in self.instruments if name == instrument}
        if geometry in checked:
            return checked[geometry]
        usual = {"flat": self.flat_ppm, "curved": self.curved_ppm, "tiny": self.tiny_ppm}[geometry]
        easier = GEOMETRIES[: GEOMETRIES.index(geometry)]
        return max([usual, *(checked[place] for place in easier if place in checked)])

    def step_ug(self, scale: str, step_ug: int | None) -> int:
        """Standard uncertainty of one weighing on this scale, micrograms: its step, or more where checks showed more.

        step_ug: the smallest step as the test says it; None: not said.
        """
        step = self.scale_step_ug if step_ug is None else step_ug
        return max([step, *(u_ug for name, u_ug in self.scales if name == scale)])
