"""Local moments and moments with an offset."""

import zoneinfo
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import tzdata

from ledger.errors import InputError
from ledger.moments import TABLES, local_or_none, local_text, parse_local, parse_moment, place


class TestLocalMoments:
    """A local moment carries its date and clock, the offset from UTC and the zone's name, and the three agree."""

    def test_the_zone_stays_with_the_moment(self) -> None:
        moment = parse_local("2026-11-24T10:15:00-05:00[America/New_York]", "at")
        assert moment == datetime(2026, 11, 24, 15, 15, tzinfo=UTC)
        assert moment.tzinfo == ZoneInfo("America/New_York")

    @pytest.mark.parametrize(
        "text",
        [
            "1996-12-19T16:39:57-08:00[America/Los_Angeles]",  # an example of RFC 9557
            "2022-07-08T00:14:07+01:00[Europe/London]",
            "2026-11-01T01:30:00-04:00[America/New_York]",  # the hour that comes twice, first time
            "2026-11-01T01:30:00-05:00[America/New_York]",  # and the second
            "2026-11-24T10:15:00.250000-05:00[America/New_York]",
        ],
    )
    def test_what_is_read_is_written_back(self, text: str) -> None:
        assert local_text(parse_local(text, "at")) == text

    def test_an_hour_that_comes_twice_is_two_moments(self) -> None:
        first = parse_local("2026-11-01T01:30:00-04:00[America/New_York]", "at")
        second = parse_local("2026-11-01T01:30:00-05:00[America/New_York]", "at")
        assert (second.astimezone(UTC) - first.astimezone(UTC)).seconds == 3600

    def test_a_wrong_offset_is_refused_and_the_right_time_is_said(self) -> None:
        # RFC 9557 section 3.4 calls this example internally inconsistent: in July 2022 Paris was not at +01:00.
        with pytest.raises(InputError) as caught:
            parse_local("2022-07-08T00:14:07+01:00[Europe/Paris]", "occurred_at")
        assert str(caught.value) == (
            "occurred_at: '2022-07-08T00:14:07+01:00[Europe/Paris]' was given; wanted is an offset that Europe/Paris"
            " had then: at that instant it was 2022-07-08T01:14:07+02:00[Europe/Paris]."
        )

    def test_a_time_that_the_clock_skipped_is_refused(self) -> None:
        for offset in ("-05:00", "-04:00"):
            with pytest.raises(InputError):
                parse_local(f"2027-03-14T02:30:00{offset}[America/New_York]", "at")

    @pytest.mark.parametrize(
        "text",
        [
            "2026-11-24T10:15:00-05:00",
            "2026-11-24T10:15:00[America/New_York]",
            "2026-11-24T10:15-05:00[America/New_York]",
            "2026-11-24 10:15:00-05:00[America/New_York]",
            "2026-02-30T10:15:00-05:00[America/New_York]",
            "2026-11-24T25:15:00-05:00[America/New_York]",
            "0001-01-01T00:00:00+14:00[Pacific/Kiritimati]",
            "2026-11-24T10:15:00-05:00[America]",
            "2026-11-24T10:15:00-05:00[Atlantis/Harrow_Falls]",
            "2026-11-24T10:15:00-05:00[../etc/passwd]",
            "٢٠٢٦-11-24T10:15:00-05:00[America/New_York]",
            "",
        ],
    )
    def test_anything_less_is_refused(self, text: str) -> None:
        with pytest.raises(InputError):
            parse_local(text, "at")

    def test_a_moment_without_the_name_of_its_zone_is_not_written(self) -> None:
        with pytest.raises(InputError):
            local_text(datetime(2026, 11, 24, tzinfo=UTC))


class TestMomentsWithOffset:
    """RFC 3339 moments; a zone behind them is checked too."""

    def test_z_is_utc(self) -> None:
        # The two texts of RFC 3339 section 5.8 that name one instant.
        assert parse_moment("1996-12-20T00:39:57Z", "at") == parse_moment("1996-12-19T16:39:57-08:00", "at")

    def test_a_zone_behind_it_must_agree(self) -> None:
        assert parse_moment("2022-07-08T01:14:07+01:00[Europe/London]", "at").tzinfo == ZoneInfo("Europe/London")
        with pytest.raises(InputError):
            parse_moment("2022-07-08T01:14:07+02:00[Europe/London]", "at")

    @pytest.mark.parametrize("text", ["2026-11-24T10:15:00", "2026-11-24", "2026-11-31T10:15:00Z", "yesterday"])
    def test_a_moment_without_offset_or_day_is_refused(self, text: str) -> None:
        with pytest.raises(InputError):
            parse_moment(text, "at")


class TestTables:
    """The tables of all zones are those of the pinned package, and the version that is recorded is theirs."""

    def test_nothing_but_the_package_is_looked_at(self) -> None:
        package = Path(tzdata.__path__[0])
        assert [Path(one) for one in zoneinfo.TZPATH] == [package / "zoneinfo"]

    def test_the_version_that_is_recorded_is_the_one_that_is_pinned(self) -> None:
        # A release 2026f of the IANA tables is the package's version 2026.6.
        year, letter = TABLES.removeprefix("tzdata ")[:4], TABLES[-1]
        pinned = f'"tzdata=={year}.{ord(letter) - ord("a") + 1}"'
        assert pinned in (Path(__file__).parent.parent / "pyproject.toml").read_text(encoding="utf-8")
        assert version("tzdata") in pinned

    @pytest.mark.parametrize(("name", "is_place"), [("America/New_York", True), ("Etc/GMT+5", False), ("UTC", False)])
    def test_a_place_is_told_from_a_mere_offset(self, name: str, is_place: bool) -> None:
        assert (place(ZoneInfo(name)) is not None) is is_place
        assert place(UTC) is None

    def test_no_moment_has_no_text(self) -> None:
        assert local_or_none(None) is None
        moment = datetime(2026, 11, 24, 10, 15, tzinfo=ZoneInfo("America/New_York"))
        assert local_or_none(moment) == local_text(moment)
