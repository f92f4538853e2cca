"""What set-up weighs, by hand."""

from __future__ import annotations

import pytest

from signrules.model import Minutes
from signrules.planning.setup_cost import Costs


@pytest.mark.parametrize(
    ("minutes", "weight", "stated"),
    [
        (Minutes(4, 2, 12), 2 * 4 + 3 * 2 + 5 * 12, True),
        (Minutes(), 3 + 5, False),
        (Minutes(4, 2, None), 3 + 5, False),
        (Minutes(None, 2, 12), 3 + 5, False),
        (Minutes(4, None, 12), 3 + 5, False),
    ],
)
def test_where_a_figure_is_missing_settings_and_alignments_are_counted(minutes, weight, stated):
    """Two loads, three settings, five alignments."""
    costs = Costs.of(minutes)
    assert costs.weight(2, 3, 5) == weight
    assert costs.stated is stated
