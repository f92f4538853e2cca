"""Pricing a work order, or a folder of jobs: every line once, and shared by those who bear it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal, localcontext

from attrs import evolve, frozen

from signrules.documents.money import WIDE
from signrules.errors import NotEvaluated, SignrulesError
from signrules.estimating.amounts import SHEETS, amounts_of_job
from signrules.estimating.billed_signs import (
    BilledSign,
    signs_of_job,
    signs_of_order,
    weights_of_line,
)
from signrules.estimating.charges import (
    AMOUNTS,
    Charge,
    amounts_borne,
    grouped_causes,
    merged_lines,
    prices_borne,
    sum_if_known,
    sum_of_takes,
    unpriced_causes,
)
from signrules.estimating.job_estimate import estimate
from signrules.estimating.order_estimate import (
    LoadEstimate,
    RowEstimate,
    SignEstimate,
    StockUse,
    Takes,
    WorkOrderEstimate,
)
from signrules.estimating.plugin_lines import NO_LINES, PluginLines, lines_of_plugins
from signrules.estimating.pricing import (
    EstimateLine,
    Totals,
    asked_for,
    fixed_lines,
    money_amount,
    priced_line,
    totals_of,
)
from signrules.estimating.rates import Rates
from signrules.estimating.stock_use import stock_charges, stock_of_jobs, stock_of_order
from signrules.evaluation import Evaluation
from signrules.evaluation.order_verdict import Outcomes, order_verdict
from signrules.given_values import demand_bounds, demand_given
from signrules.model.work_order import WorkOrder
from signrules.plugins import Plugins
from signrules.rules.engine import Fault
from signrules.shop import Shop

NOT_JUDGED = "the job was not judged"
NOTHING_MADE = "the work order has no loads, so nothing is made"
_LOST = NotEvaluated(NOT_JUDGED)


@frozen
class _Bill:
    """Charges that are added up as one, who bears them by number, and what plugins add."""

    numbers: tuple[int, ...]
    charges: tuple[Charge, ...]
    totals: Totals
    own: Mapping[int, Decimal]
    further: PluginLines = NO_LINES


def estimate_work_order(
    order: WorkOrder,
    outcomes: Outcomes,
    rates: Rates | None = None,
    *,
    kept_gaps: Collection[str] = (),
    plugins: Plugins | None = None,
    seconds: float | None = None,
) -> WorkOrderEstimate:
    """What a work order takes and, with a rate table, what it costs.

    `outcomes` are, by the id of each load, the evaluation of its job or the error that says why
    there is none. Of the loads in `kept_gaps` the head stands already where the plan sets it first.
    `plugins` add their lines where all else has a price; `seconds` is the most time
    for each. Fixed lines, markup and minimum count once for the order; one without loads makes
    nothing and has no price.
    """
    _demand_priceable("estimate_work_order", outcomes, rates, plugins, seconds)
    outcomes = {load.id: outcomes.get(load.id, _LOST) for load in order.loads}
    # As for a job: exact, whatever the caller's own precision.
    with localcontext(WIDE):
        signs = signs_of_order(order)
        stock = stock_of_order(order, outcomes)
        charges = [*_charges_of_loads(outcomes, signs, rates, kept_gaps)]
        charges += stock_charges(order, outcomes, signs, rates)
        causes = [*_lost_loads(outcomes), *unpriced_causes(charges)]
        if not order.loads:
            causes.append((NOTHING_MADE, ""))
        fixed = fixed_lines(rates) if rates is not None and order.loads else ()
        bill = _whole_bill(charges, range(len(signs)), fixed, rates, lacking=bool(causes))
        files = {load.id: load.file for load in order.loads}
        made = _assembled(order.name, files, outcomes, signs, stock, [bill], causes, rates)
        if rates is None or plugins is None or made.total is None:
            return made
        further = lines_of_plugins(made, rates, plugins, made.shop, seconds)
        lines = [charge.line for charge in bill.charges]
        totals = totals_of(lines, rates, further.added, lacking=bool(further.faults))
        bill = evolve(bill, totals=totals, further=further)
        return _assembled(order.name, files, outcomes, signs, stock, [bill], causes, rates)


def estimate_jobs(
    name: str,
    outcomes: Outcomes,
    rates: Rates | None = None,
    *,
    plugins: Plugins | None = None,
    seconds: float | None = None,
) -> WorkOrderEstimate:
    """What jobs that belong to no work order take and cost together: the sum of their estimates.

    `outcomes` are the evaluations, or errors, by the names of their files. Each job has its own
    sheets, fixed lines, markup and minimum.
    """
    _demand_priceable("estimate_jobs", outcomes, rates, plugins, seconds)
    with localcontext(WIDE):
        signs: list[BilledSign] = []
        bills, causes = [], [*_lost_loads(outcomes)]
        for load, outcome in outcomes.items():
            own = _signs_of_outcome(load, outcome)
            numbered = dict(enumerate(own, start=len(signs)))
            signs += own
            if isinstance(outcome, Evaluation) and outcome.plan is not None:
                bills.append(_bill_of_job(load, outcome, numbered, rates, plugins, seconds))
        for bill in bills:
            causes += unpriced_causes(bill.charges)
        stock = stock_of_jobs(outcomes)
        files = {load: load for load in outcomes}
        return _assembled(name, files, outcomes, signs, stock, bills, causes, rates)


def _demand_priceable(
    function: str, outcomes: Outcomes, rates: object, plugins: object, seconds: object
) -> None:
    """Raises TypeError or ValueError for what is no evaluations, rate table, plugins or time."""
    demand_given(function, (outcomes, Mapping), (rates, Rates | None), (plugins, Plugins | None))
    for outcome in outcomes.values():
        demand_given(function, (outcome, Evaluation | SignrulesError))
    demand_bounds(seconds=seconds)


def _signs_of_outcome(load: str, outcome: Evaluation | SignrulesError) -> tuple[BilledSign, ...]:
    if isinstance(outcome, Evaluation):
        return signs_of_job(load, outcome.job)
    return (BilledSign(load),)


def _bill_of_job(
    load: str,
    result: Evaluation,
    signs: Mapping[int, BilledSign],
    rates: Rates | None,
    plugins: Plugins | None,
    seconds: float | None,
) -> _Bill:
    found = estimate(result, rates, plugins=plugins, seconds=seconds)
    charges = [Charge(line, load, _numbered_weights(line, result, signs)) for line in found.lines]
    totals = Totals(found.so_far, found.markup, found.raised, found.total)
    # Those of the job itself are told once for all jobs.
    accepted = found.accepted[len(result.accepted) :]
    further = PluginLines(found.added, found.faults, accepted)
    own = prices_borne(charges, _money_step(rates))
    return _Bill(tuple(signs), tuple(charges), totals, own, further)


def _charges_of_loads(
    outcomes: Outcomes,
    signs: Sequence[BilledSign],
    rates: Rates | None,
    kept_gaps: Collection[str],
) -> Iterator[Charge]:
    """The lines of all jobs but sheets and fixed lines, which belong to the order."""
    by_load: dict[str, dict[int, BilledSign]] = {}
    for number, sign in enumerate(signs):
        by_load.setdefault(sign.load, {})[number] = sign
    for load, outcome in outcomes.items():
        if not isinstance(outcome, Evaluation) or outcome.plan is None:
            continue
        for line in _lines_of_load(outcome, rates, load in kept_gaps):
            yield Charge(line, load, _numbered_weights(line, outcome, by_load.get(load, {})))


def _lines_of_load(
    result: Evaluation, rates: Rates | None, gap_is_kept: bool
) -> Iterator[EstimateLine]:
    pause_minutes = None if rates is None else rates.pause_minutes
    for amount in amounts_of_job(result, pause_minutes, gap_is_kept=gap_is_kept):
        if amount.kind != SHEETS:
            yield priced_line(amount, result.job, rates)
    if rates is not None:
        yield from asked_for(result, rates, gap_is_kept=gap_is_kept)


def _numbered_weights(
    line: EstimateLine, result: Evaluation, signs: Mapping[int, BilledSign]
) -> dict[int, float]:
    weights = weights_of_line(line, result, list(signs.values()))
    return dict(zip(signs, weights, strict=True))


def _lost_loads(outcomes: Outcomes) -> Iterator[tuple[str, str]]:
    """The loads of which nothing can be estimated, and why."""
    for load, outcome in outcomes.items():
        if not isinstance(outcome, Evaluation):
            yield NOT_JUDGED, load
        elif outcome.plan is None:
            yield f"no plan: {outcome.verdict}", load


def _whole_bill(
    charges: list[Charge],
    numbers: Iterable[int],
    fixed: Iterable[EstimateLine],
    rates: Rates | None,
    *,
    lacking: bool,
) -> _Bill:
    """All charges of an order and its fixed lines, which are shared by what all else costs."""
    who = tuple(numbers)
    own = prices_borne(charges, _money_step(rates))
    weights = {number: own.get(number, Decimal(0)) for number in who}
    # By what all else costs, so that a plate that costs twice as much bears twice the share.
    charges += (Charge(line, "", weights) for line in fixed)
    totals = totals_of([charge.line for charge in charges], rates, lacking=lacking)
    return _Bill(who, tuple(charges), totals, own)


def _takes_by_number(bills: Iterable[_Bill], rates: Rates | None) -> dict[int, Takes]:
    """What each sign takes; markup, minimum and lines of plugins are shared by its own lines."""
    found: dict[int, Takes] = {}
    for bill in bills:
        amounts = amounts_borne(bill.charges, bill.numbers)
        so_far = prices_borne(bill.charges, _money_step(rates))
        prices = _total_borne(bill, so_far, rates)
        nothing = None if rates is None else money_amount(Decimal(0), rates)
        for number in bill.numbers:
            found[number] = Takes(
                **{kind: amounts[kind][number] for kind in AMOUNTS},
                so_far=so_far.get(number, nothing),
                price=prices.get(number),
            )
    return found


def _total_borne(
    bill: _Bill, so_far: Mapping[int, Decimal], rates: Rates | None
) -> dict[int, Decimal]:
    """What each bears of a total; empty where there is none."""
    totals = bill.totals
    if rates is None or totals.total is None or not bill.numbers:
        return {}
    assert totals.markup is not None
    assert totals.raised is not None
    # A sign of which discounts exceed the price bears nothing of what comes on top.
    weights = {number: max(bill.own.get(number, Decimal(0)), Decimal(0)) for number in bill.numbers}
    on_top = [totals.markup, *(line.price for line in bill.further.added), totals.raised]
    borne = {number: so_far.get(number, money_amount(Decimal(0), rates)) for number in bill.numbers}
    for whole in on_top:
        charge = Charge(_NO_LINE, "", weights)
        for number, share in charge.shares(whole, _money_step(rates)):
            borne[number] += share
    return borne


_NO_LINE = EstimateLine("", "", "", None, Decimal(0), None, None, None, "")


def _money_step(rates: Rates | None) -> Decimal:
    return Decimal(1).scaleb(0 if rates is None else -rates.decimals)


def _assembled(
    name: str,
    files: Mapping[str, str],
    outcomes: Outcomes,
    signs: Sequence[BilledSign],
    stock: tuple[StockUse, ...],
    bills: Sequence[_Bill],
    causes: Iterable[tuple[str, str]],
    rates: Rates | None,
) -> WorkOrderEstimate:
    takes = _takes_by_number(bills, rates)
    zero = None if rates is None else money_amount(Decimal(0), rates)
    lost = {load for _, load in _lost_loads(outcomes)}
    nothing = Takes(**dict.fromkeys(AMOUNTS), so_far=zero, price=None)
    every = [takes.get(number, nothing) for number in range(len(signs))]
    for number, sign in enumerate(signs):
        if sign.load in lost:
            # Its sheet from stock is known and priced though its job is not.
            every[number] = evolve(nothing, so_far=every[number].so_far)
    judged = [outcome for outcome in outcomes.values() if isinstance(outcome, Evaluation)]
    charges = [charge for bill in bills for charge in bill.charges]
    rows = _rows_of(signs, every, rates)
    totals = [bill.totals for bill in bills]
    further = [bill.further for bill in bills]
    return WorkOrderEstimate(
        name,
        len(judged) == len(outcomes) and all(result.ok for result in judged),
        order_verdict(outcomes),
        merged_lines(charge.line for charge in charges),
        stock,
        rows,
        tuple(_load_estimates(files, outcomes, signs, every, charges)),
        tuple(_sign_estimates(signs, every)),
        grouped_causes(causes),
        sum_of_takes(every) if every else _takes_of_none(totals),
        None if rates is None else rates.currency,
        sum_if_known([each.markup for each in totals]),
        sum_if_known([each.raised for each in totals]),
        tuple(line for each in further for line in each.added),
        tuple(fault for each in further for fault in each.faults),
        (*_accepted_once(judged), *(pair for each in further for pair in each.accepted)),
        judged[0].shop if judged else Shop(),
    )


def _takes_of_none(totals: Sequence[Totals]) -> Takes:
    """What an order without any load takes: nothing, and its fixed lines."""
    so_far = sum_if_known([each.so_far for each in totals])
    total = sum_if_known([each.total for each in totals])
    return Takes(**dict.fromkeys(AMOUNTS, Decimal(0)), so_far=so_far, price=total)


def _accepted_once(judged: Iterable[Evaluation]) -> tuple[tuple[Fault, str], ...]:
    """Failures that the shop accepts, those of every load once."""
    return tuple(dict.fromkeys(pair for result in judged for pair in result.accepted))


def _sign_estimates(signs: Sequence[BilledSign], takes: Sequence[Takes]) -> Iterator[SignEstimate]:
    for sign, own in zip(signs, takes, strict=True):
        if sign.id is not None:
            size = (sign.area.width, sign.area.height)
            yield SignEstimate(
                sign.id,
                sign.load,
                sign.sheet or "",
                sign.type,
                sign.row,
                sign.stock_sheet,
                size,
                own,
            )


def _rows_of(
    signs: Sequence[BilledSign], takes: Sequence[Takes], rates: Rates | None
) -> tuple[RowEstimate, ...]:
    """The rows of the schedule in its order."""
    groups: dict[tuple[int, str], list[int]] = {}
    for number, sign in enumerate(signs):
        if sign.row is not None:
            groups.setdefault((sign.row, sign.type), []).append(number)
    rows = []
    for (row, type), group in sorted(groups.items()):
        ids = [signs[number].id or "" for number in group]
        rows.append(_row_of(row, type, ids, sum_of_takes(takes[number] for number in group), rates))
    return tuple(rows)


def _row_of(
    row: int, type: str, signs: Sequence[str], takes: Takes, rates: Rates | None
) -> RowEstimate:
    each = None
    if rates is not None and takes.price is not None:
        each = money_amount(takes.price / len(signs), rates)
    return RowEstimate(row, type, tuple(signs), each, takes)


def _load_estimates(
    files: Mapping[str, str],
    outcomes: Outcomes,
    signs: Sequence[BilledSign],
    takes: Sequence[Takes],
    charges: Sequence[Charge],
) -> Iterator[LoadEstimate]:
    for load, file in files.items():
        outcome = outcomes.get(load)
        numbers = [number for number, sign in enumerate(signs) if sign.load == load]
        ok, verdict = False, NOT_JUDGED
        if isinstance(outcome, Evaluation):
            ok, verdict = outcome.ok, outcome.verdict
        yield LoadEstimate(
            load,
            file,
            ok,
            verdict,
            sum(signs[number].id is not None for number in numbers),
            tuple(charge.line for charge in charges if charge.load == load),
            sum_of_takes(takes[number] for number in numbers),
        )
