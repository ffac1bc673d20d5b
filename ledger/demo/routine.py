"""What the shop does every day: receipts of reports in the morning, reports, the day's close and its sheet.

Decides: the hours. Which reports are owed, and when, the rule files say.
"""

from datetime import date, datetime, time

from ledger.acts import closing, listing, reporting
from ledger.demo.diary import NEVER_CONFIRMED
from ledger.demo.setting import OWNER, ZONE
from ledger.demo.story import SHEET, Story

MORNING = time(9, 5)
EVENING = time(18, 5)


def morning(story: Story, day: date) -> None:
    """The sheriff's receipts of the evening before come in; what is owed by noon goes out."""
    now = story.go(datetime.combine(day, MORNING, ZONE), OWNER)
    kept_back = f"purchase-{story.numbers.get(NEVER_CONFIRMED, 0)}.county-sheriff"
    if now.weekday() < 5:  # the sheriff's desk answers on working days
        confirmed = [report for report in story.awaiting if report != kept_back]
        for number, report in enumerate(confirmed, 1):
            reference = f"R {now:%m%d}-{number}"
            reporting.received(
                story.book, report, at=story.now(), who="the sheriff's property desk", reference=reference
            )
            story.awaiting.remove(report)
    _send_what_is_owed(story)


def evening(story: Story, day: date) -> None:
    """Reports of the day's purchases go out; the day is closed, sealed and printed."""
    story.go(datetime.combine(day, EVENING, ZONE), OWNER)
    _send_what_is_owed(story)
    closing.close(story.book, day)
    with story.reading() as connection:
        sheet = listing.day_sheet_paper(connection, story.book, day, SHEET, at=story.now())
    story.papers.put(f"day-sheet-{day}.pdf", sheet)


def _send_what_is_owed(story: Story) -> None:
    for owed in reporting.owed(story.book, at=story.now()):
        _, paper = reporting.make(story.book, owed.report, SHEET, at=story.now())
        story.papers.put(_name(owed), paper)
        reporting.sent(story.book, owed.report, at=story.now(), how="by the county's portal (invented)")
        if owed.report.startswith("purchase-"):
            story.awaiting.append(owed.report)


def _name(owed: reporting.Owed) -> str:
    again = "-corrected" if owed.state == "to correct" else ""
    if owed.report.startswith("purchase-"):
        return f"report-of-slip-{owed.slips[0]:02}-to-the-sheriff{again}.pdf"
    first, _, last = owed.period.partition("/")
    if first == last:
        return f"daily-sheet-for-the-sheriff-{first}{again}.pdf"
    nothing = "" if owed.slips else "-nothing-bought"
    return f"weekly-report-to-the-police-{first}-to-{last}{nothing}{again}.pdf"


def hold_list(story: Story, day: date) -> None:
    """What may not leave yet, as a paper."""
    with story.reading() as connection:
        paper = listing.hold_list_paper(connection, story.book, SHEET, at=story.now())
    story.papers.put(f"hold-list-{day}.pdf", paper)
