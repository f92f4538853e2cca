"""Which layer of a drawing becomes what: by its processing step, its name or its colorants.

Rows of `[[layers]]` of the shop that name a processing step come first, then the others, each in
their order; then what a processing step alone tells. The names of steps are those of ISO 19593-1,
second hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fnmatch import fnmatchcase

from attrs import evolve, frozen

from signrules.artwork.drawing import Artwork, ArtworkLayer, ArtworkPage
from signrules.documents.stock import Stock
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.job import free_id
from signrules.model.layer_uses import EDGE, LayerUse
from signrules.model.passes import ArtworkSource
from signrules.model.wording import listed_names, shown_value

WHITE, VARNISH, BRAILLE, STRUCTURAL, CUTTING = (
    "White",
    "Varnish",
    "Braille",
    "Structural",
    "Cutting",
)
ROLE_OF_STEP = {WHITE: "white", VARNISH: "clear"}
"""The role of the ink that prints a step, where the shop has one ink of that role."""

NOT_PRINTED = (STRUCTURAL, "Positions", "Dimensions", "Legend")
"""Steps that show something and are not printed."""


@frozen
class MappedLayer:
    """A layer of a page, where it stands, and what becomes of it."""

    layer: ArtworkLayer
    page: ArtworkPage
    artwork: Artwork
    use: LayerUse

    @property
    def source(self) -> ArtworkSource:
        """The layer as a pass names it."""
        file, page = self.artwork.file, self.page.number
        return ArtworkSource(file, page, self.layer.name, self.artwork.fingerprint)

    @property
    def place(self) -> str:
        """The layer as errors of its file name it: "page 1, layer 'dots'"."""
        return _place_of(self.page, self.layer)

    @property
    def words(self) -> str:
        """The layer as figures name it: "sign.pdf, page 1, layer dots"."""
        return f"{self.artwork.file}, page {self.page.number}, layer {self.layer.name}"


def _place_of(page: ArtworkPage, layer: ArtworkLayer) -> str:
    return f"page {page.number}, layer {layer.name!r}"


def notes_on_disagreements(artwork: Artwork, page: ArtworkPage) -> list[str]:
    """Where what was found on the layers of a page differs from a rendering of them."""
    return [
        f"{artwork.file}, {_place_of(page, layer)}: {told}"
        for layer in page.layers
        for told in layer.disagreements
    ]


def mapped_layers(
    artwork: Artwork, page: ArtworkPage, stock: Stock
) -> tuple[list[MappedLayer], list[str]]:
    """What becomes of each layer of a page, and notes on those that nothing prints.

    Raises ArtworkError where nothing maps a layer on which something is drawn.
    """
    found: list[MappedLayer] = []
    notes: list[str] = []
    faults: list[DocumentFault] = []
    for layer in page.layers:
        where = _place_of(page, layer)
        if layer.hidden:
            notes.append(f"{where} is hidden in the file and left out")
            continue
        use = use_of(layer, stock)
        if use is not None:
            found.append(MappedLayer(layer, page, artwork, use))
            if use.leave_out is not None:
                notes.append(f"{where} is left out: {use.leave_out}")
            elif use.marks is not None and not any(layer.inked()):
                notes.append(f"{where}: nothing of it lies on the page, so it marks no {use.marks}")
        elif any(True for _ in layer.inked()):
            faults.append(DocumentFault(where, _what_it_is(layer), _what_maps_it(layer, stock)))
        else:
            notes.append(f"{where} is empty on this page and left out")
    if faults:
        raise ArtworkError(faults, artwork.file)
    return found, notes


def use_of(layer: ArtworkLayer, stock: Stock) -> LayerUse | None:
    """What the shop, or else its processing step, makes of a layer."""
    # A processing step is marked on purpose; a name may fit a pattern of the shop by chance. The
    # sort is stable, so rows of one kind keep their order.
    rows = sorted(stock.layers, key=lambda row: row.step is None)
    return next((row for row in rows if _fits(layer, row)), None) or _use_of_step(layer, stock)


def _fits(layer: ArtworkLayer, row: LayerUse) -> bool:
    if row.step is not None and not _is_like(layer.step or "", row.step):
        return False
    if row.step_type is not None and not _is_like(layer.step_type or "", row.step_type):
        return False
    if row.name is not None and not _is_like(layer.name, row.name):
        return False
    pattern = row.colorant
    return pattern is None or any(_is_like(colorant, pattern) for colorant in layer.colorants)


def _is_like(name: str, pattern: str) -> bool:
    return fnmatchcase(name.casefold(), pattern.casefold())


def _use_of_step(layer: ArtworkLayer, stock: Stock) -> LayerUse | None:
    """What a processing step tells by itself. How many layers dots take it does not."""
    role = ROLE_OF_STEP.get(layer.step or "")
    inks = _inks_of_role(role, stock.inks)
    # With two whites in the shop nothing says which is meant, and a row must.
    if role is not None and len(inks) == 1:
        return LayerUse(step=layer.step, ink=inks[0])
    if (layer.step, layer.step_type) == (STRUCTURAL, CUTTING):
        return LayerUse(step=STRUCTURAL, step_type=CUTTING, marks=EDGE)
    if layer.step in NOT_PRINTED:
        named = " ".join(filter(None, (layer.step, layer.step_type)))
        reason = f"the file marks it as {named}, which is not printed"
        return LayerUse(step=layer.step, step_type=layer.step_type, leave_out=reason)
    return None


def _inks_of_role(role: str | None, inks: Mapping[str, Mapping[str, object]]) -> list[str]:
    return [id for id, ink in inks.items() if role is not None and ink.get("role") == role]


def _what_it_is(layer: ArtworkLayer) -> str:
    """A layer as an error names what was found."""
    parts = ["a layer that no row of [[layers]] fits"]
    if layer.step:
        parts.append(f"processing step {' '.join(filter(None, (layer.step, layer.step_type)))}")
    if layer.colorants:
        parts.append(f"colorants {listed_names(list(layer.colorants))}")
    return ", ".join(parts)


def _what_maps_it(layer: ArtworkLayer, stock: Stock) -> str:
    """What an error expects: a row, and which there are."""
    inks = listed_names(list(stock.inks)) if stock.inks else "none yet"
    key, value = ("step", layer.step) if layer.step else ("name", layer.name)
    also = " and how many layers make a dot" if layer.step == BRAILLE else ""
    row = f"[[layers]] with {key} = {shown_value(value)} and an ink{also}, marks or leave_out"
    rows = listed_names([_row_in_words(use) for use in stock.layers]) or "none"
    return f"a row {row}; inks: {inks}; rows so far: {rows}"


def _row_in_words(use: LayerUse) -> str:
    stated = (use.step, use.step_type, use.name, use.colorant)
    return " ".join(each for each in stated if each)


def layers_that_build(mapped: Iterable[MappedLayer], feature: str) -> list[MappedLayer]:
    """Those of some layers that build a feature of a sign."""
    return [each for each in mapped if feature in each.use.builds]


def layers_that_mark(mapped: Iterable[MappedLayer], what: str) -> list[MappedLayer]:
    """Those of some layers that show an edge, or the field of a pictogram."""
    return [each for each in mapped if each.use.marks == what]


def with_ids(mapped: Sequence[MappedLayer]) -> Iterator[tuple[str, MappedLayer]]:
    """Each layer with the id of its pass, no two alike."""
    taken: set[str] = set()
    for each in mapped:
        base = plain_id(each.use.id or each.layer.name, "layer")
        id = free_id(base, taken)
        taken.add(id)
        yield id, each


def plain_id(text: str, otherwise: str) -> str:
    """A text as an id: without what no id holds, not too long."""
    kept = "".join("-" if char in ".[]" else char for char in text if char.isprintable())
    return kept.strip()[:LONGEST_OWN_ID].strip() or otherwise


LONGEST_OWN_ID = 60
"""So long may an id be that is made of a name; numbers come after it."""


def moved_to(mapped: MappedLayer, layer: ArtworkLayer) -> MappedLayer:
    """The same with another drawing on the layer."""
    return evolve(mapped, layer=layer)
