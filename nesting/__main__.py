"""The engine's own door: `python -m nesting solve CASE.json …` and `python -m nesting check CASE.json RESULT.json`."""

from __future__ import annotations

import argparse
import json
import math
import os
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from types import FrameType

from .documents import CaseFault
from .forms import Case, Result

DONE, CANNOT, WRONG_INPUT, FAULT, INTERRUPTED = 0, 1, 2, 3, 130
RESULT_FORM = "fent-result/1"


class Refused(Exception):  # noqa: N818 (not an error of the program)
    """What was asked for cannot be begun: the words say what, and what to do."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    asked = _parser().parse_args(argv)
    try:
        status: int = asked.run(asked)
    except (Refused, CaseFault) as refusal:
        _say(str(refusal))
        return WRONG_INPUT
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or Python complains of it once more at the end
        return DONE
    except KeyboardInterrupt:
        _say("interrupted before there was anything to write")
        return INTERRUPTED
    except Exception as fault:
        _say(f"a fault of the program, not of the case: {type(fault).__name__}: {fault}\nits log: {_log()}")
        return FAULT
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m nesting", description="Lay panels on sheets or on a strip.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    solve = commands.add_parser("solve", help="find a lay for a case and write it as a result")
    solve.add_argument("case", metavar="CASE.json", type=Path)
    solve.add_argument("--seconds", metavar="S", type=_seconds, default=10.0, help="how long to look (default: 10)")
    solve.add_argument(
        "--rounds", metavar="R", type=_whole(0), help="how many rounds to look, not how long: the same lay again"
    )
    solve.add_argument("--seed", metavar="N", type=_whole(0), default=0, help="of all that is left to chance (default: 0)")
    solve.add_argument("--workers", metavar="W", type=_whole(1), default=1, help="threads to search with (default: 1)")
    solve.add_argument("--out", metavar="RESULT.json", type=Path, help="where to write it (default: standard output)")
    solve.set_defaults(run=_solve)
    check = commands.add_parser("check", help="check a result against its case, independently of the search")
    check.add_argument("case", metavar="CASE.json", type=Path)
    check.add_argument("result", metavar="RESULT.json", type=Path)
    check.add_argument("--json", action="store_true", help="all that was found, as JSON")
    check.set_defaults(run=_check)
    return parser


def _seconds(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not 0 < number <= 1e7:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of seconds above 0")
    return number


def _whole(least: int) -> Callable[[str], int]:
    def number(text: str) -> int:
        if not (text.isascii() and text.isdigit() and len(text) < 19 and int(text) >= least):
            raise argparse.ArgumentTypeError(f"{text!r} is not a whole number of {least} or more")
        return int(text)

    return number


# --- solve ------------------------------------------------------------------------------------------------------------------


def _solve(asked: argparse.Namespace) -> int:
    from . import result_to_json

    case = _case(asked.case)
    _may_write(asked.out)
    found, interrupted = _search(case, asked)
    if found is None:
        _say("interrupted before there was a lay: nothing is written")
        return INTERRUPTED
    _write(result_to_json(found), asked.out)
    _say(_sentence(found, case) + (": interrupted, this is the best so far" if interrupted else ""))
    return INTERRUPTED if interrupted else DONE


def _search(case: Case, asked: argparse.Namespace) -> tuple[Result | None, bool]:
    """The best lay, and whether a person cut the search short: the first Ctrl-C asks it to end, the second ends it."""
    from . import kernels_are_kept, solve

    if not kernels_are_kept():
        _say("the search is compiled first, once on this machine: a quarter of a minute or so")
    best: list[Result] = []

    def on_better(result: Result) -> None:
        best[:] = [result]
        _say(_sentence(result, case))

    with _asked_to_stop() as stop:
        try:
            found: Result | None = solve(
                case,
                seconds=asked.seconds,
                rounds=asked.rounds,
                seed=asked.seed,
                workers=asked.workers,
                on_better=on_better,
                stop=stop,
            )
        except KeyboardInterrupt:
            return (best[0] if best else None), True
        return found, stop()


@contextmanager
def _asked_to_stop() -> Iterator[Callable[[], bool]]:
    """Within, the first interruption or request to end is only noted; the second is a KeyboardInterrupt."""
    noted: list[int] = []

    def note(number: int, frame: FrameType | None) -> None:
        if noted:
            raise KeyboardInterrupt
        noted.append(number)
        _say("stopping with the best so far (once more to stop at once)")

    before = {number: signal.signal(number, note) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield lambda: bool(noted)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _sentence(result: Result, case: Case) -> str:
    wanted = sum(panel.copies for panel in case.panels)
    words = f"{result.placed} of {wanted} placed"
    if case.strip is not None:
        return words if result.length is None else f"{words}, length {result.length:.2f} mm"
    words += f" on {len({placement.sheet for placement in result.placements})} of {len(case.sheets)} sheets"
    if result.placed < wanted and result.proved:
        return f"{words}, and more are proved impossible"
    return words if result.bound is None or result.placed == wanted else f"{words}, at most {result.bound} possible"


# --- check ------------------------------------------------------------------------------------------------------------------


def _check(asked: argparse.Namespace) -> int:
    from . import examine, read_result

    case = _case(asked.case)
    result = read_result(_bytes(asked.result), str(asked.result), notice=_say)
    found = examine(case, result)
    if asked.json:
        print(json.dumps(asdict(found) | {"legal": found.legal, "complete": found.complete}, ensure_ascii=False))
        return DONE if found.legal else CANNOT
    for fault in found.faults:
        print(fault)
    for sheet in found.sheets:
        for name, near in (("gap", sheet.gap), ("edge", sheet.edge), ("hole", sheet.hole), ("flaw", sheet.flaw)):
            if near is not None:
                (x, y), other = near.at[0], f"panel {near.other}" if name == "gap" else near.other
                words = f"narrowest {name} {near.distance:.3f} mm, panel {near.panel} to {other}"
                print(f"{sheet.sheet}: {words} at ({x:.1f}, {y:.1f})")
    print(f"{'legal' if found.legal else 'not legal'}: {found.placed} of {found.wanted} placed")
    return DONE if found.legal else CANNOT


# --- files and words --------------------------------------------------------------------------------------------------------


def _say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


def _case(path: Path) -> Case:
    from . import read_case

    return read_case(_bytes(path), str(path), notice=_say)


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as fault:
        raise Refused(f"{path} cannot be read: {fault.strerror}") from None


def _may_write(path: Path | None) -> None:
    """Refuse, before the search begins, a place where its result could not be written, or a file that is no result of ours."""
    if path is None:
        return
    if path.is_dir():
        raise Refused(f"{path} is a folder: expected the name of a file to write")
    if not path.parent.is_dir():
        raise Refused(f"{path.parent} is no folder: make it first, or name another place for the result")
    if not os.access(path.parent, os.W_OK):
        raise Refused(f"{path.parent} may not be written to: name another place for the result")
    if path.exists() and not _is_result(path):
        raise Refused(f"{path} is there already and is no result of this engine: it is not overwritten; name another file")


def _is_result(path: Path) -> bool:
    try:
        data = json.loads(_bytes(path))
    except (ValueError, RecursionError):
        return False
    return isinstance(data, dict) and data.get("form") == RESULT_FORM


def _write(data: dict[str, object], path: Path | None) -> None:
    """Write the result, whole or not at all: whoever reads the file meanwhile finds the old one or the new one."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False) + "\n"
    if path is None:
        sys.stdout.write(text)
        sys.stdout.flush()
        return
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            mask = os.umask(0)
            os.umask(mask)
            os.chmod(name, 0o666 & ~mask)  # as any new file, not closed to others as a temporary one is
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as fault:
        raise Refused(f"{path} cannot be written: {fault.strerror}") from None


def _log() -> str:
    """Where the traceback of a fault of the program is kept, for whoever mends it."""
    handle, name = tempfile.mkstemp(prefix="nesting-fault-", suffix=".log")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        traceback.print_exc(file=file)
    return name


if __name__ == "__main__":
    sys.exit(main())
