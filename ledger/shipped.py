"""Where the files that are only data lie: beside the code in a wheel, beside ledger/ in a checkout.

>>> folder("migrations").name
'migrations'
"""

from pathlib import Path

_HERE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """The folder of shipped data called name. Raises: FileNotFoundError if the installation lacks it."""
    for place in (_HERE / name, _HERE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"{name}/ is missing from this installation: looked in {_HERE} and {_HERE.parent}")
