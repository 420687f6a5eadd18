"""Pages under axe-core (Deque Systems): no violation of WCAG 2.1 A and AA, nor of best practice."""

import json
from pathlib import Path

import axe_core_python
import pytest
from playwright.sync_api import Browser, Page

from tests.example_solutions import solved
from tests.writers.browser import browser, opened
from tests.writers.html_pages import PAGES, page_named, page_of
from tests.writers.wide_circuits import CIRCUITS, solved_wide

__all__ = ["browser"]

AXE = next(Path(axe_core_python.__file__).parent.rglob("axe.min.js")).read_text("utf-8")
NARROW, WIDE = {"width": 320, "height": 640}, {"width": 1000, "height": 900}


def violations(page: Page, part: str = "html") -> list[str]:
    page.evaluate(AXE)
    found = page.evaluate(f"axe.run('{part}', {{resultTypes: ['violations']}})")["violations"]
    return [
        f"{v['id']}: {json.dumps([n['target'] for n in v['nodes']][:3])} {v['nodes'][0]['failureSummary']}"
        for v in found
    ]


LOOKS = {"dark": NARROW, "light": WIDE}


@pytest.mark.parametrize(
    ("name", "scheme"),
    [
        ("sample", "dark"), ("sample", "light"), ("letters", "dark"), ("charging", "light"),
        ("starter", "dark"),
    ],
)  # fmt: skip
def test_no_violations(browser: Browser, tmp_path: Path, name: str, scheme: str) -> None:
    options = {"color_scheme": scheme, "viewport": LOOKS[scheme], "bypass_csp": True}
    with opened(browser, page_named(name), tmp_path / "page.html", **options) as page:
        assert violations(page) == []
        if page.locator("#values").count():
            page.fill('[data-input="0"]', "7.77")
            assert violations(page) == []
            page.fill('[data-input="0"]', "x")
            assert violations(page, "#values") == []


@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_wider_than_a_narrow_screen(browser: Browser, tmp_path: Path, name: str) -> None:
    """320 CSS pixels are what WCAG 2.1, 1.4.10 asks for."""
    with opened(browser, page_named(name), tmp_path / "page.html", viewport=NARROW) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_axe_sees_violations(browser: Browser, tmp_path: Path) -> None:
    page_text = page_named("charging").replace('lang="en"', "").replace("<main>", "<div>")
    with opened(browser, page_text, tmp_path / "page.html", bypass_csp=True) as page:
        assert any(found.startswith("html-has-lang") for found in violations(page))


@pytest.mark.parametrize("name", CIRCUITS)
def test_long_names_and_formulas_do_not_widen_a_narrow_screen(
    browser: Browser, tmp_path: Path, name: str
) -> None:
    text = page_of(solved_wide(name))
    with opened(browser, text, tmp_path / "page.html", viewport=NARROW) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_a_table_of_powers_breaks_no_cell_beside_its_figure(
    browser: Browser, tmp_path: Path
) -> None:
    text = page_of(solved("boat_batteries"))
    wide = {"width": 1000, "height": 800}
    with opened(browser, text, tmp_path / "page.html", viewport=wide) as page:
        heights = page.evaluate(
            "[...document.querySelectorAll('.beside .holds td')].map(c => c.clientHeight)"
        )
        assert len(heights) > 8
        assert max(heights) < 40


def test_a_formula_that_is_cut_shows_a_shade(browser: Browser, tmp_path: Path) -> None:
    text = page_of(solved_wide("fountain"))
    with opened(browser, text, tmp_path / "page.html", viewport=NARROW) as page:
        shades = page.evaluate(
            "[...document.querySelectorAll('.right, .whole, .chain, .wide')]"
            ".filter(e => e.scrollWidth > e.clientWidth + 1)"
            ".map(e => getComputedStyle(e).backgroundImage)"
        )
        assert shades
        assert all(shade.count("gradient") == 4 for shade in shades)
