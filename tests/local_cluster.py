"""Workers of dask.distributed on this machine, for tests and benchmarks."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def local_client(workers: int = 2, *, processes: bool = True) -> Iterator[Any]:
    """A client of so many workers of one thread each: processes, or threads of this one. There is
    no page, and only this machine is listened to.
    """
    import distributed

    with (
        distributed.LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=processes,
            dashboard_address=None,
            host="127.0.0.1" if processes else None,
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client
