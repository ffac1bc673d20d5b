"""The standing of an article against its mark."""

from ledger.assay.assessments import Interval
from ledger.assay.tolerances import Made
from tests.assay_samples import assess, dense, filed, streak, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)


class TestLawsOfTheMark:
    """An article is below its mark only under every law that may govern it."""

    RING = (xrf(Au=555, Ag=120, Cu=325), dense(8.0, 12.9))

    def test_between_the_laws_it_is_said_and_not_decided(self) -> None:
        # 14 karat less 3 per thousand is 580.3, less half a karat 562.5: 15 USC 295 as amended in 1976 and before.
        ring = assess(*self.RING, marks="14K", grams=8.0)
        assert (ring.construction, ring.standing) == ("solid", "not-known")
        assert "below-unless-older" in ring.rules
        assert (ring.payable, ring.paid_fineness_ppm) == (Interval(545_000, 565_000), 545_000)

    def test_a_known_country_and_date_decides(self) -> None:
        new = Made.read({"country": "US", "from": "1990"})
        assert assess(*self.RING, marks="14K", grams=8.0, made=new).standing == "below"
        old = Made.read({"country": "US", "from": "1950", "to": "1975"})
        assert assess(*self.RING, marks="14K", grams=8.0, made=old).standing == "as-claimed"

    def test_a_reading_too_vague_for_the_mark_does_not_bear_it_out(self) -> None:
        vague = {**filed(Au=584, Cu=416), "uncertainty": "90"}
        ring = assess(vague, marks="14K", grams=8.0)
        assert (ring.construction, ring.standing, ring.paid_fineness_ppm) == ("solid", "not-known", 494_000)
        assert "too-vague" in ring.rules
        # A deep streak in acid for 14 karat reaches one karat below it, and bears it out.
        assert assess(streak(14, "holds", "deep"), marks="14K", grams=8.0).standing == "as-claimed"

    def test_a_worn_stamp_of_several_karats_is_no_measure(self) -> None:
        ring = assess(GOLD_14, dense(8.0, 13.1), marks="1?K", grams=8.0)
        assert (ring.construction, ring.standing, ring.claim) == ("solid", "not-known", None)
