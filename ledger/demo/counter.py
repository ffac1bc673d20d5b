"""Acts out one visit at the counter: written, checked, offered, presented, signed, recorded, paid, papers drawn.

Decides: the order in which a clerk does things. Everything that is judged is judged by the program: the offers come
from its assessments, and what the law forbids is tried and refused.
"""

import json
import textwrap
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from ledger.acts import drafting, handing_over, paying, recording, undoing
from ledger.acts.drafting import Draft
from ledger.acts.examining import Examined
from ledger.demo import written
from ledger.demo.bench import Members
from ledger.demo.setting import local
from ledger.demo.story import SHEET, WIDTH, Story
from ledger.demo.visits import Visit
from ledger.errors import ForbiddenByLaw
from ledger.slip import reading
from ledger.slip.document import Slip


def act(story: Story, visit: Visit) -> None:
    """One visit from the door to the till."""
    at = local(visit.at)
    story.go(at + timedelta(minutes=1), visit.staff)
    plain = written.document(visit)
    pictures = written.pictures_of(visit)
    if visit.ending == "refused":
        _refused(story, visit, plain)
        return
    if visit.asks_cash_first:
        _cash_refused(story, visit, plain)
    examined = recording.check(story.book, read(plain))
    priced = _priced(visit, plain, examined)
    _keep_document(story, visit, priced if visit.ending != "signed" else written.signed(priced), pictures)
    draft = drafting.begin(story.book)
    number = _ACTED[visit.ending](story, visit, draft, priced, pictures)
    story.tell(at, f"slip {number:2}  {visit.name.replace('-', ' ')}")
    for line, assessment in examined.assessments.items():
        told = f"{'':21}{number}/{line} {assessment.headline()}"
        for part in textwrap.wrap(told, WIDTH, subsequent_indent=" " * 25, break_on_hyphens=False):
            story.say(part)


def read(document: Members) -> Slip:
    """The slip that a document says."""
    return reading.read(json.dumps(document).encode(), toml=False)


def _priced(visit: Visit, plain: Members, examined: Examined) -> Members:
    worth = {line: valuation.offer for line, valuation in examined.valuations.items()}
    return written.with_offers(visit, plain, worth, examined.duties.declarations[0].words)


def _refused(story: Story, visit: Visit, plain: Members) -> None:
    _keep_document(story, visit, plain, {})
    _, examined = undoing.refuse(story.book, read(plain), visit.because)
    told = " ".join(duty.says for duty in examined.duties.stopping() if duty.kind == "refuse")
    kept = ", ".join(examined.duties.refusal.may_record) if examined.duties.refusal else "nothing"
    story.tell(local(visit.at), f"REFUSED  {visit.name.replace('-', ' ')}: {told} Kept of it: {kept}.")


def _cash_refused(story: Story, visit: Visit, plain: Members) -> None:
    """The seller wants cash; the record is refused by law and nothing is written."""
    in_cash = replace(visit, instrument="cash", reference="")
    priced = written.signed(_priced(in_cash, plain, recording.check(story.book, read(plain))))
    try:
        recording.ready(story.book, read(priced), answers={}, what="The slip cannot be presented")
    except ForbiddenByLaw as refused:
        story.tell(local(visit.at), f"REFUSED  {refused}")


def _keep_document(story: Story, visit: Visit, document: Members, pictures: Mapping[str, bytes]) -> None:
    folder = story.slips / visit.name
    folder.mkdir()
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    (folder / "slip.json").write_text(text, encoding="utf-8")
    for name, data in pictures.items():
        (folder / name).write_bytes(data)


def _reader(pictures: Mapping[str, bytes]) -> drafting.ReadFile:
    return lambda name, part: pictures[name]


def _presented(
    story: Story, visit: Visit, draft: Draft, priced: Members, pictures: Mapping[str, bytes]
) -> recording.Recorded:
    slip = read(priced)
    drafting.lock_pictures(story.book, draft, slip, _reader(pictures))
    story.go(local(visit.at) + timedelta(minutes=7), visit.staff)
    done = recording.present(story.book, slip, draft, draft.locked, answers=visit.answers)
    story.numbers[visit.name] = done.slip
    with story.reading() as connection:
        page = handing_over.slip_page(connection, story.book, done.slip, SHEET)
    story.papers.put(f"slip-{done.slip:02}-to-sign.pdf", page)
    return done


def _signed(story: Story, visit: Visit, draft: Draft, priced: Members, pictures: Mapping[str, bytes]) -> int:
    number = _presented(story, visit, draft, priced, pictures).slip
    story.go(local(visit.at) + timedelta(minutes=10), visit.staff)
    slip = read(written.signed(priced))
    again = drafting.resume(story.book, number)
    signature = drafting.lock_signature(story.book, again, slip, _reader(pictures))
    done = recording.record_presented(story.book, number, slip, signature, answers=visit.answers)
    _handed_over(story, visit, done)
    return number


def _signed_elsewhere(story: Story, visit: Visit, draft: Draft, priced: Members, pictures: Mapping[str, bytes]) -> int:
    slip = read(priced)
    drafting.lock_pictures(story.book, draft, slip, _reader(pictures))
    story.go(local(visit.at) + timedelta(minutes=10), visit.staff)
    done = recording.record(story.book, slip, draft, draft.locked, answers=visit.answers)
    story.numbers[visit.name] = done.slip
    _handed_over(story, visit, done)
    return done.slip


def _withdrawn(story: Story, visit: Visit, draft: Draft, priced: Members, pictures: Mapping[str, bytes]) -> int:
    number = _presented(story, visit, draft, priced, pictures).slip
    story.go(local(visit.at) + timedelta(minutes=12), visit.staff)
    undoing.withdraw(story.book, number, visit.because)
    return number


def _left_unsigned(story: Story, visit: Visit, draft: Draft, priced: Members, pictures: Mapping[str, bytes]) -> int:
    return _presented(story, visit, draft, priced, pictures).slip


_ACTED = {
    "signed": _signed,
    "signed elsewhere": _signed_elsewhere,
    "withdrawn": _withdrawn,
    "left unsigned": _left_unsigned,
}


def _handed_over(story: Story, visit: Visit, done: recording.Recorded) -> None:
    """Stub and labels are drawn at once, so that the stub carries the seal over this very purchase; then money."""
    number = done.slip
    with story.reading() as connection:
        stub = handing_over.stub_paper(connection, story.book, number, SHEET)
        labels = handing_over.labels(connection, story.book, number)
    story.papers.put(f"slip-{number:02}-stub.pdf", stub)
    story.papers.put(f"slip-{number:02}-bag-labels.pdf", labels)
    story.first_seals[number] = done.seal
    paid = story.go(local(visit.at) + timedelta(minutes=13), visit.staff)
    paying.settle(story.book, number, "paid", at=paid, reference=visit.reference or None)
