"""Power, time, preferred values, and what changes when switches do.

Part of the checker that stands alone, see `__main__.py`, which loads this file; it uses Python's
standard library alone. A `state` holds the lines of a proof and what is known so far; each function
checks one kind of line, whose equation, if it has one, is tested by `__main__.py`.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any

Data = Any
solved: Any = globals().get("solved")
"""The module `alone_solved`, given by who loads this file."""
require: Any = getattr(solved, "require", None)
PREFERRED = (
    *(10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30),
    *(33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91),
)
"""E24 (IEC 60063:2015, from memory); E12, E6 and E3 are every second, fourth and eighth of it."""


def round_rightly(line: Data, value: Fraction) -> None:
    """Check how a value is rounded."""
    unit = line["unit"]
    require(unit != "%" or not line["exponent"], "no prefix stands before %")
    worth = {"": 1, "%": Fraction(1, 100), "Wh": 3600, "Ah": 3600}[unit]
    place, shown = worth * solved.place(line), solved.fraction(line["rounded"])
    require((shown / place).denominator == 1, "it has more digits than it says")
    require(2 * abs(shown - value) <= place, "it is rounded to a wrong value")
    require(line["exact"] is (shown == value), "it says wrongly whether it is exact")


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
    require(len(line["totals"]) in (0, 2), "one of the totals is left out")
    for k, cited in zip(line["totals"], (line["delivered"], line["taken"]), strict=False):
        names = [state.rule(at)[0] for at in cited]
        minus = cited is line["taken"]
        whole = [["-", n] if minus and n.startswith("Pd(") else n for n in names]
        apart = solved.Terms(lambda name: solved.anything(name, 2), 2)
        same = apart.value(state.rule(k)[1]) == apart.value(["+", *whole])
        require(same, "a name stands for another sum of powers")


def lasts(state: Any, _line: Data, left: Data, right: Data) -> None:
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
        [solved.fraction(line[k]) for k in ("below", "above")] == [below, above],
        "it lies between others",
    )
    nearest = below if value * value <= below * above else above
    require(solved.EXACT.value(right) == nearest, "another value is the nearest")
    place = Fraction(1, 10 ** (2 + decimals))
    for text, near in zip(line["off"], (below, above), strict=True):
        off = solved.fraction(text)
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


def compare(states: list[Any], switching: Data) -> int:
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
        numbers: list[Any] = [_number(state, end) for state, end in zip(states, ends, strict=True)]
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


KINDS = {
    "lasts": lasts,
    "balance": balance,
    "share of power": share,
    "efficiency": efficiency,
    "largest": largest,
    "preferred value": preferred,
}
"""What checks each kind of line."""
