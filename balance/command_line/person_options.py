"""Options of live and record on the person and the occasion; they go into each trial's header."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.output import wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.live_state import Described


class OrthosisSide(StrEnum):
    none = "none"
    left = "left"
    right = "right"
    both = "both"


class PostureKind(StrEnum):
    own = "own"
    knees = "knees-flexed"
    hips = "hips-flexed"
    other = "other"


class Helper(StrEnum):
    none = "none"
    steadied = "steadied"
    held = "held"
    unknown = "unknown"


SubjectCode = Annotated[str, typer.Option(help=say("help.subject"))]
BodyWeight = Annotated[float | None, typer.Option("--body-weight-n", min=1, help=say("help.weight"))]
Orthosis = Annotated[OrthosisSide | None, typer.Option("--orthosis", help=say("help.orthosis"))]
Posture = Annotated[PostureKind | None, typer.Option("--posture", help=say("help.posture"))]
Placing = Annotated[int, typer.Option("--placing", min=1, max=999, help=say("help.placing"))]
Touched = Annotated[Helper | None, typer.Option("--helper", help=say("help.helper"))]
Height = Annotated[float | None, typer.Option("--height-m", min=0.5, max=2.5, help=say("help.height"))]
Research = Annotated[bool, typer.Option("--research", help=say("help.research"))]
Conditions = Annotated[list[str] | None, typer.Option("--condition", help=say("help.condition"))]


def described(
    subject: str, body_weight_n: float | None, orthosis: OrthosisSide | None, posture: PostureKind | None, placing: int,
    helper: Helper | None, height_m: float | None, conditions: list[str] | None,
) -> Described:  # fmt: skip
    """What is known of the person and the occasion. A condition that is no name=value ends the command."""
    from balance.live_state import Described
    from balance.trial import Orthosis as Of
    from balance.trial import Posture as How
    from balance.trial import Subject

    pairs: dict[str, str] = {}
    for text in conditions or []:
        name, equals, value = text.partition("=")
        if not (equals and name.strip() and value.strip()):
            raise wrong("command.condition", text=text)
        pairs[name.strip()] = value.strip()
    origin = {"body_weight_from": "entered"} if body_weight_n is not None else {}
    return Described(
        subject=Subject.model_validate(
            {"code": subject, "body_weight_n": body_weight_n, "height_m": height_m, **origin}
        ),
        placing=placing,
        orthosis=None if orthosis is None else Of.model_validate({"side": orthosis.value}),
        posture=None if posture is None else How.model_validate({"kind": posture.value.replace("-", " ")}),
        touched=None if helper is None else helper.value,
        conditions=pairs or None,
    )
