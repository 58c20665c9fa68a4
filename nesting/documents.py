"""A JSON document held against its form: text to data, and every fault of it with its place, in plain words."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from .tolerances import MOST_POINTS

if TYPE_CHECKING:
    from jsonschema import ValidationError

Fields = Mapping[str, Any]
Fault = tuple[str, str]
"""A place in a document, such as `sheets[3].outline[2]`, and what is wrong there."""

MOST_SHOWN = 20
"""The most faults told at once: a person mends the first few and looks again."""


class CaseFault(ValueError):  # noqa: N818 (a fault is what the trade calls it)
    """A case or a result that cannot be read.

    `where`: the place of the first fault, such as `sheets[3].outline[2]`, "" for the whole; `what`: what is wrong there and
    what was expected; `document`: what was read; `faults`: all that were found, each (where, what).
    """

    def __init__(self, where: str, what: str, *, document: str = "case", faults: Iterable[Fault] = ()) -> None:
        self.where = where
        self.what = what
        self.document = document
        self.faults = tuple(faults) or ((where, what),)
        super().__init__("\n".join(": ".join(filter(None, (document, *fault))) for fault in self.faults[:MOST_SHOWN]))

    @classmethod
    def of(cls, faults: list[Fault], document: str) -> CaseFault:
        """The exception that tells them all."""
        return cls(*faults[0], document=document, faults=faults)


def place(*steps: str | int) -> str:
    """The words for a place in a document.

    >>> place("sheets", 3, "outline", 2)
    'sheets[3].outline[2]'
    """
    words = ""
    for step in steps:
        words += f"[{step}]" if isinstance(step, int) else f".{step}" if words else step
    return words


def data_of(source: str | bytes | Fields, document: str) -> Any:
    """The data of a JSON text (or what is data already); refuses what JSON is not, and fields given twice."""
    if not isinstance(source, str | bytes):
        return source
    try:
        text = source.decode("utf-8-sig") if isinstance(source, bytes) else source
        return json.loads(text, object_pairs_hook=_once_each, parse_constant=_refuse_constant)
    except UnicodeDecodeError as fault:
        raise CaseFault("", f"is not text in UTF-8 (byte {fault.start}): expected JSON", document=document) from None
    except RecursionError:
        raise CaseFault("", "its lists lie too deep in each other: expected JSON of its form", document=document) from None
    except json.JSONDecodeError as fault:
        words = f"is not JSON: {fault.msg} at line {fault.lineno}, column {fault.colno}"
        raise CaseFault("", words, document=document) from None
    except ValueError as fault:  # a constant, a field given twice, a number of thousands of digits
        raise CaseFault("", f"is not plain JSON: {fault}", document=document) from None


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields = dict(pairs)
    if len(fields) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the field {twice!r} is given twice in one object")
    return fields


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number of JSON: expected a finite number")


def form_faults(data: Any, form: str) -> list[Fault]:
    """Where `data` departs from the schema of that form ("case" or "result"), in the order of the document."""
    errors = sorted(_validator(form).iter_errors(data), key=lambda error: [str(step) for step in error.absolute_path])
    # Of something that is no object at all, that is said once and not also that it has neither sheets nor a strip.
    errors = [error for error in errors if error.validator != "oneOf" or isinstance(data, Mapping)]
    return [(place(*error.absolute_path), _words(error)) for error in errors]


@cache
def schema(form: str) -> dict[str, Any]:
    """The JSON Schema (2020-12) of a "case" or a "result"."""
    text = files(__package__).joinpath(f"{form}.schema.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


@cache
def _validator(form: str) -> Any:
    from jsonschema import Draft202012Validator
    from jsonschema.validators import extend

    follow = Draft202012Validator.VALIDATORS["$ref"]

    def ref(validator: Any, target: str, instance: Any, where: Any) -> Iterator[ValidationError]:
        # A large bin has tens of thousands of points: whoever is plainly right is not sent through the schema point by point.
        if not (target in _LEAST and is_plain_ring(instance, _LEAST[target])):
            yield from follow(validator, target, instance, where) or ()

    quick: Any = extend(Draft202012Validator, {"$ref": ref})
    return quick(schema(form))


_LEAST = {"#/$defs/ring": 3, "#/$defs/ring_or_tear": 2}


def is_plain_ring(instance: Any, least: int) -> bool:
    """Whether this is a list of at least that many points, as the schema says it; False may still be right by the schema."""
    return (
        isinstance(instance, list)
        and least <= len(instance) <= MOST_POINTS
        and all(
            isinstance(point, list) and len(point) == 2 and type(point[0]) in (float, int) and type(point[1]) in (float, int)
            for point in instance
        )
    )


def _words(error: ValidationError) -> str:
    expected = error.schema.get("description", "something else") if isinstance(error.schema, Mapping) else "something else"
    if error.validator == "required":
        missing = next(name for name in error.validator_value if repr(name) in error.message)
        return f"{missing!r} is missing{_meant(missing, error.instance)}: expected {expected}"
    if error.validator == "oneOf":
        if "sheets" in error.instance:
            return "has both sheets and a strip: expected one of the two"
        return f"has neither sheets nor a strip{_meant('sheets', error.instance)}: expected one of the two"
    if error.instance is None:
        return f"is null: expected {expected}; leave a field out to take its default"
    if error.validator in ("minItems", "maxItems"):
        return f"has {len(error.instance):,} entries: expected {expected}"
    return f"is {_shown(error.instance)}: expected {expected}"


def _meant(missing: str, fields: Fields) -> str:
    near = get_close_matches(missing, [name for name in fields if isinstance(name, str)], n=1, cutoff=0.75)
    return f" (is {near[0]!r} meant for it?)" if near else ""


def _shown(instance: Any) -> str:
    words = repr(instance) if isinstance(instance, float) else json.dumps(instance, ensure_ascii=False, default=repr)
    return words if len(words) <= 60 else f"{words[:57]}…"


def unknown_fields(data: Fields, form: str) -> Iterator[str]:
    """A sentence for each field that the form does not know, since it may be a slip for one that it does.

    At the top a case carries notes, so that there only what is spelt nearly as a known field is told.
    """
    known = schema(form)
    for name in set(data) - set(known["properties"]):
        if near := get_close_matches(name, known["properties"], n=1, cutoff=0.65):
            yield f"{name}: is not a field of a {form} and is ignored; is {near[0]!r} meant?"
    for level, names in _LEVELS[form].items():
        fields = known["$defs"][level]
        yield from _unknown_at(data, names, fields.get("then", fields)["properties"], level)


_LEVELS: dict[str, dict[str, tuple[str, ...]]] = {
    "case": {
        "sheet": ("sheets",),
        "flaw": ("sheets", "flaws"),
        "strip": ("strip",),
        "panel": ("panels",),
        "placement": ("fixed",),
    },
    "result": {"placement": ("placements",)},
}


def _unknown_at(data: Fields, names: tuple[str, ...], known: Iterable[str], level: str) -> Iterator[str]:
    known = list(known)
    found: dict[str, list[str]] = {}
    for where, fields in _objects(data, names):
        for name in set(fields).difference(known):
            found.setdefault(name, []).append(where)
    for name, places in sorted(found.items()):
        near = get_close_matches(name, known, n=1, cutoff=0.6)
        more = f" (and {len(places) - 1:,} more like it)" if len(places) > 1 else ""
        hint = f"; is {near[0]!r} meant?" if near else ""
        yield f"{places[0]}.{name}: is not a field of a {level} and is ignored{more}{hint}"


def _objects(data: Any, names: tuple[str, ...], at: tuple[str | int, ...] = ()) -> Iterator[tuple[str, Fields]]:
    """(place, object) of every object that lies under these names, through the lists between them."""
    if isinstance(data, list):
        for i, entry in enumerate(data):
            yield from _objects(entry, names, (*at, i))
    elif isinstance(data, Mapping):
        if names:
            yield from _objects(data.get(names[0]), names[1:], (*at, names[0]))
        else:
            yield place(*at), data
