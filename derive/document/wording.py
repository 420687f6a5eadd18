"""Every English sentence of a solution, in one place, keyed by what it says.

Another language is another module with these names. A word in braces is a slot for mathematics or
for another phrase; `derive.document.phrase.say` fills it.
"""

from __future__ import annotations

HEADINGS = {
    "lamps": "The resistances of the lamps",
    "still": "Where no current flows",
    "reduce": "Can it be reduced to one resistor?",
    "reduction": "Reduce it step by step",
    "label": "Label the currents",
    "junctions": "Junction rule",
    "loops": "Loop rule",
    "solve": "Solve for the currents",
    "solve_sought": "Solve for the unknowns",
    "back": "Go back to the currents",
    "formula": "The general formula",
    "tells": "What the formula tells",
    "numbers": "Put the numbers in",
    "charges": "The charges of the capacitors",
    "further": "Further answers",
    "resistance": "The resistance between two points",
    "transient": "From the start to the steady state",
    "preferred": "Preferred values",
    "tolerance": "How far the tolerances reach",
    "meaning": "What it means",
    "check": "Check",
    "ratings": "Within the ratings?",
}
"""The fixed subgoal names, the same in every output."""

SUBTITLE = "Worked solution"
ANSWERS = "Answers"
AND, OR = "and", "or"
PART, HOW, CHANGE, VALUE = "part", "how we meet it", "change", "value"
POWER, DOES, SHARE = "power", "what it does", "share"


def number_word(number: int) -> str:
    """Return a small number as a word.

    >>> number_word(2), number_word(14)
    ('two', '14')
    """
    words = (
        *("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
        *("eleven", "twelve"),
    )
    return words[number] if number < len(words) else str(number)


def count(number: int, noun: str) -> str:
    """Return ``three branches``, ``one junction``.

    >>> count(1, "branch"), count(3, "branch"), count(14, "loop")
    ('one branch', 'three branches', '14 loops')
    """
    plural = noun if number == 1 else noun + ("es" if noun.endswith(("ch", "s")) else "s")
    return f"{number_word(number)} {plural}"


# --- the opening ------------------------------------------------------------------------------

WANTED = "Wanted: {items}."
WANTED_ITEMS = {
    "AskReducible": "whether the circuit can be reduced to one resistor",
    "AskCurrents": "the current in every branch",
    "single": "the current",
    "AskCurrentIn": "the current in {part}",
    "AskVoltageAcross": "the voltage across {part}",
    "AskVoltage": "the voltage {symbol}",
    "AskPotential": "the potential at {point}",
    "AskPotentials": "the potential of every point against {ground}",
    "AskPowerIn": "the power in {part}",
    "AskPowerOf": "the power of {part}",
    "AskTerminalVoltage": "the terminal voltage of {part}",
    "AskReading": "the reading of {part}",
    "AskLoadingError": "the loading error of {part}",
    "AskCharge": "the charge of {part}",
    "AskEnergy": "the energy in {part}",
    "AskResistance": "the resistance between {one} and {other}",
    "AskTransient": "how the voltage across {part} and the current to it change with time",
    "AskValue": "the value of {quantity}",
    "AskEnergyIn": "the energy that {part} takes in during {time}",
    "AskEnergyOf": "the energy that {part} delivers during {time}",
    "AskChargeThrough": "the charge that flows through {part} during {time}",
    "AskChargeOf": "the charge that {part} delivers during {time}",
    "AskShortCircuit": "the short-circuit current of {part}",
    "AskOpenCircuit": "the open-circuit voltage of {part}",
    "AskEfficiency": "the efficiency of {part}",
    "AskPreferred": "the nearest value to {part} in the {series} series",
    "AskMatchedLoad": "the value with which {part} takes the most power",
}
WANTED_SEVERAL = {
    "AskCurrentIn": "the currents in {items}",
    "AskVoltageAcross": "the voltages across {items}",
    "AskVoltage": "the voltages {items}",
    "AskPotential": "the potentials at {items}",
    "AskPowerIn": "the powers in {items}",
    "AskPowerOf": "the powers of {items}",
    "AskTerminalVoltage": "the terminal voltages of {items}",
    "AskReading": "the readings of {items}",
    "AskLoadingError": "the loading errors of {items}",
    "AskCharge": "the charges of {items}",
    "AskEnergy": "the energies in {items}",
    "AskValue": "the values of {items}",
    "AskShortCircuit": "the short-circuit currents of {items}",
    "AskOpenCircuit": "the open-circuit voltages of {items}",
    "AskEfficiency": "the efficiencies of {items}",
}
"""Of several questions of one kind, one after the other."""
USE_RULES = "We use Kirchhoff's rules."
CROSSINGS = "Wires that cross without a dot are not joined."

# --- switches that change ---------------------------------------------------------------------

CLOSES_ONE, CLOSES_MANY = "{switches} closes", "{switches} close"
OPENS_ONE, OPENS_MANY = "{switches} opens", "{switches} open"
IN_ONE_STATE = "Some of this holds in one of the two states only."
BEFORE, AFTER = "Before {event}", "After {event}"
WANTED_TWICE = "Wanted, before and after {event}: {items}."
JOINS_ONE = "{switches} is closed, so it joins its two ends like a piece of wire."
JOINS_MANY = "{switches} are closed, so each joins its two ends like a piece of wire."
BEFORE_AND_AFTER = "Before and after"
LIGHTS_ONE, LIGHTS_MANY = "{parts} lights up.", "{parts} light up."
GOES_OUT_ONE, GOES_OUT_MANY = "{parts} goes out.", "{parts} go out."
BRIGHTER_ONE = "{parts} is brighter than before, since more current flows in it."
BRIGHTER_MANY = "{parts} are brighter than before, since more current flows in them."
DIMMER_ONE = "{parts} is dimmer than before, since less current flows in it."
DIMMER_MANY = "{parts} are dimmer than before, since less current flows in them."
TURNS_ONE, TURNS_MANY = "{parts} turns round.", "{parts} turn round."
COLUMN_QUANTITY = "quantity"
COLUMN_BEFORE, COLUMN_AFTER, COLUMN_CHANGE = "before", "after", "change"
COMPARED = "Every answer before and after the switching, and by how much it changes."

# --- label the currents -----------------------------------------------------------------------

SINGLE_LOOP_LEFT = (
    "What carries a current is a single loop, so one current, {current}, flows all the way round."
)
SINGLE_LOOP = "The circuit is a single loop, so one current, {current}, flows in every part of it."
ONE_EQUATION = "One unknown needs one equation, and the loop rule gives it."
BRANCHES = "The circuit has {b} and {n}, {points}."
BRANCHES_MANY = "The circuit has {b} and {n}."
ONE_POINT = "The circuit has {b}, which all begin and end at one point, {points}."
EQUATIONS = (
    "{unknowns} {need} {equations}: {junctions} from the junction rule (one fewer than there are "
    "junctions, because the last would only repeat the others) and {loops} from the loop rule."
)
EQUATIONS_LOOPS_ONLY = (
    "{unknowns} {need} {equations}; with a single junction all of them come from the loop rule."
)
BRANCHES_OPEN = "The circuit has {b}; nothing closes the way to {ends}, so no current flows there."
EQUATIONS_OPEN = (
    "{unknowns} {need} {equations}: {junctions} from the junction rule, written at all junctions "
    "and open ends but one, and {loops} from the loop rule."
)
EQUATIONS_JUNCTIONS_ONLY = (
    "{unknowns} {need} {equations}; with the currents that sources set, the junction rule gives "
    "them all."
)
OPEN_ONE, OPEN_MANY = "{parts} is open.", "{parts} are open."
NO_DRAIN_ONE = "{parts} is an ideal voltmeter, so it draws no current."
NO_DRAIN_MANY = "{parts} are ideal voltmeters, so they draw no current."
CHARGED_UP_ONE = (
    "Long after the last change the charge of {parts} stays as it is: no current flows to it."
)
CHARGED_UP_MANY = (
    "Long after the last change the charges of {parts} stay as they are: no current flows to them."
)
NOR_IN = "So no current flows in {parts}."
NOR_IN_RESISTANCE = (
    "So no current flows in {parts}, and there is no voltage drop in a resistance there."
)
NOTHING_FLOWS = "No loop is closed, so no current flows at all."
SOURCE_FOLLOWS = "With that it is known what the dependent source is:"
SOURCES_FOLLOW = "With that it is known what the dependent sources are:"
SET_ONE = "{sources} sets the current of its branch, whatever the voltage there:"
SET_MANY = "{sources} set the currents of their branches, whatever the voltages there:"
GUESS = (
    "The arrows in the figure are a guess; a current that comes out negative runs the other way."
)
SAME_CURRENT = (
    "Where no junction lies between two walks, the same current flows in both, under two names:"
)

THE_UNKNOWNS = (
    "{given} is given; the unknowns are {unknowns}.",
    "{given} are given; the unknowns are {unknowns}.",
)
ONE_UNKNOWN = (
    "{given} is given; the only unknown is {unknowns}.",
    "{given} are given; the only unknown is {unknowns}.",
)
NEED = "{unknowns} {need} {equations}: {sources}."
NEED_ALONE = "{unknowns} {need} {equations}, {sources}."
FROM_JUNCTIONS = (
    "{n} from the junction rule (one fewer than there are junctions, because the last would only "
    "repeat the others)"
)
FROM_JUNCTIONS_BARE = "{n} from the junction rule"
FROM_LOOPS = "{n} from the loop rule"
FROM_VOLTAGE, FROM_VOLTAGES = "{n} from the given voltage", "{n} from the given voltages"

# --- junction rule ----------------------------------------------------------------------------

JUNCTION = "At {point}, {flows}:"
IN_AND_OUT = "{into} {verb_in} in; {out} {verb_out} out"
ONLY_IN = "{into} {verb_in} in and nothing flows out"
ONLY_OUT = "nothing flows in and {out} {verb_out} out"
FLOWS, FLOW = "flows", "flow"
LEFT_OUT = "The equation of {point} would only repeat {others}, so it is left out."
LEFT_OUT_ONE, LEFT_OUT_MANY = "this one", "these"

# --- loop rule --------------------------------------------------------------------------------

LOOPS_AUTHOR = "The loops are chosen by the author; they are independent of each other."
LOOPS_WINDOWS = (
    "We take the windows of the figure. Each brings a branch that the ones before it have not, so "
    "no equation follows from the others."
)
LOOPS_NEW = (
    "We take loops with few parts. Each brings a branch that the ones before it have not, so no "
    "equation follows from the others."
)
LOOPS_INDEPENDENT = "We take loops with few parts; no equation follows from the others."
NOT_PAST_ONE = "No loop passes {sources}: its voltage is not known before the currents are."
NOT_PAST_MANY = "No loop passes {sources}: their voltages are not known before the currents are."
TWO_RULES = (
    "At a resistance we compare our walk with the arrow of its current; at a battery with its "
    "plates, whatever the current does."
)
LOOP_TITLE = "Loop {name}: {path}"
BY_WAY = "{path} by way of {parts}"
TABLE = "The potential changes met on the walk round loop {name}."
RISE_EMF = "from − to +: a rise"
FALL_EMF = "from + to −: a fall"
FALL = "along the arrow of {current}: a fall"
RISE = "against the arrow of {current}: a rise"

GIVEN_VOLTAGE = "The given {voltage} is the sum of the changes on the way from {origin} to {to}:"

# --- solve ------------------------------------------------------------------------------------

ISOLATE = "The junction rule gives {currents}:"
VALUES_IN_LOOPS = "Put the values into the loop equations:"
COLLECT_LETTERS = "Put {this} into the loop {equations} and collect:"
COLLECT_BARE = "Collect the terms of the loop {equations}:"
COLLECT_NUMBERS = "Put {this} into the loop {equations}, collect, and divide as noted on the right:"
COLLECT_NUMBERS_BARE = "Collect the terms, and divide as noted on the right:"
EQUATION, EQUATIONS_WORD = "equation", "equations"
TWO_ROWS = (
    "Multiply and add as noted on the right; each time one unknown drops out, and the other is "
    "left with the same factor, which we call {delta}:"
)
TWO_ROWS_BARE = "Multiply and add as noted on the right; each time one unknown drops out:"
NAMES = "Sums that come back get a name:"
REMOVE_NAMED = "Equation {pivot} removes {unknown} from {others}. With the names"
REMOVE_BARE = "Equation {pivot} removes {unknown} from {others}:"
REMOVE_LEFT = "what is left is"
GO_BACK = "Now go back, from the last equation to the first:"
GO_BACK_REST = "The junction rule gives the {rest}:"
SOUGHT_PRODUCT = (
    "{resistances} is sought. So that no product of two unknowns is left, we look for the voltage "
    "across it first:"
)
SOUGHT_PRODUCTS = (
    "{resistances} are sought. So that no product of two unknowns is left, we look for the "
    "voltages across them first:"
)
SOUGHT_IN_LOOPS = "With it the equations read"
IN_TURN = "Now each equation in turn has only one unknown that is new:"
IN_TURN_ONE = "One equation has only one unknown:"
IN_TURN_SOME = "Some equations, each in turn, have only one unknown that is new:"
CRAMER = (
    "By Cramer's rule each unknown of {equations} is a quotient of two determinants; the one below "
    "the line is the same for all."
)
CRAMER_NAMED = CRAMER.removesuffix(".") + " and is called {delta}."
SOUGHT_DIVIDED = "The voltage across it divided by its current is the resistance:"
SOUGHT_DIVIDED_MANY = "Each voltage divided by its current is the resistance:"
REST_ONE, REST_MANY = "remaining current", "remaining currents"

# --- the general formula ----------------------------------------------------------------------

NAMES_BACK = (
    "Put the names back in, cancel what numerator and denominator share, and each current is one "
    "fraction:"
)
DELTA_POSITIVE = (
    "{delta} is a sum of products with plus signs only, so it is never zero while the resistances "
    "are positive."
)
TURNS = "{current} runs against its arrow when {condition}."
TOO_LONG = (
    "Written out in the resistances alone, each current is a fraction over a sum of {products} "
    "products, all with plus signs. In named pieces it is short. Put the values into the names one "
    "after the other; each current follows from those before it."
)

# --- what the formula tells ---------------------------------------------------------------------

UNITS = (
    "Every term above the line is in {above} and every term below it in {below}, so {result} is in "
    "{unit}."
)
UNITS_OF = (
    "In {currents} every term above the line is in {above} and every term below it in {below}, so "
    "{result} is in {unit}."
)
UNITS_ONE, UNITS_MANY = "the quotient", "each quotient"
TRENDS = "While all letters are positive, {trends}."
RISES = "{current} increases with {up}"
FALLS = "{current} decreases with {down}"
RISES_AND_FALLS = "{current} increases with {up} and decreases with {down}"
BETWEEN_TRENDS = "; "
OWN_ALL = (
    "The current in a branch gets weaker as a resistance there grows, and goes to 0 as that grows "
    "without bound."
)
OWN_LOOP = "It gets weaker as a resistance grows, and goes to 0 as that grows without bound."
OWN_ONE = (
    "{currents} gets weaker as a resistance of its branch grows, and goes to 0 as that grows "
    "without bound."
)
OWN_MANY = (
    "{currents} get weaker as a resistance of their own branch grows, and go to 0 as that grows "
    "without bound."
)
LIMITS = (
    "Special cases are simpler; a resistance without bound is as good as a cut, one of 0 as good "
    "as a wire:"
)
SPECIAL_CASES = "Special cases are simpler:"
AS_ZERO, AS_INFINITY = (
    "as {letter}\N{NO-BREAK SPACE}→\N{NO-BREAK SPACE}0",
    ("as {letter}\N{NO-BREAK SPACE}→\N{NO-BREAK SPACE}∞"),
)
IF = "if {condition}"
UNBOUNDED = (
    "As {letter}\N{NO-BREAK SPACE}→\N{NO-BREAK SPACE}0, {current} grows without bound: {battery} "
    "is ideal and would be short-circuited."
)
UNBOUNDED_MANY = (
    "As {letter}\N{NO-BREAK SPACE}→\N{NO-BREAK SPACE}0, {current} grows without bound: nothing "
    "but ideal batteries would be left in a loop."
)

# --- put the numbers in -----------------------------------------------------------------------

NAMED_VALUES = "The names have the values"
ROUNDED = "Results are rounded once, at the sign ≈; the exact values were used throughout."

# --- capacitors that share their charge ---------------------------------------------------------

UNCHARGED_ONE = "{parts} was without charge before the circuit was connected."
UNCHARGED_MANY = "{parts} were without charge before the circuit was connected."
ISLANDS_NAMED = (
    "Nothing that conducts leads to {points}, so the charges on the plates there still add up to "
    "zero: what has gone onto one is missing on the others."
)
ISLANDS = (
    "Nothing that conducts leads to the places between them, so the charges on the plates there "
    "still add up to zero: what has gone onto one is missing on the others."
)
PLATE = (
    "The charge of a capacitor is that of the plate where its walk comes in; the other plate has "
    "the opposite charge."
)
CAPACITORS_SERIES = (
    "{parts} are in series: they have the same charge, and the reciprocals of the capacitances "
    "add up:"
)
CAPACITORS_PARALLEL = (
    "{parts} are in parallel: they have the same voltage, and the capacitances add up:"
)
ROW_CHARGE = "The charge of {made} is this capacitance times the voltage across it:"
ROW = "Each capacitor of the row has this charge, and its voltage is charge over capacitance:"
ROW_AND_SIDES = (
    "In the row all have this charge, and a voltage is charge over capacitance; capacitors side by "
    "side have one voltage and share the charge:"
)
LINKS = "Round the loops past the capacitors the changes of potential add up to zero, so"
PUT_INTO_ISLANDS = (
    "Each charge is capacitance times voltage. Put this and the voltages into the equations of "
    "the charges and collect:"
)
PUT_INTO_ISLANDS_BARE = "Each charge is capacitance times voltage, so"
VOLTAGES_SOLVED = "Solved for the voltages, these equations give"
CHARGES_BY_VOLTAGE = "and the charges are"

# --- further answers --------------------------------------------------------------------------

FURTHER = {
    "AskCurrentIn": "The current in {part}:",
    "AskVoltageAcross": "The voltage across {part}:",
    "AskVoltage": "The voltage {symbol}, from a walk from {origin} to {to}:",
    "AskPotential": "The potential at {point}, from a walk from {ground}, which is at zero:",
    "AskPowerIn": "The power that {part} takes in:",
    "AskPowerOf": "The power that {part} delivers:",
    "AskTerminalVoltage": "The terminal voltage of {part}:",
    "AskReading": "The reading of {part}:",
    "AskCharge": "The charge of {part}, from the voltage across it:",
    "AskEnergy": "The energy in {part}, from the voltage across it:",
    "AskTransient": "The voltage across {part}, with which its course in time will begin:",
    "AskEnergyIn": "The energy that {part} takes in during {time}, its power staying the same:",
    "AskEnergyOf": "The energy that {part} delivers during {time}, its power staying the same:",
    "AskChargeThrough": (
        "The charge that flows through {part} during {time}, the current staying the same:"
    ),
    "AskChargeOf": (
        "The charge that leaves {part} at its + terminal during {time}, the current staying the "
        "same:"
    ),
    "AskShortCircuit": (
        "In a short circuit a wire joins the terminals of {part}. The voltage between them is "
        "zero, and the whole emf falls across the internal resistance:"
    ),
    "AskOpenCircuit": (
        "With nothing connected to {part}, no current flows in it, and no voltage is lost in its "
        "internal resistance:"
    ),
    "AskEfficiency": (
        "The efficiency of {part} is the power at its terminals over the power of its emf. One "
        "current flows in both, so only the voltages are left:"
    ),
}
MATCHED = "Which value of {part} takes the most power, all else staying as it is?"
MATCHED_REST = (
    "Tidied, the current in {part} is that of one battery, with an emf {emf} and an internal "
    "resistance {inner} that do not depend on {part}. For {part} this battery stands for all the "
    "rest of the circuit:"
)
MATCHED_POWER = "The power in {part} is then"
MATCHED_SQUARE = "A little algebra shows how far this stays below {bound}:"
MATCHED_SO = (
    "A square is never negative, and this one is zero for {part} = {inner} alone. So {part} takes "
    "the most power when it equals {inner}:"
)
MATCHED_HALF_HERE = "With this value half of the power of the emf {emf} is lost in {inner}."
MATCHED_HALF = (
    "With this value half of the power of the emf {emf} is lost in {inner}. That is true of the "
    "battery that stands for the rest, not of the losses inside the circuit itself."
)
EFFICIENCY_CHARGED = (
    "While {part} is being charged, its efficiency is the power that its emf stores over the power "
    "taken in at its terminals. One current flows in both, so only the voltages are left:"
)
EFFICIENCY_IF = "This holds while {part} delivers; while it is being charged, it is the inverse."
TERMINAL_DELIVERS = (
    "The current leaves {part} at its + terminal and loses voltage in {inner} on its way out: the "
    "terminal voltage is lower than the emf."
)
TERMINAL_CHARGED = (
    "The current enters {part} at its + terminal. What charges it must overcome the emf and the "
    "internal resistance {inner} as well: the terminal voltage is higher than the emf."
)
TERMINAL_IDLE = (
    "No current flows in {part}, so no voltage is lost in {inner}: the terminal voltage is the emf."
)
TERMINAL_TURNED_DELIVERS = (
    "The emf of {part} is negative, so the current that it drives enters at its + terminal and "
    "loses voltage in {inner}: the terminal voltage is smaller in size than the emf."
)
TERMINAL_TURNED_CHARGED = (
    "The emf of {part} is negative, and yet current leaves at its + terminal. What charges it must "
    "overcome the emf and the internal resistance {inner} as well: the terminal voltage is larger "
    "in size than the emf."
)
TERMINAL_NO_EMF = (
    "The emf of {part} is zero: its terminal voltage is what its current needs in {inner}."
)
TERMINAL_IF = (
    "Where current leaves {part} at its + terminal, the terminal voltage is lower than the emf; "
    "where the battery is being charged, it is higher."
)
CHARGE_IN = "The sign says that charge enters at the + terminal: {part} is being charged."
CHARGE_IN_TAKES = "The sign says that charge enters at the + terminal: {part} takes in power."
CHARGE_IN_DELIVERS = (
    "The sign says that charge enters at the + terminal. The emf of {part} is negative as well, so "
    "power is delivered all the same."
)
CHARGE_IN_ALONE = "The sign says that charge enters at the + terminal."
TAKES_IN = "The sign says that {part} delivers this energy."
GIVES_BACK = "The sign says that {part} takes this energy in."


LOADING_VOLTMETER = (
    "The voltmeter {part} has a resistance: where it draws a current of its own, it changes the "
    "voltage that it measures."
)
LOADING_AMMETER = (
    "The ammeter {part} adds its resistance to its branch; a current there is changed by being "
    "measured."
)
LOADING_SHOWS = "It shows"
IDEAL_VOLTMETER = (
    "An ideal voltmeter in the place of {part} draws no current, as if its branch were not there. "
    "Kirchhoff's rules for this circuit give, with a prime at each current,"
)
IDEAL_AMMETER = (
    "An ideal ammeter in the place of {part} has no resistance, as if it were a piece of wire. "
    "Kirchhoff's rules for this circuit give, with a prime at each current,"
)
LOADING_ERROR_ALONE = "The loading error is the reading less what an ideal meter would show:"
LOADING_ERROR = (
    "The loading error is the reading less what an ideal meter would show. Below it stands its "
    "share of the ideal reading:"
)

POTENTIALS = (
    "The potential of every point, with {ground} at zero. We walk from there, and each potential "
    "follows from that of the point before it:"
)
POINT, POTENTIAL = "point", "potential"
HOW_REACHED = "how we get there"
WAY_TABLE = "How each point is reached, and its potential by that of the point before it."
ON_FROM = "from {start} through {changes}"
THE_GROUND = "the grounded point, zero by choice"
LEVEL_WITH = "joined to {start}, no change"
WALK_EMF = "{part} from {signs}"
UP, DOWN = "− to +", "+ to −"
WALK_DOWN = "{part} along {current}"
WALK_UP = "{part} against {current}"
WALK_STILL = "{part}, where no current flows"
POTENTIALS_VALUES = "Put the numbers in, one point after the other:"
POTENTIALS_FORMULAS = "With the currents put in:"
OTHER_PATH = (
    "As a check, a walk from {start} to {end} by another path, through {parts}, gives the same:"
)
OTHER_PATH_WIRE = "As a check, a walk from {start} to {end} along plain wire gives the same:"
OTHER_PATH_LONG = "As a check, a walk from {start} to {end} by another path gives the same:"

# --- the resistance between two points --------------------------------------------------------

SEEN_DEAD = (
    "Seen from {one} and {other}, every battery is replaced by its internal resistance, an ideal "
    "one by a wire. Then resistances are replaced by others that change nothing there."
)
SEEN_SOURCES = "Current sources are taken out, since no voltage changes their currents."
SEEN = (
    "Seen from {one} and {other}, resistances are replaced step by step by others that change "
    "nothing there."
)
WIRES_ONE, WIRES_MANY = "{parts} is zero, so it is a wire.", "{parts} are zero, so they are wires."
IDLE_PART = "{parts} lies on no way from {one} to {other}: it carries no current and is left out."
IDLE_PARTS = "{parts} lie on no way from {one} to {other}: they carry no current and are left out."
SHORTED_PART = "Wire joins the two ends of {parts}: it carries no current and is left out."
SHORTED_PARTS = (
    "Wire joins the two ends of each of {parts}: they carry no current and are left out."
)
ALL_BESIDE_WIRE = (
    "Wire joins {one} and {other}, so no current between them takes a way through {parts}."
)
IN_SERIES = "{parts} are in series: nothing branches off between them"
IN_PARALLEL = "{parts} are in parallel: they lie between the same two points"
AND_SO = ", and so are {parts}"
MANY_IN_SERIES = "In series, with nothing that branches off between them, are {groups}"
MANY_IN_PARALLEL = "In parallel, between the same two points each, are {groups}"
BETWEEN_GROUPS = "; "
DELTA = (
    "No two resistances are in series or in parallel. {parts} form a delta. A wye may stand in "
    "its place; each of its resistances is the product of the two sides that meet there, over the "
    "sum of all three:"
)
WYE = (
    "No two resistances are in series or in parallel. {parts} form a wye. A delta may stand in "
    "its place; each of its sides is the sum of the products in pairs, over the resistance that "
    "lies opposite:"
)
STAR = (
    "No two resistances are in series or in parallel. {parts} form a star. A mesh may stand in "
    "its place, with a resistance between each two of its far ends: the product of the two that "
    "lead there, over all of the star in parallel:"
)
DEAD_PART = "{parts} lies on no closed way with a battery: it carries no current and is left out."
DEAD_PARTS = "{parts} lie on no closed way with a battery: they carry no current and are left out."
EMFS = "{parts} are in series and act as one battery"
MANY_EMFS = "In series, each row acting as one battery, are {groups}"
WITH = "{battery} with {resistance}"
CURRENT_SOURCE = (
    "A battery in series with a resistance acts like a current source beside that resistance, with "
    "the emf over the resistance as its current. This source transformation makes a current source "
    "of {rows}:"
)
CURRENT_SOURCES = (
    "A battery in series with a resistance acts like a current source beside that resistance, with "
    "the emf over the resistance as its current. This source transformation makes a current source "
    "of each of {rows}:"
)
CURRENTS = "The current sources {parts} are side by side and add up, each with its direction:"
BATTERY = (
    "Turned back, the current source {source} beside {resistance} acts like a battery in series "
    "with that resistance. Its emf is the product of the two:"
)
ALIKE = (
    "{rows} are alike and lie side by side. They share the current equally, so one battery of the "
    "same emf, with the resistance over their number, can stand for them:"
)
LEVELS = (
    "Suppose the potential were 1 at {one} and 0 at {other}. Then the junction rule holds at every "
    "other point with {levels}."
)
LEVEL_AT = "{points} at {level}"
JOINED = "Points at one potential may be joined; no current changes. These are {groups}."
LEVEL_PART = "{parts} lies between points at one potential: it carries no current and is left out."
LEVEL_PARTS = "{parts} lie between points at one potential: they carry no current and are left out."
ACROSS = (
    "{parts} lies straight across a battery without resistance, which fixes the voltage there: its "
    "current depends on nothing else, and for the rest it can be left out."
)
ACROSS_MANY = (
    "{parts} lie straight across a battery without resistance, which fixes the voltage there: "
    "their currents depend on nothing else, and for the rest they can be left out."
)
ACROSS_ROW = (
    "{parts} lie in one row straight across a battery without resistance, which fixes the voltage "
    "there: their current depends on nothing else, and for the rest they can be left out."
)
BATTERY_SEES = "One resistance is left; it is what {battery} sees:"
BRIDGE_LEFT = (
    "{parts} are left, and no two of them are in series or in parallel: together with the battery "
    "they hold a bridge."
)
STAGE_WHOLE = "Network of the parts {parts}."
STAGE = "Network of resistances between the points {one} and {other}: {parts}."
STAGE_FROM = "Network of resistances seen from {part}: {parts}."
STAGE_MARKED_ONE = " {marked} stands out."
STAGE_MARKED_MANY = " {marked} stand out."
ONE_LEFT = "One resistance is left between {one} and {other}:"
NONE_LEFT = "Plain wire joins {one} and {other}:"

TEST_SOURCE = (
    "Where sources depend on a current or a voltage, resistances alone do not tell what is seen "
    "from {one} and {other}. We connect a test source there: it drives {source} = 1 A in at {one} "
    "and out at {other}. The resistance is the voltage that it needs, divided by its current."
)
TEST_SOURCE_BRIEF = "A test source drives {source} = 1 A in at {one} and out at {other}."
TEST_INNER = "{parts} is replaced by its internal resistance."
TEST_INNERS = "{parts} are replaced by their internal resistances."
TEST_WIRE, TEST_WIRES = "{parts} is replaced by a wire.", "{parts} are replaced by wires."
TEST_GAP, TEST_GAPS = "{parts} is taken out.", "{parts} are taken out."
TEST_STAYS = "{parts} stays, since it depends on what flows."
TEST_STAY = "{parts} stay, since they depend on what flows."
TEST_LAWS = "With a prime at each current of this circuit, Kirchhoff's rules read"
TEST_LAWS_ANEW_ONE = (
    "With a prime at each current of this circuit, and with the value that {others} has in it, "
    "Kirchhoff's rules read"
)
TEST_LAWS_ANEW_MANY = (
    "With a prime at each current of this circuit, and with the values that {others} have in it, "
    "Kirchhoff's rules read"
)
TEST_CURRENTS = "and they give"
TEST_VOLTAGE = "So the test source needs the voltage"
TEST_DIVIDED = "and the resistance is"
TEST_NEGATIVE = (
    "The resistance is negative: seen from {one} and {other}, the sources that depend on what "
    "flows deliver more than the resistors take in."
)

# --- the course of a capacitor in time ----------------------------------------------------------

GIVEN_START = "At the start the voltage across {part} is {start}."
GIVEN_EMPTY = "At the start {part} holds no charge."
STARTS_CHARGED = (
    "At the start, {time} = 0, the voltage across {part} is {start}. It cannot jump, since charge "
    "needs time to flow: at this moment {part} acts like an ideal battery of that emf."
)
STARTS_AS_BEFORE = (
    "At the start, {time} = 0, just after the change, the voltage across {part} is what it was "
    "before, {start}. It cannot jump, since charge needs time to flow: at this moment {part} acts "
    "like an ideal battery of that emf."
)
STARTS_EMPTY_AS_BEFORE = (
    "At the start, {time} = 0, just after the change, {part} is still without charge: {start}. Its "
    "voltage cannot jump, since charge needs time to flow: at this moment {part} acts like a wire."
)
STARTS_EMPTY = (
    "At the start, {time} = 0, {part} holds no charge: {start}. Its voltage cannot jump, since "
    "charge needs time to flow: at this moment {part} acts like a wire."
)
COUNTED = (
    "Its voltage is how much higher the potential is {side}; its current is what flows in there."
)
SIDE_OF, AWAY_FROM = "on the side of {place}", "on the side that is turned away from {place}"
LONG_AFTER = "Long after, no current flows to {part}, and a walk past it gives its voltage:"
SEEN_FROM = (
    "In between, the rest of the circuit decides how fast the charge flows. Seen from {part}, "
    "every battery is replaced by its internal resistance, an ideal one by a wire."
)
SEEN_FROM_DEAD = (
    "In between, the rest of the circuit decides how fast the charge flows. This is how it looks "
    "from {part}."
)
SEEN_ALONE = "{part} sees {resistance} alone:"
SEEN_LEFT = "One resistance is left between the ends of {part}:"
ENDS_OF = ("one end of {part}", "the other")
THEVENIN = (
    "So for {part} the rest of the circuit is a battery of emf {end} in series with {seen}. The "
    "voltage across that resistance, {end} less the voltage of {part}, drives the current; with "
    "every charge that flows it gets smaller, and so does the current. Both die away alike, with "
    "the time constant"
)
DISCHARGES = (
    "So {part} drives a current through {seen} by itself. With every charge that leaves, its "
    "voltage gets smaller, and so does the current. Both die away alike, with the time constant"
)
COURSES = "In each time constant the distance to the last value shrinks by the factor e (2.718…):"
COURSES_NUMBERS = "With the numbers:"
UNCHANGED = "At the start {part} has the voltage that it keeps, so nothing changes with time."
VALUES_IN_TIME = (
    "After one time constant 63 % of the change is done. After five, {over}, less than 1 % of it "
    "is left, and by common practice the change counts as over."
)
VALUES_IN_TIME_LETTERS = (
    "After one time constant 63 % of the change is done; after five less than 1 % of it is left, "
    "and by common practice the change counts as over."
)
TIME, SHARE_LEFT = "time", "still to go"
SHARES_LEFT = {
    0: "100 %", 1: "36.8 %", 2: "13.5 %", 3: "4.98 %", 4: "1.83 %", 5: "0.67 %",
}  # fmt: skip
"""e to the power of minus so many time constants."""
TRANSIENT_TABLE = "The voltage across {part} and the current to it after whole time constants."

# --- the way back from a reduction --------------------------------------------------------------

WAY_BACK = "Now go back through these steps, the last one first."
BACK_RING = "What is left is one loop, and the emf over the resistance is its current:"
BACK_RINGS = "What is left are loops, each with its own current, the emf over the resistance:"
BACK_ACROSS = "The voltage across {parts} is that of the battery straight across:"
BACK_DEAD = "No current flows in what was left out:"
BACK_LEVEL = "Between points at one potential no current flows:"
BACK = {
    "SERIES": "In series, one current flows in {parts}:",
    "EMFS": "In series, one current flows in {parts}:",
    "PARALLEL": "{parts} in parallel have one voltage, that of {made}:",
    "ALIKE": "{rows} are alike, so each carries the same share of the current:",
    "DELTA": (
        "In the delta of {parts}, the voltage of each side is what two resistances of the wye have "
        "between its ends:"
    ),
    "STAR": (
        "In the star of {parts}, each current is what the sides of the mesh carry away together:"
    ),
}
BACK_SIDE_BY_SIDE = (
    "Side by side, {rows} have one voltage between their ends, that of the battery that stood for "
    "them:"
)
BACK_JUNCTION = "The junction rule gives the current that is left:"
BACK_JUNCTIONS = "The junction rule gives the currents that are left:"
AGREE = "Both ways lead to the same {currents}."

# --- what it means ----------------------------------------------------------------------------

SOUGHT_EMF_TURNED = (
    "{source} comes out negative: its terminals are the other way round from the figure."
)
SOUGHT_J_TURNED = "{source} comes out negative: its current runs against its arrow."
AGAINST_ONE = (
    "{current} is negative, so this current runs against its arrow, from {start} to {end}; its "
    "size is {size}."
)
AGAINST_ROUND = "{current} is negative, so this current runs against its arrow; its size is {size}."
AGAINST_MANY = "{currents} are negative: these currents run against their arrows."
IN_THE_END = "This is how things stand long after, when nothing changes any more."
ZERO = "No current flows in the branch of {currents}."
ZERO_MANY = "No current flows in the branches of {currents}."
AS_DRAWN = "All currents run as drawn."
AS_DRAWN_ONE = "The current runs as drawn."
DELIVERS_ONE = "{sources} delivers power: current leaves at its + terminal."
DELIVERS_MANY = "{sources} deliver power: current leaves at their + terminals."
CHARGED_ONE = "{sources} is being charged: current enters at its + terminal."
CHARGED_MANY = "{sources} are being charged: current enters at their + terminals."
CHARGES_ONE = (
    "So {source} charges {charged}: of the {delivered} that {source} delivers, {stored} go into "
    "{charged}, and the rest turns into heat."
)
CHARGES_MANY = "So {source} charges {charged}; the rest of its power turns into heat."
IDLE_ONE = "{sources} carries no current."
IDLE_MANY = "{sources} carry no current."
REVERSED_ONE = "The emf of {sources} is negative: this battery acts against its signs."
REVERSED_MANY = "The emfs of {sources} are negative: these batteries act against their signs."
TAKES_ONE = "{sources} takes in power: current enters at its + terminal."
TAKES_MANY = "{sources} take in power: current enters at their + terminals."
TURNED_ONE = "The emf of {sources} comes out negative: it acts against its signs."
TURNED_MANY = "The emfs of {sources} come out negative: they act against their signs."

# --- check ------------------------------------------------------------------------------------

UNUSED_LOOP = "The loop {path} was not used. Its changes must add up to zero as well:"
UNUSED_LOOP_GRAPH = (
    "The loop {path} was not used. Its changes must add up to zero as well: the potential comes "
    "back to the level where it began."
)
UNUSED_ROUNDED_GRAPH = (
    "The loop {path} was not used. Its changes, rounded here, add up to exactly zero as well: the "
    "potential comes back to the level where it began."
)
GRAPH = "On this walk the potential comes back to the level where it began:"
GRAPH_ONE = "On a walk round the loop the potential comes back to the level where it began:"
POWER_TABLE = "The power of every part:"
POWER_TABLE_AND_BARS = "The power of every part; both bars have the same height:"
BAR_DELIVERED, BAR_TAKEN = "delivered", "taken in"
BAR_HEAT, BAR_CHARGING = "turned into heat", "charging"
DOES_DELIVER, DOES_CHARGE, DOES_HEAT = "delivers", "takes in, being charged", "turns into heat"
POWER_AGREES = "What the batteries deliver is what the other parts take in:"
POWER_AGREES_SOURCES = "What the sources deliver is what the other parts take in:"
DOES_TAKE = "takes in"
BAR_SOURCE = "by a source"
POWER_SUMMARY = "The power that each part delivers or takes in."
PUT_BACK = (
    "The formulas were put back into every junction equation and every loop equation; they fit."
)
PUT_BACK_JUNCTIONS = "The formulas were put back into every junction equation; they fit."
PUT_BACK_ONE = "The formula was put back into the loop equation; it fits."
UNUSED_ROUNDED = (
    "The loop {path} was not used. Its changes, rounded here, add up to exactly zero as well:"
)

# --- preferred values -------------------------------------------------------------------------

PREFERRED = (
    "Parts are made in preferred values (IEC 60063). The {series} series has {many} of them in "
    "every decade, which all follow each other in about the same ratio; so the nearest one is that "
    "of the smaller ratio:"
)
PREFERRED_TOO = "The {series} series has {many} of them in every decade:"
NEXT_BELOW, NEXT_ABOVE, NEAREST = "next below", "next above", "nearest"
NEIGHBOUR = "{value} ({off})"
PREFERRED_SUMMARY = "The preferred values next to the value of each part."

# --- tolerances -------------------------------------------------------------------------------

TOLERANCES = "Tolerances: {items}."
TOLERANCE_OF = "±{percent} for {parts}"
ENDS = (
    "The values may lie anywhere within their tolerances. Each current and each voltage is a "
    "fraction in which every one of them stands to the first power at most, above and below the "
    "line. While one value changes and the others are kept, such a fraction only rises or only "
    "falls. So it is least and greatest where all values are at an end of their tolerance; all "
    "{corners} such cases were worked out exactly."
)
ENDS_ONE = (
    "The value may lie anywhere within its tolerance. Each current and each voltage is a fraction "
    "in which it stands to the first power at most, above and below the line. Such a fraction only "
    "rises or only falls while the value changes. So it is least and greatest at the two ends of "
    "the tolerance."
)
ENDS_TIED = (
    "The values may lie anywhere within their tolerances, and what is tied to them follows. The "
    "least and the greatest results, which are met where values are at the ends of their "
    "tolerances or where a result turns round between them, were worked out exactly."
)
ENDS_BRIEF = "With all values within their tolerances, rounded outwards:"
ENDS_POWERS = (
    "A power was also looked at between the ends, where it may turn round, as the power in a "
    "resistor does at the matched load."
)
ENDS_ROUNDED = "The results, rounded outwards:"
WITHIN = "±{percent}"
RESULT, NOMINAL, LEAST, GREATEST = "result", "nominal", "least", "greatest"
ENDS_SUMMARY = "The least and the greatest value of each result within the tolerances."
SHARES = (
    "What does each part add? Its share is the slope of the result (the partial derivative at the "
    "nominal values) times how far the value of the part may be off; the sign says which way the "
    "result goes when that value rises. The sizes of the shares add up to what all tolerances do "
    "to first order. Below stands what they do exactly."
)
SHARES_ALONE = (
    "What does each part add? Its share is the slope of the result (the partial derivative at the "
    "nominal values) times how far the value of the part may be off; the sign says which way the "
    "result goes when that value rises. The sizes of the shares add up to what all tolerances do "
    "to first order."
)
SHARE_TOLERANCE, SHARE_SUM = "tolerance", "sum of the sizes"
NO_SHARE = "0"
REACH_DOWN, REACH_UP = "exactly, down", "exactly, up"
SHARES_SUMMARY = "What the tolerance of each part adds to the reach of each result."
NO_RANGE = {
    "MANY": (
        "So many values have a tolerance that the sets of their ends are too many to be worked "
        "out; no ranges are stated."
    ),
    "BENDS": (
        "No range is stated for {results}: a tolerance moves several quantities at once there, so "
        "that the result may turn round between the ends."
    ),
    "TERMINALS": (
        "No range is stated for {results}: a voltage and a current that change together are "
        "multiplied there."
    ),
    "OPEN": (
        "No range is stated for {results}: within the tolerances the currents are not always fixed."
    ),
    "DEPENDENT": (
        "No ranges are stated: they are not worked out here where a source depends on a current or "
        "a voltage."
    ),
    "CHARGES": (
        "No ranges are stated: they are not worked out here where capacitors share their charges."
    ),
    "RATIO": (
        "No range is stated for {results}: such answers are worked out for the nominal values "
        "alone."
    ),
    "COURSE": (
        "No range is stated for the course in time: it is worked out for the nominal values alone."
    ),
    "BETWEEN": (
        "No range is stated for {results}: that of a resistance between two points is not worked "
        "out here."
    ),
    "LOADING": (
        "No range is stated for {results}: that of a loading error, which needs a second circuit, "
        "is not worked out here."
    ),
}

# --- ratings ----------------------------------------------------------------------------------

RATED = "Rated: {items}."
RATED_LAMPS = "{parts} for {voltage} and {power}"
RATED_RESISTORS = "{parts} for {power}"
LAMPS_ONE = (
    "At its rated voltage the lamp takes its rated power, so its resistance there is the square of "
    "the voltage divided by the power. It counts as constant here, although the filament of a real "
    "lamp has less resistance while it is cooler."
)
LAMPS_MANY = (
    "At its rated voltage a lamp takes its rated power, so its resistance there is the square of "
    "the voltage divided by the power. It counts as constant here, although the filament of a real "
    "lamp has less resistance while it is cooler."
)
AGAINST_RATINGS = "The power in each rated part beside the power that it is rated for{when}:"
POWERS_LONG_AFTER, POWERS_NOMINALLY = ", long after the last change", ", with the nominal values"
WHILE_CHARGED = "While a capacitor is charged or discharged, a part may take more for some time."
RATING = "rating"
RATINGS_SUMMARY = "The power in each rated part, its rating, and what follows."
LAMP_LOADS = {
    "BELOW": "glows dimmer than rated",
    "AT": "glows as rated",
    "OVER": "glows brighter than rated",
}
LAMP_DARK = "stays dark"
RESISTOR_LOADS = {
    "BELOW": "stays within its rating",
    "AT": "is just at its rating",
    "OVER": "is over its rating",
}
BY_LITTLE = ", by less than shown"

# --- answers ----------------------------------------------------------------------------------

REMARK_AGAINST = "{currents} against the arrow"
REMARK_DRAWN = "all as drawn"

# --- cautions ---------------------------------------------------------------------------------

CAUTION_CHARGING = (
    "Current is driven into the positive terminal of {parts}. Charge only cells made to be "
    "charged, with the charger and within the limits that their maker states; others may leak, "
    "burn or burst."
)
CAUTION_HEAT = (
    "More than 5 W turns into heat in {parts}. Use parts rated for more than that and keep them "
    "clear of what can burn."
)
CAUTION_HEAT_INSIDE = (
    "More than 5 W turns into heat inside {parts}. A battery that is not made for such a current "
    "gets hot, and may leak, burn or burst."
)
CAUTION_RATING = (
    "More power than rated turns into heat in {parts}. A part over its rating overheats, fails "
    "early and may set fire to what is near; choose one that is rated for more."
)
CAUTION_VOLTAGE = (
    "Some points of this circuit are more than 60 V apart. Direct voltages of that size can kill."
)
CAUTION_STORED = (
    "{part} keeps its charge when the supply is off: {amount}. Before anything is touched, "
    "discharge it through a resistor made for that, and measure that it is empty."
)
CAUTION_STORED_MANY = (
    "{parts} keep their charge when the supply is off: {amount} each. Before anything is touched, "
    "discharge each through a resistor made for that, and measure that it is empty."
)
STORED_VOLTS, STORED_JOULES = "more than 60 V", "more than 10 J of energy"
CAUTION_SHORT = (
    "Never try a short circuit of {parts}: more than 10 A overheats thin leads and throws sparks, "
    "and all the power turns into heat inside the battery, which may burst."
)
CAUTION_LAST = "Local codes and a licensed practitioner decide in practice."
