"""The two lanes: each shoe's sole in profile on the plates' scale, its finding, band, body line, foot point, crutch tip and load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from balance.live_state import Reason
from balance.reading import Snapshot
from balance.rig import SIDES
from balance.stance import Stance
from balance.window.drawing import Picture, Shape
from balance.window.lane import Floor, Lane, Overlay
from balance.window.look import Look
from balance.window.painted import Painted
from balance.window.steady import Steady
from balance.words import say


class Lanes(Painted):
    """``draw`` draws what is known now."""

    def __init__(self, stance: Stance, braced: set[str], look: Look) -> None:
        super().__init__(say("window.lanes"), look)
        self._stance, self._braced, self._steady = stance, braced, Steady()
        self._layout: tuple[object, Floor, list[Lane], dict[str, Picture]] | None = None

    def set_stance(self, stance: Stance) -> None:
        """Another stance in the same picture."""
        if stance is not self._stance:
            self._stance, self._layout = stance, None

    def draw(
        self,
        snapshot: Snapshot | None,
        point_mm: dict[str, tuple[float, float]] | None = None,
        troubled: frozenset[str] = frozenset(),
        overlays: Sequence[Overlay] = (),
        why: Reason | None = None,
        imagined: bool = False,
    ) -> None:
        """point_mm: the newest sample's points, where they are newer than the snapshot · troubled: parts whose cells may not be relied
        on · why: what the samples would give is left out · imagined: the soles are not as they stand."""
        points = snapshot.point_mm if snapshot is not None and point_mm is None else point_mm or {}
        floor, lanes, still = self._laid_out(faded=snapshot is None)
        shapes: list[Shape] = [*still["left"], *still["right"], *still["scale"]]
        unmoved = len(shapes)
        labels: list[Shape] = []
        findings = [lane.finding(snapshot, self._steady, why) for lane in lanes]
        largest = min(
            lane.finding_px for lane in lanes
        )  # always: no finding is read first because its words are fewer
        for lane, side in zip(lanes, SIDES, strict=True):
            for line, box in lane.earlier(overlays):
                shapes += line
                labels += box
            shapes += lane.load(snapshot, self._steady)
            large, *beside = findings[lane.number]
            weighs = side in self._braced or not self._braced
            shapes += [replace(large, px=largest, bold=large.bold and weighs), *beside]
            if snapshot is not None:
                shapes += lane.marks(snapshot, points, self._steady, told=why is None)
            if imagined:
                labels.append(lane.imagined())
            if side in troubled:
                shapes.append(lane.hatch())
        if snapshot is not None and "body" in points:
            shapes += floor.where(points["body"][0], self._steady)
        self.show_picture((*shapes, *labels), still=unmoved)

    def _laid_out(self, faded: bool) -> tuple[Floor, list[Lane], dict[str, Picture]]:
        """Where everything stands, and the shapes that do not move: reckoned once for a stance and a size."""
        key = (self.look, self.width(), self.height(), faded)
        if self._layout is None or self._layout[0] != key:
            floor = Floor(self.look, self.width(), self.height())
            lanes = [Lane(floor, number, self._stance, side) for number, side in enumerate(SIDES)]
            still: dict[str, Picture] = {lane.side: lane.shoe(self._braced, faded) for lane in lanes}
            still["scale"] = floor.scale()
            self._layout = (key, floor, lanes, still)
        return self._layout[1:]
