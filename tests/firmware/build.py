"""The firmware's binaries, its protocol for the host and the simulator around it, made once a test run."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path

import pytest

HERE = Path(__file__).parent
REFERENCE = HERE.parents[1] / "firmware_notes" / "reference"


def _lacks(what: str) -> None:
    """Without the tools these tests cannot run; in CI that is a failure."""
    reason = f"{what} is missing: apt-get install gcc-avr avr-libc libsimavr-dev make gcc"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@cache
def built() -> Path:
    """The folder with small.elf, large.elf, protocol.so and simulator.so."""
    for tool in ("avr-gcc", "make", "cc"):
        if shutil.which(tool) is None:
            _lacks(tool)
    if not Path("/usr/include/simavr/sim_avr.h").exists():
        _lacks("simavr")
    out = Path(tempfile.mkdtemp(prefix="firmware-"))
    _run(["make", "-C", REFERENCE, f"OUT={out}"])
    _run(
        [
            "cc",
            "-Wall",
            "-Wextra",
            "-Werror",
            "-O2",
            "-shared",
            "-fPIC",
            "-o",
            out / "simulator.so",
            HERE / "simulator.c",
            "-lsimavr",
        ]
    )
    return out


def _run(line: list[object]) -> None:
    done = subprocess.run([str(word) for word in line], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
