"""The traits of an item as the shop recorded it, and the tokens under which a likeness is looked up.

Decides: what of a recorded item can be compared, and how traits become words of an index: a measure falls into a
step of its scale, and a question asks for the steps beside it too. The seller's own words are no trait.
Leaves to `ledger.book.words_index` the index, to `ledger.acts.matching` the search.

>>> from ledger.likeness.traits import read
>>> found = tokens(read("rose gold signet ring, size 7"))
>>> "~signet" in found and "~rose" in found
True
"""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from ledger.likeness.lexicon import BY_NAME
from ledger.likeness.traits import Traits, alike_digits, read, serial
from ledger.slip.document import Item, NotKnown, Stone, listed


def traits_of(item: Item) -> Traits:
    """The traits of a recorded item: its words, and its sizes and weights as they were measured."""
    said = read(", ".join(_words(item)))
    sizes = listed(item.sizes)
    ring = [size.um for size in sizes if size.what == "ring" and size.um]
    inner = [round(size.um * math.pi) for size in sizes if size.what == "inner-diameter" and size.um]
    others = [size.um for size in sizes if size.what != "ring" and size.um]
    weights = [weighing.weight.mg for weighing in item.weighings if weighing.what in ("gross", "net", "piece")]
    serials = {serial(one.text) for one in listed(item.serials) if isinstance(one.text, str)}
    return replace(
        said,
        round_um=(*ring, *inner),
        lengths_um=(*others, *said.lengths_um),
        weights_mg=tuple(int(weight) for weight in weights),
        pieces=item.pieces if item.kind == "set" else said.pieces,
        serials=frozenset(one for one in serials if len(one) >= 3),
        gem_centicarats=tuple(int(stone.carats.mg) // 2 for stone in listed(item.stones) if stone.carats is not None),
    )


def _words(item: Item) -> Iterator[str]:
    yield from _texts(item.style, item.article)
    yield from _texts(item.wearer and f"{item.wearer} wearer")
    yield from _texts(isinstance(item.metal_colour, str) and f"{item.metal_colour} metal")
    yield from (_mark(mark.text) for mark in listed(item.marks))
    yield from (_stone(stone) for stone in listed(item.stones))
    yield from _texts(item.maker, item.model)
    yield from (f'inscribed "{inscription.text}"' for inscription in listed(item.inscriptions))
    yield from _texts(item.damage, item.alteration, item.contents)


def _texts(*values: object) -> Iterator[str]:
    return (value for value in values if isinstance(value, str) and value)


def _mark(text: str) -> str:
    """A mark; a number of a maker is not to be read as a size."""
    return re.sub(r'"', "", text)


def _stone(stone: Stone) -> str:
    count = None if isinstance(stone.count, NotKnown) else str(stone.count)
    words = (count, stone.colour, stone.shape, stone.cut, stone.species, "stone", stone.setting)
    return " ".join(word for word in words if word)


class Sought(NamedTuple):
    """One trait that a question asks for: what it is worth, and the tokens of which one is enough."""

    tenths: int
    tokens: tuple[str, ...]


def tokens(traits: Traits) -> tuple[str, ...]:
    """The tokens under which an article with these traits is found. None of them is a word of a description."""
    found = [f"~{name}" for names in traits.features.values() for name in sorted(names)]
    found += [f"~k{_karat(ppm)}" for ppm in sorted(traits.fineness_ppm)]
    found += [f"~l{_step(um, _FINE)}" for um in traits.lengths_um]
    found += [f"~r{um // _RING}" for um in traits.round_um]
    found += [f"~m{_step(mg, _COARSE)}" for mg in traits.weights_mg]
    found += [f"~d{day:%Y%m%d}" for written in traits.dates for day in sorted(written.days)]
    found += [f"~{year}" for year in sorted(_years(traits))]
    found += [f"~i{letters}" for letters in sorted(traits.initials)]
    found += [f"~n{name[:_PREFIX]}" for name in sorted(traits.names)]
    found += [f"~s{alike_digits(one)}" for one in sorted(traits.serials)]
    found += [f"~g{count}" for count, _ in traits.gems if count > 1]
    return tuple(dict.fromkeys(found))


def sought(traits: Traits) -> tuple[Sought, ...]:
    """What a question asks an index for, trait by trait, the most telling first."""
    found = [
        Sought(BY_NAME[name].tenths, (f"~{name}",)) for names in traits.features.values() for name in sorted(names)
    ]
    found += [Sought(10, (f"~k{_karat(ppm)}",)) for ppm in traits.fineness_ppm]
    found += [Sought(20, _steps("~l", um, max(1_000, um // 40), _FINE)) for um in traits.lengths_um]
    found += [Sought(12, _rings(um)) for um in traits.round_um]
    found += [Sought(20, _steps("~m", mg, max(200, mg // 20), _COARSE)) for mg in traits.weights_mg]
    found += [Sought(40, tuple(f"~d{day:%Y%m%d}" for day in sorted(one.days))) for one in traits.dates]
    found += [Sought(25, (f"~{year}",)) for year in _years(traits)]
    found += [Sought(35, _letters(letters)) for letters in traits.initials]
    found += [Sought(30, (f"~n{name[:_PREFIX]}",)) for name in traits.names]
    found += [Sought(60, (f"~s{alike_digits(one)}",)) for one in traits.serials]
    found += [Sought(12, (f"~g{count}",)) for count, _ in traits.gems if count > 1]
    return tuple(sorted(found, key=lambda one: (-one.tenths, one.tokens)))


_FINE, _COARSE, _RING, _PREFIX = 1.01, 1.02, 700, 4


def _karat(ppm: int) -> int:
    return round(ppm * 48 / 1_000_000)


def _step(value: int, ratio: float) -> int:
    return round(math.log(max(value, 1)) / math.log(ratio))


def _steps(letter: str, value: int, within: int, ratio: float) -> tuple[str, ...]:
    """Every step of a scale that holds a value within so much of this one."""
    low, high = _step(value - within, ratio), _step(value + within, ratio)
    return tuple(f"{letter}{step}" for step in range(low, high + 1))


def _rings(um: int) -> tuple[str, ...]:
    return tuple(f"~r{step}" for step in range((um - _RING) // _RING, (um + _RING) // _RING + 1))


def _years(traits: Traits) -> set[int]:
    return {*traits.years, *(day.year for written in traits.dates for day in written.days)}


def _letters(letters: str) -> tuple[str, ...]:
    swapped = f"{letters[0]}{letters[2]}{letters[1]}" if len(letters) == 3 else letters
    return tuple(dict.fromkeys((f"~i{letters}", f"~i{swapped}", f"~i{letters}s")))
