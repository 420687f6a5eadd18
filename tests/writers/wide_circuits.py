"""Circuits with long names and long formulas, which try the room that a page has."""

from functools import cache

from derive.document.narrate import Detail
from derive.options import Options
from derive.pipeline import Solution, solve
from derive.source import Source

FOUNTAIN = """
circuit "A panel and a buffer battery drive a fountain"
I1: Basin (-E1 r_panel+) Rail
I2: Basin (-E2 r_buffer+) Rail
I3: Rail (R_fountain) (R_feedline) Basin
E1 = 18 V; E2 = 17 V; r_panel = 0.4 ohm
ask currents
ask power in R_fountain
ask matched load R_fountain
"""
"""Half of the values are given: numbers with units stand among the letters of its formulas."""

SMITHY = """
circuit "Two batteries light an old smithy"
statement "The lamp hangs far from the batteries, and the smith wants to know what it gets."
I_left: Back_yard (-E1 r1+) Anvil_corner
I_right: Back_yard (-E2 r2+) Anvil_corner
I_lamp: Anvil_corner (R_wire) Lamp_hook_by_the_door (lamp L1) Back_yard
E1 = 12 V; E2 = 12.2 V; r1 = 0.2 ohm; r2 = 0.3 ohm; R_wire = 1.5 ohm; L1 = 8 ohm
"""
"""Its points are words; the loops are told by them."""

WINCH = """
circuit "A winch pulls the voltage down"
ground Frame
I1: Frame (-E1+) Clamp (R_cable) Terminal_block
I2: Terminal_block (R_cabin_light) Frame
I3: Terminal_block (closes S_winch) Winch_motor (R_winch) Frame
E1 = 12.4 V; R_cable = 25 mohm; R_cabin_light = 20 ohm; R_winch = 150 mohm
ask potentials
ask currents
ask power in R_winch
"""
"""A table of potentials for two states, with long names."""

SCALES = """
circuit "From thousands of volts to millionths"
figures 6
I1: A (-E1+) B (R1) C
I2: A (-E2+) D (R2) C
I3: C (R3) A
E1 = 2345.678 V; E2 = 0.0002345 V
R1 = 234567.8 ohm; R2 = 0.0045678 ohm; R3 = 8765.432 kohm
ask currents
ask potentials
ground A
"""
"""Its powers have many digits, or powers of ten."""

FILTER = """
circuit "A network between terminals with names"
: Input_of_the_weather_station (R_protection_resistor) Node_of_three
: Node_of_three (R_feedback_resistor) Output_of_the_weather_station
: Node_of_three (R_bias_compensation) Output_of_the_weather_station
R_protection_resistor = 12 kohm; R_feedback_resistor = 180 kohm; R_bias_compensation = 8.2 kohm
ask resistance Input_of_the_weather_station Output_of_the_weather_station
"""
"""What is asked for is a long sentence in half a line."""

TRAM = """
circuit "A tram between two feeders"
I1: Rail (-E_north r_north+) Feeder_north (R_line_north) Tram
I2: Rail (-E_south r_south+) Feeder_south (R_line_south) Tram
I3: Tram (R_motor) Rail
"""
"""All in letters, with names that are words."""

CIRCUITS = {
    "fountain": FOUNTAIN, "smithy": SMITHY, "winch": WINCH, "scales": SCALES, "filter": FILTER,
    "tram": TRAM,
}  # fmt: skip


@cache
def solved_wide(name: str, detail: Detail = Detail.FULL) -> Solution:
    """Return the solution of one of them."""
    return solve(Source(f"{name}.circuit", CIRCUITS[name]), Options(detail=detail))
