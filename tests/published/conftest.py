"""Says at the end how many checks were skipped for want of open data."""

from __future__ import annotations

from typing import Any

from tests.published.open_data import SKIPPED


def pytest_terminal_summary(terminalreporter: Any) -> None:
    terminalreporter.write_line(f"checks skipped for want of open data: {len(SKIPPED)}")
