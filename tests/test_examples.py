"""What README and docstrings show does what they say."""

from __future__ import annotations

import doctest
import importlib
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
WITH_EXAMPLES = sorted(
    str(path.relative_to(ROOT).with_suffix("")).replace("/", ".")
    for package in ("balance", "drivers")
    for path in (ROOT / package).rglob("*.py")
    if ">>>" in path.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_docstrings(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    failed, tried = doctest.testmod(importlib.import_module(name))
    assert tried > 0
    assert failed == 0


def test_there_are_examples() -> None:
    assert "balance.notebook" in WITH_EXAMPLES


def test_readmes_lines_from_file_to_figure(tmp_path: Path) -> None:
    """The one Python block of README, run as it stands, in a fresh interpreter."""
    (block,) = re.findall(r"```python\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.S)
    assert len([line for line in block.splitlines() if line.strip()]) <= 12
    (tmp_path / "recordings").symlink_to(ROOT / "recordings")
    script = tmp_path / "example.py"
    script.write_text(block)
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "MPLBACKEND": "Agg", "PYTHONWARNINGS": "error"}
    done = subprocess.run(
        [sys.executable, script], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert re.search(r"body line \d+ mm ± \d+", done.stdout)
    assert (tmp_path / "body-line.png").stat().st_size > 5000


def test_readmes_table_of_measures_is_the_declared_one() -> None:
    from balance.measures.sway import declared

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = [
        tuple(cell.strip() for cell in line.strip("| ").split(" | "))
        for line in text.splitlines()
        if line.startswith("| `")
    ]
    shown = {row[0].strip("`"): row for row in rows if len(row) == 5}
    for m in declared():
        needs = f"{m['needs_seconds']:g} s" + (f", {m['needs_rate_hz']:g}/s" if m["needs_rate_hz"] else "")
        expected = (
            f"`{m['measure']}`",
            m["unit"],
            ", ".join(m["axes"]),
            m["formula"].replace("|", "\\|"),
            needs,
        )
        assert shown.get(m["measure"]) == expected
    assert len([name for name in shown if name in {m["measure"] for m in declared()}]) == len(declared())
