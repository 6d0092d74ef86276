"""Another package under our names is told before anything else happens."""

from __future__ import annotations

from pathlib import Path

import pytest

from balance.command_line.alone import stranger


def installed(folder: Path, owner: str, files: dict[str, str]) -> None:
    info = folder / f"{owner}-1.0.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {owner}\nVersion: 1.0\n", encoding="utf-8")
    for name, text in files.items():
        (info / name).write_text(text, encoding="utf-8")


def test_nobody_else_has_our_names_here() -> None:
    assert stranger() is None


@pytest.mark.parametrize(
    "files",
    [
        {"RECORD": "balance/__init__.py,sha256=x,12\n"},
        {"RECORD": "other/__init__.py,,\nbalance/core.py,,\n"},
        {"top_level.txt": "balance\nother\n"},
    ],
)
def test_another_owner_is_named(
    files: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    installed(tmp_path, "scales", files)
    monkeypatch.syspath_prepend(tmp_path)
    said = stranger()
    assert said is not None
    assert "scales" in said
    assert "balance" in said


def test_a_name_that_only_begins_or_ends_like_ours_is_nobodys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    installed(tmp_path, "scales", {"RECORD": "balances/__init__.py,,\nscales/balance/x.py,,\nmydrivers/a.py,,\n", "top_level.txt": "rebalance\n"})  # fmt: skip
    monkeypatch.syspath_prepend(tmp_path)
    assert stranger() is None
