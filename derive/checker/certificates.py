"""Algebraic steps: their shape, and the certificate by which each follows from earlier lines."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.term import Negative, Product, Sum, Symbol, SymbolKind
from derive.checker.evaluation import dimension, occurring, residue
from derive.checker.ledger import (
    Ledger,
    check_symbols,
    cited_equation,
    cited_line,
    difference,
    expression,
    is_closed,
    made_of,
    read_rule,
    read_rules,
    require,
)
from derive.checker.polynomial import Expansion
from derive.derivation.algebra import (
    AlgebraStep,
    BackSubstitute,
    Collect,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Scaled,
    Substitute,
    certificate,
)
from derive.derivation.step_id import StepId


def check_definition(ledger: Ledger, step: Define) -> None:
    """Check that a name is new, and note what it stands for."""
    symbol, term = step.symbol, step.conclusion.right
    require(step.conclusion.left == symbol, "the definition is for another symbol")
    # Names with parentheses belong to the relations of parts and points.
    fresh = symbol.name not in ledger.named and "(" not in symbol.name
    require(fresh, f"{symbol.name} has a meaning already")
    symbols = check_symbols(ledger, term)
    ledger.named[symbol.name] = symbol
    ledger.defined[symbol] = term
    if not ledger.special_symbols.isdisjoint(symbols):
        ledger.special_symbols.add(symbol)
    if symbol.kind is SymbolKind.VOLTAGE:
        ledger.voltages[symbol] = term
    if is_closed(ledger, symbols):
        ledger.made_of[symbol] = made_of(ledger, symbols)
        ledger.point[symbol] = residue(term, ledger.point)


def check_shape(ledger: Ledger, step: AlgebraStep) -> None:
    """What a step says of itself beyond its certificate."""
    match step:
        case Combine(eliminated=eliminated, parts=parts):
            held = [cited_line(ledger, part.premise) for part in parts]
            for symbol in eliminated:
                found = any(symbol in line.left or symbol in line.right for line in held)
                require(found, f"no premise holds {symbol.name}")
                unknown = symbol not in ledger.made_of or symbol in ledger.circuit.sought
                require(unknown, f"{symbol.name} is no unknown")
            _require_gone(ledger, eliminated)
        case Substitute(premise=premise, definitions=definitions):
            _check_definitions_used(ledger, premise, definitions)
        case Isolate(premise=premise, symbol=symbol, definitions=definitions):
            given = expression(step.conclusion, ledger.lines[ledger.here])
            require(given == symbol, f"this does not give {symbol.name}")
            _check_definitions_used(ledger, premise, definitions)
        case BackSubstitute(premise=premise, definitions=definitions):
            given = expression(step.conclusion, ledger.lines[ledger.here])
            require(given == read_rule(ledger, premise)[0], f"this does not give {given.name}")
            _check_definitions_used(ledger, premise, definitions)
        case PutInValues(values=values):
            known = read_rules(ledger, values)
            # A quantity tied to a letter may stay as it is.
            _require_gone(ledger, [s for s, term in known.items() if not occurring(term)])
        case Collect():
            pass


def _check_definitions_used(ledger: Ledger, premise: StepId, definitions: Iterable[StepId]) -> None:
    """What is said to be put in stands in the premise, or comes in with another one, and goes."""
    rules = read_rules(ledger, definitions)
    line = cited_line(ledger, premise)
    held = {*line.left, *line.right}.union(*(occurring(term) for term in rules.values()))
    for symbol in rules:
        require(symbol in held, f"{symbol.name} is not there to be replaced")
    _require_gone(ledger, rules)


def _require_gone(ledger: Ledger, gone: Iterable[Symbol]) -> None:
    line = ledger.lines[ledger.here]
    for symbol in gone:
        present = symbol in line.left or symbol in line.right
        require(not present, f"{symbol.name} is still there")


def check_certificate(ledger: Ledger, step: AlgebraStep) -> None:
    """left − right = Σ multiplier · (left − right of the premise), after rewriting."""
    proof = certificate(step)
    sources = [part.premise for part in proof.combination] + list(proof.rewriting)
    empty = frozenset[StepId]()
    ledger.assumed[ledger.here] = empty.union(*(ledger.assumed.get(s, empty) for s in sources))
    if not ledger.special.isdisjoint(sources):
        ledger.special.add(ledger.here)
    require(bool(proof.combination), "it follows from nothing")
    expansion = Expansion(read_rules(ledger, proof.rewriting))
    items = [difference(step.conclusion)]
    for part in proof.combination:
        _check_multiplier(ledger, part, expansion)
        premise = difference(cited_equation(ledger, part.premise))
        items.append(Negative(Product((part.multiplier, premise))))
    require(expansion.is_zero(Sum(tuple(items))), "it does not follow from its premises")


def _check_multiplier(ledger: Ledger, part: Scaled, expansion: Expansion) -> None:
    check_symbols(ledger, part.multiplier)
    require(not expansion.is_zero(part.multiplier), "an equation is multiplied by zero")
    unit, factor = cited_line(ledger, part.premise).unit, dimension(part.multiplier)
    wanted = ledger.lines[ledger.here].unit
    if unit is not None and factor is not None and wanted is not None:
        require(unit * factor == wanted, "a multiplier has the wrong unit")
