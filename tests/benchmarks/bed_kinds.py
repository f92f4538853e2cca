"""What is printed on the sheets of an invented bed: regions, inks, and the kinds of passes with
their chains.
"""

from __future__ import annotations

from attrs import frozen

from signrules.model import Area, Ink, Interval

EXACT = Interval.exact

REGIONS = {
    "raised": Area(20.0, 35.0, 100.0, 20.0),
    "braille": Area(20.0, 10.0, 100.0, 10.0),
    "logo": Area(130.0, 30.0, 40.0, 20.0),
    "texture": Area(130.0, 5.0, 40.0, 20.0),
}
"""The parts of a sheet, which do not overlap."""

INKS = (
    Ink("flat", EXACT(0.01), "colour"),
    Ink("white", EXACT(0.01), "white"),
    Ink("clear", Interval(0.029, 0.03, 0.031), "clear"),
)


@frozen
class Kind:
    """A pass of the chain; `regions` is empty for the whole sheet, `over` and `after` name kinds in
    the chain.
    """

    ink: str
    layers: int
    regions: tuple[str, ...] = ()
    coverage: float = 1.0
    over: tuple[str, ...] = ()
    after: tuple[str, ...] = ()

    @property
    def thick(self) -> bool:
        """Whether it builds something that fingers feel."""
        return self.ink == "clear" and self.layers > 1

    def grows(self, region: str) -> Interval:
        """What it adds to the stack of a region."""
        if self.regions and region not in self.regions:
            return EXACT(0.0)
        return next(ink for ink in INKS if ink.id == self.ink).layer.scaled(self.layers)


KINDS = {
    "ground": Kind("flat", 1),
    "white": Kind("white", 2, after=("ground",)),
    "logo": Kind("flat", 1, ("logo",), over=("white",)),
    "texture": Kind("clear", 4, ("texture",), over=("white",)),
    "dots": Kind("clear", 24, ("braille",), 0.3, after=("ground", "white")),
    "letters": Kind("clear", 28, ("raised",), 0.3, after=("ground", "white")),
    "colour": Kind("flat", 2, ("braille", "raised"), over=("dots", "letters")),
    "varnish": Kind("clear", 1, over=("colour",)),
}
CHAIN = tuple(KINDS)

CHAINS = {
    1: ("ground",),
    2: ("ground", "dots"),
    3: ("ground", "dots", "colour"),
    4: ("ground", "dots", "colour", "varnish"),
    5: ("ground", "white", "dots", "colour", "varnish"),
    6: ("ground", "white", "dots", "letters", "colour", "varnish"),
    7: ("ground", "white", "logo", "dots", "letters", "colour", "varnish"),
    8: CHAIN,
}
"""The chain of each length: a short one leaves out what a plain sign does without."""

BACKS = {"back": Kind("flat", 1), "mark": Kind("flat", 1, ("logo",), over=("back",))}
RANK = {name: rank for rank, name in enumerate((*CHAIN, "flip", *BACKS))}
