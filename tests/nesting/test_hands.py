"""Work done by other processes, or a cluster: in its order, the same as here, and done all the same when a worker dies."""

from __future__ import annotations

import os
import signal
from dataclasses import replace
from pathlib import Path

import pytest

from nesting import Case, Panel, Placement, Sheet, solve
from nesting.hands import Hands, NoCluster, many_hands

from .shapes import GORE


def double(number: int) -> int:
    return 2 * number


def fail(number: int) -> int:
    raise LookupError(f"no {number}")


def die_once(mark: str, number: int) -> int:
    """The first time it kills the process that it runs in; the second time it does its work."""
    if not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return 2 * number


def laid(seed: int) -> tuple[Placement, ...]:
    sheet = Sheet("s", ((0.0, 0.0), (420.0, 10.0), (400.0, 260.0), (0.0, 250.0)))
    return solve(Case((Panel("gore", GORE, 9),), (sheet,), gap=2.0, edge=3.0), rounds=3, seed=seed).placements


def test_alone_the_work_is_done_here() -> None:
    with many_hands(1) as mine:
        assert mine.map(double, [(n,) for n in range(5)]) == [0, 2, 4, 6, 8]
        assert (mine.count, mine.lost) == (1, 0)


@pytest.mark.slow
def test_processes_give_in_order_what_is_given_here_and_a_dead_one_takes_nothing_with_it(tmp_path: Path) -> None:
    """One pool for all: starting processes takes long."""
    with many_hands(2) as two:
        assert two.map(double, [(n,) for n in range(3)]) == [0, 2, 4]  # too little to start processes for
        assert two.map(os.getpid, [()] * 3) == [os.getpid()] * 3
        assert os.getpid() not in two.map(os.getpid, [()] * 8)
        assert two.map(double, [(n,) for n in range(9)]) == [double(n) for n in range(9)]
        assert two.map(laid, [(1,), (2,)]) == [laid(1), laid(2)]
        with pytest.raises(LookupError, match="no 3"):
            two.map(fail, [(3,)])
        assert two.lost == 0
        mark = str(tmp_path / "died")
        assert two.map(die_once, [(mark, n) for n in range(4)]) == [0, 2, 4, 6]
        assert two.lost
        assert two.map(double, [(4,)]) == [8]  # and so on, here


def test_a_pool_that_takes_no_more_work_is_done_without() -> None:
    from concurrent.futures import ThreadPoolExecutor

    pool = ThreadPoolExecutor(1)
    pool.shutdown()
    one = Hands(pool, 1)
    assert (one.map(double, [(2,)]), one.lost) == ([4], 1)


def test_no_cluster_there() -> None:
    with pytest.raises(NoCluster, match="no cluster answers at nowhere"), many_hands(cluster="nowhere"):
        pass


@pytest.mark.slow
def test_a_worker_killed_in_the_middle_of_a_search_leaves_a_good_lay() -> None:
    """After the first rounds one of the two processes is killed: the search goes on here, and the lay is the same as if
    not."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    from nesting import examine

    case = Case(
        (Panel("gore", GORE, 40),),
        tuple(Sheet(str(n), ((0.0, 0.0), (420.0, 10.0), (400.0, 260.0), (0.0, 250.0))) for n in range(3)),
        gap=2.0,
        edge=3.0,
    )
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        two = Hands(pool, 2)
        asked = 0

        def kill_once() -> bool:
            nonlocal asked
            asked += 1
            if asked == 3:
                os.kill(next(iter(pool._processes)), signal.SIGKILL)
            return False

        found = solve(case, rounds=6, workers=2, hands=two, stop=kill_once)
    assert two.lost
    assert not examine(case, found).faults
    assert found.placements == solve(case, rounds=6, workers=2).placements


@pytest.mark.slow
def test_a_real_cluster_gives_the_same_and_outlives_its_workers(tmp_path: Path) -> None:
    import distributed

    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        many_hands(cluster=cluster.scheduler_address) as far,
    ):
        assert far.count == 2
        sheet = Sheet("s", ((0.0, 0.0), (420.0, 10.0), (400.0, 260.0), (0.0, 250.0)))
        case = Case((Panel("gore", GORE, 14),), (sheet, replace(sheet, id="t")), gap=2.0, edge=3.0)
        assert solve(case, rounds=5, workers=2, hands=far).placements == solve(case, rounds=5, workers=2).placements
        assert far.map(laid, [(1,), (2,), (3,)]) == [laid(1), laid(2), laid(3)]
        assert far.map(die_once, [(str(tmp_path / "died"), n) for n in range(4)]) == [0, 2, 4, 6]
        cluster.close()
        assert far.map(double, [(n,) for n in range(3)]) == [0, 2, 4]
        assert far.lost
