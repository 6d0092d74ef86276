"""What firmware_notes says is what the firmware does: pins, drawings, commands."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from balance.command_line.app import app
from balance.words import SENTENCES
from tests.firmware.microcontroller import CHIPS, pins

NOTES = Path(__file__).parents[2] / "firmware_notes"


@pytest.mark.parametrize("kind", CHIPS)
def test_wiring_tables_are_the_pins(kind: str) -> None:
    text = (NOTES / "README.md").read_text(encoding="utf-8")
    heading = {"small": "**ATmega328P", "large": "**ATmega2560"}[kind]
    rows = re.findall(
        r"^\| (\d+) \| \S+ \| ([A-Z]\d) \| \d+ \| ([A-Z]\d) \|$", text[text.index(heading) :], re.M
    )[: CHIPS[kind][1]]
    expected = []
    for c in range(CHIPS[kind][1]):
        data, data_pin, clock, clock_pin = pins(kind, c)
        expected.append((str(c), f"{data.decode()}{data_pin}", f"{clock.decode()}{clock_pin}"))
    assert rows == expected


def test_drawings_are_what_the_script_makes(tmp_path: Path) -> None:
    spec = importlib.util.spec_from_file_location("drawings", NOTES / "drawings.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.main(tmp_path)
    names = sorted(path.name for path in (NOTES / "drawings").iterdir())
    assert sorted(path.name for path in tmp_path.iterdir()) == names
    for name in names:
        assert (tmp_path / name).read_bytes() == (NOTES / "drawings" / name).read_bytes()
        assert b"<title" in (tmp_path / name).read_bytes()


@pytest.mark.parametrize("name", ["README.md", "bring-up.md"])
def test_commands_and_options_exist(name: str) -> None:
    text = (NOTES / name).read_text(encoding="utf-8")
    lines = re.findall(r"bandstand ([a-z-]+)((?: [^`\n|]*)?)", text)
    commands = {command for command, _ in lines if command in {c.name or "" for c in app.registered_commands}}
    assert commands >= {"devices", "live", "calibrate"} if name == "bring-up.md" else commands
    for command in commands:
        known = CliRunner().invoke(app, [command, "--help"]).stdout
        for said, rest in lines:
            if said == command:
                for option in re.findall(r"(--[a-z-]+)", rest):
                    assert option in known, f"{command} {option}"


OTHERS = {"not in sync", "permission denied", "prepare: ready"}  # of avrdude, of the system, of .ci/prepare


def test_what_bring_up_quotes_is_what_the_program_says() -> None:
    """Where it leaves something out ('…') or a figure stands, what is between must be in one of the catalogue's sentences."""
    known = [re.sub(r"\s+", " ", str(words)).lower() for words in SENTENCES.values()]
    text = (NOTES / "bring-up.md").read_text(encoding="utf-8")
    text = re.sub(r"\s+", " ", re.sub(r"```.*?```|`[^`]*`", "", text, flags=re.S))
    quoted = set(re.findall(r"(?<![\w’])'([^']{3,160}?)'(?!\w)", text)) - OTHERS
    assert len(quoted) > 25
    for one in quoted:
        parts = [part.strip(" .:(") for part in re.split(r"…|\d[\d.]*", one.lower())]
        assert any(all(part in words for part in parts) for words in known), one
