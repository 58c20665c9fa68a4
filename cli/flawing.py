"""`fent bin flaws`: where flaws may come to lie, by their kind and the face that they are on."""

from __future__ import annotations

from typing import Annotated

import typer

from . import options, reading
from .saying import Voice


def flaws(
    kind: Annotated[
        str | None,
        typer.Argument(metavar="KIND", help="Thin, stain, fade, shine, needle holes or crease.", show_default=False),
    ] = None,
    may_lie: Annotated[
        str | None,
        typer.Option(
            "--may-lie",
            metavar="WHERE",
            help="Anywhere, not the front, hidden pieces, allowances or nowhere.",
            show_default=False,
        ),
    ] = None,
    face: Annotated[
        str | None, typer.Option("--face", metavar="FACE", help="Only on this face: right, wrong or both. Else on each.")
    ] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """Show or say where flaws may lie.

    Of the panels that are cut: anywhere; not in a piece at the front; only in hidden pieces; only in allowances and hems; or
    nowhere. What may lie in hidden pieces may lie in allowances, too. The sound part of a piece is all within its sewing line.
    For one flaw alone it is said when it is logged: --fault "stain: 4cm at 10cm,12cm; may lie nowhere".

    \b
    Examples:
      fent bin flaws
        flaw          on the right face  on the wrong face  on both
        thin          allowances         allowances         allowances
        stain         hidden pieces      anywhere           hidden pieces
        …
      fent bin flaws fade --face right --may-lie "not the front" --by AK
        flaw          on the right face  on the wrong face  on both
        thin          allowances         allowances         allowances
        stain         hidden pieces      anywhere           hidden pieces
        …
    """
    from stash import Workroom, flaw_rules
    from stash.words import Face, FaultKind, MayLie

    voice = Voice(as_json=as_json, plain=plain)
    if (kind is None) != (may_lie is None):
        missing = "--may-lie" if may_lie is None else "KIND"
        raise reading.Unreadable(
            "only half of a rule is told", 'a kind and where it may lie: stain --may-lie "allowances"', missing
        )
    with Workroom.open(workroom, create=False) as opened:
        if kind is not None and may_lie is not None:
            who = options.whose(by)
            which, where = reading.one_of(FaultKind, kind, "KIND"), reading.one_of(MayLie, may_lie, "--may-lie")
            for each in [reading.one_of(Face, face, "--face")] if face else list(Face):
                flaw_rules.choose(opened, which, each, where, by=who)
        rules = flaw_rules.every(opened)
    voice.data([{"kind": which, "face": side, "may_lie": where} for (which, side), where in rules.items()])
    faces = [Face.RIGHT, Face.WRONG, Face.BOTH]
    voice.table(
        ["flaw", "on the right face", "on the wrong face", "on both"],
        [[str(each), *(str(rules[each, side]) for side in faces)] for each in flaw_rules.FLAWS],
    )
