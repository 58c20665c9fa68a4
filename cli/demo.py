"""`fent demo`: the whole job, from bin to cloth book, in an invented workroom."""

from __future__ import annotations

from datetime import date
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
    year: Annotated[
        bool, typer.Option("--year", help="Instead: a made year of forty jobs, and its page from the cloth book.")
    ] = False,
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
      fent demo a-year --year
    """
    voice = Voice(plain=plain, show_in=show_in)
    _make(folder)
    if year:
        _the_year(voice, folder)
        return
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


def _the_year(voice: Voice, folder: Path) -> None:
    """A year of forty jobs, and what the cloth book has to tell of it."""
    from stash import Workroom, audit, reports
    from stash.reported import Asked

    from . import made_year
    from .report_page import as_html
    from .report_paper import as_pdf, as_png

    voice.line(f"A YEAR of {scenario.NAME}, which is invented: no such place, person, cloth or job exists.")
    stash = folder / STASH
    made_year.make(stash)
    with Workroom.open(stash) as workroom:
        found = reports.report(workroom, Asked(since=date(made_year.YEAR, 1, 1), until=date(made_year.YEAR, 12, 31)))
        clean = audit.audit(workroom).clean
    voice.line(
        f"{len(found.jobs)} jobs, {found.entries} entries in the book; the audit finds {'nothing' if clean else 'faults'}."
    )
    (folder / "year.html").write_text(as_html(found, voice.shown), encoding="utf-8")
    as_pdf(found, voice.shown, folder / "year.pdf")
    as_png(found, voice.shown, folder / "year.png")
    for name, what in (("year.html", "its page"), ("year.pdf", "the same on paper"), ("year.png", "the first sheet of that")):
        voice.line(f"  {folder / name}: {what}")
    voice.line("Look at them, and try these:")
    voice.line(f"  fent book report jobs --workroom {stash}")
    voice.line(f'  fent cloth life "{scenario.CLOTHS[0].name}" --picture life.png --workroom {stash}')


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

    lays.chalk(workroom, lay.number, by=scenario.WHO)
    voice.line()
    voice.line("FOR THE CUTTING TABLE")
    _the_papers(voice, workroom, folder, lay.number)
    voice.line()
    voice.line("THE CUT")
    answers.after_the_cut(voice, cutting.cut(workroom, lay.number, by=scenario.WHO))
    _labels(voice, workroom, folder, lay.number)
    _draw_bin(voice, workroom, folder / "bin-after.png")


def _the_papers(voice: Voice, workroom: Workroom, folder: Path, number: int) -> None:
    """What someone takes to the bin and to the table: the list to pull by, and the docket."""
    from stash import dockets

    from .docket import TAPE
    from .docket_page import dockets as drawn
    from .printing import a_paper
    from .pull_page import pull_list

    on = a_paper("A4")
    pull_list(dockets.to_pull(workroom, [number]), on, voice.shown).save(folder / f"pull-{number}.pdf")
    lay, found = dockets.docket(workroom, number)
    drawn(lay, found, on, voice.shown, TAPE).save(folder / f"docket-{number}.pdf")
    voice.line(f"What to pull, place by place, is in {folder / f'pull-{number}.pdf'}.")
    voice.line(f"The docket, by which it is chalked and cut, is in {folder / f'docket-{number}.pdf'}.")


def _labels(voice: Voice, workroom: Workroom, folder: Path, number: int) -> None:
    from stash import keepers

    from .label_page import KNOWN, label_sheets
    from .printing import a_paper

    left = keepers.of_lay(workroom, number)
    if left:
        label_sheets(left, KNOWN["A4"][0], a_paper("A4"), voice.shown, rim=True).save(folder / "labels.pdf")
        voice.line(f"Labels for what is left are in {folder / 'labels.pdf'}.")


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
