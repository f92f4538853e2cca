"""Waivers are put to findings in one go; the plain way, each waiver against each check, says what
must come out.
"""

from __future__ import annotations

import datetime

from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from signrules.model import Interval, Waiver
from signrules.rules.checks import Check, Level, Outcome, Source
from signrules.rules.waivers import apply_waivers

TODAY = datetime.date(2026, 6, 1)
RULES = ("a.one", "a.two", "waivers.unmatched", "waivers.expired")
SUBJECTS = ("job", "passes.p", "waivers[0]", "waivers[1]", "waivers[3]")
PART = "media.m"
"""The second subject of every check: of a check on the job a waiver may name it too."""


def check(rule: str, subject: str, outcome: Outcome, level: Level) -> Check:
    one, source = Interval.exact(1), Source("shop", "invented")
    return Check(rule, (subject, PART), outcome, level, one, (2, None), "mm", -1.0, "text", source)


def plainly(
    checks: list[Check], waivers: list[Waiver], today: datetime.date
) -> list[tuple[str, str, Waiver | None]]:
    """Rule, subject and waiver of every check, as each waiver in turn looks at all that there is by
    then.
    """
    found = [(one.rule, one.subjects[0], one.outcome, one.level, one.waiver) for one in checks]
    for number, waiver in enumerate(waivers):
        path = f"waivers[{number}]"
        if waiver.until is not None and waiver.until < today:
            found.append(("waivers.expired", path, Outcome.BROKEN, Level.REVIEW, None))
            continue
        named = "job" if waiver.subject == PART else waiver.subject
        mine = [
            at
            for at, (rule, subject, outcome, level, _) in enumerate(found)
            if (rule, subject) == (waiver.rule, named)
            and outcome is not Outcome.MET
            and level is not Level.STOP
        ]
        if not mine:
            found.append(("waivers.unmatched", path, Outcome.BROKEN, Level.REVIEW, None))
        for at in mine:
            found[at] = (*found[at][:4], waiver)
    return [(rule, subject, waiver) for rule, subject, _, _, waiver in found]


CHECKS = st.builds(
    check,
    st.sampled_from(RULES),
    st.sampled_from(SUBJECTS),
    st.sampled_from(Outcome),
    st.sampled_from(Level),
)
DAYS = st.sampled_from([None, TODAY, TODAY - datetime.timedelta(1), TODAY + datetime.timedelta(1)])
WAIVERS = st.builds(
    Waiver,
    st.sampled_from(RULES),
    st.sampled_from((*SUBJECTS, PART)),
    st.sampled_from(["r", "s", "t"]),
    st.just("b"),
    DAYS,
)


@given(st.lists(CHECKS, max_size=8), st.lists(WAIVERS, max_size=8))
def test_as_if_each_waiver_looked_at_each_check(checks: list[Check], waivers: list[Waiver]) -> None:
    before = list(checks)
    made = apply_waivers(checks, waivers, TODAY)
    assert [(one.rule, one.subjects[0], one.waiver) for one in made] == plainly(
        checks, waivers, TODAY
    )
    assert checks == before
    assert [evolve(one, waiver=None) for one in made[: len(checks)]] == checks


def why(checks: list[Check], waiver: Waiver) -> str:
    *_, last = apply_waivers(checks, [waiver], TODAY)
    return last.message


def test_a_waiver_says_why_it_waives_nothing() -> None:
    waiver = Waiver("a.one", "job", "r", "b")
    met, stop = (
        check("a.one", "job", outcome, level)
        for outcome, level in ((Outcome.MET, Level.NOTE), (Outcome.BROKEN, Level.STOP))
    )
    assert "the waiver of a.one on job matches no finding" in why([met], waiver)
    assert "waives a check of level STOP, which cannot be waived" in why([met, stop], waiver)
    assert "expired on 2026-05-31" in why([stop], evolve(waiver, until=datetime.date(2026, 5, 31)))
