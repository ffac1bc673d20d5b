"""A new dated version of a rule moves what is bought under it, and nothing that was bought before."""

from datetime import timedelta

from tests.till import RULES, Till

SECOND = RULES[RULES.index("[[hold]]") : RULES.index("[[report]]")]
FIFTEEN = RULES + SECOND.replace("from = 2020-01-01", "from = 2026-11-27").replace(
    "for ten days", "for fifteen days"
).replace("length = 10", "length = 15")


def may_leave(till: Till, slip: int) -> str:
    """From when the only item of a slip may leave, by the cautious reading: the local day, which begins then."""
    moment: str = till.answer("item", "show", f"{slip}/1")["may_leave"]["cautious"]
    day, _, clock = moment.partition("T")
    assert clock.startswith("00:00:00"), moment
    return day


def recorded(till: Till, local: str) -> int:
    """The number of a slip that was bought at that local moment and recorded now."""
    slip: int = till.record(("occurred_at", f"{local}-05:00[America/New_York]"))["slip"]
    return slip


class TestALongerHold:
    """Changing one hold from 10 to 15 days in a new dated version moves may leave from of new slips only."""

    def test_it_moves_new_slips_and_nothing_of_older_ones(self, till: Till) -> None:
        # Ten days after Tuesday 24 November end with Friday 4 December; counted on a calendar, as all days below.
        older = recorded(till, "2026-11-24T10:05:00")
        assert may_leave(till, older) == "2026-12-05"
        till.answer("law", "adopt", till.keep("town.toml", FIFTEEN))
        till.now += timedelta(days=4)
        assert may_leave(till, older) == "2026-12-05"
        # Bought on the last day of the old version and recorded on Saturday 28 November: its own law, ten days, from
        # the day of recording, since nobody frees an article by recording it late.
        late = recorded(till, "2026-11-26T10:05:00")
        assert may_leave(till, late) == "2026-12-09"
        newer = recorded(till, "2026-11-28T09:05:00")
        assert may_leave(till, newer) == "2026-12-14"
        assert may_leave(till, older) == "2026-12-05"
        ten, fifteen = (
            [hold["rule"] for hold in till.answer("item", "show", f"{slip}/1")["holds"]] for slip in (older, newer)
        )
        assert ten == fifteen == ["hold-ten-days"]
