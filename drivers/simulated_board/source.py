"""The simulated board as a source without a line: its real bytes, decoded like any board's, as fast as they are read."""

from __future__ import annotations

from drivers.assembly import Assembly, board_info
from drivers.errors import WrongBoard
from drivers.samples import BoardInfo, LinkEvent, SampleBlock
from drivers.simulated_board.board import SimulatedBoard
from drivers.wire import START, Command, Decoder, Hello, encode

CHUNK_S = 0.25


class SimulatedSource:
    """A Source over ``board`` for ``seconds`` of its clock, unpaced; arrival is the board's own time."""

    def __init__(self, board: SimulatedBoard, seconds: float) -> None:
        self._board, self._seconds = board, seconds
        self._now_s = 0.0
        self._assembly: Assembly | None = None
        self._stopped = self._ended = False

    def open(self) -> BoardInfo:
        for message in Decoder().feed(self._board.advance(0.0)):
            if isinstance(message, Hello):
                self._assembly = Assembly(board_info(message))
                self._assembly.feed(self._board.receive(encode(Command(START, 1))), 0.0)
                return self._assembly.info
        raise WrongBoard(port="simulated")

    def read(self) -> list[SampleBlock | LinkEvent]:
        if self._ended or self._assembly is None:
            return []
        if self._stopped or self._now_s >= self._seconds:
            self._ended = True
            return [LinkEvent("ended", "event.ended", {}, self._assembly.last_us)]
        self._now_s = min(self._now_s + CHUNK_S, self._seconds)
        data = self._board.advance(self._now_s)
        return [] if self._board.faults.is_unplugged(self._now_s) else self._assembly.feed(data, self._now_s)

    def stop(self) -> None:
        self._stopped = True

    def close(self) -> None:
        self._stopped = True
