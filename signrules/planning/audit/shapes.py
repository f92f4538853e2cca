"""Does a step say what its kind has to say, and nothing else?"""

from __future__ import annotations

from operator import attrgetter

from signrules.physics.timeline import Step
from signrules.planning.audit.findings import Findings

SAID = {
    "print": ("subject", "printing"),
    "align": ("extra",),
    "load": ("subject", "back_up", "again"),
    "unload": ("subject",),
    "handle": ("subject",),
    "gap": ("extra", "above", "media", "printing"),
}
"""What a step of each kind says; it leaves everything else out."""

KINDS = tuple(SAID)
FIELDS = ("subject", "extra", "above", "media", "back_up", "again", "printing")
LEFT_OUT = {kind: [name for name in FIELDS if name not in said] for kind, said in SAID.items()}
NOTHING = {kind: (attrgetter(*names), (None,) * len(names)) for kind, names in LEFT_OUT.items()}
"""For each kind what gets all that it leaves out, and what comes of that if nothing is said."""


def check_shape(kind: str, step: Step, findings: Findings) -> None:
    """Tell what a step says beyond its kind."""
    get, nothing = NOTHING[kind]
    # One comparison of a tuple for most steps; the names are looked through only where it fails.
    if get(step) != nothing:
        for name in LEFT_OUT[kind]:
            if getattr(step, name) is not None:
                findings.tell(f"a step of kind {kind} says what is none of its matter: {name}")
