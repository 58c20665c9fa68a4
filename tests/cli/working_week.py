"""A working week in a tmux terminal, typed from the help alone: what it takes, in keystrokes and in waiting.

    python -m tests.cli.working_week [--say]

drives a shell in a tmux of its own as a person would, each answer typed when its question stands there. Twelve scraps are
logged in three ways (answering questions, on one line, from a table), two jobs are planned and cut; a remnant is not in its
place, another is moth-eaten, a panel is spoiled, keepers go into an envelope. It prints what every task took: two keystrokes a
second, and the waits as they were. With --say the screen is shown after each task. The workroom, its cloth and its jobs are
invented.

It needs tmux (Debian and its like: apt-get install tmux), and nothing else that Fent does not.
"""

from __future__ import annotations

import os
import re
import select
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

PROMPT = "§ "
QUESTION = ": "
KEYS_A_SECOND = 2.0
PATIENCE = 180.0  # s for one answer: a first search compiles
SETTLED = 0.05  # s without anything new: what stands there is a question, not half a line
PROJECT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Task:
    """Something that is done: its kind, the command, and the answer to each question, known by some words of it. Of several
    answers to the same question the last stands for all that follow.

    Of a bag of scraps each is a task: the command is None where the first question stands there already, and it `goes_on`
    where the question for the next scrap ends it.
    """

    what: str
    kind: str
    command: str | None
    answers: Mapping[str, Sequence[str]] = field(default_factory=dict)
    goes_on: bool = False


@dataclass
class Took:
    """What a task took, and what was seen."""

    task: Task
    keys: int = 0
    waited: float = 0.0
    seen: str = ""

    @property
    def seconds(self) -> float:
        return self.keys / KEYS_A_SECOND + self.waited


class Terminal:
    """A shell in a tmux of its own, which no other tmux of this person sees."""

    def __init__(self, folder: Path) -> None:
        self.name = f"fent-week-{os.getpid()}"
        self.surroundings = {**os.environ, **_surroundings(folder)}  # tmux takes the path from whoever calls it
        said = folder / "said"
        os.mkfifo(said)
        self.handle = os.open(said, os.O_RDONLY | os.O_NONBLOCK)
        self.tmux("-f", os.devnull, "new-session", "-d", "-x", "110", "-y", "50", "sleep infinity")
        self.tmux("pipe-pane", "-O", f"exec cat > {said}")
        self.tmux("respawn-pane", "-k", "-c", str(folder), "bash", "--norc", "--noprofile", "-i")
        self.read()

    def tmux(self, *words: str) -> str:
        """A command to that tmux; what it answers."""
        words = ("tmux", "-L", self.name, *words)
        return subprocess.run(words, check=True, capture_output=True, text=True, env=self.surroundings).stdout

    def type(self, line: str) -> tuple[str, float]:
        """Type a line and Enter; what came up to the next question or the shell's prompt, and how long that took."""
        if line:
            self.tmux("send-keys", "-l", "--", line)
        began = time.monotonic()
        self.tmux("send-keys", "Enter")
        seen = self.read()
        return seen, time.monotonic() - began

    def read(self) -> str:
        """What comes until it waits for an answer."""
        seen, ends = b"", time.monotonic() + PATIENCE
        while time.monotonic() < ends:
            ready, _, _ = select.select([self.handle], [], [], SETTLED)
            if ready and (more := os.read(self.handle, 65536)):
                seen += more
            elif seen.decode(errors="replace").endswith((PROMPT, QUESTION)):
                return seen.decode(errors="replace").replace("\r\n", "\n")
        raise AssertionError(f"no answer came; the last that was seen:\n{seen.decode(errors='replace')[-2000:]}")

    def screen(self) -> str:
        """What stands on the screen now."""
        return self.tmux("capture-pane", "-p").rstrip() + "\n"

    def leave(self) -> None:
        self.tmux("kill-server")
        os.close(self.handle)


def _surroundings(folder: Path) -> dict[str, str]:
    """What the shell knows: where `fent` is, and a workroom, initials and a prompt of its own."""
    command = folder / "fent"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c "from cli.main import main; main()" "$@"\n')
    command.chmod(0o755)
    return {
        "PATH": f"{folder}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(PROJECT),
        "PS1": PROMPT,
        "FENT_WORKROOM": str(folder / "week.fent"),
        "FENT_HABITS": str(folder / "habits.toml"),
        "FENT_BY": "AK",
    }


def rough(what: str, size: str, tag: str = "", cloth: str = "", place: str = "", **said: object) -> Task:
    """A scrap logged by the questions; what is not said here is as it was proposed, and Enter takes it."""
    answers = {"Tag": [tag], "Cloth": [cloth], "largest rectangle": [size], "Place": [place]}
    return one_of_a_bag(f"log {what}, rough", ROUGH, answers, **said)


def bitten(what: str, size: str, bite: str, tag: str = "", place: str = "", **said: object) -> Task:
    """A rectangle with a bite, by the questions."""
    outline = {"largest rectangle": ["b"], "The rectangle": [size], "bite": [bite, ""], "Is that it": [""]}
    answers = {"Tag": [tag], "Cloth": [""], **outline, "Place": [place]}
    return one_of_a_bag(f"log {what}, a rectangle with a bite", BITTEN, answers, **said)


def one_of_a_bag(what: str, kind: str, answers: dict[str, list[str]], *, first: bool = True, last: bool = True) -> Task:
    answers["Another"] = ["" if last else "y"]
    return Task(what, kind, "fent bin add" if first else None, answers, goes_on=not last)


ROUGH, BITTEN = "rough log", "rectangle with a bite"
TABLE = "tag,cloth,kind,length,width,place\n" + "".join(
    f"N-{number},navy linen,rectangle,{length}cm,{width}cm,blue bag\n"
    for number, (length, width) in enumerate([(44, 31), (37, 26), (52, 24)], start=10)
)
LATER = {"spoiled": [""], "not cut": [""], "one by one": ["later"], "is it so": ["later"]}
WEIGHED = {"call it": ["ecru calico"], "made of": ["cotton"], "weighs": ["50x40cm: 27 g"], "scale": ["0.1"]}
ONE_BY_ONE = {"spoiled": ["3"], "not cut": [""], "one by one": ["one"], "is it so": ["env", "yes"]}
INTO_THE_ENVELOPE = ONE_BY_ONE | {"Which envelope": [""], "What it weighs": ["4"]}
WEEK = (
    Task("read the day's work", "help", "fent help"),
    Task("a cloth", "cloth", "fent cloth add", {"call it": ["navy linen"], "made of": ["linen"], "weighs": ["185"]}),
    Task("a cloth from a weighed piece", "cloth", "fent cloth add", WEIGHED),
    # Monday: scraps come in
    rough("N-1", "62x40cm", tag="n-1", cloth="n", place="drawer 1", last=False),
    rough("N-2", "58x31cm", first=False, last=False),
    rough("N-3", "30 1/2x21 in", place="drawer 2", first=False, last=False),
    rough("E-1", "71x52cm", tag="e-1", cloth="e", first=False),
    rough("E-2, by itself", "40x38cm"),
    bitten("N-4", "66x42cm", "far right: 8x5cm", tag="n-4", last=False),
    bitten("N-5", "24 1/2x16in", "near left: 3x2in", first=False),
    Task("log N-6", "log on one line", 'fent bin add n-6 --cloth "navy linen" --size 55x33cm'),
    Task("log E-3, corners", "log on one line", 'fent bin add e-3 --cloth "ecru calico" --points "0,0 61,2 60,38 0,36 cm"'),
    Task("log three from a table", "table", "fent bin add-many monday.csv"),
    Task("an envelope of offcuts", "envelope", 'fent envelope add ne-1 --cloth "navy linen" --mass 40g'),
    Task("what is in the bin", "list", "fent bin list"),
    # Tuesday: a cushion
    Task(
        "a tapered panel",
        "pattern",
        "fent pattern add cushion wedge",
        {
            "tapered": [""],
            "along the grain": ["21cm"],
            "wide": ["84mm"],
            "narrow": ["2cm"],
            "widths are on": [""],
            "How many are sewn": [""],
            "allowance": ["1cm"],
        },
    ),
    Task("a job of 24", "job", 'fent job add cushion --piece "cushion/wedge: 24" --cloth "navy linen"'),
    Task("try a lay", "lay", "fent lay try cushion --seconds 5 --keep 1"),
    Task("chalk it", "lay", "fent lay chalk 1"),
    Task("one of its remnants is not there", "reality", "fent bin not-there {used}"),
    Task("plan it again round the rest", "lay", "fent lay again 1 --seconds 5"),
    Task("chalk the new one", "lay", "fent lay chalk 2"),
    Task("cut it: one spoiled, a keeper into the envelope", "reality", "fent lay cut 2", INTO_THE_ENVELOPE),
    Task("one more for the spoiled one", "lay", "fent lay try cushion --seconds 5 --keep 1"),
    Task("chalk it", "lay", "fent lay chalk 3"),
    Task("cut it, the keepers later", "reality", "fent lay cut 3", LATER),
    # Wednesday: moth
    Task("moth in one", "reality", 'fent bin quarantine e-2 --why "moth in the fold"'),
    Task("the other turned up", "reality", "fent bin found-again {used}"),
    # Thursday: a bag
    Task("a piece by its corners", "pattern", 'fent pattern add bag body --points "0,0 26,0 26,18 0,16 cm" --allowance 1cm'),
    Task("a job of 4", "job", 'fent job add bag --piece "bag/body: 4" --cloth "ecru calico"'),
    Task("try a lay", "lay", "fent lay try bag --seconds 5 --keep 1"),
    Task("chalk it", "lay", "fent lay chalk 4"),
    Task("cut it, the keepers later", "reality", "fent lay cut 4", LATER),
    # Friday
    Task("all keepers as the book says", "reality", "fent bin keepers", {"one by one": ["all"], "is it so": ["yes"]}),
    Task("balance the book", "book", "fent book balance"),
)


def live_through_it(folder: Path, *, say: bool = False) -> list[Took]:
    """Type the whole week; what each task took."""
    (folder / "monday.csv").write_text(TABLE, encoding="utf-8")
    terminal, known, found = Terminal(folder), {"used": ""}, []
    for task in WEEK:
        took = done(terminal, task, known)
        pulled = re.search(r"Pull (\S+) from", took.seen)
        known["used"] = known["used"] or (pulled[1] if pulled else "")
        if say:
            print(f"\n=== {task.what}\n{terminal.screen()}", flush=True)
        found.append(took)
    terminal.leave()
    return found


def done(terminal: Terminal, task: Task, known: Mapping[str, str]) -> Took:
    """Type a command, and answer what it asks."""
    took, times = Took(task), dict.fromkeys(task.answers, 0)
    line, asked = (task.command.format(**known), "") if task.command else (task.answers["Tag"][0], "Tag")
    while True:
        seen, waited = terminal.type(line)
        took.keys += len(line) + 1
        took.waited += waited
        took.seen += seen
        if seen.endswith(PROMPT) or (task.goes_on and asked == "Another"):
            return took
        question = seen.splitlines()[-1]
        asked = next((words for words in task.answers if words in question), "")
        if not asked:
            raise AssertionError(f"{task.what}: nobody knows an answer to {question!r}\n{took.seen}")
        answers = task.answers[asked]
        line = answers[min(times[asked], len(answers) - 1)]
        times[asked] += 1


def table(found: Sequence[Took]) -> str:
    """What each task took, and the medians of each kind of logging."""
    rows = ["| task | keystrokes | waits, s | in all, s |", "|---|---|---|---|"]
    rows += [f"| {took.task.what} | {took.keys} | {took.waited:.1f} | {took.seconds:.0f} |" for took in found]
    for kind in (ROUGH, BITTEN):
        took = [each.seconds for each in found if each.task.kind == kind]
        rows.append(f"\nMedian of {len(took)} × {kind}: {statistics.median(took):.0f} s.")
    keys, waited = sum(took.keys for took in found), sum(took.waited for took in found)
    return "\n".join([*rows, f"\nThe whole week: {keys} keystrokes and {waited:.0f} s of waiting."])


if __name__ == "__main__":
    if not shutil.which("tmux"):
        sys.exit("The working week is typed in a tmux terminal, and there is no tmux here. On Debian: apt-get install tmux")
    with tempfile.TemporaryDirectory() as name:
        print(table(live_through_it(Path(name), say="--say" in sys.argv)))
