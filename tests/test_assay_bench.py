"""The assay room under many articles and many documents: `python -m tests.long simulation`, and its two neighbours.

A hundredth of each runs with the ordinary tests (tests/test_long.py).
"""

import time
from dataclasses import replace
from itertools import pairwise
from random import Random
from statistics import median

from ledger.assay import strip
from ledger.assay.evidence import read
from ledger.assay.weighing import weigh
from tests.bench import articles, documents, simulation
from tests.long import long_count

NEEDLESS = 0.02
"""Goal for solid articles of 8 g or more that are sent for a notch, on a scale of 0.01 g."""
LAYERED = ("gold-filled", "electroplate", "gilt")


@long_count("simulation", count=20_000)
def no_layered_ware_is_taken_for_solid_and_few_solids_are_notched(random: Random, count: int) -> None:
    """Of so many articles per kind and class of weight, no layered one is taken for solid gold."""
    outcome = simulation.run(random, count)
    print()
    print("\n".join(simulation.table(outcome)))
    taken = {key: cell.solid for key, cell in outcome.cells.items() if key[2] in LAYERED and cell.solid}
    assert not taken, f"taken for solid: {taken}"
    heavy = [grams for grams in simulation.CLASSES if grams[0] >= 8]
    cells = [outcome.cell(0.01, grams, "solid", "stone-set") for grams in heavy]
    notched, of = sum(cell.notch for cell in cells), sum(cell.articles for cell in cells)
    low, high = simulation.bounds(notched, of)
    print(f"Solids of 8 g or more sent for a notch: {notched} of {of}, {100 * low:.2f} to {100 * high:.2f} %.")
    assert low < NEEDLESS, f"{notched} of {of} solids of 8 g or more are sent for a needless notch"


@long_count("evidence documents", count=200_000)
def any_document_gives_an_answer(random: Random, count: int) -> None:
    """Any evidence document that the form allows gives an answer or a reason, and never an exception."""
    names = ("reading", "assessment", "strip")
    spent: tuple[list[float], ...] = ([], [], [])
    for _ in range(count):
        case = documents.case(random)
        moments = [time.perf_counter()]
        tests = read(list(case.tests))
        moments.append(time.perf_counter())
        found = weigh(tests, **case.around)
        moments.append(time.perf_counter())
        drawn = strip.svg(strip.strip(found))
        moments.append(time.perf_counter())
        for each, (start, end) in zip(spent, pairwise(moments), strict=True):
            each.append(end - start)
        documents.check(found)
        assert drawn.startswith("<svg"), case
    print(*(f"median {name} {1000 * median(each):.3f} ms;" for name, each in zip(names, spent, strict=True)))


@long_count("one more test", count=50_000)
def one_more_test_never_widens_what_is_payable_nor_does_the_order_matter(random: Random, count: int) -> None:
    """One more test never widens the payable interval without naming a conflict; order never matters."""
    for _ in range(count):
        case = documents.case(random)
        before = case.assessed()
        more = documents.test(random)
        after = case.with_one_more(more).assessed()
        if before.payable and after.payable and not set(after.conflicts) - set(before.conflicts):
            assert before.payable.within(after.payable) == after.payable, (case, more)
        surface = case.with_one_more(documents.surface(random)).assessed()
        # A density or a cut waits for a reading to be held against: with none there, the first one completes it.
        if before.construction == "undetermined" and {"surface-reading", "filed-reading"} & set(before.rules):
            assert surface.construction != "solid", (case, surface)
        shuffled = list(case.tests)
        random.shuffle(shuffled)
        assert replace(case, tests=tuple(shuffled)).assessed() == before, case


class TestTheSimulation:
    """The articles are what the table says they are, and its bounds are those of the score interval."""

    def test_the_bounds_are_those_of_wilsons_score_interval(self) -> None:
        # R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3: 81 of 263 and 0 of 20.
        low, high = simulation.bounds(81, 263)
        assert (round(low, 4), round(high, 4)) == (0.2553, 0.3662)
        assert [round(end, 4) for end in simulation.bounds(0, 20)] == [0.0, 0.1611]
        assert simulation.bounds(0, 0) == (0.0, 1.0)

    def test_a_third_of_the_solids_is_hollow_or_set_with_stones(self) -> None:
        random = Random(4)
        kinds = [articles.solid(random).kind for _ in range(600)]
        assert 0.28 < 1 - kinds.count("solid") / 600 < 0.38
        assert set(kinds) == {"solid", "hollow", "stone-set"}

    def test_every_karat_and_colour_is_an_alloy_whole_and_of_its_fineness(self) -> None:
        random = Random(5)
        for karat in articles.SOLID_KARATS:
            for colour in ("yellow", "rose", "white-nickel", "white-palladium"):
                parts = articles.alloy(random, karat / 24, colour)
                assert abs(sum(parts.values()) - 1) < 1e-9
                assert -0.002 <= parts["Au"] - karat / 24 <= 0.004

    def test_half_of_the_articles_bear_a_solid_mark_and_the_rest_none(self) -> None:
        random = Random(6)
        for make in articles.KINDS.values():
            marks = [make(random).weighing(random, 5.0).mark for _ in range(300)]
            assert 0.4 < marks.count("") / 300 < 0.6
            assert {mark[-1] for mark in marks if mark} == {"K"}

    def test_the_weighings_of_a_sound_article_give_its_density_back(self) -> None:
        # 14 karat gold-filled brass weighs about 8.7 g/cm3 whatever is on its surface.
        random = Random(7)
        for _ in range(50):
            document = articles.gold_filled(random).weighing(random, 30.0).weighing(0.01)
            air, water = float(document["air"]), float(document["water"])
            assert 8.2 < air / (air - water) < 9.3

    def test_the_table_has_a_row_for_every_scale_class_and_kind(self) -> None:
        outcome = simulation.run(Random(8), 2)
        rows = list(simulation.table(outcome))
        assert len(rows) == 2 + len(simulation.STEPS) * len(simulation.CLASSES) * len(simulation.ROWS)
        assert rows[-1].startswith("Gilt sterling")
