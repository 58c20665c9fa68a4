"""`fent book audit`: the whole stash gone through, and every fault told with its place and its way out."""

from __future__ import annotations

import typer

from . import options
from .saying import Voice, many


def audit(
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """Go through the whole stash.

    Every entry is added up; each remnant is held against its outline, what it was cut from and what the book has of it; each
    lay against the cloth it lies on. Nothing is changed. If anything is wrong, it is told with its place and its way out, and
    the command ends with status 1.

    \b
    Example:
      fent book audit
        Nothing is wrong with 7 entries, 2 cloths, 6 remnants, 1 envelope, 0 lays and 0 photographs.
    """
    from stash import Workroom
    from stash import audit as auditing

    voice = Voice(as_json=as_json, plain=plain)
    with Workroom.open(workroom, create=False) as opened:
        found = auditing.audit(opened)
    voice.data(found)
    counts = (
        (found.cloths, "cloth"),
        (found.remnants, "remnant"),
        (found.envelopes, "envelope"),
        (found.lays, "lay"),
        (found.photographs, "photograph"),
    )
    entries = "1 entry" if found.entries == 1 else f"{found.entries} entries"
    looked_at = f"{entries}, {', '.join(many(*each) for each in counts[:-1])} and {many(*counts[-1])}"
    if found.clean:
        voice.headline(f"Nothing is wrong with {looked_at}.", good=True)
        return
    voice.headline(f"{many(len(found.faults), 'fault')} in {looked_at}:", good=False)
    for number, fault in enumerate(found.faults, 1):
        voice.line()
        voice.line(f"{number}. {fault.place}: {fault.damage}.")
        voice.line(f"   {fault.what}.")
        voice.line(f"   Way out: {fault.way_out}.")
    raise typer.Exit(1)
