"""Forged derivations are refused, at the right step and for the right reason."""

from __future__ import annotations

import pytest

from derive.checker.kernel import check
from tests.forged import algebra, answers, laws
from tests.forged.forgery import Forgery

FORGERIES = (*laws.FORGERIES, *algebra.FORGERIES, *answers.FORGERIES)


@pytest.mark.parametrize("forgery", FORGERIES, ids=lambda forgery: forgery.name)
def test_a_forgery_is_refused(forgery: Forgery) -> None:
    verdict = check(forgery.circuit, forgery.derivation)
    assert not verdict.accepted
    assert verdict.refusal is not None
    assert forgery.reason in verdict.refusal.reason
    assert verdict.refusal.step == forgery.step


def test_no_two_forgeries_have_one_name() -> None:
    assert len({forgery.name for forgery in FORGERIES}) == len(FORGERIES)
