"""`fent book export` and `import`."""

from __future__ import annotations

import json
from pathlib import Path

from .conftest import Type, fingerprint


def test_out_in_and_out_again(stocked: Type, tmp_path: Path) -> None:
    said = stocked("book", "export", "stash.jsonl")
    assert (said.status, said.data, said.words) == (0, "", "The whole stash is in stash.jsonl.\n")
    rows = sum(line.startswith(b'{"in": ') for line in (tmp_path / "stash.jsonl").read_bytes().splitlines())
    again = stocked("book", "import", "stash.jsonl", "--workroom", "again.fent")
    assert (again.status, again.data) == (0, "")
    assert again.words.startswith(f"The stash is there again: {rows} rows.")
    assert stocked("book", "export", "again.jsonl", "--workroom", "again.fent").status == 0
    assert (tmp_path / "again.jsonl").read_bytes() == (tmp_path / "stash.jsonl").read_bytes()
    assert stocked("book", "audit", "--workroom", "again.fent").status == 0
    told = stocked("book", "import", "stash.jsonl", "--workroom", "third.fent", "--json")
    assert json.loads(told.data)["rows"] == rows


def test_onto_the_screen(stocked: Type) -> None:
    said = stocked("book", "export")
    assert said.words == ""
    assert all(json.loads(line) for line in said.data.splitlines())


def test_nothing_is_written_over_or_mixed(stocked: Type, workroom: Path, tmp_path: Path) -> None:
    stocked("book", "export", "stash.jsonl")
    first = (tmp_path / "stash.jsonl").read_bytes()
    assert stocked("book", "export", "stash.jsonl").status == 2
    before = fingerprint(workroom)
    mixed = stocked("book", "import", "stash.jsonl")
    assert mixed.status == 1
    assert "there is something in" in mixed.words
    assert fingerprint(workroom) == before
    assert (tmp_path / "stash.jsonl").read_bytes() == first
    assert not list(tmp_path.glob("*.part"))


def test_a_file_that_is_none_of_ours(fent: Type, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear diary")
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8\xff\xe0" * 9)
    for name, what in (
        ("none.jsonl", "there is no file"),
        ("letter.txt", "it is no JSON object"),
        ("photo.jpg", "'photo.jpg' is no text"),
    ):
        said = fent("book", "import", name)
        assert said.status == 2
        assert what in said.words[:1].lower() + said.words[1:]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["letter.txt", "photo.jpg"]
