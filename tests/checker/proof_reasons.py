"""Which changes of a proof keep its meaning, decided without the checker; algebra is sympy's."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import sympy

from tests.checker.proof_mutants import HEADS, Mutant

ONE_LINE = ("premise", "formula", "value", "rounded", "also", "power", "balance", "voltage", "loop",
            "course", "answer")  # fmt: skip
LINES = ("replacing", "put_in", "totals", "delivered", "lines")
SETS = ("points", "eliminated", "in", "out", "replacing", "put_in", "delivered", "lines", "network")


def reason(mutant: Mutant, data: Any) -> str | None:
    """Return why a change of a part of a proof keeps the meaning; None when it does not."""
    old, new, lines = mutant.old, mutant.new, data["lines"]
    if new is None:
        needed = any(_cites(line, mutant.at) for line in lines)
        needed |= old["kind"] == "answer" and old["question"] in data["circuit"]["questions"]
        return None if needed else "it says less: no line needs this one"
    if _meaning(old, lines) == _meaning(new, lines):
        return "the same in another order, or by another line that says the same"
    ties = {
        line["equation"][0]: line["equation"][1]
        for line in lines
        if line["kind"] == "given" and to_sympy(line["equation"][1]).free_symbols
        and "unit" not in str(to_sympy(line["equation"][1]))
    }  # fmt: skip
    if ties and _meaning(_tied(old, ties), lines) == _meaning(_tied(new, ties), lines):
        return "the same by the ties of the author"
    kind = old["kind"]
    if kind == "remark":
        return "a remark is not covered by this checker"
    changed = {key for key in old.keys() | new.keys() if old.get(key) != new.get(key)}
    if kind == "rounding" and changed <= {"decimals", "exponent"}:
        if new["exact"]:
            return "an exact value with other zeros or another prefix"
        return "as many digits of the value are right" if _right(new, lines) else None
    if kind == "range" and changed <= {"decimals", "exponent"}:
        return "the same ends with other zeros or another prefix"
    if kind == "range" and changed <= {"low", "high"}:
        shares = next(
            x["shares"] for x in lines if x["kind"] == "shares" and x["answer"] == old["answer"]
        )
        moved = [n for e in changed for n, v in new[e]["at"].items() if v != old[e]["at"].get(n)]
        rest = [{**line[e], "at": None} for line in (old, new) for e in changed]
        same = all(shares[name][0] == "0" for name in moved) and rest[0] == rest[-1]
        return "the end is met there as well" if same else None
    if kind == "course at" and changed <= {"decimals", "exponent"}:
        return "as many digits of the value are right"
    if kind == "answer" and changed <= {"rounded", "formula", "value", "also"}:
        if all(new[key] is None for key in changed):
            return "it says less"
        same = changed == {"formula"} and lines[new["formula"]]["equation"][0] == new["symbol"]
        return "another line that gives the same symbol in letters" if same else None
    if kind in ("limit", "trend", "special case", "units"):
        return "it is true as well" if _is_true(new, lines) else None
    if changed <= {"eliminated", "put_in"} and all({*new.get(k, ())} <= {*old[k]} for k in changed):
        return "it says less of what was put in or eliminated"
    if changed == {"replacing"} and {*old["replacing"]} <= {*new["replacing"]}:
        return "a line that is true as well is cited in vain"
    if changed == {"replacing"} and _still_follows(new, lines):
        return "it follows from fewer lines"
    if kind == "levels" and new["levels"].items() <= old["levels"].items():
        return "it says less: a potential is left out"
    if kind == "loop" and changed == {"walk"}:
        turned = [sorted(map(str, line["walk"])) for line in (old, new)]
        return "the branches of the loop in another order" if turned[0] == turned[1] else None
    if kind in ("network", "exchange", "join") and changed == {"network"}:
        if _places(old) == _places(new):
            return "a place of the network by another name"
        ends = [sorted((k, n, *sorted((t, h))) for k, n, t, h in x["network"]) for x in (old, new)]
        return "an arrow in the network turned round" if ends[0] == ends[1] else None
    if kind in ("network", "exchange") and changed == {"places"}:
        return (
            "seen from the other side" if sorted(old["places"]) == sorted(new["places"]) else None
        )
    if "sum" in old and changed == {"equation"} and _same_by_ties(old, new, lines):
        return "the same by the ties of the author"
    if kind == "agree" and len(set(new["lines"])) == 2:
        symbols = {str(lines[k]["equation"][0]) for k in (*old["lines"], *new["lines"])}
        return "another line that gives the same symbol" if len(symbols) == 1 else None
    if kind == "exchange" and changed == {"taken"}:
        same = sorted(old["taken"]) == sorted(new["taken"])
        return "the same parts in another order" if same else None
    if kind == "put back" and changed == {"arm"}:
        return "another arm that has the same current"
    return None


def _tied(value: Any, ties: dict[str, Any]) -> Any:
    """Return a line with letters replaced by what the author ties them to."""
    if isinstance(value, dict):
        kept = ("kind", "symbol", "letter", "taken", "made", "arm", "part", "question")
        return {k: v if k in kept else _tied(v, ties) for k, v in value.items()}
    if isinstance(value, list):
        return [_tied(item, ties) for item in value]
    return ties.get(value, value) if isinstance(value, str) else value


def _places(line: Any) -> list[Any]:
    """Return a network, its places by numbers in the order in which they are met."""
    found: dict[str, int] = {}
    seen = line.get("places", [])
    numbers = [found.setdefault(place, len(found)) for place in seen]
    arms = [
        (kind, name, *(found.setdefault(place, len(found)) for place in (tail, head)))
        for kind, name, tail, head in line["network"]
    ]
    return [numbers, arms]


def _same_by_ties(old: Any, new: Any, lines: list[Any]) -> bool:
    given = [line["equation"] for line in lines if line["kind"] == "given"]
    ties = {
        to_sympy(left): to_sympy(right) for left, right in given if isinstance(right, str | list)
    }
    ties = {s: t for s, t in ties.items() if t.free_symbols and "unit" not in str(t)}
    sides = zip(old["equation"], new["equation"], strict=True)
    return all(sympy.cancel(to_sympy(a).subs(ties) - to_sympy(b).subs(ties)) == 0 for a, b in sides)


def _cites(line: Any, at: int) -> bool:
    cited = [line.get(key) for key in ONE_LINE] + [k for _, k in line.get("sum", ())]
    for key in (*LINES, "taken"):
        cited += [k for k in line.get(key, ()) if isinstance(k, int)]
    return at in cited or (line["kind"] == "put back" and line["exchange"] == at)


def _meaning(line: Any, lines: list[Any], deep: bool = True) -> Any:
    """Return what a line says, written in one way."""
    found: dict[str, Any] = {}
    for key, value in line.items():
        is_term = isinstance(value, list) and value[:1] and value[0] in HEADS and key != "network"
        if key in ("equation", "near") and value is not None:
            found[key] = [_normal(side) for side in value]
        elif key == "assumptions":
            found[key] = sorted(str([_normal(side) for side in sides]) for sides in value)
        elif key in ("result", "rate", "limit") and value is not None:
            found[key] = _normal(value)
        elif key == "sum":
            found[key] = sorted(str([_normal(f), _content(k, lines, deep)]) for f, k in value)
        elif key == "levels":
            found[key] = sorted((point, str(_normal(level))) for point, level in value.items())
        elif key in ONE_LINE and isinstance(value, int) and line["kind"] != "rated":
            found[key] = _content(value, lines, deep)
        elif key in LINES or (key == "taken" and line["kind"] == "balance"):
            found[key] = [str(_content(k, lines, deep)) for k in value]
        else:
            found[key] = _normal(value) if is_term else value
        if key in SETS or (key == "taken" and line["kind"] == "balance"):
            repeats = key in ("delivered", "in", "out", "taken", "network", "lines")
            found[key] = sorted(map(str, found[key] if repeats else {*map(str, found[key])}))
    return found


def _content(cited: Any, lines: list[Any], deep: bool) -> Any:
    if not isinstance(cited, int) or isinstance(cited, bool) or not 0 <= cited < len(lines):
        return cited
    line = lines[cited]
    if deep and "equation" in line:
        return str([_normal(side) for side in line["equation"]])
    return cited


def _normal(term: Any) -> Any:
    try:
        return sympy.srepr(sympy.cancel(to_sympy(term)))
    except (TypeError, ValueError, IndexError, AttributeError, ZeroDivisionError):
        return str(term)


def to_sympy(term: Any) -> sympy.Expr:
    """Return a term for sympy, with units as symbols."""
    match term:
        case str():
            return sympy.Symbol(term, positive=True)
        case ["number", text]:
            return sympy.Rational(text)
        case ["quantity", text, powers]:
            units = (sympy.Symbol(f"unit {u}", positive=True) for u in ("volt", "ohm", "second"))
            return sympy.Mul(
                sympy.Rational(text), *(u**n for u, n in zip(units, powers, strict=True))
            )
        case ["-", inner]:
            return -to_sympy(inner)
        case ["+", *items]:
            return sympy.Add(*map(to_sympy, items))
        case ["*", *items]:
            return sympy.Mul(*map(to_sympy, items))
        case ["/", above, below]:
            return to_sympy(above) / to_sympy(below)
        case ["^", base, int(n)]:
            return to_sympy(base) ** n
        case ["parallel", *items]:
            return 1 / sympy.Add(*(1 / to_sympy(item) for item in items))
        case ["exp", inner]:
            return sympy.exp(to_sympy(inner))
    raise TypeError(str(term))


def _named(term: Any, lines: list[Any]) -> sympy.Expr:
    """Return a term with all names written out."""
    names = {
        sympy.Symbol(line["equation"][0], positive=True): to_sympy(line["equation"][1])
        for line in lines
        if line["kind"] in ("name", "change", "put back") and isinstance(line["equation"][0], str)
    }
    found = to_sympy(term)
    while found.free_symbols & names.keys():
        found = found.subs(names)
    return sympy.cancel(found)


def _is_true(line: Any, lines: list[Any]) -> bool:
    """Tell whether what is told of a formula is so, by sympy."""
    cited = lines[line["premise"]]["equation"]
    if line["kind"] == "units":
        return True  # that of another line: the units of what it gives were compared by the checker
    formula = _named(cited[1], lines)
    if line["kind"] == "special case":
        assumed = {}
        for left, right in line["assumptions"]:
            *others, letter = left[1:] if isinstance(left, list) else [left]
            assumed[to_sympy(letter)] = to_sympy(right) / sympy.Mul(*map(to_sympy, others))
        return bool(sympy.cancel(formula.subs(assumed) - _named(line["result"], lines)) == 0)
    letter = to_sympy(line["letter"])
    if line["kind"] == "limit":
        end = 0 if line["to"] == "zero" else sympy.oo
        found = sympy.limit(formula, letter, end)
        if line["limit"] is None:
            return bool(found.has(sympy.oo, sympy.zoo))
        return bool(sympy.cancel(found - _named(line["limit"], lines)) == 0)
    slope, rate = sympy.diff(formula, letter), _named(line["rate"], lines)
    told = {"increases": rate, "decreases": -rate, "gets smaller in size": -rate * formula}
    return bool(sympy.cancel(slope - told[line["response"]]) == 0)


def _right(line: Any, lines: list[Any]) -> bool:
    value = to_sympy(lines[line["premise"]]["equation"][1])
    number = Fraction(str(value.subs(dict.fromkeys(value.free_symbols, 1))))
    place = Fraction(10) ** (line["exponent"] - line["decimals"])
    return 2 * abs(number - Fraction(line["rounded"])) <= place


def _still_follows(line: Any, lines: list[Any]) -> bool:
    """Tell whether sympy confirms the certificate."""
    rules = {to_sympy(a): to_sympy(b) for a, b in (lines[k]["equation"] for k in line["replacing"])}
    one, other = map(to_sympy, line["equation"])
    rest = one - other
    for factor, cited in line["sum"]:
        left, right = map(to_sympy, lines[cited]["equation"])
        rest -= to_sympy(factor) * (left - right)
    for _ in rules:
        rest = rest.subs(rules)
    return bool(sympy.cancel(sympy.together(rest)) == 0)
