"""From drawings and a shop to a job: passes, areas, coverage, and signs as they are drawn."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath
from typing import Any

from attrs import define, evolve, field, frozen

from signrules.artwork.areas import (
    CoveredAreas,
    covered_together,
    covering_areas,
)
from signrules.artwork.choices import (
    NO_CHOICES,
    ArtworkChoices,
    chosen_entry,
    demand_one_text,
    faults_of_choices,
)
from signrules.artwork.drawing import Artwork, Point
from signrules.artwork.feature_parts import BuiltParts, feature_parts, feature_places
from signrules.artwork.mapping import (
    MappedLayer,
    layers_that_build,
    layers_that_mark,
    mapped_layers,
    moved_to,
    notes_on_disagreements,
    plain_id,
    with_ids,
)
from signrules.artwork.placing import (
    SignFrame,
    SplitLayer,
    demand_edges_for_all,
    demand_within_edges,
    notes_on_bleed,
    notes_on_frames,
    sign_frames,
    split_layer,
)
from signrules.artwork.sign_notes import SignNote, notes_with_signs
from signrules.artwork.sign_sections import SignDrawing, sign_sections
from signrules.documents.lengths import parse_length
from signrules.documents.reading import VERSION, job_from_dict
from signrules.documents.stock import NO_STOCK, Stock
from signrules.documents.table_reader import write_table
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.job import Job, free_id
from signrules.model.layer_uses import PICTOGRAM
from signrules.model.passes import FEATURES, Area
from signrules.model.wording import NOTHING, listed_names

SHARE_DECIMALS = 6
"""Coverage is stated to a millionth."""


@frozen
class ArtworkJob:
    """A job document made of drawings, and notes on what whoever prints it should know.

    Those that bear on the verdict stand in the document too, as `read_notes`.
    """

    document: Mapping[str, Any]
    notes: tuple[str, ...] = ()


def job_from_artwork(
    artwork: Artwork | Sequence[Artwork],
    shop: object,
    choices: ArtworkChoices = NO_CHOICES,
    *,
    plugins: object = None,
) -> Job:
    """The job that drawings make in a shop: see `document_from_artwork`.

    `shop` and `plugins` are those of `job_from_dict`. Raises ArtworkError where the drawings cannot
    be made into a job, JobError where what they make is none.
    """
    made = document_from_artwork(artwork, shop, choices)
    return job_from_dict(made.document, plugins=plugins, shop=shop)


def document_from_artwork(
    artwork: Artwork | Sequence[Artwork], shop: object, choices: ArtworkChoices = NO_CHOICES
) -> ArtworkJob:
    """The job document that drawings make in a shop, and notes.

    Each page is a sheet, and one sign, or one for each cut edge on it. Several drawings lie on each
    other, page by page. The corner of a page is that of its sheet; where the shop's sheet has no
    size of its own, it is as large as the cut edge, or the page. Layers become what the shop's
    `[[layers]]` say.

    Raises ArtworkError for layers that nothing maps, braille that cannot be read, and choices that
    the shop does not have; SignrulesError where shapely is not installed.
    """
    drawings = [artwork] if isinstance(artwork, Artwork) else list(artwork)
    if not drawings:
        raise ArtworkError([DocumentFault("", NOTHING, "at least one drawing")])
    stock: Stock = getattr(shop, "stock", NO_STOCK)
    maker = _Maker(drawings, stock, choices)
    for number in maker.page_numbers():
        maker.add_page(number)
    return maker.made()


@define
class _Maker:
    """Collects the rows of a job document, page by page. `corner` is where on the present page the
    corner of its sheet lies.
    """

    drawings: Sequence[Artwork]
    stock: Stock
    choices: ArtworkChoices
    media: list[dict[str, Any]] = field(factory=list)
    passes: list[dict[str, Any]] = field(factory=list)
    signs: list[dict[str, Any]] = field(factory=list)
    notes: list[str] = field(factory=list)
    kept_notes: list[str] = field(factory=list)
    kept_sign_notes: list[tuple[str, SignNote]] = field(factory=list)
    sign_notes: list[tuple[str, SignNote]] = field(factory=list)
    faults: list[DocumentFault] = field(factory=list)
    ids: list[str] = field(factory=list)
    places: dict[str, Area] = field(factory=dict)
    corner: Point = (0.0, 0.0)

    @property
    def file(self) -> str:
        return self.drawings[0].file

    def page_numbers(self) -> list[int]:
        there = sorted({page.number for each in self.drawings for page in each.pages})
        wanted = self.choices.pages
        lacking = sorted(set(wanted or ()) - set(there))
        if lacking or not there:
            expected = f"one of the pages {listed_names([str(each) for each in there])}"
            found = f"page {lacking[0]}" if lacking else "no page"
            raise ArtworkError(
                [DocumentFault("pages", found, expected if there else "a page")], self.file
            )
        return [number for number in there if wanted is None or number in wanted]

    def add_page(self, number: int) -> None:
        """The sheet, the passes and the signs of one page."""
        mapped = self._mapped(number)
        frames = sign_frames(mapped)
        row, self.corner = self._sheet(number, mapped, frames)
        self.media.append(row)
        self.kept_notes += notes_on_frames(mapped, frames)
        ids = self._sign_ids(number, frames)
        self.ids += ids
        demand_one_text(self.choices, self.ids, self.file)
        split = [split_layer(each, frames) for each in mapped]
        demand_within_edges(split, frames)
        demand_edges_for_all(split, frames)
        self._add_passes(split, ids, row)
        for at, (frame, id) in enumerate(zip(frames, ids, strict=True)):
            parts = [moved_to(each.mapped, each.parts[at]) for each in split]
            try:
                self._add_sign(parts, frame, id, row)
            except ArtworkError as error:
                several = len(frames) > 1
                self.faults += [_of_sign(id, each) if several else each for each in error.faults]

    def _mapped(self, number: int) -> list[MappedLayer]:
        """The layers of a page of all drawings, from the lowest to the topmost."""
        found: list[MappedLayer] = []
        for drawing in self.drawings:
            for page in drawing.pages:
                if page.number == number:
                    layers, notes = mapped_layers(drawing, page, self.stock)
                    found += layers
                    self.notes += [f"{drawing.file}: {note}" for note in notes]
                    self.kept_notes += notes_on_disagreements(drawing, page)
        return found

    def _sheet(
        self, number: int, mapped: Sequence[MappedLayer], frames: Sequence[SignFrame]
    ) -> tuple[dict[str, Any], tuple[float, float]]:
        """The row of the sheet of a page, and the place of the page where its corner lies."""
        chosen = chosen_entry(self.choices.sheet, self.stock.sheets, "sheet", self.file)
        row: dict[str, Any] = {"id": self._numbered("sheet", number), "use": chosen}
        if len(self.page_numbers()) > 1:
            row["load"] = str(number)
        if "size" in self.stock.sheets[chosen]:
            return row, (0.0, 0.0)
        edge = frames[0].edge
        if len(frames) == 1 and edge is not None:
            row["size"] = [edge.width, edge.height]
            # One sign on a page: what is printed on is the blank, and the page around it holds crop
            # marks.
            return row, (edge.x, edge.y)
        page = mapped[0].page if mapped else self.drawings[0].pages[0]
        row["size"] = [round(page.width, 3), round(page.height, 3)]
        return row, (0.0, 0.0)

    def _numbered(self, word: str, number: int) -> str:
        return f"{word}-{number}" if len(self.page_numbers()) > 1 else word

    def _sign_ids(self, number: int, frames: Sequence[SignFrame]) -> list[str]:
        base = self._numbered(plain_id(PurePath(self.file).stem, "sign"), number)
        if len(frames) == 1:
            return [base]
        return [f"{base}-{frame.number}" for frame in frames]

    def _add_passes(
        self,
        split: Sequence[SplitLayer],
        signs: Sequence[str],
        sheet: Mapping[str, Any],
    ) -> None:
        size = sheet.get("size") or self.stock.sheets[sheet["use"]].get("size")
        made_by: dict[str, list[str]] = {}
        rows: list[tuple[dict[str, Any], MappedLayer]] = []
        parts_built: list[BuiltParts] = []
        taken = {each["id"] for each in self.passes}
        printed = [each for each in split if each.mapped.use.ink is not None]
        bases = with_ids([each.mapped for each in printed])
        for (base, each), whole in zip(bases, printed, strict=True):
            parts = self._parts(whole, signs)
            built = {key: self._covered(part, size) for key, part in parts.items()}
            covered = covered_together(built.values())
            if not covered.areas:
                self.kept_notes.append(f"{each.words}: nothing is inked, so there is no pass")
                continue
            id = free_id(base, taken)
            taken.add(id)
            made_by.setdefault(each.use.id or "", []).append(id)
            row = _pass_row(
                id, each, covered, sheet["id"], list(map(self._on_sheet, covered.areas))
            )
            if each.use.builds:
                row["builds"] = [feature for feature, part in built.items() if part.areas]
                parts_built.append(BuiltParts(each, built))
            rows.append((row, each))
        # Only now: a feature may be built by several passes, and its place is the rectangle around
        # all.
        self.places |= feature_places(parts_built)
        # A layer may be printed over one that the file draws later, so ids must all be known first.
        for row, each in rows:
            for key in ("over", "after"):
                names = [name for use in getattr(each.use, key) for name in made_by.get(use, ())]
                if names:
                    row[key] = names
            self.passes.append(row)

    def _parts(self, split: SplitLayer, signs: Sequence[str]) -> dict[str, MappedLayer]:
        """A layer whole, or, where it builds something, by the features that it builds."""
        mapped, several = split.mapped, len(signs) > 1
        if not mapped.use.builds:
            return {"": mapped}
        return {
            f"{sign}.{feature}": part
            for sign, layer in zip(signs, split.parts if several else [mapped.layer], strict=True)
            for feature, part in feature_parts(moved_to(mapped, layer)).items()
        }

    def _covered(self, mapped: MappedLayer, size: Any) -> CoveredAreas:
        """The rectangles of a layer on its sheet, with notes on what they leave out or add."""
        artwork = mapped.artwork
        pixel = artwork.pixel
        # An edge of an image is known to half a pixel wherever it lies, also where it looks
        # straight.
        tolerance = artwork.chord_tolerance if pixel is None else pixel / 2
        shapes = list(mapped.layer.inked())
        width, height = (parse_length(each) for each in size)
        within = Area(*self.corner, width, height)
        found = covering_areas(
            shapes,
            tolerance=tolerance,
            everywhere=pixel is not None,
            within=within,
            limits=self.choices.limits,
        )
        if not found.enough:
            self.notes.append(
                f"{mapped.words}: {len(found.areas)} rectangles cover"
                f" {100 * found.area_excess:.0f} % more than what is near ink"
            )
        self.notes += notes_on_bleed(mapped, within)
        return found

    def _add_sign(
        self,
        parts: Sequence[MappedLayer],
        frame: SignFrame,
        id: str,
        sheet: Mapping[str, Any],
    ) -> None:
        """A sign, of what is drawn of it."""
        features = {name: _drawn_of(name, parts) for name in FEATURES}
        pictogram = [each for each in layers_that_mark(parts, PICTOGRAM) if any(each.layer.inked())]
        drawing = SignDrawing(pictogram=pictogram, **features)
        choice = self.choices.of_sign(id)
        sections = sign_sections(drawing, self.choices.translate, choice.text)
        for feature in FEATURES:
            place = self.places.get(f"{id}.{feature}")
            if place is not None:
                sections.keys.setdefault(feature, {})["area"] = self._on_sheet(place)
        row: dict[str, Any] = {"id": id, "media": sheet["id"]}
        if choice.kind is not None:
            row["kind"] = choice.kind
        if frame.edge is not None:
            row["area"] = self._on_sheet(frame.edge)
        self.signs.append(row | sections.keys)
        self.sign_notes += [(id, note) for note in sections.notes]
        self.kept_sign_notes += [(id, note) for note in sections.kept_notes]

    def _notes_on_texts(self) -> Iterator[str]:
        """Which signs have braille and no text that it can be held against."""
        ids = [row["id"] for row in self.signs if "braille" in row and "text" not in row]
        if ids:
            yield (
                f"{self.file}: nobody has said what stands on {listed_names(ids)}, so nothing tells"
                " whether the braille says it, or is mirrored. State the text"
            )

    def _on_sheet(self, area: Area) -> list[float]:
        """An area of the page as a document has it, from the corner of the sheet."""
        x, y = self.corner
        places = (area.x - x, area.y - y, area.width, area.height)
        # Nought is added so that no document says -0.
        return [round(place, 3) + 0.0 for place in places]

    def made(self) -> ArtworkJob:
        """The document, once all pages are in it."""
        faults = [*faults_of_choices(self.choices, self.ids), *self.faults]
        if faults:
            raise ArtworkError(faults, self.file)
        if not self.passes:
            found = "no layer that an ink prints"
            raise ArtworkError([DocumentFault("", found, "at least one inked layer")], self.file)
        choices = self.choices
        document: dict[str, Any] = {
            "signrules": VERSION,
            "name": choices.name or PurePath(self.file).stem,
            "printer": chosen_entry(choices.printer, self.stock.printers, "printer", self.file),
        }
        if choices.standards:
            document["standards"] = list(choices.standards)
        document |= {"media": self.media, "passes": self.passes, "signs": self.signs}
        several = len(self.signs) > 1
        of_signs = notes_with_signs(self.kept_sign_notes, several=several)
        if kept := list(dict.fromkeys([*self.kept_notes, *of_signs, *self._notes_on_texts()])):
            document["read_notes"] = kept
        notes = notes_with_signs(self.sign_notes, several=several)
        taken = set(self.page_numbers())
        own = [
            f"{each.file}: {note}"
            for each in self.drawings
            for note in each.notes
            if _page_of(note) in {None, *taken}
        ]
        return ArtworkJob(
            document,
            tuple(dict.fromkeys([*own, *self.notes, *notes, *kept])),
        )


def _of_sign(id: str, fault: DocumentFault) -> DocumentFault:
    """A fault of one of several signs."""
    return evolve(fault, path=f"signs.{id}, {fault.path}")


def _page_of(note: str) -> int | None:
    """The page that a note of a reader starts with; None for one on the whole file."""
    found = re.match(r"page (\d+)[:,]", note)
    return int(found[1]) if found else None


def _drawn_of(feature: str, mapped: Sequence[MappedLayer]) -> list[MappedLayer]:
    """What some layers draw of a feature, without those that draw nothing of it."""
    parts = [feature_parts(each)[feature] for each in layers_that_build(mapped, feature)]
    return [part for part in parts if any(part.layer.inked())]


def _pass_row(
    id: str, mapped: MappedLayer, covered: CoveredAreas, sheet: str, areas: list[list[float]]
) -> dict[str, Any]:
    use = mapped.use
    row: dict[str, Any] = {
        "id": id,
        "ink": use.ink,
        "media": sheet,
        "areas": areas,
        "layers": use.layers,
    }
    # A speck on a large rectangle would round to none, and no pass prints a share of nothing.
    coverage = max(round(covered.coverage, SHARE_DECIMALS), 10**-SHARE_DECIMALS)
    if coverage < 1:
        row["coverage"] = coverage
    if use.gap is not None:
        row["gap"] = write_table(use.gap)
    # What is as usual is left out, so that a row shows what is particular about its pass.
    for key, usual in (("side", "front"), ("directions", 2), ("crisp_on", "lowest")):
        if getattr(use, key) != usual:
            row[key] = getattr(use, key)
    row["artwork"] = write_table(mapped.source)
    return row
