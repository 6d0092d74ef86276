"""Every English sentence of the program, by key. Places in braces are filled by ``balance.words.say``."""

# --- links and boards (drivers' errors and events) ---
LINKS: dict[str, str] = {}

# --- files: rig, stance, calibration, recordings ---
FILES: dict[str, str] = {
    "file.missing": "{file}: there is no such file. Check the name and the folder.",
    "file.not-a-file": "{file}: this is not a file. Name a file.",
    "file.too-large": "{file}: {size} bytes is more than such a file holds ({limit}). Is it the right file?",
    "file.not-utf8": "{file}: byte {byte} is not UTF-8 text. Save the file as UTF-8.",
    "file.unreadable": "{file}: cannot be read ({reason}). Check that it exists and that you may read it.",
    "file.not-toml": "{file}: not a TOML file: {reason}. Mend that line.",
    "file.not-json": "{file}: line {line}: not a JSON file: {reason}. Mend that line or take the original copy.",
    "file.not-a-table": "{file}: does not hold the named values that belong here. Is it the right file?",
    "file.newer-schema": "{file}: schema {schema} is newer than this program reads ({known}). "
    "Use a version of bandstand that reads schema {schema}.",
    "file.at-line": "line {line}, {key}",
    "file.at-key": "{key}",
    "file.key-missing": "is missing. Add it.",
    "file.key-unknown": "is not a key of this file. Correct its spelling or remove it.",
    "file.key-wrong": "{reason} (found {value}). Correct it.",
    "file.fault": "{file}: {where}: {what}",
    "rig.half-a-place": "the cell on channel {channel} has one of ap_mm and ml_mm but not the other",
    "rig.foot-cell-without-place": "the cell on channel {channel} ({under}) needs ap_mm and ml_mm",
    "rig.channel-twice": "channel {channels} stands on more than one cell",
    "rig.foot-without-cell": "there is no cell under the {side} foot",
    "rig.crutch-mixed": "the cells of the {side} crutch must all have a place (a plate) or none (in the shaft)",
    "calibration.covariance-shape": "channel {channel}: covariance must be 1×1, or 2×2 with newton_per_count2",
    "calibration.covariance-negative": "channel {channel}: a variance cannot be negative",
    "calibration.no-slope": "channel {channel}: newton_per_count must not be 0",
    "calibration.channel-twice": "a channel stands in it twice",
    "calibration.cell-missing": "{file}: no calibration for channel {channels}, which a cell of the rig is on. "
    "Without it there are no newtons: calibrate those cells.",
    "stance.half-a-tip": "a crutch tip needs both tip_ap_mm and tip_ml_mm, or neither",
    "stance.band": "the band must be two rising fractions between 0 and 1",
}

# --- quality entries of an analysis ---
QUALITY: dict[str, str] = {
    "quality.rate-differs": "The board gave {measured:.2f} samples a second; {nominal:.2f} were expected (more than 2 % apart).",
    "quality.no-filter": "No low-pass filter: {cutoff:g} Hz is not below 0.4 of the {rate:.1f} samples a second.",
    "quality.not-aligned": "Below 40 samples a second without conversion times the cells are not aligned in time: "
    "start, reach and shift times are not given.",
    "quality.values-left-out": "{count} samples were left out: a fault bit, a converter at its end, or a force beyond "
    "1.5 × a cell's capacity.",
    "quality.beyond-calibration": "Forces on channel {channels} went beyond 1.1 × the largest load of the calibration.",
    "quality.band-too-narrow": "{line}: the uncertainty (± {expanded_mm:.0f} mm) is too large for this band "
    "({band_mm:.0f} mm wide) ever to be called met. The largest part of it: {largest}.",
    "quality.heels-staggered": "The heel edges are {apart_mm:.0f} mm apart along the plates: one mean position of both "
    "feet has no meaning. The body line on each shoe is given.",
    "quality.ml-not-seen": "The cells under the {sides} foot stand in one line: sideways movement on it is not seen.",
    "quality.no-quiet-baseline": "No quiet 3 s before the first shift: the least restless ones were taken.",
    "quality.no-baseline": "There are no unbroken 3 s with both feet loaded: no shift can be found.",
    "quality.no-body-weight": "The body weight is not known: what needs it is not given.",
    "quality.body-weight-too-low": "The plates and crutches carry {extra_n:.0f} N more than the body weight given: check it.",
    "quality.unmeasured-support": "{missing_kg:.1f} kg are held somewhere else (a hand, a bar, a helper?): "
    "where the body line falls is undecided.",
    "quality.touched": "Somebody's hand was on the person: it moves the body line unseen, which is undecided therefore.",
    "quality.crutch-from-weight": "Crutches (or a bar) without cells: what the plates do not carry of the body weight is "
    "taken to be on them.",
    "quality.crutch-not-measured": "Crutches or another support in use have no cells, and the body weight is not known or "
    "a helper's hand was on the person: their load and the body line are not measured.",
    "quality.crutch-no-place": "A loaded crutch (or what holds the rest) has no place in the stance: there is no body line.",
    "quality.no-crutches": "No crutches by the stance and no cells under any.",
    "quality.weight-from-trial": "The body weight is not known; this trial's mean load on everything measured was taken.",
    "quality.foot-not-loaded": "{line}: never loaded enough to say where its point falls.",
    "quality.too-few-samples": "There are no ten unbroken samples that could be used: nothing can be found.",
    "quality.not-entered": "Not entered in the stance, or not noted in the posture: what rests on it is not given.",
    "quality.shank-angle": "{side}: the resisting moment was entered at {entered:g}° of the shank; the posture notes "
    "{noted}. A spring resists only at its angle.",
    "quality.knee-by-crutches": "The crutches carry more than 5 % and a tilt or the knee's height is missing (or the load is "
    "taken from the weight): the knee moment is not given.",
    "quality.edges-tie": "Two edges of the support area are about equally near: the margin's uncertainty is not given.",
    "quality.no-shift": "This was not a weight-shift trial, or no shift to that side was tried.",
    "quality.no-hold": "A shift without a hold of half a second has no hold values.",
    "quality.not-weighed": "{what} is measured only on plates or cells of its own.",
    "quality.not-noted": "Not noted in the recording.",
    "quality.filter-off": "The low-pass filter was turned off.",
    "quality.few-for-error": "Too few different values to say how far the mean itself scatters.",
}

# --- findings in words ---
FINDINGS: dict[str, str] = {
    "line.left": "foot point, left",
    "line.right": "foot point, right",
    "line.feet": "feet's point",
    "line.body": "body line",
    "line.body_on_left": "body line on the left shoe",
    "line.body_on_right": "body line on the right shoe",
    "part.masses and creep": "the masses of the calibration and creep",
    "part.cells": "the cells",
    "part.cell places": "where the cells stand",
    "part.crutch tips": "where the crutch tips stand",
    "part.crutch tilt": "the tilt of the crutches",
    "part.tip height": "the height of the crutch tips",
    "part.body weight": "the body weight",
    "part.other support": "where the unmeasured support stands",
    "part.side of the foot": "the side of the foot, which cells in one line do not see",
    "part.placing": "where the foot stands",
    "part.usable length": "the usable length of the shoe",
    "part.toe-out": "the toe-out of the foot",
}

# --- sway measures ---
MEASURES: dict[str, str] = {}

# --- simulated person and scenarios ---
SIMULATION: dict[str, str] = {}

# --- trials and protocols ---
TRIALS: dict[str, str] = {}

# --- commands: help, messages, terminal view ---
COMMANDS: dict[str, str] = {}

# --- window ---
WINDOW: dict[str, str] = {}

# --- cautions ---
CAUTIONS: dict[str, str] = {
    "caution.short": "Not a medical device. Someone stands within reach; braked chair behind, bar at hand; sit for adjustments.",
    "caution.title": "Cautions",
    "caution.1": "This is not a medical device. It measures where load falls; it judges nobody.",
    "caution.2": "Someone stands within reach of the person the whole time, a braked chair stands behind, a bar is at hand.",
    "caution.3": "The person sits down for every adjustment of an orthosis or shoe.",
    "caution.4": "Plates are a tripping edge: step on and off with help, and mark their edges.",
    "caution.5": "Each plate is built to carry twice the person's weight on one part of it.",
    "caution.6": "Electronics that touch a person's plates or crutches are isolated or run from a battery.",
    "caution.7": "Local codes for electrical and patient safety apply and come before this text.",
    "caution.8": "What is found here is for licensed practice to judge.",
    "caution.not-examined": "Not examined here: skin, pain, spasm, the knee giving way in movement, dizziness, walking.",
}

SENTENCES: dict[str, str] = {
    **LINKS,
    **FILES,
    **QUALITY,
    **FINDINGS,
    **MEASURES,
    **SIMULATION,
    **TRIALS,
    **COMMANDS,
    **WINDOW,
    **CAUTIONS,
}
