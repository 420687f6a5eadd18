"""Names for the currents of a second circuit that is told beside the first one."""

from __future__ import annotations

from dataclasses import replace

from derive.algebra.name import unused_name
from derive.algebra.term import Symbol, current
from derive.algebra.term import replace as put_in
from derive.circuit.model import Branch, Circuit, WalkCurrent
from derive.circuit.valuation import Tie


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
