"""The estimate of a whole work order: what it takes and costs, by sign, row, load and in all."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from attrs import field, frozen

from signrules.estimating.pricing import AddedLine, EstimateLine, amount_text
from signrules.plain import fault_to_dict
from signrules.rules.engine import Fault
from signrules.shop import Shop

FORMAT = 1
"""The version of the shape that `WorkOrderEstimate.to_dict` gives."""


@frozen
class Unpriced:
    """Why something has no price, and the loads or signs where that is so."""

    cause: str
    on: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {"cause": self.cause, "on": list(self.on)}


@frozen
class Takes:
    """What something takes and costs: its share of all lines, exact to the last step.

    An amount is None where it is not known. Set-up is loads, gap settings and alignments; handling
    and pauses come besides.
    `so_far` is its share of the priced lines, `price` that of the total, None where there is none.
    """

    setup_minutes: Decimal | None
    handling_minutes: Decimal | None
    pause_minutes: Decimal | None
    printing_minutes: Decimal | None
    ink_ml: Decimal | None
    so_far: Decimal | None
    price: Decimal | None

    def to_dict(self) -> dict[str, str | None]:
        """Plain data; money and amounts are text."""
        return {
            "setup_minutes": amount_text(self.setup_minutes),
            "handling_minutes": amount_text(self.handling_minutes),
            "pause_minutes": amount_text(self.pause_minutes),
            "printing_minutes": amount_text(self.printing_minutes),
            "ink_ml": amount_text(self.ink_ml),
            "so_far": amount_text(self.so_far),
            "price": amount_text(self.price),
        }


@frozen
class SignEstimate:
    """One sign; without a work order, `type`, `row` and `stock_sheet` are not known."""

    id: str
    load: str
    sheet: str
    type: str
    row: int | None
    stock_sheet: str
    size: tuple[float, float]
    takes: Takes

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "id": self.id,
            "type": self.type or None,
            "row": self.row,
            "load": self.load,
            "sheet": self.sheet,
            "stock_sheet": self.stock_sheet or None,
            "size": list(self.size),
            **self.takes.to_dict(),
        }


@frozen
class RowEstimate:
    """The signs of one row of the schedule; `each` is their mean price, rounded."""

    row: int
    type: str
    signs: tuple[str, ...]
    each: Decimal | None
    takes: Takes

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "row": self.row,
            "type": self.type,
            "quantity": len(self.signs),
            "signs": list(self.signs),
            "each": amount_text(self.each),
            **self.takes.to_dict(),
        }


@frozen
class LoadEstimate:
    """One bed load: the lines of its job and its share of all else.

    `ok` and `verdict` are those of its evaluation; of one that was not judged, false and why.
    """

    id: str
    file: str
    ok: bool
    verdict: str
    signs: int
    lines: tuple[EstimateLine, ...]
    takes: Takes

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "id": self.id,
            "file": self.file,
            "ok": self.ok,
            "verdict": self.verdict,
            "signs": self.signs,
            "lines": [line.to_dict() for line in self.lines],
            **self.takes.to_dict(),
        }


@frozen
class StockUse:
    """Sheets of one stock that are used up, and how much of them no sign covers, in m2.

    Of a job that does not state where its signs lie, `signs_m2` is None.
    """

    stock: str
    material: str
    thickness: float | None
    size: tuple[float, float]
    sheets: int
    area_m2: Decimal
    signs_m2: Decimal | None

    @property
    def waste_m2(self) -> Decimal | None:
        """The area of the sheets less that of the signs."""
        return None if self.signs_m2 is None else self.area_m2 - self.signs_m2

    @property
    def waste_share(self) -> Decimal | None:
        """The waste as a share of the area, to four decimals."""
        if self.waste_m2 is None:
            return None
        return (self.waste_m2 / self.area_m2).quantize(Decimal("0.0001"))

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "stock": self.stock,
            "material": self.material or None,
            "thickness": self.thickness,
            "size": list(self.size),
            "sheets": self.sheets,
            "area_m2": amount_text(self.area_m2),
            "signs_m2": amount_text(self.signs_m2),
            "waste_m2": amount_text(self.waste_m2),
            "waste_share": amount_text(self.waste_share),
        }


@frozen(eq=False)
class WorkOrderEstimate:
    """What a work order, or a folder of jobs, takes and costs, in `currency`.

    All money is None without a rate table. `takes` of signs, and of loads, add up to that of the
    order to the last step. `unpriced` names, each once, why something has no price; then `total` is
    None. `added` are the lines of plugins, `faults` the plugins whose lines could not be had.
    """

    name: str
    ok: bool
    verdict: str
    lines: tuple[EstimateLine, ...]
    stock: tuple[StockUse, ...]
    rows: tuple[RowEstimate, ...]
    loads: tuple[LoadEstimate, ...]
    signs: tuple[SignEstimate, ...]
    unpriced: tuple[Unpriced, ...]
    takes: Takes
    currency: str | None = None
    markup: Decimal | None = None
    raised: Decimal | None = None
    added: tuple[AddedLine, ...] = ()
    faults: tuple[Fault, ...] = ()
    accepted: tuple[tuple[Fault, str], ...] = ()
    shop: Shop = field(factory=Shop)

    @property
    def so_far(self) -> Decimal | None:
        """The sum of the lines that have a price."""
        return self.takes.so_far

    @property
    def total(self) -> Decimal | None:
        """What all of it costs; None where something has no price."""
        return self.takes.price

    @property
    def sign_count(self) -> int:
        """How many signs all loads have together."""
        return len(self.signs)

    @property
    def complete(self) -> bool:
        """Whether there is a total."""
        return self.total is not None

    @property
    def without_plan(self) -> tuple[str, ...]:
        """The ids of the loads that nothing is known of: not judged, or without a plan."""
        return tuple(load.id for load in self.loads if not load.lines)

    def records(self) -> list[dict[str, Any]]:
        """A flat record for each sign, for tables of data.

        Lengths are in mm, amounts are floats, money is decimal or None.
        """
        return [self._record_of(sign) for sign in self.signs]

    def _record_of(self, sign: SignEstimate) -> dict[str, Any]:
        width, height = sign.size
        return {
            "sign": sign.id,
            "type": sign.type or None,
            "row": sign.row,
            "load": sign.load,
            "sheet": sign.sheet,
            "stock_sheet": sign.stock_sheet or None,
            "width_mm": width,
            "height_mm": height,
            "setup_minutes": _float_of(sign.takes.setup_minutes),
            "handling_minutes": _float_of(sign.takes.handling_minutes),
            "pause_minutes": _float_of(sign.takes.pause_minutes),
            "printing_minutes": _float_of(sign.takes.printing_minutes),
            "ink_ml": _float_of(sign.takes.ink_ml),
            "so_far": sign.takes.so_far,
            "price": sign.takes.price,
            "currency": self.currency,
        }

    def to_dict(self) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON. Money and amounts are text."""
        return {
            "signrules_work_order_estimate": FORMAT,
            "name": self.name,
            "ok": self.ok,
            "verdict": self.verdict,
            "complete": self.complete,
            "currency": self.currency,
            "sign_count": self.sign_count,
            "lines": [line.to_dict() for line in self.lines],
            "stock": [use.to_dict() for use in self.stock],
            "unpriced": [cause.to_dict() for cause in self.unpriced],
            "rows": [row.to_dict() for row in self.rows],
            "loads": [load.to_dict() for load in self.loads],
            "signs": [sign.to_dict() for sign in self.signs],
            "setup_minutes": amount_text(self.takes.setup_minutes),
            "handling_minutes": amount_text(self.takes.handling_minutes),
            "pause_minutes": amount_text(self.takes.pause_minutes),
            "printing_minutes": amount_text(self.takes.printing_minutes),
            "ink_ml": amount_text(self.takes.ink_ml),
            "so_far": amount_text(self.so_far),
            "markup": amount_text(self.markup),
            "raised_to_minimum": amount_text(self.raised),
            "price_lines": [line.to_dict() for line in self.added],
            "total": amount_text(self.total),
            "faults": [fault_to_dict(fault) for fault in self.faults],
            "accepted": [
                fault_to_dict(fault) | {"reason": reason} for fault, reason in self.accepted
            ],
            "shop": self.shop.to_dict(),
        }


def _float_of(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
