"""`fent bin add`, `add-many`, `show` and `mend`: a remnant logged, looked at, and described better."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from . import answers, options, questions, reading
from .finding import state
from .measuring import a_fault, measured
from .saying import Voice, many
from .shown import money

if TYPE_CHECKING:
    from stash import Workroom
    from stash.remnants import Fault, Remnant

Figure = TypeVar("Figure", int, float)
Tag = Annotated[str, typer.Argument(metavar="TAG", help="The remnant.", show_default=False)]
NAP = "which way the nap runs: along the grain from left to right, or against it"


@dataclass(frozen=True)
class Told:
    """What was typed of a remnant, or answered."""

    tag: str | None
    cloth: str | None
    size: str | None
    bites: tuple[str, ...]
    points: str | None
    rough: bool
    nap: str | None
    place: str


def add(
    tag: Annotated[str | None, typer.Argument(metavar="TAG", help="The tag that is pinned to it.", show_default=False)] = None,
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Which cloth it is.")] = None,
    size: options.Size = None,
    bites: options.Bites = None,
    rough: Annotated[
        bool, typer.Option("--rough", help="… which is the largest that fits: the outline is not measured.")
    ] = False,
    points: options.Points = None,
    edges: options.Edges = "cut",
    grain_angle: options.GrainAngle = 0.0,
    wrong_side_up: options.WrongSideUp = False,
    nap: options.Nap = None,
    faults: options.Faults = None,
    place: options.Kept = "",
    washed: Annotated[str, typer.Option("--washed", metavar="HOW", help="How it was washed, if it was.")] = "",
    mass: options.Mass = None,
    source: options.Source = "found",
    came_on: options.CameOn = None,
    price: options.Price = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log a remnant.

    Typed alone at a terminal, it asks for what it needs: the tag, the cloth and the largest rectangle on the grain are enough
    (a rough remnant). Or it is told as a rectangle, as a rectangle with bites out of it, or by its corners.
    Lay it with the grain from left to right; "near" is the side towards you. Measure from the near left corner.

    \b
    Examples:
      fent bin add N-06 --cloth "navy linen" --size 58x31cm --rough
        N-06 is logged: navy linen, rough, at least 580 × 310 mm, 1798 cm², 33.3 g by its area.
      fent bin add N-07 --cloth "navy linen" --size "62cm x 40cm" --place "drawer 2" --edges "selvedge; cut; cut; raw"
        N-07 is logged, in drawer 2: navy linen, 620 × 400 mm, 2480 cm², 45.9 g by its area.
      fent bin add N-08 --cloth "navy linen" --size "24 1/2 in x 16 in" --bite "far right: 3in x 2in"
        N-08 is logged: navy linen, 622 × 406 mm, 2490 cm², 46.1 g by its area.
      fent bin add N-09 --cloth "navy linen" --points "0,0 31,2 30,18 0,16 cm" --fault "stain: 4cm at 10cm,12cm"
        N-09 is logged: navy linen, 310 × 180 mm, 489 cm², 9.0 g by its area.
    """
    from stash import Workroom, remnants
    from stash.words import Face, Nap, Source

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    said = Told(tag, cloth, size, tuple(bites or ()), points, rough, nap, place)
    if not questions.at_a_terminal():
        _nothing_missing(said)
    arrived = reading.one_of(Source, source, "--source")
    day = options.day(came_on, "--came-on")
    found = tuple(a_fault(text) for text in faults or [])
    with Workroom.open(workroom, create=False) as opened:
        told = _ask_what_is_missing(opened, said) if questions.at_a_terminal() else said
        new = remnants.NewRemnant(
            tag=told.tag or "",
            cloth=told.cloth or "",
            outline=measured(told.size, told.bites, told.points, edges, told.rough),
            grain_angle=grain_angle,
            face_up=Face.WRONG if wrong_side_up else Face.RIGHT,
            nap=reading.one_of(Nap, told.nap, "--nap") if told.nap is not None else None,
            faults=found,
            place=told.place,
            washed=washed,
            mass=mass,
            source=arrived,
            came_on=day,
            price=price,
            note=note,
        )
        remnant = remnants.log(opened, new, by=by)
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is logged{_where(remnant)}: {remnant.cloth.name}, {_in_short(remnant, voice)}.")


def _where(remnant: Remnant) -> str:
    return f", in {remnant.place}" if remnant.place else ""


def _in_short(remnant: Remnant, voice: Voice) -> str:
    """Its size, area and weight in one breath."""
    shown = voice.shown
    size = shown.size(remnant.length, remnant.width)
    rough = "rough, at least " if remnant.rough else ""
    weight = f"{shown.mass(remnant.mass)}{'' if remnant.weighed else ' by its area'}"
    return f"{rough}{size}, {shown.area(remnant.area)}, {weight}"


def _nothing_missing(told: Told) -> None:
    """Refuse what lacks something, where nobody can be asked."""
    if not (told.tag or "").strip():
        raise questions.missing("TAG", "the tag that is pinned to it")
    if not (told.cloth or "").strip():
        raise questions.missing("--cloth", "which cloth it is: fent cloth list")


def _ask_what_is_missing(opened: Workroom, told: Told) -> Told:
    """Ask for tag, cloth, outline and nap where they were not given; the place too, if anything had to be asked."""
    from stash import cloths

    tag = told.tag or questions.ask("Tag", lambda answer: _free_tag(opened, answer))
    names = [each.name for each in cloths.every(opened)]
    cloth = told.cloth or _pick_cloth(names)
    outlined = told if told.size or told.points else _ask_outline(told)
    nap = told.nap
    if nap is None and cloth in names and cloths.get(opened, cloth).one_way:
        nap = questions.pick(f"{cloth} is one way: {NAP}", ["along", "against"])
    asked = told.tag is None or told.cloth is None or outlined is not told
    place = questions.ask_if_wished("Place") if asked and not told.place else told.place
    return replace(outlined, tag=tag, cloth=cloth, nap=nap, place=place)


def _free_tag(opened: Workroom, answer: str) -> str:
    """A tag that no remnant has yet. Raises Refused."""
    from stash import remnants
    from stash.refusals import Taken, Unknown

    if not answer:
        raise reading.Unreadable("nothing was answered", "the tag that is pinned to it, such as N-07")
    try:
        remnant = remnants.get(opened, answer)
    except Unknown:
        return answer
    raise Taken(f"there is a remnant {remnant.tag} already", expected="another tag")


def _pick_cloth(names: list[str]) -> str:
    from stash import CannotBeDone

    if not names:
        raise CannotBeDone("there is no cloth yet that a remnant could be of", next="fent cloth add")
    return names[0] if len(names) == 1 else questions.pick("Cloth", names)


def _ask_outline(told: Told) -> Told:
    """Ask how the outline is told, and for it."""
    ways = ["rough", "whole", "bites", "corners"]
    if told.rough or told.bites:
        way = "rough" if told.rough else "bites"
    else:
        way = questions.pick("Rough, a whole rectangle, one with bites, or by its corners", ways, "rough")
    if way == "corners":
        return replace(told, points=questions.ask("Its corners in order, 0,0 31,0 31,18 0,16 cm", _as_corners))
    asked = "Its largest rectangle on the grain" if way == "rough" else "The rectangle"
    size = questions.ask(f"{asked}, along the grain x across it, 62cm x 40cm", _as_size)
    bites = list(told.bites)
    while way == "bites" and (bite := questions.ask(_bite_question(len(bites)), _as_bite)):
        bites.append(bite)
    return replace(told, size=size, bites=tuple(bites), rough=way == "rough")


def _bite_question(number: int) -> str:
    return "Another bite (Enter for none)" if number else "The bite that is missing, far right: 8cm x 5cm"


def _as_size(answer: str) -> str:
    reading.a_size(answer)
    return answer


def _as_corners(answer: str) -> str:
    reading.a_ring(answer)
    return answer


def _as_bite(answer: str) -> str:
    from .measuring import a_bite

    if answer:
        a_bite(answer)
    return answer


# --- many at once --------------------------------------------------------------------------------------------------------


def add_many(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The table, saved as CSV.", show_default=False)],
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Log many remnants and envelopes from a table.

    A table as a spreadsheet saves it (CSV), with a first line that names the columns, in any order: tag and cloth, which must
    be there; kind (rough unless said, rectangle, or envelope), length, width, edges, nap, place, washed, mass, lot, source,
    came on, price, note. If anything in it is wrong, all that is wrong is told by row, and nothing is logged.

    \b
    Example:
      fent bin add-many remnants.csv
        2 remnants and 1 envelope from remnants.csv logged.
    \b
    The table:
      tag,cloth,kind,length,width,mass,place
      N-21,navy linen,,58cm,31cm,,drawer 2
      N-22,navy linen,rectangle,24 1/2 in,16 in,,drawer 2
      NE-1,navy linen,envelope,,,86 g,top shelf
    """
    from stash import Refused, Workroom, lists

    voice = Voice(as_json=as_json)
    text = _text_of(file)
    how = lists.Reading(length=_cell(reading.a_length), mass=_cell(reading.a_mass), price=_cell(reading.a_price))
    with Workroom.open(workroom, create=False) as opened:
        brought = lists.log(opened, text, reading=how, by=by)
    if brought.faults:
        for fault in brought.faults:
            voice.aside(f"{str(fault)[:1].upper()}{str(fault)[1:]}.")
        raise Refused(
            f"nothing was logged, because of {many(len(brought.faults), 'mistake')} in {file}",
            where=str(file),
            expected="a table in which every row can be read",
            next="put it right and bring the whole table again",
        )
    voice.data(brought)
    envelopes = f" and {many(len(brought.envelopes), 'envelope')}" if brought.envelopes else ""
    voice.aside(f"{many(len(brought.remnants), 'remnant')}{envelopes} from {file} logged.")


def _text_of(file: Path) -> str:
    from stash import Refused

    expected, following = "a table saved as CSV, in UTF-8", "save it so from the spreadsheet"
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise Refused(f"{str(file)!r} is not written in UTF-8", where="FILE", expected=expected, next=following) from None
    except OSError as fault:
        raise Refused(f"{str(file)!r} cannot be read: {fault.strerror}", where="FILE", expected=expected) from None


def _cell(read: Callable[[str], Figure]) -> Callable[[str], Figure]:
    """A reader of an option as a reader of a table's cell: it raises what the stash knows."""
    from stash import Refused

    def of_cell(text: str) -> Figure:
        try:
            return read(text)
        except reading.Unreadable as fault:
            raise Refused(fault.what, expected=fault.expected) from None

    return of_cell


# --- looking at one ------------------------------------------------------------------------------------------------------


def show(
    tag: Tag,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a remnant.

    All that is known of it.

    \b
    Example:
      fent bin show N-02
        tag                 N-02
        cloth               navy linen, 100 % linen, 185 g/m²
        place               drawer 2
        …
    """
    from stash import Workroom, mending, remnants, settings
    from stash.words import Subject

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.get(opened, tag)
        mended = mending.every(opened, subject=Subject.REMNANT, name=remnant.tag)
        currency = settings.currency(opened) if remnant.price is not None else ""
    voice.data(remnant)
    voice.facts(_facts(remnant, voice, currency))
    answers.mended(voice, mended)
    if file:
        from .drawn import bin_page

        bin_page([remnant], voice.shown, f"Remnant {remnant.tag}").save(file)
        voice.aside(f"The picture is in {file}.")


def _facts(remnant: Remnant, voice: Voice, currency: str) -> list[tuple[str, str]]:
    shown = voice.shown
    return [
        ("tag", remnant.tag),
        ("cloth", f"{remnant.cloth.name}, {remnant.cloth.made_of}, {shown.cloth_weight(remnant.cloth.weight)}"),
        ("place", remnant.place),
        ("state", state(remnant.state, remnant.held_by, remnant.quarantine)),
        ("quarantine", _quarantine(remnant)),
        ("size", f"{shown.size(remnant.length, remnant.width)}, along the grain × across it"),
        ("largest rectangle", shown.size(remnant.rect_length, remnant.rect_width)),
        ("area", shown.area(remnant.area)),
        ("weight", shown.mass(remnant.mass) + (", weighed" if remnant.weighed else ", by its area")),
        ("outline", "rough: only its largest rectangle is known" if remnant.rough else "measured"),
        ("lies", "one way" if remnant.one_way else "either way"),
        ("faults", ", ".join(_fault_in_words(fault) for fault in remnant.faults) or "none"),
        ("edges", ", ".join(dict.fromkeys(edge.kind.value for edge in remnant.edges))),
        ("washed", remnant.washed or "no"),
        ("source", remnant.source.value if remnant.source else ""),
        ("price", money(remnant.price, currency) if remnant.price is not None else ""),
        ("cut from", remnant.parent or ""),
        ("keepers from it", ", ".join(remnant.children)),
        ("looked at", "" if remnant.confirmed else "not yet since it was cut: fent bin keepers"),
        ("came on", f"{remnant.came_on:%Y-%m-%d}"),
        ("note", remnant.note),
    ]


def _quarantine(remnant: Remnant) -> str:
    """Who put it apart and who released it, if anyone did."""
    said = []
    if remnant.quarantined_at is not None:
        said.append(f"since {remnant.quarantined_at:%Y-%m-%d}, by {remnant.quarantined_by}")
    if remnant.released_at is not None:
        said.append(f"released {remnant.released_at:%Y-%m-%d} by {remnant.released_by}")
    return ", ".join(said)


def _fault_in_words(fault: Fault) -> str:
    kind = "tear" if fault.kind == "hole" and fault.shape.geom_type == "LineString" else str(fault.kind)
    return kind if fault.kind == "hole" or fault.face == "both" else f"{kind} on the {fault.face} face"


# --- describing it better ------------------------------------------------------------------------------------------------


def mend(
    tag: Tag,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is put right.", show_default=False)] = "",
    place: Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Where it is kept now.")] = None,
    washed: Annotated[str | None, typer.Option("--washed", metavar="HOW", help='How it was washed; "" if it was not.')] = None,
    source: Annotated[str | None, typer.Option("--source", metavar="WORD", help="Bought, given, found or unpicked.")] = None,
    came_on: Annotated[str | None, typer.Option("--came-on", metavar="DATE", help="When it came: 2026-03-02.")] = None,
    price: options.Price = None,
    note: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Put the description of a remnant right.

    What is said of it, not what there is of it: a quantity changes only by measuring or weighing it again.

    \b
    Example:
      fent bin mend N-03 --place "top shelf" --why "moved house" --by AK
        N-03 is described anew: place.
    """
    from stash import Workroom, mending
    from stash.words import Source

    voice = Voice(as_json=as_json)
    arrived = reading.one_of(Source, source, "--source") if source is not None else None
    told = {
        "place": place,
        "washed": washed,
        "source": arrived,
        "came_on": options.day(came_on, "--came-on"),
        "price": price,
        "note": note,
    }
    changes = answers.told_only(told)
    reason = questions.needed(why, "--why", "why it is put right", "Why is it put right")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = mending.mend_remnant(opened, tag, by=who, why=reason, **changes)
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is described anew: {', '.join(changes).replace('_', ' ')}.")
