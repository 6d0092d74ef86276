"""Options that live and record share: the port, the rig's files, the person."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from balance import demo
from balance.command_line.output import message, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.calibration import Calibration
    from balance.rig import Rig
    from balance.stance import Stance
    from drivers.samples import BoardInfo


@dataclass(frozen=True)
class Floor:
    """A rig with its stance and calibration."""

    rig: Rig
    calibration: Calibration
    stance: Stance


def read_floor(rig: Path, stance: Path, calibration: Path) -> Floor:
    """The three files, checked against each other. Raises FileProblem."""
    from balance.stance import read_stance

    return Floor(*rig_and_calibration(rig, calibration), stance=read_stance(stance))


def rig_and_calibration(rig: Path, calibration: Path) -> tuple[Rig, Calibration]:
    """A rig and its calibration, checked against each other. Raises FileProblem."""
    from balance.calibration import check_fits, read_calibration
    from balance.rig import read_rig

    the_rig, known = read_rig(rig), read_calibration(calibration)
    check_fits(calibration, the_rig, known)
    return the_rig, known


def say_doubts(file: Path, rig: Rig, calibration: Calibration) -> None:
    """What makes a user's own calibration doubtful, to stderr."""
    import datetime

    from balance.calibration import doubts

    for sentence in doubts(file, rig, calibration, datetime.datetime.now().astimezone()):
        message(sentence)


def refuse_other_board(file: Path, calibration: Calibration, info: BoardInfo) -> None:
    """Ends the command where the calibration was made at another gain; says where it was made on another board."""
    from balance.calibration import against_board

    refused, sentence = against_board(str(file), calibration, info.board_id, info.gain)
    if sentence is not None:
        message(sentence)
    if refused:
        raise typer.Exit(2)


def demo_floor() -> Floor:
    return read_floor(demo.path("rig.toml"), demo.path("stance.toml"), demo.path("calibration.json"))


def needed(rig: Path | None, stance: Path | None, calibration: Path | None, out: Path) -> Floor:
    """The files named by the options; those not named are the ones used last with this folder. All three are needed."""
    from balance.command_line.settings import keep_settings, read_settings

    last = read_settings(out)
    given = {"rig": rig, "stance": stance, "calibration": calibration}
    files = {name: path or _remembered(getattr(last, name), name, out) for name, path in given.items()}
    the_rig, the_stance, known = files["rig"], files["stance"], files["calibration"]
    if the_rig is None or the_stance is None or known is None:
        raise wrong("command.files-needed")
    floor = read_floor(the_rig, the_stance, known)
    say_doubts(known, floor.rig, floor.calibration)
    keep_settings(
        out, last.model_copy(update={name: str(path.resolve()) for name, path in files.items() if path})
    )
    return floor


def _remembered(text: str | None, name: str, out: Path) -> Path | None:
    if text is None:
        return None
    message(say("command.remembered", name=name, file=text, out=out))
    return Path(text)


def say_subjects(out: Path, subject: str) -> None:
    """Without a code, those that have recordings here are offered; a new one is said to be new."""
    from balance.command_line.settings import subjects

    known = subjects(out)
    if subject == "unnamed" and known:
        message(say("command.subjects", codes=", ".join(known)))
    elif known and subject not in known:
        message(say("command.new-subject", code=subject))


def find_port(port: str | None) -> str:
    """The port named, else the only one with a board on it."""
    if port is not None:
        return port
    from drivers.finder import find_boards

    boards = [found.port for found in find_boards() if found.info]
    if len(boards) != 1:
        raise wrong("command.no-board" if not boards else "command.many-boards", ports=", ".join(boards))
    return boards[0]


def say_what_cannot_be(floor: Floor, body_weight_n: float | None) -> list[str]:
    """Sentences, said before a trial, where the uncertainty is too large for the question."""
    from balance.foreseen import foresee

    foreseen = foresee(floor.rig, floor.stance, floor.calibration, body_weight_n)
    sentences = [one.sentence for one in foreseen if not one.possible]
    for sentence in sentences:
        message(sentence)
    return sentences
