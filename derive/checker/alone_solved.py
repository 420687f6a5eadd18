"""What terms are worth, and what a circuit does: it is solved here, whatever a proof says.

Part of the checker that stands alone, see `__main__.py`; it uses Python's standard library alone.
The method is modified nodal analysis (C.-W. Ho, A. E. Ruehli and P. A. Brennan, "The modified nodal
approach to network analysis", 1975) in exact fractions, at random whole numbers for the letters and
for the units V, Ω and s, or with the numbers that the author gives.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from functools import cache
from math import prod
from random import SystemRandom
from typing import Any

Data = Any
Row = dict[Data, Fraction]
"""A sum of unknowns by their coefficients; the unknown None is one."""
ZERO, ONE, NOTHING = Fraction(0), Fraction(1), ["number", "0"]
WIRES = ("wire", "gap")
TIMES = {"s": 1, "min": 60, "h": 3600, "d": 86400}


def require(holds: Data, reason: str) -> None:
    """Raise ValueError, which refuses the proof, unless something holds."""
    if not holds:
        raise ValueError(reason)


@cache
def anything(_name: str, _point: int) -> Fraction:
    """Return the random number that a letter or a unit is at a test point."""
    return Fraction(SystemRandom().randrange(1, 1 << 40))


def fraction(text: str) -> Fraction:
    """Return an exact number, ``-3/4``."""
    require(re.fullmatch(r"-?[0-9]+(/[0-9]+)?", text), f"{text[:40]} is no number")
    return Fraction(text)


def place(line: Data) -> Fraction:
    """Return the worth of the last digit of a rounded value, in SI base units."""
    exponent, decimals = line["exponent"], line["decimals"]
    fits = exponent % 3 == 0 and abs(exponent) <= 30 and 0 <= decimals <= 100
    require(fits, "no unit has this prefix")
    return Fraction(10) ** int(exponent - decimals)


# --- terms ------------------------------------------------------------------------------------


class Terms:
    """Evaluates terms, by what `symbol` returns for a name; at point 0 in SI base units."""

    def __init__(self, symbol: Callable[[str], Fraction], point: int) -> None:
        """Take what tells the values of symbols, and the test point that tells the units."""
        self.symbol: Callable[[str], Fraction] = symbol
        self.point = point
        self.units = [anything(unit, point) if point else ONE for unit in ("1 V", "1 Ω", "1 s")]

    def value(self, term: Data) -> Fraction:
        """Return what a term is worth."""
        match term:
            case str(name):
                return self.symbol(name)
            case ["number", str(text)]:
                return fraction(text)
            case ["quantity", str(text), [int(), int(), int()] as powers]:
                require(max(map(abs, powers)) < 100, "no unit has such a power")
                sizes = (u ** int(n) for u, n in zip(self.units, powers, strict=True))
                return prod(sizes, start=fraction(text))
            case ["-", inner]:
                return -self.value(inner)
            case ["+", *terms]:
                return sum(map(self.value, terms), ZERO)
            case ["*", *factors]:
                return prod(map(self.value, factors), start=ONE)
            case ["/", above, below]:
                return self.value(above) / self.value(below)
            case ["^", base, int(n)] if 1 < n < 1000:
                return self.value(base) ** n
            case ["parallel", *terms]:
                return 1 / sum((1 / self.value(item) for item in terms), ZERO)
            case ["exp", exponent]:
                return self.decay(self.value(exponent))
            case _:
                pass
        raise ValueError(f"{str(term)[:60]} is no term")

    def decay(self, exponent: Fraction) -> Fraction:
        """Return the value of e to some power."""
        raise ValueError(f"no course in time is told, but e to the power of {exponent}")


def no_symbol(name: str) -> Fraction:
    """Refuse a symbol where there is to be a number."""
    raise ValueError(f"{name} is no number")


EXACT = Terms(no_symbol, 0)


def symbols(term: Data) -> set[str]:
    """Return the symbols of a term."""
    if isinstance(term, str | int):
        return {term} if isinstance(term, str) else set()
    inner = [] if term[0] in ("number", "quantity") else term[1:]
    return set[str]().union(*map(symbols, inner))


# --- the circuit, solved ----------------------------------------------------------------------


def put_in(forms: dict[Data, Row], row: Row) -> Row:
    """Return a sum of unknowns by those that are free."""
    left: Row = {}
    for unknown, factor in row.items():
        for free, c in forms.get(unknown, {unknown: ONE}).items():
            left[free] = left.get(free, ZERO) + factor * c
    return {free: c for free, c in left.items() if c}


def solve(rows: Iterable[Row]) -> dict[Data, Row]:
    """Solve ``row = 0`` for all rows: each unknown by those that are free."""
    forms: dict[Data, Row] = {}
    for row in rows:
        left = put_in(forms, row)
        pivot = next((unknown for unknown in left if unknown is not None), None)
        require(pivot is not None or not left, "the laws of the circuit contradict each other")
        if pivot is not None:
            by = left.pop(pivot)
            form = {free: -c / by for free, c in left.items()}
            for unknown in [u for u, old in forms.items() if pivot in old]:
                forms[unknown] = put_in({pivot: form}, forms[unknown])
            forms[pivot] = form
    return forms


def read(forms: dict[Data, Row], row: Row) -> Fraction:
    """Return the value of a sum of unknowns."""
    left = put_in(forms, row)
    require(left.keys() <= {None}, "the circuit does not fix this")
    return left.get(None, ZERO)


def down(tail: str, head: str) -> Row:
    """Return the voltage from one place down to another."""
    return {} if tail == head else {("V", tail): ONE, ("V", head): -ONE}


class World(Terms):
    """What each symbol is in a circuit, with the author's numbers or with any."""

    def __init__(
        self, circuit: Data, named: Data, told: Data, numbers: Data, *,
        point: int = 1, fixed: Data = None, ideal: str = "", units: Data = None,
    ) -> None:  # fmt: skip
        """Take a circuit, terms of names, what else lines tell, and whose numbers count.

        What lines tell is a function of the world each. Some letters may be fixed, a meter may be
        ideal, and all letters may be told in other units.
        """
        super().__init__(cache(self._meaning), point)
        self.circuit, self.named, self.told, self.numbers = circuit, named, told, numbers
        self.parts = {part["name"]: part for part in circuit["parts"]}
        require(len(self.parts) == len(circuit["parts"]), "two parts have one name")
        self.letters = {name for name, part in self.parts.items() if part["kind"] not in WIRES}
        if ideal:
            kind = "wire" if self.parts[ideal].get("is") == "ammeter" else "gap"
            self.parts[ideal] = {**self.parts[ideal], "kind": kind}
        own = {b["current"]: (k, True) for k, b in enumerate(circuit["branches"])}
        self.currents: dict[str, Data] = {**own, **circuit["walks"]}
        self.said, self.place = circuit["values"], circuit["points"]
        self.following: set[str] = set()
        """Sources that follow currents, voltages or one another."""
        while more := {s for s in self.said if s in self.letters and self._follows(s)}:
            self.following |= more
        self.known: dict[str, Fraction] = dict(fixed or {})
        self.units, self.scaled = units or self.units, units is not None
        self._forms: dict[Data, Row] = {}

    def another(self, **options: Any) -> World:
        """Return a world that differs in something."""
        mine = {"point": self.point, "units": self.units if self.scaled else None}
        numbers = options.pop("numbers", self.numbers)
        return World(self.circuit, self.named, self.told, numbers, **{**mine, **options})

    def _meaning(self, name: str) -> Fraction:
        said = self.said.get(name)
        if name in self.known:
            return self.known[name]
        if name in self.told:
            return self.told[name](self)  # type: ignore[no-any-return]
        if name in self.following:
            return read(self.forms, {("S", name): ONE})
        if said or name in self.letters:
            require(name not in self.circuit["sought"], f"the value of {name} is not found")
            if said and (name in self.numbers or symbols(said) or not self.value(said)):
                return self.value(said)
            return anything(name, self.point) * (self.unit(name) if self.scaled else 1)
        return self.value(self.named[name]) if name in self.named else self.does(name)

    def _follows(self, name: str) -> bool:
        plain = self.letters - self.following
        return name in plain and not symbols(self.said[name]) <= plain

    def unit(self, name: str) -> Fraction:
        """Return the unit of a letter."""
        kind = self.parts.get(name, {"kind": "battery" if name[:2] == "V(" else "source"})["kind"]
        powers = {"battery": (1, 0, 0), "resistor": (0, 1, 0), "capacitor": (0, -1, 1)}
        found = zip(self.units, powers.get(kind, (1, -1, 0)), strict=True)
        return prod((unit**n for unit, n in found), start=ONE)

    def does(self, name: str) -> Fraction:
        """Return a current, a voltage, a power, … by what the circuit does."""
        if name in self.currents:
            return read(self.forms, self._unknown(name))
        require(re.fullmatch(r"\w+\(.+\)", name), f"{name} has no meaning here")
        head, _, inside = name[:-1].partition("(")
        one, _, other = inside.partition(",")
        if head == "t":
            count, unit = re.fullmatch(r"([\d/]+)([a-z]+)", inside).groups()  # type: ignore[union-attr]
            return Fraction(count) * TIMES[unit] * self.units[2]
        if head == "V" and one in self.place:
            return read(
                self.forms, down(self.place[one], self.place[other or self.circuit["ground"]])
            )
        if head == "R" and one in self.place:
            return self.seen(self.place[one], self.place[other])
        part = self.parts.get(one)
        require(part is not None, f"{name} has no meaning here")
        found = self._over_time(head, one, other) if other else self._of_part(head, one, part)
        require(found is not None, f"{name} has no meaning here")
        return found or ZERO

    def _over_time(self, head: str, name: str, time: str) -> Fraction | None:
        rates = {"W": "P", "Wd": "Pd", "Q": "I"}
        if head not in (*rates, "Qd"):
            return None
        rate = self.along(name) if head == "Qd" else self.symbol(f"{rates[head]}({name})")
        return rate * self.symbol(f"t({time})")

    def _of_part(self, head: str, name: str, part: Data) -> Fraction | None:
        kind, ends, of = part["kind"], (part["from"], part["to"]), f"({name})"
        way = -1 if kind in ("battery", "source") else 1
        match head:
            case "I":
                return self.along(name) * (1 if part["walk"] else -1)
            case "V" if kind == "resistor":
                return self.symbol(name) * self.along(name)
            case "V" if kind == "battery":
                inner = self.symbol(part["internal"]) if part["internal"] else ZERO
                return self.symbol(name) - inner * self.along(name)
            case "V":
                return read(self.forms, down(*ends)) * way
            case "P":
                return self.symbol("V" + of) * self.along(name) * way
            case "Pd" if way < 0:
                return self.symbol(name if kind == "battery" else "V" + of) * self.along(name)
            case "Q" | "W" if kind == "capacitor":
                charge = self.symbol(name) * self.symbol("V" + of)
                return charge if head == "Q" else charge * self.symbol("V" + of) / 2
            case "Voc" | "Isc" if kind == "battery":
                return self.symbol(name) / (self.symbol(part["internal"]) if head == "Isc" else 1)
            case "R" | "Rm":
                return self.seen(*ends, without=name)
            case "Pm":
                return self.another(fixed={name: self.symbol("Rm" + of)}).symbol("P" + of)
            case "Videal" | "Iideal":
                return self.another(ideal=name).symbol(head[0] + of)
            case "e" | "δ":
                shown = "I" if part["is"] == "ammeter" else "V"
                error = self.symbol(shown + of) - self.symbol(shown + "ideal" + of)
                return error if head == "e" else error / self.symbol(shown + "ideal" + of)
            case "v" | "i":
                # C·dv/dt = (V − v)/R: V is the voltage long after, R the resistance that it sees
                start = self.value(self.circuit["initially"][name]["voltage"])
                off = (start - self.symbol("V" + of)) * anything("e^(−t/RC)", self.point)
                return self.symbol("V" + of) + off if head == "v" else -off / self.symbol("R" + of)
            case _:
                pass
        return None

    def decay(self, exponent: Fraction) -> Fraction:
        """Return e to some power, which has to be −t over R·C of the only capacitor."""
        (name,) = (name for name, part in self.parts.items() if part["kind"] == "capacitor")
        constant = self.symbol(f"R({name})") * self.symbol(name)
        time = anything("time t", self.point)
        require(exponent * constant == -time, "the exponent is not −t over R·C")
        return anything("e^(−t/RC)", self.point)

    def along(self, name: str) -> Fraction:
        """Return the current of a part along its own arrow."""
        return read(self.forms, {("I", name): ONE})

    @property
    def forms(self) -> dict[Data, Row]:
        """The circuit, solved. Currents and voltages that are given have to come out."""
        if not self._forms:
            self._forms = solve(self.laws(self.parts))
            wrong = [name for name in self.said if not self._fits(name)]
            if wrong:
                self._forms = {}
            require(not wrong, f"{', '.join(wrong)}: not what is said")
        return self._forms

    def _fits(self, name: str) -> bool:
        return name in self.parts or self.does(name) == self.symbol(name)

    def _following(self) -> Iterable[Row]:
        """Yield what sources follow; their terms are linear in that."""
        for name in sorted(self.following):
            term = self.said[name]
            met = sorted(symbols(term) - (self.letters - self.following))
            still = {**self.known, **dict.fromkeys(met, ZERO)}
            row: Row = {("S", name): -ONE, None: self.another(fixed=still).value(term)}
            for control in met:
                one = self.another(fixed={**still, control: ONE})
                slope = one.value(term) - row[None]
                for unknown, c in self._unknown(control).items():
                    row[unknown] = row.get(unknown, ZERO) + c * slope
            yield row

    def _unknown(self, name: str) -> Row:
        """Return a current, a voltage between points or such a source by unknowns."""
        if name in self.following:
            return {("S", name): ONE}
        if name not in self.currents:
            return down(*(self.place[point] for point in name[2:-1].split(",")))
        branch, along = self.currents[name]
        (first, part), *_ = [(n, p) for n, p in self.parts.items() if p["branch"] == branch]
        return {("I", first): ONE if part["along"] == along else -ONE}

    def driven(self, one: str, other: str, without: str = "") -> dict[Data, Row]:
        """Solve the circuit with its sources at rest and 1 A from one place to another."""
        rest = {"battery": "wire", "source": "gap"}
        parts = {
            name: {**p, "kind": "gap" if name == without else rest.get(p["kind"], p["kind"])}
            if name not in self.following or name == without else p
            for name, p in self.parts.items()
        }  # fmt: skip
        return solve(self.laws(parts, self.ampere(one, other)))

    def ampere(self, one: str, other: str) -> dict[str, Fraction]:
        """Return what flows to places when 1 A is driven from one to another."""
        flow = self.units[0] / self.units[1]
        return {} if one == other else {one: flow, other: -flow}

    def seen(self, one: str, other: str, without: str = "") -> Fraction:
        """Return the resistance between two places."""
        voltage = read(self.driven(one, other, without), down(one, other))
        return voltage * self.units[1] / self.units[0]

    def laws(self, parts: Data, driven: dict[str, Fraction] | None = None) -> Iterable[Row]:
        """Yield the law of each part, and that what flows to a place is just what is driven in."""
        flows: dict[str, Row] = {place: {None: flow} for place, flow in (driven or {}).items()}
        for name, part in parts.items():
            tail, head, kind, flow = part["from"], part["to"], part["kind"], ("I", name)
            row: Row = {flow: ONE}
            if kind == "resistor":
                row = {**down(tail, head), flow: -self.symbol(name)}
            elif kind in ("battery", "wire"):
                row = down(head, tail)
            if kind in ("battery", "source") and name in self.following:
                row["S", name] = -ONE
            elif kind in ("battery", "source"):
                row[None] = -self.symbol(name)
            yield row
            for place, way in ((tail, -1), (head, 1)):
                to = flows.setdefault(place, {})
                to[flow] = to.get(flow, ZERO) + way
        yield from flows.values()
        yield from self._following()
        # What capacitors that began without charge carry to places that no charge leaves is zero.
        regions, rows = places_joined(parts, ("gap", "capacitor")), dict[str, Row]()
        for name, part in parts.items():
            for end, way in (("from", 1), ("to", -1)) if part["kind"] == "capacitor" else ():
                row = rows.setdefault(regions[part[end]], {})
                if name not in self.circuit["uncharged"]:
                    row["unknown"] = ONE
                for unknown, c in down(part["from"], part["to"]).items():
                    row[unknown] = row.get(unknown, ZERO) + c * way * self.symbol(name)
        yield from (row for row in rows.values() if "unknown" not in row)


def places_joined(parts: Data, gaps: Iterable[str]) -> dict[str, str]:
    """Return for each place the one that stands for all that parts join to it, but for gaps."""
    found: dict[str, str] = {}
    for part in parts.values():
        one, other = (found.setdefault(part[end], part[end]) for end in ("from", "to"))
        if part["kind"] not in gaps and one != other:
            found |= {place: one for place, old in found.items() if old == other}
    return found
