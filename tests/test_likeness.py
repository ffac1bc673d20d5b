"""Whether two descriptions may speak of one article.

The pairs are invented; what is difficult about each comes from what authorities and owners are known to write:
38 Rules of the City of New York chapter 21 (stones by number and type, marks with their words), Chicago police order
S07-01-03 ("yellow metal", "clear stone"), the wording of stolen lists that police officers complained of ("man's
ring, gold"). That each must or must not be strong is the project's own demand.
"""

from math import log2
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.likeness import articles, lexicon
from ledger.likeness.chance import bits
from ledger.likeness.comparing import STRENGTHS, compare
from ledger.likeness.ranking import Ranked, rank, telling
from ledger.likeness.traits import Traits, read
from ledger.slip import building
from tests import stolen_goods
from tests.long import long_count

STRONG = [
    (
        'Mom\'s thin plain wedding band, inside it says "To Ruth from Al 6-12-58"',
        'Band 14K YG 2 mm plain sz 6 2.1 g, int. engr. "R fr A 6.12.58"',
    ),
    (
        "white gold engagement ring, round 1 carat, six prongs, size six and a half",
        "LR 18KWG sol RBC 1.01ct est, 6.5 mm, 6-prg, sz 6.5, 3.1 g",
    ),
    ("18 carat gold necklace, flat links, 18 inch", "Chain 750 YG flat curb 45.7cm 7.8 g"),
    ("silver turqoise bracelet, open at the back", "925 cuff 5 oval cab turq., STERLING, 31.2 g, gap 25 mm"),
    (
        "class ring Lincoln High 1987 blue stone, JTM inside",
        'Gents school ring 10KYG syn. blue spinel "LHS \'87" int "J.T.M." 12.4 g sz 10',
    ),
    ('rope chain 24" gold 6mm', "14K rope 61 cm 6 mm hollow 18.7 g"),
    ("six 22 karat bangles from abroad, 2 tolas each, size 2-6", "Set 6 bangles 916 ID 60 mm 139.9 g tot"),
    ("gold cross with Jesus on it and the chain", "Lot: crucifix 14K 30 mm; figaro 14K 20in"),
    ("Star of David, gold, small diamond in middle", "Pend. 6-pt star (Magen David) 14KYG 1 RD .03"),
    (
        "granddad's gold pocket watch, an Aldergate, lid pops open",
        "Hunter case PW Aldergate 10K RGP case 447120 mvt 1988220",
    ),
    ("Marvelle ladies watch black strap", "Marvel LWW qtz blk lthr"),
    (
        "two-strand pearls, knotted, fancy clasp with blue stone",
        "Dbl str cult pearls 7 mm 16/17in 14KWG clasp 1 blue st",
    ),
    (
        "two-strand pearls, knotted, fancy clasp with blue stone",
        "double strand pearl-colored beads 7 mm 16/17in white metal clasp 1 blue stone",
    ),
    ("wedding ring inner width 19.3 mm, 18k, J & M 2011", 'Gents band 750 sz 9.5 6.2 g "J+M 2011"'),
    ("ring European size 54, three small sapphires", "LR 14K 3 rd blue st sz 7"),
    ("one gold hoop, an inch across, thief left the other", "SINGLE hoop 14K 25 mm hinged 1.4 g"),
    ("square cuff links monogram WJB", 'Pr cufflinks 14K sq. mono "WBJ"'),
    ("gold coin necklace, lady's head, 1906", "US $5 Lib 1906-D in 14K rope bezel 10.9 g tot"),
    ("figaro bracelet 8 inches", "Scrap 14K figaro BROKEN 2 pcs 12.2 + 8.1 cm 12.4 g"),
    ("heart locket, my son's picture", "Heart locket 1/20 12K GF, 1 photo (boy) kept"),
    ("mother's ring, January, May and October stones", "10K ring 3 st marquise red/green/pink"),
    ("Irish ring, two hands and a heart with a crown", "Claddagh 925 sz 5.5 Dublin mk"),
]
POSSIBLE = [
    ("emerald ring, square green stone, small diamonds", "YG ring, green stone sq. step cut 6 mm, 2 bag. clear"),
    ("cartouche from abroad with my name in hieroglyphs", "Oblong pendant 18K, raised figures, foreign mark, 4.7 g"),
    ("brooch like a bee", "Pin, insect, enamel/18K, 6 RD"),
    ('ring "AMB 5/6/99"', 'Band 14K "AMB 6/5/99"'),
    ('14K rope chain 24" 6mm', "10K rope 61 cm 6 mm"),
    ("watch serial 41O7", "watch case 4107"),
]


class TestPairs:
    """The same article in two people's words is found; what only looks alike is not called strong."""

    @pytest.mark.parametrize(("victim", "shop"), STRONG)
    def test_the_same_article_is_a_strong_match(self, victim: str, shop: str) -> None:
        found = compare(read(victim), read(shop))
        assert found.strength == "strong", found

    @pytest.mark.parametrize(("victim", "shop"), POSSIBLE)
    def test_what_a_person_must_judge_is_possible(self, victim: str, shop: str) -> None:
        found = compare(read(victim), read(shop))
        assert found.strength == "possible", found

    def test_other_length_and_other_karat_are_no_match(self) -> None:
        found = compare(read("gold chain 18 in, 14K"), read("Chain 18K, 14 in"))
        assert found.strength in ("no", "weak")
        assert any("fineness" in words for words in found.disagrees)
        assert "length differs" in found.disagrees

    def test_a_common_article_is_weak_though_everything_agrees(self) -> None:
        found = compare(read("plain 14K wedding band size 7"), read("Band 14K YG plain sz 7 2.5 g"))
        assert found.strength == "weak"

    def test_an_appraised_karat_that_differs_rules_the_article_out(self) -> None:
        victim, shop = read('14K rope chain 24" 6mm'), read("10K rope 61 cm 6 mm")
        assert compare(victim, shop, appraised=True).strength == "no"

    def test_exchanged_digits_are_another_serial_number(self) -> None:
        assert compare(read("watch serial 4107"), read("watch case 4701")).strength == "no"

    def test_another_kind_of_article_is_no_match(self) -> None:
        found = compare(read('gold ring "AMB"'), read('gold brooch "AMB"'))
        assert found.strength == "no"

    def test_part_of_a_serial_number_counts(self) -> None:
        found = compare(read("hunter pocket watch serial 8220"), read("Hunter case PW mvt 1988220"))
        assert "part of the serial number" in found.agrees


class TestReading:
    """A number is what its unit and its neighbours make it, and nothing without them."""

    def test_carat_is_fineness_of_gold_and_weight_of_a_stone(self) -> None:
        assert read("18 carat gold").fineness_ppm == {750_000}
        assert read("1 carat diamond").gem_centicarats == (100,)

    def test_sizes_of_three_systems_are_one_circumference(self) -> None:
        (us,), (iso,) = read("ring size 7").round_um, read("ring size 54").round_um
        assert abs(us - iso) < 700

    def test_every_phrase_of_the_lexicon_is_read_as_its_feature(self) -> None:
        for concept in lexicon.CONCEPTS:
            for phrase in concept.phrases:
                assert concept.name in {name for names in read(phrase).features.values() for name in names}, phrase

    @given(st.text(max_size=200), st.text(max_size=200))
    def test_any_two_texts_can_be_compared(self, one: str, other: str) -> None:
        found = compare(read(one), read(other))
        assert found.strength in STRENGTHS

    @given(st.text(alphabet="0123456789.,/-\"'kKgcm in", max_size=80))
    def test_any_row_of_figures_can_be_read(self, text: str) -> None:
        assert isinstance(read(text), Traits)

    @pytest.mark.parametrize("victim", [victim for victim, _ in STRONG])
    def test_reasons_do_not_depend_on_the_side(self, victim: str) -> None:
        one, other = read(victim), read(victim)
        assert compare(one, other) == compare(other, one)
        assert not compare(one, other).disagrees


@long_count("stolen-list", count=100_000)
def a_stolen_list_finds_its_articles(random: Random, count: int) -> None:
    """Of 60 articles that a book has in other words 57 are in the first three; of 140 others at most 7 are strong."""
    held = [stolen_goods.article(random) for _ in range(count)]
    index: dict[str, list[int]] = {}
    traits = []
    for number, one in enumerate(held):
        found = articles.traits_of(building.item(one.item, "item"))
        traits.append(found)
        for token in articles.tokens(found):
            index.setdefault(token, []).append(number)
    counts = {token: len(numbers) for token, numbers in index.items()}

    def ranked(words: str) -> list[Ranked]:
        wanted = read(words)
        worth: dict[int, float] = {}
        for one in articles.sought(wanted):
            bearing = {number for token in one.tokens for number in index.get(token, ())}
            for number in bearing:
                worth[number] = worth.get(number, 0.0) + bits(len(bearing), count, one.tenths)
        best = sorted(worth, key=lambda number: -worth[number])[:100]
        return rank(wanted, {(number, 1): traits[number] for number in best}, counts, count)

    # Of "gold, plain, ring" nobody can say which; a listed article is one whose words tell it from the others.
    shuffled = random.sample(range(count), count)
    truth = [number for number in shuffled if telling(read(held[number].words), counts, count) > log2(count) + 5][:60]
    firsts = sum((number, 1) in [one.key for one in ranked(held[number].words)[:3]] for number in truth)
    others = [ranked(stolen_goods.article(random).words) for _ in range(140)]
    strays = sum(any(one.likeness.strength == "strong" for one in found) for found in others)
    assert firsts >= 57, f"{firsts} of 60 among the first three"
    assert strays <= 7, f"{strays} of 140 strong"
