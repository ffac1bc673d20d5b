"""The rule by which streaks under the acid for silver speak for or against what the surface shows.

Decides: whether a colour bears out silver, contradicts a reading or, deep, speaks for silver all through. It never
narrows a reading, and its failure is not outvoted. Leaves to `touchstone` what fineness a colour allows.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.evidence import read
>>> from ledger.assay.findings import lay_out
>>> from ledger.assay.marks import read as marks
>>> tests = [{"test": "silver-streak", "colour": "dark-red", "depth": "light"}]
>>> sheet = Sheet(lay_out(read(tests), Policy()), marks("STERLING"), Policy())
>>> streaks(sheet)
>>> sheet.metal, sheet.seen.words()
('silver', '800.0 to 1000.0')
"""

from ledger.assay.findings import SilverRub, part_of
from ledger.assay.sheet import Sheet, together
from ledger.measures import thousandths

_TURNED = {
    "bright-red": "turned bright red",
    "dark-red": "turned dark red",
    "brown": "turned brown, as silver of about 800 does and copper and brass do too",
    "green": "turned green",
    "blue": "turned blue, as nickel does",
    "yellow": "turned yellow, as lead and tin do",
    "none": "kept its colour, as palladium does",
}


def streaks(sheet: Sheet) -> None:
    """Every streak under the acid for silver with what it allows; then the fineness, where nothing else was read."""
    rubs = sheet.found.silver_rubs
    if not rubs or sheet.mixed:
        return
    for rub in rubs:
        _one(sheet, rub)
    silver = any(claim.metal == "silver" for claim in sheet.fine_claims)
    if sheet.found.sights:
        return
    shown = silver and any(rub.between.high_ppm for rub in rubs)
    if sheet.metal == "gold" and (shown or any(rub.between.low_ppm for rub in rubs)):
        text = "Streaks under acids for gold and for silver, and no reading to say which of both metals it is."
        sheet.clash("streaks-differ", text, "xrf")
    elif shown and sheet.metal is None:
        sheet.metal = "silver"
        sheet.seen, agree = together([rub.between for rub in rubs])
        if not agree:
            sheet.clash("streaks-differ", "Streaks under the acid for silver exclude one another.", "xrf")


def _one(sheet: Sheet, rub: SilverRub) -> None:
    depth = "deep" if rub.test.deep else "light"
    between = rub.between
    allowed = f"silver {between.words()} per thousand" if between.high_ppm else "no silver"
    text = f"A {depth} streak under the acid for silver {_TURNED[rub.test.colour]}: {allowed}"
    sheet.say("silver-acid", f"{text}.")
    silver = [sight for sight in sheet.body if sight.metal == "silver"]
    if any(sight.of("silver").low_ppm > between.high_ppm for sight in silver):
        finest = thousandths(max(sight.ppm("silver") for sight in silver))
        sheet.clash("acid-failed", f"{text}, though a reading shows {finest}; a failure is not outvoted.", "filed-xrf")
    elif sheet.body and not silver and between.low_ppm:
        read = ", ".join(sorted({sight.metal for sight in sheet.body}))
        sheet.clash("acid-shows-silver", f"{text}, though the reading shows {read}.", "filed-xrf")
    elif any(sight.of("silver").high_ppm < between.low_ppm for sight in silver):
        sheet.clash("acid-above-reading", f"{text}, finer than the reading allows.", "filed-xrf")
    elif rub.test.deep and between.low_ppm and sheet.metal in (None, "silver"):
        sheet.support("deep-streak-holds", part_of(rub.test))
