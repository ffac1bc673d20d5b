"""The margin of a slip on a terminal: its duties, what the tests of each item support, what is still owed."""

from collections.abc import Iterator, Mapping

from ledger.acts import wording
from ledger.acts.examining import Examined, rule_name
from ledger.cli import said
from ledger.law.answers import Undecided
from ledger.law.answers_times import TaskDuty
from ledger.measures import grams, thousandths
from ledger.slip import describing

_ORDER = ("broken", "undecided", "ahead", "met")


def leave_lines(examined: Examined) -> list[str]:
    """From when each item that is bought may leave, a line each."""
    return [
        f"Item {line} may leave from: {wording.leaves(examined.duties.leave(line))}"
        for line, _item in examined.slip.taken
    ]


def text(examined: Examined, answers: Mapping[str, str]) -> Iterator[str]:
    """The margin as a person reads it."""
    slip = examined.slip
    items = said.count(len(slip.items), "item")
    yield f"{said.moment(slip.occurred_at)}, {slip.channel}, tray {slip.tray.number}, {items}"
    yield from _duties(examined, answers)
    for line, item in enumerate(slip.items, 1):
        yield ""
        yield f"Item {line}: {describing.one_line(item)}"
        yield from (f"  {each}" for each in _item(examined, line))
    yield from _of_the_rules(examined)
    yield from _still_owed(examined)


def _duties(examined: Examined, answers: Mapping[str, str]) -> Iterator[str]:
    duties = sorted(examined.duties.duties, key=lambda duty: _ORDER.index(duty.state))
    if not duties:
        yield "No rule of the files in force asks anything of this slip."
        return
    rows = []
    for duty in duties:
        says = duty.says if duty.source in duty.says else f"{duty.says.rstrip('.')} ({duty.source})."
        if isinstance(duty.outcome, Undecided) and (duty.outcome.if_yes or duty.outcome.if_no):
            either = (duty.outcome.if_yes or "nothing follows.", duty.outcome.if_no or "nothing follows.")
            says += " If yes: {} If no: {}".format(*either)
        answered = f" Answered: {answers[rule_name(duty)]}" if rule_name(duty) in answers else ""
        rows.append((duty.state, duty.about, rule_name(duty), says + answered))
    yield ""
    yield said.table(("duty", "about", "rule", "says"), rows)
    yield from (f"Not checked since: {each}" for each in examined.duties.stale)


def _item(examined: Examined, line: int) -> Iterator[str]:
    assessment, value = examined.assessments[line], examined.valuations[line]
    yield assessment.headline()
    if assessment.payable is not None:
        bound = ", an upper bound" if assessment.upper_bound else ""
        yield f"Payable: {assessment.metal} {assessment.payable.words()} per thousand{bound}"
    for owed in assessment.owed:
        asks = " (marks the article: ask the seller first)" if owed.consent else ""
        yield f"Test owed: {owed.test}, which decides {owed.decides}{asks}"
    for conflict in assessment.conflicts:
        yield f"Conflict: {conflict.what}" + (f"; settled by {conflict.settled_by}" if conflict.settled_by else "")
    if value.offer is not None and value.fine_paid_mg is not None:
        fine = f"{grams(value.fine_paid_mg)} g fine at {thousandths(value.paid_fineness_ppm or 0)} per thousand"
        yield f"Value: {fine}, melt {value.melt_value}, by the shop's rate {value.offer}"
        if value.estimated and value.weight_mg is not None:
            about = f"{grams(value.weight_mg)} g, give or take {grams(value.weight_off_mg)} g"
            yield f"Net weight: an estimate, {about}: the stones were not weighed"
    else:
        yield f"Value: not worked out: {value.why_not}"
    item = examined.slip.items[line - 1]
    if item.offer is not None:
        yield f"Offer: {item.offer.money}, {item.offer.answer or 'not answered yet'}"
    if item.taken:
        yield f"May leave from: {wording.leaves(examined.duties.leave(line))}"


def _of_the_rules(examined: Examined) -> Iterator[str]:
    """What the rule files ask of their own, what else is to be done, and where they do not go together."""
    found = examined.duties
    asked = [
        f"{one.asks} ({one.fact.rpartition('.')[2]}, of {', '.join(unanswered)}; {one.who} answers)"
        for one, unanswered in examined.questions()
        if unanswered
    ]
    tasks = [f"{task.what} {_by(task)} ({task.about}; {task.source})" for task in found.tasks]
    forms = [
        f"{form.title or form.rule}: {said.count(len(form.copies), 'copy', 'copies')}"
        f" ({', '.join(copy.keeper for copy in form.copies)}; {form.source})"
        for form in found.forms
        if form.copies
    ]
    for head, lines in (
        ("Questions of the rule files, not answered yet", asked),
        ("To be done", tasks),
        ("Papers", forms),
        ("Gives way", [one.says() for one in found.displaced]),
        ("These rules do not go together", found.contradictions),
    ):
        if lines:
            yield ""
            yield from said.listed(head, lines)


def _by(task: TaskDuty) -> str:
    if task.due is None:
        return "" if task.waiting_for is None else f"once there is {wording.awaited(task.waiting_for)}"
    return f"by {said.moment(task.due)}"


def _still_owed(examined: Examined) -> Iterator[str]:
    for head, lines in (
        ("Against the owner's policy", [one.says for one in examined.policy]),
        ("Still to be entered before the slip is presented", [f"{o.field}: {o.wanted}" for o in examined.owed]),
    ):
        if lines:
            yield ""
            yield from said.listed(head, lines)
