"""Two hundred malformed drawings and tables: status 2 with a reason, little memory, no traceback, nothing kept."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from . import malformed

MOST_MEMORY = 10**9  # bytes, as the issue asks


@pytest.mark.slow
def test_malformed_files_are_refused_with_a_reason_and_nothing_is_kept() -> None:
    ran = subprocess.run([sys.executable, "-m", malformed.__name__], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    found = json.loads(ran.stdout)
    assert len(found["answers"]) == 200
    wrong = [each for each in found["answers"] if each["status"] != 2 or each["kept"] or "Expected:" not in each["words"]]
    assert not wrong
    assert not [each for each in found["answers"] if "Traceback" in each["words"] or "Fent itself" in each["words"]]
    assert found["peak"] < MOST_MEMORY
