"""The vectors of the chain are what `tests.make_vectors` makes."""

from pathlib import Path

import pytest

from tests import make_vectors


class TestVectors:
    """Nothing is drawn at random: `--check` makes the files again and demands no difference."""

    def test_the_tree_is_what_is_made_now(self) -> None:
        assert list(make_vectors.differences(make_vectors.FOLDER)) == []

    def test_every_lie_is_told_at_least_once(self) -> None:
        assert [name for name, text in make_vectors.files().items() if text == "[]\n"] == []

    def test_check_finds_what_is_missing_changed_and_left_over(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert make_vectors.main([], tmp_path) == 0
        assert make_vectors.main(["--check"], tmp_path) == 0
        (tmp_path / "inclusion" / "happy.json").unlink()
        (tmp_path / "seal" / "happy.json").write_text("[]\n")
        (tmp_path / "seal" / "old-lie.json").write_text("[]\n")
        (tmp_path / "published").mkdir()
        (tmp_path / "published" / "standard.json").write_text("[]\n")
        assert make_vectors.main(["--check"], tmp_path) == 1
        assert capsys.readouterr().out.splitlines() == [
            "inclusion/happy.json is missing.",
            "seal/happy.json differs from what is made now.",
            "seal/old-lie.json is no longer made.",
        ]
        assert make_vectors.main([], tmp_path) == 0
        assert make_vectors.main(["--check"], tmp_path) == 0
        assert (tmp_path / "published" / "standard.json").exists()
