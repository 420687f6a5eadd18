"""One circuit compared with what must agree with it; each check returns what is wrong.

Sources, all from memory: the two rules and the superposition of what several sources do,
G. Kirchhoff, "Ueber die Auflösung der Gleichungen, auf welche man bei der Untersuchung der linearen
Vertheilung galvanischer Ströme geführt wird", Ann. Phys. Chem. 72, 1847; reciprocity, J. C. Maxwell,
"A Treatise on Electricity and Magnetism", 1873, art. 281; Σ V·I = 0 for the voltages of one circuit
and the currents of another one of the same graph, B. D. H. Tellegen, "A general network theorem,
with applications", Philips Res. Rep. 7, 1952.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

import sympy

from derive.diagnostic import Rejected
from derive.options import Group, Options
from derive.writers.answers_json import Contract
from tests.answering import answered
from tests.differential import oracle
from tests.differential.fractions_in_letters import Letters
from tests.differential.nets import (
    Net,
    Part,
    alone,
    other_values,
    random_net,
    reversed_walks,
    scaled,
    shuffled_names,
)

NUMBERS = Options(numbers_first=True)
LETTERS = Options()
_WEIGHTS = (2, 3, 4, 3, 2, 1, 1)
"""How often circuits with 1 to 7 loops are made."""

MOST = {"letters": 4, "symbolic": 3, "methods": 5, "superposition": 4}
"""Loops of the largest circuits of some checks; 7 for the others."""


def net_of(seed: int, *, most: int = 7, **kinds: bool) -> Net:
    """Return the circuit of a seed."""
    rng = random.Random(seed)
    (loops,) = rng.choices(range(1, most + 1), _WEIGHTS[:most])
    return random_net(rng, loops, **kinds)


def currents(text: str, options: Options = NUMBERS) -> dict[str, Fraction]:
    """Return the exact current of every walk."""
    return exact_of(answered(text, options))


def exact_of(contract: Contract) -> dict[str, Fraction]:
    """Return the exact currents of a contract."""
    found = {}
    for name, result in contract.currents:
        assert result.exact is not None, name
        found[name] = result.exact
    return found


def differences(found: Mapping[str, Fraction], wanted: Mapping[str, Fraction]) -> Iterator[str]:
    """Yield where two tables of exact values are not the same."""
    if found.keys() != wanted.keys():
        yield f"walks {sorted(found)} instead of {sorted(wanted)}"
    for name in found.keys() & wanted.keys():
        if found[name] != wanted[name]:
            yield f"{name} = {found[name]} instead of {wanted[name]}"


# Numbers


def numbers(seed: int) -> Iterator[str]:
    """All currents against numpy's nodal analysis, every fourth circuit also exactly."""
    net = net_of(seed)
    options = LETTERS if seed % 50 == 1 else NUMBERS
    ends = net.points[0], net.points[-1]
    further = [f"ask voltage {ends[0]} {ends[1]}"] if seed % 10 == 0 and len(set(ends)) > 1 else []
    contract = answered(net.text("ask currents", *further), options)
    if not contract.checked:
        yield "not checked"
    found = exact_of(contract)
    for name, value in oracle.floating(net).items():
        if abs(float(found[name]) - value) > 1e-9 * max(1.0, abs(value)):
            yield f"{name} = {float(found[name])} instead of numpy's {value}"
    if seed % 4 == 0:
        yield from differences(found, oracle.exact(net))


# Letters


def formulas(contract: Contract) -> dict[str, str]:
    """Return the formula of every current."""
    found = {}
    for name, result in contract.currents:
        assert result.formula is not None, name
        found[name] = result.formula
    return found


def evaluated(formula: str, values: Mapping[str, Fraction]) -> Fraction:
    """Return the exact value of a formula in Python's spelling."""
    return Fraction(eval(formula, {"__builtins__": {}}, dict(values)))


def in_letters(seed: int, *, symbolic: bool = False) -> Iterator[str]:
    """Formulas against sympy's, at two exact points, and symbolically where that is asked for."""
    net = net_of(seed, most=MOST["symbolic" if symbolic else "letters"])
    contract = answered(net.text("ask currents", values=False), LETTERS)
    # linsolve may take minutes for four loops; what LUsolve leaves is nested and long written out.
    nested = net.loops > 3 or (seed % 2 == 1 and (not symbolic or net.loops < 3))
    by = "LUsolve" if nested else "linsolve"
    theirs = oracle.in_letters(net, by=by)
    ours = formulas(contract)
    if ours.keys() != theirs.keys():
        yield f"walks {sorted(ours)} instead of {sorted(theirs)}"
    rng = random.Random(seed + 1)
    for point in (net, other_values(net, rng)):
        values = oracle.letters(point)
        at = {
            sympy.Symbol(k): sympy.Rational(v.numerator, v.denominator) for k, v in values.items()
        }
        for name, formula in ours.items():
            there = theirs[name].xreplace(at)
            if evaluated(formula, values) != Fraction(int(there.p), int(there.q)):
                yield f"{name} = {formula} differs from sympy's {by}"
    if symbolic:
        ring = Letters(oracle.letters(net))
        for name, formula in ours.items():
            if not ring.of_text(formula).same(ring.of_sympy(theirs[name])):
                yield f"{name} = {formula} is not sympy's {theirs[name]}"


# Methods


def methods(seed: int) -> Iterator[str]:
    """Every way to the currents against every other one."""
    net = net_of(seed, most=MOST["methods"])
    rng = random.Random(seed + 1)
    wanted = oracle.exact(net)

    def told(why: str, text: str, options: Options) -> Iterator[str]:
        try:
            found = currents(text, options)
        except Rejected as fault:
            yield f"{why}: {fault.diagnostics[0].message}"
            return
        yield from (f"{why}: {line}" for line in differences(found, wanted))

    for why, options in (("letters", LETTERS), ("numbers", NUMBERS)):
        yield from told(why, net.text("ask currents"), options)
    yield from told("by loops", net.text("ask currents"), Options(group=Group.LOOP))
    loops = "".join(f"use loop {loop}\n" for loop in random_loops(net, rng))
    yield from told("other loops", net.text(loops, "ask currents"), NUMBERS)
    yield from told("other loops in letters", net.text(loops, "ask currents"), LETTERS)
    named = junctions(net)
    if len(named) > 1:
        chosen = rng.sample(named, rng.randint(1, len(named) - 1))
        text = net.text(f"use junction {', '.join(chosen)}", "ask currents")
        yield from told("other junctions", text, NUMBERS)
    free = [walk.name for walk in net.walks if walk.source is None and walk.tail != walk.head]
    if free:
        chosen = rng.sample(free, rng.randint(1, len(free)))
        text = net.text(f"eliminate {', '.join(chosen)}", "ask currents")
        yield from told("eliminations by the author", text, NUMBERS)
        yield from told("eliminations by the author, in letters", text, LETTERS)
    reduced = net.text("use method reduction", "ask currents")
    try:
        by_reduction = currents(reduced, NUMBERS)
    except Rejected as fault:
        if fault.diagnostics[0].code != "not-reducible":
            yield f"reduction: {fault.diagnostics[0].message}"
        return
    yield from (f"reduction: {line}" for line in differences(by_reduction, wanted))
    both = net.text("use method branch currents", "use method reduction", "ask currents")
    yield from told("both methods", both, LETTERS)
    yield from told("both methods with numbers", both, NUMBERS)


def junctions(net: Net) -> list[str]:
    """Return the points where three or more ends of walks meet."""
    ends = [end for walk in net.walks for end in (walk.tail, walk.head)]
    return [point for point in net.points if ends.count(point) > 2]


def random_loops(net: Net, rng: random.Random) -> list[str]:
    """Return loops of a random tree of a network, as one names them: points and parts."""
    order = [k for k, walk in enumerate(net.walks) if walk.source is None]
    rng.shuffle(order)
    ways: dict[str, list[tuple[int, bool]]] = {net.points[0]: []}
    used: set[int] = set()
    grown = True
    while grown:
        grown = False
        for k in order:
            walk = net.walks[k]
            for here, there, along in ((walk.tail, walk.head, True), (walk.head, walk.tail, False)):
                if here in ways and there not in ways:
                    ways[there] = [*ways[here], (k, along)]
                    used.add(k)
                    grown = True
    found = []
    for k in order:
        if k in used:
            continue
        walk = net.walks[k]
        out, back = ways[walk.tail], ways[walk.head]
        while out and back and out[0] == back[0]:
            out, back = out[1:], back[1:]
        hops = [*out, (k, True), *((j, not along) for j, along in reversed(back))]
        if rng.random() < 0.5:
            hops = [(j, not along) for j, along in reversed(hops)]
        found.append(_loop_text(net, hops))
    rng.shuffle(found)
    return found[: rng.randint(1, len(found))] if found else []


def _loop_text(net: Net, hops: list[tuple[int, bool]]) -> str:
    stops: list[str] = []
    for k, along in hops:
        walk = net.walks[k]
        parts = [f"({part.name})" for part in walk.parts]
        if not stops:
            stops.append(walk.tail if along else walk.head)
        stops += parts if along else parts[::-1]
        stops.append(walk.head if along else walk.tail)
    return " ".join(stops)


# What changes nothing, or what is known to change


def names(seed: int) -> Iterator[str]:
    """Names dealt out anew: the currents go with the walks."""
    net = net_of(seed)
    other, walks = shuffled_names(net, random.Random(seed + 1))
    wanted = currents(net.text("ask currents"))
    found = currents(other.text("ask currents"))
    yield from differences(found, {walks[name]: value for name, value in wanted.items()})


def directions(seed: int) -> Iterator[str]:
    """Walks read from their other end: their currents change sign."""
    net = net_of(seed)
    rng = random.Random(seed + 1)
    chosen = {walk.name for walk in net.walks if rng.random() < 0.5}
    wanted = currents(net.text("ask currents"))
    found = currents(reversed_walks(net, chosen).text("ask currents"))
    signed = {name: -value if name in chosen else value for name, value in wanted.items()}
    yield from differences(found, signed)


def order(seed: int) -> Iterator[str]:
    """Lines in another order: nothing changes."""
    net = net_of(seed)
    lines = [*net.lines(), "ask currents"]
    random.Random(seed + 1).shuffle(lines)
    wanted = currents(net.text("ask currents"))
    yield from differences(currents("\n".join(lines)), wanted)


def loops(seed: int) -> Iterator[str]:
    """Other loops: nothing changes."""
    net = net_of(seed)
    chosen = random_loops(net, random.Random(seed + 1))
    wanted = currents(net.text("ask currents"))
    text = net.text(*(f"use loop {loop}" for loop in chosen), "ask currents")
    yield from differences(currents(text), wanted)


def scales(seed: int) -> Iterator[str]:
    """All resistances k times as large; all batteries and sources k times as strong."""
    net = net_of(seed)
    factor = random.Random(seed + 1).choice([Fraction(2), Fraction(3, 2), Fraction(1000)])
    wanted = currents(net.text("ask currents"))
    with_sources = scaled(net, ohms=factor)
    found = currents(with_sources.text("ask currents"))
    yield from differences(found, {name: value / factor for name, value in wanted.items()})
    found = currents(scaled(net, drive=factor).text("ask currents"))
    yield from differences(found, {name: value * factor for name, value in wanted.items()})


def superposition(seed: int) -> Iterator[str]:
    """The currents that each battery and each source drives alone add up to those of all."""
    net = net_of(seed, most=MOST["superposition"])
    wanted = currents(net.text("ask currents"))
    whole = dict.fromkeys(wanted, Fraction(0))
    for part in net.parts:
        if part.kind != "R":
            for name, value in currents(alone(net, part.name).text("ask currents")).items():
                whole[name] += value
    yield from differences(whole, wanted)


def reciprocity(seed: int) -> Iterator[str]:
    """An emf in one branch drives in another what it would drive here if it stood there."""
    net = net_of(seed, sources=False, ideal=False)
    rng = random.Random(seed + 1)
    quiet = Net(
        tuple(
            replace(walk, parts=tuple(p for p in map(_resistor, walk.parts) if p is not None))
            for walk in net.walks
        )
    )
    one, other = (rng.choice(quiet.walks).name for _ in range(2))
    here = currents(_driven(quiet, one).text("ask currents"))[other]
    there = currents(_driven(quiet, other).text("ask currents"))[one]
    if here != there:
        yield f"emf in {one}: {other} = {here}; emf in {other}: {one} = {there}"


def _resistor(part: Part) -> Part | None:
    if part.kind == "R":
        return part
    return None if part.inside is None else Part("R", f"R_{part.inside}", part.inner)


def _driven(net: Net, name: str) -> Net:
    battery = Part("E", "E", Fraction(6))
    return Net(
        tuple(replace(w, parts=(battery, *w.parts)) if w.name == name else w for w in net.walks)
    )


def tellegen(seed: int) -> Iterator[str]:
    """The voltages of one circuit times the currents of another one of its graph add up to zero."""
    net = net_of(seed)
    rng = random.Random(seed + 1)
    other = other_values(net, rng)
    pairs = {(w.tail, w.head) for w in net.walks if w.tail != w.head}
    asked = [f"ask voltage {tail} {head}" for tail, head in sorted(pairs)]
    contract = answered(net.text("ask currents", *asked), NUMBERS)
    voltages = {answer.ask: answer.result.exact for answer in contract.answers}
    flows = currents(other.text("ask currents"))
    total = Fraction(0)
    for walk in net.walks:
        if walk.tail != walk.head:
            voltage = voltages[f"voltage {walk.tail} {walk.head}"]
            assert voltage is not None
            total += voltage * flows[walk.name]
    if total:
        yield f"the sum of V·I is {total}"


CHECKS: dict[str, Callable[[int], Iterator[str]]] = {
    "numbers": numbers,
    "letters": in_letters,
    "symbolic": lambda seed: in_letters(seed, symbolic=True),
    "methods": methods,
    "names": names,
    "directions": directions,
    "order": order,
    "loops": loops,
    "scales": scales,
    "superposition": superposition,
    "reciprocity": reciprocity,
    "tellegen": tellegen,
}
"""Name of a check → what is wrong with the circuit of a seed."""
