"""The gap settings of an order, counted without a replay, are those that its replay counts."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from signrules.model import Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import count_settings, replay_items
from signrules.testing import sound_jobs


@given(job=sound_jobs(), data=st.data())
def test_as_the_replay_counts_them(job: Job, data: st.DataObject) -> None:
    machine = Machine(Heights(job))
    # Any order: a safe one or not, and handling anywhere, so that sheets lie on either side.
    order = data.draw(st.permutations(range(len(machine.items))))
    choices = {
        pass_index: data.draw(st.sampled_from([None, *stated_gaps(job)]))
        for pass_index, item in enumerate(job.passes)
        if item.gap is None
    }
    counted = count_settings(machine, order, choices)
    assert counted == replay_items(machine, order, choices).gap_settings


def stated_gaps(job: Job) -> list[object]:
    """The gaps that some passes state, to be given to those that leave theirs open."""
    return [item.gap for item in job.passes if item.gap is not None]
