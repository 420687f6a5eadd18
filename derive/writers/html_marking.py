"""Marks in a page by which its script finds what follows the values, and what cannot.

A page without live numbers has no marks.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

from derive.document.live import Recipe

Json = str | int | float | bool | None | list["Json"] | dict[str, "Json"]
"""What a page tells its script."""


@dataclass(frozen=True, slots=True)
class Marking:
    """What is live in a document, numbered in the order in which it is met."""

    recipes: Mapping[Hashable, Recipe | None] | None = None
    """How chains and blocks follow the values; None on those that are true of the file's only."""
    used: list[Recipe] = field(default_factory=list)
    """The recipes that the page needs; their places here are the numbers of the marks."""

    @property
    def is_live(self) -> bool:
        """Whether the page has live numbers at all."""
        return self.recipes is not None

    def attributes(self, thing: Hashable) -> str:
        """Return the mark of a chain or a block, with a space in front."""
        if self.recipes is None or thing not in self.recipes:
            return ""
        recipe = self.recipes[thing]
        return " data-fixed" if recipe is None else self.mark(recipe)

    def mark(self, recipe: Recipe) -> str:
        """Return the mark for a recipe."""
        self.used.append(recipe)
        return f' data-live="{len(self.used) - 1}"'
