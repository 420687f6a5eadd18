"""Laws of a circuit, recomputed from its parts: junctions, walks, charges, and other circuits.

Part of the checker that stands alone, see `__main__.py`, which loads this file; it uses Python's
standard library alone. A `state` holds the lines of a proof and what is known so far; each function
checks one kind of line, whose equation, if it has one, is tested by `__main__.py`.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

Data = Any
solved: Any = globals().get("solved")
"""The module `alone_solved`, given by who loads this file."""
require: Any = getattr(solved, "require", None)


def divisors(term: Data) -> list[Data]:
    """Return all that a term divides by."""
    if isinstance(term, str | int) or term[0] in ("number", "quantity"):
        return []
    own = [term[2]] if term[0] == "/" else term[1:] if term[0] == "parallel" else []
    return [*own, *(found for inner in term[1:] for found in divisors(inner))]


def total(terms: list[Data]) -> Data:
    """Return a sum as it is written, without zeros."""
    kept = [term for term in terms if term != solved.NOTHING]
    return ["+", *kept] if len(kept) > 1 else kept[0] if kept else solved.NOTHING


def well_formed(world: Any) -> None:
    """The parts of each branch lie one behind the other, from where it begins to where it ends."""
    for k, branch in enumerate(world.circuit["branches"]):
        here, parts = branch["from"], [p for p in world.parts.values() if p["branch"] == k]
        while parts:
            ends = {id(p): (p["from"], p["to"])[:: 1 if p["along"] else -1] for p in parts}
            found = next((p for p in parts if ends[id(p)][0] == here), None)
            require(found is not None, f"the parts of branch {k} do not hang together")
            here = ends[id(found)][1]
            parts = [p for p in parts if p is not found]
        require(here == branch["to"], f"branch {k} ends somewhere else")


class AnyCurrents(solved.World if solved else object):  # type: ignore[misc]
    """A circuit in which any currents flow and places have any potentials.

    What holds there of a part is its own law; what follows from the whole circuit does not hold.
    """

    def _meaning(self, name: str) -> Fraction:
        given = name in self.said and name not in self.parts
        if name in self.following or (name in self.told and name in self.parts):
            return solved.anything(name, 4)  # type: ignore[no-any-return]
        return self.does(name) if given else super()._meaning(name)  # type: ignore[no-any-return]

    @property
    def forms(self) -> Any:
        """What each current and each potential is, without Kirchhoff's rules."""
        wires = places_at(self.parts)
        found = {("V", p): {None: solved.anything(f"at {wires[p]}", 4)} for p in wires}
        for k, branch in enumerate(self.circuit["branches"]):
            parts = {name: part for name, part in self.parts.items() if part["branch"] == k}
            flow = solved.ZERO if branch["idle"] else solved.anything(f"in {k}", 4)
            for name, part in parts.items():
                if part["kind"] == "source":
                    flow = self.symbol(name) * (1 if part["along"] else -1)
            for name, part in parts.items():
                found["I", name] = {None: flow if part["along"] else -flow}
        return found


def places_at(parts: Data) -> dict[str, str]:
    """Return for each place the one that stands for all that wires join to it."""
    gaps = ("battery", "resistor", "source", "capacitor", "gap")
    return solved.places_joined(parts, gaps)  # type: ignore[no-any-return]


def law_of_part(state: Any, left: Data, right: Data) -> None:
    """A law of one part, or what is meant by a quantity, holds whatever flows elsewhere."""
    world = AnyCurrents(state.circuit, state.named, state.told, ())
    require(world.value(left) == world.value(right), "it is no law of one part")


def junction(state: Any, line: Data, left: Data, right: Data) -> None:
    """What flows into a junction flows out of it."""
    branches = [b for b in state.circuit["branches"] if not b["idle"] and b["from"] != b["to"]]
    for end, told in (("to", line["in"]), ("from", line["out"])):
        flows = sorted(b["current"] for b in branches if b[end] == line["node"])
        require(flows == sorted(told), f"other currents flow at {line['node']}")
    sides = [total(line["in"]), total(line["out"])]
    sides = sides if line["in"] else sides[::-1]
    require([left, right] == sides, "it is not the sum of these currents")


def _rows(state: Any, rows: Data) -> tuple[Data, Data]:
    """Walk past parts, one after the other; return where that begins and ends."""
    wires = places_at(state.world.parts)
    first = here = None
    for name, letter, current, along, change in rows:
        part = state.world.parts[letter]
        within = {p["internal"]: n for n, p in state.world.parts.items() if p.get("internal")}
        require(name == within.get(letter, letter), f"{letter} is not in {name}")
        branch, forward = state.circuit["branches"][part["branch"]], along == part["along"]
        term, flow, falls = letter, None, along
        match part["kind"]:
            case "battery":
                forward, falls = along, not along
            case "capacitor":
                term = f"V({letter})"
            case "resistor" if branch["idle"]:
                term, falls = solved.NOTHING, False
            case "resistor":
                term, flow = ["*", letter, branch["current"]], branch["current"]
            case _:
                raise ValueError(f"{letter} makes no change that is known")
        told = [current, change] == [flow, ["-", term] if falls else term]
        require(told, f"the change at {letter} is another one")
        tail, head = (wires[part[end]] for end in ("from", "to"))
        tail, head = (tail, head) if forward else (head, tail)
        require(here in (None, tail), f"the walk does not go on with {letter}")
        first, here = tail if first is None else first, head
    return first, here


def walk(state: Any, line: Data, left: Data, right: Data) -> None:
    """A walk past parts: its table, where it leads, and the sum of its changes."""
    kind, rows = line["kind"], line["rows"]
    terms = [row[4] for row in rows]
    start, end = _rows(state, rows)
    if kind == "loop":
        closed = start == end and len({row[1] for row in rows}) == len(rows) > 0
        require(closed, "the walk is not closed, or passes a part twice")
        _branches(state, line["walk"], rows)
        require([left, right] == [total(terms), solved.NOTHING], "the sum is another one")
        return
    if kind == "across":
        name, part = f"V({line['part']})", state.world.parts[line["part"]]
        known = part["kind"] in ("battery", "resistor")
        require(not known, f"{line['part']} has a law of its own")
        ends = [part["to"], part["from"]][:: -1 if part["kind"] == "source" else 1]
    else:
        ends = [state.circuit["points"][line[at]] for at in ("from", "to")]
        name = f"V({line['to']},{line['from']})" if kind == "path" else f"V({line['to']})"
    if kind == "potential" and line["from"] != state.circuit["ground"]:
        terms.insert(0, f"V({line['from']})")
    wires = places_at(state.world.parts)
    there = [wires.get(place, place) for place in ends]
    leads = [start, end] == there if rows else there[0] == there[1]
    require(leads, "the walk leads from and to somewhere else")
    require([left, right] == [name, total(terms)], "the sum is another one")


def _branches(state: Any, walk: Data, rows: Data) -> None:
    """The branches of a loop hang together, and hold just these parts."""
    branches = [state.circuit["branches"][k] for k, _ in walk if type(k) is int and k >= 0]
    ways = [along for _, along in walk]
    ends = [(b["from"], b["to"])[:: 1 if w else -1] for b, w in zip(branches, ways, strict=True)]
    joined = all(ends[k - 1][1] == ends[k][0] for k in range(len(ends)))
    require(joined and len({k for k, _ in walk}) == len(walk), "the branches make no loop")
    held = {n for n, p in state.world.parts.items() if p["branch"] in {k for k, _ in walk}}
    met = {row[1] for row in rows}
    wires = {n for n in held if state.world.parts[n]["kind"] == "wire"}
    require(met == held - wires, "the branches hold other parts")


def count(state: Any, line: Data, *_: Data) -> None:
    """Branches, junctions, unknowns and how many equations they need."""
    circuit, parts = state.circuit, state.world.parts
    given = {name for name in circuit["values"] if name not in state.world.letters}
    fixed = {p["branch"] for p in parts.values() if p["kind"] == "source"}
    branches = [(k, b) for k, b in enumerate(circuit["branches"]) if not b["idle"]]
    ends = [b[end] for _, b in branches for end in ("from", "to")]
    told = {state.world.currents[name][0] for name in given if name in state.world.currents}
    unknowns = [b["current"] for k, b in branches if k not in fixed | told]
    loops = sum(k not in fixed for k, _ in branches) - len(circuit["nodes"]) + 1
    voltages = sum(name not in state.world.currents for name in given)
    require(line["branches"] == len(branches), "there are more or fewer branches")
    junctions = sum(ends.count(node) >= 3 for node in circuit["nodes"])
    require(line["junctions"] == junctions, "there are more or fewer junctions")
    require(line["unknowns"] == unknowns + circuit["sought"], "the unknowns are others")
    needed = [len(circuit["nodes"]) - 1, loops, voltages]
    require(line["equations"] == needed, "other equations are needed")


def charge(state: Any, line: Data, left: Data, right: Data) -> None:
    """What capacitors carry to a place that no charge can leave adds up to zero."""
    parts, place = state.world.parts, state.circuit["points"]
    regions = solved.places_joined(parts, ("gap", "capacitor"))
    own = {regions.get(place[point], place[point]) for point in line["points"]}
    require(len(own) == 1, "the points are not at one such place")
    inside = {point for point, at in place.items() if regions.get(at, at) in own}
    require(inside == set(line["points"]), "the place has other points")
    sides: list[list[str]] = [[], []]
    for name, part in parts.items():
        ends = [regions[part[end]] in own for end in ("to", "from")]
        if part["kind"] == "capacitor" and ends[0] != ends[1]:
            require(name in state.circuit["uncharged"], f"{name} may have been charged")
            sides[ends[1]].append(f"Q({name})")
    told = [sorted(solved.symbols(side)) for side in (left, right)]
    wanted = sides if sides[0] else sides[::-1]
    require(told == [sorted(side) for side in wanted], "other charges belong there")


def rated(state: Any, line: Data, left: Data, right: Data) -> None:
    """A lamp that takes its rated power at its rated voltage has this resistance."""
    rating = state.circuit["ratings"][line["part"]]
    law = ["/", ["^", rating["voltage"], 2], rating["power"]]
    require([left, right] == [line["part"], law], "its rating gives another resistance")


def against_rating(state: Any, line: Data, *_: Data) -> None:
    """A power compared with a rating."""
    power = state.number(line["power"], f"P({line['part']})")
    rating = solved.EXACT.value(state.circuit["ratings"][line["part"]]["power"])
    require(solved.fraction(line["rating"]) == rating, "the rating is another one")
    load = "more than" if power > rating else "less than" if power < rating else "just"
    require(line["load"] == f"{load} its rating", f"it takes {load} its rating")


def nested(state: Any, line: Data, left: Data, right: Data) -> None:
    """Another circuit, with a meter made ideal or with a test source, is proved by itself."""
    inner = type(state)(line["proof"])
    try:
        inner.check()
    except (ValueError, ArithmeticError, LookupError, TypeError, AttributeError) as fault:
        told = str(fault) if type(fault) is ValueError else "it is not written as it should be"
        raise ValueError(f"line {inner.here} of the other circuit: {told}") from None
    state.counts += inner.counts
    state.remarks += inner.remarks
    if line["kind"] == "ideal reading":
        name = f"{left[0]}({line['part']})"
        require(left == f"{left[0]}ideal({line['part']})", "another reading is told")
        shown = [["reading", line["part"]], name] in inner.answers
        require(shown, "the other circuit does not tell what the meter shows")
        unit: Data = solved.ONE
    else:
        name, unit = "V" + left[1:], line["source"]
    for mine, its in ((state.world, inner.world), (state.any, inner.any)):
        if mine is state.any and right is not None and not _same(mine, its, name, right, unit):
            continue
        require(_same(mine, its, name, right, unit), "the other circuit tells something else")
    if line["kind"] == "ideal reading":
        ideal = state.world.another(ideal=line["part"])
        require(_alike(ideal, inner.world, {}), "the other circuit is not this one made ideal")
    else:
        ends = [state.circuit["points"][point] for point in left[2:-1].split(",")]
        forms, size = state.world.driven(*ends), inner.world.symbol(line["source"])
        for name, part in state.world.parts.items():
            if part["kind"] == "resistor":
                flow = solved.read(forms, {("I", name): solved.ONE})
                flow *= state.world.units[1] / state.world.units[0]
                same = abs(flow * size) == abs(inner.world.along(name))
                require(same, "the other circuit is not this one with a test source")


def _same(mine: Any, its: Any, name: str, right: Data, unit: Data) -> bool:
    factor = unit if isinstance(unit, Fraction) else its.symbol(unit)
    return bool(mine.value(right) * factor == its.symbol(name))


def _alike(one: Any, other: Any, without: Data) -> bool:
    """Tell whether in two circuits the same resistances take the same powers."""
    names = {n for n, p in one.parts.items() if p["kind"] == "resistor"} - set(without)
    there = {n for n, p in other.parts.items() if p["kind"] == "resistor"} - set(without)
    return names == there and all(one.symbol(f"P({n})") == other.symbol(f"P({n})") for n in names)


KINDS = {
    "junction": junction,
    "loop": walk,
    "path": walk,
    "potential": walk,
    "across": walk,
    "count": count,
    "charge": charge,
    "rated": rated,
    "against rating": against_rating,
    "ideal reading": nested,
    "by a test source": nested,
}
"""What checks each kind of line."""
