"""Every English sentence of a solution, in one place, keyed by what it says.

Another language is another object of this type. Writers never see it.
"""

from __future__ import annotations

HEADINGS = {
    "reduce": "Can it be reduced to one resistor?",
    "label": "Label the currents",
    "junctions": "Junction rule",
    "loops": "Loop rule",
    "solve": "Solve for the currents",
    "formula": "The general formula",
    "numbers": "Put the numbers in",
    "further": "Further answers",
    "check": "Check",
}
"""The fixed subgoal names, the same in every output."""

SUBTITLE = "Worked solution"


def count(number: int, noun: str) -> str:
    """Return ``three branches``, ``one junction``.

    >>> count(1, "branch"), count(3, "branch"), count(14, "loop")
    ('one branch', 'three branches', '14 loops')
    """
    words = (
        *("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
        *("eleven", "twelve"),
    )
    plural = noun if number == 1 else noun + ("es" if noun.endswith(("ch", "s")) else "s")
    return f"{words[number] if number < len(words) else number} {plural}"


def crossing(*, is_emf: bool, along: bool) -> tuple[str, str]:
    """Return the words before and after the current's name in a row of a loop table.

    The two comparisons a reader makes: own step with the plates, own step with the arrow.
    """
    if is_emf:
        return ("from − to +: a rise" if along else "from + to −: a fall", "")
    return ("along the arrow of ", ": a fall") if along else ("against the arrow of ", ": a rise")


def unknowns(branches: int, junctions: int) -> tuple[str, ...]:
    """Say how many unknowns there are and why that many equations are needed."""
    if junctions == 0:
        return (
            "The circuit is a single loop, so one current flows in every part of it. One unknown "
            "needs one equation, and the loop rule gives it.",
        )
    loops = branches - junctions + 1
    rule = (
        "one point where branches meet gives no junction equation"
        if junctions == 1
        else f"{count(junctions - 1, 'equation')} from the junction rule (one fewer than there "
        "are junctions, because the last follows from the others)"
    )
    return (
        f"The circuit has {count(branches, 'branch')} and {count(junctions, 'junction')}. "
        f"{count(branches, 'unknown current').capitalize()} "
        f"{'needs' if branches == 1 else 'need'} {count(branches, 'equation')}: {rule}, and "
        f"{loops} from the loop rule. The arrows are a guess; a current that comes out negative "
        "runs the other way.",
    )


CAUTION_CHARGING = (
    " takes in power: current is driven into its positive terminal. Charge only cells made to be "
    "charged, with the charger and within the limits their maker states; others may leak or burst. "
    "Local codes and a licensed practitioner decide in practice."
)
CAUTION_HEAT = (
    " turns more than 5 W into heat. Use a part whose rating exceeds this, and keep it clear of "
    "what can burn; local codes and a licensed practitioner decide in practice."
)
CAUTION_VOLTAGE = (
    "More than 60 V is present. Direct voltages of this size can kill; local codes and a licensed "
    "practitioner decide in practice."
)
