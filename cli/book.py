"""`fent book`: the cloth book, the balanced record of every event."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import commands, options, reading
from .saying import Voice

if TYPE_CHECKING:
    from stash.book import Balance

app = commands.noun(
    "book", "The cloth book.", "The cloth book: what came in, what was cut from it, what is left. It always sums to zero."
)


@app.command("balance", cls=commands.Command)
def balance(
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """Show what every account holds.

    The whole book sums to exactly zero, in area and in mass.
    Cloth goes from one account into another: what one gives (−) others have (+).

    \b
    Example:
      fent book balance
        account               m²         g
        in           −1.50776486  −261.437
        bin           1.50776486   261.437
        …
    """
    from stash import Workroom, book

    voice = Voice(as_json=as_json, plain=plain)
    with Workroom.open(workroom, create=False) as opened:
        found = book.balance(opened)
    voice.data(found)
    show_balance(voice, found)


def show_balance(voice: Voice, found: Balance) -> None:
    """Every account, and the sum, which must be zero."""
    from stash import CannotBeDone

    rows = [[str(total.account), square_metres(total.area), grams(total.mass)] for total in found.totals]
    rows.append(["in all", square_metres(found.area), grams(found.mass)])
    voice.table(["account", "m²", "g"], rows, right=[1, 2])
    if not found.balanced:
        raise CannotBeDone(
            f"The book does not balance: it sums to {square_metres(found.area)} m² and {grams(found.mass)} g",
            expected="exactly 0 and 0",
            next="keep a copy of the stash before anything else is done with it",
        )
    voice.line(f"The book balances: its {found.entries} entries sum to exactly zero, in area and in mass.")


@app.command("list", cls=commands.Command)
def listing(
    remnant: Annotated[
        str | None, typer.Option("--remnant", metavar="TAG", help="Only what happened to this remnant.")
    ] = None,
    envelope: Annotated[
        str | None, typer.Option("--envelope", metavar="ENVELOPE", help="Only what happened to this envelope.")
    ] = None,
    event: Annotated[
        str | None, typer.Option("--what", metavar="EVENT", help="Only what is called so: logged, cut, lost, put away …")
    ] = None,
    job: Annotated[str | None, typer.Option("--job", metavar="JOB", help="Only what was cut for this job.")] = None,
    last: Annotated[
        int | None, typer.Option("--last", metavar="N", parser=reading.a_number, help="Only the last N entries.")
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """List the entries.

    The newest comes first.

    \b
    Example:
      fent book list --last 5
        entry  when              what    by  account           remnant, envelope or job           m²        g
            8  2026-11-25 14:42  cut     AK  bin               N-02                      −0.24800000  −45.880
                                             cut work: wedge   N-02                       0.09960704   18.426
        …
    """
    from stash import Workroom, book
    from stash.words import Event

    voice = Voice(as_json=as_json, plain=plain)
    kind = reading.one_of(Event, event, "--what") if event is not None else None
    with Workroom.open(workroom, create=False) as opened:
        entries = book.entries(opened, event=kind, remnant=remnant, envelope=envelope, job=job, limit=last)
    voice.data(entries)
    rows = []
    for entry in entries:
        said = [str(entry.number), f"{entry.at:%Y-%m-%d %H:%M}", entry.event, entry.by]
        for line in entry.lines:
            account = f"{line.account}: {line.detail}" if line.detail else str(line.account)
            whose = line.remnant or line.envelope or line.job or ""
            rows.append([*said, account, whose, square_metres(line.area), grams(line.mass)])
            said = ["", "", "", ""]
    voice.table(["entry", "when", "what", "by", "account", "remnant, envelope or job", "m²", "g"], rows, right=[0, 6, 7])


@app.command("currency", cls=commands.Command)
def currency(
    code: Annotated[
        str | None, typer.Argument(metavar="CODE", help="Its three letters: EUR, GBP, USD …", show_default=False)
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Show or choose the currency of all prices.

    \b
    Example:
      fent book currency EUR
        All prices are in EUR.
    """
    from stash import Workroom, settings

    voice = Voice(as_json=as_json)
    with Workroom.open(workroom, create=False) as opened:
        chosen = settings.choose_currency(opened, code) if code is not None else settings.currency(opened)
    voice.data({"currency": chosen})
    voice.line(f"All prices are in {chosen}." if chosen else "No currency is chosen yet.")


def square_metres(hundredths: int) -> str:
    """0.01 mm² as m², with every digit that the book holds.

    >>> square_metres(123_456_789), square_metres(-5), square_metres(0)
    ('1.23456789', '−0.00000005', '0.00000000')
    """
    return _exact(hundredths, 8)


def grams(milligrams: int) -> str:
    """Milligrams as g, with every digit that the book holds.

    >>> grams(86_250), grams(-1)
    ('86.250', '−0.001')
    """
    return _exact(milligrams, 3)


def _exact(amount: int, places: int) -> str:
    whole, part = divmod(abs(amount), 10**places)
    return f"{'−' if amount < 0 else ''}{whole}.{part:0{places}d}"
