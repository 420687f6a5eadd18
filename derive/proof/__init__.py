"""A proof that one can carry away: circuit and derivation as JSON, for a checker of its own.

``python -m derive.checker FILE`` checks it; `PROOF.md` beside this file says what stands in it.
"""

from __future__ import annotations

import json
from hashlib import sha256
from typing import TYPE_CHECKING

from derive.proof.lines import comparison, state
from derive.source import Source
from derive.writers.mark import MARK

if TYPE_CHECKING:
    from derive.pipeline import Solution
    from derive.proving import Proved

SCHEMA = 1


def write(solution: Solution | Proved, source: Source) -> str:
    """Return the proof of a solution as JSON text with a newline at its end."""
    states = [state(solution.circuit, solution.derivation)]
    was = solution.switching
    if was is not None:
        states.insert(0, state(was.before.circuit, was.before.derivation))
    fields = {
        "proof": SCHEMA,
        "made_by": MARK,
        "title": solution.circuit.title,
        "source": {"text": source.text, "sha256": sha256(source.text.encode()).hexdigest()},
        "states": states,
    }
    if was is not None:
        fields["switching"] = {
            "closes": [*was.event.closes],
            "opens": [*was.event.opens],
            "changes": comparison(was.comparison),
        }
    return json.dumps(fields, ensure_ascii=False, allow_nan=False) + "\n"
