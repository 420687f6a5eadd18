"""How a forged derivation is written down: a sound one, altered, and why it must be refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from derive.circuit.model import Circuit
from derive.derivation.step import Derivation, Step
from derive.derivation.step_id import StepId
from tests.checker.sound import Proof


@dataclass(frozen=True)
class Forgery:
    """A derivation that must be refused."""

    name: str
    """What is wrong with it."""
    circuit: Circuit
    derivation: Derivation
    step: StepId
    """Where it must be found; the number of steps when the whole is at fault."""
    reason: str
    """Part of what the refusal must say."""


def altered(name: str, proof: Proof, label: str, reason: str, **changes: Any) -> Forgery:
    """Return a proof with some fields of one step changed."""
    step: Any = proof.steps[proof[label]]
    return instead(name, proof, label, reason, replace(step, **changes))


def instead(name: str, proof: Proof, label: str, reason: str, step: Step) -> Forgery:
    """Return a proof with one step replaced."""
    place = proof[label]
    steps = (*proof.steps[:place], step, *proof.steps[place + 1 :])
    return Forgery(name, proof.circuit, Derivation(steps), place, reason)


def added(name: str, proof: Proof, reason: str, *steps: Step) -> Forgery:
    """Return a proof with further steps, the last of which is at fault."""
    longer = (*proof.steps, *steps)
    return Forgery(name, proof.circuit, Derivation(longer), len(longer) - 1, reason)


def silenced(name: str, proof: Proof, reason: str, gone: Callable[[Step], bool]) -> Forgery:
    """Return a proof with some steps replaced by its first, a law; the whole is at fault."""
    steps = tuple(proof.steps[0] if gone(step) else step for step in proof.steps)
    return Forgery(name, proof.circuit, Derivation(steps), len(steps), reason)
