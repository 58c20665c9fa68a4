"""Options that several commands share, defined once."""

from __future__ import annotations

from typing import Annotated

import typer

EVERYWHERE = "Everywhere"

Workroom = Annotated[
    str | None,
    typer.Option(
        "--workroom",
        metavar="FILE",
        envvar="FENT_WORKROOM",
        show_envvar=False,
        help="The workroom's stash: a file, or a database address. Without it FENT_WORKROOM, else a file among your own data.",
        rich_help_panel=EVERYWHERE,
    ),
]
AsJson = Annotated[
    bool,
    typer.Option("--json", help="Answer in JSON, for other programs (mm, mm², g).", rich_help_panel=EVERYWHERE),
]
Plain = Annotated[
    bool,
    typer.Option("--plain", help="No colours and no drawn lines.", rich_help_panel=EVERYWHERE),
]
ShowIn = Annotated[
    str,
    typer.Option(
        "--show-in",
        metavar="UNIT",
        envvar="FENT_SHOW_IN",
        show_envvar=False,
        help="How measures are shown: mm, cm or in. Always: set FENT_SHOW_IN.",
        rich_help_panel=EVERYWHERE,
    ),
]
By = Annotated[
    str,
    typer.Option(
        "--by",
        metavar="INITIALS",
        envvar="FENT_BY",
        show_envvar=False,
        help="Who does it, for the cloth book. Always the same person: set FENT_BY.",
    ),
]
WriteOver = Annotated[bool, typer.Option("--write-over", help="Write over the file if it is there already.")]


def noun(name: str, briefly: str, about: str) -> typer.Typer:
    """A group of commands. Typed alone, it shows its help."""
    group = typer.Typer(name=name, short_help=briefly, help=about, rich_markup_mode=None, pretty_exceptions_enable=False)

    @group.callback(invoke_without_command=True)
    def alone(context: typer.Context) -> None:
        if context.invoked_subcommand is None:
            typer.echo(context.get_help())

    return group
