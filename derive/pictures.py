"""The figures of a circuit by themselves, for books and pages that are not made here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from derive.analysis.loops import windows
from derive.circuit.appearance import BatterySymbol, BridgeShape, Looks, ResistorSymbol
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.values import letters_without_value
from derive.diagnostic import Diagnostic, Rejected
from derive.document.graphs import potential_figure, power_figure
from derive.document.model import Figure
from derive.document.telling import Telling
from derive.doubts import figure_doubts
from derive.drawing import description
from derive.drawing.drawn import arrows_of_problem, common_shape
from derive.drawing.model import Drawing
from derive.drawing.reckoning import style_of
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.pipeline import digest_of
from derive.proving import Proved, prove
from derive.refusals import give_values
from derive.source import Source
from derive.typesetting.style import Style


class Subject(Enum):
    """What a figure shows."""

    CIRCUIT = "circuit"
    LOOPS = "loops"
    """The circuit once for every loop that the solution walks."""
    POTENTIALS = "potentials"
    """The potential along the walk of the check, against the position."""
    POWERS = "powers"
    """The power delivered beside the power taken in."""


@dataclass(frozen=True, slots=True)
class Appearance:
    """Looks that go before those of the file; None where the file's hold."""

    resistor: ResistorSymbol | None = None
    battery: BatterySymbol | None = None
    bridge: BridgeShape | None = None

    def over(self, looks: Looks) -> Looks:
        """Return the looks of a file with these before them."""
        return replace(
            looks,
            resistor=self.resistor or looks.resistor,
            battery=self.battery or looks.battery,
            bridge=self.bridge or looks.bridge,
        )


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure with what goes with it."""

    name: str
    """What its file is called beside the others of the circuit; empty for the circuit itself."""
    title: str
    drawing: Drawing
    style: Style
    short: str
    """One sentence for a reader who does not see it."""
    long: str
    """A description from which it can be drawn."""
    digest: str
    warnings: tuple[Diagnostic, ...]


def draw(source: Source, view: View, appearance: Appearance = Appearance()) -> Picture:
    """Draw a circuit as its solution does, also where it has no solution. Raises Rejected."""
    return illustrate(source, (Subject.CIRCUIT,), view, appearance)[0]


def illustrate(
    source: Source,
    subjects: Sequence[Subject],
    view: View,
    appearance: Appearance = Appearance(),
) -> tuple[Picture, ...]:
    """Draw the figures of a circuit file. Raises Rejected.

    Potentials and powers need a solution in numbers; the other figures need none. Where switches
    change, the figures of the time before come after the others.
    """
    elaborated = load(source)
    in_numbers = not {Subject.POTENTIALS, Subject.POWERS}.isdisjoint(subjects)
    proved = prove(source) if in_numbers else None
    states = [_State("", _looking(elaborated.circuit, appearance), proved)]
    if elaborated.before is not None:
        earlier = None if proved is None or proved.switching is None else proved.switching.before
        states.append(_State("before", _looking(elaborated.before, appearance), earlier))
    loops = {state.name: view.loops or windows(state.circuit) for state in states}
    # The figure of the last state comes first, and of several with as many windows gives the shape.
    shape = common_shape([(state.circuit, loops[state.name]) for state in reversed(states)])
    warnings = (*elaborated.warnings, *figure_doubts(states[0].circuit))
    pictures = []
    for state in states:
        circuit, proof = state.circuit, state.proved
        own = replace(
            view,
            arrows=arrows_of_problem(circuit),
            loops=loops[state.name],
            shape=shape if len(states) > 1 else (),
        )
        telling = None if proof is None else Telling(circuit, proof.derivation, shape=own.shape)
        pictures += [
            Picture(
                "-".join(filter(None, (state.name, name))), circuit.title, figure.drawing,
                style_of(circuit), figure.short, figure.long, digest_of(source), warnings,
            )
            for subject in subjects
            for name, figure in _figures(circuit, telling, subject, own)
        ]  # fmt: skip
    return tuple(pictures)


def _looking(circuit: Circuit, appearance: Appearance) -> Circuit:
    return replace(circuit, looks=appearance.over(circuit.looks))


@dataclass(frozen=True, slots=True)
class _State:
    """The circuit, or what it was before switches change."""

    name: str
    """What the files of its figures are called; empty for the circuit itself."""
    circuit: Circuit
    proved: Proved | None


def _figures(
    circuit: Circuit, telling: Telling | None, subject: Subject, view: View
) -> Iterator[tuple[str, Figure]]:
    match subject:
        case Subject.CIRCUIT:
            yield "", _figure(circuit, view)
        case Subject.LOOPS:
            for number, loop in enumerate(view.loops, 1):
                walked = replace(view, loop=loop, loop_name=str(number))
                yield f"loop-{number}", _figure(circuit, walked)
        case Subject.POTENTIALS | Subject.POWERS:
            assert telling is not None, "it is there for these subjects"
            drawn = potential_figure if subject is Subject.POTENTIALS else power_figure
            figure = drawn(telling)
            if figure is None:
                raise Rejected([_not_drawn(circuit, subject)])
            yield subject.value, figure


def _figure(circuit: Circuit, view: View) -> Figure:
    drawing = schematic(circuit, view)
    long = description.long(circuit, drawing.crossings)
    return Figure(drawing, (), description.short(circuit, view), long)


def _not_drawn(circuit: Circuit, subject: Subject) -> Diagnostic:
    letters = [symbol.name for symbol in letters_without_value(circuit)]
    if letters:
        return Diagnostic(
            f"no-{subject.value}",
            f"the {subject.value} are drawn to scale, so every part needs a value",
            None,
            (give_values(letters),),
        )
    reason = {
        Subject.POTENTIALS: "no walk of this circuit can be drawn so: none is left to check by, it "
        "has too many parts, or the potential is the same all round",
        Subject.POWERS: "there is no power to draw, or in too many parts",
    }[subject]
    return Diagnostic(f"no-{subject.value}", reason, None, ("draw the circuit or its loops",))
