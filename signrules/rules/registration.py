"""Registration: nothing moves between passes that must lie on each other."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.passes import Pass
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import Heights
from signrules.physics.machine import Move
from signrules.physics.timeline import Timeline
from signrules.rules.checks import Draft, Level, check, common_practice, missing, stated_by_the_job
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.registration_growth import registration_growth, registration_total

STAY_OR_LOCATE = "Print both while the sheet stays on the bed, or locate the sheet after each move."


@rule(
    "registration.frame",
    each="pass",
    level=Level.STOP,
    source=common_practice(
        "a sheet stays where it lies from the first pass that registers to the last"
    ),
    decides=True,
    breaks={"handling.look.locates_by": None},
    meets={},
)
def registration_frame(item: Pass, timeline: Timeline, heights: Heights) -> Iterator[Draft]:
    """Between a pass and the earlier passes that it registers with, the sheet is not moved without
    a method that locates it.

    A reload, a flip, a release of the hold, and taking the bed load off all move every sheet of
    that load. A method that locates the sheet bridges a move; a sheet that nothing holds counts as
    moving with every pass. Looking back to the first pass that registers is enough: whatever moved
    since a later one also moved since that one.

    Why it matters: passes that are shifted against each other cannot be brought together again.
    A job that breaks it: flat colour, the sheet taken off and put back by eye, then the raised
    letters.
    One that meets it: the same with pins that put the sheet back within tolerance.
    """
    pass_index = heights.index[item.id]
    partner = timeline.earliest_partner(pass_index)
    if partner is None:
        return
    media = {heights.media[index].id: heights.media[index] for index in (partner, pass_index)}
    loose = [sheet.id for sheet in media.values() if sheet.hold == "none"]
    moves = [move for move in timeline.moves_between(partner, pass_index) if not move.bridges]
    other = f"passes.{timeline.machine.items[partner].id}"
    unsaid = [sheet.id for sheet in media.values() if sheet.hold is None]
    # Where something moves the sheet in any case, how it is held makes no difference.
    if unsaid and not moves and not loose:
        yield missing(
            f"media.{unsaid[0]}.hold",
            "whether the sheet stays where it lies between passes that register",
        )
        return
    what_moves = [_named(move) for move in moves] + [f"nothing holds {sheet}" for sheet in loose]
    advice = ""
    if what_moves:
        advice = f"What moves it: {', '.join(what_moves)}. {' '.join(_ways_to_hold(moves, loose))}"
    yield check(
        f"the number of moves since {other} after which nothing locates the sheet",
        measured=len(what_moves),
        most=0,
        unit="",
        advice=advice,
        others=[other],
    )


@rule(
    "registration.budget",
    each="pass",
    level=Level.STOP,
    source=stated_by_the_job("registration_tolerance and printer.locating"),
    decides=True,
    breaks={"handling.look.locates_by": "stops"},
    meets={},
)
def registration_budget(item: Pass, timeline: Timeline, heights: Heights) -> Iterator[Draft]:
    """Putting the sheet back costs no more than the registration tolerance, worst case, since the
    first pass.

    The locating errors of all moves in between are added. Where the printer does not state one of
    them and the others are within tolerance, it is not assessed. What heat and landing error add is
    judged by
    `registration.growth` and `registration.total`.

    Why it matters: every method of putting a sheet back has its error, and errors add up.
    A job that breaks it: stops good to 0.5 mm where 0.15 mm is allowed.
    One that meets it: pins good to 0.1 mm.
    """
    job, pass_index = heights.job, heights.index[item.id]
    partner = timeline.earliest_partner(pass_index)
    moves = [] if partner is None else timeline.moves_between(partner, pass_index)
    if partner is None or not moves or not all(move.bridges for move in moves):
        return
    unknown = [f"printer.locating.{move.method}" for move in moves if move.error is None]
    if job.registration_tolerance is None:
        unknown.append("registration_tolerance")
    stated, tolerance = sum(move.error or 0.0 for move in moves), job.registration_tolerance
    # What is stated may be too much without the rest, which can only add to it.
    if unknown and (tolerance is None or stated <= tolerance + GUARD_MM):
        yield missing(unknown[0], "the error of putting the sheet back")
        return
    other = f"passes.{timeline.machine.items[partner].id}"
    part = ", as far as it is stated," if unknown else ""
    yield check(
        f"the locating error since {other}{part} ({', '.join(_named(move) for move in moves)})",
        measured=stated,
        most=tolerance,
        unit="mm",
        advice="Locate the sheet by a better method, or print both while it stays on the bed.",
        others=[other],
    )


def _ways_to_hold(moves: list[Move], loose: list[str]) -> Iterator[str]:
    """How a sheet stays where it lies between two passes."""
    if moves:
        yield "Print both while the sheet stays on the bed, or locate the sheet after each move."
    if loose:
        yield "Hold the sheet by vacuum, tape, tack or pins."


def _named(move: Move) -> str:
    if move.method is not None:
        return f"{move.what}, located by {move.method}"
    if move.what == "unload":
        return f"load {move.load} comes off the bed"
    return f"{move.what} moves the sheet"


REGISTRATION = RuleSet(
    "registration",
    (registration_frame, registration_budget, registration_growth, registration_total),
    "Nothing moves between passes that register.",
)
