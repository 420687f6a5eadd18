"""Live numbers in a real browser: after any change the page says what a page made anew would say."""

import random
import re
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from pathlib import Path

import pytest
from lxml import html as lxml_html
from playwright.sync_api import Browser, Page

from derive.document.live import follow
from derive.pipeline import solve
from derive.source import Source
from derive.writers import html
from tests.example_solutions import NAMES, solved
from tests.writers.browser import browser, opened
from tests.writers.html_pages import page_named

__all__ = ["browser"]

SCENES = {
    "charger": """circuit "A charger and a lamp"
I1: A (-E1 r1+) B (R1) C
I2: C (+E2 r2-) A
I3: C (lamp L1) A
{values}
ask currents
ask terminal voltage of E2
ask power of E1
ask voltage C A
figures 3
""",
    "strings": """circuit "Strings on a bus"
I1: G (-E1+) (R1) H
I2: G (R2) (-E2+) H
I3: H (R3) (-E3+) G
I4: H (R4) G
{values}
ask currents
ask power in R4
figures 4
""",
    "bridge": """circuit "A bridge"
I1: A (R1) B
I2: A (R2) D
I3: B (R3) C
I4: D (R4) C
I5: B (R5) D
I6: C (-E1+) A
{values}
ask currents
ask voltage B D
figures 3
decimal comma
""",
    "ladder": """circuit "A ladder"
I1: A (-E1 r1+) (R1) B
I2: B (R2) A
I3: B (R3) (R4) A
{values}
ask reducible
ask currents
ask voltage across R4
figures 3
""",
    "pair": """circuit "Two batteries on one load"
I1: A (-E1 r1+) B
I2: A (-E2 r2+) B
I3: B (R3) A
: B (R4) C (capacitor C1) A
{values}
ask terminal voltage of E1, E2
ask short circuit current of E1
ask open circuit voltage of E2
ask energy in C1
ask reducible
figures 3
""",
    "charged": """circuit "A capacitor charged to the full"
I1: A (-E1 r1+) B (R1) C (capacitor C1) A
{values}
ask terminal voltage of E1
ask energy in C1
figures 3
""",
    "tied": """circuit "A tie"
I1: A (-E1+) (R1) C
I2: A (-E2+) (R2) C
I3: C (R3) A
{values}
R3 = 3 R1
ask currents
figures 2
""",
    "sources": """circuit "A source beside a battery"
I1: G (-E1 r1+) L
I2: G (J1 ->) (R2) L
I3: L (lamp L1) G
I4: L (R3) M (<- J2) G
{values}
ask currents
ask voltage L G
ask power of J1
figures 3
""",
    "still": """circuit "Walks without current"
I1: G (-E1 r1+) (ammeter M1) A (R1) B
I2: B (R2) G
I3: B (R3) G
: B (voltmeter M2) G
: A (R4) C (capacitor C1) G
: C (open S1) B
{values}
ask reading of M1, M2
ask charge on C1
ask voltage across S1
ask voltage C G
use method branch currents
figures 3
""",
    "row": """circuit "Capacitors in a row"
I1: G (-E1+) P (capacitor C1) M
: M (capacitor C2) G
: M (capacitor C3) G
{values}
uncharged C1, C2, C3
ask charge on C1
ask voltage across C2
ask energy in C3
figures 3
""",
    "bank": """circuit "A bank of capacitors"
I1: G (-E1 r1+) (R1) P
I2: P (R2) G
: P (capacitor C1) M (capacitor C2) G
: P (capacitor C3) N (capacitor C4) G
: M (capacitor C5) N
{values}
uncharged C1, C2, C3, C4, C5
ask currents
ask voltage across C5
ask charge on C1
figures 3
""",
    "between": """circuit "Seen from outside"
I1: A (R1) P
I2: P (R2) B
I3: P (R3) B
{values}
ask resistance A B
figures 3
""",
}
FIELDS = {
    "pair": "E1 E2 r1 r2 R3 R4 C1", "charged": "E1 r1 R1 C1", "charger": "E1 E2 r1 r2 R1 L1", "strings": "E1 E2 E3 R1 R2 R3 R4", "bridge": "E1 R1 R2 R3 R4 R5",
    "sources": "E1 r1 J1 R2 L1 R3 J2", "still": "E1 r1 R1 R2 R3 R4 C1", "row": "E1 C1 C2 C3",
    "bank": "E1 r1 R1 R2 C1 C2 C3 C4 C5", "ladder": "E1 r1 R1 R2 R3 R4", "tied": "E1 E2 R1 R2", "between": "R1 R2 R3",
}  # fmt: skip


UNITS = {"E": "V", "J": "A", "C": "uF"}


def written(scene: str, values: dict[str, str]) -> str:
    comma = "decimal comma" in SCENES[scene]
    lines = (
        f"{name} = {value.replace('.', ',') if comma else value} {UNITS.get(name[0], 'ohm')}"
        for name, value in values.items()
    )
    return SCENES[scene].replace("{values}", "\n".join(lines))


def page_of(text: str) -> str:
    solution = solve(Source("scene", text))
    live = follow(solution.document, solution.circuit, solution.derivation)
    assert live is not None
    return html.write(solution.document, live)


def values_of(scene: str, rng: random.Random) -> dict[str, str]:
    def number(name: str) -> str:
        value = rng.choice([str(rng.randint(1, 60)), f"{rng.randint(1, 400) / 10}"])
        return f"-{value}" if name[0] in "EJ" and rng.random() < 0.12 else value

    return {name: number(name) for name in FIELDS[scene].split()}


@dataclass
class Said:
    """What a page says of the numbers: the check in numbers is told in one of two ways."""

    given: list[str]
    answers: list[str]
    equations: list[str]
    checks: list[str]
    """Sums in numbers that are zero."""
    changes: list[str]
    powers: list[str]
    caution: list[str]
    meaning: list[str]
    graphs: list[str]
    """The graphs of the check in words."""
    sentences: set[str]
    """All that is said in words and is not marked as true of the values of the file alone."""


def heights(markup: str) -> list[float]:
    """Return how high the corners of the curve and the edges of the areas stand, in mm."""
    tree = lxml_html.fromstring(markup)
    shown = '//figure[not(@hidden)][ancestor::section/h2[contains(., "Check")]]//'
    curves = tree.xpath(shown + 'path[@class="line"][@stroke-width="0.439"]/@d')
    found = [float(pair.split()[1]) for d in curves for pair in re.findall(r"[-\d.]+ [-\d.]+", d)]
    areas = tree.xpath(shown + 'rect[@class="area"]')
    return found + [float(area.get(name)) for area in areas for name in ("y", "height")]


def said(markup: str) -> Said:
    tree = lxml_html.fromstring(markup)
    for mark in tree.xpath("//p[@data-fixed] | //section[@data-fixed]"):
        mark.drop_tree()
    for note in tree.xpath('//*[@class="note"]'):
        note.drop_tree()
    # What formulas tell holds for letters; a page made anew leaves it out where a value is negative.
    for section in tree.xpath('//section[h2[contains(., "What the formula tells")]]'):
        section.drop_tree()

    def texts(path: str) -> list[str]:
        return [re.sub(r"\s+", " ", e.text_content()).strip() for e in tree.xpath(path)]

    equations = texts('//*[@class="equation"]')
    return Said(
        texts('//*[@class="values"]//li'),
        texts('//*[@class="results"]'),
        [e for e in equations if not re.search("[=≈] ?0$", e)],
        [e for e in equations if re.search("[0-9].*[VAΩ].*[=≈] ?0$", e)],
        texts('//section[h2[contains(., "Check")]]//table[contains(thead, "change")]'),
        [t for t in texts("//table") if "power" in t],
        texts('//*[@class="caution"][not(@hidden)]'),
        texts('//section[h2[contains(., "What it means")]]/details/p'),
        texts('//section[h2[contains(., "Check")]]//figure[not(@hidden)]//*[@class="described"]/p'),
        sentences(tree),
    )


def sentences(tree: lxml_html.HtmlElement) -> set[str]:
    apart = "self::p[@class] or @hidden or ancestor::form or ancestor::*[@class='described']"
    found = [
        re.sub(r"\s+", " ", p.text_content()).strip() for p in tree.xpath(f"//p[not({apart})]")
    ]
    return {p for p in found if p}


EITHER_WAY = re.compile("was not used|On this walk the potential|Results are rounded once")
"""Sentences that depend on how long numbers are; each is true of all values."""


def agree(one: str, other: str) -> bool:
    """Tell whether two chains have the same sides, in order, with the same relations.

    A number too long to be read is left out of a chain; a page shows only kinds of sides that its
    file had. So one of two pages may show more sides, or each one that the other has not.
    """
    first, second = (re.split("(?=[=≈])", chain) for chain in (one, other))
    common = [side for side in first if side in second]
    same = common == [side for side in second if side in first]
    missing = len(first) - len(common), len(second) - len(common)
    return same and len(common) > 1 and (0 in missing or missing == (1, 1))


def fill(page: Page, values: dict[str, str]) -> None:
    names = page.evaluate(
        "JSON.parse(document.getElementById('recipes').textContent)"
        " && [...document.querySelectorAll('#values label > math:first-child')]"
        ".map((math) => math.textContent.replace('ℰ', 'E'))"
    )
    assert sorted(names) == sorted(values)
    for place, name in enumerate(names):
        page.fill(f'[data-input="{place}"]', values[name])


def compare(browser: Browser, path: Path, scene: str, seed: int, rounds: int) -> None:
    rng = random.Random(f"{scene} {seed}")
    with opened(browser, page_of(written(scene, values_of(scene, rng))), path) as page:
        assert page.locator('[data-fixed="unlike"]').count() == 0
        before = said(page.content())
        for _ in range(rounds):
            values = values_of(scene, rng)
            fill(page, values)
            content, anew = page.content(), page_of(written(scene, values))
            assert heights(content) == pytest.approx(heights(anew), abs=0.003), values
            live, fresh = said(content), said(anew)
            assert len(live.equations) == len(fresh.equations), values
            for one, other in zip(live.equations, fresh.equations, strict=True):
                assert agree(one, other), values
            live.equations = fresh.equations
            if live.checks:
                assert live.checks != before.checks
            if any(sum_.endswith("≈0") for sum_ in live.checks):
                # Too long to be read: this page rounds, the other shows a table instead.
                assert not fresh.checks
                live.checks = []
            if not live.checks or not fresh.checks:
                # One of the pages has a table of rounded changes in its place.
                if live.changes and fresh.changes:
                    assert live.changes == fresh.changes, values
                live.checks = fresh.checks = []
                live.changes = fresh.changes = []
            told = live.sentences ^ fresh.sentences
            assert {s for s in told if not EITHER_WAY.search(s)} == set(), values
            live.sentences = fresh.sentences
            for said_live, said_anew in zip(astuple(live), astuple(fresh), strict=True):
                assert said_live == said_anew, values


@pytest.mark.parametrize("scene", sorted(SCENES))
def test_changed_values_give_the_page_of_the_changed_file(
    browser: Browser, tmp_path: Path, scene: str
) -> None:
    compare(browser, tmp_path / "page.html", scene, 1, 2)


@pytest.fixture
def charger(browser: Browser, tmp_path: Path) -> Iterator[Page]:
    with opened(browser, page_named("charging"), tmp_path / "page.html") as page:
        yield page


def main_of(page: Page) -> str:
    return page.evaluate(
        "document.querySelector('main').innerHTML.replace(/<form.*<\\/form>/s, '')"
    )


PAIR = {"E1": "6", "E2": "3", "r1": "1", "r2": "2", "R3": "5", "R4": "1", "C1": "1"}


@pytest.fixture
def pair(browser: Browser, tmp_path: Path) -> Iterator[Page]:
    with opened(browser, page_of(written("pair", PAIR)), tmp_path / "page.html") as page:
        yield page


def fresh_pair(values: dict[str, str]) -> str:
    return page_of(written("pair", values))


def test_terminal_voltages_are_explained_by_the_values_typed(pair: Page) -> None:
    for changed, told in (
        ({"E2": "12"}, ("higher", "lower")),
        ({"E1": "5", "E2": "5"}, ("lower", "lower")),
        ({"E2": "5"}, ("lower", "No current flows in ℰ2")),
        ({"E2": "0"}, ("lower", "The emf of ℰ2 is zero")),
        ({"E1": "-6", "E2": "-3"}, ("smaller in size", "larger in size")),
    ):
        values = {**PAIR, **changed}
        fill(pair, values)
        live, anew = (said(page).sentences for page in (pair.content(), fresh_pair(values)))
        assert {s for s in live ^ anew if not EITHER_WAY.search(s)} == set()
        for name, words in zip(("ℰ1", "ℰ2"), told, strict=True):
            assert any(words in s and name in s for s in live)


def test_cautions_follow_the_values_typed(pair: Page) -> None:
    for changed, told in (
        ({"E1": "100"}, "Never try a short circuit of ℰ1: "),
        ({"E1": "100", "r1": "11"}, "inside ℰ1"),
        ({"E1": "100", "R3": "1000"}, "C1 keeps its charge"),
        ({"E1": "10", "C1": "1e6"}, "more than 10 J"),
    ):
        values = {**PAIR, **changed}
        fill(pair, values)
        anew = said(fresh_pair(values)).caution
        assert said(pair.content()).caution == anew
        assert told in str(anew)


def test_a_verdict_that_other_values_may_change_says_so(pair: Page) -> None:
    verdict = pair.locator("p", has_text="Not to a resistor alone")
    assert not verdict.locator(".note").is_visible()
    fill(pair, {**PAIR, "E2": "6", "r2": "1"})
    assert verdict.locator(".note").is_visible()


def test_reset_brings_the_page_of_the_file_back(charger: Page) -> None:
    before = main_of(charger)
    charger.fill('[data-input="0"]', "3")
    assert main_of(charger) != before
    assert charger.locator("html.changed").count() == 1
    charger.click("button[type=reset]")
    charger.wait_for_selector("html:not(.changed)")
    assert main_of(charger) == before


def test_the_same_value_written_differently_is_no_change(charger: Page) -> None:
    before = main_of(charger)
    charger.fill('[data-input="0"]', "28/2")
    assert main_of(charger) == before


@pytest.mark.parametrize(
    ("place", "typed", "told"),
    [
        (0, "", "write a number"),
        (0, "twelve", "write a number"),
        (0, "1/0", "write a number"),
        (0, "1e99", "too large"),
        (0, "1.2.3", "write a number"),
        (0, "<b>", "write a number"),
        (2, "0", "more than zero"),
        (2, "-3", "more than zero"),
    ],
)
def test_what_cannot_be_used_is_refused(charger: Page, place: int, typed: str, told: str) -> None:
    charger.fill('[data-input="1"]', "11")
    before = main_of(charger)
    charger.fill(f'[data-input="{place}"]', typed)
    assert told in str(charger.text_content("[role=status]"))
    assert "still shows the last values" in str(charger.text_content("[role=status]"))
    assert charger.get_attribute(f'[data-input="{place}"]', "aria-invalid") == "true"
    assert main_of(charger) == before


TIED = """circuit "Ties that may vanish"
I1: A (-E1+) (R1) C
I2: A (-E2+) (R4) C
I3: C (R2) (R3) A
E1 = 5 V; E2 = 4 V; R2 = 3 ohm; R3 = 1 ohm
R1, R4 = R2 - R3
ask currents
"""


@pytest.mark.parametrize(
    ("typed", "told"), [("1", "no single solution"), ("0.5", "R1 would be negative")]
)
def test_a_circuit_that_cannot_be_is_refused(
    browser: Browser, tmp_path: Path, typed: str, told: str
) -> None:
    with opened(browser, page_of(TIED), tmp_path / "page.html") as page:
        page.fill('[data-input="0"]', "6")
        before = main_of(page)
        page.fill('[data-input="2"]', typed)
        assert told in str(page.text_content("[role=status]"))
        assert main_of(page) == before
        page.fill('[data-input="2"]', "2")
        assert page.locator("form.wrong").count() == 0


def test_every_number_of_the_charger_follows(charger: Page) -> None:
    assert charger.locator("[data-fixed]").count() == 0
    assert charger.locator(".note").count() == 0


def test_all_of_a_graph_drawn_anew_is_in_view(charger: Page) -> None:
    rng = random.Random(5)
    for _ in range(4):
        for place in range(6):
            charger.fill(f'[data-input="{place}"]', str(rng.randint(1, 40)))
        for figure in charger.locator("figure:has(path.line)").all():
            view = figure.locator("svg").bounding_box()
            assert view
            assert view["width"] > 200
            boxes = figure.locator("svg text").evaluate_all(
                "texts => texts.map(t => t.getBoundingClientRect()).map(b => [b.left, b.right])"
            )
            assert len(boxes) > 5
            for left, right in boxes:
                assert left >= view["x"] - 1
                assert right <= view["x"] + view["width"] + 1


def test_a_graph_that_says_nothing_is_left_out(charger: Page) -> None:
    charger.fill('[data-input="0"]', "0")
    charger.fill('[data-input="1"]', "0")
    assert charger.locator("figure:has(path.line)").count() == 2
    assert not any(f.is_visible() for f in charger.locator("figure:has(path.line)").all())
    assert charger.locator("p", has_text="both bars").count() == 0
    assert charger.locator("p", has_text="The power of every part:").count() == 1
    charger.click("button[type=reset]")
    charger.wait_for_selector("html:not(.changed)")
    assert all(f.is_visible() for f in charger.locator("figure:has(path.line)").all())


def test_an_open_description_stays_open(charger: Page) -> None:
    told = charger.locator("figure:has(path.line) .described").first
    told.locator("summary").click()
    charger.fill('[data-input="0"]', "9")
    assert told.get_attribute("open") is not None
    assert "At E1 it steps up by 9 V to 9 V." in (told.text_content() or "")


def test_what_does_not_follow_says_so(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, page_named("heating_mat"), tmp_path / "page.html") as page:
        notes = page.locator(".note").all()
        assert notes
        assert not any(note.is_visible() for note in notes)
        page.fill('[data-input="0"]', "9")
        assert all(note.is_visible() for note in notes)


def test_without_scripts_it_is_the_page_of_the_file(browser: Browser, tmp_path: Path) -> None:
    with opened(
        browser, page_named("charging"), tmp_path / "page.html", java_script_enabled=False
    ) as page:
        assert not page.is_visible("#values")
        assert page.is_visible("h1")
        # Folding needs no script.
        page.click("details.fold > summary >> nth=0")
        assert not page.is_visible("details.fold > p >> nth=0")


@pytest.mark.parametrize("name", NAMES)
def test_recipes_say_what_the_page_says(browser: Browser, tmp_path: Path, name: str) -> None:
    with opened(browser, page_named(name), tmp_path / "page.html") as page:
        assert page.locator('[data-fixed="unlike"]').count() == 0
        assert page.locator("#values").count() == (solved(name).live() is not None)
