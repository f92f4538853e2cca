"""Small jobs with one sign, and how to judge them."""

from __future__ import annotations

from signrules.model.job import Job
from signrules.model.media import Ink, Media
from signrules.model.passes import Area, Pass
from signrules.model.printer import Printer, Spacers
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Mounting, Pictogram, Raised, Sign, Surface, Visual
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.rules.accessibility import ACCESSIBILITY
from signrules.rules.braille_text import TEXT_RULES
from signrules.rules.checks import Check
from signrules.rules.engine import Facts, PlacedRule, run_rules
from signrules.standards.dimension_tables import Standard, builtin_standards

RULES = {
    rule.name: rule for rules in ACCESSIBILITY for rule in rules.rules if rule not in TEXT_RULES
}
"""The rules on a sign's dimensions and form; those on what its cells say are tested beside the
translator.
"""

PARTS = {
    "braille": Braille,
    "raised": Raised,
    "visual": Visual,
    "pictogram": Pictogram,
    "surface": Surface,
    "mounting": Mounting,
}
"""The parts of a sign by the first word of the quantities that they have."""

CLEAR = Ink("clear", Interval(0.027, 0.030, 0.033), "clear")
BLACK = Ink("black", Interval.exact(0.010), "colour")
DOTS = (Area(40, 30, 60, 8),)
PRINTER = Printer((600, 450), Interval.exact(1.5), 1.0, Spacers((2.0,)), 40, 800, 6000)


def ada() -> Standard:
    return next(standard for standard in builtin_standards() if standard.id == "us-ada-2010")


def mm(value: float) -> Interval:
    return Interval.exact(value)


def job_of(
    *signs: Sign, passes: tuple[Pass, ...] = (), inks: tuple[Ink, ...] = (CLEAR, BLACK)
) -> Job:
    ground = (Pass("ground", "black", areas=(Area(0, 0, 10, 10),)),)
    return Job(PRINTER, (Media("panel", mm(3), (200, 200)),), inks, passes or ground, signs=signs)


def judged(job: Job, *standards: Standard, rule: str = "") -> list[Check]:
    """The checks that the accessibility rules (or one of them) make on a job; no rule may fail."""
    machine = Machine(Heights(job))
    facts = Facts(
        machine.job, replay_items(machine, range(len(machine.items)), {}), standards, ordered=True
    )
    placed = [
        PlacedRule(one, "builtin", "0") for name, one in RULES.items() if not rule or name == rule
    ]
    checks, faults, _ = run_rules(placed, facts)
    assert faults == []
    return checks


def outcomes(checks: list[Check]) -> list[str]:
    return [check.outcome.value for check in checks]
