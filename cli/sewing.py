"""`fent pattern ring`, `resize`, `in-two`, `sew`, `unpick` and `prove`: how the pieces of a pattern go together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.drafting import Draft
    from stash.patterns import Piece
    from stash.seams import Finding, Proof
    from stash.sewn_ring import SewnRing

    from .shown import Shown

Pattern = Annotated[str, typer.Argument(metavar="PATTERN", help="The pattern.", show_default=False)]
PieceName = Annotated[str, typer.Argument(metavar="PIECE", help="The piece: a tapered panel.", show_default=False)]
First = Annotated[str, typer.Argument(metavar="FIRST", help="An edge: front/side 2.", show_default=False)]
Second = Annotated[str, typer.Argument(metavar="SECOND", help="The edge that it is sewn to: back/side 4.", show_default=False)]


def ring(
    pattern: Pattern,
    piece: PieceName,
    count: Annotated[
        int | None,
        typer.Option(
            "--count", metavar="NUMBER", parser=reading.a_number, help="How many are sewn together, if not as drafted."
        ),
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show the ring that panels make.

    Of tapered panels sewn side by side: the girth of its outer and inner edge, the angle of each panel, and the kink that is
    left at each seam, with the ends straight, trued on the cut line, and trued on the sewing line, which alone leaves none.

    \b
    Example:
      fent pattern ring cushion wedge --count 16
        16 panels of cushion/wedge, ends trued: each takes 17.5°, all of them 280.5° of a full turn: a cone.
        ends                      edge   along chords (mm)  along arcs   kink  by the rule  differs
        straight                  outer             1344.0      1344.0  17.3°       1344.0      0.0
        …
    """
    from stash import Workroom, patterns, sewn_ring

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        found = patterns.piece(opened, pattern, piece)
    rings = sewn_ring.rings(_draft_of(found), count)
    voice.data(rings)
    _ring_in_words(found, rings, voice)


def _draft_of(piece: Piece) -> Draft:
    """The measures that a piece was drafted from. Raises CannotBeDone."""
    from stash import CannotBeDone

    if piece.draft is None:
        raise CannotBeDone(
            f"{piece.pattern}/{piece.name} was not drafted from measures",
            where="piece",
            expected="a tapered panel",
            next="Draft it: fent pattern add with --length, --wide and --narrow",
        )
    return piece.draft


def _ring_in_words(piece: Piece, rings: tuple[SewnRing, ...], voice: Voice) -> None:
    assert piece.draft is not None
    drawn = rings[0] if piece.draft.ends == "straight" else rings[-1]
    lies = "flat" if abs(drawn.turn - 360) < 0.05 else ("a cone" if drawn.turn < 360 else "more than a flat ring: it ripples")
    voice.line(
        f"{many(drawn.count, 'panel')} of {piece.pattern}/{piece.name}, ends {piece.draft.ends}: "
        f"each takes {drawn.angle:.1f}°, all of them {drawn.turn:.1f}° of a full turn: {lies}."
    )
    voice.line()
    shown = voice.shown
    rows = []
    for each in rings:
        for name, edge in (("outer", each.outer), ("inner", each.inner)):
            differs = edge.along_chords - edge.by_rule
            rows.append(
                [
                    str(each.truing),
                    name,
                    _girth(edge.along_chords, shown),
                    _girth(edge.along_arcs, shown),
                    f"{edge.kink:.1f}°",
                    _girth(edge.by_rule, shown),
                    ("+" if differs > 0 else "−" if differs < 0 else "") + _girth(abs(differs), shown),
                ]
            )
    unit = "in" if shown.in_inches else "mm"
    heads = ["ends", "edge", f"along chords ({unit})", "along arcs", "kink", "by the rule", "differs"]
    voice.table(heads, rows, right=[2, 3, 4, 5, 6])
    voice.aside(
        "By the rule: two allowances off each width; square to a slanted side an allowance takes a little more or less."
        if piece.draft.on == "cut"
        else "The widths are on the sewing line: by the rule nothing comes off them."
    )


def _girth(mm: float, shown: Shown) -> str:
    """A girth finely enough to tell the rules apart: tenths of a millimetre, hundredths of an inch."""
    return f"{mm / 25.4:.2f}" if shown.in_inches else f"{mm:.1f}"


def resize(
    pattern: Pattern,
    piece: PieceName,
    new: Annotated[str, typer.Argument(metavar="NEW", help="What the new piece is called.", show_default=False)],
    end: Annotated[str, typer.Option("--end", metavar="END", help="The end that is changed: wide, or narrow.")] = "wide",
    width: Annotated[
        float | None,
        typer.Option("--width", metavar="LENGTH", parser=reading.a_length, help="How wide it is to be sewn there."),
    ] = None,
    longer: Annotated[
        float | None,
        typer.Option("--longer", metavar="LENGTH", parser=reading.a_length, help="… or how much longer at that end."),
    ] = None,
    shorter: Annotated[
        float | None,
        typer.Option("--shorter", metavar="LENGTH", parser=reading.a_length, help="… or how much shorter there."),
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Make a tapered panel bigger or smaller from one end.

    The other end is sewn as before, and the ends are trued again. The new panel is a piece of its own in the same pattern.

    \b
    Example:
      fent pattern resize cushion wedge "wedge, wider" --end wide --width 9cm
        cushion has its piece wedge, wider: 232 × 113 mm when cut, either way, seen.
    """
    from dataclasses import replace

    from stash import Workroom, drafting, patterns

    from .pattern import said_in_short

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    told = {"--width": width, "--longer": longer, "--shorter": shorter}
    given = [name for name, value in told.items() if value is not None]
    if len(given) != 1:
        raise reading.Unreadable(
            "nothing is said of the new size" if not given else f"{' and '.join(given)} are both told",
            "one of --width, --longer, --shorter",
            "the new size",
        )
    which = {"wide": "wide end", "wide end": "wide end", "narrow": "narrow end", "narrow end": "narrow end"}.get(
        end.strip().lower()
    )
    if which is None:
        raise reading.Unreadable(f"{end!r} is none of them", "one of: wide, narrow", "--end")
    by = longer if longer is not None else (-shorter if shorter is not None else None)
    with Workroom.open(workroom, create=False) as opened, opened.writing():
        old = patterns.piece(opened, pattern, piece)
        draft = drafting.resized(_draft_of(old), which, width=width, longer=by)
        finish = {edge.name: edge.finish for edge in old.edges}
        drawn = patterns.drafted(draft, new)
        kept = patterns.add_piece(
            opened,
            pattern,
            replace(
                drawn,
                edges=tuple(replace(edge, finish=finish[edge.name]) for edge in drawn.edges),
                one_way=old.one_way,
                left_and_right=old.left_and_right,
                hidden=old.hidden,
                off_grain=old.off_grain,
            ),
        )
    voice.data(kept)
    said_in_short(kept, voice)


def sew(
    pattern: Pattern,
    first: First,
    second: Second,
    ease: Annotated[
        float,
        typer.Option(
            "--ease", metavar="LENGTH", parser=reading.a_margin, help="How much longer the first is, to be eased in."
        ),
    ] = 0.0,
    face_to_face: Annotated[
        bool, typer.Option("--face-to-face", help="As a lining is: the edges beside the seam do not run on.")
    ] = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Say which edges are sewn together.

    So that the pattern can be proved: the lengths of both, their ease, their notches, and the kink where they end.

    \b
    Example:
      fent pattern sew bag "body/side 2" "lining/side 2" --face-to-face
        bag: body/side 2 is sewn to lining/side 2.
    """
    from stash import Workroom, seams
    from stash.patterns import Seam

    voice = Voice(as_json=as_json)
    with Workroom.open(workroom, create=False) as opened:
        found = seams.sew(opened, pattern, Seam(first, second, ease, face_to_face))
    voice.data(found)
    seam = found.seams[-1]
    eased = f", with {voice.shown.fine(seam.ease)} of ease in the first" if seam.ease else ""
    voice.aside(f"{found.name}: {seam.first} is sewn to {seam.second}{eased}.")


def unpick(
    pattern: Pattern,
    first: First,
    second: Second,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Say that two edges are not sewn together.

    \b
    Example:
      fent pattern unpick bag "body/side 1" "lining/side 1"
        bag: body/side 1 and lining/side 1 are not sewn together.
    """
    from stash import Workroom, seams

    voice = Voice(as_json=as_json)
    with Workroom.open(workroom, create=False) as opened:
        found = seams.unpick(opened, pattern, first, second)
    voice.data(found)
    voice.aside(f"{found.name}: {first} and {second} are not sewn together.")


def in_two(
    pattern: Pattern,
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="The piece.", show_default=False)],
    join: Annotated[
        int, typer.Option("--join", metavar="NUMBER", parser=reading.a_number, help="Which of its joins, counted from 1.")
    ] = 1,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Make a piece of two.

    At a line where that is permitted (--join when it was added). The two parts are pieces of their own, each with an allowance
    at the join, and are sewn together there; the piece itself stays in the pattern.

    \b
    Example:
      fent pattern in-two bag body
        bag has its piece body, part 1: 330 × 110 mm when cut, either way, seen.
        bag has its piece body, part 2: 330 × 111 mm when cut, either way, seen.
    """
    from stash import Workroom, piece_parts

    from .pattern import said_in_short

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        parts = piece_parts.in_two(opened, pattern, piece, join)
    voice.data(parts)
    for part in parts:
        said_in_short(part, voice)


def prove(
    pattern: Pattern,
    cloth: Annotated[
        str | None,
        typer.Option("--cloth", metavar="NAME", help="In this cloth: what a set weighs, and whether it frays too far."),
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Prove a pattern.

    Does it go together: the corners where panels meet, the lengths of edges that are sewn together and their ease, kinks,
    notches, the narrowest place, the allowance against the cloth's fraying, and the area and weight of a set. It ends with 1
    if anything is not as it should be.

    \b
    Example:
      fent pattern prove cushion --cloth "navy linen"
        cushion goes together: nothing is out.
        A set takes 166 cm², 3.1 g of navy linen.
        piece  corners                     narrowest place                 least allowance  area of all
        …
    """
    from stash import CannotBeDone, Workroom, seams

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        found = seams.prove(opened, pattern, cloth=cloth)
    voice.data(found)
    _proof_in_words(found, voice)
    wrong = [finding for finding in found.findings if not finding.good]
    if wrong:
        raise CannotBeDone(
            f"{found.pattern} does not go together as it is: {many(len(wrong), 'thing')} to put right",
            next="draft or draw the pieces anew; a kink goes if the ends are trued on the sewing line",
        )


def _proof_in_words(found: Proof, voice: Voice) -> None:
    shown = voice.shown
    wrong = [finding for finding in found.findings if not finding.good]
    voice.headline(
        f"{found.pattern} {'does not go together' if wrong else 'goes together: nothing is out'}{':' if wrong else '.'}",
        good=not wrong,
    )
    for finding in wrong:
        voice.line(f"  {_in_words(finding, shown)}")
    weighs = f", {shown.mass(found.mass)} of {found.cloth}" if found.mass is not None else ""
    voice.line(f"A set takes {shown.area(found.area)}{weighs}.")
    voice.line()
    rows = [
        [
            piece.name,
            ", ".join(f"{angle:.1f}°" for _, _, angle in piece.corners),
            f"{shown.length(piece.narrowest)}, {piece.between[0]} to {piece.between[1]}",
            shown.fine(piece.least_allowance),
            shown.area(piece.set_area),
        ]
        for piece in found.pieces
    ]
    voice.table(["piece", "corners", "narrowest place", "least allowance", "area of all"], rows)
    if found.seams:
        voice.line()
        seams = [
            [
                f"{each.seam.first} to {each.seam.second}",
                shown.length(each.first),
                shown.length(each.second),
                shown.fine(each.seam.ease) if each.seam.ease else "none",
                " and ".join(f"{abs(kink):.1f}°" for kink in each.kinks) or "face to face",
            ]
            for each in found.seams
        ]
        voice.table(["sewn together", "first", "second", "ease", "kinks"], seams)


def _in_words(finding: Finding, shown: Shown) -> str:
    """What is wrong, where, and what was asked."""
    figure, asked = shown.fine(round(finding.figure, 1)), shown.fine(round(finding.asked, 1))
    said = {
        "ease": f"the first is longer by {figure}, and {asked} was asked",
        "kink": f"the edge that runs on has a kink of {abs(finding.figure):.1f}°",
        "notches": f"notches do not meet: {figure} along it, and {asked}",
        "narrowest place": f"its narrowest place is {figure}; its allowances alone are {asked}",
        "fraying": f"an allowance of {figure} is too little for cloth that frays: {asked} at least",
    }
    if finding.matter == "notches" and finding.figure == int(finding.figure) and finding.asked == int(finding.asked):
        said["notches"] = f"one has {finding.figure:.0f} notches, the other {finding.asked:.0f}"
    return f"{finding.where}: {said[finding.matter]}."
