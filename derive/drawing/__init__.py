"""Figures as lines, symbols and labelled boxes with coordinates, in no output format."""
