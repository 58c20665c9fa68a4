"""The cloth book against a worked ledger of the kind that every textbook of book-keeping begins with, re-cast in cloth.

The scheme is that of Pacioli's *Particularis de computis et scripturis* (in his *Summa*, Venice 1494; chapters from memory:
10 to 14, 31, 34): each entry of the journal names one account that receives and one that gives; both are posted to the ledger;
at the end the balance of all that was received and all that was given is drawn up (the *summa summarum*), and the two must be
the same. The ledger below is worked by hand in such T-accounts, in cm² and g, of a first month in a workroom; the figures are
our own. Fent must come to the same balances, account by account, and, where the T-account of the bin is closed and its balance
carried forward, to the same remnants.

Mass per area is that of ISO 3801:1977, method 5, and ASTM D3776-20, option C: mass of a cut piece ÷ its area.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from nesting import Placement, Result
from stash import (
    Workroom,
    asking,
    book,
    cloths,
    cutting,
    envelopes,
    jobs,
    lays,
    leaving,
    losing,
    measuring,
    outlines,
    patterns,
    remnants,
    settings,
    splitting,
    undoing,
    washing,
    weighing,
)
from stash.words import Account, Source

# The journal: (what, account that receives, account that gives, cm², g). Linen of 200 g/m²: 100 cm² weigh 2 g.
JOURNAL = (
    ("bought, A: 60 × 40 cm", "bin", "in", 2400, 48.0),
    ("given, B: 50 × 30 cm", "bin", "in", 1500, 30.0),
    ("found, C: 30 × 20 cm", "bin", "in", 600, 12.0),
    ("offcuts of 10 g into an envelope", "bin", "in", 500, 10.0),
    ("A washed: 57 × 40 cm are left; it weighs what it did", "shrunk", "bin", 120, 0.0),
    ("B is cut: four panels of 20 × 10 cm are good", "cut work", "bin", 600, 12.0),
    ("… one of them is spoiled", "rag bag", "bin", 200, 4.0),
    ("C measured again: it is 30 × 19 cm", "re-measured", "bin", 30, 0.6),
    ("C is lost", "lost", "bin", 570, 11.4),
    ("C is found again", "bin", "lost", 570, 11.4),
    ("C is sold", "out", "bin", 570, 11.4),
    ("4 g of the offcuts into the rag bag", "rag bag", "bin", 200, 4.0),
)


def t_accounts() -> dict[str, tuple[int, int]]:
    """The journal posted to its ledger: what each account received less what it gave, in 0.01 mm² and mg."""
    ledger: dict[str, tuple[int, int]] = {str(account): (0, 0) for account in Account}
    for _, receives, gives, cm2, g in JOURNAL:
        area, mass = cm2 * 10_000, round(g * 1000)
        ledger[receives] = ledger[receives][0] + area, ledger[receives][1] + mass
        ledger[gives] = ledger[gives][0] - area, ledger[gives][1] - mass
    return ledger


@pytest.fixture
def month(tmp_path: Path) -> Iterator[Workroom]:
    """The same month as it is told to Fent."""
    with Workroom.open(tmp_path / "month.fent") as opened:
        settings.choose_currency(opened, "EUR")
        cloths.add(opened, cloths.NewCloth(name="linen", fibres={"linen": 100}, weight=200.0))

        def log(tag: str, length: float, width: float, source: Source) -> None:
            outline = outlines.rectangle(length, width)
            remnants.log(opened, remnants.NewRemnant(tag=tag, cloth="linen", outline=outline, source=source), by="LP")

        log("A", 600, 400, Source.BOUGHT)
        log("B", 500, 300, Source.GIVEN)
        log("C", 300, 200, Source.FOUND)
        envelopes.add(opened, envelopes.NewEnvelope(tag="E", cloth="linen", mass=10.0), by="LP")
        washing.wash(opened, "A", "cold", measuring.Measures(outline=outlines.rectangle(570, 400)), by="LP")
        ring = ((0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0))
        patterns.add(opened, "bag", [patterns.NewPiece(name="side", ring=ring, allowance=0.0)])
        jobs.add(opened, "bags", [jobs.NewJobPiece(pattern="bag", piece="side", count=4)])
        asked = asking.ask(opened, "bags", gap=0.0, edge=0.0, only=["B"])
        (panel,) = asked.case.panels
        where = [(0.0, 0.0), (200.0, 0.0), (0.0, 100.0), (200.0, 100.0)]  # two above two in its corner; an L is left
        placements = tuple(Placement("B", panel.id, x, y) for x, y in where)
        lay = lays.record(opened, asked, Result(placements, placed=4, complete=True))
        lays.chalk(opened, lay.number, by="LP")
        cutting.cut(opened, lay.number, by="LP", spoiled=[4])
        measuring.measure_again(opened, "C", measuring.Measures(outline=outlines.rectangle(300, 190)), by="LP")
        losing.not_there(opened, "C", by="LP")
        losing.found_again(opened, "C", by="LP")
        leaving.sell(opened, "C", price=250, by="LP")
        envelopes.take_out(opened, "E", 4.0, by="LP")
        yield opened


def balances(workroom: Workroom) -> dict[str, tuple[int, int]]:
    return {str(total.account): (total.area, total.mass) for total in book.balance(workroom).totals}


def test_the_ledger_of_the_textbook_balances() -> None:
    ledger = t_accounts().values()
    assert (sum(area for area, _ in ledger), sum(mass for _, mass in ledger)) == (0, 0)


def test_fent_comes_to_the_same_balances(month: Workroom) -> None:
    assert balances(month) == t_accounts()


def test_the_bin_carried_forward_is_what_lies_in_it(month: Workroom) -> None:
    """57 × 40 cm of A, 48 g; of B what the cut has left; 6 g of offcuts, 300 cm²."""
    left = [remnants.get(month, "A"), *(remnants.get(month, tag) for tag in remnants.get(month, "B").children)]
    bag = envelopes.get(month, "E")
    assert (left[0].area, left[0].mass) == (228_000, 48.0)
    assert sum(each.area for each in left[1:]) == 70_000
    assert (bag.area, bag.mass) == (30_000, 6.0)
    area = round(sum(each.area for each in left) * 100) + round(bag.area * 100)
    assert area == t_accounts()["bin"][0]


def test_an_error_is_put_right_by_a_second_entry_not_by_a_stroke(month: Workroom) -> None:
    """Pacioli, chapter 31: an entry in the wrong place is not crossed out, but taken back by one on the other side."""
    before, count = balances(month), len(book.entries(month))
    done = splitting.split(month, "A", [splitting.across(200)], by="LP")
    undoing.undo(month, done.entry, why="it was not A that was split", by="LP")
    assert balances(month) == before
    assert len(book.entries(month)) == count + 2


@pytest.mark.parametrize(
    ("mass", "length", "width", "pieces", "expected"),
    [
        (2.0, 100, 100, 1, 200.0),  # ISO 3801 method 5, ASTM D3776 option C: a piece of 100 cm² weighs g/m² ÷ 100
        (12.5, 100, 100, 5, 250.0),  # ISO 3801 method 5: five pieces of 100 cm² weighed together
        (6.451, 254, 254, 1, 100.0),  # ASTM D3776, in inches: 10 in × 10 in, 6.45 g
    ],
)
def test_mass_per_area_by_the_standards(mass: float, length: float, width: float, pieces: int, expected: float) -> None:
    found = weighing.weigh_piece(mass, length, width, scale=0.005, tape=0.2, pieces=pieces)
    assert found.weight == pytest.approx(expected, rel=2e-4)


def test_less_than_the_standards_piece_is_not_weighed() -> None:
    """ASTM D3776 option C asks for at least 100 cm²."""
    from stash.refusals import Refused

    with pytest.raises(Refused, match="too little"):
        weighing.weigh_piece(1.9, 99, 100, scale=0.001, tape=0.01)
