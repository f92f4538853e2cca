"""How many minutes the passes of a job print, worked by hand."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.duration import printing_minutes

STATED = {
    "carriage_speed": "1000 mm/s",
    "carriage_acceleration": "10 m/s2",
    "overrun": "50 mm",
    "swath": "40 mm",
    "swath_passes": 4,
}


def minutes_of(**changes):
    document = sign_job()
    document["printer"] |= STATED | changes
    stated = {key: value for key, value in document["printer"].items() if value is not None}
    return printing_minutes(signrules.job_from_dict(document | {"printer": stated}))


def test_the_passes_of_a_job_print_as_long_as_their_strokes_and_layers_take():
    # A stroke runs over its width and twice 50 mm at 1 m/s, and a turn costs 0.1 s more. Strokes
    # advance by 10 mm, and three more make up for the first and last advances.
    # The ground of 200 mm x 200 mm: 20 + 3 strokes of 0.3 s + 0.1 s. What is 60 mm x 8 mm: 1 + 3
    # strokes of 0.16 s + 0.1 s each layer, 24 layers of dots and one of ink on them.
    seconds = {"ground": 23 * 0.4, "dots": 24 * 4 * 0.26, "ink-on-dots": 4 * 0.26}
    wanted = {f"printing_minutes.{name}": time / 60 for name, time in seconds.items()}
    wanted["printing_minutes"] = (9.2 + 24.96 + 1.04) / 60
    assert minutes_of() == pytest.approx(wanted)


@pytest.mark.parametrize("unstated", ["carriage_acceleration", "overrun", "swath", "swath_passes"])
def test_no_minutes_are_known_of_a_printer_that_leaves_out_what_they_take(unstated):
    assert minutes_of(**{unstated: None}) == {}
