"""`fent bin`: the remnants, and where they are. This is its table of commands; they are grouped by what they are for."""

from __future__ import annotations

from . import (
    adding,
    amiss,
    bringing,
    commands,
    drawings_in,
    drawings_out,
    finding,
    flawing,
    keepers,
    labels,
    laundering,
    leaving,
    lives,
    parting,
    photographs,
    remnant,
    striping,
    tracing,
    yielding,
)

app = commands.noun(
    "bin", "The remnants, and where they are.", "The bin: every remnant with its tag, outline, faults and place."
)

for _name, _command in (
    ("add", adding.add),
    ("add-many", bringing.add_many),
    ("from-drawing", drawings_in.remnants_in),
    ("to-drawing", drawings_out.remnants_out),
    ("to-table", bringing.remnants_to_table),
    ("list", finding.listing),
    ("show", remnant.show),
    ("life", lives.of_remnant),
    ("photograph", photographs.photograph),
    ("trace", tracing.trace),
    ("trace-many", tracing.trace_many),
    ("scale-sheet", tracing.scale_sheet),
    ("picture", finding.picture),
    ("which", finding.which),
    ("yields", yielding.yields),
    ("binding", yielding.binding),
    ("mend", remnant.mend),
    ("bars", striping.bars),
    ("flaws", flawing.flaws),
    ("measure-again", amiss.measure_again),
    ("wash", laundering.wash),
    ("to-wash", laundering.to_wash),
    ("not-there", amiss.not_there),
    ("found-again", amiss.found_again),
    ("quarantine", amiss.quarantine),
    ("release", amiss.release),
    ("keepers", keepers.listing),
    ("confirm", keepers.confirm),
    ("labels", labels.labels),
    ("split", parting.split),
    ("join", parting.join),
    ("give", leaving.give),
    ("sell", leaving.sell),
    ("throw-away", amiss.throw_away),
):
    app.command(_name, cls=commands.Command)(_command)
