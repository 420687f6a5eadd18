"""What is asked of every drawing, by its coordinates alone."""

from __future__ import annotations

from itertools import combinations, pairwise

from derive.drawing.board import wire_boxes
from derive.drawing.model import Drawing, Label, Symbol, SymbolShape, Words
from tests.drawing.tracing import overlaps, segments


def check_geometry(drawing: Drawing) -> None:
    assert all(a[0] == b[0] or a[1] == b[1] for a, b in segments(drawing.wires))
    assert overlaps(drawing) == 0
    boxes = [box for wire in drawing.wires for box in wire_boxes(wire)]
    boxes += [label.box for label in drawing.labels]
    boxes += [symbol.box for symbol in drawing.symbols]
    whole = drawing.box
    assert all(
        whole.left <= b.left and b.right <= whole.right
        and whole.bottom <= b.bottom and b.top <= whole.top
        for b in boxes
    )  # fmt: skip


def is_letter_of(label: Label, symbol: Symbol) -> bool:
    """Tell whether a label is the A or V that has to stand in the circle of an instrument."""
    letters = {SymbolShape.AMMETER: "A", SymbolShape.VOLTMETER: "V"}
    letter = letters.get(symbol.shape)
    return letter is not None and label.content == Words(letter) and label.at == symbol.centre


def check_labels(drawing: Drawing) -> None:
    for one, other in combinations(drawing.labels, 2):
        assert not one.box.overlaps(other.box, -1e-6), (one, other)
    for label in drawing.labels:
        for symbol in drawing.symbols:
            if is_letter_of(label, symbol):
                assert symbol.box.holds(label.box), (label, symbol)
            else:
                assert not label.box.overlaps(symbol.box), (label, symbol)
        for arrow in drawing.arrows:
            assert not label.box.overlaps(arrow.box), (label, arrow)
        for frame in drawing.frames:
            within = (
                frame.box.left < label.box.left and label.box.right < frame.box.right
                and frame.box.bottom < label.box.bottom and label.box.top < frame.box.top
            )  # fmt: skip
            assert within or not label.box.overlaps(frame.box), (label, frame)
        for wire in drawing.wires:
            for a, b in pairwise(wire.points):
                box = label.box
                crosses = (
                    min(a.x, b.x) < box.right and max(a.x, b.x) > box.left
                    and min(a.y, b.y) < box.top and max(a.y, b.y) > box.bottom
                )  # fmt: skip
                assert not crosses, (label, wire)
    for one, other in combinations(drawing.symbols, 2):
        assert not one.box.overlaps(other.box), (one, other)
    for frame, second in combinations(drawing.frames, 2):
        assert not frame.box.overlaps(second.box), (frame, second)
