"""Values hidden in random circuits of all parts: they must come out of a current or a voltage.

What is given instead is the exact answer of the circuit with the value known; that answer is
compared with modified nodal analysis (`tests.random_parts`) before it is used.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import numpy as np

from derive.diagnostic import Rejected
from derive.options import Options
from tests import random_parts
from tests.answering import answered
from tests.random_parts import Part, Scene

NOT_FOUND = {
    "value-not-fixed", "no-such-value", "sought-without-current", "given-without-current",
    "given-by-source", "given-currents-tied", "tied-to-sought",
}  # fmt: skip
"""Codes of refusals that can be right."""


def hide(seed: int) -> str | None:
    """Hide a value of a random circuit, and find it again by both routes.

    Returns what is wrong; None when all is well, or the circuit is of no use here.
    """
    rng = random.Random(seed)
    made = random_parts.scene(rng)
    if seed % 3 == 0:
        made = random_parts.with_dependent_sources(made, rng)
    try:
        answer = random_parts.solve(made)
    except np.linalg.LinAlgError:
        return None
    choices = [p for p in made.parts if p.value and not p.control and p.kind != "capacitor"]
    part = rng.choice(choices)
    assert part.value is not None
    points = list(answer.potentials)
    to, origin = rng.sample(points, 2)
    walk = rng.choice(list(made.walks))
    by_voltage = rng.random() < 0.5
    asked = f"voltage {to} {origin}" if by_voltage else f"current in {made.walks[walk][0].name}"
    known = made.text + f"ask {asked}\n"
    try:
        forward = answered(known, Options(numbers_first=True))
    except Rejected:
        return None
    (found,) = forward.answers
    exact = found.result.exact
    assert exact is not None
    independent = _seen(answer, by_voltage, (to, origin), walk)
    if abs(float(exact) - independent) > 1e-6 * max(1, abs(independent)):
        return f"seed {seed}: {asked} is {float(exact)}, not {independent}"
    given = f"V({to},{origin}) = {exact} V" if by_voltage else f"{walk} = {exact} A"
    lines = [line for line in made.text.splitlines() if not line.startswith(f"{part.name} = ")]
    text = "\n".join([*lines, f"{part.name} = ?", given, f"ask value of {part.name}", ""])
    for options in (Options(numbers_first=True), Options()):
        try:
            back = answered(text, options)
        except Rejected as refused:
            code = refused.diagnostics[0].code
            if code in NOT_FOUND and not _decides(made, part, by_voltage, (to, origin), walk):
                continue
            if code in NOT_FOUND - {"value-not-fixed", "no-such-value"}:
                continue
            return f"seed {seed}: {code}: {refused.diagnostics[0].message}\n{text}"
        (value,) = back.answers
        if value.result.exact != part.value:
            return f"seed {seed}: {part.name} is {value.result.exact}, not {part.value}\n{text}"
    return None


def _seen(answer: random_parts.Answer, by_voltage: bool, ends: tuple[str, str], walk: str) -> float:
    if by_voltage:
        return answer.potentials[ends[0]] - answer.potentials[ends[1]]
    return answer.currents[walk]


def _decides(made: Scene, part: Part, by_voltage: bool, ends: tuple[str, str], walk: str) -> bool:
    """Tell whether another value of a part changes what is given."""
    seen = []
    for factor in (1, 2, Fraction(7, 2)):
        assert part.value is not None
        other = replace(part, value=part.value * factor)
        walks = {n: [other if p is part else p for p in w] for n, w in made.walks.items()}
        try:
            answer = random_parts.solve(Scene(walks))
        except np.linalg.LinAlgError:
            return True
        seen.append(_seen(answer, by_voltage, ends, walk))
    return max(seen) - min(seen) > 1e-6 * max(1, *map(abs, seen))
