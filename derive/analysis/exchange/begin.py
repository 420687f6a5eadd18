"""How the reduction of a network begins."""

from __future__ import annotations

from derive.analysis.exchange.net import Begun, Net, net_of
from derive.analysis.sizes import Sizes
from derive.circuit.model import Circuit
from derive.derivation.builder import Builder
from derive.derivation.exchanges import Exchange, LookFrom, Replace


def begin(circuit: Circuit, begun: Begun, builder: Builder, sizes: Sizes) -> Net:
    """Begin a network, resistances of zero being wires."""
    shown = circuit.all_branches if isinstance(begun, LookFrom) else circuit.branches
    wires = [s for b in shown for s in b.resistances if sizes.is_zero(s)]
    builder.add(begun)
    if wires:
        builder.add(Replace(exchange=Exchange.WIRE, taken=tuple(wires), made=()))
    return net_of(circuit, begun, wires)
