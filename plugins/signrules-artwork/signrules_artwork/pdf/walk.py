"""The walk through the drawing operators of a page, and what it paints."""

from __future__ import annotations

import itertools
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import pikepdf
from attrs import define, evolve, field

from signrules_artwork.affine import joined
from signrules_artwork.chords import Track
from signrules_artwork.clipping import Bounds, Clip
from signrules_artwork.faults import Reading
from signrules_artwork.off_page import OffPage
from signrules_artwork.painted import Ink, Painted, Writing
from signrules_artwork.pdf.layer_groups import Chain, LayerGroups
from signrules_artwork.pdf.objects import entry, matrix_of, object_key, refuse_swollen
from signrules_artwork.pdf.state import GraphicsState, Side

MOST_NESTED_FORMS = 24
MOST_KEPT_STATES = 2000
MOST_CHAINS = 32

LEAST_CLIPPED = 1e-4
"""A clip that takes away less than this share of a letter leaves it whole."""

SOFT_MASK = "a soft mask is not followed: what lies under it is taken as inked"
PATTERN_FILL = "a pattern or shading is taken as a solid: all of its area counts as inked"
DOWNWARDS = "text that runs downwards is read as if it ran to the right: its place is wrong"

Operator = Callable[["Walk", list[Any]], None]


@define
class Walk:
    """A walk through a page. `not_followed` are places of what is drawn otherwise than it is read,
    by what is told of it. `operators` say what each operator does; `fonts` are those met, by
    key of their object.
    """

    operators: Mapping[str, Operator]
    groups: LayerGroups
    reading: Reading
    state: GraphicsState
    resources: Any
    off_page: OffPage
    page_resources: Any
    not_followed: dict[str, list[Bounds]] = field(factory=lambda: defaultdict(list))
    painted: list[Painted] = field(factory=list)
    writings: list[Writing] = field(factory=list)
    writing: int | None = None
    clipped_writings: set[int] = field(factory=set)
    kept_states: list[GraphicsState] = field(factory=list)
    marks: list[tuple[Chain, ...]] = field(factory=list)
    tracks: list[Track] = field(factory=list)
    clip_rule: str | None = None
    text: Any = None
    fonts: dict[str, Any] = field(factory=dict)
    programs: dict[str, list[Any]] = field(factory=dict)
    open_forms: list[str] = field(factory=list)
    objects: int = 0

    @property
    def place(self) -> str:
        """What is being drawn, in words."""
        return f"object {self.objects}"

    def follow(self, program: Iterable[Any]) -> None:
        """Does what operators say. Those that make no sense are left out, and told."""
        for instruction in program:
            self.reading.spend_steps()
            name = str(instruction.operator)
            operator = self.operators.get(name)
            if operator is None:
                self.reading.note(f"an unknown operator '{name[:20]}' was left out")
                continue
            try:
                operator(self, list(instruction.operands))
            except (ValueError, TypeError, IndexError, KeyError, AttributeError) as error:
                kind = type(error).__name__
                self.reading.note(f"an operator '{name}' that makes no sense was left out ({kind})")
            except (pikepdf.PdfError, OverflowError, ZeroDivisionError):
                self.reading.note(f"an operator '{name}' could not be followed and was left out")

    def program_of(self, stream: Any) -> list[Any]:
        """The operators of a stream, parsed once."""
        key = object_key(stream)
        if key and key in self.programs:
            return self.programs[key]
        refuse_swollen(stream, self.reading, MOST_PROGRAM_BYTES)
        program = parsed_program(stream, self.reading)
        if key:
            self.programs[key] = program
        return program

    def enter(self, stream: Any, resources: Any) -> None:
        """Follows the operators of a form, a glyph or the like with the present state, and comes
        back to it. One that draws itself is left out.
        """
        key = object_key(stream)
        if (key and key in self.open_forms) or len(self.open_forms) >= MOST_NESTED_FORMS:
            self.reading.note("a form that draws itself, or nests too deeply, was left out")
            return
        kept = (self.state, self.resources, self.kept_states, self.marks, self.tracks, self.text)
        self.state = self.state.kept()
        self.resources = resources if resources is not None else self.resources
        self.kept_states, self.marks, self.tracks = [], list(self.marks), []
        self.open_forms.append(key)
        try:
            self.follow(self.program_of(stream))
        finally:
            self.open_forms.pop()
            (self.state, self.resources, self.kept_states, self.marks, self.tracks, self.text) = (
                kept
            )

    def named(self, kind: str, name: Any) -> Any:
        """A resource of a kind ("/XObject") by its name, or None."""
        if not isinstance(name, pikepdf.Name):
            return None
        return entry(entry(self.resources, kind), name)

    def move(self, matrix: Any) -> None:
        """Puts a map before those in force."""
        self.state.matrix = joined(matrix_of(matrix), self.state.matrix)

    def keep_state(self) -> None:
        """What `q` does."""
        if len(self.kept_states) < MOST_KEPT_STATES:
            self.kept_states.append(self.state.kept())
        else:
            self.reading.note(f"more than {MOST_KEPT_STATES:,} states are kept at one time")

    def restore_state(self) -> None:
        """What `Q` does."""
        if self.kept_states:
            self.state = self.kept_states.pop()

    def narrow(self, region: Any) -> None:
        """Lets nothing show outside a region, in mm."""
        self.state.clip = Clip.of(self.state.clip.kept(region, self.reading))

    def paint(self, region: Any, side: Side, ink: Ink | None = None) -> None:
        """Paints a region, in mm, as a side says, or with an ink of its own."""
        ink = ink if ink is not None else side.ink
        alpha = side.alpha * self.state.alpha
        if ink is None or alpha <= 0:
            return
        if not ink.tints and (alpha < 1 or side.overprint or not self.state.plain_blend):
            return  # White that is seen through takes nothing away.
        if alpha < 1:
            ink = Ink({name: tint * alpha for name, tint in ink.tints.items()})
        shown = self.state.clip.kept(region, self.reading)
        if shown.is_empty:
            if self.writing is not None and not region.is_empty:
                self.clipped_writings.add(self.writing)
            if ink.tints:
                self.off_page.look_at(region, self.chains())
            return
        if self.writing is not None and shown.area < (1 - LEAST_CLIPPED) * region.area:
            self.clipped_writings.add(self.writing)
        if self.state.soft_mask:
            self.not_followed[SOFT_MASK].append(shown.bounds)
        if side.is_pattern:
            self.not_followed[PATTERN_FILL].append(shown.bounds)
        mark = Painted(shown, ink, self.place, writing=self.writing)
        self.painted.extend(evolve(mark, layer=chain) for chain in self.chains())

    def chains(self) -> list[Chain]:
        """The layers that what is painted now lies on."""
        chosen = [options for options in self.marks if options != ((),)]
        if not chosen:
            return [()]
        found = []
        for parts in itertools.islice(itertools.product(*chosen), MOST_CHAINS):
            keys = itertools.chain.from_iterable(parts)
            found.append(tuple(dict.fromkeys(keys)))
        return found

    def within_layer(self, value: Any) -> None:
        """Puts what follows on the layer of an optional content entry; None changes nothing."""
        options = ((),) if value is None else self.groups.chains_of(value, self.reading)
        self.marks.append(options)


def parsed_program(stream: Any, reading: Reading) -> list[Any]:
    """The operators of a page or stream; what pikepdf warns of becomes a note."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        program = list(pikepdf.parse_content_stream(stream))
    if caught:
        reading.note(f"drawing operators are damaged, and parts may be missing: {reading.where}")
    return program


MOST_PROGRAM_BYTES = 24_000_000
"""The most bytes of drawing operators of one page or form, unpacked."""
