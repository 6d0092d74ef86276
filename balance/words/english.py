"""Every English sentence of the program, by key. Places in braces are filled by ``balance.words.say``."""

# --- links and boards (drivers' errors and events) ---
LINKS: dict[str, str] = {}

# --- files: rig, stance, calibration, recordings ---
FILES: dict[str, str] = {}

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
