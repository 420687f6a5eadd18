"""How terms are set: names, signs, parentheses, products, fractions.

The choices are those of physics publishing (ISO 80000-1 for italic and upright type, spaces and
units); they are made here once, for figures and for every output format.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from derive.algebra.name import is_greek, split_name
from derive.algebra.term import (
    Exponential,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    children,
    symbols,
)
from derive.circuit.appearance import EmfSymbol
from derive.typesetting.flat import flat
from derive.typesetting.layout import (
    Comma,
    Fence,
    Figures,
    Gap,
    Glyph,
    Implied,
    Letter,
    NaturalPower,
    Operator,
    Over,
    Prefix,
    Raised,
    Row,
    Sign,
    Units,
    Word,
)
from derive.typesetting.style import Decimal, Expression, Style
from derive.typesetting.values import set_decimal, set_number, set_quantity, times

_MADE = re.compile(r"([^\W\d_]+)\(([^(),]+)(?:,([^(),]+))?\)")
"""A made name: ``V(B,A)``, ``P(R1)``, ``Pd(E1)``."""


_WORDED = {"Isc": "sc", "Voc": "oc", "Pm": "max", "Iideal": "ideal", "Videal": "ideal"}
"""Heads of made names that carry a word: the current of a short circuit, an open voltage, what an
ideal meter would show."""
_AFTER: dict[bool, Row] = {True: (Comma(), Word("match")), False: (Word("match"),)}


_TAKEN_IN = ("P", "W")
"""Heads of what a part takes in. A source has them beside what it delivers, and needs a word."""
_NEAREST = ("Rn", "Cn")
"""Heads of the preferred value next to a resistance or a capacitance, with its series."""


def set_expression(expression: Expression, style: Style) -> Row:
    """Set one side of an equation."""
    match expression:
        case Decimal():
            return set_decimal(expression, style)
        case Number(value):
            return _signed_value(value < 0, set_number(abs(value), style))
        case Quantity(value, dimension):
            return _signed_value(value < 0, set_quantity(abs(value), dimension, style))
        case Symbol(kind=SymbolKind.COURSE):
            return (set_symbol(expression, style), Fence((Letter("t"),)))
        case Symbol():
            return (set_symbol(expression, style),)
        case Negative(term):
            return (Prefix(Sign.MINUS), *_operand(term, style))
        case Sum(terms):
            return _sum(terms, style)
        case Product(factors):
            return _product(factors, style)
        case Quotient(numerator, denominator):
            return (Over(set_expression(numerator, style), set_expression(denominator, style)),)
        case Power(base, exponent):
            return (Raised(_power_base(base, style), exponent),)
        case Parallel(terms):
            return _parallel(terms, style)
        case Exponential(exponent=power):
            return (NaturalPower(flat(set_expression(power, style))),)
        case _:
            assert_never(expression)


def set_signed(term: Term, style: Style) -> Row:
    """Set a term with its sign always written."""
    if isinstance(term, Negative):
        return (Prefix(Sign.MINUS), Gap(), *_operand(term.term, style))
    return (Prefix(Sign.PLUS), Gap(), *_operand(term, style))


def set_symbol(symbol: Symbol, style: Style) -> Letter:
    """Set a quantity symbol with its subscript."""
    made = _MADE.fullmatch(symbol.name)
    if made is None:
        is_emf = symbol.kind is SymbolKind.EMF
        return _emf(symbol.name, style) if is_emf else _named(symbol.name)
    head, first, second = made.groups()
    if head == "t":  # a time; which one is told beside it
        return Letter("t")
    if head in _NEAREST and second is not None:
        own = _named(first)
        return Letter(own.base, subscript=(*own.subscript, Comma(), Word(second)))
    if head == "Rm":  # the value with which a load takes the most power
        letter = _named(first)
        return replace(letter, subscript=(*letter.subscript, *_AFTER[bool(letter.subscript)]))
    if head in _WORDED:
        word = Word(_WORDED[head])
        return Letter(head[0], subscript=(word, Comma(), _emf(first, style)))
    subscript = _made_subscript(symbol.kind, first, second, style)
    if head in _TAKEN_IN and first[0] in "EJ":
        subscript = (*subscript, Comma(), Word("in"))
    return Letter(head[0], subscript=subscript)


def _made_subscript(kind: SymbolKind, first: str, second: str | None, style: Style) -> Row:
    if second is not None and kind in (SymbolKind.ENERGY, SymbolKind.CHARGE):
        return (_emf(first, style), Comma(), *_time(second, style))
    if second is not None:
        between: Row = (Comma(),) if len(first) > 1 or len(second) > 1 else ()
        return (set_point(first), *between, set_point(second))
    if kind is SymbolKind.POTENTIAL:
        return (set_point(first),)
    return (_emf(first, style),)


def _time(text: str, style: Style) -> Row:
    """Set a time of a made name: ``3/2h``."""
    number = text.rstrip("abcdefghijklmnopqrstuvwxyz")
    return (*set_number(Fraction(number), style), Gap(), Units(((text[len(number) :], 1),)))


def _emf(name: str, style: Style) -> Letter:
    """Set a battery's name: its letter E in the type the author chose, any other as it is."""
    letter = _named(name)
    if letter.base not in ("E", "ℰ"):
        return letter
    base = "ε" if style.emf is EmfSymbol.EPSILON else "E"
    script = style.emf is EmfSymbol.SCRIPT
    return Letter(base, script, letter.subscript, letter.primes)


def _named(text: str) -> Letter:
    name = split_name(text)
    return Letter(name.base, False, _subscript(name.subscript, name.upright), name.primes)


def set_point(text: str) -> Letter | Word:
    """Set the name of a point: a letter with a subscript, or a word as it is."""
    is_word = re.fullmatch(r"[^\W\d_]{2,}[0-9]*(_\w+)*", text) and not is_greek(text)
    return Word(text.replace("_", " ")) if is_word else _named(text)


def _subscript(text: str, upright: bool) -> Row:
    """Set a subscript: a word or a number upright, a running letter italic."""
    row: list[Glyph] = []
    for piece in re.split(r"[,_]+", text):
        if not piece:
            continue
        if row:
            row.append(Comma())
        if upright:
            row.append(Word(piece))
        else:
            row.extend(
                Figures((run,)) if run.isdigit() else Letter(run)
                for run in re.findall(r"[0-9]+|[^0-9]", piece)
            )
    return tuple(row)


def _signed_value(negative: bool, row: Row) -> Row:
    return (Prefix(Sign.MINUS), *row) if negative else row


def _is_loose(row: Row) -> bool:
    """Say whether a row would fall apart beside a sign or a factor: a sum, or a signed thing."""
    binary = (Sign.PLUS, Sign.MINUS, Sign.PARALLEL)
    return isinstance(row[0], Prefix) or any(
        isinstance(glyph, Operator) and glyph.sign in binary for glyph in row
    )


def _held(row: Row) -> Row:
    return (Fence(row),) if _is_loose(row) else row


def _operand(term: Term, style: Style) -> Row:
    """Set a term that follows a plus or minus sign."""
    return _held(set_expression(term, style))


def _sum(terms: tuple[Term, ...], style: Style) -> Row:
    if not terms:
        return (Figures(("0",)),)
    row: list[Glyph] = []
    for term in terms:
        negative = isinstance(term, Negative)
        sign = Sign.MINUS if negative else Sign.PLUS
        if row:
            row.append(Operator(sign))
        elif negative:
            row.append(Prefix(sign))
        row.extend(_operand(term.term if isinstance(term, Negative) else term, style))
    return tuple(row)


def _parallel(terms: tuple[Term, ...], style: Style) -> Row:
    if len(terms) == 1:
        return set_expression(terms[0], style)
    row: list[Glyph] = []
    for term in terms:
        if row:
            row.append(Operator(Sign.PARALLEL))
        inner = set_expression(term, style)
        row.extend((Fence(inner),) if isinstance(term, Product) else _held(inner))
    return tuple(row)


def _power_base(base: Term, style: Style) -> Letter | Figures | Fence:
    row = set_expression(base, style)
    if len(row) == 1 and isinstance(row[0], Letter | Figures | Fence):
        return row[0]
    return Fence(row)


def _product(factors: tuple[Term, ...], style: Style) -> Row:
    flat = _flatten(factors)
    if not flat:
        return (Figures(("1",)),)
    if len(flat) == 1:
        return set_expression(flat[0], style)
    literal = all(map(_is_numeric, flat))
    unitless = literal and not any(map(_holds_unit, flat[:-1]))
    row: list[Glyph] = []
    previous: tuple[Term, bool] | None = None
    for factor in flat:
        inner = set_expression(factor, style)
        last = previous is not None and factor is flat[-1]
        if last and unitless and _is_bare_unit(factor, inner):
            # (2 · 1 + 2 · 1.5) Ω²: a unit after its number
            row.extend((Gap(), inner[-1]))
            break
        # A value with its unit beside a letter: (2 Ω) I₁.
        fenced = _is_loose(inner) or (isinstance(factor, Quantity) and not literal)
        if previous is not None:
            row.extend(_joint(previous, (factor, fenced), style))
        row.extend((Fence(inner),) if fenced else inner)
        previous = (factor, fenced)
    return tuple(row)


def _is_bare_unit(factor: Term, inner: Row) -> bool:
    """Tell whether a factor is one unit, written ``1 Ω²`` when it stands alone."""
    return isinstance(factor, Quantity) and len(inner) == 3 and inner[0] == Figures(("1",))


def _holds_unit(term: Term) -> bool:
    return isinstance(term, Quantity) or any(map(_holds_unit, children(term)))


def _flatten(factors: tuple[Term, ...]) -> list[Term]:
    flat: list[Term] = []
    for factor in factors:
        flat.extend(_flatten(factor.factors) if isinstance(factor, Product) else [factor])
    return flat


def _joint(left: tuple[Term, bool], right: tuple[Term, bool], style: Style) -> Row:
    """Return what stands between two factors: a multiplication sign where digits would meet."""
    (left_term, left_fenced), (right_term, right_fenced) = left, right
    left_numeric, right_numeric = _is_numeric(left_term), _is_numeric(right_term)
    if left_numeric and right_numeric and not (left_fenced and right_fenced):
        return (Operator(times(style)),)
    if left_fenced and right_fenced:
        return (Implied(False),)
    if right_numeric and not right_fenced:
        return (Operator(times(style)),)
    if isinstance(left_term, Number):
        whole = left_term.value.denominator == 1 and not isinstance(right_term, Quotient)
        return (Implied(not whole),)
    return (Implied(_kind(left_term) is not _kind(right_term) or _kind(left_term) is None),)


def _is_numeric(term: Term) -> bool:
    return next(symbols(term), None) is None


def _kind(term: Term) -> SymbolKind | None:
    if isinstance(term, Power):
        return _kind(term.base)
    return term.kind if isinstance(term, Symbol) else None
