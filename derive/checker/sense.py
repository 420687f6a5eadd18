"""What a formula tells: limits, special cases, trends and units, proved by polynomials of its own.

A formula is taken as a fraction of polynomials in free letters, with the names and the ties of the
author put in. Nothing is divided out and no limit is computed by approximation: at zero the lowest
powers of the letter decide, without bound the highest. Letters are positive, so a polynomial whose
terms have one sign is never zero.
"""

from __future__ import annotations

from typing import assert_never

from derive.algebra.dimension import NUMBER
from derive.algebra.term import (
    Equation,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
)
from derive.checker import laws
from derive.checker.evaluation import dimension, occurring
from derive.checker.ledger import (
    Ledger,
    check_symbols,
    cited_equation,
    is_closed,
    read_rule,
    require,
)
from derive.checker.polynomial import (
    Expansion,
    Polynomial,
    Refused,
    minus,
    powers,
    sign,
    slope,
    times,
)
from derive.derivation.sense import (
    Dimensions,
    Limit,
    Response,
    SenseStep,
    SpecialCase,
    Toward,
    Trend,
)
from derive.derivation.step_id import StepId


def check_sense(ledger: Ledger, step: SenseStep) -> None:
    """Check what a step says of a formula. Raises Refused."""
    match step:
        case Limit():
            _check_limit(ledger, step)
        case SpecialCase():
            _check_special_case(ledger, step)
        case Trend():
            _check_trend(ledger, step)
        case Dimensions():
            _check_dimensions(ledger, step)
        case _:
            assert_never(step)


def _check_limit(ledger: Ledger, step: Limit) -> None:
    symbol, formula = _formula(ledger, step.premise)
    require(step.letter.kind is SymbolKind.RESISTANCE, f"{step.letter.name} is no resistance")
    expansion = Expansion(_rules(ledger))
    above, below = _fraction(ledger, expansion, formula)
    place = _place(ledger, expansion, step.letter)
    upper, lower = powers(above, place), powers(below, place)
    require(_moves(upper) or _moves(lower), f"{symbol.name} does not depend on {step.letter.name}")
    decisive = min if step.to is Toward.ZERO else max
    high, low = decisive(upper, default=0), decisive(lower)
    order = low - high if step.to is Toward.ZERO else high - low
    if step.limit is None:
        require(order > 0 and sign(upper[high]) != 0, f"{symbol.name} stays finite")
        return
    require(not above or order <= 0, f"{symbol.name} has no limit")
    _check_term(ledger, step.limit, symbol)
    top, bottom = _fraction(ledger, expansion, step.limit)
    kept = not _moves(powers(top, place)) and not _moves(powers(bottom, place))
    require(kept, f"{step.letter.name} is still there")
    tends = upper[high] if above and not order else {}
    _require_same(times(tends, bottom), times(top, lower[low]), "the limit is another one")


def _check_special_case(ledger: Ledger, step: SpecialCase) -> None:
    symbol, formula = _formula(ledger, step.premise)
    plain = Expansion(_rules(ledger))
    parts = _fraction(ledger, plain, formula)
    assumed: dict[Symbol, Term] = {}
    for assumption in step.assumptions:
        letter, term = _assumed(ledger, assumption)
        require(letter not in assumed, f"{letter.name} is assumed twice")
        place = _place(ledger, plain, letter)
        met = any(_moves(powers(part, place)) for part in parts)
        require(met, f"{symbol.name} does not depend on {letter.name}")
        assumed[letter] = term
    require(bool(assumed), "nothing is assumed")
    for term in (*assumed.values(), step.result):
        kept = assumed.keys().isdisjoint(occurring(term))
        require(kept, "it is told by a letter for which something is assumed")
    _check_term(ledger, step.result, symbol)
    expansion = Expansion(_rules(ledger) | assumed)
    _fraction(ledger, expansion, formula)
    difference = Sum((formula, Negative(step.result)))
    require(expansion.is_zero(difference), "it becomes something else")


def _assumed(ledger: Ledger, assumption: Equation) -> tuple[Symbol, Term]:
    """Return the letter of an assumption, and a term that some positive values give it."""
    left, term = assumption.left, assumption.right
    factors = left.factors if isinstance(left, Product) else (left,)
    *others, letter = factors
    if not isinstance(letter, Symbol):
        raise Refused("an assumption is about one letter")
    expansion = Expansion(_rules(ledger))
    _place(ledger, expansion, letter)
    held = check_symbols(ledger, Sum((left, term)))
    for met in held:
        _require_free(ledger, met)
    fits = dimension(term) in (None, dimension(left))
    require(fits, "it has another unit")
    if others:
        term = Quotient(term, Product(tuple(others)))
    above, below = _fraction(ledger, expansion, term)
    require(sign(above) * sign(below) == 1, f"{letter.name} may not be positive then")
    return letter, term


def _check_trend(ledger: Ledger, step: Trend) -> None:
    symbol, formula = _formula(ledger, step.premise)
    expansion = Expansion(_rules(ledger))
    above, below = _fraction(ledger, expansion, formula)
    place = _place(ledger, expansion, step.letter)
    # The derivative is `change` over the square of what stands below the line.
    change = minus(times(slope(above, place), below), times(above, slope(below, place)))
    held = check_symbols(ledger, step.rate)
    require(is_closed(ledger, held), "the rate holds unknowns")
    own = symbol.dimension if step.response is not Response.WEAKENS else NUMBER
    same = dimension(step.rate) == own / step.letter.dimension
    require(same, "the rate has the wrong unit")
    top, bottom = _fraction(ledger, expansion, step.rate)
    require(sign(top) * sign(bottom) == 1, "the rate may have either sign")
    if step.response is not Response.RISES:
        change = minus({}, change)
    follows = above if step.response is Response.WEAKENS else below
    told = times(top, times(follows, below))
    _require_same(times(change, bottom), told, "the rate is another one")


def _check_dimensions(ledger: Ledger, step: Dimensions) -> None:
    equation = cited_equation(ledger, step.premise)
    symbol, body = equation.left, equation.right
    if isinstance(body, Negative):
        body = body.term
    if not isinstance(symbol, Symbol) or not isinstance(body, Quotient):
        raise Refused("this is no fraction for one symbol")
    below = body.denominator
    if isinstance(below, Symbol):
        below = ledger.defined.get(below, below)
    for part, unit in ((body.numerator, step.above), (below, step.below)):
        items = part.terms if isinstance(part, Sum) else (part,)
        require(all(dimension(item) == unit for item in items), "a term has another unit")
    require(step.above / step.below == symbol.dimension, "the quotient has another unit")


def _formula(ledger: Ledger, premise: StepId) -> tuple[Symbol, Term]:
    """Return a formula in letters that holds for all their values."""
    symbol, formula = read_rule(ledger, premise)
    held = ledger.lines[premise].right
    require(is_closed(ledger, held), f"step {premise} holds unknowns")
    special = premise in ledger.special or not ledger.special_symbols.isdisjoint(held)
    given = (cited_equation(ledger, k).right for k in ledger.assumed.get(premise, ()))
    numbers = any(not occurring(term) for term in given)
    require(not special and not numbers, f"step {premise} holds for some values only")
    return symbol, formula


def _rules(ledger: Ledger) -> dict[Symbol, Term]:
    """Return what stands for letters that are not free, and for names."""
    return ledger.defined | _ties(ledger)


def _ties(ledger: Ledger) -> dict[Symbol, Term]:
    given = laws.all_given(ledger.circuit)
    return {s: t for s, t in given.items() if occurring(t) and s in ledger.made_of}


def _fraction(ledger: Ledger, expansion: Expansion, term: Term) -> tuple[Polynomial, Polynomial]:
    """Return a term in free letters over a divisor that is never zero."""
    above, below = expansion.fraction(term)
    letters = all(ledger.made_of.get(s) == frozenset((s,)) for s in expansion.left)
    require(letters, "it is not told in letters alone")
    require(sign(below) != 0, "the divisor may be zero for positive letters")
    return above, below


def _place(ledger: Ledger, expansion: Expansion, letter: Symbol) -> int:
    """Return the place of a letter that moves alone."""
    _require_free(ledger, letter)
    return expansion.place(letter)


def _require_free(ledger: Ledger, letter: Symbol) -> None:
    own = ledger.made_of.get(letter) == frozenset((letter,)) and letter not in ledger.defined
    require(own, f"{letter.name} is no letter of the circuit")
    tied = laws.all_given(ledger.circuit).items()
    alone = all(
        letter not in occurring(term) and letter != s for s, term in tied if occurring(term)
    )
    require(alone, f"{letter.name} is tied to something else")


def _check_term(ledger: Ledger, term: Term, symbol: Symbol) -> None:
    """A term in letters has a meaning and the dimension of a symbol."""
    held = check_symbols(ledger, term)
    require(is_closed(ledger, held), "it holds unknowns")
    require(dimension(term) in (None, symbol.dimension), "it has another unit")


def _moves(parts: dict[int, Polynomial]) -> bool:
    """Tell whether a letter occurs."""
    return any(parts)


def _require_same(one: Polynomial, other: Polynomial, reason: str) -> None:
    require(not minus(one, other), reason)
