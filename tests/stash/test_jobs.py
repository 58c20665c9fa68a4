"""Jobs: counts, spares, cloth rules, and what is still needed."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash import Workroom, jobs, patterns
from stash.jobs import ClothRule, Copies, NewJobPiece, still
from stash.refusals import Refused, Taken, Unknown
from stash.tables import JobPieceRow, PieceRow
from stash.words import Fate, Hand

from .scenes import chalked, cuffs, linen, scrap, whole_stash


def test_a_job_is_kept_as_told(workroom: Workroom) -> None:
    linen(workroom)
    rule = ClothRule(
        fibres=("flax", "CO"),
        weight_from=120,
        weight_to=200,
        colours=("Blue",),
        weaves=("Plain",),
        washed=True,
        cloths=("BLUE linen",),
    )
    job = cuffs(workroom, count=16, spares=1, rule=rule)
    assert jobs.get(workroom, "CUFFS") == job
    (piece,) = job.pieces
    assert (piece.count, piece.spares, piece.cut, piece.chalked, piece.missing) == (16, 1, 0, 0, 16)
    assert piece.rule == ClothRule(
        fibres=("cotton", "linen"),
        weight_from=120,
        weight_to=200,
        colours=("blue",),
        weaves=("plain",),
        washed=True,
        cloths=("blue linen",),
    )


def test_a_chalked_lay_counts_towards_its_job(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom, count=4, spares=1)
    chalked(workroom, most=3)
    (piece,) = jobs.get(workroom, "cuffs").pieces
    assert (piece.chalked, piece.missing) == (3, 1)


@pytest.mark.parametrize(
    ("said", "kind", "why"),
    [
        ({"pattern": "coat"}, Unknown, "no pattern 'coat'"),
        ({"piece": "colar"}, Unknown, "no piece of shirt 'colar'"),
        ({"count": 0}, Refused, "count is 0"),
        ({"count": 1.5}, Refused, "count is 1.5"),
        ({"spares": -1}, Refused, "spares is -1"),
        ({"count": 100_000}, Refused, "count is 100000"),
        ({"rule": ClothRule(fibres=("plastic",))}, Refused, "no fibre"),
        ({"rule": ClothRule(weight_from=200, weight_to=100)}, Refused, "from 200 g/m² to 100 g/m²"),
        ({"rule": ClothRule(weight_from=float("nan"))}, Refused, "weight from is nan"),
        ({"rule": ClothRule(cloths=("green linen",))}, Unknown, "no cloth 'green linen'"),
        ({"rule": ClothRule(colours=("",))}, Refused, "no name"),
        ({"piece": "sleeve", "count": 3}, Refused, "3 and 0 spare of a left and right piece"),
        ({"piece": "sleeve", "count": 2, "spares": 1}, Refused, "even numbers"),
    ],
)
def test_bad_jobs_change_nothing(
    workroom: Workroom, stash_file: Path, said: dict[str, object], kind: type[Refused], why: str
) -> None:
    linen(workroom)
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))
    sleeve = patterns.NewPiece(name="sleeve", ring=ring, left_and_right=True)
    patterns.add(workroom, "shirt", [patterns.NewPiece(name="collar", ring=ring), sleeve])
    before = whole_stash(stash_file)
    piece = NewJobPiece(**({"pattern": "shirt", "piece": "collar", "count": 2} | said))  # type: ignore[arg-type]
    with pytest.raises(kind, match=why):
        jobs.add(workroom, "shirts", [piece])
    assert whole_stash(stash_file) == before


def test_names_of_jobs(workroom: Workroom) -> None:
    cuffs(workroom)
    with pytest.raises(Taken):
        jobs.add(workroom, "Cuffs", [NewJobPiece(pattern="shirt", piece="cuff", count=1)])
    with pytest.raises(Refused, match="no pieces"):
        jobs.add(workroom, "other", [])
    with pytest.raises(Unknown):
        jobs.get(workroom, "cufs")
    jobs.add(workroom, "more cuffs", [NewJobPiece(pattern="shirt", piece="cuff", count=1)])
    assert [job.name for job in jobs.every(workroom)] == ["more cuffs", "cuffs"]


@pytest.mark.parametrize(
    ("paired", "made", "needed"),
    [
        (False, {None: 0}, {None: (4, 2)}),
        (False, {None: 3}, {None: (1, 2)}),
        (False, {None: 5}, {None: (0, 1)}),
        (False, {None: 9}, {None: (0, 0)}),
        (True, {}, {Hand.LEFT: (2, 1), Hand.RIGHT: (2, 1)}),
        (True, {Hand.LEFT: 2}, {Hand.LEFT: (0, 1), Hand.RIGHT: (2, 1)}),
        # Four of one hand are no pair: two of the other are still needed.
        (True, {Hand.LEFT: 4}, {Hand.LEFT: (0, 0), Hand.RIGHT: (2, 1)}),
        # Of cloth with two faces alike, each serves the hand that has fewer.
        (True, {Hand.LEFT: 2, None: 2}, {Hand.LEFT: (0, 1), Hand.RIGHT: (0, 1)}),
        (True, {None: 3}, {Hand.LEFT: (0, 1), Hand.RIGHT: (1, 1)}),
    ],
)
def test_what_is_still_needed(paired: bool, made: dict[Hand | None, int], needed: dict[Hand | None, tuple[int, int]]) -> None:
    piece = JobPieceRow(id=1, count=4, spares=2, piece=PieceRow(left_and_right=paired))
    done: jobs.Done = jobs.Counter({(1, Fate.CUT, hand): count for hand, count in made.items()})
    assert still(piece, done) == {hand: Copies(*copies) for hand, copies in needed.items()}
