"""Published utilisations of the strip instances, to hold the engine's against. Not part of the test run.

ESICUP datasets (CC0). Best and mean utilisations in % as tabled by Gardeyn, Vanden Berghe & Wauters 2025 (arXiv 2509.13329,
Tables 2-3): best of 100 runs of 20 min on 3 threads of a fast desktop; means of ten or more runs of 10-20 min. `older` is the
best mean before 2025 (Elkeran 2013, Sato et al. 2019, Wang et al. 2017, Leung et al. 2012, as that paper quotes them).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    best: float
    best_mean: float
    older_mean: float


STRIPS = {
    "albano": Published(89.82, 89.47, 88.01),
    "dagli": Published(90.17, 89.26, 87.50),
    "fu": Published(92.41, 92.24, 91.95),
    "mao": Published(86.87, 86.14, 83.76),
    "marques": Published(92.02, 90.93, 89.97),
    "shapes0": Published(69.98, 68.73, 68.73),
    "shapes1": Published(76.73, 75.86, 75.86),
    "blaz": Published(86.23, 84.68, 83.02),
    "shirts": Published(90.92, 89.66, 88.21),
    "swim": Published(79.83, 78.26, 74.66),
    "trousers": Published(92.62, 91.73, 90.48),
    "dighe1": Published(100.0, 100.0, 100.0),
    "dighe2": Published(100.0, 100.0, 100.0),
}
