"""`fent bin give` and `sell`: remnants that leave the house for someone who can use them."""

from __future__ import annotations

from typing import Annotated

import typer

from . import options, questions, reading
from .remnant import Tag
from .saying import Voice
from .shown import money


def give(
    tag: Tag,
    to: Annotated[str, typer.Option("--to", metavar="WHOM", help="Who gets it.", show_default=False)] = "",
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Give a remnant away.

    It is gone, and stays in the book as given. One in quarantine is not given to anybody.

    \b
    Example:
      fent bin give N-04 --to "the school" --by AK
        N-04 is given to the school.
    """
    from stash import Workroom, leaving

    voice = Voice(as_json=as_json)
    whom = questions.needed(to, "--to", "who gets it", "Who gets it")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = leaving.give_away(opened, tag, to=whom, by=who, note=note)
    voice.data(done)
    voice.aside(f"{done.remnant.tag} is given to {' '.join(whom.split())}.")


def sell(
    tag: Tag,
    price: Annotated[
        int | None, typer.Option("--price", metavar="PRICE", parser=reading.a_price, help="What was paid for it: 12.50.")
    ] = None,
    to: Annotated[str, typer.Option("--to", metavar="WHOM", help="Who bought it.")] = "",
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Sell a remnant.

    It is gone, and stays in the book as sold, with its price.

    \b
    Example:
      fent bin sell N-04 --price 4.50 --to "a neighbour" --by AK
        N-04 is sold to a neighbour for 4.50 EUR.
    """
    from stash import Workroom, leaving, settings

    voice = Voice(as_json=as_json)
    if price is None:
        if not questions.at_a_terminal():
            raise questions.missing("--price", "what was paid for it, such as 12.50")
        price = questions.ask("What was paid for it", reading.a_price)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = leaving.sell(opened, tag, price=price, to=to, by=who, note=note)
        currency = settings.currency(opened)
    voice.data(done)
    buyer = f" to {' '.join(to.split())}" if to.strip() else ""
    voice.aside(f"{done.remnant.tag} is sold{buyer} for {money(price, currency)}.")
