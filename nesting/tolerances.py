"""Every tolerance and limit of the geometry: its name, its value, its reason. Millimetres and square millimetres."""

# --- outlines -----------------------------------------------------------------------------------------------------------

SAME_POINT = 1e-6
"""Two points nearer than this are one. A nanometre: outlines are measured to 0.1 mm at best and written to 0.001 mm, so a
difference this small is arithmetic, never cloth."""

ON_LINE = 1e-6
"""A point nearer than this to the line between its neighbours is not a corner and is dropped. As `SAME_POINT`; it must stay
so small that dropping points on a finely drawn curve cannot move the curve."""

SMALLEST_AREA = 0.01
"""The least area that an outline may have: the cloth book counts in hundredths of a square millimetre, so that anything
less could not be entered in it."""

FARTHEST = 1e6
"""The farthest that a coordinate may lie from the origin: 1 km, ten times the longest roll of cloth. Up to here a double still
resolves 1e-10 mm, well below every other tolerance."""

MOST_POINTS = 10_000
"""The most points of one outline: one for each millimetre round a remnant of 2 × 3 m. More is a scan that wants thinning."""

# --- cases --------------------------------------------------------------------------------------------------------------

MOST_SHEETS = 100_000
"""The most sheets of one case: a hundred times a large bin. The stash narrows a bin down before it asks the engine."""

MOST_PANELS = 10_000
"""The most different panels of one case. A pattern has tens."""

MOST_COPIES = 100_000
"""The most copies of one panel; more is a slip of the finger, and the search would never end."""

MOST_PLIES = 1_000
"""The most layers of one stack: the tallest lays of a factory with a straight knife have a few hundred."""

SAME_TURN = 1e-6
"""Turns nearer than this, in degrees, are the same turn: at 10 m from the origin it moves a point by 0.0002 mm."""

# --- leftovers ----------------------------------------------------------------------------------------------------------

OPENING_SLACK = 1e-3
"""The opening erodes by this much less than it grows, which is half the narrowest strip: a strip of just that width is kept,
and where a keeper borders a cut its own edge is the cut's edge, with no sliver of rounding left between them. No blade
follows a line to a thousandth of a millimetre."""

MITRE_LIMIT = 3.0
"""How far a keeper's corner may reach beyond the round end, in half widths of the narrowest strip: corners of 39° and more
come back sharp, needles are blunted and go to the rag bag."""

SLIT = 0.1
"""Cuts nearer to each other than this have no cloth between them that could be picked up: keepers are looked for as if they
met there. A thread of a fine cloth is as thick."""

OVERLAY_GRID = 1e-5
"""Sheets are taken apart on a grid this fine, by snap rounding: edges that meet but for rounding meet in truth, and no needle
narrower than it is left, which `mend_ring` would have to refuse (so it must stay coarser than `SAME_POINT`). Along ten metres
of edges it moves 0.05 mm² at most."""

UNION_GRID = 1e-9
"""Unions are made by snap rounding on a grid this fine. Without one, GEOS 3.14 lost up to a quarter of the area in one of 150
unions of strips that touch along their edges."""

# --- examining a lay ------------------------------------------------------------------------------------------------------

LIE_SHARE = 1e-4
"""What a copy may overlap or stick out by, as a share of the side of a square as large as the smallest panel: 0.01 mm for a
panel of 100 mm, a tenth of the width of a chalk line, and a thousand times the error of placing by doubles."""

GAP_SLACK = 1e-9
"""A distance short of the gap by no more than this is rounding."""

REPEAT_MISS = 0.05
"""What an anchor may miss a stripe or check by: half the width of one thread of a fine cloth."""

CLAIM_SHARE = 1e-6
"""What a claimed cost or length may differ from what is found, as a share: sums of areas in doubles are good to far better."""

# --- stacks and hands -----------------------------------------------------------------------------------------------------

SAME_RIM = 0.05
"""Outlines that differ by less round their rim are each other's mirror: cloth is not cut finer than half a thread."""

TOLD_APART = 3.0
"""By how much a measure must differ from that of the other hand, to be seen on a tape on soft cloth (common practice, no
source)."""

IN_REGION = 1e-6
"""A shift of a ply this near to a region of shifts is in it: arithmetic, never cloth, as `SAME_POINT`."""
