"""A checker that stands alone: ``python -m derive.checker FILE``.

It checks a proof written by ``loopwalk solve --to proof`` by Python's standard library alone. To
carry it away, copy this file and the files ``alone_*.py`` beside it into a folder, and call
``python __main__.py FILE`` there.

Each line of a proof has to follow from the circuit or from earlier lines, and it has to be true of
the circuit, which is solved anew (`alone_solved.py`). What follows by algebra says how,

    left − right  =  Σ multiplier · (left − right of an earlier line),

once some symbols are replaced by what earlier lines say of them. That is tested with a random
whole number for each symbol and for each of the units V, Ω and s, in exact fractions; what is false
passes with a chance far below 10⁻⁹ (R. A. DeMillo and R. J. Lipton 1978, R. Zippel 1979, J. T.
Schwartz 1980, from memory).
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from functools import cache, partial
from hashlib import sha256
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

Data = Any


def _beside(name: str, **given: Any) -> Any:
    """Load a file that stands beside this one, wherever that is."""
    spec = spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    assert spec is not None
    assert spec.loader is not None
    found = module_from_spec(spec)
    found.__dict__.update(given)
    spec.loader.exec_module(found)
    return found


solved = _beside("alone_solved")
laws, networks, power, tells = (
    _beside(f"alone_{name}", solved=solved) for name in ("laws", "networks", "power", "tells")
)
HANDLERS = {**laws.KINDS, **networks.KINDS, **power.KINDS, **tells.KINDS}
require, symbols, anything, NOTHING = (
    solved.require, solved.symbols, solved.anything, solved.NOTHING
)  # fmt: skip

ALGEBRA = ("collect", "substitute", "combine", "isolate", "go back", "put in values")
OF_PARTS = ("same current", "part", "over time", "loading error")
SILENT = (
    "count", "network", "exchange", "join", "levels", "agree", "rounding", "answer", "remark",
    "rounded course", "course at", "limit", "special case", "trend", "units", "range", "shares",
    "against rating",
)  # fmt: skip
NAMING = ("name", "change", "initially")
HEADS = {
    "current in": "I", "voltage across": "V", "terminal voltage": "V", "power in": "P",
    "power of": "Pd", "charge": "Q", "energy": "W", "short circuit": "Isc", "open circuit": "Voc",
    "efficiency": "η", "energy in": "W", "energy of": "Wd", "charge through": "Q",
    "charge of": "Qd", "voltage": "V", "potential": "V", "resistance": "R",
}  # fmt: skip
FAULTS = (ValueError, ArithmeticError, LookupError, TypeError, AttributeError, RecursionError)
"""What a proof that is wrong, or not written as proofs are, leads to."""


class State:
    """The lines of a proof about one circuit, up to the one that is being checked."""

    def __init__(self, data: Data) -> None:
        """Prepare to check a circuit with its lines."""
        self.circuit, self.lines, self.here = data["circuit"], [*data["lines"]], 0
        self.names: dict[str, Data] = {}
        """What names stand for, so far."""
        self.free: set[int] = set()
        """Lines that hold for any values, not just for those that the author gives."""
        self.answers: list[Data] = []
        self.counts, self.remarks = Counter[str](), 0
        self.stated: set[str] = set()
        """Values that have been stated."""
        parts = {part["name"] for part in self.circuit["parts"]}
        parts |= {branch["current"] for branch in self.circuit["branches"]}
        naming = [line["equation"] for line in self.lines if line["kind"] in NAMING]
        self.named = {left: right for left, right in reversed(naming) if left not in parts}
        """The names to come as well; by these alone nothing is proved."""
        self.told: dict[str, Callable[[Any], Fraction]] = {}
        """What else lines tell, as functions of a world."""
        self._find_what_is_sought()
        self.any = solved.World(self.circuit, self.named, self.told, ())
        self._numbers()
        laws.well_formed(self.world)
        self.network: Data = None
        self.networks: dict[int, Data] = {}
        self.resting, self.special = set[int](), set[str]()
        """Lines that rest on an exchange which holds for some values only, and what they give."""
        self.flows: list[str] = []
        """Currents in parts of networks that have got a name."""

    def _numbers(self) -> None:
        """Let those numbers count that have been stated; all where a value is sought."""
        everything = self.circuit["values"].keys() if self.circuit["sought"] else self.stated
        self.world = solved.World(self.circuit, self.named, self.told, set(everything))

    def _find_what_is_sought(self) -> None:
        """Find the values that are sought: what lines say of them in letters, first, or in the end.

        Whether the currents and voltages that are given come out then, the world finds out.
        """
        terms: dict[str, list[Data]] = {}
        for line in self.lines:
            left, right = line.get("equation") or (NOTHING, NOTHING)
            if str(left) in self.circuit["sought"]:
                try:
                    if left not in self.letters(
                        right, {**self.named, **{s: t[-1] for s, t in terms.items()}}
                    ):
                        terms.setdefault(left, []).append(right)
                except ValueError:
                    pass
        for name, found in terms.items():
            self.told[name] = partial(_told, found)

    def letters(self, term: Data, names: Data) -> set[str]:
        """Return the letters of a term, names written out. Refuses a term with anything else."""
        found: set[str] = set()
        letters = {part["name"] for part in self.circuit["parts"]} | self.circuit["values"].keys()
        for name in symbols(term):
            require(name in names or name in letters, f"{name} is not known in letters")
            found |= self.letters(names[name], names) if name in names else {name}
        return found

    def earlier(self, cited: Data) -> Data:
        """Return an earlier line."""
        require(type(cited) is int and 0 <= cited < self.here, "it cites no earlier line")
        return self.lines[cited]

    def rule(self, cited: Data, name: str | None = None) -> tuple[Data, Data]:
        """Return both sides of an earlier line, which has to be about a symbol if one is said."""
        require("equation" in self.earlier(cited), f"line {cited} is no equation")
        left, right = self.lines[cited]["equation"]
        require(name in (None, left), f"line {cited} is not about {name}")
        return left, right

    def round(self, line: Data, value: Fraction) -> None:
        """Check how a value is rounded."""
        power.round_rightly(line, value)

    def number(self, cited: Data, name: str | None = None) -> Fraction:
        """Return the number that an earlier line gives."""
        return solved.EXACT.value(self.rule(cited, name)[1])  # type: ignore[no-any-return]

    def holds(self, test: Callable[[Any], Any], reason: str) -> bool:
        """Refuse what does not hold with the author's numbers; tell whether it does with any."""
        require(test(self.world), reason)
        try:
            return bool(test(self.any))
        except FAULTS:
            return False

    def true(self, left: Data, right: Data) -> bool:
        """Refuse what is false of the circuit; tell whether it holds for any values."""
        for name in symbols(left) | symbols(right):
            require(name in self.names or name not in self.named, f"{name} has no meaning yet")
        return self.holds(lambda w: w.value(left) == w.value(right), "it is false of the circuit")

    def tell(self, name: Data, term: Data) -> None:
        """Give a name to a term, or the meaning to a symbol that a line has to tell."""
        used = name in self.world.letters or name in self.world.currents or name in self.names
        require(isinstance(name, str) and not used, f"{name} has a meaning already")
        self.names[name] = self.named[name] = term

    def check(self) -> None:
        """Check line after line, then whether all is answered."""
        for here, line in enumerate(self.lines):
            self.here = here
            self.counts[line["kind"]] += 1
            require((line["kind"] in SILENT) != ("equation" in line), "it is no line of its kind")
            left, right = line.get("equation") or (NOTHING, NOTHING)
            if line["kind"] in ALGEBRA:
                self._follows(line, left, right)
            else:
                self._law(line["kind"], line, left, right)
            if "equation" in line:
                self._note(line, left, right)
        self.here = len(self.lines)
        for question in self.circuit["questions"]:
            for name in self.wanted(question):
                told = [question, name] in self.answers
                require(told, f"the question {' '.join(question)} is not answered")
        power.check_whole(self)

    def _note(self, line: Data, left: Data, right: Data) -> None:
        """Note whether a line holds for any values, or by an exchange that does for some only."""
        free = self.true(left, right)
        cited = {*line.get("replacing", ()), *(k for _, k in line.get("sum", ()))}
        own = line["kind"] in ("put back", "left between") and not free
        if own or cited & self.resting or symbols(right) & self.special:
            self.resting.add(self.here)
            self.special |= {left} if isinstance(left, str) else set()
        elif free:
            self.free.add(self.here)

    def _follows(self, line: Data, left: Data, right: Data) -> None:
        """Check an algebraic step by its certificate."""
        rules: dict[str, Data] = {}
        for name, term in map(self.rule, line["replacing"]):
            gives = isinstance(name, str) and name not in symbols(term)
            require(gives, "what is put in is no term for one symbol")
            require(rules.setdefault(name, term) == term, f"{name} is replaced by two terms")
        require(line["sum"], "it follows from nothing")
        self._require_gone(line, rules, symbols(left) | symbols(right))
        for point in (2, 3):
            at = _replacing(rules, point)
            rest = at.value(left) - at.value(right)
            for factor, cited in line["sum"]:
                one, other = self.rule(cited)
                by = at.value(factor)
                require(by, "a line is multiplied by zero")
                rest -= by * (at.value(one) - at.value(other))
            require(not rest, "it does not follow from the lines that it cites")
        alone = isinstance(left, str) and left not in symbols(right)
        require(alone or line["kind"] not in ("isolate", "go back"), "it does not give a symbol")
        require(line["kind"] != "isolate" or line["symbol"] == left, "it gives another symbol")

    def _require_gone(self, line: Data, rules: dict[str, Data], left: set[str]) -> None:
        """What is said to be replaced, or eliminated, was there and is gone."""
        cited = [symbols(side) for _, k in line["sum"] for side in self.rule(k)]
        held = set[str]().union(*cited)
        put_in = line.get("put_in", [])
        require({*put_in} <= {*line["replacing"]}, "what is put in replaces nothing")
        gone = {self.rule(k)[0] for k in put_in}
        if line["kind"] == "put in values":
            gone = {name for name, term in rules.items() if not symbols(term)} & held
        there = held.union(*map(symbols, rules.values()))
        require(gone <= there and gone <= rules.keys(), "what is put in has no place there")
        unknown = {*line.get("eliminated", ())}
        letters = self.world.letters.difference(self.circuit["sought"], self.world.following)
        require(unknown <= held - letters, "what is eliminated was no unknown there")
        require(not (gone | unknown) & left, "what is replaced is still there")
        for factor, _ in line["sum"]:
            for divisor in laws.divisors(factor):
                self.letters(divisor, self.names)

    def _law(self, kind: str, line: Data, left: Data, right: Data) -> None:
        match kind:
            case _ if kind in OF_PARTS:
                laws.law_of_part(self, left, right)
            case "name" | "change":
                if kind == "change":
                    rows = self.earlier(line["loop"])["rows"]
                    same = 0 <= line["row"] < len(rows) and rows[line["row"]][4] == right
                    require(same, "the change on the walk is another one")
                require("(" not in left, f"{left} is no name")
                self.tell(left, right)
                tells.one_unit(self, right)
            case "given":
                require(right == self.circuit["values"].get(left), "the author says something else")
                self.stated.add(left)
                self._numbers()
            case "rounding":
                power.round_rightly(line, self.number(line["premise"], line["symbol"]))
            case "answer":
                self._answer(line)
            case "remark":
                self.remarks += 1
            case "known current":
                branch = self.world.parts[line["part"]]["branch"]
                own = self.circuit["branches"][branch]["current"]
                require(own == left, f"{line['part']} is elsewhere")
                laws.law_of_part(self, left, right)
            case _:
                require(kind in HANDLERS, f"{kind} is no kind of line that is known")
                HANDLERS[kind](self, line, left, right)

    def _answer(self, line: Data) -> None:
        question, name, value = line["question"], line["symbol"], line["value"]
        asked = question in [*self.circuit["questions"], ["currents"]]
        require(asked, "the author does not ask this")
        also = [f"δ({question[1]})"] if question[0] == "loading error" else []
        require(name in [*self.wanted(question), *also], f"{name} answers another question")
        cited = [k for k in (line["formula"], value) if k is not None]
        require(cited, "nothing is concluded")
        for k in cited:
            letters = self.letters(self.rule(k, name)[1], self.names)
        if line["formula"] is not None:
            # Values may have been put in, but no exchange may rest on them.
            rests = line["formula"] in self.resting
            require(not rests, "the formula holds for some values only")
        known = {s for s, term in self.circuit["values"].items() if not symbols(term)}
        known |= self.world.following.union(self.circuit["sought"])
        require(not letters & known, "the values are not put in")
        for k, fitting in ((line["rounded"], ("", "%")), (line["also"], ("%", "Wh", "Ah"))):
            told = {} if k is None else self.earlier(k)
            fits = not told or (told["kind"] == "rounding" and told["premise"] == value)
            require(fits and told.get("unit", "%") in fitting, "something else is rounded")
        self.answers.append([question, name])

    def wanted(self, question: Data) -> list[str]:
        """Return the symbols that answer a question."""
        match question:
            case ["reducible"]:
                return []
            case ["currents"]:
                still = [b["current"] for b in self.circuit["branches"] if b["idle"]]
                return [*self.circuit["walks"], *(name for name in still if "(" not in name)]
            case ["potentials"]:
                points = self.circuit["points"]
                return [f"V({point})" for point in points if point != self.circuit["ground"]]
            case ["value", name]:
                return [name]
            case ["preferred", series, name]:
                return [f"{name[0]}n({name},{series})"]
            case ["reading" | "loading error" as asked, name]:
                shown = "I" if self.world.parts[name].get("is") == "ammeter" else "V"
                ideal = [f"{shown}ideal({name})", f"e({name})"]
                return [f"{shown}({name})"] if asked == "reading" else ideal
            case ["matched load", name]:
                return [f"Rm({name})", f"Pm({name})"]
            case ["transient", name]:
                begins = self.circuit["initially"].get(name)
                return [] if begins and not begins["is_steady"] else [f"V({name})"]
            case [words, *names] if words in HEADS:
                return [f"{HEADS[words]}({','.join(names)})"]
        raise ValueError("there is a question of an unknown kind")


def _told(terms: list[Data], world: Any) -> Fraction:
    return world.value(terms[-1 if world.numbers else 0])  # type: ignore[no-any-return]


def _replacing(rules: dict[str, Data], point: int) -> Any:
    """Return what evaluates terms, some symbols replaced and a random number for each other one."""
    found = solved.Terms(
        cache(lambda s: found.value(rules[s]) if s in rules else anything(s, point)), point
    )
    return found


def check_state(data: Data, where: str = "") -> State:
    """Check a circuit with its lines. Raises ValueError, which says where and why."""
    state: State | None = None
    try:
        state = State(data)
        state.check()
    except FAULTS as fault:
        at = state.lines[state.here : state.here + 1] if state else []
        line = f"line {state.here} ({at[0].get('kind')})" if state and at else "the proof"
        raise ValueError(f"{where}{line}: {_reason(fault)}") from None
    return state


def _reason(fault: Exception) -> str:
    if isinstance(fault, ArithmeticError):
        return "it divides by zero"
    if isinstance(fault, RecursionError):
        return "its terms are nested too deep, or stand for themselves"
    return str(fault) if type(fault) is ValueError else "it is not written as it should be"


def main(arguments: list[str]) -> int:
    """Check a file: 0 when it is accepted, 1 when it is refused, 2 when it cannot be read."""
    if len(arguments) != 1:
        print("usage: python -m derive.checker FILE", file=sys.stderr)
        return 2
    try:
        data = json.loads(Path(arguments[0]).read_bytes().decode())
        require(isinstance(data, dict) and data.get("proof") == 1, "it is no proof that is known")
    except (OSError, ValueError, RecursionError) as fault:
        told = fault.strerror if isinstance(fault, OSError) else fault
        print(f"{arguments[0]} cannot be read: {told}", file=sys.stderr)
        return 2
    try:
        text = data["source"]["text"].encode()
        require(sha256(text).hexdigest() == data["source"]["sha256"], "the text is another one")
        parts = [("before: ", "after: ") if len(data["states"]) > 1 else ("",)][0]
        states = [check_state(s, w) for s, w in zip(data["states"], parts, strict=True)]
        changes = power.compare(states, data.get("switching"))
    except FAULTS as fault:
        print(f"refused: {_reason(fault)}")
        return 1
    counts = sum((state.counts for state in states), Counter[str]())
    algebra, answers = sum(counts[kind] for kind in ALGEBRA), counts["answer"]
    remarks = sum(state.remarks for state in states)
    print(
        f"accepted: {counts.total()} lines, of which {algebra} are algebra, "
        f"{counts['rounding']} roundings, {answers} answers and "
        f"{counts.total() - algebra - counts['rounding'] - answers - remarks} laws and other "
        f"facts of the circuit; {changes} changes compared. Not covered by this checker: {remarks}."
    )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
