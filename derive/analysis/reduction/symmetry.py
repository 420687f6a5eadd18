"""Does a symmetry of a net of resistances take one node to another?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

_MOST_NODES = 30
"""Larger nets are not searched."""

Weighted = tuple[int, int, Fraction]
"""Two nodes and the resistance between them."""


def are_symmetric(
    edges: Sequence[Weighted], ends: tuple[int, int], groups: Sequence[Sequence[int]]
) -> bool:
    """Tell whether in every group some symmetry takes the first node to each other one.

    A symmetry exchanges nodes, leaves both ends where they are, and leaves the resistances between
    any two nodes as they are.
    """
    between: dict[frozenset[int], list[Fraction]] = {}
    for a, b, size in edges:
        between.setdefault(frozenset((a, b)), []).append(size)
    sizes = {pair: sorted(found) for pair, found in between.items()}
    nodes = sorted({node for pair in sizes for node in pair} | set(ends))
    if len(nodes) > _MOST_NODES:
        return False
    start = {end: end for end in ends}
    pairs = ((group[0], other) for group in groups for other in group[1:])
    return all(_extends(sizes, nodes, {**start, one: other}) for one, other in pairs)


def _extends(
    sizes: Mapping[frozenset[int], list[Fraction]], nodes: Sequence[int], images: dict[int, int]
) -> bool:
    """Try to map all nodes, some of which are mapped, so that no resistance changes."""
    if not all(_fits(sizes, images, node) for node in images):
        return False
    left = [node for node in nodes if node not in images]
    if not left:
        return True
    # A node beside those that are mapped has few images.
    beside = (n for n in left if any(frozenset((n, known)) in sizes for known in images))
    node = next(beside, left[0])
    taken = set(images.values())
    return any(
        _extends(sizes, nodes, {**images, node: image}) for image in nodes if image not in taken
    )


def _fits(
    sizes: Mapping[frozenset[int], list[Fraction]], images: Mapping[int, int], node: int
) -> bool:
    return all(
        sizes.get(frozenset((node, other))) == sizes.get(frozenset((images[node], image)))
        for other, image in images.items()
    )
