"""`fent bin labels`: what is pinned to each remnant."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import options, printing, reading
from .reading import Unreadable
from .saying import Voice

if TYPE_CHECKING:
    from stash import Workroom
    from stash.remnants import RemnantTold

    from .label_page import EnvelopeTold


def labels(
    tags: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[TAG]", help="The remnants, or envelopes, if not those that are described.", show_default=False
        ),
    ] = None,
    lay: Annotated[
        int | None,
        typer.Option("--lay", metavar="LAY", parser=reading.a_number, help="The keepers that the cut of a lay gave."),
    ] = None,
    cloth: options.OfCloth = None,
    place: options.InPlace = None,
    newer_than: options.NewerThan = None,
    label: Annotated[
        str, typer.Option("--label", metavar="SIZE", help='The size of one label: 70mm x 37mm, or "2 5/8 in x 1 in".')
    ] = "70mm x 37mm",
    paper: options.OnPaper = "A4",
    strip: Annotated[bool, typer.Option("--strip", help="For a printer of single labels: each on a page of its own.")] = False,
    first: Annotated[
        int,
        typer.Option("--begin", metavar="N", parser=reading.a_number, help="The first label that is left on a begun sheet."),
    ] = 1,
    rim: Annotated[bool, typer.Option("--rim", help="With a line round each, to cut them from plain paper.")] = False,
    file: options.PaperFile = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    show_in: options.ShowIn = "mm",
) -> None:
    """Print labels for remnants and envelopes.

    Tag, cloth, size, weight, whether it is washed, an arrow for its grain or nap, and the tag as a code for a camera (QR). For
    the remnants that are named, for the keepers of a lay, or for all in the bin that the options describe. A sheet of labels
    is known by the measures of one of them. An envelope, which is named, has its cloth and what is in it by weight.

    \b
    Examples:
      fent bin labels N-01 N-02
        The sheet of labels is in labels.pdf. Print it at actual size (100 %).
      fent bin labels --cloth "navy linen" --label "2 5/8 in x 1 in" --paper Letter --begin 7 --file part.pdf
        The sheet of labels is in part.pdf. Print it at actual size (100 %).
      fent bin labels --place "drawer 2" --label "62mm x 29mm" --strip --file strip.pdf
        The strip of labels is in strip.pdf. Print it at actual size (100 %).
    """
    from stash import Workroom

    from .label_page import has_code, label_sheets, label_strip, sheet_for

    voice = Voice(show_in=show_in)
    size = _size(label)
    on, where = printing.a_paper(paper), printing.a_file(file, "labels.pdf", write_over)
    sheet = None if strip else sheet_for(size, on)
    if sheet is None and not strip:
        raise Unreadable(
            f"no label of {label} goes on {paper}", "a label that is smaller than the paper, or --strip", "--label"
        )
    if sheet is not None and first > sheet.across * sheet.down:
        raise Unreadable(f"there is no label {first}", f"1 to {sheet.across * sheet.down} on such a sheet", "--begin")
    with Workroom.open(workroom, create=False) as opened:
        found = _chosen(opened, tags or [], lay, {"cloth": cloth, "place": place, "newer_than": newer_than})
    if not found:
        voice.aside("No remnant is described so; nothing is printed.")
        return
    if sheet is None:
        made = label_strip(found, size, voice.shown)
    else:
        made = label_sheets(found, sheet, on, voice.shown, first=first, rim=rim)
    printing.put_down(voice, made, where, write_over, "The strip of labels" if strip else "The sheet of labels")
    if bare := [each.tag for each in found if not has_code(each.tag, size)]:
        voice.aside(
            f"Too long for a code on so small a label, which has the tag in words only: {', '.join(bare)}. "
            "A larger one has room for it (--label)."
        )


def _size(label: str) -> tuple[float, float]:
    from .label_page import SMALLEST

    width, height = reading.a_size(label, "--label")
    if width < SMALLEST[0] or height < SMALLEST[1]:
        raise Unreadable(f"{label!r} is too small for a tag and its code", "24mm x 12mm or larger", "--label")
    return width, height


def _chosen(
    workroom: Workroom, tags: list[str], lay: int | None, said: dict[str, str | None]
) -> tuple[RemnantTold | EnvelopeTold, ...]:
    """The remnants: those named, those of a lay, or those described; of two ways of telling one must be chosen."""
    from stash import finding, keepers, remnants

    from .finding import wanted

    described = any(said.values())
    if bool(tags) + (lay is not None) + described > 1:
        raise Unreadable("the remnants are told in two ways", "tags, or --lay, or what describes them", "TAG")
    if tags:
        return tuple(_of_tag(workroom, tag) for tag in dict.fromkeys(tags))
    if lay is not None:
        return keepers.of_lay(workroom, lay)
    newer = said.pop("newer_than")
    found = wanted(holds=None, older_than=None, newer_than=newer, quarantine=False, every=False, **said)
    return tuple(remnants.look_at(workroom, each.tag) for each in finding.find(workroom, found))


def _of_tag(workroom: Workroom, tag: str) -> RemnantTold | EnvelopeTold:
    """The remnant or the envelope of a tag: no two of them share one. Raises Unknown."""
    from stash import cloths, envelopes, remnants
    from stash.refusals import Unknown

    from .label_page import EnvelopeTold

    try:
        return remnants.look_at(workroom, tag)
    except Unknown as no_remnant:
        try:
            found = envelopes.get(workroom, tag)
        except Unknown:
            raise no_remnant from None
        return EnvelopeTold(found.tag, cloths.get(workroom, found.cloth), found.lot, found.mass)
