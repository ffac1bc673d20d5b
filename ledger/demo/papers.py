"""The folder of papers that the demonstration prints, each under a name that says what it is."""

from pathlib import Path

from ledger.errors import InputError


class Papers:
    """Papers put into one folder, in the order of the story."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        self.folder = folder
        self.names: list[str] = []

    def put(self, name: str, paper: bytes | str) -> str:
        """Keep a paper under a name that is not taken. Result: the name."""
        if name in self.names:
            raise InputError(field="paper", given=name, wanted="a name that no other paper has")
        (self.folder / name).write_bytes(paper.encode() if isinstance(paper, str) else paper)
        self.names.append(name)
        return name
