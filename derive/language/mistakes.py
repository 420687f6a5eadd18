"""Mistakes of the language: malformed samples, what is wrong with them, and what would be right.

The table is the feature and its own test. `derive.language.explain` gives a statement that cannot
be read the message of the sample that went wrong in the same way. ``{found}`` stands for the word
at which reading stops.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Mistake:
    """One kind of mistake with samples of it."""

    code: str
    message: str
    hints: tuple[str, ...]
    samples: tuple[str, ...]


_BOTH_SIGNS = (
    "a battery shows both terminals: (-E1+) is met at - first, (+E1-) at + first",
    "with an internal resistance: (-E1 r1+)",
)

UNCLOSED = Mistake(
    "bracket-not-closed",
    "the bracket opened here is not closed before {found}",
    ("each part has its own pair of brackets: (R1)",),
    (
        "I1: A (R1", "I1: A (R1 (R2) B", "I1: A (lamp L1", "I1: A (-E1+", "I1: A (+E1-",
        "I1: A (J1 ->", "I1: A (<- J1", "I1: A (", "I1: A (-E1+ B", "I1: A (lamp L1 B",
        "I1: A (+E1- B", "I1: A (J1 -> B", "I1: A (<- J1 B", "I1: A (-E1+ (R1) B",
        "I1: A (lamp L1 (R1) B", "I1: A (+E1- (R1) B", "I1: A (J1 -> (R1) B",
        "I1: A (<- J1 (R1) B", "I1: A (-E1", "I1: A (+E1", "I1: A (-E1 r1", "I1: A (+E1 r1",
        "I1: A (-", "I1: A (+", "I1: A (lamp", "I1: A (<-", "I1: A (R1 B", "I1: A (R1 B (R2) C",
        "I1: A (E1+ B", "I1: A (-E1 r1 B", "I1: A (R1 = 5 ohm", "use loop A (R1 B",
        "use loop A (R1", "use loop A (", "use loop A (R1 (R2) A",
    ),
)  # fmt: skip
"""A bracket of a walk or a loop that is open at the fault and never closed."""

MISTAKES = (
    # Walks
    Mistake(
        "no-colon",
        "a bracket stands here, but no colon before it says that this is a walk",
        ("a walk begins with its current and a colon: I1: A (R1) B", "or with the colon alone"),
        ("A (R1) B", "A (-E1+) B", "A (lamp L1) B"),
    ),
    Mistake(
        "walk-without-points",
        "the walk ends before its first point",
        ("name the points and the parts on the way: I1: A (R1) B",),
        ("I1:", ":"),
    ),
    UNCLOSED,
    Mistake(
        "bracket-not-opened",
        "this bracket closes, but none is open",
        ("each part has its own pair of brackets: (R1)",),
        ("I1: A (R1)) B", "I1: A R1) B", "I1: A (-E1+)) B", "I1: ) A"),
    ),
    Mistake(
        "two-names-in-bracket",
        "a second name, {found}, stands in the bracket",
        (
            "each part has its own pair of brackets: (R1) (R2)",
            "words that may stand before a name: lamp, open, closed, opens, closes, ammeter, "
            "voltmeter, capacitor",
            *_BOTH_SIGNS,
        ),
        ("I1: A (R1 R2) B", "I1: A (E1 r1) B", "I1: A (bulb L1) B"),
    ),
    Mistake(
        "one-sign-only",
        "a sign is missing: the battery shows only one of its terminals",
        _BOTH_SIGNS,
        (
            "I1: A (E1+) B", "I1: A (E1-) B", "I1: A (-E1) B", "I1: A (+E1) B",
            "I1: A (-E1 r1) B", "I1: A (+E1 r1) B",
        ),
    ),
    Mistake(
        "same-sign-twice",
        "both terminals of the battery have the same sign",
        _BOTH_SIGNS,
        (
            "I1: A (-E1-) B", "I1: A (+E1+) B", "I1: A (-E1 r1-) B", "I1: A (+E1 r1+) B",
            "I1: A (--E1) B", "I1: A (++E1) B",
        ),
    ),
    Mistake(
        "empty-bracket",
        "there is no name in the bracket",
        ("a resistor is (R1), a battery (-E1+)", "a wire needs no bracket: A B"),
        ("I1: A () B", "I1: A (lamp) B", "I1: A (-+) B", "I1: A (<-) B"),
    ),
    Mistake(
        "value-in-walk",
        "a value stands in the bracket; there the part has only its name",
        ("name the part on the walk, and give its value on a line of its own: R1 = 5 ohm",),
        (
            "I1: A (5 ohm) B", "I1: A (R1 = 5 ohm) B", "I1: A (R1 5 ohm) B", "I1: A (4k7) B",
            "I1: A (-E1+ 5 V) B", "I1: A (-E1 5 V +) B", "I1: A (-E1 = 5 V +) B", "I1: A (-5 V+) B",
            "I1: A (R1: 5 ohm) B", "I1: A (lamp L1 = 5 ohm) B", "I1: A (lamp L1 5 ohm) B",
            "I1: A (lamp 5 ohm) B", "I1: A (3/2 ohm) B", "I1: A (+E1 = 5 V -) B",
            "I1: A (+E1 5 V -) B",
        ),
    ),
    Mistake(
        "comma-in-walk",
        "a comma stands here; the stops of a walk follow each other without one",
        ("write them one after the other: I1: A (R1) (R2) B",),
        ("I1: A, B", "I1: A (R1), (R2) B", "I1: A (R1, R2) B", "I1: A (-E1, r1+) B",
         "I1: A (-E1+, R1) B"),
    ),
    Mistake(
        "arrow-in-walk",
        "no sign is needed between the stops of a walk; its arrow runs in walking order",
        (
            "write the stops one after the other: I1: A (R1) B",
            "a battery stands in brackets, with the sign first that is met first: (-E1+)",
            "a current source carries the arrow in its bracket: (J1 ->) or (<- J1)",
        ),
        ("I1: A -> B", "I1: A (R1) -> B", "I1: A - B", "I1: A (R1) - B", "I1: A <- B",
         "I1: A (R1) <- B", "I1: -> A", "I1: A + B", "I1: A (R1) + B", "I1: - A"),
    ),
    Mistake(
        "source-arrow",
        "the arrow of the current source is on the wrong side of its name",
        ("along the walk: (J1 ->)", "against the walk: (<- J1)"),
        ("I1: A (-> J1) B", "I1: A (J1 <-) B", "I1: A (->) B"),
    ),
    Mistake(
        "numbered-point",
        "{found} is a number; a point has a name that begins with a letter",
        ("write P1 instead of 1: I1: P1 (R1) P2",),
        ("I1: 1 (R1) 2", "I1: A (R1) 2", "I1: A 2 B", "I1: 4k7", "I1: A (R1) 4k7", "I1: A 4k7"),
    ),
    Mistake(
        "walk-goes-on",
        "this belongs to another statement, but it stands on the walk",
        (
            "statements begin at the left margin, each on its own line or after a semicolon",
            "an indented line goes on with the walk above it",
        ),
        ("I1: A (R1) B R1 = 5 ohm", "I1: A (R1) = 5 ohm", "I1: A (R1) B I2: B (R2) A",
         "I1: A (R1) : B", 'I1: A "x"', 'I1: A (R1) "x"'),
    ),
    Mistake(
        "colon-equals",
        "an equals sign follows the colon",
        ("a value needs the equals sign alone: R1 = 5 ohm",),
        ("R1 := 5 ohm",),
    ),
    # Values
    Mistake(
        "no-equals",
        "an equals sign is missing before {found}",
        ("a value reads: R1 = 5 ohm",),
        ("R1 5 ohm", "R1 4k7", "R1 3/2 ohm", "R1, R2 5 ohm", "R1 ?", "R1 - 5 ohm"),
    ),
    Mistake(
        "no-comma",
        "two names stand side by side before the equals sign",
        ("names that share a value have commas between them: R1, R2 = 5 ohm",),
        ("R1, R2 R3 = 5 ohm",),
    ),
    Mistake(
        "name-missing",
        "a name is missing before {found}",
        ("names that share a value have commas between them: R1, R2 = 5 ohm",),
        ("R1, = 5 ohm", "R1,, R2 = 5 ohm", "= 5 ohm", "R1,"),
    ),
    Mistake(
        "no-value",
        "the value is missing",
        (
            "a value is a number with its unit: R1 = 5 ohm",
            "for a letter write nothing; for a quantity that is sought write E2 = ?",
        ),
        ("R1 =", "R1 = ± 5 %", "R1 = = 5 ohm", "R1 = -", "R1 = +"),
    ),
    Mistake(
        "starts-with-number",
        "a statement cannot begin with the number {found}",
        ("the name comes first: R1 = 5 ohm",),
        ("5 ohm = R1", "4k7", "3/2", "12 V"),
    ),
    Mistake(
        "times-missing",
        "nothing says how {found} goes with what stands before it",
        (
            "write * between factors: 2 ohm * I1",
            "a power of ten has a small e: 1.5e3 ohm",
            "the next value goes on a new line or after a semicolon",
            "a walk has a colon behind the name of its current: I1: A (R1) B",
        ),
        (
            "R1 = R2 R3", "E2 = 2E3 V", "R1 = 5 ohm R2", "R1 = R2 2", "R1 = R2 ohm",
            "R1 = 5 kilo ohm", "R1 = 5 ohm 3", "R1 = 4k7 ohm", "R1 = 4k7 R2", "R1 = R2 4k7",
            "R1 = (R2) R3", "R1 = (R2) 3", "R1 = (R2) (R3)", "R1 = R2 (R3)", "R1 = 5 ohm (R2)",
            "R1 = 5 ohm 4k7", "R1 = 4k7 3", "R1 = 5 3", "R1 = 5 ohm 3/2", "R1 = R2 3/2",
            "R1 = (R2) ohm", "R1 = 4k7 (R2)", "E1 = 2 R1 ohm", "E1 = V(B,A) R1", "E1 = V(B,A) 2",
        ),
    ),
    Mistake(
        "second-equals",
        "a second equals sign stands in one statement",
        ("the next value goes on a new line or after a semicolon: R1 = 5 ohm; R2 = 3 ohm",),
        ("R1 = R2 = 5 ohm", "R1 = 5 ohm = R2", "R1 = 5 = R2", "R1 = (R2) = 5", "R1 = 4k7 = R2",
         "E2 = ? = 3 V"),
    ),
    Mistake(
        "list-of-values",
        "a comma stands behind a value; it takes one value for all the names before it",
        (
            "each value goes on a new line or after a semicolon: R1 = 5 ohm; R2 = 3 ohm",
            "the sign of a decimal has a digit on both sides",
        ),
        ("R1 = 5 ohm, R2 = 3 ohm", "R1 = R2, R3", "R1 = 5, 3 ohm", "R1 = 4k7, 3 ohm",
         "R1 = (R2), 5"),
    ),
    Mistake(
        "tolerance-not-percent",
        "a tolerance is given in per cent, but {found} stands where % should be",
        ("write it like this: R1 = 5 ohm ± 5 %, or with +- instead of ±",),
        ("R1 = 5 ohm ± 5", "R1 = 5 ohm ± 0.1 ohm", "R1 = 5 ohm ± R2", "R1 = 5 ohm ± 5 5"),
    ),
    Mistake(
        "percent-alone",
        "a per cent sign stands behind a value",
        ("a tolerance has its sign before it: R1 = 5 ohm ± 5 %",),
        ("R1 = 5 %", "R1 = 5 ohm %", "R1 = R2 %", "R1 = 5 ohm ± 5 % %"),
    ),
    Mistake(
        "sum-not-finished",
        "something is missing before {found}",
        ("a name or a number with its unit goes there: R3 = R1 + R2",),
        (
            "R1 = R2 +", "R1 = R2 *", "R1 = R2 /", "R1 = R2 -", "R1 = R2 + * R3", "R1 = R2 * / R3",
            "R1 = * R2", "R1 = / R2", "R1 = R2 * + R3", "R1 = R2 + + R3", "R1 = R2 * - 3",
            "R1 = ()", "R1 = (R2 + )", "R1 = (R2 * )", "R1 = (", "R1 = )",
        ),
    ),
    Mistake(
        "sum-bracket",
        "a bracket of the value is not closed before {found}",
        ("each bracket that opens is closed: E3 = (E1 + E2)/2",),
        ("R1 = (R2 + R3", "R1 = (5 ohm", "R1 = (R2", "R1 = ((R2)", "R1 = (4k7", "R1 = (5",
         "R1 = 2 (R2 + R3"),
    ),
    Mistake(
        "sum-bracket-opened",
        "this bracket closes, but none is open",
        ("each bracket that closes has been opened: E3 = (E1 + E2)/2",),
        ("R1 = R2)", "R1 = 5 ohm)", "R1 = (R2))", "R1 = 4k7)", "R1 = 5)", "E1 = V(B,A))"),
    ),
    Mistake(
        "voltage-points",
        "a voltage stands between two points, with a comma between them",
        ("V(B,A) is the potential of B minus that of A",),
        (
            "V(B) = 5 V", "V(B A) = 5 V", "V() = 5 V", "V(B,) = 5 V", "V(,A) = 5 V", "E1 = V(B)",
            "E1 = V(B A)", "E1 = V(B,A", "E1 = V(", "E1 = V(B", "E1 = V(B,", "E1 = V(B,A,C)",
            "V(B,A = 5 V", "V(5) = 5 V", "E1 = V(5)",
        ),
    ),
    Mistake(
        "after-unknown",
        "nothing may follow the question mark",
        ("a quantity that is sought reads: E2 = ?",),
        ("E2 = ? V", "E2 = ? + 3 V", "E2 = ? ± 5 %", "E2 = ? 5", "E2 = ? ?"),
    ),
    Mistake(
        "rating-form",
        "the names and the rating of some parts are needed here, not {found}",
        ("a lamp has a rated voltage and a rated power: rating L1, L2 = 6 V, 3 W",
         "a resistor has a rated power alone: rating R1 = 0.25 W"),
        (
            "rating", "rating L1", "rating L1,", "rating L1, =", "rating L1 =", "rating L1 = 6 V,",
            "rating = 6 V", "rating 6 V", "rating (L1) = 3 W", "rating L1 L2 = 3 W",
            "rating L1: 3 W", "rating L1 = ?", "rating L1 = (6 V, 3 W)", "rating L1 = *",
            "rating L1 = 6 V, *", "rating L1 = 6 V, ?", "rating V(B,A) = 3 W", "rating L1 6 V",
            "rating L1 = ± 5 %", "rating L1 = ,", "rating L1, (L2) = 3 W", "rating L1, 6 V",
        ),
    ),
    Mistake(
        "rating-goes-on",
        "the rating should end before {found}",
        ("a voltage and a power have a comma between them: rating L1 = 6 V, 3 W",
         "other ratings go on lines of their own"),
        ("rating L1 = 6 V 3 W", "rating L1 = 6 V, 3 W, 2 W", "rating L1 = 6 V, 3 W 5",
         "rating L1 = 6 V (3 W)", "rating R1 = 1 W = 2 W", "rating R1 = 1 W ± 5 %",
         "rating R1 = 1 W, 6 V ± 5 %", "rating R1 = 1 W, 6 V R1", "rating R1 = 1 W R1",
         "rating R1 = 1 W, 6 V (R1)", "rating R1 = 1 W)", "rating R1 = 1 W, 6 V)",
         "rating R1 = 1 W, 6 V = 2"),
    ),
    Mistake(
        "initial-form",
        "the voltage of one capacitor at the start is needed here, not {found}",
        ("it reads: initially V(C1) = 2 V",
         "it counts as for `ask voltage across C1`"),
        (
            "initially", "initially C1 = 2 V", "initially V", "initially V(C1)", "initially V(C1,",
            "initially V(", "initially V()", "initially V(C1) 2 V", "initially 2 V",
            "initially V(C1) =", "initially V(B,A) = 2 V", "initially V(C1) = ?",
            "initially V(C1", "initially = 2 V", "initially V(5) = 2 V", "initially V(C1) = ± 5 %",
            "initially V = 2 V", "initially (C1) = 2 V", "initially V(C1) = *",
        ),
    ),
    Mistake(
        "initial-goes-on",
        "the statement should end before {found}",
        ("each voltage goes on its own line: initially V(C1) = 2 V",),
        ("initially V(C1) = 2 V, V(C2) = 3 V", "initially V(C1) = 2 V R1",
         "initially V(C1) = 2 V = 3 V", "initially V(C1) = 2 V ± 5 %", "initially V(C1) = 2 V)",
         "initially V(C1) = 2 V 3"),
    ),
    # Questions
    Mistake(
        "question-unknown",
        "this is no question that can be asked",
        (),
        ("ask curents", "ask power R1", "ask", "ask I1", "ask 5", "ask current R1"),
    ),
    Mistake(
        "question-name-missing",
        "a name is missing before {found}",
        ("a question names its part: ask current in R1", "or its point: ask potential B"),
        ("ask current in", "ask potential", "ask power in R1,", "ask power in , R1"),
    ),
    Mistake(
        "question-goes-on",
        "the question should end before {found}",
        (
            "several parts have commas between them: ask current in R1, R2",
            "each question goes on its own line",
        ),
        ("ask currents R1", "ask current in R1 R2", "ask potential A B", "ask currents, reducible",
         "ask voltage B A C", "ask reducible (R1)", "ask current in (R1)"),
    ),
    Mistake(
        "time-missing",
        "a time is needed after `over`, not {found}",
        ("a time is a number with s, min, h or d: ask energy in R1 over 2 h",),
        ("ask energy in R1 over", "ask energy in R1 over h", "ask energy of E1 over -2 h",
         "ask energy in R1 over (2 h)", "ask charge of E1 over t"),
    ),
    Mistake(
        "time-unit-missing",
        "a unit of time is needed here, not {found}",
        ("times are in s, min, h or d: ask energy in R1 over 30 min",),
        ("ask energy in R1 over 2", "ask energy in R1 over 2 hours", "ask energy in R1 over 2, R2",
         "ask energy in R1 over 3/2 V", "ask energy in R1 over 2 (R1)"),
    ),
    Mistake(
        "time-goes-on",
        "the question should end with its time, before {found}",
        (
            "name all parts before the time: ask energy in R1, R2 over 2 h",
            "write one number and one unit: ask energy in R1 over 90 min",
        ),
        ("ask energy in R1 over 2 h R2", "ask energy in R1 over 1 h 30 min",
         "ask energy in R1 over 2 h, R2", "ask energy in R1 over 2 h (R2)"),
    ),
    Mistake(
        "two-points-needed",
        "two points are needed here, side by side",
        (
            "the potential of B minus that of A is asked with: ask voltage B A",
            "the voltage of a part is asked with: ask voltage across R1",
            "the resistance between two points is asked with: ask resistance A B",
        ),
        ("ask voltage B", "ask voltage B, A", "ask voltage", "ask resistance A",
         "ask voltage (B A)", "ask voltage B (A)", "ask voltage B - A"),
    ),
    # The author's choices
    Mistake(
        "choice-name-missing",
        "a name is missing before {found}",
        ("a loop names its points: use loop A B C A", "a junction is one point: use junction C",
         "currents are eliminated by name: eliminate I3, I1",
         "capacitors begin without charge by name: uncharged C1, C2"),
        ("use loop", "use junction", "eliminate", "ground", "uncharged", "uncharged C1,",
         "use method", "eliminate I1,", "use junction C,", "use loop A ()"),
    ),
    Mistake(
        "loop-sign",
        "{found} stands between the points of the loop, which follow each other without signs",
        ("write the points one after the other: use loop A B C A",),
        ("use loop A, B, A", "use loop A - B - A", "use loop A (R1), B", "use loop A -> B -> A",
         "use loop A (R1) - B", "use loop A (R1) -> B"),
    ),
    Mistake(
        "loop-bracket",
        "a bracket of the loop holds the name of one part and nothing else",
        ("to go from A to C by way of R4 write: use loop A (R4) C A",),
        ("use loop A (-E1+) B", "use loop A (lamp L1) B",
         "use loop A (R1, R2) B", "use loop A) B", "use loop A (R1)) B"),
    ),
    Mistake(
        "choice-goes-on",
        "the choice should end before {found}",
        ("several names have commas between them: eliminate I3, I1", "only one point is grounded"),
        ("eliminate I1 I2", "use junction C D", "ground A B", "ground A, B", "use method, x",
         "uncharged C1 C2", "uncharged C1 (C2)"),
    ),
    # Looks
    Mistake(
        "place-form",
        "a place needs the word at and two numbers, to the right and upwards",
        ("two units to the right, one upwards: place A at 2 1",),
        ("place A 0 2", "place A at 0", "place A at (0, 2)", "place A at 0, 2", "place A at x y",
         "place A at 0 2 3", "place", "place A", "place A at", "place A, B at 0 2",
         "place A at 0 2 ohm", "place A at 0 x", "place A at 0 (2)", "place 5 at 0 2"),
    ),
    Mistake(
        "setting-form",
        "one word is needed here, not {found}",
        ("symbols emf script", "resistors zigzag", "batteries cells", "bridge diamond",
         "decimal comma"),
        ("resistors", "decimal ,", "symbols emf", 'resistors "box"', "resistors box box",
         "batteries", "bridge, diamond", "bridge = diamond", "decimal 5"),
    ),
    Mistake(
        "figures-form",
        "the number of significant figures is needed here, not {found}",
        ("write it as a whole number: figures 3",),
        ("figures", "figures three", "figures 3 4", "figures = 3", "figures 3 digits"),
    ),
    Mistake(
        "words-form",
        "words between quotation marks are needed here, not {found}",
        ('write them like this: circuit "Two lamps"',),
        ("circuit Two lamps", "title", 'title "Two" lamps', "circuit: x", "title = x",
         "circuit 5", 'title "Two" "lamps"', "statement", "circuit", "statement x"),
    ),
    # Anything else; explain() counts on this one being last
    Mistake(
        "no-statement",
        "this is neither a walk nor a value nor a question",
        (),
        ("A B C", "hello", "use lop A B A", "symbols script", "R1 R2 = 5 ohm", ")", "-", "*",
         '"x"'),
    ),
)  # fmt: skip
