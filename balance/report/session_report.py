"""The report of one day: what was asked, what was found, what each adjustment did, how sure; for the file and for a colleague."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from balance.calibration import doubts
from balance.day.comparing import compare
from balance.day.notes import Adjustment
from balance.day.reading import Day, Found
from balance.day.standing_check import standing_check
from balance.findings_words import (
    band_words,
    expanded,
    held_elsewhere_words,
    kg,
    side_of_feet,
    stands_words,
    step_and_lean_lines,
)
from balance.hints import hints
from balance.load_line import FootFrame
from balance.report.blocks import Block, Bullets, Heading, Paragraph, Table
from balance.report.pictures import lanes, over_time
from balance.rig import SIDES
from balance.verdict import unmeasured_limit_n
from balance.words import name, number, say

LINES = ("body_on_left", "body_on_right", "left", "right")
CHANGES = ("load_line.body_on_left.mean_mm", "load_line.body_on_right.mean_mm", "load_line.left.mean_mm", "load_line.right.mean_mm", "load.left_pct", "load.crutch_pct",
           "moment.left.ankle_mean_nm", "moment.right.ankle_mean_nm")  # fmt: skip


def session_blocks(
    day: Day, events: dict[str, list[tuple[float, str]]], last_visit: Day | None = None
) -> list[Block]:
    """events: by recording's name, (seconds after its first row, words). Findings must hold ``series`` and ``batch_means``."""
    blocks: list[Block] = [Table([say("report.what"), say("report.entry")], _head(day))]
    blocks += [
        Heading(say("report.check")),
        Paragraph(say("caution.not-examined"), strong=True),
        _check(day),
        Paragraph(say("report.check-words")),
    ]
    if day.adjustments:
        blocks += [Heading(say("report.adjustments")), *_adjustments(day)]
    blocks.append(Heading(say("report.trials")))
    for one in day.found:
        blocks += _trial(one, events.get(one.name, []))
    if last_visit is not None and last_visit.found:
        blocks += [Heading(say("report.last-visit", day=last_visit.folder.name)), _beside(last_visit, day)]
    blocks += [Heading(say("report.method")), Bullets([say(f"report.method.{k}") for k in range(1, 11)])]
    if day.mixed:
        blocks.append(Bullets(day.mixed))
    if day.broken:
        blocks += [Heading(say("report.unread")), Bullets(day.broken)]
    return [*blocks, Paragraph(say("caution.not-examined"), strong=True)]


def _head(day: Day) -> list[list[str]]:
    notes, newest = day.notes, day.found[-1] if day.found else None
    subject = (notes.subject or (newest.trial.subject if newest else None)) if notes or newest else None
    rows = [
        [say("report.subject"), (subject.code if subject else None) or say("report.blank")],
        [say("report.date"), day.folder.name],
        [say("report.examiner"), notes.examiner or say("report.blank")],
        [say("report.place"), notes.place or say("report.blank")],
        [say("report.next"), say("report.blank")],
    ]
    if newest is not None:
        known, rig = newest.trial.calibration, newest.trial.rig
        rows.append([say("report.rig"), rig.name])
        rows.append([say("report.calibration"), known.made])
        weight = newest.trial.body_weight_n
        if weight is not None:
            rows.append([say("report.weight"), say("report.kg-pm", kg=kg(weight), pm=2 * kg(newest.trial.body_weight_u_n))])  # fmt: skip
        file = newest.folder / "trial.json"
        rows += [[say("report.doubt"), sentence] for sentence in doubts(file, rig, known, newest.at)]
    return rows


def _check(day: Day) -> Table:
    rows, times = [], {one.name: f"{one.at:%H:%M}" for one in day.found}
    for one in standing_check(day):
        where = ", ".join(name(part) for part in (one["side"], one.get("posture")) if part)
        rows.append(
            [
                name(one["item"]),
                where,
                say(f"check.{one['result']}"),
                one["why"],
                times.get(one["recording"], ""),
            ]
        )
    return Table([say(f"report.{name}") for name in ("question", "side", "answer", "why", "from")], rows)


def _trial(one: Found, events: list[tuple[float, str]]) -> list[Block]:
    f, trial = one.findings, one.trial
    head = say(
        "report.trial", time=f"{one.at:%H:%M}", protocol=trial.protocol, seconds=f["time"]["duration_s"]
    )
    about = [say("report.posture", posture=one.posture)]
    if trial.placing is not None:
        about.append(say("report.placing", placing=trial.placing))
    if trial.touched in ("steadied", "held"):
        about.append(say(f"report.touched-{trial.touched}"))
    if trial.state != "complete":
        about.append(say("report.interrupted"))
    blocks: list[Block] = [Heading(head, 3), Paragraph(", ".join(about))]
    if f["load"]["total_n"] is None:
        return [*blocks, Paragraph(say("report.no-load")), *_remarks(f)]
    blocks += [
        Paragraph(_stands(f), strong=True),
        lanes(f, trial.stance),
        *_on_the_scale(one),
        _lines_table(one),
        _loads_table(one),
        *_joints(one),
    ]
    if f["shifts"]:
        blocks.append(_shifts_table(f))
    told = [line.strip() for line in step_and_lean_lines(f)]
    if told:
        blocks.append(Bullets(told))
    if f.get("series", {}).get("time_s"):
        blocks.append(over_time(f, trial.stance, events))
    said = trial.person_says or {}
    words = [say(f"report.says-{key}", value=said[key]) for key in ("feels_steady", "pain") if isinstance(said.get(key), int | float)]  # fmt: skip
    if said.get("skin_looked_at"):
        words.append(say("report.says-skin_looked_at"))
    if words:
        blocks.append(Paragraph(say("report.says", words=", ".join(words))))
    blocks += [Paragraph(sentence) for sentence in hints(f)]
    return [*blocks, *_remarks(f)]


def _on_the_scale(one: Found) -> list[Block]:
    """Where the body line stands on the plates' scale, by either shoe."""
    for side in SIDES:
        mean = one.findings["load_line"][f"body_on_{side}"]["mean_mm"]
        if mean is not None:
            frame = FootFrame.of(one.trial.stance, side)
            return [Paragraph(say("report.scale", ap=float(frame.heel_mm[0]) + mean * float(frame.along[0])))]
    return []


def _joints(one: Found) -> list[Block]:
    posture = one.trial.posture
    given = {} if posture is None else {"knee": posture.knee_offset_mm, "hip": posture.hip_offset_mm}
    rows = [[say(f"report.joint-{name}"), f"{mm:+.0f}"] for name, mm in given.items() if mm is not None]
    return (
        [Table([say("report.joint"), say("report.joint-ahead")], rows, 1), Paragraph(say("report.joints"))]
        if rows
        else []
    )


def _stands(f: dict[str, Any]) -> str:
    support = f["support"]
    where = side_of_feet([f["load_line"][f"body_on_{side}"]["mean_pct"] for side in SIDES])
    words = stands_words(support["stands_on"], support["body_margin_mm"], support["body_margin_mm_u"], f["load"]["crutch_pct"], where)  # fmt: skip
    return words[0].upper() + words[1:] + "."


def _lines_table(one: Found) -> Table:
    rows = []
    for line in LINES:
        block = one.findings["load_line"][line]
        side = "left" if line.endswith("left") else "right"
        foot = one.trial.stance.foot("left" if side == "left" else "right")
        if block["mean_mm"] is None:
            rows.append([say(f"line.{line}"), say("words.not-measured"), "–", "–", "–", "–"])
            continue
        words = band_words(
            block["probability_inside"], block["offset_mm"], block["uncertainty_mm"], block["verdict"]
        )
        bench = foot.bench_line_mm
        rows.append(
            [say(f"line.{line}"), words, f"{block['mean_mm']:.0f} ± {expanded(block['uncertainty_mm'])}", f"{block['mean_pct']:.0f}",
             f"{foot.usable_length_mm - block['mean_mm']:.0f}", number(bench, ".0f")]
        )  # fmt: skip
    head = ("line", "band", "mm", "pct", "to-rocker", "bench")
    return Table([say(f"report.column-{name}") for name in head], rows, 2)


def _loads_table(one: Found) -> Table:
    f, load = one.findings, one.findings["load"]
    weight, total = load["body_weight_n"], load["total_n"]
    feet_n = total if load["crutch_from"] == "weight" else total * (1 - (load["crutch_pct"] or 0.0) / 100)
    rows = []
    for side in SIDES:
        foot_n = feet_n * load[f"{side}_pct"] / 100
        pct = "–" if weight is None else f"{100 * foot_n / weight:.0f}"
        rows.append([say("report.on-leg", side=side), number(kg(foot_n), ".1f"), pct, _ankle(f, side)])
    if load["crutch_pct"] is None:
        rows.append([say("report.on-crutches"), say("words.not-measured"), "–", ""])
    else:
        whole = weight if load["crutch_from"] == "weight" else total
        rows.append([say("report.on-crutches"), number(kg(whole * load['crutch_pct'] / 100), ".1f"), number(load['crutch_pct'], ".1f"), say("report.at-most", pct=load["crutch_peak_pct"])])  # fmt: skip
    if load["unmeasured_pct"] is not None and weight is not None:
        u, missing = load["unmeasured_pct_u"] * weight / 100, load["unmeasured_pct"] * weight / 100
        words = held_elsewhere_words(missing, u, missing > unmeasured_limit_n(u, weight))
        rows.append([say("report.elsewhere"), _about(kg(missing)), _about(load["unmeasured_pct"]), words])
    return Table(
        [
            say("report.load"),
            say("report.column-kg"),
            say("report.column-of-weight"),
            say("report.column-more"),
        ],
        rows,
        99,
    )


def _ankle(f: dict[str, Any], side: str) -> str:
    block = f["moment"][side]
    if block["ankle_mean_nm"] is None:
        return ""
    words = say("report.ankle", nm=block["ankle_mean_nm"], pm=2 * block["ankle_mean_nm_u"])
    if block["resisting_moment_nm"] is not None:
        words += say("summary.entered", nm=block["resisting_moment_nm"])
    return words


def _shifts_table(f: dict[str, Any]) -> Table:
    rows = []
    for shift in f["shifts"]:
        rows.append(
            [name(shift["side"]), number(shift["start_s"], ".1f"), number(shift["hold_s"], ".1f"),
             number(shift["body_weight_pct"], ".0f"),
             number(shift["crutch_pct"], ".0f"),
             number(shift["in_band_pct_time"], ".0f")]
        )  # fmt: skip
    rows += [
        [name(side), say("report.best", level=level), "", "", "", ""]
        for side, level in f["levels"].items()
        if level
    ]
    head = ("to", "from", "held", "weight", "crutch", "band")
    return Table([say(f"report.shift-{name}") for name in head], rows, 1)


def _is_of_sway(entry: dict[str, Any]) -> bool:
    """A remark on sway measures alone, of which this page has none."""
    keys = entry.get("keys", [])
    return entry["code"] == "spectral-resolution" or (
        bool(keys) and all(key.startswith("sway.") for key in keys)
    )


def _remarks(f: dict[str, Any]) -> list[Block]:
    texts = [entry["text"] for entry in f["quality"] if entry["level"] != "note" and not _is_of_sway(entry)]
    return [Bullets(texts)] if texts else []


def _adjustments(day: Day) -> list[Block]:
    """Each with what changed between the trials before and after it, against what standing up again changes."""
    entries = day.adjustments
    first = min((one.at for one in entries if one.at is not None), default=None)
    repeats = [one for one in day.found if first is not None and one.at < first]
    blocks: list[Block] = []
    for k, entry in enumerate(entries):
        blocks.append(Paragraph(_adjustment_words(entry), strong=True))
        if entry.at is None:
            continue
        start = entries[k - 1].at if k else None
        end = entries[k + 1].at if k + 1 < len(entries) else None
        before = [one for one in day.found if (start is None or one.at >= start) and one.at < entry.at]
        after = [one for one in day.found if one.at >= entry.at and (end is None or one.at < end)]
        rows = compare(before, after, repeats, "") if before and after else []
        told = [_change_words(row) + _per_unit(row, entry) for row in rows if row["measure"] in CHANGES]
        blocks.append(Bullets(told) if told else Paragraph(say("report.no-pair")))
    return blocks


def _adjustment_words(entry: Adjustment) -> str:
    time = f"{entry.at:%H:%M}" if entry.at else "–"
    words = say("report.adjustment", time=time, side=entry.side or "", what=entry.what or "", old=_setting(entry.from_), new=_setting(entry.to), unit=entry.unit or "")  # fmt: skip
    return words + (say("report.temporary") if entry.temporary else "")


def _per_unit(row: dict[str, Any], entry: Adjustment) -> str:
    """What one unit of the setting moved the body line for this person."""
    old, new = entry.from_, entry.to
    interval = row["ci95"] or row.get("within_trial95")
    numbers = isinstance(old, int | float) and isinstance(new, int | float)
    if not numbers or old == new or interval is None or "body_on" not in row["measure"]:
        return ""
    per, pm = row["difference"] / (new - old), (interval[1] - interval[0]) / 2 / abs(new - old)
    return say(
        "report.per-unit",
        per=number(per, "+.1f"),
        unit=entry.unit or "1",
        pm=number(math.ceil(10 * pm - 1e-9) / 10, ".1f"),
    )


def _setting(value: object) -> str:
    """As it was entered; a number without needless digits."""
    return number(value, "g") if value is None or isinstance(value, int | float) else str(value)


def _change_words(row: dict[str, Any]) -> str:
    """Millimetres whole, the rest with one digit; ± and what standing up again changes are rounded up."""
    digits = 0 if row["measure"].endswith("_mm") else 1

    def up(value: float) -> str:
        return f"{math.ceil(value * 10**digits - 1e-9) / 10**digits:.{digits}f}"

    interval = row["ci95"] or row.get("within_trial95")
    pm = "" if interval is None else say("report.change-pm", pm=up((interval[1] - interval[0]) / 2))
    name = say(f"report.change.{row['measure']}")
    words = say("report.change", name=name, a=_about(row["a"], digits), b=_about(row["b"], digits), difference=f"{round(row['difference'], digits) + 0.0:+.{digits}f}", pm=pm)  # fmt: skip
    if row["beyond_mdc"] is None:
        return words + say("report.change-unknown")
    key = "report.change-beyond" if row["beyond_mdc"] else "report.change-within"
    return words + say(key, mdc=up(row["mdc95"]), count=row["mdc_dof"] + 1)


def _beside(before: Day, now: Day) -> Table:
    """The newest quiet standing of both days."""
    newest = [_newest_quiet(day.found) for day in (before, now)]
    rows = []
    for line in LINES:
        cells = []
        for one in newest:
            block: dict[str, Any] = one.findings["load_line"][line] if one else {"mean_mm": None}
            cells.append(
                "–"
                if block["mean_mm"] is None
                else f"{block['mean_mm']:.0f} ± {expanded(block['uncertainty_mm'])}"
            )
        rows.append([say(f"line.{line}"), *cells])
    return Table([say("report.column-line"), before.folder.name, now.folder.name], rows, 1)


def _about(value: float, digits: int = 1) -> str:
    """Rounded; a zero has no sign."""
    return number(round(value, digits) + 0.0, f".{digits}f")


def _newest_quiet(found: Sequence[Found]) -> Found | None:
    quiet = [one for one in found if one.trial.protocol == "quiet standing"]
    return quiet[-1] if quiet else None


def person_blocks(day: Day) -> list[Block]:
    """Half a page in everyday words with one large picture: where your weight falls, today."""
    newest = _newest_quiet(day.found)
    if newest is None:
        return [Paragraph(say("person.nothing"))]
    f = newest.findings
    blocks: list[Block] = [Paragraph(say("person.intro")), lanes(f, newest.trial.stance, everyday=True)]
    words = []
    for side in SIDES:
        block = f["load_line"][f"body_on_{side}"]
        if block["verdict"] == "inside":
            words.append(say("person.inside", side=side))
        elif block["verdict"] == "outside":
            words.append(say("person.ahead" if block["offset_mm"] > 0 else "person.behind", side=side, cm=abs(block["offset_mm"]) / 10))  # fmt: skip
        elif block["mean_mm"] is not None:
            words.append(say("person.unsure", side=side))
    load = f["load"]
    if load["total_n"] is not None and load["crutch_from"] != "weight":
        feet_n = load["total_n"] * (1 - (load["crutch_pct"] or 0.0) / 100)
        words.append(say("person.legs", left=kg(feet_n * load["left_pct"] / 100), right=kg(feet_n * load["right_pct"] / 100)))  # fmt: skip
        if load["crutch_pct"]:
            words.append(say("person.crutches", kg=kg(load["total_n"] * load["crutch_pct"] / 100)))
    return [*blocks, Bullets(words), Paragraph(say("person.closing")), Paragraph(say("caution.not-examined"))]
