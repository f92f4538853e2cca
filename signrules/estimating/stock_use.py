"""Sheets taken from stock, their price, and who bears it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from attrs import frozen

from signrules.estimating.amounts import SHEETS, Amount, rounded_amount
from signrules.estimating.billed_signs import BilledSign
from signrules.estimating.charges import Charge
from signrules.estimating.order_estimate import StockUse
from signrules.estimating.pricing import EstimateLine, area_in_m2, line_at, sheet_price
from signrules.estimating.rates import Rates
from signrules.evaluation import Evaluation
from signrules.evaluation.order_verdict import Outcomes
from signrules.model.media import Media
from signrules.model.wording import FINE_DECIMALS, number_text
from signrules.model.work_order import StockSheet, WorkOrder


@frozen
class _Taken:
    """One sheet from stock, what the job of a piece says of it, and the areas of its signs."""

    stock: str
    size: tuple[float, float]
    media: Media | None
    signs_m2: Decimal | None


def stock_of_order(order: WorkOrder, outcomes: Outcomes) -> tuple[StockUse, ...]:
    """The whole sheets that the pieces of a work order are cut from."""
    sheet_of = {piece.id: piece.stock_sheet for piece in order.pieces}
    covered: dict[str, Decimal] = {}
    for sign in order.signs:
        sheet = sheet_of[sign.piece]
        covered[sheet] = covered.get(sheet, Decimal(0)) + area_in_m2(sign.size)
    return _grouped_uses(
        _Taken(
            sheet.stock,
            sheet.size,
            _media_of(sheet, order, outcomes),
            covered.get(sheet.id, Decimal(0)),
        )
        for sheet in order.stock_sheets
    )


def _media_of(sheet: StockSheet, order: WorkOrder, outcomes: Outcomes) -> Media | None:
    """What the job of a piece from the same stock says of it; None where none was judged."""
    same = {each.id for each in order.stock_sheets if each.stock == sheet.stock}
    ids = {piece.id for piece in order.pieces if piece.stock_sheet in same}
    judged = [outcome for outcome in outcomes.values() if isinstance(outcome, Evaluation)]
    media = [media for result in judged for media in result.job.media]
    # Any of them: sheets of one stock are alike in all that is told here.
    return next((each for each in media if each.id in ids), None)


def stock_of_jobs(outcomes: Outcomes) -> tuple[StockUse, ...]:
    """The sheets of jobs that belong to no work order: each is taken for one from stock."""
    return _grouped_uses(
        _Taken(media.id, media.size, media, _signs_on(media, outcome))
        for outcome in outcomes.values()
        if isinstance(outcome, Evaluation)
        for media in outcome.job.media
    )


def _signs_on(media: Media, result: Evaluation) -> Decimal | None:
    """The area of the signs on a sheet; None where it is not stated."""
    areas = [sign.area for sign in result.job.signs if result.job.media_of(sign) is media]
    known = [area_in_m2((area.width, area.height)) for area in areas if area is not None]
    return sum(known, Decimal(0)) if len(known) == len(areas) else None


def _grouped_uses(taken: Iterable[_Taken]) -> tuple[StockUse, ...]:
    groups: dict[tuple[object, ...], list[_Taken]] = {}
    for each in taken:
        groups.setdefault((each.stock, each.size, *_kind_of(each.media)), []).append(each)
    return tuple(_use_of(group) for group in groups.values())


def _kind_of(media: Media | None) -> tuple[str, float | None]:
    return ("", None) if media is None else (media.material or "", media.thickness.nominal)


def _use_of(group: Sequence[_Taken]) -> StockUse:
    first = group[0]
    material, thickness = _kind_of(first.media)
    covered = [each.signs_m2 for each in group if each.signs_m2 is not None]
    return StockUse(
        first.stock,
        material,
        thickness,
        first.size,
        len(group),
        area_in_m2(first.size) * len(group),
        sum(covered, Decimal(0)) if len(covered) == len(group) else None,
    )


def stock_charges(
    order: WorkOrder, outcomes: Outcomes, signs: Sequence[BilledSign], rates: Rates | None
) -> Iterator[Charge]:
    """A line for the sheets of each stock, borne by the signs on them: each sheet alike, by the
    areas of the signs on it.
    """
    groups: dict[tuple[object, ...], list[StockSheet]] = {}
    media = {sheet.id: _media_of(sheet, order, outcomes) for sheet in order.stock_sheets}
    for sheet in order.stock_sheets:
        key = (sheet.stock, sheet.size, *_kind_of(media[sheet.id]))
        groups.setdefault(key, []).append(sheet)
    for group in groups.values():
        line = _stock_line(group, media[group[0].id], rates)
        yield Charge(line, "", _weights_on({sheet.id for sheet in group}, signs))


def _weights_on(sheets: Iterable[str], signs: Sequence[BilledSign]) -> dict[int, float]:
    """Each sheet counts alike, shared by the areas of its signs; all signs alike where there are
    none.
    """
    wanted = set(sheets)
    covered: dict[str, float] = {}
    for sign in signs:
        covered[sign.stock_sheet] = covered.get(sign.stock_sheet, 0.0) + sign.own_area
    own = {
        number: sign.own_area / covered[sign.stock_sheet]
        for number, sign in enumerate(signs)
        if sign.stock_sheet in wanted
    }
    # Sheets that no sign lies on are borne by all: somebody has to pay for them.
    return own or dict.fromkeys(range(len(signs)), 1.0)


def _stock_line(
    group: Sequence[StockSheet], media: Media | None, rates: Rates | None
) -> EstimateLine:
    first = group[0]
    note = f"{' x '.join(number_text(side, FINE_DECIMALS) for side in first.size)} mm"
    if media is not None:
        thick = number_text(media.thickness.nominal, FINE_DECIMALS)
        note = f"{media.material or 'material not stated'}, {thick} mm, {note}"
    amount = Amount(SHEETS, first.stock, "sheet", rounded_amount(len(group)), (), note)
    if rates is None:
        return EstimateLine(
            amount.kind, amount.item, amount.unit, amount.amount, Decimal(0), None, None, None, note
        )
    if media is None:
        unit_price = rates.sheet.get(first.stock)
        return line_at(amount, unit_price, f"sheet.{first.stock}", rates)
    return line_at(amount, *sheet_price(first.stock, media, first.size, rates), rates)
