"""The document type: sections of blocks, blocks of inlines, mathematics as terms.

It is closed: writers are total functions over it and do no arithmetic. Nothing in it is a string
of any output format; `Text` is plain text that writers escape.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from derive.algebra.term import Term
from derive.drawing.model import Drawing
from derive.typesetting.style import Expression, Style


@dataclass(frozen=True, slots=True)
class PointName:
    """The name of a point, set in italics."""

    name: str


@dataclass(frozen=True, slots=True)
class PointPath:
    """A walk told by its points, A B C A."""

    points: tuple[str, ...]


class Relation(Enum):
    """What stands between two sides."""

    EQUAL = "="
    APPROXIMATE = "≈"
    GREATER = ">"
    LESS = "<"
    NOT_EQUAL = "≠"
    TENDS = "→"
    """Tends to, under a condition said beside it."""
    AT_MOST = "≤"


@dataclass(frozen=True, slots=True)
class Chain:
    """Sides with relations between them: ``I1 = N/Δ = 17/12 A ≈ 1.42 A``."""

    sides: tuple[Expression, ...]
    relations: tuple[Relation, ...]
    """One fewer than the sides."""


@dataclass(frozen=True, slots=True)
class Text:
    """Plain text."""

    text: str


@dataclass(frozen=True, slots=True)
class Strong:
    """Text that stands out."""

    inlines: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Math:
    """Mathematics in a line of text."""

    content: Expression | Chain | PointName | PointPath


@dataclass(frozen=True, slots=True)
class SignedTerm:
    """A term shown with its sign always written: ``+ E1``, ``− R1 I1``. For sign columns."""

    term: Term


@dataclass(frozen=True, slots=True)
class Reference:
    """The number of a displayed equation, in parentheses."""

    number: int


Inline = Text | Strong | Math | SignedTerm | Reference


@dataclass(frozen=True, slots=True)
class Row:
    """One displayed equation."""

    chain: Chain
    number: int | None = None
    """Its number; None for a line without."""
    source: tuple[Inline, ...] = ()
    """Where it comes from, set small at the right margin: ``(1) in (2)``."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph of text."""

    inlines: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Display:
    """Displayed equations, aligned at their relation signs."""

    rows: tuple[Row, ...]


class Align(Enum):
    """How a table column is set."""

    LEFT = "left"
    RIGHT = "right"
    STRETCH = "stretch"
    """Left-aligned text that may wrap and takes the width left over; at most one a table."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a header row."""

    header: tuple[tuple[Inline, ...], ...]
    rows: tuple[tuple[tuple[Inline, ...], ...], ...]
    columns: tuple[Align, ...]
    summary: str
    """What the table shows, for a reader who cannot see it."""


@dataclass(frozen=True, slots=True)
class Values:
    """Given values, set compactly in columns."""

    chains: tuple[Chain, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with its caption and its two descriptions."""

    drawing: Drawing
    caption: tuple[Inline, ...]
    """May be empty."""
    short: str
    """One sentence of alternative text."""
    long: str
    """The full description: points, branches, parts, polarity, arrows. Empty for a further view of
    a circuit that has been described."""


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Two columns, for text that must stay beside its figure."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    left_share: Fraction
    """Part of the width given to the left column."""
    level: bool = False
    """Whether both columns begin at the same height whatever they hold, as two texts do."""


class BoxKind(Enum):
    """What a box holds."""

    FORMULA = "formula"
    ANSWERS = "answers"


@dataclass(frozen=True, slots=True)
class Box:
    """A result set in a frame."""

    kind: BoxKind
    title: tuple[Inline, ...]
    """May be empty."""
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """Answers side by side, wrapped where needed, never cut inside one."""

    chains: tuple[Chain, ...]
    remark: tuple[Inline, ...]
    """A few words after the last one; may be empty."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning of harm."""

    inlines: tuple[Inline, ...]


Block = (
    Paragraph | Display | Table | Values | Figure | SideBySide | Box | AnswerLine | Caution
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the solution under one of the fixed headings."""

    title: tuple[Inline, ...]
    """Empty for the opening, which stands under the document's own title."""
    blocks: tuple[Block, ...]
    opens_part: bool = False
    """Whether the heading stands, without a number, above the sections up to the next such one."""


@dataclass(frozen=True, slots=True)
class Document:
    """A complete solution."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    style: Style
    language: str = "en"
    digest: str = ""
    """SHA-256 of the circuit file, for the header of a fragment."""
