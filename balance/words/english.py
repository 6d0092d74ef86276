"""Every English sentence of the program, by key. Places in braces are filled by ``balance.words.say``."""

# --- links and boards (drivers' errors and events) ---
LINKS: dict[str, str] = {
    "error.board": "The board reports a fault.",
    "error.port-not-found": "{port}: there is no such port, or nothing answers there ({reason}). Plug the board in, or see "
    "the ports with: bandstand devices",
    "error.port-busy": "{port}: another program has this port. Close it and try again.",
    "error.no-permission": "{port}: you may not open this port. Linux: add yourself to the group dialout "
    "(sudo usermod -a -G dialout $USER) and log in again; macOS and Windows: close other programs, then replug the board.",
    "error.wrong-board": "{port}: no board answered within 3 s. Is it the right port, is the board powered and flashed?",
    "error.wrong-version": "{port}: the board speaks version {found} of the wire format; this program knows {known}. "
    "Flash the firmware that belongs to this program.",
    "error.lost-link": "{port}: the board fell silent. Check plug and power; it is looked for until it answers.",
    "event.skipped": "{count} messages came damaged and were left out",
    "event.board-counters": "the board reports: {what}",
    "event.restarted": "the board restarted (boot {boot}, cause {cause}); its clock was continued",
    "event.port-gone": "{port} is gone ({reason}): replug the board, it is looked for",
    "event.silent": "{port} has been silent for 0.5 s: check plug and power, the board is looked for",
    "event.other-board": "{port}: another board answers ({board}); plug the first one in again",
    "event.reconnected": "{port}: the board answers again; what was missed stays a gap",
    "event.ended": "that was all",
}

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
    "recording.no-folder": "{folder}: there is no such folder. Name the folder of a recording.",
    "recording.path-trick": "{file}: samples.file is {name!r}, which is not a plain file name in this folder. Correct it.",
    "recording.checksum": "{file}: the checksum in trial.json does not match: the file was changed since it was recorded. "
    "Take the original copy.",
    "recording.too-few-rows": "{file}: {rows} rows are too few for a recording (2 are the least). Is it the right file?",
    "recording.rows": "{file}: trial.json claims {claimed} rows, the file has {rows}. Take the original copy.",
    "recording.header": "{file}: line 1: the header must read {expected}. Correct it.",
    "recording.channels": "{file}: line 1: {channels} channels, but the rig has a cell on channel {needed}−1. "
    "Is it the right rig?",
    "recording.width": "{file}: line {line}: {found} values where the header names {expected}. Mend or remove that line.",
    "recording.not-a-number": "{file}: line {line}: not whole numbers: {text!r}. Mend or remove that line.",
    "recording.sequence": "{file}: line {line}: sequence does not rise. The rows are not in their order.",
    "recording.clock-back": "{file}: line {line}: board_us goes back. The rows are not in their order.",
    "recording.status": "{file}: line {line}: a negative status. Mend that line.",
    "recording.counts": "{file}: line {line}: counts beyond a 24-bit converter. Are columns swapped?",
    "recording.no-time": "{file}: board_us never moves. Without time there is no rate.",
    "recording.event-header": "{file}: line 1: the header must read board_us,kind,detail. Correct it.",
    "recording.event": "{file}: line {line}: not an event (board_us,kind,detail). Mend or remove that line.",
    "recording.exists": "{folder}: exists already. Nothing was overwritten: choose another folder.",
    "recording.cannot-create": "{folder}: cannot be made ({reason}). Choose another folder or free some space.",
    "recording.write": "{folder}: writing failed ({reason}). What was recorded until then is kept: free some space or "
    "bring the folder back, then run: bandstand repair {folder}",
    "recording.overflow": "{folder}: the disk is too slow, samples could not be kept up with: this trial is spoiled from "
    "there on. What was recorded before is kept.",
    "recording.subject-code": "{code!r} cannot be a subject code: letters, digits, - and _ only, no name of a person.",
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
    "words.in-band": "in the band",
    "words.likely-in": "likely in the band",
    "words.too-close": "too close to call (± {pm} mm)",
    "words.likely-out": "likely outside",
    "words.ahead": "{mm} mm ahead of the band",
    "words.behind": "{mm} mm behind the band",
    "words.undecided": "too close to call: something unmeasured may hold",
    "words.not-measured": "not measured",
    "words.body-not-measured": "body line: not measured",
    "words.over-feet": "body line over the feet",
    "words.over-feet-crutches": "body line over the feet (crutches carry {pct} %)",
    "words.feet-undecided": "body line over the feet or not: too close to call",
    "words.ahead-of-feet": "body line {mm} mm{pm} ahead of the feet: the crutches help to hold it",
    "words.behind-of-feet": "body line {mm} mm{pm} behind the feet: held by the crutches or by something else",
    "words.beside-of-feet": "body line {mm} mm{pm} beside the feet: held by the crutches or by something else",
    "words.pm": " (± {pm})",
    "words.weight-unknown": "body weight not known",
    "words.held-elsewhere": "{kg} kg are held somewhere else: a hand, a bar, a helper?",
    "words.nothing-seen": "nothing seen (± {pm} kg)",
    "summary.head": "{recording}: {protocol}, {seconds:.0f} s",
    "summary.state": " ({state})",
    "summary.no-load": "  no load on the feet: nothing found",
    "summary.foot": "  on the {side} foot          {kg:.0f} kg, {pct:.0f} % of body weight",
    "summary.foot-kg": "  on the {side} foot          {kg:.0f} kg",
    "summary.crutches": "  on the crutches           {kg:.0f} kg, {pct:.0f} % (at most {peak:.0f} %)",
    "summary.elsewhere": "  held elsewhere            {words}",
    "summary.body-line": "  body line, {side} shoe      {words}",
    "summary.foot-point": "  foot point, {side}          {words}",
    "summary.line": "{words}: {mm:.0f} mm from the heel edge (± {pm}), {pct:.0f} % of the usable length",
    "summary.support": "  {words}",
    "summary.ankle": "  ankle moment, {side}        {nm:.0f} N·m (± {pm})",
    "summary.entered": "; you entered {nm:g}",
    "summary.shift": "  shift to the {side}{start}: {pct:.0f} % of body weight for {seconds:.1f} s{crutch}",
    "summary.shift-at": " at {at:.1f} s",
    "summary.shift-crutch": ", crutches {pct:.0f} %",
    "summary.shift-peak": "  shift to the {side}{start}: up to {pct:.0f} % of both feet's load, not held",
    "summary.level": "  {side} side: {level}",
    "summary.sway": "  sway: RMS distance {rms:.1f} mm, path {path:.0f} mm, 95 % ellipse {area:.0f} mm²",
    "summary.quality": "  ! {text}",
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
MEASURES: dict[str, str] = {
    "quality.too-short": "The longest unbroken stretch with loaded feet is {seconds:.1f} s: too short for these measures.",
    "quality.rate-too-low": "{rate:.1f} samples a second are too few for these measures (40 are needed).",
    "quality.spectral-resolution": "Under 30 s the spectrum's half-bandwidth ({width:.2f} Hz) is wider than its lowest "
    "frequency, 0.15 Hz.",
    "quality.welch-only": "Given with --spectrum welch only.",
    "quality.no-movement": "Nothing moved: the measure has no value.",
}

# --- simulated person and scenarios ---
SIMULATION: dict[str, str] = {
    "live.not-loaded": "not loaded",
    "live.no-body-line": "not measured: a crutch without cells or place",
    "live.heels-staggered": "the heel edges are too far apart for one mean",
}

# --- trials and protocols ---
TRIALS: dict[str, str] = {
    "session.reader-died": "Reading stopped: {reason}. What was recorded is kept; start again.",
    "session.cue": "now: {detail}",
    "session.marked": "marked",
    "session.zeroed": "zero taken",
    "session.zero-not-now": "No zero now: it needs 2 s of readings and no trial that runs.",
    "session.zero-moves": "No zero: the cell under the {under} moves by {moves:.1f} N (at most {limit:.1f} N). Leave the "
    "plates and crutches alone for 2 s.",
    "session.zero-loaded": "No zero: {load:.0f} N stand on the {side} plate (at most {limit:.0f} N). Everybody off, then again.",
}

# --- commands: help, messages, terminal view ---
COMMANDS: dict[str, str] = {
    "help.bandstand": "Standing balance from load cells: where the body line falls on each shoe, how sure, what the "
    "crutches carry. Not a medical device; findings are for licensed practice to judge.",
    "help.demo": "The whole job with a simulated person: live view, a quiet-standing and a weight-shift trial, findings.\n\n"
    "Example: bandstand demo --no-window",
    "help.live": "The live picture on a board.\n\n"
    "Example: bandstand live --rig rig.toml --stance stance.toml --calibration calibration.json --subject R7T",
    "help.record": "A trial without a window; the last line is the recording's folder.\n\n"
    "Example: bandstand record --protocol quiet-standing --seconds 30 --port /dev/ttyUSB0 --rig rig.toml "
    "--stance stance.toml --calibration calibration.json --subject R7T --out recordings",
    "help.devices": "Which ports have a board on them, and what it says of itself.\n\nExample: bandstand devices",
    "help.replay": "A recording as if live.\n\nExample: bandstand replay R7T/2026-03-02/01-quiet-standing --speed 2",
    "help.analyse": "Recordings, or folders of them, to findings.\n\n"
    "Example: bandstand analyse recordings --format json --out findings.json",
    "help.simulate": "Recordings of a described person with their truth beside them, or a board to connect to.\n\n"
    "Example: bandstand simulate --scenario scenario.toml --out made-up",
    "help.repair": "Closes an interrupted recording.\n\nExample: bandstand repair R7T/2026-03-02/02-weight-shift",
    "help.format": "How to print the result.",
    "help.analyse.paths": "Recordings, or folders that hold some.",
    "help.analyse.out": "A file for the result instead of the screen.",
    "help.analyse.cutoff": "Low-pass cut-off in Hz, or none.",
    "help.analyse.spectrum": "How spectra are made.",
    "help.analyse.stance": "Another stance file than the recording's own.",
    "help.analyse.calibration": "Another calibration file than the recording's own.",
    "help.recording": "The folder of a recording.",
    "help.devices.port": "Ask only this port; may be given several times.",
    "help.port": "The board's port, for example /dev/ttyUSB0, COM3 or socket://127.0.0.1:5000; found by itself if only one answers.",
    "help.rig": "The rig file (rig.toml).",
    "help.stance": "The stance file (stance.toml).",
    "help.calibration": "The calibration file (calibration.json).",
    "help.subject": "A code for the person: letters, digits, - and _; never a name.",
    "help.weight": "The body weight as standing (clothes, shoes, orthoses, crutches), newtons.",
    "help.terminal": "The terminal view instead of the window.",
    "help.record.protocol": "quiet-standing, weight-shift or free.",
    "help.record.seconds": "How long; without it the protocol's own length.",
    "help.record.out": "The folder that holds subjects' folders.",
    "help.replay.speed": "1 is real time, 2 twice as fast.",
    "help.replay.format": "json: the live chain's numbers, ten a second of the recording, at once.",
    "help.simulate.scenario": "The scenario file; without it the demo's quiet standing.",
    "help.seed": "The same number gives the same samples.",
    "help.simulate.rate": "Samples a second.",
    "help.simulate.seconds": "How long; without it the scenario's own length, or until stopped.",
    "help.simulate.serve": "Serve a board on a pseudo-terminal, whose path is printed first.",
    "help.simulate.tcp": "With --serve: on a socket:// address of this computer instead.",
    "help.demo.seconds": "Seconds of quiet standing.",
    "help.demo.out": "The folder for the recordings.",
    "help.demo.no-window": "No view, as fast as it goes, then it ends.",
    "command.os-error": "{file}: {reason}. Check name, folder and permission.",
    "command.no-recordings": "{path}: no recording in it (a folder with trial.json). Name a recording or a folder of them.",
    "command.progress": "{done} of {of} recordings",
    "command.some-broken": "{broken} of {of} recordings could not be read; their rows say why.",
    "command.cutoff": "--cutoff {text}: must be a number of hertz above 0, or none.",
    "command.cutoff-rate": "--cutoff {text}: not below half of the {rate:.1f} samples a second of {recording}. Choose a lower one.",
    "command.repaired": "{recording}: closed; what was recorded is whole.",
    "command.nothing-to-repair": "{recording}: closed already, nothing to do.",
    "command.board": "{port}: board {id}, {channels} channels at {rate:g}/s, firmware {firmware}",
    "command.no-board": "No board found. Plug it in, then: bandstand devices",
    "command.many-boards": "Several boards answer ({ports}): choose one with --port.",
    "command.files-needed": "--rig, --stance and --calibration are needed: without them counts mean nothing.",
    "command.protocol": "--protocol {name}: unknown. Known: quiet-standing, weight-shift, free.",
    "command.recording": "recording into {folder}",
    "command.out-or-serve": "Say where to: --out DIR for recordings, or --serve for a board.",
    "terminal.title": "{subject} · {trial} · {link} · delay {delay:.0f} ms",
    "terminal.keys": "space start/stop · m mark · z zero · q quit",
    "terminal.recording": "{protocol} {seconds:.0f} of {planned} s",
    "terminal.ready": "ready",
    "terminal.waiting": "waiting for readings",
    "terminal.link-ok": "link ok, {rate:.0f} readings a second",
    "terminal.link-lost": "LINK LOST: looked for",
    "terminal.link-waiting": "no readings yet",
    "terminal.link-ended": "ended",
    "terminal.side": "{side} shoe",
    "terminal.load": "{side} leg {kg:>4.0f} kg {pct}",
    "terminal.pct": "{pct:.0f} % of body weight",
    "terminal.crutches": "crutches {kg:.0f} kg, {pct:.0f} %",
    "terminal.crutches-unknown": "crutches: not measured",
    "terminal.elsewhere": "held elsewhere: {words}",
    "terminal.body": "body line {side}: {words}",
    "terminal.legend": "[ ] band   | heel edge, rocker line   # body line ±   ^ foot point",
}

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
