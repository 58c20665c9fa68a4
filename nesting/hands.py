"""Many hands: whole pieces of work done side by side, on this machine's cores or on a cluster, and merged in the order given.

Whatever does the work is a `concurrent.futures.Executor`: by default processes that are started anew (*spawn*), one for each
core; with a scheduler's address the workers of a Dask cluster (the extra `fent[cluster]`). A function that is handed out,
and all that it is given and gives back, can be pickled. Which hands did the work shows in nothing: the same rounds give the
same lay.

A worker that dies takes no work with it: what it had is done here, and so is all that follows. A cluster that has no worker
left, or does not answer for `PATIENCE`, is taken for dead.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures import TimeoutError as TookTooLong
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any, TypeVar

from .warming import make_ready

T = TypeVar("T")

PATIENCE = 30.0
"""Seconds beyond what a piece of work should take, after which it is taken for lost."""
LOOK_EVERY = 1.0
"""Seconds between two looks at whether a cluster has workers left."""
WORTH_STARTING = 8
"""Pieces of work from which on other processes are worth starting, which takes a second or two."""
CLUSTER_MISSING = "the library for clusters is not installed: install Fent as fent[cluster]"


class NoCluster(ConnectionError):  # noqa: N818 - a sentence for a person, as in the stash
    """The cluster at the address does not answer, or the library for it is not there."""


class Hands:
    """An executor, and what to do when it fails. `count`: how many work at once. `start`: starts one when there is work enough
    to be worth it; less is done here, by threads (the kernels let others run beside them)."""

    def __init__(
        self,
        executor: Executor | None,
        count: int,
        alive: Callable[[], bool] | None = None,
        start: Callable[[], Executor] | None = None,
    ) -> None:
        self._executor, self.count, self._alive, self._start = executor, count, alive, start
        self.lost = 0
        """Pieces of work that had to be done here, since the worker that had them died."""

    def map(self, function: Callable[..., T], items: Iterable[Sequence[Any]], seconds: float = 0.0) -> list[T]:
        """`function(*item)` for each item, in their order. `seconds`: what one may take at most."""
        work = [tuple(item) for item in items]
        if self._executor is None and self._start is not None:
            if len(work) < WORTH_STARTING:
                with ThreadPoolExecutor(self.count) as threads:
                    return list(threads.map(lambda item: function(*item), work))
            self._executor, self._start = self._start(), None
        futures = [self._submit(function, item) for item in work]
        rounds = -(-len(work) // max(1, self.count))
        return [
            self._result(future, function, item, PATIENCE + rounds * seconds)
            for future, item in zip(futures, work, strict=True)
        ]

    def _submit(self, function: Callable[..., T], item: tuple[Any, ...]) -> Future[T] | None:
        if self._executor is None:
            return None
        try:
            return self._executor.submit(function, *item)
        except (BrokenExecutor, RuntimeError):  # a pool that broke, or was shut down, takes no more
            self._executor = None
            self.lost += 1
            return None

    def _result(self, future: Future[T] | None, function: Callable[..., T], item: tuple[Any, ...], patience: float) -> T:
        if future is not None:
            try:
                return self._wait(future, patience)
            except (BrokenExecutor, CancelledError, TookTooLong, ConnectionError):
                self._executor = None
                self.lost += 1
            except Exception as fault:
                if type(fault).__name__ not in ("KilledWorker", "CommClosedError", "FutureCancelledError"):
                    raise
                self._executor = None
                self.lost += 1
        return function(*item)

    def _wait(self, future: Future[T], patience: float) -> T:
        if self._alive is None:
            return future.result(timeout=patience)
        waited = 0.0
        while True:
            try:
                return future.result(timeout=LOOK_EVERY)
            except TookTooLong:
                waited += LOOK_EVERY
                if waited >= patience or not self._alive():
                    future.cancel()
                    raise


@contextmanager
def many_hands(count: int | None = None, cluster: str | None = None) -> Iterator[Hands]:
    """Hands to work with: `count` processes (one for each core unless given; none are started for 1), or the workers of the
    Dask cluster whose scheduler is at the address `cluster`. Raises NoCluster.

    >>> with many_hands(2) as two:
    ...     two.map(pow, [(2, 3), (5, 2)])
    [8, 25]
    """
    if cluster:
        with _of_cluster(cluster) as found:
            yield found
        return
    count = count or os.cpu_count() or 1
    if count == 1:
        yield Hands(None, 1)
        return
    started: list[ProcessPoolExecutor] = []

    def start() -> Executor:
        started.append(ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=make_ready))
        return started[0]

    try:
        yield Hands(None, count, start=start)
    finally:
        for pool in started:
            pool.shutdown(wait=False, cancel_futures=True)


@contextmanager
def _of_cluster(address: str) -> Iterator[Hands]:
    try:
        import distributed
    except ImportError:
        raise NoCluster(CLUSTER_MISSING) from None
    try:
        connect: Any = distributed.Client
        client = connect(address, timeout=PATIENCE / 3)
    except (OSError, TimeoutError, ValueError) as fault:
        raise NoCluster(f"no cluster answers at {address} ({fault})") from None
    try:
        workers = len(client.scheduler_info(n_workers=-1)["workers"])
        if not workers:
            raise NoCluster(f"the cluster at {address} has no worker")

        def alive() -> bool:
            return client.status == "running" and bool(client.scheduler_info(n_workers=-1)["workers"])

        yield Hands(client.get_executor(pure=False), workers, alive)
    finally:
        client.close(timeout=LOOK_EVERY)
