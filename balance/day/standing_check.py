"""The standing check: the questions answered before gait training begins. Nothing is summed to one number, and nothing says that
the person may walk: that is for licensed practice to decide."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

from balance.day.reading import Day, Found
from balance.findings_words import expanded
from balance.rig import Side
from balance.verdict import SURE, SURELY_NOT, normal_below, probability_inside, unmeasured_limit_n
from balance.words import say

Result = Literal["met", "not met", "undecided", "not measured", "does not apply"]

ITEMS = (
    "body line in the band", "foot point in the band", "body line over the feet", "nothing else carries load",
    "crutch share within its limit", "load taken", "ankle moment within what was entered", "other postures over the support",
)  # fmt: skip
BAND, FOOT_BAND, OVER_FEET, NOTHING_ELSE, CRUTCHES, LOAD, ANKLE, POSTURES = ITEMS
OF_VERDICT: dict[str, Result] = {"inside": "met", "outside": "not met"}
OF_STAND: dict[str, Result] = {"feet": "met", "feet and crutches": "not met"}
LEVELS = ("not reached", "reached, not held", "partial load held", "near-full load held")


@dataclass(frozen=True)
class Answer:
    """What one recording says to one question."""

    result: Result
    why: str
    numbers: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class _Question:
    item: str
    side: str | None
    answers: list[Found]  # since the last adjustment, the newest last
    before: bool  # there were some, but only before the adjustment
    of: Callable[[Found], Answer]
    more: dict[str, Any] = field(default_factory=dict)


def standing_check(day: Day) -> list[dict[str, Any]]:
    """The items in their order, as `bandstand check` prints them."""
    quiet = [one for one in day.found if one.trial.protocol == "quiet standing"]
    own, shifts = (
        _since(day, [one for one in quiet if one.posture == "own"]),
        _since(day, [one for one in day.found if one.trial.protocol == "weight shift"]),
    )
    braced = day.orthosis_sides
    items: list[dict[str, Any]] = []

    def ask(item: str, side: str | None, of: Callable[[Found], Answer], trials: tuple[list[Found], bool] = own, **more: Any) -> None:  # fmt: skip
        items.append(_answered(day, _Question(item, side, *trials, of, more)))

    def each_braced(item: str, of: Callable[[str], Callable[[Found], Answer]]) -> None:
        for side in braced:
            ask(item, side, of(side))
        if not braced:
            items.append(_entry(item, None, Answer("does not apply", say("check.no-orthosis")), None))

    each_braced(BAND, lambda side: lambda one: _in_band(one, f"body_on_{side}"))
    each_braced(FOOT_BAND, lambda side: lambda one: _in_band(one, side))
    ask(OVER_FEET, None, _over_feet)
    ask(NOTHING_ELSE, None, _nothing_else)
    if day.notes.crutch_limit_pct is None:
        items.append(_entry(CRUTCHES, None, Answer("does not apply", say("check.no-crutch-limit")), None))
    else:
        limit = day.notes.crutch_limit_pct
        ask(CRUTCHES, None, lambda one: _crutches(one, limit))
    for side in ("left", "right"):
        items.append(_load_taken(day, side, *shifts))
    each_braced(ANKLE, lambda side: lambda one: _ankle(one, side))
    _postures(day, quiet, braced, ask, items)
    return items


def is_met(items: list[dict[str, Any]]) -> bool:
    """At least one item was measured, and all measured ones are met."""
    measured = [one["result"] for one in items if one["result"] in ("met", "not met", "undecided")]
    return bool(measured) and all(result == "met" for result in measured)


def _since(day: Day, trials: list[Found]) -> tuple[list[Found], bool]:
    """Those since the last adjustment; whether there were only older ones."""
    last = day.last_adjustment
    after = trials if last is None else [one for one in trials if one.at >= last]
    return after, bool(trials) and not after


def _entry(item: str, side: str | None, answer: Answer, recording: str | None, **more: Any) -> dict[str, Any]:
    return {"item": item, "side": side, "result": answer.result, "why": answer.why, "numbers": answer.numbers, "recording": recording, **more}  # fmt: skip


def _answered(day: Day, q: _Question) -> dict[str, Any]:
    if q.item in day.notes.does_not_apply:
        return _entry(q.item, q.side, Answer("does not apply", say("check.said-so")), None, **q.more)
    if not q.answers:
        return _entry(q.item, q.side, _nobody_answers(day, q.before), None, **q.more)
    newest = q.answers[-1]
    earlier = [_entry(q.item, q.side, q.of(one), one.name) for one in q.answers[:-1]]
    kept = [{k: v for k, v in one.items() if k not in ("item", "side")} for one in earlier]
    return _entry(q.item, q.side, q.of(newest), newest.name, **({"earlier": kept} if kept else {}), **q.more)


def _nobody_answers(day: Day, before: bool) -> Answer:
    last = day.last_adjustment
    if before and last is not None:
        return Answer("not measured", say("check.not-since", time=f"{last:%H:%M}"))
    return Answer("not measured", say("check.no-trial"))


def _by_probability(probability: float) -> Result:
    if probability >= SURE:
        return "met"
    return "not met" if probability <= SURELY_NOT else "undecided"


def _absent(one: Found, *keys: str) -> Answer:
    """Not measured, with the reason that the findings give."""
    for entry in one.findings["quality"]:
        if set(keys) & set(entry.get("keys", ())):
            return Answer("not measured", entry["text"])
    return Answer("not measured", say("check.no-value"))


def _undecided_why(one: Found) -> str | None:
    """A hand or something unmeasured: the sentence, where it makes the body line undecided."""
    for entry in one.findings["quality"]:
        if entry["code"] in ("unmeasured-support", "touched"):
            return str(entry["text"])
    return None


def _in_band(one: Found, line: str) -> Answer:
    block = one.findings["load_line"][line]
    if block["mean_mm"] is None:
        return _absent(one, f"load_line.{line}.mean_mm")
    side: Side = "left" if line.endswith("left") else "right"
    low, high = (part * one.trial.stance.foot(side).usable_length_mm for part in one.trial.stance.band)
    facts = {"mm": block["mean_mm"], "pm": expanded(block["uncertainty_mm"]), "low": low, "high": high}
    result = OF_VERDICT.get(block["verdict"], "undecided")
    key = {"met": "check.inside", "not met": "check.outside", "undecided": "check.too-close"}[result]
    why = say(key, **facts)
    if result == "undecided" and line.startswith("body") and (reason := _undecided_why(one)):
        why += " " + reason
    numbers = {
        k: block[k] for k in ("mean_pct", "probability_inside", "mean_mm", "uncertainty_mm", "offset_mm")
    }
    return Answer(result, why, numbers)


def _over_feet(one: Found) -> Answer:
    support = one.findings["support"]
    on = support["stands_on"]
    if on is None:
        return _absent(one, "support.stands_on")
    result = OF_STAND.get(on, "undecided")
    facts = {"mm": abs(support["body_margin_mm"]), "probability": _sure(support["probability_on_feet"])}
    inside = "check.over-feet" if support["body_margin_mm"] >= 0 else "check.beyond-feet"
    why = say(inside, **facts)
    if result == "undecided" and (reason := _undecided_why(one)):
        why += " " + reason
    return Answer(
        result, why, {k: support[k] for k in ("body_margin_mm", "body_margin_mm_u", "probability_on_feet")}
    )


def _sure(probability: float) -> str:
    """In percent; nothing is certain."""
    key = (
        "check.nearly-sure"
        if probability > 0.99
        else "check.nearly-not"
        if probability < 0.01
        else "check.probability"
    )
    return say(key, pct=100 * probability)


def _nothing_else(one: Found) -> Answer:
    load = one.findings["load"]
    if load["crutch_from"] == "weight":
        return Answer("not measured", say("check.from-weight"))
    weight = load["body_weight_n"]
    if load["unmeasured_pct"] is None or weight is None:
        return _absent(one, "load.unmeasured_pct")
    missing, u = load["unmeasured_pct"] * weight / 100, load["unmeasured_pct_u"] * weight / 100
    limit = unmeasured_limit_n(u, weight)
    why = say(
        "check.elsewhere", kg=round(missing / 9.80665, 1) + 0.0, pm=2 * u / 9.80665, limit=limit / 9.80665
    )
    numbers = {
        "unmeasured_pct": load["unmeasured_pct"],
        "unmeasured_pct_u": load["unmeasured_pct_u"],
        "limit_n": limit,
    }
    return Answer("met" if missing <= limit else "not met", why, numbers)


def _crutches(one: Found, limit_pct: float) -> Answer:
    load = one.findings["load"]
    pct, u = load["crutch_pct"], load["crutch_pct_u"]
    if pct is None:
        return _absent(one, "load.crutch_pct")
    below = (1.0 if pct <= limit_pct else 0.0) if not u else normal_below((limit_pct - pct) / u)
    why = say("check.crutches", pct=pct, pm=2 * u, limit=limit_pct)
    return Answer(_by_probability(below), why, {"crutch_pct": pct, "crutch_pct_u": u, "limit_pct": limit_pct})


def _load_taken(day: Day, side: str, trials: list[Found], before: bool) -> dict[str, Any]:
    """The best level of all weight shifts since the adjustment."""

    def level(one: Found) -> int:
        found = one.findings["levels"][side]
        return -1 if found is None else LEVELS.index(found)

    if LOAD in day.notes.does_not_apply:
        return _entry(LOAD, side, Answer("does not apply", say("check.said-so")), None)
    if not trials:
        return _entry(LOAD, side, _nobody_answers(day, before), None)
    best = max(trials, key=lambda one: (level(one), one.at))
    name = best.findings["levels"][side]
    if name is None:
        return _entry(LOAD, side, _absent(best, f"levels.{side}"), best.name)
    own = [s for s in best.findings["shifts"] if s["side"] == side and s["body_weight_pct"] is not None]
    held = max((s["body_weight_pct"] for s in own), default=None)
    result: Result = "met" if level(best) >= LEVELS.index("partial load held") else "not met"
    return _entry(LOAD, side, Answer(result, say("check.level", level=name), {"level": name, "body_weight_pct": held}), best.name)  # fmt: skip


def _ankle(one: Found, side: str) -> Answer:
    block = one.findings["moment"][side]
    entered = block["resisting_moment_nm"]
    if entered is None:
        return Answer("does not apply", say("check.no-moment"))
    if block["used_pct"] is None:
        return _absent(one, f"moment.{side}.used_pct")
    why = say("check.ankle", nm=block["ankle_p95_nm"], entered=entered, pct=block["used_pct"])
    return Answer("met" if block["used_pct"] <= 100 else "not met", why, {"used_pct": block["used_pct"], "ankle_p95_nm": block["ankle_p95_nm"]})  # fmt: skip


def _on_support(one: Found, side: str) -> Answer:
    line = f"body_on_{side}"
    block = one.findings["load_line"][line]
    if block["mean_pct"] is None:
        return _absent(one, f"load_line.{line}.mean_pct")
    length = one.trial.stance.foot("left" if side == "left" else "right").usable_length_mm
    probability = probability_inside(block["mean_mm"], block["uncertainty_mm"], 0.0, length)
    reason = _undecided_why(one)
    why = say(
        "check.on-support", mm=block["mean_mm"], pm=math.ceil(2 * block["uncertainty_mm"]), length=length
    )
    result = _by_probability(probability) if reason is None else "undecided"
    return Answer(result, why if reason is None else f"{why} {reason}", {"mean_pct": block["mean_pct"], "probability_on_support": probability})  # fmt: skip


def _postures(day: Day, quiet: list[Found], braced: list[str], ask: Callable[..., None], items: list[dict[str, Any]]) -> None:  # fmt: skip
    kinds = sorted({one.posture for one in quiet} - {"own"})
    if not braced or POSTURES in day.notes.does_not_apply:
        why = say("check.said-so" if braced else "check.no-orthosis")
        items.append(_entry(POSTURES, None, Answer("does not apply", why), None))
        return
    if not kinds:
        items.append(_entry(POSTURES, None, Answer("not measured", say("check.no-posture")), None))
    for kind in kinds:
        trials = _since(day, [one for one in quiet if one.posture == kind])
        for side in braced:
            ask(POSTURES, side, lambda one, side=side: _on_support(one, side), trials, posture=kind)
