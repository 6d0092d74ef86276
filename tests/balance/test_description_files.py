"""Rig, stance, calibration and scenario files: all faults at once, each with file, key and line."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balance import demo
from balance.calibration import read_calibration
from balance.files import FileProblem
from balance.rig import read_rig
from balance.simulated_person import read_scenario
from balance.stance import read_stance

READERS = {
    "rig.toml": read_rig,
    "stance.toml": read_stance,
    "calibration.json": read_calibration,
    "quiet.toml": read_scenario,
}


def test_all_faults_at_once_with_lines(tmp_path: Path) -> None:
    text = demo.path("stance.toml").read_text()
    text = text.replace("usable_length_mm = 230.0", "usable_length_mm = -3.0").replace(
        'crutches = "two"', 'crutches = "three"'
    )
    text += "colour = 4\n"
    path = tmp_path / "stance.toml"
    path.write_text(text)
    with pytest.raises(FileProblem) as caught:
        read_stance(path)
    assert len(caught.value.sentences) == 3
    for key in ("crutches", "left_foot.usable_length_mm", "right_crutch.colour"):
        (sentence,) = (x for x in caught.value.sentences if f", {key}:" in x)
        number = int(sentence.split("line ")[1].split(",")[0])
        assert key.rsplit(".", 1)[-1] in text.splitlines()[number - 1]


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize(
    "content", [b"", b"\x00\x01\xff\xfe", b"schema = 99", b'{"schema": 99}', b"[[[[", b"a" * 9_000_000]
)
def test_hostile_files_are_sentences(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(FileProblem, match=name):
        READERS[name](path)


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(sorted(READERS)), st.integers(0, 3000), st.binary(min_size=1, max_size=6))
def test_damaged_files_never_give_a_traceback(name: str, at: int, junk: bytes) -> None:
    import tempfile

    data = demo.path(name).read_bytes()
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / name
        path.write_bytes(data[:at] + junk + data[at + len(junk) :])
        with contextlib.suppress(FileProblem):  # anything else is a failure
            READERS[name](path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "no.toml", tmp_path):
        with pytest.raises(FileProblem):
            read_rig(path)
