"""Findings in the words that a person reads; they judge nobody. ± is the expanded uncertainty, k = 2, rounded up."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from balance.reading import Played
from balance.rig import SIDES, Side
from balance.verdict import unmeasured_limit_n
from balance.words import name, say

GRAVITY = 9.80665
LIKELY, SURE = 0.80, 0.95
MARK_SHOWN_S = 1.0  # a replayed mark is said so long before and after
UNLIKELY, SURELY_NOT = 0.20, 0.05


def expanded(u: float) -> int:
    """± as a person reads it: twice the standard uncertainty, rounded up to a whole number."""
    return math.ceil(2 * u - 1e-9)


def band_words(probability: float, offset_mm: float, u_mm: float, verdict: str) -> str:
    """Where a line falls against its band."""
    if verdict == "undecided" and not SURELY_NOT < probability < SURE:
        return say("words.undecided")
    if probability >= SURE:
        return say("words.in-band")
    if probability <= SURELY_NOT:
        key = "words.ahead" if offset_mm > 0 else "words.behind"
        return say(key, mm=max(1, round(abs(offset_mm))))
    if probability >= LIKELY:
        return say("words.likely-in")
    return say("words.likely-out") if probability <= UNLIKELY else say("words.too-close", pm=expanded(u_mm))


def stands_words(
    stands_on: str | None,
    margin_mm: float | None,
    u_mm: float | None,
    crutch_pct: float | None,
    where: str = "ahead",
) -> str:
    """Is the body line over the feet, or do the crutches help to hold it."""
    if stands_on is None or margin_mm is None:
        return say("words.body-not-measured")
    if stands_on == "feet":
        if crutch_pct is None or abs(crutch_pct) < 0.5:
            return say("words.over-feet")
        return say("words.over-feet-crutches", pct=round(crutch_pct))
    if stands_on == "undecided":
        return say("words.feet-undecided")
    pm = "" if u_mm is None else say("words.pm", pm=expanded(u_mm))
    return say(f"words.{where}-of-feet", mm=round(-margin_mm), pm=pm)


def stands_parts(stands_on: str | None, margin_mm: float | None, where: str = "ahead") -> tuple[str, str]:
    """The same in a few large words, with what belongs to them in a smaller line."""
    if stands_on is None or margin_mm is None:
        return say("words.not-measured"), ""
    if stands_on == "feet":
        return say("stands.over"), say("stands.room", mm=max(round(margin_mm), 0))
    if stands_on == "undecided":
        return say("stands.undecided"), ""
    return say(f"stands.{where}"), say(f"stands.far-{where}", mm=round(-margin_mm))


def kg(newtons: float) -> float:
    return newtons / GRAVITY


def held_elsewhere_words(
    missing_n: float | None, u_n: float | None, beyond: bool, *, weight_known: bool = False
) -> str:
    """What something unmeasured carries."""
    if missing_n is None or u_n is None:
        return say("words.not-measured" if weight_known else "words.weight-unknown")
    if beyond:
        return say("words.held-elsewhere", kg=round(kg(missing_n)))
    return say("words.nothing-seen", pm=math.ceil(2 * kg(u_n)))


class Told(NamedTuple):
    """A recording's findings: the line that a list of trials shows, all of them, and where the body line was.

    places: on each shoe, where it is known, mm from the heel edge and ±, k = 2 · at: the time of day when it began · before: what was
    adjusted between the trial before and this one, in words
    """

    line: str
    lines: list[str]
    places: dict[Side, tuple[float, float]]
    at: str = ""
    before: tuple[str, ...] = ()


def told(result: dict[str, Any]) -> Told:
    """The findings of one recording for a person."""
    places: dict[Side, tuple[float, float]] = {}
    for side in SIDES:
        line = result["load_line"][f"body_on_{side}"]
        if line["mean_mm"] is not None:
            places[side] = (line["mean_mm"], 2 * line["uncertainty_mm"])
    return Told(one_line(result), summary_lines(result), places)


def one_line(result: dict[str, Any]) -> str:
    """A recording in a list: its number and protocol, where the body line falls, what the trial was for, the crutches."""
    name = str(result["recording"]).rsplit("/", 1)[-1]
    said = [
        say("trials.head", number=name[:2], protocol=result["protocol"], seconds=result["time"]["duration_s"])
    ]
    if result["protocol"] == "weight shift":
        levels = {side: level for side, level in result["levels"].items() if level is not None}
        said += [say("trials.level", side=side, level=level) for side, level in levels.items()]
    elif result.get("crutch_steps"):
        steps = [say("trials.step", step=s["step"], pct=s["crutch_pct"]) for s in result["crutch_steps"] if s["crutch_pct"] is not None]  # fmt: skip
        said.append(", ".join(steps))
    else:
        for side in SIDES:
            line = result["load_line"][f"body_on_{side}"]
            words = say("words.not-measured")
            if line["mean_mm"] is not None:
                words = band_words(line["probability_inside"], line["offset_mm"], line["uncertainty_mm"], line["verdict"])  # fmt: skip
            said.append(say("trials.line", side=side, words=words))
        if result["load"]["crutch_pct"] is not None:
            said.append(say("trials.crutches", pct=result["load"]["crutch_pct"]))
    if result["state"] != "complete":
        said.append(say("trials.state", state=result["state"]))
    return " · ".join(part for part in said if part)


def summary_lines(result: dict[str, Any]) -> list[str]:
    """The findings of one recording for a person, a line each; ends with what was not examined."""
    load, time = result["load"], result["time"]
    head = say(
        "summary.head", recording=result["recording"], protocol=result["protocol"], seconds=time["duration_s"]
    )
    lines = [head if result["state"] == "complete" else head + say("summary.state", state=result["state"])]
    lines += _load_lines(load)
    for side in SIDES:
        line = result["load_line"][f"body_on_{side}"]
        lines.append(say("summary.body-line", side=side, words=_line(line)))
        if line["verdict"] == "undecided" and SURELY_NOT < line["probability_inside"] < SURE:
            largest = line["largest_uncertainty"]
            lines.append(
                say("summary.help", largest=say(f"part.{largest}"), help=say(f"help-part.{largest}"))
            )
    for side in SIDES:
        lines.append(say("summary.foot-point", side=side, words=_line(result["load_line"][side])))
    support = result["support"]
    where = side_of_feet([result["load_line"][f"body_on_{side}"]["mean_pct"] for side in SIDES])
    words = stands_words(
        support["stands_on"],
        support["body_margin_mm"],
        support["body_margin_mm_u"],
        load["crutch_pct"],
        where,
    )
    lines.append(say("summary.support", words=words))
    for side in SIDES:
        lines += _moment_line(result["moment"][side], side)
    lines += [_shift_line(shift) for shift in result["shifts"]]
    sides = result.get("shift_sides") or {}
    if sides.get("difference_pct") is not None:
        pm = (
            ""
            if sides["ci95"] is None
            else say("summary.sides-pm", pm=(sides["ci95"][1] - sides["ci95"][0]) / 2)
        )
        lines.append(
            say(
                "summary.sides",
                left=sides["left_pct"],
                right=sides["right_pct"],
                difference=sides["difference_pct"],
                pm=pm,
            )
        )
    for side, level in result["levels"].items():
        if level is not None:
            lines.append(say("summary.level", side=side, level=level))
    lines += step_and_lean_lines(result)
    sway = result["sway"]["resultant"]
    if sway.get("rms_distance_mm") is not None and sway.get("path_mm") is not None:
        lines.append(
            say(
                "summary.sway",
                rms=sway["rms_distance_mm"],
                path=sway["path_mm"],
                area=sway["ellipse95_area_mm2"],
            )
        )
    for entry in result["quality"]:
        if entry["level"] != "note":
            lines.append(say("summary.quality", text=entry["text"]))
    lines.append(say("caution.not-examined"))
    return lines


def _load_lines(load: dict[str, Any]) -> list[str]:
    if load["total_n"] is None:
        return [say("summary.no-load")]
    feet_n = (
        load["total_n"] * (1 - (load["crutch_pct"] or 0.0) / 100)
        if load["crutch_from"] != "weight"
        else load["total_n"]
    )
    weight = load["body_weight_n"]
    lines = [] if load["left_pct"] is not None else [say("summary.feet", kg=kg(feet_n))]
    for side in SIDES if load["left_pct"] is not None else ():
        foot_n = feet_n * load[f"{side}_pct"] / 100
        if weight is None:
            lines.append(say("summary.foot-kg", side=side, kg=kg(foot_n)))
        else:
            lines.append(say("summary.foot", side=side, kg=kg(foot_n), pct=100 * foot_n / weight))
    if load["crutch_pct"] is not None:
        whole = weight if load["crutch_from"] == "weight" else load["total_n"]
        on_kg = kg(whole * load["crutch_pct"] / 100)
        lines.append(say("summary.crutches", kg=on_kg, pct=load["crutch_pct"], peak=load["crutch_peak_pct"]))
    if load["unmeasured_pct"] is not None and weight is not None:
        u_n = load["unmeasured_pct_u"] * weight / 100
        missing_n = load["unmeasured_pct"] * weight / 100
        beyond = missing_n > unmeasured_limit_n(u_n, weight)
        lines.append(say("summary.elsewhere", words=held_elsewhere_words(missing_n, u_n, beyond)))
    return lines


def _line(line: dict[str, Any]) -> str:
    if line["mean_mm"] is None:
        return say("words.not-measured")
    words = band_words(line["probability_inside"], line["offset_mm"], line["uncertainty_mm"], line["verdict"])
    return say(
        "summary.line",
        words=words,
        mm=line["mean_mm"],
        pm=expanded(line["uncertainty_mm"]),
        pct=line["mean_pct"],
    )


def side_of_feet(positions_pct: list[float | None]) -> str:
    """Which way the body line lies off the feet, from its positions on the shoes: ahead, behind or beside."""
    if all(p is not None and p > 100 for p in positions_pct):
        return "ahead"
    return "behind" if all(p is not None and p < 0 for p in positions_pct) else "beside"


def _moment_line(moment: dict[str, Any], side: str) -> list[str]:
    if moment["ankle_mean_nm"] is None:
        return []
    text = say("summary.ankle", side=side, nm=moment["ankle_mean_nm"], pm=expanded(moment["ankle_mean_nm_u"]))
    if moment["resisting_moment_nm"] is not None and moment["used_pct"] is not None:
        text += say("summary.entered", nm=moment["resisting_moment_nm"])
    return [text]


def _shift_line(shift: dict[str, Any]) -> str:
    start = "" if shift["start_s"] is None else say("summary.shift-at", at=shift["start_s"])
    if shift["hold_s"] is None or shift["body_weight_pct"] is None:
        return say("summary.shift-peak", side=shift["side"], start=start, pct=shift["peak_share_pct"])
    crutch = "" if shift["crutch_pct"] is None else say("summary.shift-crutch", pct=shift["crutch_pct"])
    return say(
        "summary.shift",
        side=shift["side"],
        start=start,
        pct=shift["body_weight_pct"],
        seconds=shift["hold_s"],
        crutch=crutch,
    )


def step_and_lean_lines(result: dict[str, Any]) -> list[str]:
    """What a crutch-load trial's steps or a lean gave; [] for other trials."""
    return [*(_step_line(step) for step in result.get("crutch_steps", ())), *_lean_lines(result.get("lean"))]


def _step_line(step: dict[str, Any]) -> str:
    if step["crutch_pct"] is None:
        return say("summary.step-unknown", step=step["step"])
    words = say("summary.step", step=step["step"], pct=step["crutch_pct"], peak=step["crutch_peak_pct"])
    if step["relief_ci95"] is not None:
        low, high = step["relief_ci95"]
        words += say("summary.relief", relief=round(step["relief_pct"], 1) + 0.0, pm=(high - low) / 2)
    return words


def _lean_lines(lean: dict[str, Any] | None) -> list[str]:
    lines = []
    for side in SIDES if lean else ():
        assert lean is not None
        used, more = lean[side]["used_pct"], lean["more_on_orthosis"].get(side)
        if used is not None:
            lines.append(say("summary.lean", side=side, low=used[0], high=used[1]))
        if more is not None:
            key = "summary.lean-more" if more["more"] else "summary.lean-not"
            lines.append(
                say(key, side=side, mm=more["foot_point_mm"], nm=more["ankle_nm"], pct=more["crutch_pct"])
            )
    return lines


def cue_words(detail: str) -> str:
    """What a cue asks, in everyday words."""
    parts = detail.split()
    if len(parts) == 3 and parts[0] == "shift" and parts[2].isdigit():
        return say("cue.shift", side=parts[1], target=int(parts[2]))
    return name(detail)


def replay_words(played: Played) -> str:
    """Where a replay stands."""
    key = "played.held" if played.paused else "played.on"
    words = say(key, position=played.position_s, duration=played.duration_s)
    if played.speed != 1.0:
        words += say("played.speed", times=played.speed)
    near = [mark.words for mark in played.marks if abs(mark.at_s - played.position_s) < MARK_SHOWN_S]
    return f"{words} · {near[-1]}" if near else words
