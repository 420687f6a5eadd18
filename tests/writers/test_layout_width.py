"""The estimate of widths against TeX's own measure."""

import re
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import Number, Parallel, Power, Product, Quantity, Quotient, Sum
from derive.document.model import Chain, Relation
from derive.typesetting.style import Decimal, Style
from derive.writers import tex_math
from derive.writers.notation import Content
from tests.writers.sample_document import DELTA, E1, FORMULA, I1, I2, R1, R2, R_LOAD, V_BA, long_sum

_SAMPLES: list[Content] = [
    long_sum(4),
    long_sum(20),
    FORMULA,
    Product((Sum((R1, R2)), I1)),
    Sum((E1, Product((R_LOAD, I2)))),
    Quotient(long_sum(5), DELTA),
    Parallel((R1, R2, R_LOAD)),
    Power(I1, 2),
    Product((Quantity(Fraction(9, 2), OHM), Quantity(Fraction(12), VOLT))),
    Chain(
        (V_BA, Quantity(Fraction(17, 12), AMPERE), Decimal("-1234.56", 3, VOLT)),
        (Relation.EQUAL, Relation.APPROXIMATE),
    ),
    Sum((Number(Fraction(1234567)), Number(Fraction(1, 4)))),
]


@pytest.mark.tex
def test_estimate_is_near_what_tex_measures(tmp_path: Path) -> None:
    boxes = "".join(
        rf"\setbox0\hbox{{$\displaystyle {tex_math.inline(s, Style())}$}}\typeout{{W=\the\wd0}}"
        for s in _SAMPLES
    )
    tex = rf"\documentclass{{article}}\usepackage{{amsmath,lmodern}}\begin{{document}}{boxes}\end{{document}}"
    (tmp_path / "w.tex").write_text(tex)
    engine = shutil.which("pdflatex")
    assert engine
    run = subprocess.run(
        [engine, "-interaction=batchmode", "-halt-on-error", "w.tex"],
        cwd=tmp_path, capture_output=True, check=False,
    )  # fmt: skip
    assert run.returncode == 0
    measured = re.findall(r"W=([0-9.]+)pt", (tmp_path / "w.log").read_text("latin-1"))
    assert len(measured) == len(_SAMPLES)
    for sample, points in zip(_SAMPLES, measured, strict=True):
        ems = float(points) / 10  # at 10 pt
        assert tex_math.width(sample, Style()) == pytest.approx(ems, rel=0.04, abs=0.3), sample
