"""An append-only list of steps under construction."""

from __future__ import annotations

from derive.algebra.term import Equation
from derive.derivation.algebra import Define
from derive.derivation.goal import Goal, Stage
from derive.derivation.step import Derivation, Silent, Step
from derive.derivation.step_id import StepId


class Builder:
    """Collects steps; the number that `add` returns is how later steps cite one."""

    def __init__(self, start: Derivation | None = None) -> None:
        """Start with no step, or with those of a derivation that is to be continued."""
        self._steps: list[Step] = [] if start is None else list(start.steps)
        self._stages: list[Stage] = [] if start is None else list(start.stages)
        self._goal: Goal | None = None
        self._first = len(self._steps)

    def begin(self, goal: Goal) -> None:
        """Begin a new stage; the steps to come have this goal."""
        self._close()
        self._goal = goal

    def add(self, step: Step) -> StepId:
        """Append a step and return its id."""
        self._steps.append(step)
        return len(self._steps) - 1

    def step(self, index: StepId) -> Step:
        """Return a step added before."""
        return self._steps[index]

    def equation(self, index: StepId) -> Equation:
        """Return the conclusion of a step added before. Raises ValueError if it has none."""
        step = self._steps[index]
        if isinstance(step, Silent):
            raise ValueError(f"step {index} concludes no equation")
        return step.conclusion

    @property
    def steps(self) -> tuple[Step, ...]:
        """All steps added so far."""
        return tuple(self._steps)

    @property
    def names(self) -> set[str]:
        """The names that steps have given to sub-expressions."""
        return {step.symbol.name for step in self._steps if isinstance(step, Define)}

    def finish(self) -> Derivation:
        """Return the derivation."""
        self._close()
        return Derivation(tuple(self._steps), tuple(self._stages))

    def _close(self) -> None:
        stop = len(self._steps)
        if self._goal is not None and stop > self._first:
            self._stages.append(Stage(self._goal, self._first, stop))
        self._first = stop
