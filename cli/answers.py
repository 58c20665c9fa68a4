"""The answers about a lay, in words and tables: can it be done, from what, what comes back, what was cut."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .reading import Unreadable
from .saying import Voice, kept_in, many

if TYPE_CHECKING:
    from nesting import Examination, LayFault, Nearest, Placement
    from stash.cutting import Cut
    from stash.lays import Foreseen, LaidPanel, Lay
    from stash.mending import Mended
    from stash.roughness import WorthMeasuring

    from .shown import Shown


ROUNDING = 1e-9  # a cost is a sum of floats


def answer(voice: Voice, lay: Lay, foreseen: Sequence[Foreseen], lots: int = 1) -> None:
    """First whether it can be done and from which remnants, where they are, what is used and what comes back. `lots`: of how
    many dye lots the panels are that are seen."""
    placed, wanted = sum(c.placed for c in lay.counts), sum(c.wanted for c in lay.counts)
    spares = sum(max(0, c.placed - c.wanted) for c in lay.counts)
    if lay.complete:
        more = f" and {many(spares, 'spare')}" if spares else ""
        done = f"Yes: {'the one panel' if wanted == 1 else f'all {wanted} panels'}{more}"
    else:
        done = f"Not all of it: {placed} of {many(wanted, 'panel')}"
    voice.headline(f"{done} for {lay.job}, from {many(len(lay.sheets), 'remnant')}.", good=lay.complete)
    voice.line(_to_pull(lay))
    if lay.complete or lots <= 1:
        voice.line(_proved(lay))
    if lots > 1:
        voice.line(f"Look at the colours side by side: no one dye lot was found to yield them all; these are of {lots}.")
    voice.line(_cloth_used(lay, foreseen, voice.shown))
    voice.line()
    pull_table(voice, lay, foreseen)


TOLD_AT_ONCE = 5  # remnants: more are read more easily in the table below


def _to_pull(lay: Lay) -> str:
    """Which remnants to pull from where, and how many panels come from each."""
    said = [
        f"{sheet.remnant.tag} from {sheet.remnant.place or 'no known place'} for {len(sheet.panels)}" for sheet in lay.sheets
    ]
    rest = len(said) - TOLD_AT_ONCE
    return f"Pull {', '.join(said[:TOLD_AT_ONCE])}{f' and {rest} more' if rest > 0 else ''}."


def worth_measuring(voice: Voice, found: Sequence[WorthMeasuring]) -> None:
    """The rough remnants that may hold more than their rectangle says."""
    for each in found:
        voice.aside(f"Worth measuring all round: {each.tag}{f', {kept_in(each.place)}' if each.place else ''}: {each.why}.")


def _cloth_used(lay: Lay, foreseen: Sequence[Foreseen], shown: Shown) -> str:
    """How much cloth is pulled, how much of it becomes panels, and what comes back."""
    used = sum(sheet.panel_area for sheet in lay.sheets)
    pulled = sum(sheet.remnant.area for sheet in lay.sheets)
    keepers = [keeper.area for each in foreseen for keeper in each.keepers]
    back = f"{many(len(keepers), 'keeper')} ({shown.area(sum(keepers))}) for the bin" if keepers else "no keeper is left"
    return (
        f"Of {shown.area(pulled)} pulled, {shown.area(used)} ({used / pulled:.0%}) becomes panels; {back}; "
        f"{shown.area(sum(each.rag_area for each in foreseen))} goes to the rag bag. "
        f"Good cloth lost: {shown.area(sum(each.lost for each in foreseen))}."
    )


LEAST = {
    "least lost": "Proved: no other choice of remnants opens less good cloth.",
    "small first": "Proved: no other choice of remnants is made of smaller and odder ones.",
    "oldest first": "Proved: no other choice of remnants is older.",
}
FEWEST = "Proved: it cannot be done with fewer remnants."
BOTH = "Proved: it cannot be done with fewer remnants, nor with as few that open less good cloth."


def _proved(lay: Lay) -> str:
    """What is proved of it, and nothing more."""
    result = lay.result
    if lay.complete:
        aim = str(lay.aim or "")
        if aim in ("fewest", "matching"):
            if _is_least(result.cost, result.least_cost):
                return BOTH
            # Each remnant counts one and up to a half: what is proved least may rule out one remnant less.
            if len(lay.sheets) > 1 and result.least_cost is not None and result.least_cost > len(lay.sheets) - 0.5:
                return FEWEST
        elif aim in LEAST and _is_least(result.cost, result.least_cost):
            return LEAST[aim]
        return "It is the best found in the time; a longer try may find a thriftier one."
    if result.proved:
        return "Proved: these remnants can give no more."
    if result.bound is not None and result.bound < sum(count.wanted for count in lay.counts):
        return f"More may be possible: it is proved only that they cannot give more than {result.bound}."
    return "More may be possible: nothing is proved."


def _is_least(cost: float | None, least: float | None) -> bool:
    return cost is not None and least is not None and cost <= least * (1 + ROUNDING)


def pull_table(voice: Voice, lay: Lay, foreseen: Sequence[Foreseen]) -> None:
    """The remnants to pull, where each is, and how many panels come from it."""
    left = {each.tag: each for each in foreseen}
    rows = []
    for sheet in lay.sheets:
        remnant, leaves = sheet.remnant, left.get(sheet.remnant.tag)
        keepers = leaves.keepers if leaves else ()
        rows.append(
            [
                remnant.tag,
                remnant.place,
                remnant.cloth.name,
                voice.shown.two(remnant.length, remnant.width),
                str(len(sheet.panels)),
                f"{sheet.panel_area / remnant.area:.0%}",
                ", ".join(voice.shown.area(keeper.area) for keeper in keepers) or "none",
            ]
        )
    voice.table(
        ["pull", "place", "cloth", f"size ({voice.shown.heading})", "panels", "used", "keepers"], rows, right=[3, 4, 5]
    )


def panels(voice: Voice, lay: Lay, foreseen: Sequence[Foreseen], *, wrong_side: bool = False) -> None:
    """A lay in full: the remnants, then every panel with its place on its remnant, the right side up or the `wrong_side`."""
    by = {"tried": lay.tried_by, "chalked": lay.chalked_by, "cut": lay.cut_by, "rubbed out": lay.rubbed_out_by}[lay.state]
    counted = "; ".join(f"{count.piece}, {count.placed} of {count.wanted + count.spares}" for count in lay.counts)
    voice.line(f"Lay {lay.number} for {lay.job}, {lay.state}{f' by {by}' if by else ''}{_until(lay)}: {counted}.")
    changed = [sheet.remnant.tag for sheet in lay.sheets if sheet.changed]
    if changed and lay.state in ("tried", "chalked"):
        voice.line(f"No longer as it was when this was tried: {', '.join(changed)}. Try the job again.")
    voice.line()
    pull_table(voice, lay, foreseen)
    voice.line()
    if wrong_side:
        voice.line("As it is seen wrong side up, turned over across the grain, which still runs from left to right:")
    rows = []
    for sheet in lay.sheets:
        left, low, _, high = sheet.remnant.outline.bounds
        for panel in sheet.panels:
            x, y, _, top = panel.cut_line.bounds
            near = high - top if wrong_side else y - low
            rows.append(
                [
                    str(panel.number),
                    panel.called,
                    sheet.remnant.tag,
                    voice.shown.number(x - left),
                    voice.shown.number(near),
                    turned(panel),
                    "" if panel.fate == "planned" else str(panel.fate),
                ]
            )
    tracings = {panel: str(one.number) for stack in lay.stacks for one in stack.tracings for panel in one.panels.values()}
    unit = voice.shown.heading
    heads = ["panel", "piece", "on", f"from left ({unit})", f"from near edge ({unit})", "lies", "fate"]
    if all(not row[-1] for row in rows):
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    if tracings:
        heads, rows = [*heads, "tracing"], [[*row, tracings.get(int(row[0]), "single")] for row in rows]
    voice.table(heads, rows, right=[0, 3, 4])


def _until(lay: Lay) -> str:
    return f" until {lay.holds_until}" if lay.state == "chalked" and lay.holds_until else ""


def turned(panel: LaidPanel) -> str:
    """How a panel lies against the way it was drawn."""
    return way_of(panel.placement)


def way_of(placement: Placement) -> str:
    """How a panel that is placed so lies against the way it was drawn."""
    turn = placement.turn % 360
    said = "as drawn" if turn == 0 else "head to foot" if turn == 180 else f"turned {turn:g}°"
    return said + (", turned over" if placement.flipped else "")


def proof(voice: Voice, lay: Lay, found: Examination) -> None:
    """What the independent check says of a lay, and how near things come on each remnant.

    Raises CannotBeDone if the lay is not sound.
    """
    from stash import CannotBeDone

    if not found.legal:
        for fault in found.faults:
            voice.line(_fault_of_lay(fault))
        raise CannotBeDone(
            f"Lay {lay.number} must not be cut: {many(len(found.faults), 'fault')}",
            next=f"rub it out (fent lay rub-out {lay.number}) and try the job again",
        )
    voice.line(
        f"Lay {lay.number} is sound: all {many(found.placed, 'panel')} lie on the cloth, clear of each other and of faults."
    )
    if found.off_repeat is not None:
        voice.line(f"Every anchor lies on its bar, the worst within {_within(found.off_repeat)}.")
    slip = f" and {voice.shown.fine(lay.slip)} more for slip in a stack" if lay.slip else ""
    voice.line(
        f"Asked: {voice.shown.fine(lay.gap)} between cuts, {voice.shown.fine(lay.edge)} from edges{slip}. The narrowest found:"
    )
    voice.line()
    rows = []
    for sheet in found.sheets:
        near = (_near(each, voice.shown) for each in (sheet.gap, sheet.edge, sheet.hole, sheet.flaw))
        rows.append([sheet.sheet, str(sheet.laid), *near])
    voice.table(["remnant", "panels", "between panels", "to the edge", "to a hole", "to a flaw"], rows, right=[1])


def _within(miss: float) -> str:
    """A miss far below what any tape shows, in mm whatever measures are shown in."""
    return f"{max(0.01, math.ceil(miss * 100) / 100):.2f} mm"


def _near(near: Nearest | None, shown: Shown) -> str:
    """A narrowest distance and between which two: `2.1 mm (3 and 4)`."""
    if near is None:
        return ""
    other = f" and {near.other}" if near.other.isdigit() else ""
    return f"{shown.fine(round(near.distance, 1))} ({near.panel}{other})"


def _fault_of_lay(fault: LayFault) -> str:
    which = ", ".join(str(number) for number in fault.panels)
    return ": ".join(filter(None, [fault.sheet or "", f"panel {which}" if which else "", fault.what]))


def after_the_cut(voice: Voice, done: Cut) -> None:
    """What became of each remnant: panels, keepers with their new tags, rag bag."""
    shown = voice.shown
    fates = Counter(str(panel.fate) for panel in done.lay.panels)
    fates["cut"] -= halves(done)
    also = [f"{fates[fate]} {word}" for fate, word in (("spoiled", "spoiled"), ("uncut", "left uncut")) if fates[fate]]
    voice.line(
        ", ".join([f"Lay {done.lay.number} is cut: {many(fates['cut'], 'good panel')} for {done.lay.job}", *also]) + "."
    )
    voice.line()
    rows = []
    for sheet in done.sheets:
        if sheet.whole:
            rows.append([sheet.tag, shown.area(sheet.area), "none", "", "", "went back whole"])
            continue
        rows.append(
            [
                sheet.tag,
                shown.area(sheet.area),
                f"{shown.area(sheet.panel_area)}, {shown.mass(sheet.panel_mass)}" if sheet.panel_area else "none",
                f"{shown.area(sheet.spoiled_area)}, {shown.mass(sheet.spoiled_mass)}" if sheet.spoiled_area else "",
                f"{shown.area(sheet.rag_area)}, {shown.mass(sheet.rag_mass)}",
                "; ".join(f"{keeper.tag} ({keeper.place or 'no place yet'})" for keeper in sheet.keepers) or "none",
            ]
        )
    heads = ["remnant", "was", "panels", "spoiled", "rag bag", "keepers, back in the bin"]
    if not any(row[3] for row in rows):
        heads, rows = heads[:3] + heads[4:], [row[:3] + row[4:] for row in rows]
    voice.table(heads, rows, right=[1])


def halves(done: Cut) -> int:
    """Parts among the panels that were cut, that are no panel of their own: one of each two, and those without the other."""
    return sum(panel.part == 2 and panel.fate == "cut" for panel in done.lay.panels) + sum(
        panel.part == 1 for panel in done.lay.panels if panel.number in dict(done.widowed)
    )


def mended(voice: Voice, every: Sequence[Mended]) -> None:
    """What of a description was put right: when, from what to what, why and by whom."""
    for each in every:
        change = f"{each.before or 'nothing'} → {each.after or 'nothing'}"
        voice.line(f"{each.at:%Y-%m-%d}   {each.what}: {change} ({each.note}; {each.by})")


def told_only(said: dict[str, Any]) -> dict[str, Any]:
    """The descriptions that were given. Raises Unreadable where none was."""
    given = {name: value for name, value in said.items() if value is not None}
    if not given:
        raise Unreadable(
            "nothing is put right", f"at least one of: {', '.join(f'--{name}' for name in said)}".replace("_", "-")
        )
    return given
