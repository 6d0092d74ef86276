"""Inputs led by which code they reach, for the same readers as `hostile`; by hand, with the extra `fuzz`.

`python -m tests.faults.guided 600` gives all of them together so many seconds, one after the other; `… 60 rig` one of them alone. What is
found is kept as a case in test_hostile.py.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Callable
from pathlib import Path

Attempt = Callable[[bytes], None]
RECORDING = ("trial.json", "samples.csv", "events.csv")


def attempts(scratch: Path) -> dict[str, tuple[bytes, Attempt]]:
    """Name → a valid input, and what takes any."""
    from tests.faults import hostile

    def of_file(name: str, read: Callable[[Path], object]) -> Attempt:
        def attempt(data: bytes) -> None:
            (scratch / name).write_bytes(data)
            with contextlib.suppress(*hostile.ALLOWED):
                read(scratch / name)

        return attempt

    def of_recording(name: str) -> Attempt:
        def attempt(data: bytes) -> None:
            (scratch / name).write_bytes(data)
            with contextlib.suppress(*hostile.ALLOWED):
                json.dumps(hostile.analyse_recording(scratch, basic=True), allow_nan=False)

        for other, whole in hostile.whole_recording().items():
            (scratch / other).write_bytes(whole)
        return attempt

    mapping = hostile.read_mapping(hostile.DATA / "one_plate.toml")
    return {
        **{key: (valid, of_file(name, read)) for key, (name, valid, read) in hostile.FILES.items()},
        "import table": (hostile.TABLE, of_file("table.txt", lambda path: hostile.read_table(path, mapping))),
        **{name: (hostile.whole_recording()[name], of_recording(name)) for name in RECORDING},
        "wire": (hostile.wire.encode_samples(1, 2, 0, [0] * 6, [1] * 6, [7] * 6), as_sent),
        "board": (board_says(), as_a_board),
    }


def board_says() -> bytes:
    """HELLO, three SAMPLES, STATUS: each payload behind its length less one."""
    from drivers import wire

    hello = wire.Hello(1, 0, (1, 0, 0), 2, 1, 6, 1, 128, 800, 500_000, b"FLOOR-01", 0)
    status = wire.Status(1000, 0, 0, 0, 0, 0)
    frames = [wire.encode_samples(k, 12_500 * k, 0, [0] * 6, [-5] * 6, [k] * 6) for k in range(3)]
    payloads = [(wire.cobs_decode(one[:-1]) or b"")[:-4] for one in (wire.encode(hello), *frames, wire.encode(status))]  # fmt: skip
    return b"".join(bytes([len(payload) - 1]) + payload for payload in payloads)


def as_sent(data: bytes) -> None:
    """The bytes of a line."""
    from drivers import wire

    decoder = wire.Decoder()
    decoder.feed(data)
    assert decoder.decoded + decoder.skipped + decoder.pending == len(data)


def as_a_board(data: bytes) -> None:
    """Payloads with a right checksum, which chance never makes, up to the blocks: length, payload, length, …; a time passes between."""
    import numpy as np

    from drivers import wire
    from drivers.assembly import Assembly
    from drivers.samples import BoardInfo, SampleBlock

    assembly = Assembly(BoardInfo("", "1.0", "", 1, 0, 6, 1, 128, 80.0, 0))
    at, now_s, newest = 0, 0.0, -1
    while at < len(data):
        length = 1 + data[at] % wire.MAX_PAYLOAD
        for item in assembly.feed(wire.frame(data[at + 1 : at + 1 + length] or b"\5"), now_s):
            if isinstance(item, SampleBlock):
                assert (np.diff(item.sequence, prepend=newest) > 0).all()
                newest = int(item.sequence[-1])
        now_s += 0.02 if data[at] < 250 else 2000.0
        at += 1 + length


def one(name: str, seconds: int) -> None:
    """Ends the process: the engine does."""
    import atheris

    with atheris.instrument_imports(include=["balance", "drivers", "tomllib"]), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # other packages', as they are loaded
        scratch = Path(tempfile.mkdtemp(prefix="guided-"))
        valid, attempt = attempts(scratch)[name]
    warnings.simplefilter("error")
    attempt(valid)  # loads what is loaded when first needed
    corpus = scratch / "corpus"
    corpus.mkdir()
    (corpus / "valid").write_bytes(valid)
    limits = [f"-max_total_time={seconds}", "-timeout=10", "-rss_limit_mb=1500", f"-max_len={2 * len(valid) + 200}", "-print_final_stats=1"]  # fmt: skip
    atheris.Setup([sys.argv[0], *limits, f"-artifact_prefix={scratch}/", str(corpus)], attempt)
    atheris.Fuzz()


def main() -> None:
    seconds, names = int(sys.argv[1]), sys.argv[2:]
    if len(names) == 1:
        return one(names[0], seconds)
    with tempfile.TemporaryDirectory() as scratch:
        names = list(attempts(Path(scratch)))
    for name in names:
        line = [sys.executable, "-m", "tests.faults.guided", str(max(seconds // len(names), 1)), name]
        done = subprocess.run(line, capture_output=True, text=True, errors="replace", check=False)
        said = done.stdout + done.stderr
        told = [part for part in said.splitlines() if "number_of_executed_units" in part or " cov: " in part]
        print(f"{name}: status {done.returncode}", *told[-2:], sep="\n  ", flush=True)
        if done.returncode:
            print(said[-3000:], flush=True)
    return None


if __name__ == "__main__":
    main()
