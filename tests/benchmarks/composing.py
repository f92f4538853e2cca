"""Door schedules of several lengths composed, each beside two references of the same run: the
packing of the same rectangles alone, and JSON round trips of the documents that come of it.

python tests/benchmarks/composing.py [--doors 40 1000 20000]
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import random
import resource
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import rectpack

sys.path.insert(0, str(Path(__file__).parents[1]))

from building import NOTICE, ROOM, plugins, shop_table, type_with

from signrules import compose, shop_from_dict, work_order_to_dict
from signrules.composing.composition import Composition

MARGIN_MM, GUTTER_MM = 5, 4
TYPES = ("room", "notice", "thick", "thick-notice")
NAMES = ("Store", "Boiler room", "Office", "Kitchen", "Lobby")
FIVE = {"thickness": "5 mm", "size": [600, 450], "hold": "vacuum"}


def invented_shop() -> dict[str, Any]:
    """Four types of signs on sheets of two thicknesses."""
    table: dict[str, Any] = shop_table()
    table["sheets"]["five"] = dict(FIVE)
    table["sign_types"]["thick"] = type_with(ROOM, sheet="five")
    table["sign_types"]["thick-notice"] = type_with(NOTICE, sheet="five")
    table["composition"] = {"margin": f"{MARGIN_MM} mm", "gutter": f"{GUTTER_MM} mm"}
    return table


def invented_doors(count: int) -> str:
    """A schedule of so many doors."""
    chance = random.Random(count)
    rows = (
        f"A.{number},{chance.choice(NAMES)},{chance.choice(TYPES)}\n" for number in range(count)
    )
    return "Room No.,Room name,Sign\n" + "".join(rows)


def seconds_of_packing(composition: Composition, shop: dict[str, Any]) -> float:
    """What the packer alone takes for the same signs on the same sheets, once."""
    order = composition.order
    stocks = {sheet.id: sheet.stock for sheet in order.stock_sheets}
    stock_of_piece = {piece.id: stocks[piece.stock_sheet] for piece in order.pieces}
    sizes: dict[str, list[tuple[float, ...]]] = defaultdict(list)
    for sign in order.signs:
        padded = tuple(round(side + GUTTER_MM) for side in sign.size)
        sizes[stock_of_piece[sign.piece]].append(padded)
    began = time.perf_counter()
    for stock, rectangles in sizes.items():
        packer = rectpack.newPacker()
        width, height = (side - 2 * MARGIN_MM + GUTTER_MM for side in shop["sheets"][stock]["size"])
        packer.add_bin(width, height, count=len(rectangles))
        for one in rectangles:
            packer.add_rect(*one)
        packer.pack()
    return time.perf_counter() - began


def seconds_of_round_trips(composition: Composition) -> float:
    """What a JSON round trip of the work order and of all jobs takes."""
    documents = [work_order_to_dict(composition.order)]
    documents += [load.document for load in composition.loads]
    began = time.perf_counter()
    for document in documents:
        json.loads(json.dumps(document))
    return time.perf_counter() - began


def measure(counts: list[int]) -> Iterator[str]:
    """The lines of the section."""
    shop = invented_shop()
    python = f"{platform.python_implementation()} {platform.python_version()}"
    yield f"{os.cpu_count()} cores, {platform.machine()}, {platform.system()}, {python}."
    yield ""
    yield (
        "| doors | stock sheets | bed loads | compose | : packing alone | : JSON round trips |"
        " highest memory so far |"
    )
    yield "|--|--|--|--|--|--|--|"
    loaded = plugins()
    for count in counts:
        began = time.perf_counter()
        composition = compose(invented_doors(count), shop_from_dict(shop), plugins=loaded)
        took = time.perf_counter() - began
        assert len(composition.order.signs) == count, "a sign is missing"
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        packing = took / seconds_of_packing(composition, shop)
        trips = took / seconds_of_round_trips(composition)
        yield (
            f"| {count:,} | {len(composition.order.stock_sheets):,} |"
            f" {len(composition.loads):,} | {took:.1f} s | {packing:,.0f} | {trips:,.0f} |"
            f" {megabytes:,.0f} MB |"
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--doors", type=int, nargs="+", default=[40, 1000, 20_000])
    for line in measure(parser.parse_args().doors):
        print(line, flush=True)


if __name__ == "__main__":
    main()
