"""A guided walk with an unknown pad: which step, for how long, what was seen, what is in doubt, and what is learned.

Headless and without a clock of its own: whoever drives it calls `tick` with the source's present. The window and
`restpoint learn` both do. A step that was interrupted (unplugged, paused, stopped) is asked again; what was seen
before stays. Learning takes up to a few seconds and is handed to `later`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

from station.bench.stirring import Stirring
from station.bench.teaching_types import Doubt, TeachAnswer, TeachKey, TeachState, TeachView
from station.hid.types import Layout, ReportBlock
from station.sheets.learn import (
    Learned,
    LearnStep,
    Observed,
    Question,
    accepted,
    closed,
    duration_s,
    is_part,
    learn,
)
from station.sheets.learn.captured import joined
from station.sheets.model import Sheet
from station.sources.follower import Follower
from station.sources.port import Source
from station.words import bench as words
from station.words import teaching

LEAST_SHARE = 0.5
"""a step that is done early has at least this share of its time; hands off is never cut short"""
GAP_NS = 1_000_000_000
"""between a walk that was kept and what is added to it"""
ROUNDS = 3
"""so often what is in doubt is asked again unless the person says otherwise"""
AT_REST = ("rest", "move")
Later = Callable[[Callable[[], None]], None]


class Teaching:
    """One lesson. `seen`: steps of a walk that was kept, which are not asked again.

    `tick`, `press`, `answer` and `view` belong to one thread; `later` may run its job in another.
    """

    def __init__(
        self,
        source: Source,
        script: Sequence[LearnStep],
        *,
        layout: Layout | None,
        later: Later,
        seen: Sequence[Observed] = (),
    ) -> None:
        self._source, self._layout, self._later = source, layout, later
        self._seen = list(seen)
        after_ns = max((o.end_ns for o in seen), default=-GAP_NS) + GAP_NS
        self._shift_ns = after_ns - source.now_ns()
        self._now_ns = after_ns
        self._reports = Follower(source)
        self._lost = self._lost_before = source.status().lost
        """what the source lost so far, and what it had when the step began"""
        self._state: TeachState = "walking"
        self._message = ""
        self._steps = not_yet(script, seen)
        self._at = 0
        self._begin_ns = after_ns
        self._blocks: list[ReportBlock] = []
        self._ends_soon = False
        self._stirring = _stirring(seen, layout)
        self._round = 1
        self._learned: Learned | None = None
        self._answers: dict[str, TeachAnswer] = {}
        self._lessons = 0
        self._outcome: tuple[int, Learned | None] | None = None
        self._drain()
        if self._steps:
            self._begin()
        else:
            self._learn()

    @property
    def source(self) -> Source:
        return self._source

    @property
    def seen(self) -> tuple[Observed, ...]:
        """The steps that were done, in order."""
        return tuple(self._seen)

    @property
    def learned(self) -> Learned | None:
        """What the reports show by themselves, before any answer; None before they were worked out."""
        return self._learned

    # --- time goes on --------------------------------------------------------------------------------

    def tick(self, now_ns: int) -> None:
        """Take what came; end the step when its time is over. `now_ns`: the source's present."""
        block, missed = self._drain()
        self._now_ns = max(self._now_ns, now_ns + self._shift_ns)
        status = self._source.status()
        self._lost = status.lost
        if self._state == "walking" and status.state != "live":
            self._interrupt("away", status.message or words.DEVICE_WENT_AWAY)
        elif self._state == "walking" and missed:
            self._interrupt("paused", words.LESSON_TOO_LATE)
        elif self._state == "walking":
            self._blocks += [block] if len(block) else []
            self._stirring.take(block)
            if self._now_ns >= self._ends_ns():
                self._end_step(block)
        elif self._state == "away" and status.state == "live":
            self._state, self._message = "paused", words.LESSON_BACK
        elif self._state == "learning":
            self._look_at_outcome()

    def _drain(self) -> tuple[ReportBlock, int]:
        """Everything that came since the last call, on the lesson's own clock, and how much it came too late for."""
        blocks: list[ReportBlock] = []
        missed = 0
        while True:
            block, gone = self._reports.take()
            missed += gone
            if not len(block):
                return joined(blocks), missed
            blocks.append(replace(block, t_ns=block.t_ns + self._shift_ns))

    def _ends_ns(self) -> int:
        step = self._steps[self._at]
        share = LEAST_SHARE if self._ends_soon else 1.0
        return self._begin_ns + round(step.seconds * share * 1e9)

    def _begin(self) -> None:
        """The current step begins now."""
        self._state, self._message = "walking", ""
        self._begin_ns, self._blocks, self._ends_soon = self._now_ns, [], False
        self._lost_before = self._lost
        self._stirring.begin(at_rest=self._steps[self._at].action in AT_REST)

    def _end_step(self, last: ReportBlock) -> None:
        end_ns = max(self._now_ns, int(last.t_ns[-1]) + 1 if len(last) else 0)
        lost = self._lost - self._lost_before + (self._seen[-1].block.lost if self._seen else 0)
        block = replace(joined(self._blocks), lost=lost)  # of the steps that are kept, not since the device was opened
        self._seen.append(Observed(self._steps[self._at], block, self._begin_ns, end_ns))
        self._now_ns = end_ns
        self._at += 1
        if self._at < len(self._steps):
            self._begin()
        else:
            self._learn()

    def _interrupt(self, state: TeachState, message: str) -> None:
        """The step that is being done does not count; the reports of the others are kept."""
        self._state, self._message, self._blocks = state, message, []

    # --- what the person says --------------------------------------------------------------------------

    def press(self, key: TeachKey) -> None:
        """One key. What makes no sense now does nothing."""
        if key == "stop":
            self._interrupt("stopped", "")
        elif key == "next":
            self._next()
        elif self._state == "walking" and key == "pause":
            self._interrupt("paused", words.LESSON_PAUSED)
        elif self._state in ("walking", "paused") and key == "again" and self._at < len(self._steps):
            self._begin()
        elif self._state in ("walking", "paused") and key == "back" and 0 < self._at <= len(self._steps):
            self._at -= 1
            del self._seen[-1]
            self._begin()

    def _next(self) -> None:
        if self._state == "walking":
            self._ends_soon = self._steps[self._at].action != "rest"
        elif self._state == "paused" or (self._state == "stopped" and self._learned is None):
            self._begin() if self._at < len(self._steps) else self._learn()
        elif self._state == "stopped":
            self._state = "answering"
        elif self._state == "answering":
            self._do_again()

    def _do_again(self) -> None:
        """One more round for every control that is to be done again."""
        steps = {s.id: s for d in self.doubts() if d.answer == "again" for s in d.question.redo}
        if not steps:
            return
        self._answers = {control: answer for control, answer in self._answers.items() if answer != "again"}
        self._steps, self._at = tuple(steps.values()), 0
        self._round += 1
        self._learned = None
        self._begin()

    def answer(self, control: str, answer: TeachAnswer) -> None:
        """What becomes of a control in doubt; it can be changed until the sheet is saved."""
        if any(d.question.control == control and answer in d.options for d in self.doubts()):
            self._answers[control] = answer

    def doubts(self) -> tuple[Doubt, ...]:
        """The open questions with their answers."""
        learned = self._learned
        if learned is None or self._state != "answering":
            return ()
        return tuple(self._doubt(learned, question) for question in learned.questions)

    def _doubt(self, learned: Learned, question: Question) -> Doubt:
        guessed = any(is_part(c.id, question.control) for c in learned.guesses)
        options: list[TeachAnswer] = ["again"] if question.redo else []
        options += ["write"] if guessed else []
        options.append("leave")
        usual: TeachAnswer = "again" if question.redo and self._round <= ROUNDS else "leave"
        chosen = self._answers.get(question.control, usual)
        return Doubt(question, tuple(options), chosen if chosen in options else usual)

    # --- learning --------------------------------------------------------------------------------------

    def _learn(self) -> None:
        self._state, self._message = "learning", ""
        self._lessons += 1
        lesson, seen, info = self._lessons, tuple(self._seen), self._source.info

        def job() -> None:
            outcome: Learned | None = None
            try:
                match = ((info.vendor_id, info.product_id),)
                outcome = learn(seen, layout=self._layout, name=info.product or teaching.UNKNOWN_DEVICE, match=match)
            finally:
                self._outcome = (lesson, outcome)

        self._later(job)

    def _look_at_outcome(self) -> None:
        if self._outcome is None or self._outcome[0] != self._lessons:
            return
        self._learned = self._outcome[1]
        self._outcome = None
        if self._learned is None:
            self._state, self._message = "paused", words.LESSON_FAILED
        else:
            self._state = "answering"

    def result(self) -> Learned | None:
        """What was learned, with the answers: what is to be written is in its sheet, what is left out is not asked."""
        learned = self._learned
        if learned is None:
            return None
        by_answer = {d.question.control: d.answer for d in self.doubts()}
        learned = accepted(learned, [control for control, answer in by_answer.items() if answer == "write"])
        learned = closed(learned, self._layout)
        learned = replace(learned, sheet=short_names(learned.sheet))
        return replace(learned, questions=tuple(q for q in learned.questions if by_answer.get(q.control) != "leave"))

    # --- how it stands -----------------------------------------------------------------------------------

    def view(self) -> TeachView:
        """The lesson as it stands."""
        product = self._source.info.product or teaching.UNKNOWN_DEVICE
        doing = self._state in ("walking", "paused", "away") and self._at < len(self._steps)
        if not doing:
            return TeachView(
                product, self._state, round=self._round, seen=len(self._seen), message=self._message,
                learned=self.result() if self._state == "answering" else None, doubts=self.doubts(),
            )  # fmt: skip
        rest = self._steps[self._at :]
        passed_s = (self._now_ns - self._begin_ns) * 1e-9 if self._state == "walking" else 0.0
        left_s = max(0.0, rest[0].seconds - passed_s)
        return TeachView(
            product, self._state, rest[0], rest[1] if len(rest) > 1 else None, self._at + 1, len(self._steps),
            left_s, left_s + duration_s(rest[1:]), self._ends_soon, sum(len(b) for b in self._blocks),
            self._stirring.moved, self._round, len(self._seen), self._message,
        )  # fmt: skip


def not_yet(script: Sequence[LearnStep], seen: Sequence[Observed]) -> tuple[LearnStep, ...]:
    """The steps of the script that were not seen; one that stands in it twice counts twice."""
    done = Counter(o.step.id for o in seen)
    left = []
    for step in script:
        if done[step.id]:
            done[step.id] -= 1
        else:
            left.append(step)
    return tuple(left)


def _stirring(seen: Sequence[Observed], layout: Layout | None) -> Stirring:
    """The sign of movement, knowing already what changes by itself."""
    made = Stirring(layout)
    for observed in seen:
        if observed.step.action in AT_REST:
            made.begin(at_rest=True)
            made.take(observed.block)
    return made


def short_names(sheet: Sheet) -> Sheet:
    """Under names that fit a row: a prompt says how to press, a sheet only which control it is."""
    made = (replace(c, name=teaching.SHORT_NAMES.get(c.name, c.name)) for c in sheet.controls)
    return replace(sheet, controls=tuple(made))
