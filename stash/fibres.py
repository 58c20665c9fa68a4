"""Fibres by their generic names, and a cloth's make-up as percentages that sum to 100.

Names: Regulation (EU) 1007/2011, Annex I; the man-made ones, the rarer others and the everyday names from memory. Letter codes
are read where they are unambiguous (DIN 60001-1 usage); HA is not.
"""

from __future__ import annotations

from collections.abc import Mapping

from .given import key_of
from .refusals import Refused

WHOLE = 10_000
"""100 %, in hundredths of a per cent."""

ANIMAL = (
    *("wool", "alpaca", "llama", "camel", "cashmere", "mohair", "angora", "vicuña", "yak", "guanaco", "cashgora"),
    *("beaver", "otter", "hair", "silk"),
)
PLANT = (
    "cotton",
    "kapok",
    "linen",
    "hemp",
    "jute",
    "abaca",
    "alfa",
    "coir",
    "broom",
    "ramie",
    "sisal",
    "sunn",
    "henequen",
    "maguey",
)
MAN_MADE = (
    *("acetate", "alginate", "cupro", "modal", "protein", "triacetate", "viscose", "acrylic", "chlorofibre", "fluorofibre"),
    *(
        "modacrylic",
        "polyamide",
        "aramid",
        "polyimide",
        "lyocell",
        "polylactide",
        "polyester",
        "polyethylene",
        "polypropylene",
    ),
    *("polyurea", "polyurethane", "vinylal", "trivinyl", "elastodiene", "elastane", "glass fibre", "elastomultiester"),
    *("elastolefin", "melamine", "metal fibre", "paper", "rubber"),
)
UNKNOWN = ("unknown",)  # ours: a found remnant may be of who knows what
NAMES = frozenset((*ANIMAL, *PLANT, *MAN_MADE, *UNKNOWN))
ALSO = {"flax": "linen", "nylon": "polyamide", "vicuna": "vicuña", "rayon": "viscose", "spandex": "elastane"}
CODES = {
    "co": "cotton",
    "li": "linen",
    "wo": "wool",
    "se": "silk",
    "ra": "ramie",
    "wp": "alpaca",
    "ws": "cashmere",
    "wm": "mohair",
    "wa": "angora",
    "wk": "camel",
    "wl": "llama",
    "wy": "yak",
}


def a_fibre(given: str) -> str:
    """The generic name of a fibre given by name, everyday name or letter code. Raises Refused, with the names most like it.

    >>> a_fibre("Flax"), a_fibre("CO")
    ('linen', 'cotton')
    """
    from difflib import get_close_matches

    key = key_of(given)
    name = ALSO.get(key, CODES.get(key, key))
    if name in NAMES:
        return name
    if key == "ha":
        raise Refused("HA may mean hemp or hair", where="fibre", expected="the name in full: hemp, or hair")
    close = get_close_matches(key, sorted({*NAMES, *ALSO}), n=3)
    raise Refused(
        f"{given!r:.40} is no fibre that Fent knows",
        where="fibre",
        expected=f"one of: {', '.join(close or sorted(NAMES))}",
        next="If nobody knows what it is, say unknown",
    )


def make_up(given: Mapping[str, float]) -> dict[str, int]:
    """A make-up as whole hundredths of a per cent by fibre. Raises Refused for what is not 100 % in all."""
    shares: dict[str, int] = {}
    for said, percent in given.items():
        fibre = a_fibre(said)
        if isinstance(percent, bool) or not isinstance(percent, int | float) or not 0 < percent <= 100:
            raise Refused(f"{fibre} is {percent!s:.20} %", where="fibres", expected="more than 0 and at most 100 %")
        if fibre in shares:
            raise Refused(f"{fibre} is given twice", where="fibres", expected="each fibre once")
        shares[fibre] = round(percent * 100)
    if sum(shares.values()) != WHOLE or not all(shares.values()):
        listed = ", ".join(f"{fibre} {share / 100:g} %" for fibre, share in shares.items()) or "no fibre"
        raise Refused(
            f"{listed}: {sum(shares.values()) / 100:g} % in all", where="fibres", expected="fibres that make 100 % together"
        )
    return shares


def in_words(shares: Mapping[str, float]) -> str:
    """A make-up in words, largest part first, of percentages by fibre.

    >>> in_words({"cotton": 45, "linen": 55})
    '55 % linen, 45 % cotton'
    """
    return ", ".join(
        f"{percent:g} % {fibre}" for fibre, percent in sorted(shares.items(), key=lambda item: (-item[1], item[0]))
    )
