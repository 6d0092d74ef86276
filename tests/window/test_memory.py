"""Memory that the window is done with goes back to the system."""

from __future__ import annotations

import ctypes
import subprocess
import sys

import pytest

HELD = """
import ctypes, sys
from balance.window.app import give_back

class Held(ctypes.Structure):  # mallinfo2(3), glibc 2.33 on
    _fields_ = [(name, ctypes.c_size_t) for name in "arena ordblks smblks hblks hblkhd usmblks fsmblks uordblks fordblks keepcost".split()]

libc = ctypes.CDLL(None)
libc.mallinfo2.restype, libc.malloc.restype, libc.malloc.argtypes, libc.free.argtypes = Held, ctypes.c_void_p, [ctypes.c_size_t], [ctypes.c_void_p]
if sys.argv[1] == "given back":
    give_back()
for size_mb in (16, 8):  # a large picture, then a smaller one: what is free after both
    libc.free(libc.malloc(size_mb * 2**20))
print(libc.mallinfo2().fordblks)
"""


@pytest.mark.skipif(
    sys.platform != "linux" or not hasattr(ctypes.CDLL(None), "mallinfo2"),
    reason="only glibc tells what it keeps free",
)
def test_large_pictures_leave_no_free_memory_behind() -> None:
    def free_mb(how: str) -> float:
        ran = subprocess.run([sys.executable, "-c", HELD, how], capture_output=True, text=True, check=True)
        return int(ran.stdout) / 2**20

    assert free_mb("kept") > 7  # glibc's own way; without this the other half could not fail
    assert free_mb("given back") < 2
