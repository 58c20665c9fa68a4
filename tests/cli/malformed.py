"""Malformed drawings and tables, made from good ones by a seeded hand, and what Fent says to each.

Each is wrong by how it was made: cut off, a figure made a word, a tag left open, a name that is not there. Whatever it is, the
status must be 2 with a reason and what was expected, and nothing is kept. `python -m tests.cli.malformed` prints all.
"""

from __future__ import annotations

import contextlib
import gzip
import hashlib
import io
import json
import os
import random
import re
import resource
import tempfile
from collections.abc import Callable
from pathlib import Path

from cli.main import run
from stash import Workroom, drawing_files, drawings, lists, patterns, piece_lists, remnants

SEED = 20261125
EACH = {"svg": 80, "dxf": 60, "jsonl": 40, "csv": 20}
Rng = random.Random
NUMBERS = re.compile(r"(?<=[ ,])-?\d+(?:\.\d+)?")


def some_number(text: str, rng: Rng, instead: str, within: str = r"(?s).*") -> str:
    """The text with one of its figures, in what `within` finds, made something else."""
    part = rng.choice(list(re.finditer(within, text)))
    found = rng.choice(list(NUMBERS.finditer(part[0])))
    at = part.start() + found.start()
    return text[:at] + instead + text[at + len(found[0]) :]


def cut_off(text: str, rng: Rng) -> str:
    return text[: rng.randrange(len(text) // 20, len(text) * 19 // 20)]


def into(text: str, what: str, rng: Rng, at: str) -> str:
    """The text with something put in at one of the places that `at` finds."""
    place = rng.choice(list(re.finditer(at, text)))
    return text[: place.end()] + what + text[place.end() :]


def outline(text: str) -> str:
    """What a good drawing calls its outline."""
    return "cut line" if "cut line" in text else "remnant"


PATH = r'data-line="[^"]*"[^>]* d="[^"]*"'
SVG: list[Callable[[str, Rng], str | bytes]] = [
    cut_off,
    lambda text, rng: some_number(text, rng, rng.choice(["wide", "1..2", "--3", "1e", "NaN", "0x1f", "½"]), PATH),
    lambda text, rng: some_number(text, rng, rng.choice(["1e8", "-99999999", "1e300", "1e9999"]), PATH),
    lambda text, rng: into(
        text, rng.choice([" 7", " X", ",", " L", " A 1 1 0 3 0 5 5"]), rng, r'data-line="[^"]*"[^>]* d="[^"]*(?=")'
    ),
    lambda text, rng: into(text, "<g>", rng, r"<g [^>]*>"),
    lambda text, rng: into(
        text, f'<g transform="{rng.choice(["turn(9)", "rotate(", "matrix(1 2)", "scale(a)"])}"/>', rng, r"<g [^>]*>"
    ),
    lambda text, rng: into(text, "<g>" * 80 + "</g>" * 80, rng, r"<g [^>]*>"),
    lambda text, rng: into(
        text, f'<use href="{rng.choice(["#part-1", "#none", "x.svg#a", "file:///etc/passwd"])}"/>', rng, r"<g [^>]*>"
    ),
    lambda text, rng: text.replace(
        "<svg", f'<!DOCTYPE svg [<!ENTITY e {rng.choice(["SYSTEM", ""])} "file:///etc/passwd">]><svg', 1
    ),
    lambda text, rng: re.sub(r'viewBox="[^"]*"', f'viewBox="{rng.choice(["0 0 0 9", "1 2 3", "all", "0 0 -5 5", ""])}"', text),
    lambda text, rng: re.sub(r'(?<=<svg )(.*?)width="[^"]*" height="[^"]*"', r'\1width="100%"', text),
    lambda text, rng: re.sub(r'data-line="(cut line|remnant)"', 'data-line="?"', text),
    lambda text, rng: into(text, rng.choice(["\x00", "\x08", "&nbsp;", "<", "&"]), rng, r"<title>"),
    lambda text, rng: gzip.compress(text.encode())[: -rng.randrange(1, 20)],
    lambda text, rng: gzip.compress(text.encode() + b" " * 2**24),
    lambda text, rng: bytes(rng.randrange(256) for _ in range(200)),
    lambda text, rng: b"\xef\xbb\xbf" + text.encode("utf-16"),
    lambda text, rng: text.replace("Z", "", text.count("Z")),
    lambda text, rng: re.sub(r'<path data-line="grain line"[^>]*>', "", text).replace("selvedge", "raw edge"),
    lambda text, rng: into(text, f'<path data-line="{outline(text)}" d="M 0 0 L 9 9 L 9 0 L 0 9 Z"/>', rng, r"<g [^>]*>"),
]
DXF: list[Callable[[str, Rng], str | bytes]] = [
    cut_off,
    lambda text, rng: text.replace("\n 10\n", f"\n {rng.choice(['ten', '1O', '-', ''])}\n", rng.randrange(1, 3)),
    lambda text, rng: re.sub(
        r"(LWPOLYLINE(?s:.*?)\n 10\n)[^\n]*", rf"\g<1>{rng.choice(['wide', 'nan', 'inf', '1e12', ''])}", text
    ),
    lambda text, rng: text.replace("  2\nENTITIES", f"  2\n{rng.choice(['ENTITY', 'WORDS', ''])}", 1),
    lambda text, rng: re.sub(r"(\$INSUNITS\n 70\n)\s*\d+", rf"\g<1>{rng.choice([0, 3, 18, 99])}", text),
    lambda text, rng: re.sub(r"(INSERT(?s:.*?)\n  2\n)[^\n]*", r"\g<1>nothing", text),
    lambda text, rng: text.replace("SECTION", "SELECTION"),
    lambda text, rng: "AutoCAD Binary DXF\r\n\x1a\x00" + text[: rng.randrange(400)],
    lambda text, rng: re.sub(r"(LWPOLYLINE(?s:.*?)\n 90\n)[^\n]*", r"\g<1>many", text),
    lambda text, rng: re.sub(r"(AcDbPolyline\n(?s:.*?)\n 70\n)[^\n]*", r"\g<1>0", text),
    lambda text, rng: text.replace("\n  8\n7\n", "\n  8\nsomething\n"),
    lambda text, rng: bytes(rng.randrange(1, 256) for _ in range(300)),
]
LINES: list[Callable[[str, Rng], str | bytes]] = [
    cut_off,
    lambda text, rng: some_number(text, rng, rng.choice(["NaN", "Infinity", "wide", "1e999", "--1", "0x1"]), r"\[\[.*?\]\]"),
    lambda text, rng: re.sub(
        r'"corners": \[\[.*?\]\]',
        f'"corners": {rng.choice(["[]", "7", "[[0, 0]]", "[[1]]", "{}", "[[0,0],[9,9],[9,0],[0,9]]"])}',
        text,
    ),
    lambda text, rng: text.replace('"corners"', rng.choice(['"corner"', '"points"', '""']), 1),
    lambda text, rng: re.sub(
        r'"(tag|piece)": "[^"]*"', rng.choice([r'"\1": ""', r'"\1": []', rf'"\1": "{"x" * 90}"']), text, count=1
    ),
    lambda text, rng: text + rng.choice(["[1]", "null", '{"a":' * 3000, "{,}", '"x"', "{}"]),
    lambda text, rng: text + text.splitlines()[0],
    lambda text, rng: re.sub(r'"edges": ("[^"]*"|\[.*?\])', f'"edges": {rng.choice(["7", "true", "[[]]"])}', text, count=1),
    lambda text, rng: text.encode("utf-16"),
]
TABLE = """\
tag,cloth,kind,length,width,corners,mass,drawing
N-21,blue linen,rectangle,30cm,20cm,,,
N-22,blue linen,,,,"0,0 9,0 9,9 cm",,
"""
ELSEWHERE = ("../x.svg", "/etc/passwd", "none.svg", "http://x/y.svg", "..", "a.svg")
CSV: list[Callable[[str, Rng], str | bytes]] = [
    lambda text, rng: text.replace("30cm", rng.choice(["wide", "-3cm", "0", "1e99", "9" * 60, "30 leagues"])),
    lambda text, rng: text.replace("length", rng.choice(["lenght", "tag", ""])),
    lambda text, rng: text + f"N-23,blue linen,drawing,,,,,{rng.choice(ELSEWHERE)}\n",
    lambda text, rng: text.replace("blue linen", rng.choice(["blu linen", "x" * 99, '"']), 1),
    lambda text, rng: text.replace("0,0 9,0 9,9", rng.choice(["0,0 9,9", "0,0 9,9 9,0 0,9", "0,0 9,0 x,9", "1,1 1,1 1,1"])),
    lambda text, rng: text.encode() + bytes([rng.randrange(0x80, 0xC0)]) * 3,
    lambda text, rng: text + 'N-24,"blue linen' + "x" * rng.randrange(1, 50),
    lambda text, rng: text.replace("N-22", rng.choice(["N-21", "N_2", "", "Ä", "L-1"])),
]


def good(folder: Path) -> dict[str, tuple[str, str]]:
    """A workroom with a piece and a remnant in it, and both as each kind of file."""
    from tests.stash.test_drawings import stock

    with Workroom.open(folder / "stash.fent") as opened:
        stock(opened)
        front, scrap = patterns.piece(opened, "apron", "front"), remnants.get(opened, "N-1")
    parts = (drawings.of_piece(front), drawings.of_remnant(scrap))
    drawn = {
        kind: [drawing_files.written(drawings.Drawing("d", (part,)), f".{kind}") for part in parts] for kind in ("svg", "dxf")
    }
    new = lists.written([scrap]).replace('"N-1"', '"N-9"')
    return {
        "svg": (drawn["svg"][0], drawn["svg"][1]),
        "dxf": (drawn["dxf"][0], drawn["dxf"][1]),
        "jsonl": (piece_lists.written([front]).replace('"apron"', '"smock"'), new),
        "csv": (TABLE, TABLE),
    }


def said_to(file: Path, *, piece: bool) -> tuple[int, str]:
    """What Fent answers to a file of pieces or of remnants."""
    table = file.suffix in (".jsonl", ".csv")
    typed = ["pattern", "add-many", str(file)] if piece and table else ["bin", "add-many", str(file)]
    if not table:
        typed = ["pattern", "from-drawing", "smock", str(file)]
        typed = typed if piece else ["bin", "from-drawing", str(file), "--cloth", "blue linen", "--tag", "N-9"]
    data, words = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(data), contextlib.redirect_stderr(words):
        status = run(typed)
    return status, words.getvalue()


def main() -> None:
    """Make them all, try each, and print what was said as JSON."""
    rng = random.Random(SEED)
    with tempfile.TemporaryDirectory() as name, contextlib.chdir(name):
        folder = Path(name)
        sound = good(folder)
        os.environ["FENT_WORKROOM"] = str(folder / "stash.fent")
        os.environ["FENT_HABITS"] = str(folder / "none.toml")
        before = kept(folder)
        answers = []
        for kind, count in EACH.items():
            spoil = {"svg": SVG, "dxf": DXF, "jsonl": LINES, "csv": CSV}[kind]
            for number in range(count):
                piece = kind != "csv" and number % 2 == 0
                text = sound[kind][0 if piece else 1]
                way = number // 2 % len(spoil)
                made = text
                while made == text:
                    made = spoil[way](text, rng)  # type: ignore[assignment]
                file = folder / f"m{number}.{kind}"
                file.write_bytes(made if isinstance(made, bytes) else made.encode("utf-8", "surrogatepass"))
                status, words = said_to(file, piece=piece)
                answers.append(
                    {"file": f"{kind} {way} {number}", "status": status, "words": words, "kept": kept(folder) != before}
                )
        print(json.dumps({"peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024, "answers": answers}))


def kept(folder: Path) -> str:
    """A fingerprint of all that is in the stash."""
    import sqlite3

    with contextlib.closing(sqlite3.connect(folder / "stash.fent")) as plain:
        return hashlib.sha256("\n".join(plain.iterdump()).encode()).hexdigest()


if __name__ == "__main__":
    main()
