"""`fent book`: the cloth book, the balanced record of every event."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import auditing, commands, copying, options, questions, reading, reporting
from .saying import Voice
from .shown import money

if TYPE_CHECKING:
    from stash.book import Balance, Entry

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
            8  2026-11-25 18:14  cut     AK  bin               N-02                      −0.24800000  −45.880
                                             cut work: wedge   N-02                       0.09965550   18.436
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
        said = [str(entry.number), f"{entry.at:%Y-%m-%d %H:%M}", _what(entry), entry.by]
        for line in entry.lines:
            account = f"{line.account}: {line.detail}" if line.detail else str(line.account)
            whose = line.remnant or line.envelope or line.job or ""
            rows.append([*said, account, whose, square_metres(line.area), grams(line.mass)])
            said = ["", "", "", ""]
    voice.table(["entry", "when", "what", "by", "account", "remnant, envelope or job", "m²", "g"], rows, right=[0, 6, 7])


@app.command("undo", cls=commands.Command)
def undo(
    entry: Annotated[
        int, typer.Argument(metavar="ENTRY", parser=reading.a_number, help="Its number in the book.", show_default=False)
    ],
    why: Annotated[
        str, typer.Option("--why", metavar="WORDS", help="Why it is undone: it stays in the book.", show_default=False)
    ] = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Undo an entry.

    Nothing is taken out of the book: the same amounts are moved back, under the reason, and everything is as it was before. If
    later entries stand on it, they are named, and must be undone first.

    \b
    Example:
      fent book undo 8 --why "two more were spoiled" --by AK
        Entry 8 (cut) is undone by entry 9: two more were spoiled.
        Back again: N-02, N-03. Struck out: N-02A, N-03A.
    """
    from stash import Workroom, undoing

    voice = Voice(as_json=as_json)
    reason = questions.needed(why, "--why", "why it is undone", "Why is it undone")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = undoing.undo(opened, entry, why=reason, by=who)
    voice.data(done)
    voice.aside(f"Entry {entry} ({done.undone.event}) is undone by entry {done.entry.number}: {done.entry.note}.")
    tags = (("Back again", done.back), ("Struck out", done.struck_out))
    said = [f"{word}: {', '.join(found)}." for word, found in tags if found]
    if said:
        voice.aside(" ".join(said))


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


app.command("report", cls=commands.Command)(reporting.report)
app.command("audit", cls=commands.Command)(auditing.audit)
app.command("export", cls=commands.Command)(copying.export)
app.command("import", cls=commands.Command)(copying.take_in)


def _what(entry: Entry) -> str:
    """What happened, to whom it went and for how much, and whether it still stands."""
    if entry.undoes is not None:
        return f"{entry.event}: entry {entry.undoes}"
    said = f"{entry.event}{f' to {entry.whom}' if entry.whom else ''}"
    if entry.price is not None:
        said += f", {money(entry.price)}"
    return f"{said}, undone by {entry.undone_by}" if entry.undone_by is not None else said


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
