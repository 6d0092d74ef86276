"""Window tests run without a screen; where Qt cannot start they skip with the program's own sentence, in CI they fail."""

from __future__ import annotations

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest

from balance.window.probe import qt_problem


@pytest.fixture(scope="session", autouse=True)
def qt_can_start() -> None:
    problem = qt_problem()
    if problem and os.environ.get("CI") == "true":
        pytest.fail(problem)
    if problem:
        pytest.skip(problem)
