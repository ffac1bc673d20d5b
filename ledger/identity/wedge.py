"""What a scanner that types like a keyboard gave of a licence's barcode, brought back to what the card says.

Decides: where a payload begins among keys that were typed before it, that capitals were switched on while it was typed,
and what two scans in one go are. Control characters that were changed or doubled are read by `licence` as they stand.
Leaves to others: catching the keys without sending the form (the page), what the payload says (`licence`).
Source: how scanners change a payload is common experience, no published source; the header is that of AAMVA's card
design standard, annex D.

>>> read("xx\\tansi 6360001001").why_not
'The scan was cut off (number, birth, expiry, name, street, city, state, postcode missing): scan again.'
"""

import re

from ledger.identity import licence
from ledger.identity.licence import Licence

_HEADER = re.compile(r"(?:ANSI ?|AAMVA)\d{8}", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x1f]")
_RUN_TOGETHER = 120
"""characters: a text as long as this that holds no control character has lost them"""


def read(typed: str) -> Licence:
    """The card that a scanner typed. Nothing is raised: what cannot be read says so.

    A scan that was broken off and then made whole counts as the whole one; two scans of one card as one.
    """
    payloads = _payloads(typed)
    if not payloads:
        return licence.read(typed)
    cards = [licence.read(payload) for payload in payloads]
    whole = [card for card in cards if not card.why_not]
    if not whole:
        return _broken(payloads[-1], cards[-1])
    if any(card.party != whole[0].party for card in whole):
        return Licence(why_not="Two different cards were scanned: empty the box and scan one.")
    return whole[0]


def _payloads(typed: str) -> list[str]:
    """Each piece from a header on, its letters turned back where capitals were switched on."""
    starts = [found.start() for found in _HEADER.finditer(typed)]
    ends = [*starts[1:], len(typed)]
    pieces = [typed[start:end].rstrip("@\x00") for start, end in zip(starts, ends, strict=False)]
    return [piece.swapcase() if piece.startswith(("ansi", "aamva")) else piece for piece in pieces]


def _broken(payload: str, card: Licence) -> Licence:
    if len(payload) >= _RUN_TOGETHER and not _CONTROL.search(payload.strip()):
        return Licence(
            version=card.version,
            why_not="The scanner leaves out what stands between the elements: switch its control characters on, or"
            " photograph the barcode.",
        )
    return card
