"""`fent book audit`."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

from .conftest import Type


def test_a_sound_stash(stocked: Type) -> None:
    said = stocked("book", "audit")
    assert (said.status, said.words) == (0, "")
    assert said.data == "Nothing is wrong with 3 entries, 1 cloth, 3 remnants, 0 envelopes, 0 lays and 0 photographs.\n"
    assert json.loads(stocked("book", "audit", "--json").data)["faults"] == []


def test_what_is_wrong_is_told_with_its_place_and_its_way_out(stocked: Type, workroom: Path) -> None:
    with closing(sqlite3.connect(workroom, isolation_level=None)) as plain:
        plain.execute("UPDATE remnant SET length = 5 WHERE tag = 'N-01'")
    said = stocked("book", "audit")
    assert said.status == 1
    assert said.data.splitlines() == [
        "1 fault in 3 entries, 1 cloth, 3 remnants, 0 envelopes, 0 lays and 0 photographs:",
        "",
        "1. remnant N-01: its measures are not its outline's.",
        "   its length cannot be that of its outline.",
        "   Way out: Measure it again: fent bin measure-again N-01.",
    ]
    found = stocked("book", "audit", "--json")
    assert found.status == 1
    (fault,) = json.loads(found.data)["faults"]
    assert (fault["place"], fault["damage"]) == ("remnant N-01", "its measures are not its outline's")
