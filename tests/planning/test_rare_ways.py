"""What comes about seldom: very many stacks, an effort that ends early, a back that nothing turns
up.
"""

from __future__ import annotations

from benchmarks.beds import ganged_bed
from benchmarks.cases import rows_of_signs
from scenario import pass_of, sign_job

import signrules
from signrules.model import Dial
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning import pipeline, planner, predecessors
from signrules.planning.conflict.finding import deadlock_of_roomy, gave_up
from signrules.planning.gaps import may_stand
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.order.reduction import reduced_problems
from signrules.planning.planner import plan_job
from signrules.planning.predecessors import Before


def machine_of(document):
    return Machine(Heights(signrules.job_from_dict(document)))


def test_with_very_many_stacks_every_extra_is_tried(monkeypatch):
    machine = Machine(Heights(ganged_bed(2, 4, stated=False, control="dial")))
    assert isinstance(machine.job.printer.gap, Dial)

    def tried():
        gaps = OpenGaps(machine, thorough=True)
        fresh = gaps.fresh(0, machine.heights.standing())[0]
        return [gap.extra.nominal for gap in gaps.settable(fresh, 99.0)]

    few = tried()
    monkeypatch.setattr(may_stand, "MOST_STACKS", 0)
    every = tried()
    assert set(few) < set(every) <= set(machine.job.printer.gap.extras())


def test_a_back_that_nothing_turns_up_is_said():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": "under", "ink": "black", "side": "back", "gap": {"extra": 0}}]
    conflict = plan_job(machine_of(document)).conflict
    assert conflict.proven
    assert conflict.reasons == (
        (
            "under prints on the back of panel, which is never up: the sheet is loaded front up and"
            ' nothing turns it over. Load it back up (up = "back"), or add a flip.'
        ),
    )


def test_a_stuck_set_that_no_search_confirms_is_not_called_smallest():
    document = sign_job(standards=[], signs=[])
    pass_of(document, "dots")["layers"] = 50
    del pass_of(document, "dots")["builds"]
    pass_of(document, "ink-on-dots")["gap"] = {"extra": 0, "above": "media"}
    machine = machine_of(document)
    deadlock = deadlock_of_roomy(machine, reduced_problems(machine), 0b111, 0)
    assert (deadlock.items, deadlock.is_smallest) == (0b111, False)


def test_who_gives_up_on_several_sheets_of_one_load_says_that_they_may_be_printed_in_several_jobs():
    conflict = gave_up(Machine(Heights(ganged_bed(2, 4))), 7)
    assert not conflict.proven
    assert "after 7 states" in conflict.message
    assert "print the sheets in several jobs" in conflict.message


def test_of_very_many_items_only_those_next_to_each_other_are_known(monkeypatch):
    machine = Machine(Heights(rows_of_signs(20, 4, 1)))
    everything = range(20)
    whole = Before(machine, everything)
    monkeypatch.setattr(predecessors, "LARGE", 10)
    near = Before(machine, everything)
    for at in everything:
        assert near.among(at, everything) == machine.before[at] <= whole.among(at, everything)


def test_very_many_items_with_an_open_gap_are_ordered_by_the_rules(monkeypatch):
    """Declared first are 0.72 mm of dots, over which the ground would strike at its plain gap."""
    document = sign_job(standards=[], signs=[])
    ground, dots, _ = document["passes"]
    del dots["builds"]
    free = {"id": "free", "ink": "black", "areas": [[0, 0, 9, 9]], "gap": "auto"}
    document["passes"] = [dots, ground, free]
    for module in (planner, pipeline):
        monkeypatch.setattr(module, "LARGE", 2)
    order = plan_job(machine_of(document)).plan.order
    assert order.index("ground") < order.index("dots")
