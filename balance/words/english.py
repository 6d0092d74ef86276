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
QUALITY: dict[str, str] = {}

# --- findings in words ---
FINDINGS: dict[str, str] = {}

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
CAUTIONS: dict[str, str] = {}

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
