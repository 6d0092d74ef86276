"""The rules of the house: who may import what, and that every sentence that is asked for exists."""

from __future__ import annotations

import ast
import re
import string
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import balance
from balance.protocols.protocol import diagram
from balance.words import SENTENCES

ROOT = Path(__file__).parents[1]
PACKAGES = ("balance", "drivers")
FILES = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))

# What only one part of the house may import, and the part that may. A name stands for itself and all below it.
OPENS_A_PORT = (
    "serial",
    "drivers.serial_board",
    "drivers.simulated_board",
    "drivers.recorded_board",
    "drivers.finder",
)
ONLY_THERE = {
    "balance/command_line": (*OPENS_A_PORT, "typer", "click", "rich"),
    "balance/window": ("PySide6", "shiboken6", "pyqtgraph"),
}


def module_of(file: Path) -> str:
    """The dotted name under which ``file`` is imported."""
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(file: Path) -> Iterator[tuple[str, int]]:
    """Every module or name that ``file`` imports anywhere in it, dotted and absolute, with its line."""
    package = module_of(file).split(".")
    if file.name != "__init__.py":
        package = package[:-1]
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            start = ".".join([*above, *([node.module] if node.module else [])])
            for alias in node.names:
                yield f"{start}.{alias.name}", node.lineno


def stands_under(name: str, top: str) -> bool:
    return name == top or name.startswith(top + ".")


def trespasses(tops: tuple[str, ...], room: str, files: list[Path]) -> list[str]:
    """'file:line imports name' for each import of ``tops`` outside the folder ``room``."""
    return [
        f"{file.relative_to(ROOT)}:{line} imports {name}"
        for file in files
        if not file.is_relative_to(ROOT / room)
        for name, line in imports(file)
        if any(stands_under(name, top) for top in tops)
    ]


def test_the_search_sees_imports_of_every_kind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    room = tmp_path / "balance"
    room.mkdir()
    file = room / "wrong.py"
    file.write_text(
        "import serial.tools\nfrom drivers import finder\nfrom drivers.serial_board import SerialBoard\n"
        "def later():\n    from rich.text import Text\nfrom . import window\nfrom .words import say\n"
    )
    monkeypatch.setitem(globals(), "ROOT", tmp_path)
    found = [name for name, _ in imports(file)]
    here = ["balance.window", "balance.words.say"]
    others = ["drivers.finder", "drivers.serial_board.SerialBoard", "rich.text.Text", "serial.tools"]
    assert sorted(found) == [*here, *others]
    assert len(trespasses(ONLY_THERE["balance/command_line"], "balance/command_line", [file])) == 4


def test_drivers_know_nothing_of_balance() -> None:
    drivers = [file for file in FILES if file.is_relative_to(ROOT / "drivers")]
    assert drivers
    assert trespasses(("balance",), "balance", drivers) == []


@pytest.mark.parametrize("room", ONLY_THERE)
def test_only_one_room_imports(room: str) -> None:
    files = [file for file in FILES if file.is_relative_to(ROOT / "balance")]
    assert any(file.is_relative_to(ROOT / room) for file in files)
    assert trespasses(ONLY_THERE[room], room, files) == []


def test_drivers_draw_and_print_nothing() -> None:
    drivers = [file for file in FILES if file.is_relative_to(ROOT / "drivers")]
    assert (
        trespasses(("typer", "rich", "PySide6", "pyqtgraph", "pandas", "pydantic"), "balance", drivers) == []
    )


def test_the_catalogue_imports_nothing_but_itself() -> None:
    words = [file for file in FILES if file.is_relative_to(ROOT / "balance" / "words")]
    found = {name for file in words for name, _ in imports(file)}
    tops = {name.split(".")[0] for name in found if not name.startswith("balance.words")}
    assert tops - sys.stdlib_module_names == set()


def test_the_simulated_person_has_statics_of_its_own() -> None:
    person = [file for file in FILES if file.is_relative_to(ROOT / "balance" / "simulated_person")]
    assert person
    arithmetic = ("balance.load_line", "balance.support", "balance.monitor", "balance.analysis")
    assert trespasses(arithmetic, "drivers", person) == []


# --- sentences ---


def string_arguments(file: Path, function: str) -> Iterator[tuple[str, set[str] | None, int]]:
    """(first argument, keyword names or None where ** is used, line) of calls to ``function`` with a literal."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Call) and node.args):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", None)
        first = node.args[0]
        if name == function and isinstance(first, ast.Constant) and isinstance(first.value, str):
            keywords = {word.arg for word in node.keywords}
            named = {word for word in keywords if word is not None}
            yield first.value, None if None in keywords else named, node.lineno


def places(sentence: str) -> set[str]:
    """The names in braces that a sentence wants filled."""
    fields = (field for _, field, _, _ in string.Formatter().parse(sentence) if field is not None)
    return {re.split(r"[.\[]", field)[0] for field in fields}


def test_every_sentence_that_is_said_exists_with_its_facts() -> None:
    said = [(file, *call) for file in FILES for call in string_arguments(file, "say")]
    assert said
    wrong = []
    for file, key, facts, line in said:
        where = f"{file.relative_to(ROOT)}:{line}"
        if key not in SENTENCES:
            wrong.append(f"{where} says {key!r}, which is not in the catalogue")
        elif facts is not None and not places(SENTENCES[key]) <= facts:
            wrong.append(f"{where} leaves out {sorted(places(SENTENCES[key]) - facts)} of {key!r}")
    assert wrong == []


def test_every_code_of_the_drivers_has_a_sentence() -> None:
    """Codes are the only strings in drivers that look like 'link.lost': two words with a point between."""
    sections = {key.split(".")[0] for key in SENTENCES}
    codes = {
        node.value
        for file in FILES
        if file.is_relative_to(ROOT / "drivers")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if re.fullmatch(r"[a-z]+\.[a-z]+(-[a-z0-9]+)*", node.value) and node.value.split(".")[0] in sections
    }
    assert codes
    assert codes - set(SENTENCES) == set()


def test_no_sentence_stands_in_two_sections() -> None:
    source = (ROOT / "balance" / "words" / "english.py").read_text(encoding="utf-8")
    keys = [
        key.value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Dict)
        for key in node.keys
        if isinstance(key, ast.Constant)
    ]
    assert sorted(keys) == sorted(set(keys))
    assert set(keys) == set(SENTENCES)


def test_the_readme_carries_every_caution() -> None:
    """And the sentence with which each summary ends."""
    flat = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    cautions = [SENTENCES[key] for key in SENTENCES if re.fullmatch(r"caution\.(\d+|not-examined)", key)]
    assert len(cautions) > 5
    assert [caution for caution in cautions if caution not in flat] == []


def test_the_developers_page_shows_the_trials_states() -> None:
    assert f"```text\n{diagram()}\n```" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


# --- what is promised of starting up ---


@pytest.mark.parametrize("module", ["balance", "balance.__main__"])
def test_starting_imports_nothing_heavy(module: str) -> None:
    """``bandstand --help`` and ``import balance`` load no numbers, files, tables or window."""
    heavy = ("numpy", "scipy", "pandas", "pydantic", "PySide6", "pyqtgraph", "serial")
    code = f"import sys, {module}; print(*sorted(set({heavy!r}) & set(sys.modules)))"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True, timeout=60
    )
    assert run.stdout.split() == []


def test_the_version_stands_in_one_place() -> None:
    assert 'path = "balance/__init__.py"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert re.fullmatch(r"\d+\.\d+\.\d+", balance.__version__)
