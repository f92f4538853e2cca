"""Door schedules of several lengths composed, each beside two references of the same run: the
packing of the same rectangles alone, and JSON round trips of the documents that come of it. Each is
composed in a process of its own, which tells its highest memory.

python tests/benchmarks/composing.py [--doors 40 1000 5000 20000] [--workers 2] [--distributed]
"""

from __future__ import annotations

import argparse
import hashlib
import json
import multiprocessing
import os
import platform
import random
import resource
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import rectpack
from attrs import frozen

sys.path.insert(0, str(Path(__file__).parents[1]))

from building import NOTICE, ROOM, plugins, shop_table, type_with
from local_cluster import local_client

from signrules import compose, shop_from_dict, work_order_to_dict
from signrules.composing.composition import Composition

MARGIN_MM, GUTTER_MM = 5, 4
DAY = date(2027, 3, 1)
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


@frozen
class Measured:
    """What one child process found."""

    stock_sheets: int
    loads: int
    seconds: float
    packing_seconds: float
    trips_seconds: float
    megabytes_before: float
    megabytes: float
    document_bytes: int
    fingerprint: str


def megabytes_so_far() -> float:
    """The highest memory of this process."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


@contextmanager
def processes(workers: int) -> Iterator[Executor]:
    """So many worker processes of this machine."""
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=spawned) as executor:
        yield executor


@contextmanager
def engine(workers: int) -> Iterator[Any]:
    """So many workers of dask.distributed, each a process, on this machine."""
    with local_client(workers) as client:
        yield client.get_executor(pure=False)


def in_child(count: int, workers: int, distributed: bool) -> Measured:
    """Compose so many doors: called in a process that has done nothing else."""
    table, loaded = invented_shop(), plugins()
    shop, doors = shop_from_dict(table), invented_doors(count)
    before = megabytes_so_far()
    began = time.perf_counter()
    if workers == 1:
        composition = compose(doors, shop, plugins=loaded, today=DAY)
    else:
        workers_of_kind = engine if distributed else processes
        with workers_of_kind(workers) as executor:
            composition = compose(doors, shop, plugins=loaded, today=DAY, executor=executor)
    took = time.perf_counter() - began
    highest = megabytes_so_far()
    assert len(composition.order.signs) == count, "a sign is missing"
    in_bytes = json.dumps(work_order_to_dict(composition.order)).encode()
    digest, size = hashlib.sha256(in_bytes), len(in_bytes)
    for load in composition.loads:
        document = json.dumps([load.document, load.summary.to_plain()]).encode()
        digest.update(document)
        size += len(document)
    return Measured(
        len(composition.order.stock_sheets),
        len(composition.loads),
        took,
        seconds_of_packing(composition, table),
        seconds_of_round_trips(composition),
        before,
        highest,
        size,
        digest.hexdigest(),
    )


def measured(count: int, workers: int, distributed: bool = False) -> Measured:
    """The same, asked of a new process, so that memory is its own."""
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=spawned) as executor:
        return executor.submit(in_child, count, workers, distributed).result()


def measure(counts: list[int], workers: int, distributed: bool) -> Iterator[str]:
    """The lines of the section."""
    python = f"{platform.python_implementation()} {platform.python_version()}"
    yield f"{os.cpu_count()} cores, {platform.machine()}, {platform.system()}, {python}."
    yield ""
    kind = "workers of distributed" if distributed else "processes"
    yield (
        "| doors | stock sheets | bed loads | compose | : packing alone | : JSON round trips |"
        f" {workers} {kind} | : one | same bytes |"
    )
    yield "|--|--|--|--|--|--|--|--|--|"
    found = []
    for count in counts:
        one, several = measured(count, 1), measured(count, workers, distributed)
        found.append(one)
        yield (
            f"| {count:,} | {one.stock_sheets:,} | {one.loads:,} | {one.seconds:.1f} s |"
            f" {one.seconds / one.packing_seconds:,.0f} | {one.seconds / one.trips_seconds:,.0f} |"
            f" {several.seconds:.1f} s | {several.seconds / one.seconds:.2f} |"
            f" {'yes' if one.fingerprint == several.fingerprint else 'NO'} |"
        )
    yield ""
    yield "| doors | memory before | highest | more for each door | : its bytes as JSON |"
    yield "|--|--|--|--|--|"
    for count, one in zip(counts, found, strict=True):
        more = (one.megabytes - one.megabytes_before) * 1024 * 1024
        yield (
            f"| {count:,} | {one.megabytes_before:,.0f} MB | {one.megabytes:,.0f} MB |"
            f" {more / count / 1000:,.0f} kB | {more / one.document_bytes:,.1f} |"
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--doors", type=int, nargs="+", default=[40, 1000, 5000, 20_000])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument(
        "--distributed", action="store_true", help="workers of dask.distributed, not of the pool"
    )
    options = parser.parse_args()
    for line in measure(options.doors, options.workers, options.distributed):
        print(line, flush=True)


if __name__ == "__main__":
    main()
