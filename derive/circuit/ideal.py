"""The circuit with one of its meters made ideal, to tell what the meter changes by its resistance.

An ideal voltmeter draws no current and an ideal ammeter has no voltage across it. The circuit is
made from the file once more, without the value of the meter, so that its branches are found anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from derive.algebra.name import unused_name
from derive.algebra.term import Symbol, current
from derive.algebra.term import replace as put_in
from derive.circuit.model import AskLoadingError, Branch, Circuit, Tie, WalkCurrent
from derive.language.syntax import (
    Ask,
    Eliminate,
    Name,
    QuestionKind,
    Statement,
    SyntaxFile,
    UseJunction,
    UseLoop,
    UseMethod,
    ValueStatement,
)


def meters_to_idealize(circuit: Circuit) -> tuple[str, ...]:
    """Return the meters whose loading error is asked for."""
    asked = (q.part for q in circuit.questions if isinstance(q, AskLoadingError))
    return tuple(dict.fromkeys(asked))


def without_value(file: SyntaxFile, meter: str) -> SyntaxFile:
    """Return a file without the value of a meter, which asks for its reading."""
    return SyntaxFile(tuple(_statements(file, meter)))


def _statements(file: SyntaxFile, meter: str) -> Iterator[Statement]:
    asked: Ask | None = None
    for statement in file.statements:
        match statement:
            case UseLoop() | UseJunction() | UseMethod() | Eliminate():
                continue
            case ValueStatement(targets=targets):
                kept = tuple(t for t in targets if not isinstance(t, Name) or t.text != meter)
                if kept:
                    yield replace(statement, targets=kept)
            case Ask(kind=kind, names=names):
                if kind is QuestionKind.LOADING_ERROR:
                    name = next((n for n in names if n.text == meter), None)
                    if name is not None and asked is None:
                        asked = Ask(QuestionKind.READING_OF, (name,), statement.span)
                        yield asked
                elif kind in (QuestionKind.VOLTAGE, QuestionKind.POTENTIAL):
                    yield statement  # so that its points may be open ends
                elif kind is QuestionKind.RESISTANCE:
                    yield replace(statement, kind=QuestionKind.VOLTAGE)
            case _:
                yield statement


def primed(circuit: Circuit) -> Circuit:
    """Return a circuit whose currents have primes, so that they are no others' currents."""
    own = dict.fromkeys(
        (
            *(branch.current for branch in circuit.branches),
            *(walk.current for walk in circuit.walks),
            *(branch.current for branch in circuit.named_idle),
        )
    )
    taken = {symbol.name for symbol in circuit.symbols}
    names: dict[Symbol, Symbol] = {}
    for symbol in own:
        fresh = unused_name(f"{symbol.name}'", taken)
        taken.add(fresh)
        names[symbol] = current(fresh)

    def branches(found: tuple[Branch, ...]) -> tuple[Branch, ...]:
        return tuple(replace(b, current=names.get(b.current, b.current)) for b in found)

    def walks(found: tuple[WalkCurrent, ...]) -> tuple[WalkCurrent, ...]:
        return tuple(replace(w, current=names.get(w.current, w.current)) for w in found)

    drawn = circuit.drawn
    if drawn is not None:
        drawn = replace(drawn, branches=branches(drawn.branches), walks=walks(drawn.walks))
    values = tuple(
        replace(v, value=replace(v.value, term=put_in(v.value.term, names)))
        if isinstance(v.value, Tie)
        else v
        for v in circuit.values
    )
    return replace(
        circuit,
        branches=branches(circuit.branches),
        idle=branches(circuit.idle),
        walks=walks(circuit.walks),
        drawn=drawn,
        values=values,
    )
