"""The rig tells on itself: each fault is made, seen, and named; what is healthy stays silent."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from balance.command_line.setting_up import demo_floor
from balance.forces import cell_forces
from balance.self_checks import SelfWatch, Trouble, pieces, troubles
from drivers.samples import CHANNEL_STUCK, CHANNEL_TIMEOUT, COUNTS_MAX, SampleBlock

FLOOR = demo_floor()
CELLS = cell_forces(FLOOR.rig, FLOOR.calibration)
RATE_HZ = 80.0


def standing(seconds: float = 6.0, *, kg: float = 70.0, noise_n: float = 0.05, rate_hz: float = RATE_HZ, seed: int = 1) -> SampleBlock:  # fmt: skip
    """Somebody stands evenly on the eight foot cells and sways; the crutches hang free."""
    rng = np.random.default_rng(seed)
    n = int(seconds * rate_hz)
    t = np.arange(n) / rate_hz
    forces = rng.normal(0, noise_n, (n, 10))
    forces[:, :8] += kg * 9.80665 / 8 * (1 + 0.2 * np.sin(2 * np.pi * 0.3 * t))[:, None]
    counts = np.stack(
        [np.rint(f / c.a1 + c.zero_counts) for f, c in zip(forces.T, CELLS, strict=True)], axis=1
    )
    us = np.rint(t * 1e6).astype(np.int64)
    return SampleBlock(np.arange(n), us, np.zeros(n, dtype=np.int64), counts.astype(np.int64))


def with_force(block: SampleBlock, channel: int, extra_n: np.ndarray | float) -> SampleBlock:
    counts = block.counts.copy()
    counts[:, channel] += np.rint(np.asarray(extra_n) / CELLS[channel].a1).astype(np.int64)
    return dataclasses.replace(block, counts=counts)


def with_counts(block: SampleBlock, channel: int, value: int) -> SampleBlock:
    counts = block.counts.copy()
    counts[:, channel] = value
    return dataclasses.replace(block, counts=counts)


def with_status(block: SampleBlock, channel: int, status: int) -> SampleBlock:
    return dataclasses.replace(block, status=block.status | (status << (8 + 2 * channel)))


def seen(block: SampleBlock, nominal_hz: float | None = RATE_HZ) -> list[Trouble]:
    return troubles(block, FLOOR.rig, CELLS, nominal_hz)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("kg", [0.0, 70.0])
def test_a_healthy_rig_says_nothing(seed: int, kg: float) -> None:
    assert seen(standing(kg=kg, seed=seed)) == []


T = np.arange(480) / RATE_HZ


@pytest.mark.parametrize(
    ("block", "code", "words"),
    [
        (with_status(standing(), 3, CHANNEL_TIMEOUT), "cell-dead", "channel 3) does not answer"),
        (with_status(standing(), 3, CHANNEL_STUCK), "cell-stuck", "channel 3) repeats one reading"),
        (with_counts(standing(), 2, 123_456), "cell-stuck", "channel 2)"),
        (with_counts(standing(), 4, COUNTS_MAX), "cell-saturated", "channel 4) is at the end of its converter"),
        (with_force(standing(), 5, np.random.default_rng(3).normal(0, 3, 480)), "cell-noisy", "channel 5) is noisy: 3"),
        (with_force(standing(noise_n=1.0), 6, -1.0), None, ""),
        (with_force(standing(kg=0), 1, 15.0), "cell-loaded-empty", "channel 1) shows +15 N with nobody"),
        (with_force(standing(kg=0), 1, 3.0), "zero-drifted", "+3.0 N with nobody on its plate (at most 1.5 N)"),
        (with_force(standing(kg=0), 1, 1.0), None, ""),
        (with_force(standing(), 7, 430.0), "beyond-capacity", "more than its 500 N"),
        (standing(kg=130), "person-too-heavy", "kg on the plates, built for 120 kg"),
        (with_force(standing(), 0, np.sin(2 * np.pi * 50 * T)), "mains-hum", "50 Hz (seen at 30 Hz) on channel 0"),
        (with_force(standing(), 0, np.sin(2 * np.pi * 60 * T)), "mains-hum", "60 Hz (seen at 20 Hz) on channel 0"),
        (standing(rate_hz=77.0), "rate-differs", "77.00 samples a second; 80.00"),
    ],
)  # fmt: skip
def test_each_fault_is_named_and_nothing_else_is(block: SampleBlock, code: str | None, words: str) -> None:
    found = seen(block)
    assert [one.code for one in found] == ([code] if code else [])
    assert all(words in one.sentence for one in found)


def test_a_converter_left_at_ten_a_second_is_named() -> None:
    """Its readings repeat with older and older times between; only they show it: the messages come at 80 a second."""
    block = standing()
    slow = 3
    held = np.arange(len(block)) // 8 * 8
    counts = block.counts.copy()
    counts[:, slow] = counts[held, slow]
    dt_us = np.zeros_like(counts) if block.dt_us is None else block.dt_us.copy()
    dt_us[:, slow] = block.board_us[held] + dt_us[held, slow] - block.board_us
    found = seen(SampleBlock(block.sequence, block.board_us, block.status, counts, dt_us))
    assert [one.code for one in found] == ["cell-slow"]
    assert "10 times a second, the board sends 80" in found[0].sentence


def test_a_gap_accuses_no_converter() -> None:
    """Found by stopping the program: two seconds that were lost counted as seconds without conversions. A slow one is still found beside it."""
    block = standing()
    rows = np.r_[0:160, 320:480]
    dt_us = np.zeros_like(block.counts)
    whole = SampleBlock(block.sequence, block.board_us, block.status, block.counts, dt_us)
    assert seen(whole[rows]) == []
    held = np.arange(len(block)) // 8 * 8
    dt_us[:, 3] = block.board_us[held] - block.board_us
    block.counts[:, 3] = block.counts[held, 3]
    assert [one.code for one in seen(whole[rows])] == ["cell-slow"]


def test_a_cell_with_next_to_no_noise_is_out_of_family() -> None:
    block = standing(noise_n=1.0)
    counts = block.counts.copy()
    rng = np.random.default_rng(1)
    counts[:, 9] = np.rint(CELLS[9].zero_counts + rng.normal(0, 0.01, len(block)) / CELLS[9].a1)
    assert [one.code for one in seen(dataclasses.replace(block, counts=counts))] == ["cell-out-of-family"]


def test_hum_is_found_at_conversion_times_of_their_own() -> None:
    """A converter that runs at 87.3/s folds 50 Hz elsewhere than the board's 80/s would."""
    block = standing()
    conversions = np.floor(T * 87.3) / 87.3
    dt = np.zeros((480, 10), dtype=np.int64)
    dt[:, 2] = np.rint((conversions - T) * 1e6)
    humming = with_force(
        dataclasses.replace(block, dt_us=dt), 2, 1.5 * np.sin(2 * np.pi * 50.1 * conversions)
    )
    assert [one.code for one in seen(humming)] == ["mains-hum"]


def test_at_a_rate_that_folds_mains_onto_sway_nothing_is_claimed() -> None:
    block = standing(rate_hz=50.0)
    t = np.arange(len(block)) / 50.0
    assert seen(with_force(block, 0, 2 * np.sin(2 * np.pi * 50 * t + 1)), 50.0) == []


def test_too_short_to_say() -> None:
    assert seen(with_counts(standing(), 4, COUNTS_MAX)[:100]) == []


def test_pieces_are_the_whole_recording() -> None:
    block = standing(23.0)
    parts = list(pieces(block))
    assert sum(len(p) for p in parts) == len(block)
    assert all(len(p) >= 400 for p in parts)


def test_the_live_watch_sees_a_fault_within_its_window_and_forgets_it_after() -> None:
    watch = SelfWatch(FLOOR.rig, CELLS, RATE_HZ)
    good, bad = standing(30.0), with_counts(standing(30.0), 4, COUNTS_MAX)
    history = []
    for start in range(0, 2400, 8):
        source = bad if 800 <= start < 1200 else good
        if watch.feed(source[start : start + 8]):
            history.append([one.code for one in watch.now])
    assert len(history) in (29, 30)
    assert history[8] == []
    assert history[14] == ["cell-saturated"]
    assert history[-1] == []
