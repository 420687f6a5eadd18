"""Current sources, switches, meters and capacitors in figures, and what no current flows in.

The shapes are those of IEC 60617 and IEEE 315 as most books draw them (from memory). The random
circuits are invented data.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import atan2, degrees, dist

import pytest

from derive.algebra.dimension import AMPERE, FARAD, OHM
from derive.algebra.term import Product, Quantity, SymbolKind, Term, number, resistance, symbols
from derive.algebra.term import Symbol as Letter
from derive.analysis.loops import choose_loops
from derive.circuit.appearance import BridgeShape, ResistorSymbol
from derive.circuit.elaborate import load
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Meter,
    Resistor,
    Switch,
    is_gap,
    own_quantity,
)
from derive.circuit.model import Branch, Circuit, Drawn, Hop, Loop, Passage, WalkCurrent
from derive.circuit.valuation import Given, Tie, Valuation
from derive.drawing.description import long, short
from derive.drawing.drawn import as_drawn, view_as_drawn
from derive.drawing.metrics import MAIN, SMALL, Metrics
from derive.drawing.model import Direction, Drawing, Emphasis, Point, Symbol, SymbolShape, Words
from derive.drawing.potential_graph import potential_graph
from derive.drawing.reckoning import style_of
from derive.drawing.schematic import follows_bridge, follows_places, schematic
from derive.drawing.straight_walk import Leg, PotentialWalk
from derive.drawing.view import View
from derive.source import Source
from derive.typesetting.style import Style
from derive.writers import svg, tikz
from derive.writers.outlines import (
    blade,
    box,
    capacitor_plates,
    contact_radius,
    contacts,
    cross,
    diamond,
    minus_plates,
    plus_plates,
    signs,
    source_arrow,
    zigzag,
)
from tests.drawing.geometry_check import check_labels, is_letter_of
from tests.drawing.matching import check_figure, read_figure
from tests.drawing.random_planar import FAMILIES, random_planar
from tests.drawing.reading_svg import read_svg
from tests.drawing.reading_tikz import read_tikz
from tests.drawing.seeing import Part, see
from tests.drawing.strokes import TOUCH, Misdrawn
from tests.drawing.test_labels import check_clear, check_names
from tests.drawing.tracing import strong_cycle
from tests.drawing.whole_check import examine

SWITCHES = (SymbolShape.OPEN_SWITCH, SymbolShape.CLOSED_SWITCH)


def symbol(shape: SymbolShape, way: Direction, metrics: Metrics = MAIN) -> Symbol:
    return Symbol(shape, Point(3.0, -2.0), way, *metrics.size(shape), "X1")


# --- shapes -------------------------------------------------------------------------------------


def strokes(part: Symbol) -> list[Point]:
    """Return places that the strokes of a symbol reach to."""
    centre, radius = part.centre, part.length / 2
    ring = [Point(centre.x + radius * w.dx, centre.y + radius * w.dy) for w in Direction]
    match part.shape:
        case SymbolShape.RESISTOR_BOX:
            return box(part)
        case SymbolShape.RESISTOR_ZIGZAG:
            return zigzag(part)
        case SymbolShape.LAMP:
            return [*ring, *(at for line in cross(part) for at in line)]
        case SymbolShape.CELL | SymbolShape.CELLS:
            return [at for line in (*plus_plates(part), *minus_plates(part)) for at in line]
        case SymbolShape.CURRENT_SOURCE:
            return [*ring, *(at for line in source_arrow(part) for at in line)]
        case SymbolShape.DEPENDENT_EMF:
            return [*diamond(part), *(at for line in signs(part) for at in line)]
        case SymbolShape.DEPENDENT_CURRENT:
            return [*diamond(part), *(at for line in source_arrow(part) for at in line)]
        case SymbolShape.AMMETER | SymbolShape.VOLTMETER:
            return ring
        case SymbolShape.OPEN_SWITCH | SymbolShape.CLOSED_SWITCH:
            r = contact_radius(part)
            rims = [
                Point(c.x + r * w.dx, c.y + r * w.dy) for c in contacts(part) for w in Direction
            ]
            return [*blade(part), *rims]
        case SymbolShape.CAPACITOR:
            return [at for line in capacitor_plates(part) for at in line]


@pytest.mark.parametrize("metrics", [MAIN, SMALL], ids=["main", "small"])
@pytest.mark.parametrize("way", Direction)
@pytest.mark.parametrize("shape", SymbolShape)
def test_strokes_stay_in_the_box(shape: SymbolShape, way: Direction, metrics: Metrics) -> None:
    part = symbol(shape, way, metrics)
    room, found = part.box, strokes(part)
    assert all(room.left - 1e-6 <= at.x <= room.right + 1e-6 for at in found)
    assert all(room.bottom - 1e-6 <= at.y <= room.top + 1e-6 for at in found)
    # They come up to where the wires end.
    reach = [(at.x - 3.0) * way.dx + (at.y + 2.0) * way.dy for at in found]
    assert max(reach) == pytest.approx(part.length / 2, abs=0.05)
    assert min(reach) == pytest.approx(-part.length / 2, abs=0.05)


@pytest.mark.parametrize("way", Direction)
def test_the_blade_of_an_open_switch_is_lifted_clear_of_one_contact(way: Direction) -> None:
    part = symbol(SymbolShape.OPEN_SWITCH, way)
    (hinge, other), radius = contacts(part), contact_radius(part)
    start, end = blade(part)
    assert dist((start.x, start.y), (hinge.x, hinge.y)) == pytest.approx(radius)
    assert dist((end.x, end.y), (other.x, other.y)) > 4 * radius
    turn = degrees(atan2(end.y - start.y, end.x - start.x))
    wire = degrees(atan2(other.y - hinge.y, other.x - hinge.x))
    assert (turn - wire) % 360 == pytest.approx(30)
    # On the page it is always the same: upwards, or to the left of an upright wire.
    assert (other.x, other.y) > (hinge.x, hinge.y)
    assert blade(part) == blade(symbol(SymbolShape.OPEN_SWITCH, way.opposite))


@pytest.mark.parametrize("way", Direction)
def test_the_blade_of_a_closed_switch_lies_on_both_contacts(way: Direction) -> None:
    part = symbol(SymbolShape.CLOSED_SWITCH, way)
    for contact, end in zip(contacts(part), blade(part), strict=True):
        apart = dist((contact.x, contact.y), (end.x, end.y))
        assert apart == pytest.approx(contact_radius(part))
    assert blade(part) != blade(symbol(SymbolShape.OPEN_SWITCH, way))


@pytest.mark.parametrize("way", Direction)
def test_the_plates_of_a_capacitor_are_alike(way: Direction) -> None:
    one, other = (dist((a.x, a.y), (b.x, b.y)) for a, b in capacitor_plates(symbol(SymbolShape.CAPACITOR, way)))  # fmt: skip
    assert one == pytest.approx(other) == pytest.approx(MAIN.capacitor[1])


# --- figures of files ---------------------------------------------------------------------------

BENCH = """
I1: A (-E1+) (R1) P (R2) (ammeter M1) C
I2: C (R3) A
I3: C (R4) (<- J1) A
: P (voltmeter M2) A
: P (open S1) (R5) C
: C (closed S2) (capacitor C1) A
E1 = 6 V
R1, R2, R3, R4, R5 = 10 ohm
J1 = 20 mA
C1 = 10 uF
"""
REAL = """
I1: A (-E1 r1+) B (closed S1) (ammeter M1) C
I2: C (R1) D (lamp L1) A
I3: C (voltmeter M2) A
: D (capacitor C1) A
E1 = 9 V
r1 = 0.5 ohm
R1, L1 = 20 ohm
M1 = 0.2 ohm
M2 = 10 kohm
C1 = 0.47 uF
resistors zigzag
"""
BRIDGE = """
I1: G (-E1+) A
I2: A (R1) B
I3: A (R2) C
I4: B (R3) G
I5: C (R4) G
: B (voltmeter M1) C
E1 = 6 V
R1, R2, R3, R4 = 120 ohm
"""
SOURCES = """
I1: A (J1 ->) B
I2: B (ammeter M1) (R1) A
I3: A (R2) (J2 ->) B
I4: A (<- J3) (open S1) C
I5: C (R3) A
J1, J2 = 2 A
R1, R2, R3 = 5 ohm
"""


def read(text: str) -> Circuit:
    return load(Source("x", text)).circuit


FOLLOWERS = """
I1: A (-E1+) (R1) B
I2: B (R2) (+E2 r2-) A
I3: B (R3) A
I4: B (J2 ->) C
I5: C (R4) (<- J3) A
: C (R5) A
E1 = 24 V; R1 = 10 ohm; R2 = 12 ohm; R3 = 6 ohm; r2 = 1 ohm; R4, R5 = 2 ohm
E2 = 4 ohm * I1; J2 = 0.1 S * V(B,A); J3 = 2 A
"""
FILES = {
    "bench": read(BENCH), "real": read(REAL), "bridge": read(BRIDGE), "followers": read(FOLLOWERS),
}  # fmt: skip


def loops_of(circuit: Circuit) -> tuple[Loop, ...]:
    return choose_loops(circuit).loops


def part(drawing: Drawing, name: str) -> Symbol:
    return next(one for one in drawing.symbols if one.part == name)


@pytest.mark.parametrize("values", [False, True])
@pytest.mark.parametrize("name", FILES)
def test_figure_of_a_file(name: str, values: bool) -> None:
    circuit = FILES[name]
    drawing = schematic(circuit, View(values=values, loops=loops_of(circuit)))
    assert examine(circuit, drawing, values=values).faults == ()


def test_a_diamond_with_a_voltmeter_across() -> None:
    looks = replace(FILES["bridge"].looks, bridge=BridgeShape.DIAMOND)
    circuit = replace(FILES["bridge"], looks=looks)
    # Without the voltmeter it would be no bridge.
    assert follows_bridge(circuit)
    assert not follows_bridge(replace(circuit, drawn=None))
    drawing = schematic(circuit, View(values=True, loops=loops_of(circuit)))
    assert part(drawing, "M1").direction.horizontal
    assert all(part(drawing, f"R{k}").direction.aslant for k in (1, 2, 3, 4))
    style = style_of(circuit)
    for page in (
        read_tikz(tikz.write(drawing, style, "a bridge")),
        read_svg(svg.write(drawing, style, "a bridge")),
    ):
        check_figure(circuit, read_figure(circuit, see(page)), values=True)


def test_places_of_points_where_no_current_flows() -> None:
    text = BRIDGE.replace(": B (voltmeter M1) C", ": B (voltmeter M1) (capacitor C1) Q (S1) C")
    text = text.replace("(S1)", "(open S1)")
    places = "place G at 0 0\nplace A at 0 2\nplace B at 2 2\nplace C at 2 0\n"
    assert follows_places(read(text + places), ())


# --- what no current flows in -------------------------------------------------------------------


def test_a_part_without_current_divides_a_branch_in_the_figure_alone() -> None:
    circuit = FILES["bench"]
    assert len(circuit.branches) == 3
    shown = as_drawn(circuit)
    assert [(b.tail, b.head) for b in shown.branches[:2]] == [("A", "P"), ("P", "C")]
    drawing = schematic(circuit, View(loops=loops_of(circuit)))
    assert {one.part for one in drawing.symbols} == {e.name for e in circuit.elements}
    # Each current once, and none where no current flows.
    assert sorted(arrow.current for arrow in drawing.arrows) == ["I1", "I2", "I3"]


def test_loops_are_told_in_the_branches_of_the_figure() -> None:
    circuit = FILES["bench"]
    assert circuit.drawn is not None
    there = Loop((Hop(0, True), Hop(1, True)))
    back = Loop((Hop(1, False), Hop(0, False)))
    one = view_as_drawn(circuit, View(loop=there, loops=(there, back)))
    pieces = [piece.branch for k in (0, 1) for piece in circuit.drawn.pieces[k]]
    assert one.loop is not None
    assert [hop.branch for hop in one.loop.hops] == pieces == [0, 1, 2]
    assert one.loops[0] == one.loop
    assert one.loops[1].hops == tuple(Hop(h.branch, not h.along) for h in reversed(one.loop.hops))


@pytest.mark.parametrize("name", FILES)
def test_the_loop_of_a_figure_passes_its_own_parts_and_the_rest_is_faint(name: str) -> None:
    circuit = FILES[name]
    loops = loops_of(circuit)
    for loop in loops:
        drawing = schematic(circuit, View(loop=loop, loop_name="1", loops=loops))
        check_labels(drawing)
        strong_cycle(drawing)
        met = [p.element for hop in loop.hops for p in circuit.branches[hop.branch].passages]
        names = {e.name for e in met} | {getattr(e, "internal", None) for e in met} - {None}
        strong = {one.part for one in drawing.symbols if one.emphasis is Emphasis.STRONG}
        faint = {one.part for one in drawing.symbols if one.emphasis is Emphasis.FAINT}
        assert strong == names
        assert {p.element.name for branch in circuit.idle for p in branch.passages} <= faint


def test_description_says_what_each_part_is() -> None:
    circuit = FILES["bench"]
    assert short(circuit, View()) == (
        "Circuit diagram: 1 battery, 1 current source, 5 resistors, 1 open switch, "
        "1 closed switch, 1 ammeter, 1 voltmeter and 1 capacitor in 7 branches that meet at the "
        "junctions A, P and C."
    )
    assert long(circuit) == (
        "3 junctions: A, where 5 wires meet; P, where 4 wires meet; C, where 5 wires meet. "
        "Branch 1, from A to P, which is also the way of the arrow of I1: "
        "battery E1, its minus terminal first, then resistor R1. "
        "Branch 2, from P to C, which has no arrow: resistor R2, then ammeter M1. "
        "Branch 3, from C to A, which is also the way of the arrow of I2: resistor R3. "
        "Branch 4, from C to A, which is also the way of the arrow of I3: "
        "resistor R4, then current source J1, its arrow pointing backwards. "
        "Branch 5, from P to A, which has no arrow: voltmeter M2. "
        "Branch 6, from P to C, which has no arrow: open switch S1, then resistor R5. "
        "Branch 7, from C to A, which has no arrow: closed switch S2, then capacitor C1."
    )
    loop = loops_of(circuit)[0]
    walked = short(circuit, View(loop=loop)).partition("order: ")[2].rstrip(".").split(", ")
    assert walked[0] == walked[-1]
    assert "P" in walked
    assert "M2" not in walked
    assert "2 open switches" in short(read(BENCH.replace("closed S2", "open S2")), View())


def test_the_letter_of_an_instrument_stands_in_its_symbol_in_a_graph_too() -> None:
    legs = [
        Leg(quantity=f"X{k}", element=f"X{k}", shape=shape, along=k % 2 == 0,
            label=resistance("R1"), change=Fraction(change))
        for k, (shape, change) in enumerate(zip(SymbolShape, (3, -1) * 10, strict=False))
    ]  # fmt: skip
    legs.append(replace(legs[0], quantity="Y", element="Y", change=-sum(leg.change for leg in legs)))  # fmt: skip
    drawing = potential_graph(PotentialWalk(tuple(legs), (("A",),) * (len(legs) + 1)), Style())
    letters = [label for label in drawing.labels if isinstance(label.content, Words)]
    assert [label.content.text for label in letters] == ["A", "V"]  # type: ignore[union-attr]
    for label in letters:
        assert any(is_letter_of(label, one) and one.box.holds(label.box) for one in drawing.symbols)


def test_dependent_sources_are_diamonds() -> None:
    circuit = FILES["followers"]
    drawing = schematic(circuit, View(loops=loops_of(circuit)))
    shapes = {one.part: one.shape for one in drawing.symbols}
    assert shapes["E2"] is SymbolShape.DEPENDENT_EMF
    assert shapes["J2"] is SymbolShape.DEPENDENT_CURRENT
    assert shapes["E1"] is SymbolShape.CELL
    assert shapes["J3"] is SymbolShape.CURRENT_SOURCE
    style = style_of(circuit)
    for page in (
        read_tikz(tikz.write(drawing, style, "x")), read_svg(svg.write(drawing, style, "x"))
    ):  # fmt: skip
        check_figure(circuit, read_figure(circuit, see(page)), values=False)
    # The same figure does not show a circuit whose sources depend on nothing.
    plain = replace(circuit, values=tuple(v for v in circuit.values if isinstance(v.value, Given)))
    page = read_svg(svg.write(drawing, style, "x"))
    with pytest.raises(Misdrawn, match="drawn as a diamond"):
        check_figure(plain, read_figure(plain, see(page)), values=False)


def test_dependent_sources_in_words() -> None:
    circuit = FILES["followers"]
    assert short(circuit, View()).startswith(
        "Circuit diagram: 1 battery, 1 current source, 1 dependent voltage source, 1 dependent "
        "current source and 5 resistors in "
    )
    told = long(circuit)
    assert (
        "dependent voltage source E2 with internal resistance r2, its plus terminal first" in told
    )
    assert "dependent current source J2, its arrow pointing forwards" in told


def test_signs_in_a_diamond_that_are_exchanged_are_noticed() -> None:
    circuit = FILES["followers"]
    style = style_of(circuit)
    drawing = schematic(circuit, View(loops=loops_of(circuit)))
    turned = tuple(
        replace(one, direction=one.direction.opposite)
        if one.shape in (SymbolShape.DEPENDENT_EMF, SymbolShape.DEPENDENT_CURRENT)
        else one
        for one in drawing.symbols
    )
    page = read_svg(svg.write(replace(drawing, symbols=turned), style, "x"))
    with pytest.raises(Misdrawn, match="wrong way round"):
        check_figure(circuit, read_figure(circuit, see(page)), values=False)


# --- random circuits with all kinds of parts ----------------------------------------------------


def other(rng: random.Random, number: int) -> Element:
    """Return a part that is no battery, resistor or lamp."""
    meter = rng.choice(list(Meter))
    return rng.choice(
        [
            CurrentSource(f"J{number}"),
            Switch(f"S{number}", is_closed=True),
            Switch(f"S{number}", is_closed=False),
            Instrument(f"M{number}", meter),
            Instrument(f"M{number}", meter, is_real=True),
            Capacitor(f"C{number}"),
        ]
    )


def mixed(family: str, seed: int) -> Circuit:
    """Return a planar circuit half of whose resistors are other parts; no current where a gap is.

    What is drawn is the circuit itself: whether it can be solved does not matter to a figure.
    """
    rng = random.Random(f"other parts {family} {seed}")
    given = random_planar(family, seed)
    taken: dict[Letter, Element] = {}
    branches = []
    for branch in given.branches:
        passages = []
        for passage in branch.passages:
            element: Element = passage.element
            if isinstance(element, Resistor) and rng.random() < 0.6:
                taken[element.resistance] = element = other(rng, len(taken) + 1)
            along = rng.random() < 0.5 if isinstance(element, CurrentSource) else passage.along
            passages.append(Passage(element, along))
        branches.append(replace(branch, passages=tuple(passages)))
    idle = {
        k
        for k, branch in enumerate(branches)
        if branch.tail != branch.head and any(is_gap(p.element) for p in branch.passages)
    }
    walks = tuple(walk for walk in given.walks if walk.branch not in idle)
    pieces = tuple((Hop(k, along=True),) for k in range(len(branches)))
    drawn = Drawn(given.nodes, tuple(branches), walks, pieces)
    looks = given.looks
    apart = random.Random(f"followers {family} {seed}")
    followers = tuple(_followers(apart, branches, walks))
    if rng.random() < 0.3:
        looks = replace(looks, resistor=ResistorSymbol.ZIGZAG)
    made = tuple(branches)
    names = {follower.symbol for follower in followers}
    values = (*(v for v in values_of(rng, given, taken) if v.symbol not in names), *followers)
    return replace(given, branches=made, values=values, drawn=drawn, looks=looks)


def _followers(
    rng: random.Random, branches: Sequence[Branch], walks: Sequence[WalkCurrent]
) -> Iterator[Valuation]:
    """Yield values that follow a current, for some of the sources."""
    for branch in branches:
        for passage in branch.passages:
            element = passage.element
            if not isinstance(element, Battery | CurrentSource) or rng.random() < 0.7 or not walks:
                continue
            letter = element.emf if isinstance(element, Battery) else element.source
            factor: Term = Quantity(Fraction(2), OHM)
            if isinstance(element, CurrentSource):
                factor = number(3)
            yield Valuation(letter, Tie(Product((factor, rng.choice(walks).current))))


def values_of(
    rng: random.Random, given: Circuit, taken: dict[Letter, Element]
) -> Iterator[Valuation]:
    """Yield values of what is left, and of the other parts."""
    for valuation in given.values:
        tied = symbols(valuation.value.term) if isinstance(valuation.value, Tie) else ()
        if valuation.symbol not in taken and not set(tied) & set(taken):
            yield valuation
    for element in taken.values():
        letter = own_quantity(element) or element.resistance
        if letter is None:
            continue
        size = {
            AMPERE: rng.choice(("2", "3/2", "0.04")),
            FARAD: rng.choice(("47e-6", "2.2e-7", "1e-3", "33e-12")),
            OHM: rng.choice(("0.2", "10000", "47")),
        }[letter.dimension]
        yield Valuation(letter, Given(Fraction(size), letter.dimension))


SEEDS = [*product(FAMILIES, range(20, 28))]


def test_random_circuits_have_parts_of_every_kind() -> None:
    assert len(SEEDS) >= 60
    seen: Counter[object] = Counter()
    for family, seed in SEEDS:
        for one in mixed(family, seed).elements:
            state = getattr(one, "is_closed", getattr(one, "meter", None))
            seen[type(one), state, getattr(one, "is_real", None)] += 1
    assert len(seen) == 10
    assert all(count > 10 for count in seen.values())


@pytest.mark.parametrize(("family", "seed"), SEEDS)
def test_random_figure(family: str, seed: int) -> None:
    circuit = mixed(family, seed)
    values = not circuit.dependent  # what a source follows is no value that can be read back
    drawing = schematic(circuit, View(values=values, loops=loops_of(circuit)))
    assert examine(circuit, drawing, values=values).faults == ()
    check_clear(drawing)
    check_names(drawing, circuit)
    style = style_of(circuit)
    pages = read_tikz(tikz.write(drawing, style, "x")), read_svg(svg.write(drawing, style, "x"))
    one, two = (see(page).parts for page in pages)
    assert [p.kind for p in one] == [p.kind for p in two]
    for first, second in zip(one, two, strict=True):
        assert alike(first, second)


def alike(one: Part, other: Part) -> bool:
    """Tell whether two symbols have the same ends; only some have a first and a second one."""
    alone = one.kind in ("cell", "source") or one.kind.startswith("diamond")
    ways = [other.ends] if alone else [other.ends, other.ends[::-1]]
    return any(all(dist(a, b) < TOUCH for a, b in zip(one.ends, way, strict=True)) for way in ways)


# --- the reader is no yes-man -------------------------------------------------------------------

LINE = r"\draw[loopwalkink,line width=0.7pt] "


def flipped(text: str) -> str:
    """Turn the arrow of the first current source round: its head and its shaft."""
    lines = text.splitlines()
    at = next(k for k, line in enumerate(lines) if "circle" in line and "--cycle" in lines[k + 1])
    centre = lines[at].partition("(")[2].partition(")")[0]
    x, y = map(float, centre.split(","))

    def turn(path: str) -> str:
        spots = [tuple(map(float, p.strip("()").split(","))) for p in path.split("--")]
        return "--".join(f"({2 * x - a:.2f},{2 * y - b:.2f})" for a, b in spots)

    pen, _, shaft = lines[at].rpartition(" ")
    lines[at] = f"{pen} {turn(shaft.rstrip(';'))};"
    fill, _, head = lines[at + 1].rpartition(" ")
    lines[at + 1] = f"{fill} {turn(head.removesuffix('--cycle;'))}--cycle;"
    return "\n".join(lines)


def with_switches_changed(circuit: Circuit) -> Circuit:
    """Return a circuit whose open switches are closed, and the other way round."""
    assert circuit.drawn is not None
    branches = tuple(
        replace(
            branch,
            passages=tuple(
                replace(p, element=replace(p.element, is_closed=not p.element.is_closed))
                if isinstance(p.element, Switch)
                else p
                for p in branch.passages
            ),
        )
        for branch in circuit.drawn.branches
    )
    return replace(circuit, drawn=replace(circuit.drawn, branches=branches))


def figure_text() -> tuple[Circuit, str]:
    circuit = FILES["bench"]
    drawing = schematic(circuit, View(values=True, loops=loops_of(circuit)))
    return circuit, tikz.write(drawing, style_of(circuit), "a circuit")


def check(circuit: Circuit, text: str) -> None:
    check_figure(circuit, read_figure(circuit, see(read_tikz(text))), values=True)


def test_open_and_closed_are_not_taken_for_each_other() -> None:
    circuit, text = figure_text()
    check(circuit, text)
    with pytest.raises(Misdrawn, match="is drawn as a"):
        check(with_switches_changed(circuit), text)


def test_changed_figures_are_refused() -> None:
    circuit, text = figure_text()
    letter = r"{$\mathrm{A}$}", r"{$\mathrm{V}$}"
    assert all(one in text for one in letter)
    swapped = text.replace(letter[0], "\0").replace(letter[1], letter[0]).replace("\0", letter[1])
    with pytest.raises(Misdrawn, match="is drawn as a"):
        check(circuit, swapped)
    gone = "\n".join(line for line in text.splitlines() if letter[0] not in line)
    with pytest.raises(Misdrawn, match="without a cross"):
        check(circuit, gone)
    turned = flipped(text)
    assert turned != text
    with pytest.raises(Misdrawn, match="J1 are the wrong way round"):
        check(circuit, turned)
    with pytest.raises(Misdrawn, match="C1 is said to be"):
        check(circuit, text.replace(r"{$10\,\text", r"{$12\,\text"))


def test_a_name_of_a_part_without_a_quantity_is_set_as_a_quantity_is() -> None:
    circuit = FILES["bench"]
    drawing = schematic(circuit, View())
    names = {
        label.content.name: label.content.kind
        for label in drawing.labels
        if isinstance(label.content, Letter)
    }
    plain = {name for name, kind in names.items() if kind is SymbolKind.AUXILIARY}
    assert plain == {"M1", "M2", "S1", "S2"}
    written = svg.write(drawing, Style(), "x")
    assert 'font-style="italic">M</tspan>' in written
