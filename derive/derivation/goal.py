"""What runs of steps are for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.derivation.step_id import StepId


class Goal(Enum):
    """What a run of steps is for. Readers see these as headings and as sentences between lines."""

    COUNT = "count the unknowns"
    GIVEN = "state what is given"
    KNOWN = "tell the currents that need no equation"
    JUNCTIONS = "write the junction rule"
    LOOPS = "write the loop rule"
    CONTROLS = "write the voltages on which sources depend"
    CONDITIONS = "write the voltages that are given"
    VOLTAGES_SOUGHT = "put one unknown for the product of two"
    SOLVE_JUNCTIONS = "express some currents by the others"
    COLLECT = "put these into the loop equations and collect"
    NAME = "name the sums that come back"
    ELIMINATE = "remove one unknown"
    IN_TURN = "find the unknowns one after another"
    GO_BACK = "find the unknowns, the last one first"
    REST = "find the currents that the junction rule gives"
    SOUGHT = "find the sought resistances"
    FRACTIONS = "write each current as one fraction"
    VALUES = "put the numbers in"
    WALKS = "tell the currents of walks that lie in one branch"
    CURRENTS = "conclude the currents"
    CHARGES = "find the charges of capacitors that share them"
    FURTHER = "answer a further question"
    TELLS = "say what the formulas tell"
    POTENTIALS = "find the potential of every point"
    OTHER_PATH = "walk to a point by another path"
    LOADING = "tell what a meter changes by its resistance"
    RESISTANCE = "find the resistance between two points"
    TRANSIENT_ENDS = "tell the voltage of a capacitor at the start and long after"
    TRANSIENT_SEEN = "find the resistance that a capacitor sees"
    TRANSIENT = "tell how a capacitor is charged or discharged"
    REDUCTION = "reduce the circuit step by step"
    WAY_BACK = "find the currents by going back through the steps"
    JUNCTIONS_LAST = "find the currents that only the junction rule gives"
    NESTED = "write each current in the letters of the circuit"
    LETTERS_LEFT = "put in what is known and keep the other letters"
    AGREE = "compare two ways"
    PREFERRED = "find the preferred value next to a value"
    TOLERANCES = "bound the answers by the tolerances"
    CHECK_LOOP = "walk a loop that was not used"
    POWER = "balance the power"
    SHARES = "tell what part of the power falls to each part"
    LAMPS = "find the resistances of rated lamps"
    RATINGS = "compare the powers with the ratings"


@dataclass(frozen=True, slots=True)
class Stage:
    """A run of steps with one goal."""

    goal: Goal
    first: StepId
    stop: StepId
    """One more than the last step."""

    @property
    def ids(self) -> range:
        """The steps of the stage."""
        return range(self.first, self.stop)
