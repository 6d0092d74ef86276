"""Newtons to load line, shares and moments, sample by sample, and their means over a trial."""

import math
from dataclasses import dataclass

import numpy as np

from tests.reference.facts import SIDES, Facts, World, or_else

GRAVITY = 9.80665
LINES = ("left", "right", "feet", "body", "body_on_left", "body_on_right")


@dataclass
class Samples:
    """Time courses. Feet and crutches: left, right in the first axis. All in the floor frame, N and mm."""

    load: np.ndarray  # (2, n)
    moment: np.ndarray  # (2, n, 2) Σ f r of each foot
    v: np.ndarray  # (2, n) vertical part of each crutch, 0 without cells
    v_moment: np.ndarray  # (2, n, 2) Σ v q, 0 without a place
    placed: list[bool]
    hand: np.ndarray  # (2, n) v without the crutch's own weight
    other: np.ndarray  # (n,) support without cells, 0 where there is none
    other_placed: bool
    point: dict[str, np.ndarray]  # (n, 2) left, right, feet, body
    position: dict[str, np.ndarray]  # (n,) % of the usable length, the six lines
    distance: dict[str, np.ndarray]  # (n,) mm from the heel edge, the six lines
    ankle: np.ndarray  # (2, n) N·m
    knee: np.ndarray  # (2, n) N·m
    share: np.ndarray  # (2, n) of both feet's load
    mean_length: np.ndarray  # (n,) of both feet, by load

    @property
    def feet(self) -> np.ndarray:
        """Load of both feet."""
        return self.load[0] + self.load[1]

    @property
    def total(self) -> np.ndarray:
        """Everything measured."""
        return self.feet + self.v[0] + self.v[1]


def axis(toe_out: np.ndarray) -> np.ndarray:
    """(2, 2): the feet's axes as (AP, ML); a positive toe-out turns each away from the midline."""
    return np.array(
        [[math.cos(toe_out[0]), -math.sin(toe_out[0])], [math.cos(toe_out[1]), math.sin(toe_out[1])]]
    )


def cell_forces(world: World, facts: Facts, chain, cutoff_hz: float | None) -> np.ndarray:
    """(samples, cells) with this world's errors of force."""
    hysteresis = np.array(
        [
            or_else(entry, "hysteresis_n", 0.001 * cell["capacity_n"]) / math.sqrt(12)
            for entry, cell in zip(facts.channels, facts.cells, strict=True)
        ]
    )
    newtons = chain.newtons(world.a1, world.a2, world.zero)
    newtons = newtons * (1 + world.gain) + world.offset_n + world.common * hysteresis
    return chain.low_passed(chain.even(newtons), cutoff_hz)


def follow(world: World, facts: Facts, forces: np.ndarray) -> Samples:
    """Every formula for every sample."""
    n = len(forces)
    load, moment = np.zeros((2, n)), np.zeros((2, n, 2))
    for k, side in enumerate(SIDES):
        for i in facts.parts[f"{side} foot"]:
            where = world.place[i] + np.array([0.0, world.foot_ml[k]])
            load[k] += forces[:, i]
            moment[k] += forces[:, [i]] * where
    v, v_moment, hand = np.zeros((2, n)), np.zeros((2, n, 2)), np.zeros((2, n))
    placed, sideways = [True, True], np.zeros(n)
    for j, side in enumerate(SIDES):
        if facts.measured[j]:
            f = forces[:, facts.parts[f"{side} crutch"]]
            tilt = math.radians(or_else(facts.crutch[j], "tilt_deg", 0.0))
            if facts.plate[j]:
                v[j] = f.sum(axis=1)
                v_moment[j] = f @ world.place[facts.parts[f"{side} crutch"]]
            else:
                f = f.sum(axis=1)
                v[j] = f * (math.cos(tilt) + 1 / math.cos(tilt)) / 2 + world.tilt[j] * f
                placed[j] = not np.isnan(world.tip[j]).any()
                if placed[j]:
                    v_moment[j] = v[j][:, None] * world.tip[j]
                    below = abs(or_else(facts.crutch[j], "tip_height_mm", 0.0))
                    sideways += below * v[j] * math.tan(tilt) / math.sqrt(3)
            hand[j] = v[j] - or_else(facts.crutch[j], "own_weight_n", 0.0)
    feet = load[0] + load[1]
    other, other_placed = np.zeros(n), True
    if facts.from_weight:
        other = world.weight_n[0] - (feet + v[0] + v[1])
        other_placed = not np.isnan(world.other_place).any()
    with np.errstate(divide="ignore", invalid="ignore"):
        point = {side: moment[k] / load[k][:, None] for k, side in enumerate(SIDES)}
        point["feet"] = (moment[0] + moment[1]) / feet[:, None]
        whole_moment, whole = moment[0] + moment[1] + v_moment[0] + v_moment[1], feet.copy()
        for j in (0, 1):
            if placed[j]:
                whole = whole + v[j]
        if facts.from_weight and other_placed:
            whole = whole + other
            whole_moment = whole_moment + other[:, None] * world.other_place
        point["body"] = whole_moment / whole[:, None] + (sideways / whole)[:, None] * world.height
        share = load / feet
    samples = Samples(
        load=load, moment=moment, v=v, v_moment=v_moment, placed=placed, hand=hand, other=other,
        other_placed=other_placed, point=point, position={}, distance={}, ankle=np.zeros((2, n)),
        knee=np.zeros((2, n)), share=share,
        mean_length=share[0] * world.length[0] + share[1] * world.length[1],
    )  # fmt: skip
    _positions(world, samples)
    _moments(world, facts, samples)
    return samples


def _positions(world: World, s: Samples) -> None:
    u = axis(world.toe_out)
    for k, side in enumerate(SIDES):
        s.distance[side] = (s.point[side] - world.heel[k]) @ u[k]
        s.position[side] = s.distance[side] / world.length[k] * 100
        ahead = s.point["body"][:, 0] - world.heel[k][0]
        s.position[f"body_on_{side}"] = ahead / (world.length[k] * math.cos(world.toe_out[k])) * 100
        s.distance[f"body_on_{side}"] = s.position[f"body_on_{side}"] * world.length[k] / 100
    heel = s.share[0][:, None] * world.heel[0] + s.share[1][:, None] * world.heel[1]
    direction = s.share[0][:, None] * u[0] + s.share[1][:, None] * u[1]
    direction = direction / np.hypot(direction[:, 0], direction[:, 1])[:, None]
    for line in ("feet", "body"):
        s.distance[line] = ((s.point[line] - heel) * direction).sum(axis=1)
        s.position[line] = s.distance[line] / s.mean_length * 100


def _moments(world: World, facts: Facts, s: Samples) -> None:
    forward = np.zeros(s.load.shape[1])
    for j in (0, 1):
        if facts.measured[j]:
            forward += s.v[j] * math.tan(math.radians(or_else(facts.crutch[j], "tilt_ap_deg", 0.0)))
    for k, side in enumerate(SIDES):
        height = or_else(facts.foot[k], "knee_height_mm", 0.0)
        s.ankle[k] = s.load[k] * (s.distance[side] - world.ankle[k]) / 1000
        s.knee[k] = (s.load[k] * (s.distance[side] - world.knee[k]) + s.share[k] * forward * height) / 1000


@dataclass
class Masks:
    """Which samples count: valid, and not filled in."""

    feet: np.ndarray
    line: dict[str, np.ndarray]
    feet_or_filled: np.ndarray  # valid, filled or not: for what needs unbroken stretches
    minimum_n: float
    loaded_n: float
    reference_n: float | None
    reference_from_trial: bool


def masks(facts: Facts, s: Samples, filled: np.ndarray) -> Masks:
    """Validity, with the reference weight on which its thresholds rest."""
    reference, from_trial = facts.weight_n, False
    own = facts.rig.get("minimum_foot_load_n")
    if reference is None and facts.all_measured and not facts.handled:
        standing = (s.feet >= (20.0 if own is None else own)) & ~filled
        if standing.any():
            reference, from_trial = float(s.total[standing].mean()), True
    by_weight = 20.0 if reference is None else max(5.0, 0.03 * reference)
    minimum = by_weight if own is None else own
    loaded = 5.0 if reference is None else max(5.0, 0.02 * reference)
    feet = s.feet >= minimum
    body = feet.copy()
    for j in (0, 1):
        if facts.measured[j] and not s.placed[j]:
            body &= ~(s.hand[j] >= loaded)
    if facts.from_weight and not s.other_placed:
        body &= ~(s.other >= loaded)
    if not facts.all_measured and not facts.from_weight:
        body &= False
    line = {side: (s.load[k] >= minimum) & ~filled for k, side in enumerate(SIDES)}
    line["feet"] = feet & ~filled
    line["body"] = line["body_on_left"] = line["body_on_right"] = body & ~filled
    return Masks(feet & ~filled, line, feet, minimum, loaded, reference, from_trial)


def crutch_part(facts: Facts, world: World, s: Samples) -> tuple[np.ndarray, np.ndarray]:
    """What the hands put on crutches or other support, and the whole of which it is a part, (n,) each."""
    hands = s.hand[0] + s.hand[1]
    if facts.from_weight:
        return hands + s.other, np.full(len(hands), world.weight_n[0])
    return hands, s.total


def means(facts: Facts, world: World, s: Samples, m: Masks) -> dict[str, float]:
    """A trial's mean outputs: what an error moves."""
    out = {}
    for line, mask in m.line.items():
        if mask.any():
            out[f"{line}.pct"] = s.position[line][mask].mean()
            if line in s.point:
                out[f"{line}.ap"], out[f"{line}.ml"] = s.point[line][mask].mean(axis=0)
    if m.feet.any():
        left, right = s.load[0][m.feet].mean(), s.load[1][m.feet].mean()
        total = s.total[m.feet].mean()
        hands, whole = crutch_part(facts, world, s)
        out["total_n"] = total
        out["left_pct"], out["right_pct"] = 100 * left / (left + right), 100 * right / (left + right)
        out["crutch_pct"] = 100 * hands[m.feet].mean() / whole[m.feet].mean()
        for j, side in enumerate(SIDES):
            out[f"{side}_crutch_pct"] = 100 * s.hand[j][m.feet].mean() / whole[m.feet].mean()
        out["unmeasured_pct"] = 100 * (world.weight_n[0] - total) / world.weight_n[0]
    for k, side in enumerate(SIDES):
        if m.line[side].any():
            out[f"{side}.ankle"] = s.ankle[k][m.line[side]].mean()
            out[f"{side}.knee"] = s.knee[k][m.line[side]].mean()
    return {key: float(value) for key, value in out.items()}
