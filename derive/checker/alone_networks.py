"""Networks that are reduced: what lies outside of an exchange has to carry the same currents.

Part of the checker that stands alone, see `__main__.py`, which loads this file; it uses Python's
standard library alone. A `state` holds the lines of a proof and what is known so far; each function
checks one kind of line, whose equation, if it has one, is tested by `__main__.py`.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import Any

Data = Any
solved: Any = globals().get("solved")
"""The module `alone_solved`, given by who loads this file."""
require: Any = getattr(solved, "require", None)


def _parts(arms: Data) -> dict[str, Data]:
    kinds = {"R": "resistor", "E": "battery", "J": "source"}
    found = {n: {"kind": kinds[kind], "from": t, "to": h} for kind, n, t, h in arms}
    require(len(found) == len(arms), "two parts of the network have one name")
    return found


def _flows(world: Any, network: Data) -> dict[str, Fraction]:
    """Return the currents in a network."""
    drive = world.ampere(*network["ends"]) if network["ends"] else {}
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
    joins = line["kind"] == "join"
    taken, made, how = ([], [], "") if joins else (line["taken"], line["made"], line["exchange"])
    require(joins or how, "nothing is exchanged")
    batteries = {arm[1] for arm in before if arm[0] == "E"}
    source = how in ("a battery by a current source", "a current source by a battery")
    across = how == "straight across a battery"
    gone = old - new
    require(set(taken) <= old and len(set(taken)) == len(taken), "what is taken is not there")
    require(new - old == set(made) and len(set(made)) == len(made), "something else is made")
    fits = gone == set(taken[:1] if source else taken)
    fits = fits or (across and gone - set(taken) <= batteries and len(gone - set(taken)) == 1)
    require(fits and (taken or joins), "something else is taken")
    was = state.networks[state.here] = state.network
    now = {**was, "arms": after, "ends": line.get("places", was["ends"])}

    def same(world: Any) -> bool:
        flows, then = _flows(world, was), _flows(world, now)
        changed = {name for name in flows.keys() & then.keys() if flows[name] != then[name]}
        if across and len(changed) <= 1:
            changed -= batteries
        return changed <= set(taken if source else ()) and _made(world, how, taken, made, flows)

    sure = state.holds(same, "it changes what lies outside of it") and was["holds"]
    now["holds"] = sure
    # Equal cells may be so by the author's numbers alone; their shares rest on that, too.
    state.networks[state.here] = {**was, "shared": sure or how != "equal cells side by side"}
    state.network = now
    if joins:
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
        case _:
            pass
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
        require(any(real), "the points are at one potential")
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
        return _flows(world, was)[arm]

    names = [branch["current"] for branch in state.circuit["branches"]] + state.flows
    if was["holds"] and flows(state.any):
        size = abs(flows(state.any))
        fitting = [name for name in names if abs(state.any.symbol(name)) == size]
        require(left in fitting or not fitting, f"the current in {arm} has the name {fitting}")
    if left not in names:
        used = left in state.world.letters or left in state.world.currents or left in state.told
        require(not used and "(" not in left and left not in state.named, f"{left} has a meaning")
        state.told[left] = flows
        state.flows.append(left)
    require(abs(state.world.symbol(left)) == abs(flows(state.world)), f"{left} is another current")
    free = state.true(left, right)
    require(free or not (was["holds"] and was["shared"]), "it holds for some values only")
    try:
        state.letters(right, state.names)
    except ValueError:
        return  # other currents stand in it
    state.names.setdefault(left, right)


def spread(state: Any, term: Data) -> set[str]:
    """Return the symbols of a term in which names are written out."""
    found: set[str] = solved.symbols(term)
    return found.union(*(spread(state, state.names[s]) for s in found if s in state.names))


def left_between(state: Any, _line: Data, left: Data, right: Data) -> None:
    """The one resistance that is left between two points, or that an emf sees."""
    name, seen = left.removeprefix("R(").removesuffix(")"), state.network
    require(seen, "no network has been begun")
    require(left == f"R({name})", "it is not what is seen")
    own = [{tail, head} for _, n, tail, head in seen["arms"] if n == name]
    ends = set(seen["ends"]).union(*own)
    others = [n for _, n, *at in seen["arms"] if n != name and ends == set(at)]
    require(len(others) == 1 or right == solved.NOTHING, "more than one resistance is left there")

    def is_seen(world: Any) -> Fraction:
        require(world.numbers or seen["holds"], "it is not that for any values")
        return world.symbol(name) / _flows(world, seen)[name]  # type: ignore[no-any-return]

    require(right in (solved.NOTHING, *others), "it is not what is left")
    if name in state.names:  # an emf that was made on the way
        state.told.setdefault(left, is_seen)


def agree(state: Any, line: Data, *_: Data) -> None:
    """Two ways led to the same."""
    one, other = line["lines"]
    require(one != other and state.rule(one)[0] == state.rule(other)[0], "they are no two ways")


KINDS = {
    "network": network,
    "exchange": exchange,
    "join": exchange,
    "levels": levels,
    "put back": put_back,
    "left between": left_between,
    "agree": agree,
}
"""What checks each kind of line."""
