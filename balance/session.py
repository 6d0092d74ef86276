"""One source, its reader thread, the monitor, and the trial that is being recorded. No Qt, no port."""

from __future__ import annotations

import datetime
import math
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from balance.calibration import Calibration, against_board
from balance.conduct import Conduct
from balance.files import FileProblem
from balance.findings_words import cue_words
from balance.forces import cell_forces
from balance.live_state import Described, Link, LiveState, sits
from balance.monitor import SNAPSHOTS_PER_S, Monitor
from balance.noting import Noting, NotNoted
from balance.placing import Way, placed
from balance.placing_watch import PlacingWatch
from balance.protocols import ALL, Protocol
from balance.protocols.protocol import State, after
from balance.reading import PARTS, PlayedMark, Snapshot
from balance.recording import Recorder, next_folder
from balance.replaying import Playing, play, played_now
from balance.rig import SIDES, Rig, Side
from balance.running_trial import RunningTrial, header_of
from balance.self_checks import SelfWatch
from balance.stance import Stance
from balance.tail import Tail
from balance.telling import Telling
from balance.trial import POSTURES, Posture, Subject
from balance.weighing import weight_n
from balance.words import say
from balance.zeroing import Zeros
from drivers.clock import ClockWatch
from drivers.samples import BoardInfo, LinkEvent, Playback, SampleBlock, Source

GRAVITY = 9.80665
OVER = 1.02  # of the largest person: what a push makes of somebody just below it is no reason to stop; tool default
TAIL_S = 20.0
OTHER_WEIGHT = 0.03  # of the weight known before: more is said; tool default
SAT_S = 1.0  # so long with less than a standing person's load; tool default
WRONG = (
    "cell-dead",
    "cell-stuck",
    "cell-saturated",
    "cell-loaded-empty",
    "beyond-capacity",
)  # what such a cell shows is not shown
EVENT_KINDS = {
    "lost": "fault",
    "fault": "fault",
    "reconnected": "reconnect",
    "clock": "fault",
    "ended": "fault",
}


class CalibrationRefused(Exception):
    """The board does not run as it did when it was calibrated; the message says what to do."""


class Session:
    """Owns the reader thread, the recorder and the trial's state; is handed a Source."""

    def __init__(
        self,
        source: Source,
        rig: Rig,
        stance: Stance,
        calibration: Calibration,
        *,
        described: Described | None = None,
        out: Path | None = None,
        on_news: Callable[[], None] = lambda: None,
        first_words: Sequence[str] = (),
        marks: Sequence[PlayedMark] = (),
    ) -> None:
        """first_words: sentences that the views show from the start · marks: a replayed recording's events."""
        self.rig, self.stance, self.calibration = rig, stance, calibration
        self.described = described or Described()
        self._source, self._out, self._on_news = source, out, on_news
        # the controls of a replay: found here once, as to look for them is slow
        self.playback = source if isinstance(source, Playback) else None
        self._lock = threading.RLock()
        self._monitor: Monitor | None = None
        self._info: BoardInfo | None = None
        self._link: Link = "waiting"
        self._state: State = "waiting"
        self._running: RunningTrial | None = None
        self._asked: str | None = None  # by the last cue of the running trial
        self._recorded: Path | None = None
        self._snapshot: Snapshot | None = None
        self._point_mm: dict[str, tuple[float, float]] = {}
        self._tail = Tail(PARTS, TAIL_S)
        self._zeros = Zeros(rig)
        self._telling = Telling(first_words)
        self._problem: str | None = None
        self._told = False
        self._readings = 0
        self._watch: SelfWatch | None = None
        self._placing = PlacingWatch(rig, stance, (described.placing if described else None) or 1)
        self._noting = Noting()
        self._marks = tuple(marks)
        self._asked_to_start: Protocol | None = None  # with nobody on the plates: asked again, it starts
        self._watch_sitting = False  # a trial begun by a key ends when whoever stood sits down
        self._down_since_s: float | None = None
        self._chosen = ALL["quiet standing"]
        self._conduct: tuple[Conduct, Protocol, float | None] | None = None
        self._clock = ClockWatch()
        self._last_us = 0
        self._thread = threading.Thread(target=self._run, name="reader", daemon=True)
        self.finished = threading.Event()  # the reader thread has ended
        self.trial_over = threading.Event()  # a trial was recorded, or there will be none

    # --- life ---

    def open(self) -> BoardInfo:
        """Connects the source. Raises BoardError; CalibrationRefused."""
        self._info = self._source.open()
        refused, sentence = against_board(
            say("calibration.this"), self.calibration, self._info.board_id, self._info.gain
        )
        if refused and self.playback is None:
            self._source.close()
            raise CalibrationRefused(sentence or "")
        self.say(sentence)
        self._monitor = self._new_monitor(self._info)
        return self._info

    def start(self) -> None:
        """Opens if that was not done, and starts the reader thread."""
        if self._info is None:
            self.open()
        self._thread.start()

    def request_stop(self) -> None:
        """Asks everything to end soon; safe in a signal handler."""
        self._source.stop()

    def stop(self) -> None:
        """Stops for real: source, thread, recording."""
        self._source.stop()
        if self._thread.is_alive():
            self._thread.join()
        self.end_trial()
        self._source.close()

    def _new_monitor(self, info: BoardInfo) -> Monitor:
        self._watch = SelfWatch(self.rig, cell_forces(self.rig, self.calibration), info.rate_hz)
        return self._monitor_of(self.stance, info)

    def _monitor_of(self, stance: Stance, info: BoardInfo) -> Monitor:
        subject = self.described.subject
        weight = subject.body_weight_n if subject else None
        given = subject.body_weight_uncertainty_n if subject else None
        measured = subject is not None and subject.body_weight_from == "measured"
        u_n = given if given is not None else 3.0 if measured else 10.0
        return Monitor(
            self.rig,
            stance,
            self.calibration,
            rate_hz=info.rate_hz,
            body_weight_n=weight,
            body_weight_u_n=u_n,
            touched=self.described.touched in ("steadied", "held"),
        )

    def _run(self) -> None:
        import scipy.special  # noqa: F401  # what the first picture needs: while it is made the views wait

        try:
            while self._link != "ended":
                for item in self._source.read():
                    if isinstance(item, SampleBlock):
                        self._take(item)
                    else:
                        self._happened(item)
        except Exception as error:  # a dead reader must be seen, whatever killed it
            self._problem = say("session.reader-died", reason=f"{type(error).__name__}: {error}")
        finally:
            self.end_trial()
            self.finished.set()
            self.trial_over.set()
            self._news()

    def _news(self) -> None:
        if not self._told:
            self._told = True
            self._on_news()

    # --- what comes in ---

    def _take(self, block: SampleBlock) -> None:
        if len(block) == 0 or self._monitor is None:
            return
        with self._lock:
            if block.board_us[0] < self._last_us and self.playback is not None and self._info is not None:
                self._monitor = self._new_monitor(self._info)  # a replay went back
                self._tail.clear()
                self._zeros.clear()
            if block.arrival_s is not None:
                self._clock.saw(int(block.board_us[-1]), block.arrival_s)
            over = self._record(block)
            reading = self._monitor.feed(block)
            if self._link in ("waiting", "lost"):
                self._link = "ok"
            self._state = after(self._state, "samples")
            self._last_us = int(block.board_us[-1])
            self._readings += len(block)
            self._telling.readings = self._readings
            self._zeros.feed(block)
            self._watch_itself(block)
            for snapshot in reading.snapshots:
                self._snapshot = snapshot
                self._zeros.saw({side: snapshot.load_n[side] for side in SIDES if side in snapshot.load_n})
                self._watch_person(snapshot)
            if len(reading.sequence):
                newest = {name: at[-1].tolist() for name, at in reading.point_mm.items()}
                self._point_mm = {name: (ap, ml) for name, (ap, ml) in newest.items() if math.isfinite(ap)}
                self._tail.append(reading.board_us / 1e6, reading.load_n)
        if over:
            self.end_trial()
        self._follow()
        self._news()

    def _watch_person(self, snapshot: Snapshot) -> None:
        """Do the feet and tips stand where they did; does the person stand still."""
        assert self._monitor is not None
        time_s = snapshot.board_us / 1e6
        feet: dict[Side, float] = {side: snapshot.load_n.get(side, 0.0) for side in SIDES}
        hands: dict[Side, float] = {
            s: snapshot.load_n[f"{s}_crutch"] for s in SIDES if f"{s}_crutch" in snapshot.load_n
        }
        if self.playback is None and self._placing.saw(time_s, feet, self._monitor.setup.minimum_n, hands):
            self._telling.tell(say("session.places-unconfirmed"))
            if self._running is not None:
                self._running.recorder.event(snapshot.board_us, "fault", say("session.places-unconfirmed"))
        limit_kg = self.rig.max_person_kg
        if (
            self._running is not None
            and limit_kg is not None
            and snapshot.total_n > OVER * limit_kg * GRAVITY
        ):
            self._telling.tell(say("session.too-heavy", kg=snapshot.total_n / GRAVITY, limit=limit_kg))
            self.end_trial()
        if self._conduct is not None:
            point = snapshot.point_mm.get("feet")
            self._conduct[0].saw(time_s, snapshot.total_n, None if point is None else point[0])

    def _follow(self) -> None:
        """Begins and ends trials as the hands-free course asks."""
        if self._watch_sitting and self._running is not None and self._sat_down():
            self.end_trial()
            self._telling.tell(say("session.sat-down"))
        if self._conduct is None:
            return
        conduct, protocol, seconds = self._conduct
        if conduct.begin and self._running is None:
            try:
                self.begin_trial(protocol, seconds)
                conduct.began()
            except (FileProblem, OSError, RuntimeError) as error:
                self._problem, self._conduct = str(error), None
        elif self._running is not None and conduct.course == "sitting":
            self.end_trial()
            self._telling.tell(say("session.sat-down"))

    def _sat_down(self) -> bool:
        """For a second now."""
        time_s = self._last_us / 1e6
        if self._stands():
            self._down_since_s = None
        elif self._down_since_s is None:
            self._down_since_s = time_s
        return self._down_since_s is not None and time_s - self._down_since_s >= SAT_S

    def _watch_itself(self, block: SampleBlock) -> None:
        """What is wrong with the rig; new in a trial, it is also an event of the recording."""
        if self._watch is None:
            return
        before = {(one.code, one.about) for one in self._watch.now}
        if self._watch.feed(block) and self._running is not None:
            for one in self._watch.now:
                if (one.code, one.about) not in before:
                    self._running.recorder.event(int(block.board_us[-1]), "fault", one.sentence)

    def _record(self, block: SampleBlock) -> bool:
        """Hands the block to the trial that runs; True where it is over."""
        if self._running is None:
            return False
        over, due = self._running.take(block)
        self._telling.tell_all(say("session.cue", words=cue_words(cue.detail)) for cue in due)
        self._asked = due[-1].detail if due else self._asked
        self._problem = self._running.recorder.problem or self._problem
        return over

    def _happened(self, event: LinkEvent) -> None:
        with self._lock:
            if event.kind == "clock":
                self._clock = ClockWatch()
            if event.kind == "lost":
                self._link, self._state = "lost", after(self._state, "lost")
            elif event.kind == "reconnected":
                self._link = "ok"
            elif event.kind == "ended":
                self._link = "ended"
            if event.kind != "ended":
                self._telling.tell(say(event.code, **event.facts))
                if self._running is not None:
                    self._running.recorder.event(
                        event.board_us, EVENT_KINDS[event.kind], say(event.code, **event.facts)
                    )
        self._news()

    # --- what the user does ---

    def begin_trial(self, protocol: Protocol, seconds: float | None = None) -> Path:
        """Starts recording; ``seconds`` other than the protocol's. Raises FileProblem; RuntimeError without a place."""
        with self._lock:
            self._clock = ClockWatch()
            if self._out is None or self._info is None:
                raise RuntimeError("no folder to record into")
            if self._running is not None:
                return self._running.recorder.folder
            now = datetime.datetime.now().astimezone()
            code = (
                self.described.subject.code
                if self.described.subject and self.described.subject.code
                else "unnamed"
            )
            folder = next_folder(self._out, code, now.date().isoformat(), protocol.name)
            header = header_of(
                self.described, self.rig, self.stance, self.calibration, self._info, protocol, now
            )
            recorder = Recorder(folder, header)
            length = seconds if seconds is not None else protocol.seconds
            self._running, self._asked = RunningTrial(recorder, protocol, length), None
            self._telling.hush()
            self._state = "running"
            self.trial_over.clear()
            return folder

    def end_trial(self) -> Path | None:
        """Closes the recording that runs; its folder."""
        with self._lock:
            running, self._running = self._running, None
            self._watch_sitting, self._down_since_s = False, None
            if running is None:
                return None
            self._recorded = running.recorder.close(self._clock.report())
            self._zeros.closed(self._recorded)
            self._noting.closed(self._recorded)
            self._problem = running.recorder.problem or self._problem
            self._state = after(after(self._state, "end"), "again")
            if self._conduct is not None:
                self._conduct[0].ended()
        self.trial_over.set()
        self._news()
        return self._recorded

    def try_trial(self, protocol: Protocol, seconds: float | None = None) -> None:
        """As ``begin_trial``, for a key: what forbids it is said instead."""
        limit = self.rig.max_person_kg
        total_n = self._snapshot.total_n if self._snapshot else 0.0
        if limit is not None and total_n > limit * GRAVITY:
            self.say(say("quality.person-too-heavy", kg=total_n / GRAVITY, limit=limit))
            return
        asked, self._asked_to_start = self._asked_to_start, None
        if protocol.stands and not self._stands() and asked is not protocol:
            self._asked_to_start = protocol
            self.say(say("session.nobody-stands", kg=total_n / GRAVITY))
            return
        try:
            self.begin_trial(protocol, seconds)
            self._watch_sitting = protocol.stands and self._stands()
        except (FileProblem, OSError, RuntimeError) as error:
            self.say(str(error))

    def hands_free(self, protocol: Protocol | None, seconds: float | None = None) -> None:
        """From now on a trial of ``protocol`` begins each time the person has stood still for 3 s after sitting; None: no more."""
        with self._lock:
            if protocol is None:
                self._conduct = None
            else:
                subject = self.described.subject
                weight = subject.body_weight_n if subject else None
                self._conduct = (Conduct(weight, self.rig.max_person_kg), protocol, seconds)
        self._news()

    def _stands(self) -> bool:
        """As much of the weight is on feet and crutches as of somebody who stands; before the first picture it is not known."""
        return self._snapshot is None or not sits(self._snapshot)

    @property
    def is_hands_free(self) -> bool:
        return self._conduct is not None

    def choose(self, protocol: Protocol) -> None:
        """What is recorded next, by a key or hands-free."""
        with self._lock:
            self._chosen = protocol
            if self._conduct is not None:
                self._conduct = (self._conduct[0], protocol, None)
            self._telling.tell(say("session.chosen", protocol=protocol.name))
        self._news()

    @property
    def chosen(self) -> Protocol:
        return self._chosen

    def next_posture(self) -> None:
        """The next kind of posture, for the trials from now on; which are noted and none is rated."""
        if self._running is not None:
            self.say(say("session.posture-not-now"))
            return
        known = self.described.posture or Posture()
        at = POSTURES.index(known.kind or "own")
        kind = POSTURES[(at + 1) % len(POSTURES)]
        self.described.posture = Posture(kind=kind)
        self.say(say("session.posture", kind=kind))

    def step_on_request(self) -> None:
        """The step of the running trial that only the clinician begins (tips lifted, a lean back); an event."""
        with self._lock:
            extra = self._running.protocol.on_request if self._running else None
            if self._running is None or extra is None:
                self._telling.tell(say("session.no-step"))
            else:
                self._running.recorder.event(self._last_us, extra.kind, extra.detail)
                self._asked = extra.detail
                self._telling.tell(say("session.cue", words=cue_words(extra.detail)))
        self._news()

    def confirm_places(self, way: Way) -> None:
        """The feet and tips stand where the stance says, as well known as ``way`` gives: what needs the places is told again."""
        with self._lock:
            self._placing.confirm()
            self.described.placing = self._placing.number
            self.stance = placed(self.stance, way)
            if self._info is not None:
                self._monitor = self._new_monitor(self._info)
            self._telling.tell(say("session.places-confirmed", way=way, placing=self._placing.number))
        self._note(lambda: self._noting.placed(self._placing.number, way))

    def weigh(self) -> None:
        """Takes the load of a still stand as the body weight as standing."""
        with self._lock:
            if self._running is not None:
                self._telling.tell(say("session.weigh-not-now"))
                return
            found = weight_n(*self._tail.newest(), self.rig, self.stance)
            if isinstance(found, str):
                self._telling.tell(found)
            else:
                known = self.described.subject or Subject()
                changes = {"body_weight_n": found, "body_weight_from": "measured"}
                self.described.subject = known.model_copy(update=changes)
                if self._info is not None:
                    self._monitor = self._new_monitor(self._info)
                before = known.body_weight_n
                self._telling.tell(say("session.weight", kg=found / GRAVITY))
                if before is not None and abs(found - before) > OTHER_WEIGHT * before:
                    self._telling.tell(
                        say("session.weight-other", kg=found / GRAVITY, before=before / GRAVITY)
                    )
        self._news()

    def person_says(self, entry: dict[str, Any]) -> None:
        """What the person said of the trial just recorded; goes into its header."""
        self._note(lambda: self._noting.person_says(entry))

    def adjusted(self, *, temporary: bool = False) -> None:
        """An adjustment was made just now, or something is tried; what it was is noted later."""
        self._note(lambda: self._noting.adjusted(temporary))

    def describe_adjustment(self, what: str) -> None:
        """What the adjustment just noted was."""
        self._note(lambda: self._noting.describe(what))

    def _note(self, what: Callable[[], str | None]) -> None:
        with self._lock:
            try:
                sentence = what()
                if sentence:
                    self._telling.tell(sentence)
            except NotNoted as error:
                self._problem = str(error)
        self._news()

    def ask(self, question: str | None) -> None:
        """A question that the next key answers, shown until then; None: it is answered."""
        self._telling.question = question
        self._news()

    def mark(self, detail: str = "mark") -> None:
        """An event at the newest sample."""
        with self._lock:
            if self._running is not None:
                self._running.recorder.event(self._last_us, "mark", detail)
            self._telling.tell(say("session.marked"))
        self._news()

    def play(self, what: Playing) -> None:
        """Of a replay: hold still or go on, one sample more, some seconds back or forward. Else nothing."""
        played = self.playback
        if played is None:
            return
        play(played, what, self._marks)

    def what_if(self, stance: Stance) -> Snapshot | None:
        """The newest readings seen with another stance; None before there are enough."""
        with self._lock:
            block = self._zeros.newest()
            if block is None or self._info is None:
                return None
            few = block[-2 * max(1, round(self._info.rate_hz / SNAPSHOTS_PER_S)) :]
            snapshots = self._monitor_of(stance, self._info).feed(few).snapshots
            return snapshots[-1] if snapshots else None

    def cells_n(self) -> dict[int, float]:
        """Mean newtons of each cell over the newest 2 s, by channel; without those that are not known."""
        with self._lock:
            block = self._zeros.newest()
            return {} if block is None or self._monitor is None else self._monitor.cells_n(block)

    @property
    def records(self) -> bool:
        """There is a folder to record into."""
        return self._out is not None

    @property
    def is_zeroed(self) -> bool:
        """A zero was taken since the start."""
        return self._zeros.is_taken

    @property
    def folder(self) -> Path:
        """Where pictures go: beside the newest recording, else where recordings go."""
        return self._recorded.parent if self._recorded is not None else self._out or Path()

    def say(self, sentence: str | None) -> None:
        """Puts a sentence where the views show what happened."""
        if sentence:
            self._telling.tell(sentence)
            self._news()

    def zero(self) -> str | None:
        """Takes the last 2 s as the unloaded cells' counts; None where it was done, else the sentence that refuses."""
        with self._lock:
            if self._running is not None or self._monitor is None or self._info is None:
                return say("session.zero-not-now")
            shown = self._snapshot.load_n if self._snapshot else {}
            loads = {side: shown[side] for side in SIDES if side in shown}
            zero = self._zeros.read(
                self.calibration, self._info.rate_hz, loads, self._monitor.setup.minimum_n
            )
            if isinstance(zero, str):
                return zero
            self.calibration, sentences = self._zeros.take(zero, self.calibration)
            self._monitor = self._new_monitor(self._info)
            self._telling.tell_all(sentences)
        self._news()
        return None

    # --- what a view asks ---

    def latest(self) -> LiveState:
        """The state now; the next news is told again."""
        with self._lock:
            self._told = False
            running, played = self._running, self.playback
            tail_s, tail_n = self._tail.newest()
            return LiveState(
                link=self._link,
                state=self._state,
                protocol=running.protocol.name if running else None,
                seconds=running.seconds if running else 0.0,
                planned_s=running.planned_s if running else None,
                snapshot=self._snapshot,
                point_mm=self._point_mm,
                tail_s=tail_s,
                tail_n=tail_n,
                rate_hz=self._info.rate_hz if self._info else 0.0,
                messages=self._telling.all,
                fresh=self._telling.fresh(self._info.rate_hz if self._info else 80.0),
                question=self._telling.question,
                coming=running.coming if running else None,
                standing_warning=self._zeros.warning,
                problem=self._problem,
                recorded=self._recorded,
                subject=self.described.subject.code if self.described.subject else None,
                chosen=self._chosen.name,
                posture=(self.described.posture.kind if self.described.posture else None) or "own",
                readings=self._readings,
                playback=played_now(played, self._marks) if played else None,
                places_confirmed=self._placing.is_confirmed,
                placing=self._placing.number,
                course=self._conduct[0].course if self._conduct else None,
                troubles=tuple(one.sentence for one in self._watch.now) if self._watch else (),
                troubled=self._troubled(),
                asked=self._asked if running else None,
            )

    def _troubled(self) -> frozenset[str]:
        """The parts whose cells may not be relied on now."""
        told = self._watch.now if self._watch else ()
        channels = {one.about for one in told if one.code in WRONG}
        return frozenset(_part(cell.under) for cell in self.rig.cells if str(cell.channel) in channels)


def _part(under: str) -> str:
    """'left heel' → 'left', 'left crutch' → 'left_crutch'."""
    side = under.split(maxsplit=1)[0]
    return f"{side}_crutch" if under.endswith("crutch") else side
