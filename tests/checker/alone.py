"""The checker that stands alone, loaded by the path of its file, and proofs for it."""

from __future__ import annotations

import json
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

from derive.circuit.model import Circuit
from derive.derivation.step import Derivation
from derive.proof.lines import state

FOLDER = Path(__file__).parents[2] / "derive" / "checker"
FILES = ("__main__.py", *sorted(path.name for path in FOLDER.glob("alone_*.py")))


def _load() -> Any:
    spec = spec_from_file_location("alone", FOLDER / "__main__.py")
    assert spec is not None
    assert spec.loader is not None
    found = module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


CHECKER = _load()


def told(circuit: Circuit, derivation: Derivation) -> Any:
    """Return a circuit and a derivation as they are read from a file."""
    return _claimed(json.loads(json.dumps(state(circuit, derivation))))


def refusal(data: Any) -> str:
    """Return what the checker says against a part of a proof; nothing if it accepts it."""
    try:
        CHECKER.check_state(data)
    except ValueError as fault:
        return str(fault)
    return ""


def _claimed(data: Any) -> Any:
    """Fill in the network that a forger would write, if the package refuses the last exchange."""
    network: Any = None
    last = len(data["lines"]) - 1
    for k, line in enumerate(data["lines"]):
        if k == last and line["kind"] in ("exchange", "join") and network and not line["network"]:
            ends = {name: [tail, head] for _, name, tail, head in network}
            taken = line.get("taken", [])
            kept = [arm for arm in network if arm[1] not in taken]
            places = [ends[name] for name in taken if name in ends] or [["", ""]]
            kinds = {"E": "E", "I": "J"}
            line["network"] = kept + [
                [kinds.get(name[0], "R"), name, *places[min(n, len(places) - 1)]]
                for n, name in enumerate(line.get("made", []))
            ]
        network = line.get("network", network)
    return data
