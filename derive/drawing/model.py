"""The drawing type (placeholder fields are completed by the drawing author)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure with coordinates."""
