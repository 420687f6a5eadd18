"""Courses in time, what formulas tell, and tolerances.

Part of the checker that stands alone, see `__main__.py`, which loads this file; it uses Python's
standard library alone. A `state` holds the lines of a proof and what is known so far; each function
checks one kind of line, whose equation, if it has one, is tested by `__main__.py`.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import product
from random import SystemRandom
from typing import Any

Data = Any
solved: Any = globals().get("solved")
"""The module `alone_solved`, given by who loads this file."""
require: Any = getattr(solved, "require", None)
FAR = Fraction(10) ** 120
"""As good as without bound, and its reciprocal as good as zero, where letters are below 10¹³."""
SCALES: Any = ((solved.ONE,) * 3, (Fraction(2), Fraction(3), Fraction(5))) if solved else ()


def initially(state: Any, line: Data, left: Data, right: Data) -> None:
    """The voltage of a capacitor at the start."""
    begins = state.circuit["initially"][line["part"]]["voltage"]
    require(right == begins and "(" not in left, "it begins with another voltage")
    state.tell(left, right)


def course(state: Any, line: Data, left: Data, right: Data) -> None:
    """A voltage or a current that changes with time."""
    time, world = line["time"], state.world
    used = {*world.letters, *world.currents, *state.named, *state.circuit["points"]}
    times = state.__dict__.setdefault("times", set())
    used |= state.told.keys() - times
    times.add(time)
    require(time not in used and "(" not in time, "the time has the name of something else")
    held = solved.symbols(right)
    known = not held & state.told.keys() - {time} and (time in held or "exp" not in str(right))
    require(known, "the time has another name")
    require(left in [f"{head}({name})" for head in "vi" for name in world.parts], "nothing is told")
    state.told[time] = lambda world: solved.anything("time t", world.point)
    state.courses = {**getattr(state, "courses", {}), left: state.here}


class Decaying(solved.Terms if solved else object):  # type: ignore[misc]
    """Evaluates a course in numbers after 1 s, with some value for its exponential."""

    def __init__(self, time: str, value: int, units: Data = (solved and solved.ONE,) * 3) -> None:
        """Take the name of the time, what stands for the exponential, and what V, Ω and s are."""
        super().__init__(self._second, 0)
        self.time, self.of_decay, self.units = time, Fraction(value), units
        self.rates: set[Fraction] = set()

    def _second(self, name: str) -> Fraction:
        require(name == self.time, f"{name} is no number")
        return self.units[2]  # type: ignore[no-any-return]

    def decay(self, exponent: Fraction) -> Fraction:
        """Note the exponent."""
        self.rates.add(exponent)
        return self.of_decay


def _numbers(term: Data, time: str, *units: Data) -> tuple[Fraction, Fraction, set[Fraction]]:
    """Return what a course comes to, by how much it changes, and its exponent after 1 s."""
    last, first, twice = (Decaying(time, x, *units) for x in (0, 1, 2))
    end, start = last.value(term), first.value(term)
    require(twice.value(term) - start == start - end, "it is no sum with one exponential")
    require(len(last.rates) <= 1, "it has more than one time constant")
    return end, start - end, last.rates


def rounded_course(state: Any, line: Data, *_: Data) -> None:
    """The numbers of a course, each rounded to so many figures, with any sizes of the units."""
    left, right = line["near"]
    told = state.earlier(line["course"])
    require(told["kind"] == "course" and told["equation"][0] == left, "another course is rounded")
    require(line["figures"] >= 1, "it keeps no figure")
    for k, power in product(range(3), (0, 3, -3)):
        units = [Fraction(10) ** (power if n == k else 0) for n in range(3)]
        exact, near = (_numbers(t, told["time"], units) for t in (told["equation"][1], right))
        pairs = [*zip(exact[:2], near[:2], strict=True)]
        pairs += [(1 / a, 1 / b) for a, b in zip(exact[2], near[2], strict=True)]
        for value, shown in pairs:
            most = abs(value) * Fraction(10) ** (1 - line["figures"]) / 2
            require(abs(shown - value) <= most, "a number is rounded to a wrong value")


def course_at(state: Any, line: Data, *_: Data) -> None:
    """The value of a course after a whole number of time constants."""
    told = state.earlier(line["course"])
    require(told["kind"] == "course" and 0 <= line["time_constants"] <= 100, "no course is cited")
    last, change, _rates = _numbers(told["equation"][1], told["time"])
    with localcontext(prec=120):
        decayed = Fraction(Decimal(-line["time_constants"]).exp())
    state.round({**line, "unit": ""}, last + change * decayed)


def _formula(state: Any, line: Data) -> Data:
    _, term = state.rule(line["premise"])
    require(line["premise"] in state.free, "the formula holds for some values only")
    state.letters(term, state.names)
    return term


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
    term = _formula(state, line)
    letter = _alone(state, line["letter"])
    require(state.world.parts[letter]["kind"] == "resistor", f"{letter} is no resistance")
    ends = [_at(state, term, **{letter: Fraction(n)}) for n in (1, 2)]
    require(ends[0] != ends[1], f"it does not depend on {letter}")
    value = _at(state, term, **{letter: FAR if line["to"] == "infinity" else 1 / FAR})
    require(line["to"] in ("zero", "infinity"), "it goes nowhere")
    if line["limit"] is None:
        require(abs(value) > 10**40, "it stays finite")
        return
    require(letter not in state.letters(line["limit"], state.names), f"{letter} is still there")
    there = _at(state, line["limit"])
    near = abs(value - there) * 10**40 <= max(abs(there), solved.ONE)
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
    unit: Fraction = scaled.value(term) / value if value else Fraction(0)
    left = unit.numerator * unit.denominator
    for prime in (2, 3, 5):
        while left and left % prime == 0:
            left //= prime
    require(left in (0, 1), "it adds different units")
    return unit


def _same_unit(state: Any, one: Data, other: Data) -> None:
    """Two terms that need not be equal have to have one unit, unless one is zero."""
    found = {one_unit(state, one), one_unit(state, other)} - {0}
    require(len(found) <= 1, "it has another unit")


def special_case(state: Any, line: Data, *_: Data) -> None:
    """What a formula becomes when some letters are made of others."""
    term = _formula(state, line)
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
    term = _formula(state, line)
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
        return bool(solved.fraction(term[1]) >= 0)
    return term[0] != "-" and all(_plus_only(inner, names) for inner in term[1:])


def units(state: Any, line: Data, *_: Data) -> None:
    """All terms above the line of a fraction have one unit, and all below."""
    told: list[Any] = state.rule(line["premise"])[1]
    told = told[1] if told[0] == "-" else told
    require(told[0] == "/", "it is no fraction")
    world = state.any.another(point=0, units=SCALES[1])
    for part, powers in zip(told[1:], (line["above"], line["below"]), strict=True):
        whole = state.names.get(part, part) if isinstance(part, str) else part
        size = world.value(["quantity", "1", powers])
        for item in whole[1:] if whole[0] == "+" else [whole]:
            require(one_unit(state, item) in (size, 0), "a term has another unit")


def _reach(state: Any) -> dict[str, tuple[Fraction, Fraction]]:
    """Return the values with a tolerance, and how far each may be off."""
    said = state.circuit["values"]
    sizes = {name: solved.EXACT.value(said[name]) for name in state.circuit["tolerances"]}
    return {
        n: (v, abs(v) * solved.fraction(state.circuit["tolerances"][n])) for n, v in sizes.items()
    }


def _worth(state: Any, name: str, **fixed: Fraction) -> Fraction:
    """Return an answer with other values, in the SI: what the circuit does, not what lines say."""
    worlds, key = state.__dict__.setdefault("worlds", {}), (*sorted(fixed.items()),)
    if key not in worlds:
        said = state.circuit["values"]
        worlds[key] = solved.World(state.circuit, {}, {}, said, point=0, fixed=fixed)
    return worlds[key].symbol(name)  # type: ignore[no-any-return]


def _cases(state: Any) -> list[dict[str, Fraction]]:
    """Return all corners of the tolerances, or some of very many, and some values between."""
    if "cases" not in state.__dict__:
        reach, chance, signs = _reach(state), SystemRandom(), (Fraction(-1), Fraction(1))
        ways: list[Data] = [*product(signs, repeat=len(reach))] if len(reach) <= 6 else []
        some = range(0 if ways else 50)
        ways += [[chance.choice(signs) for _ in reach] for _ in some]
        ways += [[Fraction(chance.randint(-99, 99), 99) for _ in reach] for _ in range(9)]
        state.cases = [
            {n: v + s * off for s, (n, (v, off)) in zip(way, reach.items(), strict=True)}
            for way in ways
        ]
    return state.cases  # type: ignore[no-any-return]


def bounds(state: Any, line: Data, *_: Data) -> None:
    """What an answer is at least and at most: met at the ends, and not passed anywhere tried."""
    name, reach = line["symbol"], _reach(state)
    answer = state.earlier(line["answer"])
    require([answer["kind"], answer["symbol"]] == ["answer", name], "another answer is meant")
    low, high = (solved.fraction(line[end]["value"]) for end in ("low", "high"))
    place = solved.place(line)
    for end, value, way in (("low", low, -1), ("high", high, 1)):
        at = {letter: solved.fraction(text) for letter, text in line[end]["at"].items()}
        if at:
            inside = at.keys() == reach.keys() and all(
                abs(at[n] - v) <= off for n, (v, off) in reach.items()
            )
            require(inside, "an end is met outside of the tolerances")
            require(_worth(state, name, **at) == value, "an end is another one")
        require(at or value == 0, "it is not said where an end is met")
        shown = solved.fraction(line[end]["shown"])
        require((shown / place).denominator == 1, "an end has more digits than it says")
        require(0 <= (shown - value) * way < place, "an end is not rounded outwards")
    for case in _cases(state):
        require(low <= _worth(state, name, **case) <= high, "it may be less, or more")


def shares(state: Any, line: Data, *_: Data) -> None:
    """What each tolerance contributes: its slope times how far the value may be off."""
    name, reach = line["symbol"], _reach(state)
    answer = state.earlier(line["answer"])
    require([answer["kind"], answer["symbol"]] == ["answer", name], "another answer is meant")
    require(list(line["shares"]) == list(reach), "other values have a tolerance")
    place, whole = solved.place(line), solved.ZERO
    for letter, (text, shown) in line["shares"].items():
        value, off = reach[letter]
        ends = [_worth(state, name, **{letter: value + way * off / FAR}) for way in (-1, 1)]
        slope, told = (ends[1] - ends[0]) * FAR / 2, solved.fraction(text)
        require(abs(told - slope) * 10**40 <= abs(slope), f"the share of {letter} is another one")
        whole += abs(told)
        _nearest(solved.fraction(shown), told, place)
    total, shown = map(solved.fraction, line["total"])
    require(total == whole, "the shares add up to something else")
    _nearest(shown, whole, place)
    before = state.lines[state.here - 1]
    ranged = before["kind"] == "range" and before["symbol"] == name
    for end, key, way in (("low", "down", -1), ("high", "up", 1)):
        require((line[key] is not None) == ranged, "the ends are not known")
        if ranged:
            exact = solved.fraction(before[end]["value"]) - _worth(state, name)
            told = solved.fraction(line[key])
            require((told / place).denominator == 1, "an end has more digits than it says")
            require(0 <= (told - exact) * way < place, "an end is rounded wrongly")


def _nearest(shown: Fraction, exact: Fraction, place: Fraction) -> None:
    require((shown / place).denominator == 1, "it has more digits than it says")
    require(2 * abs(shown - exact) <= place, "it is rounded to a wrong value")


KINDS = {
    "initially": initially,
    "course": course,
    "rounded course": rounded_course,
    "course at": course_at,
    "limit": limit,
    "special case": special_case,
    "trend": trend,
    "units": units,
    "range": bounds,
    "shares": shares,
}
"""What checks each kind of line."""
