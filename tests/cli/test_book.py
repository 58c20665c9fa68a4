"""`fent book`."""

from __future__ import annotations

import json

from .conftest import Type


def test_the_balance_sums_to_zero(stocked: Type) -> None:
    said = stocked("book", "balance")
    assert said.status == 0
    assert said.data.splitlines()[0].split() == ["account", "m²", "g"]
    assert said.data.splitlines()[-2:] == [
        "in all        0.00000000    0.000",
        "The book balances: its 3 entries sum to exactly zero, in area and in mass.",
    ]
    found = json.loads(stocked("book", "balance", "--json").data)
    assert sum(total["area"] for total in found["totals"]) == 0
    assert sum(total["mass"] for total in found["totals"]) == 0
    assert {total["account"]: total["area"] for total in found["totals"]}["bin"] == 24_800_000 + 4_890_000 + 5_600_000


def test_the_entries(stocked: Type) -> None:
    said = stocked("book", "list", "--last", "1")
    lines = said.data.splitlines()
    assert len(lines) == 3
    assert "in: found" in lines[1]
    assert "−0.05600000" in lines[1]
    assert "0.05600000" in lines[2]
    assert len(json.loads(stocked("book", "list", "--json").data)) == 3
    assert len(json.loads(stocked("book", "list", "--remnant", "N-02", "--json").data)) == 1


def test_what_became_of_an_entry_is_said_with_it(stocked: Type) -> None:
    stocked("book", "currency", "EUR")
    assert stocked("bin", "sell", "N-01", "--price", "2.50", "--to", "a neighbour", "--by", "AK").status == 0
    assert "sold to a neighbour, 2.50  AK" in stocked("book", "list", "--last", "1").data
    said = stocked("book", "undo", "4", "--why", "it was N-02", "--by", "AK")
    assert (said.status, said.data) == (0, "")
    assert said.words.splitlines() == ["Entry 4 (sold) is undone by entry 5: it was N-02.", "Back again: N-01."]
    listed = stocked("book", "list").data
    assert "undone: entry 4" in listed
    assert "sold to a neighbour, 2.50, undone by 5" in listed
    again = stocked("book", "undo", "4", "--why", "twice", "--by", "AK")
    assert again.status == 1
    assert "is undone already, by entry 5" in again.words
