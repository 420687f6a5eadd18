"""Measures of the characters that figures and formulas are set in, in em of the running text.

They are those of Computer Modern Math Italic and Roman at 10 pt, from their TFM files, rounded to
hundredths; Latin Modern has the same.
"""

from __future__ import annotations

ITALIC = {
    "A": 0.75, "B": 0.76, "C": 0.71, "D": 0.83, "E": 0.74, "F": 0.64, "G": 0.79, "H": 0.83,
    "I": 0.44, "J": 0.55, "K": 0.85, "L": 0.68, "M": 0.97, "N": 0.80, "O": 0.76, "P": 0.64,
    "Q": 0.79, "R": 0.76, "S": 0.61, "T": 0.58, "U": 0.68, "V": 0.58, "W": 0.94, "X": 0.83,
    "Y": 0.58, "Z": 0.68, "a": 0.53, "b": 0.43, "c": 0.43, "d": 0.52, "e": 0.47, "f": 0.49,
    "g": 0.48, "h": 0.58, "i": 0.34, "j": 0.41, "k": 0.52, "l": 0.30, "m": 0.88, "n": 0.60,
    "o": 0.48, "p": 0.50, "q": 0.45, "r": 0.45, "s": 0.47, "t": 0.36, "u": 0.57, "v": 0.48,
    "w": 0.72, "x": 0.57, "y": 0.49, "z": 0.47, "α": 0.64, "β": 0.57, "γ": 0.52, "δ": 0.44,
    "ε": 0.47, "ζ": 0.44, "η": 0.50, "θ": 0.47, "ι": 0.35, "κ": 0.58, "λ": 0.58, "μ": 0.60,
    "ν": 0.49, "ξ": 0.44, "π": 0.57, "ρ": 0.52, "σ": 0.57, "τ": 0.44, "υ": 0.54, "φ": 0.65,
    "χ": 0.63, "ψ": 0.65, "ω": 0.62, "∞": 1.00,
}  # fmt: skip
LEAN = {
    "B": 0.05, "C": 0.07, "D": 0.03, "E": 0.06, "F": 0.14, "H": 0.08, "I": 0.08, "J": 0.10,
    "K": 0.07, "M": 0.11, "N": 0.11, "O": 0.03, "P": 0.14, "S": 0.06, "T": 0.14, "U": 0.11,
    "V": 0.22, "W": 0.14, "X": 0.08, "Y": 0.22, "Z": 0.07, "f": 0.11, "g": 0.04, "j": 0.06,
    "k": 0.03, "q": 0.04, "r": 0.03, "v": 0.04, "w": 0.03, "y": 0.04, "z": 0.04, "β": 0.05,
    "γ": 0.06, "δ": 0.04, "ζ": 0.07, "η": 0.04, "θ": 0.03, "ν": 0.06, "ξ": 0.05, "π": 0.04,
    "σ": 0.04, "τ": 0.11, "υ": 0.04, "ψ": 0.04, "ω": 0.04,
}  # fmt: skip
"""How far an italic letter leans beyond its width; a subscript moves in under it."""
UPRIGHT = {
    "A": 0.75, "B": 0.71, "C": 0.72, "D": 0.76, "E": 0.68, "F": 0.65, "G": 0.78, "H": 0.75,
    "I": 0.38, "J": 0.51, "K": 0.78, "L": 0.63, "M": 0.92, "N": 0.75, "O": 0.78, "P": 0.68,
    "Q": 0.78, "R": 0.74, "S": 0.56, "T": 0.72, "U": 0.75, "V": 0.75, "W": 1.03, "X": 0.75,
    "Y": 0.75, "Z": 0.61, "a": 0.50, "b": 0.56, "c": 0.44, "d": 0.56, "e": 0.44, "f": 0.31,
    "g": 0.50, "h": 0.56, "i": 0.28, "j": 0.31, "k": 0.53, "l": 0.28, "m": 0.83, "n": 0.56,
    "o": 0.50, "p": 0.56, "q": 0.53, "r": 0.39, "s": 0.39, "t": 0.39, "u": 0.56, "v": 0.53,
    "w": 0.72, "x": 0.53, "y": 0.53, "z": 0.44, "Γ": 0.63, "Δ": 0.83, "Θ": 0.78, "Λ": 0.69,
    "Ξ": 0.67, "Π": 0.75, "Σ": 0.72, "Φ": 0.72, "Ψ": 0.78, "Ω": 0.72,
}  # fmt: skip

_SMALL = frozenset("acegmnopqrsuvwxyzαγεηικμµνπρστυφχω")
_DESCENDING = frozenset("gjpqyQfβγζημµξρφχψ,")
_CAPITAL, _LOWER_CASE, _TAIL = 0.70, 0.44, 0.20


def height(text: str) -> float:
    """Return how far characters reach above the line."""
    return _LOWER_CASE if all(c in _SMALL for c in text) else _CAPITAL


def depth(text: str) -> float:
    """Return how far characters reach below the line."""
    return _TAIL if any(c in _DESCENDING for c in text) else 0.0
