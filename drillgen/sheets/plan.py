"""From a practice plan to what is printed of it."""

from __future__ import annotations

from drillgen.practice.log import Progress
from drillgen.practice.plan import WARM_UPS, Activity, Plan
from drillgen.sheets.plan_sheet import (
    CLOSE,
    REST,
    WARM_UP,
    PlanBlock,
    PlanPoint,
    PlanProgress,
    PlanRow,
    PlanSheet,
)

_ACTIVITIES = {
    Activity.WARM_UP: WARM_UP,
    Activity.REST: REST,
    Activity.CLOSE: CLOSE,
    Activity.READ: "",
}


def lay_out_plan(plan: Plan, *, title: str = "", discreet: bool = False) -> PlanSheet:
    """The sheet of a plan. All its sessions have the same stretches of time."""
    first = plan.sessions[0]
    return PlanSheet(
        weeks=plan.weeks,
        days=plan.days,
        minutes=plan.minutes,
        rungs=plan.rungs,
        start=plan.start,
        reason=plan.advice.reason,
        finishes=plan.finishes,
        blocks=tuple(
            PlanBlock(block.seconds, block.delivery, _ACTIVITIES[block.activity])
            for block in first.blocks
        ),
        sessions=tuple(
            PlanRow(
                session.number,
                session.week,
                session.date,
                session.stage.unit,
                session.stage.rung.kind,
                session.stage.rung.number,
                (session.number - 1) % len(WARM_UPS),
            )
            for session in plan.sessions
        ),
        progress=_lay_out_progress(plan.progress) if plan.progress else None,
        title=title,
        discreet=discreet,
    )


def _lay_out_progress(progress: Progress) -> PlanProgress:
    felt, heard, pitch, inflection, loose = (rate for _, rate in progress.rates)
    return PlanProgress(
        progress.minutes,
        tuple(PlanPoint(point.session, point.met, point.tense) for point in progress.points),
        (felt, heard, pitch, inflection, loose),
    )
