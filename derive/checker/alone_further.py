"""Lines of further kinds: networks that are reduced, power, courses in time, formulas, tolerances.

Part of the checker that stands alone, see `__main__.py`, which loads this file; it uses Python's
standard library alone. A `state` holds the lines of a proof and what is known so far.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import combinations, product
from random import SystemRandom
from typing import Any

Data = Any
solved: Any = globals().get("solved")
"""The module `alone_solved`, set by who loads this file."""

FAR = Fraction(10) ** 120
"""As good as without bound, and its reciprocal as good as zero, where letters are below 10¹³."""
SCALES = ((solved.ONE,) * 3, (Fraction(2), Fraction(3), Fraction(5))) if solved else ()
PREFERRED = (
    *(10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30),
    *(33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91),
)
"""E24 (IEC 60063:2015, from memory); E12, E6 and E3 are every second, fourth and eighth of it."""


def require(holds: Data, reason: str) -> None:
    """Raise ValueError, which refuses the proof, unless something holds."""
    if not holds:
        raise ValueError(reason)


def check_line(state: Any, kind: str, line: Data, left: Data, right: Data) -> None:
    """Check a line; that its equation is true is seen to elsewhere."""
    known = {
        "count": count, "charge": charge, "rated": rated, "against rating": against_rating,
        "network": network, "exchange": exchange, "join": exchange, "levels": levels,
        "put back": put_back, "agree": agree, "ideal reading": nested, "by a test source": nested,
        "efficiency": efficiency, "largest": largest, "balance": balance,
        "share of power": share, "preferred value": preferred, "initially": initially,
        "lasts": lasts, "left between": left_between, "course": course, "rounded course": rounded_course, "course at": course_at,
        "limit": limit, "special case": special_case, "trend": trend, "units": units,
        "range": bounds, "shares": shares,
    }  # fmt: skip
    require(kind in known, f"{kind} is no kind of line that is known")
    known[kind](state, line, left, right)


# --- laws -------------------------------------------------------------------------------------


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
    require(Fraction(line["rating"]) == rating, "the rating is another one")
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
        state.tell(left, right)


def _same(mine: Any, its: Any, name: str, right: Data, unit: Data) -> bool:
    factor = unit if isinstance(unit, Fraction) else its.symbol(unit)
    return bool(mine.value(right) * factor == its.symbol(name))


def _alike(one: Any, other: Any, without: Data) -> bool:
    """Tell whether in two circuits the same resistances take the same powers."""
    names = {n for n, p in one.parts.items() if p["kind"] == "resistor"} - set(without)
    there = {n for n, p in other.parts.items() if p["kind"] == "resistor"} - set(without)
    return names == there and all(one.symbol(f"P({n})") == other.symbol(f"P({n})") for n in names)


# --- networks ---------------------------------------------------------------------------------


def _parts(arms: Data) -> dict[str, Data]:
    kinds = {"R": "resistor", "E": "battery", "J": "source"}
    found = {n: {"kind": kinds[kind], "from": t, "to": h} for kind, n, t, h in arms}
    require(len(found) == len(arms), "two parts of the network have one name")
    return found


def _flows(world: Any, network: Data) -> dict[str, Fraction]:
    """Return the currents in a network."""
    drive, ends = {}, network["ends"]
    if ends and ends[0] != ends[1]:
        flow = world.units[0] / world.units[1]
        drive = {ends[0]: flow, ends[1]: -flow}
    forms = solved.solve(world.laws(_parts(network["arms"]), drive))
    return {arm[1]: solved.read(forms, {("I", arm[1]): solved.ONE}) for arm in network["arms"]}


def network(state: Any, line: Data, *_: Data) -> None:
    """The network that is begun is the circuit, perhaps seen from two points, or from a gap."""
    circuit, part = state.circuit, state.world.parts.get(line.get("part"))
    ends = [circuit["points"][point] for point in line.get("ends", ())]
    if part is not None:
        ends = [part["from"], part["to"]]
    whole = not ends
    kinds = ("resistor", "battery") if whole else ("resistor",)
    wanted = {
        name for name, p in state.world.parts.items()
        if p["kind"] in kinds and not (whole and circuit["branches"][p["branch"]]["idle"])
    }  # fmt: skip
    require({arm[1] for arm in line["network"]} == wanted, "the network has other parts")
    # Places that wires join have one name in the network, which need not be that in the circuit.
    state.network = {"arms": line["network"], "ends": line.get("places", []), "holds": True}

    def is_circuit(world: Any) -> bool:
        forms = world.forms if whole else world.driven(*ends)
        flows = _flows(world, state.network)
        for name, flow in flows.items():
            own = solved.read(forms, {("I", name): solved.ONE})
            p = world.parts[name]
            if flow != (own if p["kind"] == "battery" or p["along"] else -own):
                return False
        return True

    state.network["holds"] = state.holds(is_circuit, "other currents flow in this network")
    state.network["forms"] = lambda w: w.forms if whole else w.driven(*ends)


def exchange(state: Any, line: Data, *_: Data) -> None:
    """Parts are put for others: what lies outside of them must carry the same currents."""
    require(state.network, "no network has been begun")
    before, after = state.network["arms"], line["network"]
    old, new = ({arm[1] for arm in arms} for arms in (before, after))
    taken, made = line.get("taken", []), line.get("made", [])
    how = line.get("exchange", "")
    batteries = {arm[1] for arm in before if arm[0] == "E"}
    source = how in ("a battery by a current source", "a current source by a battery")
    across = how == "straight across a battery"
    gone = old - new
    require(set(taken) <= old and len(set(taken)) == len(taken), "what is taken is not there")
    require(new - old == set(made) and len(set(made)) == len(made), "something else is made")
    fits = gone == set(taken[:1] if source else taken)
    fits = fits or (across and gone - set(taken) <= batteries and len(gone - set(taken)) == 1)
    require(fits and (taken or line["kind"] == "join"), "something else is taken")
    was = state.networks[state.here] = state.network
    now = {**was, "arms": after, "ends": line.get("places", was["ends"])}

    def same(world: Any) -> bool:
        flows, then = _flows(world, was), _flows(world, now)
        changed = {name for name in flows.keys() & then.keys() if flows[name] != then[name]}
        if across and len(changed) <= 1:
            changed -= batteries
        return changed <= set(taken if source else ()) and _made(world, how, taken, made, flows)

    now["holds"] = state.holds(same, "it changes what lies outside of it") and was["holds"]
    state.network = now
    if line["kind"] == "join":
        at = state.circuit["points"]
        places = [at[point] for point in line["points"]]
        drop = [
            solved.read(state.network["forms"](state.world), solved.down(places[0], place))
            for place in places
        ]
        require(len(places) > 1 and not any(drop), "the points are not at one potential")


def _made(world: Any, how: str, taken: Data, made: Data, was: dict[str, Fraction]) -> bool:
    """Tell whether what is made has the value that the kind of exchange says."""
    old, new = [[world.symbol(name) for name in names] for names in (taken, made)]
    resistors = [v for name, v in zip(taken, old, strict=True) if _kind(world, name) != "E"]
    match how:
        case "":
            return True
        case "in series":
            return new == [sum(old)]
        case "in parallel":
            return new == [1 / sum(1 / v for v in old)]
        case "a delta by a wye":
            return len(old) == 3 and [v * sum(old) for v in new] == [
                old[1] * old[2], old[0] * old[2], old[0] * old[1]
            ]  # fmt: skip
        case "a star by a mesh":
            return new == [a * b * sum(1 / v for v in old) for a, b in combinations(old, 2)]
        case "batteries in series" | "current sources side by side":
            return len(new) == 1 and len(old) > 1
        case "a battery by a current source":
            return new == [old[0] / old[1]]
        case "a current source by a battery":
            return new == [old[0] * old[1]]
        case "equal cells side by side":
            return len(new) == 2 and new == [old[0], 1 / sum(1 / v for v in old[1::2])]
        case "without current" | "between equal potentials":
            return not new and not any(was[name] for name in taken)
        case "straight across a battery":
            return not new and bool(resistors)
        case "a wire":
            return not new and not any(old)
    raise ValueError(f"{how} is no exchange that is known")


def _kind(world: Any, name: str) -> str:
    return "E" if world.parts.get(name, {}).get("kind") == "battery" else "R"


def levels(state: Any, line: Data, *_: Data) -> None:
    """Potentials of points, right but for their zero and their scale."""
    require(state.network and len(line["levels"]) > 1, "no network has been begun")
    names = list(line["levels"])
    at = [state.circuit["points"][name] for name in names]

    def right(world: Any) -> bool:
        forms = state.network["forms"](world)
        real = [solved.read(forms, solved.down(place, at[0])) for place in at]
        told = [world.value(term) - world.value(line["levels"][names[0]])
                for term in line["levels"].values()]  # fmt: skip
        k = next(k for k, v in enumerate(real) if v)
        return bool(told[k]) and all(
            t * real[k] == r * told[k] for t, r in zip(told, real, strict=True)
        )

    holds = state.holds(right, "the potentials are others")
    state.network = {**state.network, "holds": state.network["holds"] and holds}


def put_back(state: Any, line: Data, left: Data, right: Data) -> None:
    """A current in what an exchange took; one without a name gets it here."""
    cited, arm = state.earlier(line["exchange"]), line["arm"]
    require(arm in cited.get("taken", ()), f"{arm} was not taken there")
    was = state.networks[line["exchange"]]
    require(not was["ends"], "no current is driven in this network")
    require(left not in spread(state, right), "it is told by itself")

    def flows(world: Any) -> Fraction:
        require(world.numbers or was["holds"], "it is not that for any values")
        return _flows(world, was)[arm]  # type: ignore[no-any-return]

    names = [branch["current"] for branch in state.circuit["branches"]] + state.flows
    if was["holds"] and flows(state.any):
        size = abs(flows(state.any))
        fitting = [name for name in names if abs(state.any.symbol(name)) == size]
        require(left in fitting or not fitting, f"the current in {arm} has the name {fitting}")
    if left not in names:
        require("(" not in left and left not in state.named, f"{left} has a meaning already")
        state.told[left] = flows
        state.flows.append(left)
    require(abs(state.world.symbol(left)) == abs(flows(state.world)), f"{left} is another current")
    try:
        if not state.true(left, right):
            state.special.add(left)
        state.letters(right, state.names)
    except ValueError as fault:
        require("letters" in str(fault), str(fault))
    else:
        state.names.setdefault(left, right)


def spread(state: Any, term: Data) -> set[str]:
    """Return the symbols of a term in which names are written out."""
    found = solved.symbols(term)
    return found.union(*(spread(state, state.names[s]) for s in found if s in state.names))


def left_between(state: Any, line: Data, left: Data, right: Data) -> None:
    """What an emf sees that was made on the way: its value over its current."""
    name, seen = left.removeprefix("R(").removesuffix(")"), state.network
    require(seen, "no network has been begun")

    def is_seen(world: Any) -> Fraction:
        require(world.numbers or seen["holds"], "it is not that for any values")
        return world.symbol(name) / _flows(world, seen)[name]  # type: ignore[no-any-return]

    if name in state.names:
        state.told.setdefault(left, is_seen)


def agree(state: Any, line: Data, *_: Data) -> None:
    """Two ways led to the same."""
    one, other = line["lines"]
    require(one != other and state.rule(one)[0] == state.rule(other)[0], "they are no two ways")


# --- power, preferred values ------------------------------------------------------------------


def balance(state: Any, line: Data, left: Data, right: Data) -> None:
    """All power that is delivered and all that is taken in, each counted once."""
    active = [
        (name, part) for name, part in state.world.parts.items()
        if not state.circuit["branches"][part["branch"]]["idle"]
    ]  # fmt: skip
    sources = {f"Pd({name})" for name, part in active if part["kind"] in ("battery", "source")}
    drains = {f"P({name})" for name, part in active if part["kind"] == "resistor"}
    told: list[str] = []
    for side, cited, stated in (
        ("delivered", line["delivered"], left),
        ("taken", line["taken"], right),
    ):
        whole = solved.ZERO
        for k in cited:
            name, term = state.rule(k)
            told.append(name)
            taken = side == "taken"
            require(name in sources or (taken and name in drains), f"{name} does not belong there")
            whole += state.world.value(term) * (-1 if taken and name in sources else 1)
            if not solved.symbols(term):
                value = solved.EXACT.value(term)
                fits = (value <= 0) if taken else (value >= 0)
                require(fits or name in drains, f"{name} is on a wrong side")
        require(whole == state.world.value(stated), "the powers add up to something else")
    require(sorted(told) == sorted(sources | drains), "a power is left out, or counted twice")
    for k, cited in zip(line["totals"], (line["delivered"], line["taken"]), strict=False):
        names = [state.rule(at)[0] for at in cited]
        minus = cited is line["taken"]
        whole = [["-", n] if minus and n.startswith("Pd(") else n for n in names]
        apart = solved.Terms(lambda name: solved.anything(name, 2), 2)
        same = apart.value(state.rule(k)[1]) == apart.value(["+", *whole])
        require(same, "a name stands for another sum of powers")


def lasts(state: Any, line: Data, left: Data, right: Data) -> None:
    """How long currents flow."""
    asked = [f"t({question[-1]})" for question in state.circuit["questions"]]
    same = left in asked and state.world.does(left) == state.world.value(right)
    require(same, "no question asks for this time")
    if left not in state.names:
        state.tell(left, right)


def share(state: Any, line: Data, left: Data, right: Data) -> None:
    """Which part of all power one power is."""
    cited = state.earlier(line["balance"])
    require(line["power"] in cited["delivered"] + cited["taken"], "the balance does not count it")
    name, _ = state.rule(line["power"])
    require(left == "share" + name.removeprefix("Pd").removeprefix("P"), "another part is meant")
    whole = state.world.value(cited["equation"][0])
    part = state.world.symbol(name) / whole
    require(state.world.value(right) in (part, -part), "it is another share")
    require(solved.EXACT.value(right) >= 0, "a share is not below zero")
    state.tell(left, right)


def efficiency(state: Any, line: Data, left: Data, right: Data) -> None:
    """What is of use of a battery's power, while it delivers or is being charged."""
    name = line["part"]
    own, voltage = name, f"V({name})"
    require(left == f"η({name})", "another efficiency is told")
    if line["voltage"] is None:
        numbers = all(letter in state.circuit["values"] for letter in state.world.letters)
        require(not line["charged"] and not numbers, "nothing tells whether it delivers")
    else:
        value = state.number(line["voltage"], voltage)
        emf = state.world.symbol(own) / state.world.units[0]
        out = emf - value
        fits = out * emf < 0 if line["charged"] else out * emf > 0 and value * emf >= 0
        require(fits, "whether it delivers or is being charged is said wrongly")
    law = ["/", own, voltage] if line["charged"] else ["/", voltage, own]
    fits = state.world.value(law) == state.world.value(right)
    require(fits and state.any.value(law) == state.any.value(right), "the law is another one")
    state.tell(left, right)


def largest(state: Any, line: Data, left: Data, right: Data) -> None:
    """The load that takes the most power has the resistance that it sees (M. H. Jacobi's law)."""
    require(left in (f"Rm({line['part']})", f"Pm({line['part']})"), "something else is told")
    state.rule(line["premise"])
    require(line["part"] not in state.letters(right, state.names), "it holds the load itself")
    others = [s for s in state.circuit["values"].values() if line["part"] in solved.symbols(s)]
    require(not others, "something else follows the load")


def preferred(state: Any, line: Data, left: Data, right: Data) -> None:
    """The value of a series that is next to a value, by the smaller ratio."""
    name, _ = state.rule(line["premise"])
    value, size = state.number(line["premise"], name), int(line["series"][1:])
    require(left == f"{name[0]}n({name},{line['series']})" and value > 0, "another value is meant")
    require(size in (3, 6, 12, 24, 48, 96, 192), "there is no such series")
    decimals = 1 if size <= 24 else 2
    mantissas = [Fraction(v, 10) for v in PREFERRED[:: 24 // size]] if size <= 24 else _roots(size)
    power = Fraction(1)
    while value >= 10 * power:
        power *= 10
    while value < power:
        power /= 10
    values = [m * power * ten for ten in (1, 10) for m in mantissas]
    below, above = max(v for v in values if v <= value), min(v for v in values if v >= value)
    require(
        [Fraction(line[k]) for k in ("below", "above")] == [below, above], "it lies between others"
    )
    nearest = below if value * value <= below * above else above
    require(solved.EXACT.value(right) == nearest, "another value is the nearest")
    place = Fraction(1, 10 ** (2 + decimals))
    for text, near in zip(line["off"], (below, above), strict=True):
        off = Fraction(text)
        require((off / place).denominator == 1, "it has more digits than it says")
        require(2 * abs(off - (near / value - 1)) <= place, "it differs by another part")
    unit = right[2] == state.rule(line["premise"])[1][2]
    require(unit, "it has another unit")
    state.tell(left, right)


def _roots(size: int) -> list[Fraction]:
    """Return powers of a root of ten to three figures; 9.20 stands in E192 for 9.19."""
    with localcontext(prec=40):
        root = Decimal(10) ** (Decimal(1) / size)
        found = [Fraction(round(100 * root**k), 100) for k in range(size)]
    return [Fraction(920, 100) if v == Fraction(919, 100) else v for v in found]


# --- courses in time --------------------------------------------------------------------------


def initially(state: Any, line: Data, left: Data, right: Data) -> None:
    """The voltage of a capacitor at the start."""
    begins = state.circuit["initially"][line["part"]]["voltage"]
    require(right == begins and "(" not in left, "it begins with another voltage")
    state.tell(left, right)


def course(state: Any, line: Data, left: Data, right: Data) -> None:
    """A voltage or a current that changes with time."""
    time, world = line["time"], state.world
    used = {*world.letters, *world.currents, *state.named, *state.circuit["points"]}
    require(time not in used, "the time has the name of something else")
    require(left in [f"{head}({name})" for head in "vi" for name in world.parts], "nothing is told")
    state.told[time] = lambda world: solved.anything("time", world.point)
    state.courses = {**getattr(state, "courses", {}), left: state.here}


class Decaying(solved.Terms if solved else object):  # type: ignore[misc]
    """Evaluates a course in numbers, with some value for its exponential, and t = 1 s."""

    def __init__(self, time: str, value: Fraction) -> None:
        """Take the name of the time, and what stands for the exponential."""
        super().__init__(self._second, 0)
        self.time, self.of_decay, self.rates = time, value, set[Fraction]()

    def _second(self, name: str) -> Fraction:
        require(name == self.time, f"{name} is no number")
        return Fraction(1)

    def decay(self, exponent: Fraction) -> Fraction:
        """Note the exponent."""
        self.rates.add(exponent)
        return self.of_decay


def _numbers(term: Data, time: str) -> tuple[Fraction, Fraction, set[Fraction]]:
    """Return what a course comes to, by how much it changes, and its exponent after 1 s."""
    last, first, twice = (Decaying(time, Fraction(x)) for x in (0, 1, 2))
    end, start = last.value(term), first.value(term)
    require(twice.value(term) - start == start - end, "it is no sum with one exponential")
    require(len(last.rates) <= 1, "it has more than one time constant")
    return end, start - end, last.rates


def rounded_course(state: Any, line: Data, *_: Data) -> None:
    """The numbers of a course, each rounded to so many figures."""
    left, right = line["near"]
    told = state.earlier(line["course"])
    require(told["kind"] == "course" and told["equation"][0] == left, "another course is rounded")
    exact, near = (_numbers(term, told["time"]) for term in (told["equation"][1], right))
    pairs = [*zip(exact[:2], near[:2], strict=True)]
    pairs += [(1 / a, 1 / b) for a, b in zip(exact[2], near[2], strict=True)]
    require(line["figures"] >= 1, "it keeps no figure")
    for value, told_value in pairs:
        most = abs(value) * Fraction(10) ** (1 - line["figures"]) / 2
        require(abs(told_value - value) <= most, "a number is rounded to a wrong value")


def course_at(state: Any, line: Data, *_: Data) -> None:
    """The value of a course after a whole number of time constants."""
    told = state.earlier(line["course"])
    require(told["kind"] == "course" and 0 <= line["time_constants"] <= 100, "no course is cited")
    last, change, _rates = _numbers(told["equation"][1], told["time"])
    with localcontext(prec=120):
        decayed = Fraction(Decimal(-line["time_constants"]).exp())
    state.round(line, last + change * decayed)


# --- what formulas tell -----------------------------------------------------------------------


def _formula(state: Any, line: Data) -> tuple[str, Data]:
    name, term = state.rule(line["premise"])
    require(line["premise"] in state.free, "the formula holds for some values only")
    state.letters(term, state.names)
    return name, term


def _alone(state: Any, letter: str) -> str:
    """Return a letter to which nothing is tied, and that is tied to nothing."""
    ties = {s: t for s, t in state.circuit["values"].items() if solved.symbols(t)}
    tied = letter in ties or any(letter in solved.symbols(term) for term in ties.values())
    require(letter in state.world.letters and not tied, f"{letter} does not move alone")
    return letter


def _at(state: Any, term: Data, **fixed: Fraction) -> Fraction:
    """Return what a formula is worth in the SI, with positive numbers for its letters."""
    world = state.any.another(point=0, fixed=fixed)
    return world.value(term)  # type: ignore[no-any-return]


def limit(state: Any, line: Data, *_: Data) -> None:
    """What a formula comes to when a resistance goes to zero or grows without bound."""
    _, term = _formula(state, line)
    letter = _alone(state, line["letter"])
    require(state.world.parts[letter]["kind"] == "resistor", f"{letter} is no resistance")
    require(_at(state, term, **{letter: Fraction(1)}) != _at(state, term, **{letter: Fraction(2)}),
            f"it does not depend on {letter}")  # fmt: skip
    value = _at(state, term, **{letter: FAR if line["to"] == "infinity" else 1 / FAR})
    if line["limit"] is None:
        require(abs(value) > 10**40, "it stays finite")
        return
    require(letter not in state.letters(line["limit"], state.names), f"{letter} is still there")
    there = _at(state, line["limit"])
    near = abs(value - there) * 10**40 <= max(abs(there), 1)
    require(near, "it comes to something else")
    _same_unit(state, term, line["limit"])


def one_unit(state: Any, term: Data) -> Fraction:
    """Return the unit of a term, V being 2, Ω 3 and s 5. Refuses a sum of different units."""
    try:
        base = state.any if state.any.forms else state.world
    except ValueError:  # values that are sought are told in numbers alone
        base = state.world
    plain, scaled = (base.another(point=0, units=units) for units in SCALES)
    value = plain.value(term)
    unit = scaled.value(term) / value if value else Fraction(0)
    left = unit.numerator * unit.denominator
    for prime in (2, 3, 5):
        while left and left % prime == 0:
            left //= prime
    require(left in (0, 1), "it adds different units")
    return unit  # type: ignore[no-any-return]


def _same_unit(state: Any, one: Data, other: Data) -> None:
    """Two terms that need not be equal have to have one unit, unless one is zero."""
    found = {one_unit(state, one), one_unit(state, other)} - {0}
    require(len(found) <= 1, "it has another unit")


def special_case(state: Any, line: Data, *_: Data) -> None:
    """What a formula becomes when some letters are made of others."""
    _, term = _formula(state, line)
    fixed: dict[str, Fraction] = {}
    for left, right in line["assumptions"]:
        *others, letter = left[1:] if isinstance(left, list) and left[0] == "*" else [left]
        for met in solved.symbols(left) | solved.symbols(right):
            _alone(state, met)
        require(
            letter not in fixed and letter in state.letters(term, state.names), "nothing is assumed"
        )
        fixed[letter] = _at(state, ["/", right, ["*", *others]])
        require(fixed[letter] > 0, f"{letter} may not be positive then")
    told = set().union(*(solved.symbols(right) for _, right in line["assumptions"]))
    told |= state.letters(line["result"], state.names)
    require(fixed and not told & fixed.keys(), "it is told by what is assumed")
    require(_at(state, term, **fixed) == _at(state, line["result"]), "it becomes something else")
    _same_unit(state, term, line["result"])


def trend(state: Any, line: Data, *_: Data) -> None:
    """How a formula follows a letter: its slope is a fraction whose terms have plus signs only."""
    _, term = _formula(state, line)
    letter = _alone(state, line["letter"])
    middle = solved.anything(letter, 0)
    values = [_at(state, term, **{letter: middle + step / FAR}) for step in (-1, 1)]
    slope, here, rate = (
        (values[1] - values[0]) * FAR / 2,
        _at(state, term),
        _at(state, line["rate"]),
    )
    told = {"increases": rate, "decreases": -rate, "gets smaller in size": -rate * here}
    wanted = told[line["response"]]
    require(abs(slope - wanted) * 10**40 <= abs(slope), "its slope is another one")
    require(_plus_only(line["rate"], state.names) and rate > 0, "its slope may have either sign")
    weak = line["response"] == "gets smaller in size"
    over = [line["rate"], term, letter] if weak else [line["rate"], letter]
    _same_unit(state, ["*", *over] if weak else term, term if weak else ["*", *over])


def _plus_only(term: Data, names: Data) -> bool:
    if isinstance(term, str):
        return term not in names or _plus_only(names[term], names)
    if isinstance(term, int):
        return True
    if term[0] in ("number", "quantity"):
        return Fraction(term[1]) >= 0
    return term[0] != "-" and all(_plus_only(inner, names) for inner in term[1:])


def units(state: Any, line: Data, *_: Data) -> None:
    """All terms above the line of a fraction have one unit, and all below."""
    _, term = state.rule(line["premise"])
    fraction = term[1] if term[0] == "-" else term
    require(fraction[0] == "/", "it is no fraction")
    world = state.any.another(point=0, units=SCALES[1])
    for part, powers in zip(fraction[1:], (line["above"], line["below"]), strict=True):
        whole = state.names.get(part, part) if isinstance(part, str) else part
        size = world.value(["quantity", "1", powers])
        for item in whole[1:] if whole[0] == "+" else [whole]:
            require(one_unit(state, item) in (size, 0), "a term has another unit")


# --- tolerances -------------------------------------------------------------------------------


def _reach(state: Any) -> dict[str, tuple[Fraction, Fraction]]:
    """Return the values with a tolerance, and how far each may be off."""
    said = state.circuit["values"]
    sizes = {name: solved.EXACT.value(said[name]) for name in state.circuit["tolerances"]}
    return {n: (v, abs(v) * Fraction(state.circuit["tolerances"][n])) for n, v in sizes.items()}


def _worth(state: Any, name: str, **fixed: Fraction) -> Fraction:
    """Return an answer with other values, in the SI: what the circuit does, not what lines say."""
    said = state.circuit["values"]
    world = solved.World(state.circuit, {}, {}, said, point=0, fixed=fixed)
    return world.symbol(name)  # type: ignore[no-any-return]


def _cases(reach: dict[str, tuple[Fraction, Fraction]]) -> Iterator[dict[str, Fraction]]:
    """Yield all corners of the tolerances, or some of very many, and some values between."""
    ways = [*product((-1, 1), repeat=len(reach))] if len(reach) <= 7 else []
    chance = SystemRandom()
    ways += [tuple(chance.choice((-1, 1)) for _ in reach) for _ in range(0 if ways else 100)]
    between = [tuple(Fraction(chance.randint(-99, 99), 99) for _ in reach) for _ in range(9)]
    for way in (*ways, *between):
        yield {n: v + s * off for s, (n, (v, off)) in zip(way, reach.items(), strict=True)}


def bounds(state: Any, line: Data, *_: Data) -> None:
    """What an answer is at least and at most: met at the ends, and not passed anywhere tried."""
    name, reach = line["symbol"], _reach(state)
    answer = state.earlier(line["answer"])
    require([answer["kind"], answer["symbol"]] == ["answer", name], "another answer is meant")
    low, high = (Fraction(line[end]["value"]) for end in ("low", "high"))
    place = Fraction(10) ** (line["exponent"] - line["decimals"])
    require(line["exponent"] % 3 == 0 and line["decimals"] >= 0, "no unit has this prefix")
    for end, value, way in (("low", low, -1), ("high", high, 1)):
        at = {letter: Fraction(text) for letter, text in line[end]["at"].items()}
        if at:
            inside = at.keys() == reach.keys() and all(
                abs(at[n] - v) <= off for n, (v, off) in reach.items()
            )
            require(inside, "an end is met outside of the tolerances")
            require(_worth(state, name, **at) == value, "an end is another one")
        require(at or value == 0, "it is not said where an end is met")
        shown = Fraction(line[end]["shown"])
        require((shown / place).denominator == 1, "an end has more digits than it says")
        require(0 <= (shown - value) * way < place, "an end is not rounded outwards")
    for case in _cases(reach):
        require(low <= _worth(state, name, **case) <= high, "it may be less, or more")


def shares(state: Any, line: Data, *_: Data) -> None:
    """What each tolerance contributes: its slope times how far the value may be off."""
    name, reach = line["symbol"], _reach(state)
    answer = state.earlier(line["answer"])
    require([answer["kind"], answer["symbol"]] == ["answer", name], "another answer is meant")
    require(list(line["shares"]) == list(reach), "other values have a tolerance")
    place, whole = Fraction(10) ** (line["exponent"] - line["decimals"]), solved.ZERO
    for letter, (text, shown) in line["shares"].items():
        value, off = reach[letter]
        ends = [_worth(state, name, **{letter: value + way * off / FAR}) for way in (-1, 1)]
        slope, told = (ends[1] - ends[0]) * FAR / 2, Fraction(text)
        require(abs(told - slope) * 10**40 <= abs(slope), f"the share of {letter} is another one")
        whole += abs(told)
        _nearest(Fraction(shown), told, place)
    require(Fraction(line["total"][0]) == whole, "the shares add up to something else")
    _nearest(Fraction(line["total"][1]), whole, place)
    before = state.lines[state.here - 1]
    ranged = before["kind"] == "range" and before["symbol"] == name
    for end, key, way in (("low", "down", -1), ("high", "up", 1)):
        require((line[key] is not None) == ranged, "the ends are not known")
        if ranged:
            exact = Fraction(before[end]["value"]) - _worth(state, name)
            told = Fraction(line[key])
            require((told / place).denominator == 1, "an end has more digits than it says")
            require(0 <= (told - exact) * way < place, "an end is rounded wrongly")


def _nearest(shown: Fraction, exact: Fraction, place: Fraction) -> None:
    require((shown / place).denominator == 1, "it has more digits than it says")
    require(2 * abs(shown - exact) <= place, "it is rounded to a wrong value")


# --- the whole --------------------------------------------------------------------------------


def check_whole(state: Any) -> None:
    """Courses that are asked for are told, and so is what parts are rated for."""
    told = getattr(state, "courses", {})
    for words, *names in state.circuit["questions"]:
        if words == "transient" and not state.circuit["is_before"]:
            for head in "vi":
                at = told.get(f"{head}({names[0]})")
                require(at is not None, f"the course of {names[0]} is not told")
                term = state.lines[at]["equation"][1]
                numbers = all(letter in state.circuit["values"] for letter in state.world.letters)
                values = numbers and len(solved.symbols(term)) > 1
                require(not values, f"the course of {names[0]} is not told in numbers")
    ratings, lines = state.circuit["ratings"], state.lines
    lamps = sorted(name for name, rating in ratings.items() if rating["voltage"] is not None)
    given = sorted(line["part"] for line in lines if line["kind"] == "rated")
    require(given == lamps, "a rated lamp is left out, or told twice")
    compared = sorted(line["part"] for line in lines if line["kind"] == "against rating")
    powers = any(line["kind"] == "balance" for line in lines)
    require(compared == sorted(ratings) or not powers, "a rating is left out, or compared twice")


def compare(states: list[Any], switching: Data, round_rightly: Any) -> int:
    """Check what changes when switches do; return how many changes are told."""
    require((switching is not None) == (len(states) == 2), "two parts are compared, or one alone")
    if switching is None:
        return 0
    before, after = states
    turned = dict.fromkeys(switching["closes"], ("gap", "wire"))
    turned |= dict.fromkeys(switching["opens"], ("wire", "gap"))
    was, now = before.world.parts, after.world.parts
    named = {name for name in was.keys() | now.keys() if not name.startswith("wire ")}
    for name in named:
        require(name in was and name in now, f"{name} is in one of both circuits only")
        kinds = was[name]["kind"], now[name]["kind"]
        require(kinds == turned.get(name, (kinds[1], kinds[1])), f"{name} changes in another way")
    require(turned.keys() <= named, "there is no such switch")
    for key in ("values", "ratings", "questions", "tolerances", "ground"):
        require(before.circuit[key] == after.circuit[key], f"both circuits have different {key}")
    order = before.circuit["is_before"] and not after.circuit["is_before"]
    require(order, "it is not told which circuit comes first")
    for name, begins in after.circuit["initially"].items():
        if begins["is_steady"]:
            same = after.world.value(begins["voltage"]) == before.world.symbol(f"V({name})")
            require(same, f"{name} begins with another voltage")
        else:
            require(before.circuit["initially"].get(name) == begins, f"{name} begins otherwise")
    for side, state in (("before", before), ("after", after)):
        answers = [k for k, line in enumerate(state.lines) if line["kind"] == "answer"]
        cited = sorted(change[side] for change in switching["changes"])
        require(cited == answers, "an answer is left out, or compared twice")
    for place, change in enumerate(switching["changes"]):
        ends = before.lines[change["before"]], after.lines[change["after"]]
        same_question = all(ends[0][key] == ends[1][key] for key in ("question", "symbol"))
        require(same_question, "answers to two questions are compared")
        numbers = [_number(state, end) for state, end in zip(states, ends, strict=True)]
        if None in numbers:
            require(change["equation"] is None and change["rounded"] is None, "a change is told")
            continue
        left, right = change["equation"]
        require(left == f"Δ{ends[0]['symbol']}", "the change of something else is told")
        told, off = after.world.value(right), numbers[1] - numbers[0]
        require(told == off, "the change is another one")
        shown = all(end["rounded"] is not None for end in ends)
        require((change["rounded"] is not None) == shown, "it is not rounded as its answers are")
        if shown:
            require(
                [change["rounded"][key] for key in ("symbol", "premise")] == [left, place],
                "something else is rounded",
            )
            round_rightly(change["rounded"], solved.EXACT.value(right))
    return len(switching["changes"])


def _number(state: Any, answer: Data) -> Fraction | None:
    """Return the exact value of an answer, with its unit; None where it holds letters."""
    if answer["value"] is None:
        return None
    _, term = state.lines[answer["value"]]["equation"]
    return None if solved.symbols(term) else state.world.value(term)
