"""The answers of a circuit without its page, whose figures take most of the time."""

from __future__ import annotations

from derive.contract import contract_of
from derive.options import Options
from derive.proving import prove
from derive.source import Source
from derive.writers.answers_json import Contract

_ALONE = Options()


def answered(text: str, options: Options = _ALONE) -> Contract:
    """Solve a text, have every step checked, and return the answers. Raises Rejected."""
    proved = prove(Source("scene", text), options)
    return contract_of(proved.circuit, proved.derivation, proved.steps, proved.warnings)
