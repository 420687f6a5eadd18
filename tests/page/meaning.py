"""Whether what a page says follows from the derivation: sides, values, roundings, conditions."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from tests.page.items import Page, Prose, Row, Run, Table, Values
from tests.page.known import Known
from tests.page.mathematics import Chain, Misread, Tree
from tests.page.worth import PRIME, Print, Worth, is_rounding, print_of, times, worth


def faults(page: Page, known: Known) -> Iterator[str]:
    """Yield every statement of a page that does not follow."""
    for item in page.items:
        match item:
            case Row(chain, _, source):
                yield from _chain(chain, source, known)
            case Values(chains):
                for chain in chains:
                    yield from _chain(chain, (), known)
            case Prose(run):
                yield from _run(run, known)
            case Table(rows):
                for row in rows:
                    for cell in row:
                        yield from _run(cell, known)


def _run(run: Run, known: Known) -> Iterator[str]:
    subject: Print | None = None
    for piece in run:
        if not isinstance(piece, Chain):
            continue
        if piece.relations == (">",):
            # It is said of the current before it that it runs against its arrow then.
            great, small = map(print_of, piece.sides)
            above = tuple((b - a) % PRIME for a, b in zip(great, small, strict=True))
            if subject is None or above not in known.numerators.get(subject, ()):
                yield f"condition {piece}"
            continue
        if not piece.relations and piece.sides[0][0] == "name":
            subject = print_of(piece.sides[0])
        yield from _chain(piece, (), known)


def _chain(chain: Chain, source: Run, known: Known) -> Iterator[str]:
    if chain.relations == ("≤", "≤"):
        low, middle, high = chain.sides
        ends = worth(low), worth(high)
        if not (ends[0] and ends[1]) or (
            print_of(middle), ends[0].value, ends[1].value
        ) not in known.ranges:  # fmt: skip
            yield f"range {chain}"
        return
    first = print_of(chain.sides[0])
    for relation, side in zip(chain.relations, chain.sides[1:], strict=True):
        if not _holds(first, relation, side, source, known):
            yield f"{chain.sides[0]} {relation} {side} {source or ''}"
    if not chain.relations and (shown := worth(chain.sides[0])) is not None:
        if not _is_known(shown, known):
            yield f"value {chain.sides[0]}"


def _is_known(shown: Worth, known: Known) -> bool:
    size = Worth(abs(shown.value), shown.dimension, shown.step)
    return any(
        dimension == size.dimension and is_rounding(size, value)
        for value, dimension in known.numbers
    ) or any(is_rounding(size, value) for value in known.loose)


def _holds(first: Print, relation: str, side: Tree, source: Run, known: Known) -> bool:
    other = print_of(side)
    if relation == "→":
        letter, to = _condition(source)
        return (first, other, letter, to) in known.limits
    if source and isinstance(source[0], str) and source[0].startswith("if "):
        assumed = _assumed(source)
        return relation == "=" and (first, other, assumed) in known.cases
    if relation == "=" and (first, other) in known.equations:
        return True
    if (first, other) in known.courses:
        return True
    shown = worth(side)
    for letter, count in known.counts:
        if (first, relation) == (print_of(("name", letter)), "=") and shown == Worth(
            Fraction(count), (0, 0, 0), Fraction(1)
        ):
            return True
    if shown is None or relation not in "=≈":
        return False
    for exact in known.values.get(first, ()):
        if exact.dimension != shown.dimension and exact.value:
            continue
        if relation == "=" and shown.value == exact.value:
            return True
        if relation == "≈" and shown.value != exact.value and is_rounding(shown, exact.value):
            return True
    return False


def _condition(source: Run) -> tuple[str, str]:
    match source:
        case ("as ", Chain(sides=(("name", letter),)), arrow) if isinstance(arrow, str):
            return letter, arrow.replace("→", "").strip()
    return "", ""


def _assumed(source: Run) -> frozenset[frozenset[Print]]:
    pairs = set()
    for piece in source:
        if isinstance(piece, Chain):
            sides = [print_of(side) for side in piece.sides]
            pairs |= {frozenset((one, sides[0])) for one in sides[1:]}
    return frozenset(pairs)


# --- in the solution ----------------------------------------------------------------------------


def solved(tree: Tree, known: Known) -> Worth | None:
    """Work a side out with the exact values of the solution; None where one is not known."""
    match tree:
        case ("name", _):
            found = known.values.get(print_of(tree), [])
            one = len({w.value for w in found}) == 1  # not so for two states of a switch
            one = one and print_of(tree) not in known.elsewhere
            return max(found, key=lambda w: w.dimension) if one else None
        case ("number", _) | ("unit", _):
            return worth(tree)
        case ("-", inner):
            value = solved(inner, known)
            return value and Worth(-value.value, value.dimension)
        case ("+", inner):
            return solved(inner, known)
        case ("e", _):
            return None
        case ("power", base, exponent):
            value = solved(base, known)
            if value is None or (exponent < 0 and not value.value):
                return None
            return Worth(value.value**exponent, tuple(exponent * d for d in value.dimension))
    parts = [t[1] for t in tree[1:]] if tree[0] == "sum" else tree[1:]
    values = [solved(part, known) for part in parts]
    if any(value is None for value in values):
        return None
    sizes = [value for value in values if value is not None]
    match tree[0]:
        case "sum":
            dimensions = {v.dimension for v in sizes if v.value} or {sizes[0].dimension}
            if len(dimensions) > 1:
                raise Misread(f"units that do not fit: {tree}")
            signs = [1 if sign == "+" else -1 for sign, _ in tree[1:]]
            total = sum((s * v.value for s, v in zip(signs, sizes, strict=True)), Fraction(0))
            return Worth(total, dimensions.pop())
        case "product":
            value, dimension = Fraction(1), (0, 0, 0)
            for size in sizes:
                value *= size.value
                dimension = times(dimension, size.dimension, 1)
            return Worth(value, dimension)
        case "quotient":
            above, below = sizes
            if not below.value:
                return None
            return Worth(above.value / below.value, times(above.dimension, below.dimension, -1))
        case "parallel":
            if not all(size.value for size in sizes):
                return None
            return Worth(1 / sum(1 / size.value for size in sizes), sizes[0].dimension)
    raise AssertionError(tree)


def unequal(page: Page, known: Known) -> Iterator[str]:
    """Yield sides that are said to be equal and are not so in the solution."""
    for row in page.rows():
        if row.source and isinstance(row.source[0], str) and row.source[0].startswith(("if", "as")):
            continue
        sides = [solved(side, known) for side in row.chain.sides]
        first = sides[0]
        for relation, side, tree in zip(
            row.chain.relations, sides[1:], row.chain.sides[1:], strict=True
        ):
            if first is None or side is None:
                continue
            equal = first.value == side.value and (
                first.dimension == side.dimension or not first.value
            )
            if relation == "=" and not equal:
                yield f"{row.chain.sides[0]} is {first.value}, not {tree}"
            if relation == "≈":
                digits = worth(tree)
                if digits is None or equal or not is_rounding(digits, first.value):
                    yield f"{row.chain.sides[0]} is {first.value}, not about {tree}"
