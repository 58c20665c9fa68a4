"""Downhill from a place: where a panel, among the others as they lie, is strained least near by; in compiled code.

Close to where it is, the depth of a panel in another one follows a straight line: it must move out of the nearest edge of the
no-fit polygon, and moving along that edge changes nothing. So the weighted strain is, near by, a sum of max(0, c + a·x + b·y),
the lowest point of which is where two of these lines cross. The panel jumps there; panels that it meets on arrival add their
lines (a bundle method: Lemaréchal 1975, with the straight models kept in a box that shrinks where they mislead). A move takes
some 44 evaluations in all where a compass search took 130 to 150, and ends in exact contact.

On the bars of a stripe or check, where places are points and lines, the compass search is used.
"""

from __future__ import annotations

import numpy as np

from .compiled import kernel
from .fields import Table, way_out
from .rooms import Floats, Rooms, Wholes, into_room
from .strain import Lay, Shapes, meeting, strain_among

LINES = 12
"""How many panels' lines are kept at the most."""
RIMS = 4
"""How many lines of the room's rim are kept besides."""
ROUGH, FULL = 4, 20
"""Evaluations spent on each of the best samples, and on the best of them."""
STEEP = 1e3
"""How much steeper a rim is than all the panels together."""


@kernel
def lowest(lines: Floats, m: int, box: Floats) -> tuple[float, float, float]:
    """The lowest point of the sum of max(0, c + a·x + b·y) in a box (lowest and highest x, y): value, x, y.

    lines: (m, 4), the first column of which is not looked at; then a, b, c. It lies where two lines cross, or at a line and a
    side of the box, or at a corner.
    """
    best, bx, by = np.inf, box[0], box[2]
    room_x, room_y = 1e-9 * (box[1] - box[0]), 1e-9 * (box[3] - box[2])
    for k in range(m + 4):
        a1, b1, c1 = _line(lines, m, k, box)
        for q in range(k):
            a2, b2, c2 = _line(lines, m, q, box)
            det = a1 * b2 - a2 * b1
            if abs(det) <= 1e-9 * (abs(a1) + abs(b1)) * (abs(a2) + abs(b2)):
                continue
            x, y = (b1 * c2 - b2 * c1) / det, (a2 * c1 - a1 * c2) / det
            if x < box[0] - room_x or x > box[1] + room_x or y < box[2] - room_y or y > box[3] + room_y:
                continue
            total = 0.0
            for z in range(m):
                total += max(0.0, lines[z, 3] + lines[z, 1] * x + lines[z, 2] * y)
                if total >= best:
                    break
            if total < best:
                best, bx, by = total, x, y
    return best, bx, by


@kernel
def _line(lines: Floats, m: int, k: int, box: Floats) -> tuple[float, float, float]:
    """Line k; those from m on are the sides of the box."""
    if k < m:
        return lines[k, 1], lines[k, 2], lines[k, 3]
    if k < m + 2:
        return 1.0, 0.0, -box[k - m]
    return 0.0, 1.0, -box[k - m]


@kernel
def lines_at(
    t: Table, shapes: Shapes, lay: Lay, weight: Floats, i: int, s: int, x: float, y: float, near: Wholes, count: int,
    lines: Floats,
) -> tuple[float, int]:  # fmt: skip
    """The strain of panel i as `strain_among` gives it; writes the line that each panel's share follows: which panel, a, b, c.
    Returns the strain and how many lines were written (at most `LINES`)."""
    total: float = 0.0
    m = 0
    hw, hh = shapes.half[s, 0], shapes.half[s, 1]
    for k in range(count):
        j = near[k]
        dx, dy = x - lay.at[j, 0], y - lay.at[j, 1]
        z = lay.shape[j]
        if abs(dx) >= hw + shapes.half[z, 0] or abs(dy) >= hh + shapes.half[z, 1]:
            continue
        g = shapes.sign[z, s]
        d, ux, uy = way_out(t, shapes.nofit[z, s], g * dx, g * dy)
        if d > 0.0:
            w = weight[i, j]
            total += w * d
            if m < LINES:
                lines[m, 0], lines[m, 1], lines[m, 2] = j, -w * g * ux, -w * g * uy
                lines[m, 3] = w * d - lines[m, 1] * x - lines[m, 2] * y
                m += 1
    return total, m


@kernel
def _take_over(lines: Floats, m: int, fresh: Floats, n: int, all_of_them: bool) -> int:
    """Lines of panels not among those kept are added, the others replaced if wanted. Returns how many are kept now."""
    for k in range(n):
        known = -1
        for q in range(m):
            if lines[q, 0] == fresh[k, 0]:
                known = q
        if known < 0 and m < LINES:
            known = m
            m += 1
        elif not all_of_them:
            continue
        if known >= 0:
            for c in range(4):
                lines[known, c] = fresh[k, c]
    return m


@kernel
def _within_room(rooms: Rooms, h: int, s: int, lines: Floats, m: int, box: Floats) -> tuple[float, float, float]:
    """The lowest point by the lines that is also in the room: where one lies beyond its rim, the rim becomes a line."""
    value, x, y = lowest(lines, m, box)
    f = rooms.region[h, s]
    if f < 0:
        return value, x, y
    steep = 0.0
    for k in range(m):
        steep += STEEP * (abs(lines[k, 1]) + abs(lines[k, 2]))
    for k in range(m, m + RIMS):
        d, ux, uy = way_out(rooms.table, f, x, y)
        if d == 0.0:
            break
        lines[k, 0], lines[k, 1], lines[k, 2] = -1.0, -steep * ux, -steep * uy
        lines[k, 3] = steep * (d + ux * x + uy * y)
        value, x, y = lowest(lines, k + 1, box)
    x, y = into_room(rooms, h, s, x, y)
    return value, x, y


@kernel
def slide(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, weight: Floats, i: int, place: Floats, radius: float, least: float,
    most: int, boxes: Floats, near: Wholes,
) -> int:  # fmt: skip
    """Go downhill from a place (strain, shape, sheet, x, y), which is written over, by at most `most` evaluations, from a box
    of `radius` down to one of `least`. Returns evaluations."""
    s, h = int(place[1]), int(place[2])
    lines, fresh, box = np.empty((LINES + RIMS, 4)), np.empty((LINES, 4)), np.empty(4)
    reach = 3.0 * radius
    cx, cy = place[3], place[4]
    count = meeting(boxes, h, cx, cy, shapes.half[s, 0] + reach, shapes.half[s, 1] + reach, near)
    place[0], m = lines_at(t, shapes, lay, weight, i, s, cx, cy, near, count, lines)
    evaluations = 1
    while evaluations < most and place[0] > 0.0 and radius > least:
        for c in range(2):
            box[2 * c] = max(rooms.box[h, s, 2 * c], place[3 + c] - radius)
            box[2 * c + 1] = min(rooms.box[h, s, 2 * c + 1], place[3 + c] + radius)
        model, x, y = _within_room(rooms, h, s, lines, m, box)
        if model >= place[0] * (1.0 - 1e-6):
            break
        if abs(x - cx) > reach or abs(y - cy) > reach:
            cx, cy = x, y
            count = meeting(boxes, h, cx, cy, shapes.half[s, 0] + reach, shapes.half[s, 1] + reach, near)
        value, n = lines_at(t, shapes, lay, weight, i, s, x, y, near, count, fresh)
        evaluations += 1
        better = value < place[0] * (1.0 - 1e-9)
        before = m
        m = _take_over(lines, m, fresh, n, better)
        if not better and m == before:
            radius = 0.3 * min(radius, max(abs(x - place[3]), abs(y - place[4])))
        if better:
            place[0], place[3], place[4] = value, x, y
    return evaluations


@kernel
def _walk(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, weight: Floats, i: int, place: Floats, step: float, least: float,
    boxes: Floats, near: Wholes,
) -> int:  # fmt: skip
    """Walk from a place, steps halving from `step` to `least` (a compass search). Returns evaluations."""
    s, h = int(place[1]), int(place[2])
    evaluations = 0
    dx, dy = step, step
    first = True
    reach = 2.0 * step
    cx, cy = place[3], place[4]
    count = meeting(boxes, h, cx, cy, shapes.half[s, 0] + reach, shapes.half[s, 1] + reach, near)
    while max(dx, dy) > least and place[0] > 0.0 and evaluations < 400:  # a rim can lead round and round by rounding
        moved = False
        for k in range(4):
            hop_x, hop_y = max(dx, rooms.lattice[h, s, 0]), max(dy, rooms.lattice[h, s, 1])  # to the next bar at the least
            sx = hop_x if k == 0 else (-hop_x if k == 1 else 0.0)
            sy = hop_y if k == 2 else (-hop_y if k == 3 else 0.0)
            x, y = into_room(rooms, h, s, place[3] + sx, place[4] + sy)
            if x == place[3] and y == place[4]:
                continue
            if abs(x - cx) > reach or abs(y - cy) > reach:
                cx, cy = x, y
                count = meeting(boxes, h, cx, cy, shapes.half[s, 0] + reach, shapes.half[s, 1] + reach, near)
            value = strain_among(t, shapes, lay, weight, i, s, x, y, place[0], near, count)
            evaluations += 1
            if value < place[0] * (1.0 - 1e-9):
                place[0], place[3], place[4] = value, x, y
                moved = True
        if moved and not first:
            dx, dy = dx * 1.2, dy * 1.2
        elif not moved:
            dx, dy = dx * 0.45, dy * 0.45
        first = False
    return evaluations


@kernel
def downhill(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, weight: Floats, i: int, place: Floats, size: float, least: float,
    fully: bool, boxes: Floats, near: Wholes,
) -> int:  # fmt: skip
    """Improve a place roughly, or a rough one fully. size: of the panel. Returns evaluations."""
    s, h = int(place[1]), int(place[2])
    if rooms.run_span[h, s, 1] > rooms.run_span[h, s, 0]:
        step, last = (0.01 * size, least) if fully else (0.2 * size, 0.01 * size)
        return _walk(t, shapes, rooms, lay, weight, i, place, step, last, boxes, near)
    radius, most = (0.1 * size, FULL) if fully else (0.3 * size, ROUGH)
    return slide(t, shapes, rooms, lay, weight, i, place, radius, least, most, boxes, near)
