"""Small invented scenes that the stash's tests share, and a plain way to lay panels without the engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from shapely import Polygon

from nesting import Placement, Result, largest_rectangle
from stash import Workroom, asking, cloths, cutting, jobs, lays, outlines, patterns, remnants
from stash.words import EdgeKind


def linen(workroom: Workroom, name: str = "blue linen", **said: Any) -> cloths.Cloth:
    given: dict[str, Any] = {"fibres": {"linen": 100}, "weight": 180.0, "colour": "blue", "weave": "plain"}
    return cloths.add(workroom, cloths.NewCloth(name=name, **(given | said)))


def scrap(
    workroom: Workroom,
    tag: str = "L1",
    cloth: str = "blue linen",
    length: float = 400,
    width: float = 300,
    edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT,
    **said: Any,
) -> remnants.Remnant:
    """A rectangular remnant, unless another `outline` is given."""
    given: dict[str, Any] = {"outline": outlines.rectangle(length, width, edges)}
    return remnants.log(workroom, remnants.NewRemnant(tag=tag, cloth=cloth, **(given | said)), by="MB")


def cuffs(workroom: Workroom, count: int = 4, spares: int = 0, rule: jobs.ClothRule | None = None, **said: Any) -> jobs.Job:
    """A job of one rectangular piece, 100 × 60 mm on the cut line."""
    given: dict[str, Any] = {"name": "cuff", "ring": ((0, 0), (100, 0), (100, 60), (0, 60)), "allowance": 5.0, "drawn": "cut"}
    patterns.add(workroom, "shirt", [patterns.NewPiece(**(given | said))])
    piece = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=count, spares=spares, rule=rule or jobs.ClothRule())
    return jobs.add(workroom, "cuffs", [piece])


def rows(asked: asking.Asked, most: int | Mapping[str, int] | None = None) -> Result:
    """Panels laid row by row in the largest rectangle of each sheet, as a person would without a program; unturned."""
    placements: list[Placement] = []
    edge, gap = asked.case.edge, asked.case.gap
    left = {panel.id: panel.copies for panel in asked.case.panels}
    for sheet in asked.case.sheets:
        cloth = Polygon(sheet.outline, [hole for hole in sheet.holes if len(hole) > 2])
        for spot in [*sheet.flaws]:
            cloth = cloth.difference(Polygon(spot.ring).buffer(edge + 1) if len(spot.ring) > 2 else Polygon())
        free = largest_rectangle(max(getattr(cloth, "geoms", [cloth]), key=lambda part: part.area))
        here = most.get(sheet.id, 0) if isinstance(most, Mapping) else most
        x, y, tallest = free.x + edge, free.y + edge, 0.0
        for panel in asked.case.panels:
            if panel.on is not None and sheet.id not in panel.on:
                continue
            low_x, low_y, high_x, high_y = Polygon(panel.outline).bounds
            while left[panel.id] and (here is None or here > 0):
                if x + high_x - low_x > free.x + free.length - edge:
                    x, y, tallest = free.x + edge, y + tallest + gap, 0.0
                if x + high_x - low_x > free.x + free.length - edge or y + high_y - low_y > free.y + free.width - edge:
                    break
                placements.append(Placement(sheet.id, panel.id, x - low_x, y - low_y))
                x, tallest = x + high_x - low_x + gap, max(tallest, high_y - low_y)
                left[panel.id] -= 1
                here = None if here is None else here - 1
    placed = len(placements)
    return Result(tuple(placements), placed=placed, complete=not any(left.values()), seed=1, rounds=3)


def chalked(workroom: Workroom, job: str = "cuffs", most: int | Mapping[str, int] | None = None) -> lays.Lay:
    """A lay of the job's panels, row by row, chalked."""
    asked = asking.ask(workroom, job)
    return lays.chalk(workroom, lays.record(workroom, asked, rows(asked, most), by="MB").number, by="MB")


def cut_all(workroom: Workroom, job: str = "cuffs", **said: Any) -> cutting.Cut:
    return cutting.cut(workroom, chalked(workroom, job).number, by="MB", **said)


def whole_stash(path: Path) -> list[str]:
    """All that is in a stash, row by row: two of these are equal if and only if nothing was changed."""
    import sqlite3

    with closing(sqlite3.connect(path)) as plain:
        return list(plain.iterdump())
