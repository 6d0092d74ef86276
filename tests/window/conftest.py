"""Window tests run without a screen; where Qt cannot start they skip with the program's own sentence, in CI they fail. What Qt warns of
fails the test it happened in."""

from __future__ import annotations

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from collections.abc import Iterator

import pytest

from balance.window.probe import qt_problem
from balance.words import speak

HARMLESS = ("This plugin does not support",)  # of the platform without a screen


@pytest.fixture(scope="session", autouse=True)
def qt_can_start() -> None:
    problem = qt_problem()
    if problem and os.environ.get("CI") == "true":
        pytest.fail(problem)
    if problem:
        pytest.skip(problem)


@pytest.fixture(autouse=True)
def qt_warns_of_nothing(qt_can_start: None) -> Iterator[None]:
    from PySide6.QtCore import QtMsgType, qInstallMessageHandler

    said: list[str] = []

    def heard(kind: QtMsgType, _: object, text: str) -> None:
        if kind is not QtMsgType.QtInfoMsg and not text.startswith(HARMLESS):
            said.append(text)

    before = qInstallMessageHandler(heard)
    yield
    qInstallMessageHandler(before)
    speak("en")
    assert said == []
