"""The sessions in docstrings are true, because they are run."""

import doctest
import importlib
import pkgutil
from types import ModuleType

import pytest

import ledger.assay
import ledger.identity
import ledger.slip

MODULES = [
    "ledger.errors",
    "ledger.measures",
    "ledger.moments",
    *(
        found.name
        for room in (ledger.assay, ledger.identity, ledger.slip)
        for found in pkgutil.iter_modules(room.__path__, room.__name__ + ".")
    ),
]


@pytest.mark.parametrize("name", MODULES)
def test_every_session_in_a_docstring_gives_what_it_says(name: str) -> None:
    module: ModuleType = importlib.import_module(name)
    outcome = doctest.testmod(module, optionflags=doctest.ELLIPSIS)
    assert outcome.failed == 0
