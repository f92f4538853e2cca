"""Documents of any size that someone may send, sound ones and others, all made from the sample with
invented values.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

from documents.samples import SMALL
from work import Name

Document = dict[str, Any]


def small(**changes: Any) -> Document:
    """The sample without what refers to its passes."""
    found = copy.deepcopy({**SMALL, "signs": [], "handling": [], "waivers": [], **changes})
    if "passes" not in changes:
        del found["passes"][2]["builds"]
    return found


def passes(count: int, each: Callable[[int], Document], **changes: Any) -> Document:
    """A document with so many passes, each with keys of its own."""
    rows = [{"id": Name(f"p{at}"), "ink": "clear", **each(at)} for at in range(count)]
    return small(passes=rows, **changes)


def after_the_one_before(at: int) -> Document:
    return {"after": [Name(f"p{at - 1}")] if at else []}


def after_the_ten_before(at: int) -> Document:
    return {"after": [Name(f"p{before}") for before in range(max(0, at - 10), at)]}


def sheet(at: int, place: tuple[int, int]) -> Document:
    return {
        "id": Name(f"m{at}"),
        "thickness": 3,
        "size": [1, 1],
        "at": [2 * place[0], 2 * place[1]],
    }


def sheets(count: int, place: Callable[[int], tuple[int, int]]) -> Document:
    """A bed of so many sheets, and a pass for each."""
    found = passes(
        count,
        lambda at: {"media": Name(f"m{at}")},
        media=[sheet(at, place(at)) for at in range(count)],
    )
    found["printer"]["bed"] = [1_000_000, 1_000_000]
    return found


def printer(**changes: Any) -> Document:
    found = small()
    found["passes"] = found["passes"][:1]
    found["printer"] |= changes
    return found


def after_all_others(count: int) -> Document:
    names = [Name(f"p{at}") for at in range(count - 1)]
    return passes(count, lambda at: {"after": names} if at == count - 1 else {})


SOUND: dict[str, Callable[[int], Document]] = {
    "passes": lambda count: passes(count, lambda at: {"layers": 1 + at % 9}),
    "chain": lambda count: passes(count, after_the_one_before),
    "ten after": lambda count: passes(count, after_the_ten_before),
    "all after": after_all_others,
    "over": lambda count: passes(count, lambda at: {"over": [Name(f"p{at - 1}")] if at else []}),
    "sequence": lambda count: passes(
        count, lambda at: {}, sequence=[Name(f"p{at}") for at in range(count)]
    ),
    "areas": lambda count: passes(
        1, lambda _: {"areas": [[at % 90, 1, 2, 3] for at in range(count)]}
    ),
    "inks": lambda count: small(
        inks=[{"id": Name(f"i{at}"), "layer": "30 um +- 2 um"} for at in range(count)],
        passes=[{"id": "p", "ink": Name("i0")}],
    ),
    "sheets in rows": lambda count: sheets(count, lambda at: (at % 50, at // 50)),
    "sheets in a column": lambda count: sheets(count, lambda at: (0, count - at)),
    "loads": lambda count: passes(
        1,
        lambda _: {"media": Name("m0")},
        media=[{**sheet(at, (0, 0)), "load": Name(f"l{at}")} for at in range(count)],
    ),
    "handling": lambda count: passes(
        1, lambda _: {}, handling=[{"id": Name(f"h{at}"), "does": "pause"} for at in range(count)]
    ),
    "signs": lambda count: passes(
        count,
        lambda at: {"builds": f"s{at}.braille"},
        signs=[
            {"id": Name(f"s{at}"), "text": ["A"], "braille": {"dot_diameter": "1.5 mm"}}
            for at in range(count)
        ],
    ),
    "waivers": lambda count: passes(
        1,
        lambda _: {},
        waivers=[{"rule": "a.b", "subject": "job", "reason": "r", "by": "b"}] * count,
    ),
    "alignments": lambda count: passes(
        1, lambda _: {}, alignments=[{"extra": at / count} for at in range(count)]
    ),
    "spacers": lambda count: printer(
        gap={"control": "spacers", "spacers": [at / 1000 for at in range(count)]}
    ),
    "dial": lambda count: printer(gap={"control": "dial", "max": count / 1000, "step": "1 um"}),
    "locating": lambda count: printer(locating={f"way {at}": 0.1 for at in range(count)}),
    "texts": lambda count: small(passes=[{"id": "p", "ink": "clear"}], standards=["x"] * count),
}
"""Documents that grow with a number and are in order, by what there is much of."""


def ring(count: int) -> Document:
    found = passes(count, after_the_one_before)
    found["passes"][0]["after"] = [Name(f"p{count - 1}")]
    return found


def chain_between_rings(count: int) -> Document:
    """Two rings at the end of the list, and between them a chain that lies on neither."""
    found = passes(count, lambda at: {"after": [Name(f"p{at - 1}") if at else Name("a2")]})
    ends = {"a1": ["a2"], "a2": ["a1"], "z1": ["z2"], "z2": ["z1", f"p{count - 1}"]}
    found["passes"] += [
        {"id": Name(name), "ink": "clear", "after": [Name(other) for other in others]}
        for name, others in ends.items()
    ]
    return found


def piled(count: int) -> Document:
    return sheets(count, lambda at: (0, 0))


def in_turn(at: int) -> Document:
    """Something else that is wrong, in every pass."""
    wrong: list[Document] = [
        {"layers": -at},
        {"coverage": -at},
        {"gap": {"extra": f"-{at} mm"}},
        {"gap": {"extra": 1, "from": f"floor {at}"}},
        {"areas": [[at, 0, -1, 0]]},
        {"areas": [[0, 0, at + 500, 1]]},
        {"side": f"side {at}"},
        {"over": [Name(f"z{at}")]},
        {"builds": f"door {at}.braille"},
        {f"key {at}": at},
        {"directions": at + 5},
        {"sheet_temperature": f"{at} C"},
    ]
    return wrong[at % len(wrong)]


def with_ids(table: str, count: int, row: Document, at: Callable[[int], str]) -> Document:
    found = small()
    found[table] = [{**row, "id": at(number)} for number in range(count)]
    return found


ROWS: dict[str, Document] = {
    "passes": {"ink": "clear"},
    "inks": {"layer": "30 um"},
    "media": {"thickness": 3, "size": [1, 1]},
    "signs": {"text": ["A"]},
    "handling": {"does": "pause"},
}
"""A row of each list whose elements have an id, without it."""


def unknown_keys(count: int) -> Document:
    return small() | {f"key {at}": 1 for at in range(count)}


FAULTY: dict[str, Callable[[int], Document]] = {
    **{
        f"{table} with one id": lambda count, table=table, row=row: with_ids(
            table, count, row, lambda at: "same"
        )
        for table, row in ROWS.items()
    },
    "ids in pairs": lambda count: with_ids(
        "passes", count, ROWS["passes"], lambda at: f"p{at // 2}"
    ),
    "faults in turn": lambda count: passes(count, in_turn),
    "unknown inks": lambda count: passes(count, lambda at: {"ink": Name(f"ink {at}")}),
    "unknown after": lambda count: passes(
        1, lambda _: {"after": [Name(f"q{at}") for at in range(count)]}
    ),
    "the same unknown key": lambda count: passes(count, lambda at: {"layrs": 3}),
    "other unknown keys": lambda count: passes(count, lambda at: {f"key {at}": 3}),
    "unknown keys of the document": unknown_keys,
    "unknown keys of one pass": lambda count: passes(
        1, lambda _: {f"key {at}": 3 for at in range(count)}
    ),
    "no tables": lambda count: small(passes=[1] * count),
    "bad areas": lambda count: passes(
        1, lambda _: {"areas": [[at, 1, -1, 1] for at in range(count)]}
    ),
    "areas off the sheet": lambda count: passes(
        1, lambda _: {"areas": [[at + 200, 1, 1, 1] for at in range(count)]}
    ),
    "bad waivers": lambda count: small(
        waivers=[{"rule": "a.b", "subject": "job", "reason": " ", "by": ""}] * count
    ),
    "bad alignments": lambda count: small(alignments=[{"extra": "nan mm"}] * count),
    "bad spacers": lambda count: printer(gap={"control": "spacers", "spacers": [-1] * count}),
    "bad locating": lambda count: printer(locating={f"way {at}": -1 for at in range(count)}),
    "which sheet": lambda count: passes(
        count, lambda at: {}, media=[sheet(at, (at, 0)) for at in range(100)]
    ),
    "sheets off the bed": lambda count: small(
        media=[sheet(at, (5000 + at, 0)) for at in range(count)]
    ),
    "piled sheets": piled,
    "ring": ring,
    "chain between rings": chain_between_rings,
    "sequence of one": lambda count: passes(count, lambda at: {}, sequence=[Name("p0")] * count),
    "sequence of others": lambda count: passes(
        count, lambda at: {}, sequence=[Name(f"j{at}") for at in range(count)]
    ),
    "signs of other sheets": lambda count: small(
        media=[sheet(0, (0, 0)), sheet(1, (9, 0))],
        signs=[{"id": Name(f"s{at}"), "media": "m0"} for at in range(count)],
        passes=[
            {"id": Name(f"p{at}"), "ink": "clear", "media": "m1", "builds": f"s{at}.braille"}
            for at in range(count)
        ],
    ),
    "baselines": lambda count: small(
        signs=[
            {
                "id": Name(f"s{at}"),
                "mounting": {"lowest_tactile": 1300 + at, "highest_tactile": 1200},
            }
            for at in range(count)
        ]
    ),
}
"""Documents that grow with a number and are not in order, by what is wrong with them."""
