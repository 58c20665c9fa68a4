"""The page of a report as a browser shows it, at a phone's width and at a desk's: headless Chromium (Debian's package).

It runs in the slow tier. `.ci/run` installs the browser where there is none; elsewhere the tests are skipped without it.
"""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread

from .test_reporting import found as found
from .test_reporting import page as page
from .test_reporting import year as year

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
ABSENT = "there is no headless Chromium here (Debian's package chromium)"
PHONE, DESK = 390, 1280
pytestmark = [pytest.mark.slow, pytest.mark.skipif(BROWSER is None, reason=ABSENT)]
MEASURE = (
    "<script>parent.postMessage([document.documentElement.scrollWidth, innerWidth, document.documentElement.scrollHeight, "
    "Math.min(...[...document.querySelectorAll('svg text')].map(t => t.getBoundingClientRect().height)), "
    "[...document.querySelectorAll('td, th, dd, p, h1, h2')].filter(e => e.getBoundingClientRect().width == 0).length"
    "].join(' '), '*')</script></body>"
)


def browse(folder: Path, *options: str) -> str:
    """What Chromium prints, opened without anything that it could load from elsewhere."""
    command = [
        str(BROWSER),
        *("--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars"),
        *("--disable-background-networking", "--disable-component-update", "--no-first-run", "--virtual-time-budget=3000"),
        f"--user-data-dir={folder / 'profile'}",
        *options,
    ]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False, cwd=folder)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


@pytest.fixture
def file(page: str, tmp_path: Path) -> Path:
    path = tmp_path / "year.html"
    path.write_text(page, encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_it_fits_its_width_and_can_be_read(file: Path, page: str, tmp_path: Path, width: int) -> None:
    """Measured by a copy that may run a script: the page itself has none. Chromium makes no window narrower than 500."""
    framed = tmp_path / "framed.html"
    copy = re.sub(r"<meta http-equiv[^>]*>", "", page).replace("</body>", MEASURE)
    listen = "<script>addEventListener('message', e => document.title = e.data)</script>"
    framed.write_text(f'{listen}<iframe width="{width}" height="900" style="border: 0" srcdoc="{html.escape(copy)}"></iframe>')
    shown = browse(tmp_path, "--window-size=1400,1000", "--dump-dom", framed.as_uri())
    said = re.search(r"<title>([\d. ]+)</title>", shown)
    assert said, shown[:300]
    across, inside, down, least, hidden = map(float, said[1].split())
    assert inside == width
    assert across <= width  # what is wider scrolls in a box of its own
    assert down > 1500
    assert least >= 7.0  # px: the smallest letters of the charts
    assert hidden == 0


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_it_is_drawn_in_black_grey_and_white(file: Path, tmp_path: Path, width: int) -> None:
    picture = tmp_path / "page.png"
    browse(tmp_path, f"--window-size={max(width, 500)},2400", f"--screenshot={picture}", file.as_uri())
    dots = imread(picture)[..., :3]
    colour = np.max(dots, axis=2) - np.min(dots, axis=2)
    # Letters are smoothed in colour on some screens; nothing else may have any.
    assert float(np.mean(colour > 0.2)) < 0.01
    grey = dots.mean(axis=2)
    shades = [float(np.mean(abs(grey - shade / 255) < 0.02)) for shade in (0x2B, 0x8A, 0xD4, 0xFF)]
    assert all(share > 0.0005 for share in shades), shades
    assert 0.005 < float(np.mean(grey < 0.5)) < 0.5


def test_it_asks_nothing_of_anybody(file: Path, tmp_path: Path) -> None:
    """The browser's own log of the network names no address but the file's, and those of its makers that it asks by itself."""
    log = tmp_path / "net.json"
    browse(tmp_path, f"--log-net-log={log}", "--dump-dom", file.as_uri())
    asked = set(re.findall(r'"url":"((?!file:|data:|chrome|about:)[^"]+)"', log.read_text(errors="ignore")))
    mine = {url for url in asked if not re.search(r"//[\w.-]*(google|gstatic|chromium|gvt1)[\w.]*/", url)}
    assert not mine


def test_a_page_that_loads_something_would_be_noticed(page: str, tmp_path: Path) -> None:
    bad = tmp_path / "bad.html"
    loads = '<img src="http://127.0.0.1:9/x.png"></body>'
    bad.write_text(re.sub(r"<meta http-equiv[^>]*>", "", page).replace("</body>", loads))
    log = tmp_path / "net.json"
    browse(tmp_path, f"--log-net-log={log}", "--dump-dom", bad.as_uri())
    assert "http://127.0.0.1:9/x.png" in log.read_text(errors="ignore")
