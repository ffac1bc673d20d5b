"""Builds a slip, or one item of it, again from the parts that lie in the vault.

Decides: nothing. What `parts` took apart comes together as it was, but for the names of picture files, which the book
does not keep: a picture bears the name of its part. Search words, papers and a second examination at recording are
made from what this gives, so that they never rest on a file that somebody kept beside the book.

>>> item_of({"kind": "single", "goods": "jewelry", "article": "ring", "pieces": 1}).article
'ring'
"""

import re
from collections.abc import Mapping
from typing import Any

from ledger.measures import Money
from ledger.slip import building
from ledger.slip import document as d
from ledger.slip.writing import decimal_text

Parts = Mapping[str, Any]
"""part name -> value"""


def item_of(description: Mapping[str, Any], inscriptions: Any = None) -> d.Item:
    """The item that these parts' values describe. Raises: InputError when they are not a part's values."""
    return building.item({**_described(description, inscriptions), "pictures": []}, "item")


def _described(description: Mapping[str, Any], inscriptions: Any) -> dict[str, Any]:
    """The members that describe an item, as a document writes them."""
    members = {**description, **_measured(description)}
    return members if inscriptions is None else {**members, "inscriptions": inscriptions}


def slip_of(parts: Parts) -> d.Slip:
    """The slip that a presented entry's parts, with those of its purchase if there are any, describe.

    Raises: InputError when they are not a slip's parts.
    """
    return building.slip(document_of(parts))


def document_of(parts: Parts) -> dict[str, Any]:
    """The same slip as a document. `reading.slip_of` checks it like a typed one, but for the names of its files."""
    obtained = {told["line"]: told["said"] for told in parts.get("seller/obtained", ())}
    lines = range(1, 1 + max((int(name.split("/")[1]) for name in parts if name.startswith("item/")), default=0))
    document: dict[str, Any] = {
        "format": "slip/0",
        **_answered(parts["visit"]),
        "parties": [_party(parts, prefix) for prefix in _prefixes(parts)],
        "items": [_item(parts, line, obtained.get(line)) for line in lines],
        "spot": parts.get("spot", []),
    }
    for name in ("notes", "parcel"):
        if name in parts:
            document[name] = parts[name]
    if "declaration/text" in parts:
        document["declaration"] = {**parts["declaration/text"], **_signature(parts)}
    if "payout/method" in parts:
        document["payout"] = _payout(parts)
    if "payout/trade" in parts:
        trade = parts["payout/trade"]
        document["traded_for"] = {**_without(_without(trade, "currency"), "minor"), **_amount(trade)}
    return document


def _item(parts: Parts, line: int, obtained: Any) -> dict[str, Any]:
    prefix = f"item/{line}"
    members = _described(parts[f"{prefix}/description"], parts.get(f"{prefix}/inscriptions"))
    for name in ("evidence", "conclusion"):
        if f"{prefix}/{name}" in parts:
            members[name] = parts[f"{prefix}/{name}"]
    price = parts.get(f"{prefix}/price", {})
    if "offer" in price:
        members["offer"] = {**_amount(price["offer"]), "answer": price["answer"]}
    if obtained is not None:
        members["obtained"] = obtained
    members["pictures"] = [
        {"file": name, "shows": value["shows"]}
        for name, value in parts.items()
        if name.startswith(f"{prefix}/picture/")
    ]
    return members


def _measured(description: Mapping[str, Any]) -> dict[str, Any]:
    """Weighings, sizes, stones and answers without the figures of ours that stand beside those that were given."""
    found: dict[str, Any] = _answered(description) if "answers" in description else {}
    if "weighings" in description:
        found["weighings"] = [_without(each, "weight_mg") for each in description["weighings"]]
    if isinstance(description.get("sizes"), list):
        found["sizes"] = [_without(each, "um") for each in description["sizes"]]
    if isinstance(description.get("stones"), list):
        found["stones"] = [
            {**stone, "carats": stone["carats"]["value"]} if "carats" in stone else stone
            for stone in description["stones"]
        ]
    return found


def _answered(members: Mapping[str, Any]) -> dict[str, Any]:
    """Members with their answers, if there are any, as a document writes them."""
    if "answers" not in members:
        return dict(members)
    return {**members, "answers": _answers(members["answers"])}


def _answers(answers: Any) -> list[dict[str, Any]]:
    return [{"question": each["question"], "answer": _answer(each["answer"])} for each in answers]


def _answer(answer: Any) -> Any:
    match answer:
        case {"currency": _, "minor": _}:
            return _amount(answer)
        case {"weight_mg": _}:
            return _without(answer, "weight_mg")
        case _:
            return answer


def _without(members: Mapping[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in members.items() if key != name}


def _amount(record: Mapping[str, Any]) -> dict[str, str]:
    money = Money(record["currency"], record["minor"])
    return {"amount": decimal_text(money), "currency": money.currency}


def _prefixes(parts: Parts) -> list[str]:
    others = {int(name.split("/")[1]) for name in parts if name.startswith("party/")}
    return ["seller", *(f"party/{number}" for number in sorted(others))]


_NUMBERED = re.compile(r"(.+)/(document|photo|print|scan|signature)/(\d+)")


def _party(parts: Parts, prefix: str) -> dict[str, Any]:
    members: dict[str, Any] = {}
    documents: list[tuple[int, Any]] = []
    captures: list[dict[str, Any]] = []
    for name, value in parts.items():
        if not name.startswith(f"{prefix}/"):
            continue
        numbered = _NUMBERED.fullmatch(name)
        if numbered is None:
            what = name.removeprefix(f"{prefix}/")
            if what == "role":
                members |= value
            elif what != "obtained":
                members[what] = _answers(value) if what == "answers" else value
        elif numbered[2] == "document":
            documents.append((int(numbered[3]), value))
        else:
            captures.append(_capture(name, value))
    members["documents"] = [document for _, document in sorted(documents, key=lambda each: each[0])]
    members["captures"] = captures
    return members


def _capture(name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    taken = {"not_taken": value["not_taken"]} if "not_taken" in value else {"file": name}
    about = {key: value[key] for key in ("finger", "document") if key in value}
    return {"what": value["shows"], **taken, **about}


def _signature(parts: Parts) -> dict[str, Any]:
    value = parts.get("declaration/signature")
    if value is None:
        return {}
    if "file_received" in value:
        return {"signature": {"file": "declaration/signature"}}
    return {"signature": _without(value, "shows")}


def _payout(parts: Parts) -> dict[str, Any]:
    found = {**parts["payout/method"], "payee": parts["payout/payee"], **_amount(parts["payout/amount"])}
    if "cash_part" in found:
        found["cash_part"] = _amount(found["cash_part"])["amount"]
    if "payout/reference" in parts:
        found["reference"] = parts["payout/reference"]
    return found
