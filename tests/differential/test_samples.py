"""A few circuits of every check; ``python -m tests.bench.differential`` runs them by the thousand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.differential import oracle
from tests.differential.checks import CHECKS, currents, differences, net_of
from tests.differential.nets import scaled

_FEW = {"symbolic": 4, "methods": 2, "numbers": 20}


@pytest.mark.parametrize("name", CHECKS)
def test_samples_agree(name: str) -> None:
    for seed in range(500_000, 500_000 + _FEW.get(name, 5)):
        assert list(CHECKS[name](seed)) == [], (name, seed)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**9))
def test_both_oracles_agree(seed: int) -> None:
    """Numpy's LU and elimination over fractions: two ways outside the package."""
    net = net_of(seed)
    exact = oracle.exact(net)
    for name, value in oracle.floating(net).items():
        assert float(exact[name]) == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_a_wrong_current_is_noticed() -> None:
    """The comparison can fail: an oracle of another circuit is not agreed with."""
    net = net_of(3)
    wrong = scaled(net, drive=Fraction(2))
    assert list(differences(currents(net.text("ask currents")), oracle.exact(wrong)))
