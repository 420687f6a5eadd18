"""Bounds of what a user may ask for, the same in a file, on the command line and from Python."""

FIGURES = 1, 12
"""Significant figures."""
WIDTHS = 20, 2000
"""Width of a figure in millimetres."""
TERMS = 1, 1_000_000
"""Products of a denominator that is worked out in letters."""
MOST_TOLERANCES, MOST_CORNERS = 10, 4096
"""Values with a tolerance, and combinations of their ends, that are still worked out."""
MOST_LOOPS = 32
"""Independent loops of a circuit that is solved by Kirchhoff's rules."""
MOST_CROSSED = 45
"""Branches of a circuit that cannot be drawn without branches that cross."""
LONGEST_TITLE, LONGEST_STATEMENT = 1000, 5000
"""Characters; TeX takes half a minute for a title of twenty thousand."""
