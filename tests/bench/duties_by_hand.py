"""The demonstration's three layers written out in Python by hand, for one article: the least that duties could cost.

Same answers and same traces as `ledger.law.duties.weigh`, for the slips that the benchmark asks about: everything is
stated, the seller is a person of age, the article is no lot. Citations and sentences are constants, as a program
written for one town would have them. Nothing here reads a condition, looks for a rule, or knows another place.
"""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from ledger import shipped
from ledger.law import files
from ledger.law.duties import weigh

Json = Any
ZONE = ZoneInfo("America/Chicago")
KEY = "America/Chicago"
DAY = timedelta(days=1)
WHOLE_HOLD = ["sell", "hand-over", "return", "melt", "alter", "mix", "use", "send-out", "move"]
WORN_HOLD = ["sell", "hand-over", "melt", "alter", "mix", "use", "send-out", "move"]
RECEIPT_HOLD = ["sell", "hand-over", "melt", "alter", "mix", "send-out"]
SLIP_FIELDS = ("occurred", "staff", "total", "instrument")
ARTICLE_FIELDS = (
    "description", "metal_colour", "marks", "inscriptions", "serials", "stones", "weight", "evidence", "assessment",
    "pictures", "price",
)  # fmt: skip
ARTICLE_IF_KNOWN = {"metal_colour", "inscriptions", "serials", "stones", "evidence", "assessment"}
WORDS = "I own these goods, I may sell them, and nobody else has a claim on them."

FOLDER = shipped.folder("sample_config") / "rules" / "demo"
LAYERS = tuple(files.read((FOLDER / f"{name}.toml").read_bytes(), name) for name in ("state", "county", "town"))
HOLIDAYS: Mapping[date, str] = {
    day: one.name for day, one in (LAYERS[0].calendar.closed if LAYERS[0].calendar else {}).items() if not one.arguable
}
HEAD: dict[tuple[str, str], Json] = {}
"""what never changes of a duty: its citation and sentence, by rule and version"""


def _constants(sample: Mapping[str, Any], at: datetime) -> dict[str, Json]:
    """The constants that a program for this one town would have typed in, taken over from an answer for a sample."""
    record = weigh(LAYERS, sample, at=at).record()
    for duty in record["duties"]:
        kept = ("rule", "jurisdiction", "digest", "kind", "effect", "source", "basis", "url")
        HEAD["duty", duty["rule"]] = {key: duty[key] for key in kept if key in duty}
    moving = ("trace", "plain", "cautious", "earliest", "due", "due_plain", "covers")
    for kind in ("holds", "reports"):
        for one in record[kind]:
            HEAD[kind, one["rule"]] = {key: value for key, value in one.items() if key not in moving}
    constant = ("tasks", "exemptions", "displaced", "forms", "tallies", "rules", "calendars", "contradictions")
    return {key: record[key] for key in (*constant, "stale", "notes", "digests", "time_zones")}


SAYS = {rule.id: rule.says for file in LAYERS for rule in file.rules}
CITE = {rule.id: rule.source.cite for file in LAYERS for rule in file.rules}


def prepare(sample: Mapping[str, Any], at: datetime) -> dict[str, Json]:
    """Takes the constants over once; part of no timing."""
    return _constants(sample, at)


def text(moment: datetime) -> str:
    return f"{moment.isoformat()}[{KEY}]"


def duty(rule: str, about: str, outcome: str, trace: Json, inputs: Json, version: str = "2024-01-01") -> Json:
    return {
        **HEAD["duty", rule],
        "about": about,
        "outcome": outcome,
        "says": SAYS[rule],
        "trace": {"version_from": version, "inputs": inputs, **trace},
    }


def there(table: Mapping[str, Any], subject: str, names: tuple[str, ...]) -> dict[str, str]:
    return {
        f"{subject}.{name}": "there" if table.get(name) is not None else f"{subject}.{name} was not stated"
        for name in names
    }


def midnight_after(day: date) -> datetime:
    return datetime.combine(day + DAY, time(0), tzinfo=ZONE)


def of_days(start: str, day: date, length: int, unit: str, roll: str) -> tuple[datetime, Json]:
    """The end of so many days or years, with the days skipped where the last one moves to a working day."""
    last = day + timedelta(days=length) if unit == "days" else day.replace(year=day.year + length)
    skipped = []
    while roll != "none" and (last.weekday() > 4 or last in HOLIDAYS):
        why = HOLIDAYS.get(last) if last.weekday() < 5 else ("Saturday" if last.weekday() == 5 else "Sunday")
        skipped.append({"day": last.isoformat(), "why": why})
        last += DAY
    end = midnight_after(last)
    plain = {
        "how": f"{length} {unit}, roll {roll}",
        "moment": end.isoformat(),
        "last_day": last.isoformat(),
        "skipped": skipped,
    }
    trace = {"start": start, "zone": KEY, "length": length, "unit": unit, "first_day_counts": False, "roll": roll}
    return end, {**trace, "plain": plain}


def duties(facts: Mapping[str, Any], at: datetime, constants: Mapping[str, Json]) -> Json:
    """The record of the duties of one slip with one article."""
    shop_slip, seller, item = facts["slip"], facts["seller"], facts["items"][0]
    local = at.astimezone(ZONE)
    start, day = local.isoformat(), local.date()
    found: list[Json] = []
    documents = seller["documents"]
    seller_fields = there(seller, "seller", ("name", "birth_date", "address", "phone"))
    for name in ("type", "number", "issuer"):
        seller_fields[f"seller.document.{name}"] = "there"
    article = there(item, "item", ARTICLE_FIELDS)
    lacking = [name for name in ARTICLE_FIELDS if item.get(name) is None and name not in ARTICLE_IF_KNOWN]
    assert not lacking
    found.append(duty("purchase", "slip", "met", {"fields": there(shop_slip, "slip", SLIP_FIELDS)}, {}))
    found.append(duty("seller", "seller", "met", {"fields": seller_fields}, {}))
    found.append(duty("article", "item/1", "met", {"fields": article}, {}))
    proven = any(one["government"] and one["photo"] and one["current"] for one in documents) or (
        sum(one["current"] for one in documents) >= 2
    )
    assert proven
    found.append(duty("identity", "seller", "met", {"documents": documents}, {}))
    age = seller["age"]
    assert age >= 18
    found.append(duty("minimum-age", "seller", "met", {}, {"seller.age": age}))
    removed = item["serial_obliterated"]
    goods = {"item.goods": item["goods"], "item.serials": item["serials"], "item.serial_obliterated": removed}
    found.append(duty("number-removed", "item/1", "met", {}, goods))

    end, counted = of_days(start, day, 10, "days", "none")
    rolled, read = of_days(start, day, 10, "days", "next-working-day")
    read["other_readings"] = [read["plain"]]
    reading = {
        "reason": "A last day that is off may move to the next working day.",
        "event": "purchase",
        "basis": "invented",
        **read,
    }
    trace = {"event": "purchase", **counted, "readings": [reading]}
    first = duty("hold-after-purchase", "item/1", "ahead", trace, {})
    first["until"] = text(rolled)
    found.append(first)
    holds = [
        {
            **HEAD["holds", "hold-after-purchase"],
            "plain": text(end),
            "cautious": text(rolled),
            "earliest": text(end),
            "trace": first["trace"],
        }
    ]

    due = (local.astimezone(UTC) + timedelta(hours=48)).astimezone(ZONE)
    wall = (local.replace(tzinfo=None) + timedelta(hours=48)).replace(tzinfo=ZONE)
    soon = min(due, wall, key=lambda moment: moment.astimezone(UTC))
    trace = {
        "event": "purchase",
        "start": start,
        "zone": KEY,
        "length": 48,
        "unit": "hours",
        "first_day_counts": False,
        "roll": "none",
        "plain": {"how": "48 hours elapsed", "moment": due.isoformat()},
        "other_readings": [{"how": "48 hours by the clock", "moment": wall.isoformat()}],
    }
    found.append({**duty("purchase-report", "slip", "ahead", trace, {}), "until": text(soon)})
    base = {"inputs": {}, "version_from": "2024-01-01"}
    report = {"due": text(soon), "due_plain": text(due), "trace": {**base, **trace}}
    reports = [{**HEAD["reports", "purchase-report"], **report}]
    kept, counted = of_days(start, day, 3, "years", "none")
    classes = ["seller", "scan", "item", "money", "law"]
    at_least = {"event": "purchase", **counted}
    trace = {"event": "purchase", "classes": classes, "place": "anywhere", "at_least": at_least}
    found.append({**duty("keep-records", "slip", "ahead", trace, {}), "until": text(kept)})

    instrument, total = shop_slip["instrument"], shop_slip["total"]
    paid = {"instrument": instrument, "total": total}
    allowed = instrument in ("cash", "cheque", "transfer")
    assert allowed
    found.append(duty("ways-to-pay", "slip", "met", paid, {}))
    if instrument == "cash" and total["minor"] > 50_000:
        amount = f"USD {total['minor'] // 100:,}.{total['minor'] % 100:02}"
        reason = f"By law at most USD 500.00 may be paid by cash, and {amount} is to be paid."
        broken = duty("cash-ceiling", "slip", "broken", paid, {})
        found.append({**broken, "reason": reason, "says": f"{reason.rstrip('.')} ({CITE['cash-ceiling']})."})
    else:
        found.append(duty("cash-ceiling", "slip", "met", paid, {}))
    received = "report-received:county-sheriff"
    waiting = duty("hold-after-receipt", "item/1", "ahead", {"event": received, "waiting_for": received}, {})
    found.append(waiting)
    none = {"plain": None, "cautious": None, "earliest": None}
    holds.append({**HEAD["holds", "hold-after-receipt"], **none, "trace": waiting["trace"]})
    noon = datetime.combine(day + DAY, time(12), tzinfo=ZONE)
    trace = {"event": "purchase", "event_day": day.isoformat(), "shape": "next", "by": "12:00", "zone": KEY}
    trace["due"] = noon.isoformat()
    found.append({**duty("daily-sheet", "slip", "ahead", trace, {}), "until": text(noon)})
    covers = {"covers": [day.isoformat()] * 2, "due": text(noon), "due_plain": text(noon), "trace": {**base, **trace}}
    reports.append({**HEAD["reports", "daily-sheet"], **covers})

    captures = {f"seller.captures.{name}": "there" for name in ("print", "photo")}
    found.append(duty("print-and-picture", "seller", "met", {"fields": captures}, {}))
    listed = there(seller, "seller", ("name", "birth_date", "address"))
    found.append(duty("list-of-sellers", "seller", "met", {"fields": listed}, {}))
    articles = there(item, "item", ("description", "inscriptions", "serials", "weight", "price"))
    found.append(duty("list-of-articles", "item/1", "met", {"fields": articles}, {}))
    declared = shop_slip["declaration"]["text"]
    assert WORDS in " ".join(declared.split())
    found.append(duty("declaration", "slip", "met", {"declaration": declared}, {}))
    found.append(duty("print-stays-here", "seller", "ahead", {}, {}))
    if item["goods"] not in ("coin", "bullion"):
        end, counted = of_days(start, day, 15, "days", "none")
        inputs = {"item.goods": item["goods"]}
        worn = duty("hold-worn-goods", "item/1", "ahead", {"event": "purchase", **counted}, inputs, "2026-01-01")
        worn["until"] = text(end)
        found.append(worn)
        ends = {"plain": text(end), "cautious": text(end), "earliest": text(end), "trace": worn["trace"]}
        holds.append({**HEAD["holds", "hold-worn-goods"], **ends})
    monday = day + timedelta(days=7 - day.weekday())
    noon = datetime.combine(monday, time(12), tzinfo=ZONE)
    trace = {"event": "purchase", "event_day": day.isoformat(), "shape": "weekly", "by": "12:00", "zone": KEY}
    trace["due"] = noon.isoformat()
    found.append({**duty("weekly-report", "slip", "ahead", trace, {}), "until": text(noon)})
    week = [(monday - 7 * DAY).isoformat(), (monday - DAY).isoformat()]
    covers = {"covers": week, "due": text(noon), "due_plain": text(noon), "trace": {**base, **trace}}
    reports.append({**HEAD["reports", "weekly-report"], **covers})
    drop, counted = of_days(start, day, 1, "years", "none")
    at_most = {"event": "purchase", **counted}
    trace = {"event": "purchase", "classes": ["print"], "place": "anywhere", "at_most": at_most}
    found.append({**duty("prints-are-destroyed", "slip", "ahead", trace, {}), "until": text(drop)})
    scopes = [
        scope(LAYERS[0].digest, "from-dealers", "xx-norrowa", "seller", "seller.declared_dealer", False),
        scope(LAYERS[1].digest, "low-unmarked-silver", "xx-norrowa-tamsett", "item/1", "item.metal", item["metal"]),
    ]
    assert item["metal"] == "gold"
    return {
        "at": f"{at.isoformat()}[{at.tzinfo}]",
        "duties": found,
        "holds": holds,
        "reports": reports,
        "scopes": scopes,
        **constants,
        "rules": [one for one in constants["rules"] if one["rule"] != "hold-worn-goods" or len(holds) == 3],
    }


def scope(digest: str, rule: str, place: str, about: str, fact: str, value: Any) -> Json:
    inputs = {fact: value}
    answer = {"rule": rule, "jurisdiction": place, "digest": digest, "kind": "exempt", "about": about}
    return {**answer, "applies": False, "inputs": inputs}
