"""The answer: how a job goes on after what is done."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.cautions import CAUTIONS
from signrules.continuing.dots_answer import SCRAP, DotsAnswer, dots_answer
from signrules.continuing.fixed_order import as_planned, demand_done, done_first
from signrules.continuing.measured_now import demand_measured, with_measured, with_open_gaps
from signrules.continuing.mishaps import (
    MovedAnswer,
    demand_sheets,
    loose_sheets,
    moved_answer,
    without_items,
)
from signrules.continuing.next_text import next_text
from signrules.continuing.remaining import (
    Lost,
    Remaining,
    lost_of,
    remaining_of,
    with_true_reasons,
)
from signrules.continuing.rest_without import Rest, rest_without
from signrules.continuing.standing_now import InkOnSheet, ink_on_sheets
from signrules.continuing.strikes import StrikeAnswer, strike_answer
from signrules.documents.progress_records import methods_by_sheet
from signrules.evaluation import Evaluation, Judge, Live
from signrules.evaluation.live import standards_of
from signrules.given_values import day_or_today, demand_given
from signrules.model.job import Job
from signrules.planning.pipeline import BUDGET
from signrules.plugins import Plugins, load_plugins
from signrules.shop import Shop

FORMAT = 1
"""The version of the shape that `NextSteps.to_dict` gives."""


@frozen(eq=False)
class NextSteps:
    """How a half-printed job goes on.

    `whole` is the evaluation of the job as it was planned, `result` that of the job as it stands,
    with what is done first. `standing` is the ink that stands now. `remaining` is what is left to
    do, None where nothing safe is; then `lost` says why, and `rest` what goes on without some
    passes, None where nothing does. `dots` are the answers for dots that were
    measured, `moved` and `strike` those for mishaps, None without one.
    """

    job: Job
    done: tuple[str, ...]
    whole: Evaluation
    result: Evaluation
    standing: tuple[InkOnSheet, ...]
    remaining: Remaining | None
    lost: Lost | None
    rest: Rest | None = None
    dots: tuple[DotsAnswer, ...] = ()
    moved: MovedAnswer | None = None
    strike: StrikeAnswer | None = None

    def __str__(self) -> str:
        return next_text(self)

    @property
    def can_go_on(self) -> bool:
        """Whether what remains has a safe order."""
        return self.remaining is not None

    @property
    def scrapped(self) -> tuple[str, ...]:
        """The sheets and the signs that cannot be saved."""
        sheets = self.moved.sheets if self.moved is not None and self.moved.is_scrap else ()
        signs = (answer.sign for answer in self.dots if answer.says == SCRAP)
        return (*sheets, *signs)

    @property
    def as_whole_plan(self) -> bool:
        """Whether what is done and what remains are the order of the whole plan."""
        left = () if self.remaining is None else self.remaining.order
        return (*self.done, *left) == self.whole.order

    def to_dict(self) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON."""
        return {
            "signrules_next": FORMAT,
            "job": self.job.name,
            "done": list(self.done),
            "can_go_on": self.can_go_on,
            "scrap": list(self.scrapped),
            "planned_order": list(self.whole.order),
            "standing": [face.to_dict() for face in self.standing],
            "remaining": None if self.remaining is None else self.remaining.to_dict(),
            "lost": None if self.lost is None else self.lost.to_dict(),
            "rest": None if self.rest is None else self.rest.to_dict(),
            "dots": [answer.to_dict() for answer in self.dots],
            "moved": None if self.moved is None else self.moved.to_dict(),
            "strike": None if self.strike is None else self.strike.to_dict(),
            "text": str(self),
            "cautions": [str(caution) for caution in CAUTIONS],
        }


def next_steps(
    job: Job,
    done: Sequence[str] = (),
    *,
    measured: Mapping[str, Sequence[float]] | None = None,
    moved: Mapping[str, str | None] | Sequence[str] = (),
    struck: bool = False,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    seconds: float | None = None,
    today: datetime.date | None = None,
) -> NextSteps:
    """How a job goes on after the passes and the handling that are `done`, in their order.

    Only what remains is planned. Alignments that the plan made are on record. A pass that was done
    out of turn is no fault as long as the rest still has a safe order.

    `measured` are heights in mm of dots that are printed, by the id of their sign; `moved` are
    sheets that did not stay where they lay, perhaps with the method that puts each back; `struck`
    says that a head hit something. Raises RecordError where one of these does not fit the job, and
    what `evaluate` raises.
    """
    demand_given("next_steps", (job, Job), (plugins, Plugins | None), (shop, Shop | None))
    measured = {} if measured is None else measured
    demand_done(job, done)
    demand_measured(job, done, measured)
    methods = methods_by_sheet(moved)
    demand_sheets(job, methods)
    loaded = load_plugins() if plugins is None else plugins
    day = day_or_today(today)
    live = Live(plugins=loaded, shop=shop, budget=budget, seconds=seconds)

    def judge(changed: Job) -> Evaluation:
        return live.evaluate(changed, today=day)

    asked = _Asked(job, tuple(done), measured, methods, struck, day)
    return _Answering(asked, loaded.configured(shop or Shop()), judge).answer()


@frozen(eq=False)
class _Asked:
    """What was asked: the job, what is done and what went wrong."""

    job: Job
    done: tuple[str, ...]
    measured: Mapping[str, Sequence[float]]
    moved: Mapping[str, str | None]
    struck: bool
    day: datetime.date


@frozen(eq=False)
class _Answering:
    """How the answer is made. The job changes on the way: first to what stands now, with its dots
    as they were measured (`job_now`), then to what goes on from there (`goes_on`).
    """

    asked: _Asked
    plugins: Plugins
    judge: Judge

    def answer(self) -> NextSteps:
        asked, done = self.asked, self.asked.done
        whole = self.judge(asked.job)
        job_now, head_is_known = self._job_now(as_planned(asked.job, whole.plan, done))
        sheets = asked.moved
        if asked.struck:
            job_now = evolve(job_now, alignments=())
            sheets = dict.fromkeys(loose_sheets(job_now, done)) | dict(sheets)
        goes_on, moved = done_first(job_now, done), None
        if sheets:
            goes_on, moved = moved_answer(job_now, done, sheets, self.judge)
        goes_on, dots = self._dots(goes_on, moved)
        result = self.judge(goes_on)
        lost = lost_of(result, done)
        remaining = rest = None
        if lost is not None:
            lost = with_true_reasons(lost, asked.job, done)
            rest = rest_without(goes_on, done, lost.names, self.judge)
        else:
            head_is_known = head_is_known and not asked.struck
            remaining = remaining_of(result.timeline, done, head_is_known=head_is_known)
        strike = None
        if asked.struck:
            alignments = () if remaining is None else remaining.new_alignments
            put_back = moved is not None and moved.located_by is not None
            strike = strike_answer(job_now, done, alignments, put_back=put_back)
        return NextSteps(
            job=asked.job,
            done=done,
            whole=whole,
            result=result,
            standing=ink_on_sheets(job_now, done),
            remaining=remaining,
            lost=lost,
            rest=rest,
            dots=dots,
            moved=moved,
            strike=strike,
        )

    def _job_now(self, planned: Job) -> tuple[Job, bool]:
        """The job with its dots as they were measured, and whether it tells how the head stands.

        Dots may stand higher than their own gap clears. That is past, and no reason against what
        remains: another gap is assumed for them then.
        """
        done, measured = self.asked.done, self.asked.measured
        job_now = with_measured(planned, done, measured)
        if not measured:
            return job_now, True
        left = [item.id for item in job_now.passes if item.id not in done]
        if self.judge(done_first(without_items(job_now, left), done)).order_is_safe:
            return job_now, True
        return with_open_gaps(job_now, done, measured), False

    def _dots(self, goes_on: Job, moved: MovedAnswer | None) -> tuple[Job, tuple[DotsAnswer, ...]]:
        """The job with the layers that its measured dots still need, and what is said of each."""
        asked, answers = self.asked, []
        standards = standards_of(asked.job, self.plugins)
        # Further layers come once the sheet is put back.
        first = asked.done
        if moved is not None and moved.handling is not None:
            first = (*first, moved.handling)
        for sign, heights in asked.measured.items():
            answer = dots_answer(
                asked.job,
                goes_on,
                done=first,
                sign=sign,
                heights=heights,
                standards=standards,
                judge=self.judge,
                day=asked.day,
                may_print=not self._is_adrift(sign, moved),
            )
            answers.append(answer)
            if answer.added is not None:
                goes_on = answer.added.job
        return goes_on, tuple(answers)

    def _is_adrift(self, sign: str, moved: MovedAnswer | None) -> bool:
        """Whether the sheet of a sign was moved and is not put back in register."""
        if moved is None or moved.handling is not None:
            return False
        return self.asked.job.media_of(self.asked.job.sign_named(sign)).id in moved.sheets
