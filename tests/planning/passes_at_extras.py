"""Machines of passes that lie apart, each at an extra over the bare sheet."""

from __future__ import annotations

from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine


def machine_of(extras, after=None, handling=()):
    """Passes each at an extra over the bare sheet, in any order but for what comes after what."""
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["passes"] = [
        {
            "id": f"p{number}",
            "ink": "black",
            "areas": [[10 * number, 0, 9, 9]],
            "registers_to": [],
            "gap": {"extra": extra},
            "after": (after or {}).get(number, []),
        }
        for number, extra in enumerate(extras)
    ]
    document["handling"] = list(handling)
    return Machine(Heights(signrules.job_from_dict(document)))
