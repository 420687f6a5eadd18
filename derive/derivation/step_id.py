"""How one step of a derivation is told from the others."""

from __future__ import annotations

StepId = int
"""Position of a step in its derivation, counted from 0."""
