"""How what stands in a line of text is set: chains of relations, points, signed terms."""

from __future__ import annotations

from derive.document.model import Chain, PointName, PointPath, Relation, SignedTerm
from derive.typesetting.layout import Gap, Glyph, Letter, Operator, Row, Sign, Word
from derive.typesetting.style import Expression, Style
from derive.typesetting.terms import set_expression, set_point, set_signed

Content = Expression | Chain | PointName | PointPath | SignedTerm

DASH = "\N{THIN SPACE}–\N{THIN SPACE}"
"""What stands between the points of a walk where some are words."""
_DASH = Word("–")
_RELATIONS = {
    Relation.EQUAL: Sign.EQUAL,
    Relation.APPROXIMATE: Sign.APPROXIMATE,
    Relation.GREATER: Sign.GREATER,
    Relation.LESS: Sign.LESS,
    Relation.NOT_EQUAL: Sign.NOT_EQUAL,
    Relation.TENDS: Sign.TENDS,
    Relation.AT_MOST: Sign.AT_MOST,
}


def set_content(content: Content, style: Style) -> Row:
    """Set anything that may stand in a line of text."""
    match content:
        case Chain():
            return set_chain(content, style)
        case PointName(name):
            return (set_point(name),)
        case PointPath(points):
            return _walk([set_point(point) for point in points])
        case SignedTerm(term):
            return set_signed(term, style)
        case _:
            return set_expression(content, style)


def set_chain(chain: Chain, style: Style) -> Row:
    """Set sides with relations between them."""
    row = list(set_expression(chain.sides[0], style))
    for relation, side in zip(chain.relations, chain.sides[1:], strict=True):
        row.append(set_relation(relation))
        row.extend(set_expression(side, style))
    return tuple(row)


def set_relation(relation: Relation) -> Operator:
    """Set a relation sign."""
    return Operator(_RELATIONS[relation])


def points_in_words(content: Content) -> tuple[Letter | Word, ...]:
    """Return the points of a walk, or one point, if a word is among them; else nothing.

    In a line of text such words are text, so that lines may end between them.
    """
    match content:
        case PointName(name):
            points: tuple[Letter | Word, ...] = (set_point(name),)
        case PointPath(names):
            points = tuple(map(set_point, names))
        case _:
            return ()
    return points if any(isinstance(point, Word) for point in points) else ()


def _walk(points: list[Letter | Word]) -> Row:
    """Set a walk: letters stand side by side, but words would run into each other."""
    row: list[Glyph] = []
    wide = any(isinstance(point, Word) for point in points)
    for point in points:
        if row:
            row += [Gap(), _DASH, Gap()] if wide else [Gap()]
        row.append(point)
    return tuple(row)
