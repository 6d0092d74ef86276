"""A short tone at a trial's start and end, by what the system has; without a sound device it is silent, and no fault."""

from __future__ import annotations

import math
import shutil
import struct
import subprocess
import sys
import tempfile
import wave
from pathlib import Path

HZ, SECONDS, RATE_HZ, LOUD = {"start": 880.0, "end": 587.0}, 0.15, 22_050, 0.35
PLAYERS = (("pw-play",), ("paplay",), ("aplay", "-q"), ("afplay",))


def wave_of(hz: float) -> bytes:
    """16-bit samples of a tone that swells and fades, so that it does not click."""
    count = round(RATE_HZ * SECONDS)
    values = (
        LOUD * math.sin(2 * math.pi * hz * k / RATE_HZ) * math.sin(math.pi * k / count) for k in range(count)
    )
    return b"".join(struct.pack("<h", round(32_767 * value)) for value in values)


class Tones:
    """``play`` returns at once."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="bandstand-tones-")
        self._player = next((list(one) for one in PLAYERS if shutil.which(one[0])), None)
        self._playing: subprocess.Popen[bytes] | None = None

    def play(self, which: str) -> None:
        """'start' or 'end'."""
        path = self._file(which)
        if sys.platform == "win32":
            import winsound

            winsound.PlaySound(str(path), winsound.SND_FILENAME | winsound.SND_ASYNC)
        elif self._player is not None:
            self.close_last()
            try:
                self._playing = subprocess.Popen(
                    [*self._player, str(path)], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
                )  # fmt: skip
            except OSError:
                self._player = None

    def close_last(self) -> None:
        """Ends the tone before."""
        if self._playing is not None:
            if self._playing.poll() is None:
                self._playing.kill()
            self._playing.wait()
            self._playing = None

    def close(self) -> None:
        self.close_last()
        self._folder.cleanup()

    def _file(self, which: str) -> Path:
        path = Path(self._folder.name) / f"{which}.wav"
        if not path.exists():
            with wave.open(str(path), "wb") as file:
                file.setnchannels(1)
                file.setsampwidth(2)
                file.setframerate(RATE_HZ)
                file.writeframes(wave_of(HZ[which]))
        return path
