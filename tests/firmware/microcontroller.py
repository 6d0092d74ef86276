"""The reference firmware on a simulated microcontroller, with the methods of drivers.simulated_board's board: a source can read it, a
socket or a pseudo-terminal can serve it."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass, field

import numpy as np

from drivers.simulated_board.board import LinkFaults
from tests.firmware.build import built

CLOCK_HZ = 16e6
BOOT_S = 0.1  # run before anybody asks
CHIPS = {"small": ("atmega328p", 6), "large": ("atmega2560", 10)}


def pins(kind: str, channel: int) -> tuple[bytes, int, bytes, int]:
    """(data port, pin, clock port, pin), as board_small.c and board_large.c have them."""
    if kind == "small":
        return b"C", channel, b"B", channel
    return (b"B", channel, b"A", channel) if channel < 8 else (b"J", channel - 8, b"C", channel - 8)


def _library() -> ctypes.CDLL:
    lib = ctypes.CDLL(str(built() / "simulator.so"))
    at, u64 = ctypes.c_void_p, ctypes.c_uint64
    lib.sim_new.restype, lib.sim_new.argtypes = at, [ctypes.c_char_p, ctypes.c_char_p, ctypes.c_int]
    lib.sim_converter.argtypes = [at, ctypes.c_int, ctypes.c_char, ctypes.c_int, ctypes.c_char, ctypes.c_int, ctypes.c_double, ctypes.c_double, at, ctypes.c_uint32]  # fmt: skip
    lib.sim_run.argtypes = [at, u64]
    lib.sim_send.argtypes = [at, ctypes.c_char_p, ctypes.c_uint32]
    for name in ("sim_cycle", "sim_slept", "sim_longest_high"):
        getattr(lib, name).restype, getattr(lib, name).argtypes = u64, [at]
    lib.sim_out_length.restype, lib.sim_out_length.argtypes = ctypes.c_uint32, [at]
    lib.sim_out.restype, lib.sim_out.argtypes = ctypes.c_uint32, [at, at, at, ctypes.c_uint32]
    lib.sim_die.argtypes = [at, ctypes.c_int, ctypes.c_int]
    for name in ("sim_reset", "sim_hang", "sim_unhang", "sim_free", "sim_turned_off"):
        getattr(lib, name).argtypes = [at]
    return lib


@dataclass
class Microcontroller:
    """kind: 'small' or 'large' · counts: for each channel the value of each conversion, the last one again and again · rates_hz, phases_s: of
    each converter's own oscillator."""

    kind: str
    counts: list[np.ndarray]
    rates_hz: list[float]
    phases_s: list[float]
    faults: LinkFaults = field(default_factory=LinkFaults)

    def __post_init__(self) -> None:
        self._lib = _library()
        chip, self.channels = CHIPS[self.kind]
        self._sim = self._lib.sim_new(
            str(built() / f"{self.kind}.elf").encode(), chip.encode(), self.channels
        )
        assert self._sim
        self.counts = [np.ascontiguousarray(values, dtype=np.int32) for values in self.counts]
        for c in range(self.channels):
            self._lib.sim_converter(self._sim, c, *pins(self.kind, c), CLOCK_HZ / self.rates_hz[c], self.phases_s[c] * CLOCK_HZ,
                                    self.counts[c].ctypes.data, len(self.counts[c]))  # fmt: skip
        self._taken, self._ahead_s = 0, 0.0

    def conversion_s(self, channel: int, number: np.ndarray) -> np.ndarray:
        """When a channel's conversions are ready, seconds after power-up."""
        return self.phases_s[channel] + np.asarray(number) / self.rates_hz[channel]

    # --- as a board ---

    def advance(self, to_s: float) -> bytes:
        """The bytes until ``to_s`` after the boot."""
        return self.run(BOOT_S + to_s)

    def receive(self, data: bytes) -> bytes:
        """Bytes to the board's receiver, paced by its line; what it answers comes with the next ``advance``."""
        self.send(data)
        return b""

    def dropped_frames(self, count: int) -> None:
        """A line's own losses are none of the firmware's."""

    # --- as a bench ---

    def run(self, until_s: float) -> bytes:
        """The bytes until ``until_s`` after power-up."""
        assert self._lib.sim_run(self._sim, int(until_s * CLOCK_HZ)) == 0, "the processor stopped"
        size = self._lib.sim_out_length(self._sim) - self._taken
        out = np.zeros(max(size, 1), dtype=np.uint8)
        if size:
            self._lib.sim_out(self._sim, out.ctypes.data, None, self._taken)
        self._taken += size
        return out[:size].tobytes()

    def send(self, data: bytes) -> None:
        self._lib.sim_send(self._sim, data, len(data))

    @property
    def now_s(self) -> float:
        return float(self._lib.sim_cycle(self._sim) / CLOCK_HZ)

    @property
    def spare(self) -> float:
        """The part of all cycles that the processor slept."""
        return float(self._lib.sim_slept(self._sim) / self._lib.sim_cycle(self._sim))

    @property
    def longest_clock_s(self) -> float:
        """The longest pulse on a converter's clock line; at 60 µs it would turn off."""
        return float(self._lib.sim_longest_high(self._sim) / CLOCK_HZ)

    def reset(self) -> None:
        """The reset line, at this cycle."""
        self._lib.sim_reset(self._sim)

    def hang(self) -> None:
        """The processor goes round one instruction for ever."""
        self._lib.sim_hang(self._sim)

    def unhang(self) -> None:
        self._lib.sim_unhang(self._sim)

    def die(self, channel: int, dead: bool = True) -> None:
        """A converter's power goes, or comes back."""
        self._lib.sim_die(self._sim, channel, int(dead))

    def close(self) -> None:
        self._lib.sim_free(self._sim)
