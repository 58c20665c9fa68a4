"""`fent book`: the cloth book, the balanced record of every event."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .saying import Voice

if TYPE_CHECKING:
    from stash.book import Balance

app = options.noun(
    "book", "The cloth book.", "The cloth book: what came in, what was cut from it, what is left. It always sums to zero."
)


@app.command("balance")
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


@app.command("list")
def listing(
    remnant: Annotated[
        str | None, typer.Option("--remnant", metavar="TAG", help="Only what happened to this remnant.")
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
    """
    from stash import Workroom, book

    voice = Voice(as_json=as_json, plain=plain)
    with Workroom.open(workroom, create=False) as opened:
        entries = book.entries(opened, remnant=remnant, job=job, limit=last)
    voice.data(entries)
    rows = []
    for entry in entries:
        said = [str(entry.number), f"{entry.at:%Y-%m-%d %H:%M}", entry.event, entry.by]
        for line in entry.lines:
            account = f"{line.account}: {line.detail}" if line.detail else str(line.account)
            whose = line.remnant or line.job or ""
            rows.append([*said, account, whose, square_metres(line.area), grams(line.mass)])
            said = ["", "", "", ""]
    voice.table(["entry", "when", "what", "by", "account", "remnant or job", "m²", "g"], rows, right=[0, 6, 7])


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
