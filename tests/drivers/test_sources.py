"""Every kind of source keeps one contract; the serial board over a socket; the recorded board on a made-up clock."""

from __future__ import annotations

import socket

import numpy as np
import pytest

from balance import demo
from balance.command_line.setting_up import demo_floor
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from drivers.errors import PortNotFound, WrongBoard
from drivers.finder import find_boards
from drivers.recorded_board import RecordedBoard
from drivers.samples import BoardInfo, LinkEvent, SampleBlock, Source, concatenate
from drivers.serial_board import SerialBoard
from drivers.simulated_board.board import LinkFaults, SimulatedBoard
from drivers.simulated_board.lines import serve_tcp
from drivers.simulated_board.source import SimulatedSource


def a_board(seed: int = 1, faults: LinkFaults | None = None) -> SimulatedBoard:
    floor = demo_floor()
    person = SimulatedPerson(floor.rig, floor.stance, read_scenario(demo.path("quiet.toml")), seed)
    return SimulatedBoard(PersonLoads(person, floor.calibration), seed=seed, faults=faults or LinkFaults())


def drain(source: Source, most: int = 10_000) -> tuple[list[SampleBlock], list[LinkEvent]]:
    blocks, events = [], []
    for _ in range(most):
        for item in source.read():
            (blocks if isinstance(item, SampleBlock) else events).append(item)
        if events and events[-1].kind == "ended":
            break
    return blocks, events


def recorded(seconds: float = 2.0) -> SampleBlock:
    source = SimulatedSource(a_board(), seconds)
    source.open()
    return concatenate(drain(source)[0])


INFO = BoardInfo("", "1.0", "", 1, 0, 10, 1, 128, 80.0, 0)


@pytest.mark.parametrize("kind", ["simulated", "recorded"])
def test_contract(kind: str) -> None:
    source: Source = (
        SimulatedSource(a_board(), 2.0)
        if kind == "simulated"
        else RecordedBoard(recorded(), INFO, speed=None)
    )
    info = source.open()
    blocks, events = drain(source)
    whole = concatenate(blocks)
    assert info.channels == whole.counts.shape[1] == 10
    assert len(whole) == 160
    assert np.array_equal(np.diff(whole.sequence), np.ones(159))
    assert (np.diff(whole.board_us) > 0).all()
    assert [e.kind for e in events] == ["ended"]
    assert source.read() == []
    source.stop()
    source.close()
    source.close()


def test_same_seed_same_bytes_and_cut_independent() -> None:
    def run(cuts: list[float]) -> bytes:
        board = a_board(7)
        out = board.advance(0.0) + board.receive(
            __import__("drivers.wire", fromlist=["encode"]).encode(START)
        )
        return out + b"".join(board.advance(t) for t in cuts)

    from drivers.wire import START as START_KIND
    from drivers.wire import Command

    START = Command(START_KIND, 1)
    assert run([1.0, 2.0]) == run([0.013, 0.5, 0.51, 2.0])


def test_faults_are_seen() -> None:
    source = SimulatedSource(a_board(faults=LinkFaults(corrupted_bytes=0.0005, dead_channel=9)), 10.0)
    source.open()
    blocks, events = drain(source)
    whole = concatenate(blocks)
    assert any(e.code == "event.skipped" for e in events)
    assert len(whole) < 800
    assert (np.diff(whole.sequence) > 1).any()
    assert ((whole.status >> (8 + 18) & 3) == 2).all()


def test_serial_board_over_a_socket() -> None:
    with serve_tcp(a_board()) as server:
        board = SerialBoard(server.address)
        info = board.open()
        assert info.channels == 10
        blocks: list[SampleBlock] = []
        while sum(map(len, blocks)) < 40:
            blocks += [item for item in board.read() if isinstance(item, SampleBlock)]
        board.stop()
        assert drain(board)[1][-1].kind == "ended"
        board.close()
    assert np.array_equal(np.diff(concatenate(blocks).sequence), np.ones(sum(map(len, blocks)) - 1))


def test_a_port_that_is_not_there() -> None:
    with pytest.raises(PortNotFound):
        SerialBoard("/dev/no-such-port").open()
    found = find_boards(["/dev/no-such-port"])
    assert found[0].info is None
    assert isinstance(found[0].problem, PortNotFound)


def test_a_silent_port_is_not_a_board() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server, pytest.raises(WrongBoard):
        SerialBoard(f"socket://127.0.0.1:{server.getsockname()[1]}").open()


class MadeUpClock:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        self.now += seconds


@pytest.mark.parametrize("speed", [1.0, 4.0])
def test_recorded_board_keeps_an_absolute_schedule(speed: float) -> None:
    clock = MadeUpClock()
    source = RecordedBoard(recorded(), INFO, speed=speed, clock=clock, wait=clock.wait)
    source.open()
    blocks, _ = drain(source)
    assert len(concatenate(blocks)) == 160
    assert clock.now - 100.0 == pytest.approx(1.9875 / speed, abs=0.05)


def test_recorded_board_pauses_steps_and_seeks() -> None:
    clock = MadeUpClock()
    source = RecordedBoard(recorded(), INFO, clock=clock, wait=clock.wait)
    source.open()
    source.pause()
    source.read()
    assert source.read() == []
    source.step(3)
    assert len(source.read()[0]) == 3
    source.seek(1.5)
    source.resume()
    block = source.read()[0]
    assert isinstance(block, SampleBlock)
    assert block.board_us[0] - recorded().board_us[0] >= 1_500_000 - 12_500


def _until(board: SerialBoard, wanted: str) -> tuple[list[SampleBlock], list[LinkEvent]]:
    """Reads until an event of that kind; at most some thousand reads, each of which waits a little by itself."""
    blocks, events = [], []
    for _ in range(3000):
        for item in board.read():
            (blocks if isinstance(item, SampleBlock) else events).append(item)
        if any(event.kind == wanted for event in events):
            break
    return blocks, events


def test_a_lost_board_is_found_again_and_a_gap_stays_a_gap() -> None:
    with serve_tcp(a_board()) as server:
        board = SerialBoard(server.address)
        board.open()
        while not any(isinstance(item, SampleBlock) for item in board.read()):
            pass
    port = int(server.address.rsplit(":", 1)[1])
    _, events = _until(board, "lost")
    assert events[-1].kind == "lost"
    before = events[-1].board_us
    with serve_tcp(a_board(), port=port):
        _, events = _until(board, "reconnected")
        assert events[-1].kind == "reconnected"
        blocks: list[SampleBlock] = []
        while not blocks:
            blocks += [item for item in board.read() if isinstance(item, SampleBlock)]
        assert blocks[0].board_us[0] >= before
        board.stop()
        board.close()


def test_another_board_in_its_place_is_refused() -> None:
    with serve_tcp(a_board(1)) as server:
        board = SerialBoard(server.address)
        board.open()
    port = int(server.address.rsplit(":", 1)[1])
    _until(board, "lost")
    with serve_tcp(a_board(2), port=port):
        _, events = _until(board, "fault")
        assert events[-1].code == "event.other-board"
        board.stop()
        board.close()
