"""`fent demo`: the whole job, from bin to cloth book, in an invented workroom."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, options, reading, scenario
from .saying import Voice, many
from .trying import Wish, search

if TYPE_CHECKING:
    from stash import Workroom
    from stash.lays import Lay

STASH = "workroom.fent"


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new folder for it.")] = Path("fent-demo"),
    seconds: Annotated[
        float, typer.Option("--seconds", metavar="N", parser=reading.seconds, help="How long to look for a lay.")
    ] = 8,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", parser=reading.a_count, help="Another number gives another try.")
    ] = 0,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Run the whole job in an invented workroom.

    It makes a new folder with a stash of forty remnants of five cloths, finds the ones that yield sixteen panels, draws the
    lay, cuts it, puts what is left back into the bin and balances the cloth book. No cloth is harmed.

    \b
    Examples:
      fent demo
      fent demo somewhere-else --seconds 20
    """
    voice = Voice(plain=plain, show_in=show_in)
    _make(folder)
    from stash import Workroom

    with Workroom.open(folder / STASH) as workroom:
        _the_bin(voice, workroom, folder)
        lay = _the_lay(voice, workroom, folder, seconds, seed)
        _the_cut(voice, workroom, folder, lay)
        _the_book(voice, workroom)
    stash = folder / STASH
    voice.line()
    voice.line(f"Everything is in {folder}. Look at the pictures there, and try these:")
    voice.line(f"  fent bin list --workroom {stash}")
    voice.line(f'  fent lay try "{scenario.ROLL}" --workroom {stash}')


def _make(folder: Path) -> None:
    """The folder, which must be a new one."""
    from stash import Refused

    another = "fent demo NAME, with the name of a folder that is not there yet"
    try:
        folder.mkdir()
    except FileExistsError:
        raise Refused(
            f"{str(folder)!r} is there already, and the demo writes over nothing",
            where="DIR",
            expected="a new folder",
            next=another,
        ) from None
    except OSError as fault:
        raise Refused(
            f"{str(folder)!r} cannot be made: {fault.strerror}",
            where="DIR",
            expected="a new folder in one that is there",
            next=another,
        ) from None


def _the_bin(voice: Voice, workroom: Workroom, folder: Path) -> None:
    from stash import cloths, finding

    voice.line(f"THE BIN of {scenario.NAME}, which is invented: no such place, person or cloth exists.")
    scenario.settle(workroom)
    found = finding.find(workroom)
    faulty = sum(1 for each in found if each.faults)
    voice.line(f"{len(found)} remnants of {len(cloths.every(workroom))} cloths are logged, {faulty} of them with faults.")
    _draw_bin(voice, workroom, folder / "bin-before.png")


def _the_lay(voice: Voice, workroom: Workroom, folder: Path, seconds: float, seed: int) -> Lay:
    """Try, answer, prove, draw."""
    from stash import CannotBeDone, asking, jobs, lays, proving

    from .drawn import lay_page
    from .job import which_cloths

    piece = jobs.get(workroom, scenario.CUSHION).pieces[0]
    voice.line()
    voice.line(
        f"THE JOB: {scenario.CUSHION}, {piece.count} tapered panels, in cloth of {which_cloths(piece.rule, voice.shown)}."
    )
    asked = asking.ask(workroom, scenario.CUSHION)
    voice.line(f"{many(len(asked.case.sheets), 'remnant')} will do; the others are of the wrong weight or fibre.")
    (offer, *_), finished = search(voice, asked, Wish(seconds, seed, scenario.WHO))
    if not finished:
        voice.aside("Stopped. What was made so far stays in its folder.")
        raise typer.Exit(130)
    lay = lays.record(workroom, asked, offer.found.result, by=scenario.WHO)
    foreseen = lays.foresee(workroom, lay)
    voice.line()
    voice.line("THE LAY")
    answers.answer(voice, lay, foreseen)
    if not lay.complete:
        raise CannotBeDone(
            f"In {seconds:g} s no complete lay was found", next=f"another folder and more time: --seconds {seconds * 3:g}"
        )
    voice.line()
    voice.line("PROVED INDEPENDENTLY")
    answers.proof(voice, *proving.prove(workroom, lay.number))
    file = folder / f"lay-{lay.number}.png"
    lay_page(workroom, lay, foreseen, voice.shown).save(file)
    voice.line(f"The lay is drawn in {file}.")
    return lay


def _the_cut(voice: Voice, workroom: Workroom, folder: Path, lay: Lay) -> None:
    from stash import cutting, lays

    voice.line()
    voice.line("THE CUT")
    lays.chalk(workroom, lay.number, by=scenario.WHO)
    answers.after_the_cut(voice, cutting.cut(workroom, lay.number, by=scenario.WHO))
    _draw_bin(voice, workroom, folder / "bin-after.png")


def _draw_bin(voice: Voice, workroom: Workroom, file: Path) -> None:
    from stash import finding, remnants

    from .drawn import bin_page

    bin_page([remnants.get(workroom, each.tag) for each in finding.find(workroom)], voice.shown).save(file)
    voice.line(f"The bin is drawn in {file}.")


def _the_book(voice: Voice, workroom: Workroom) -> None:
    from stash import book

    from .book import show_balance

    voice.line()
    voice.line("THE CLOTH BOOK")
    show_balance(voice, book.balance(workroom))
