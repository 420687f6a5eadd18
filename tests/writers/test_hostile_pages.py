"""Pages of hostile circuits, and hostile values typed into live pages, in a real browser."""

import random
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from playwright.sync_api import Browser, Page

from derive.pipeline import solve
from derive.source import Source
from derive.writers import html, markdown
from tests.writers.browser import browser, opened

__all__ = ["browser"]

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TRIES = (
    "<script>alert(1)</script>", "</title><script>alert(2)</script>", "--><script>alert(3)</script>",
    "<img src=x onerror=alert(4)>", "<svg onload=alert(5)>", "' onmouseover=alert(6) x='",
    "</script><script>alert(7)</script>", "<iframe src=javascript:alert(8)>", "]]><script>alert(9)",
    "<a href=javascript:alert(10)>x</a>", "&lt;script&gt;alert(11)", "<style>*{display:none}</style>",
    "<meta http-equiv=refresh content=0>", "<base href=//example.org>", "<form action=//example.org>",
    "{name}", "$&", "${alert(12)}", "\\u003cscript>alert(13)", "<!--", "<math><mtext></math>",
    "[x](javascript:alert(14))", "![x](//example.org/x)", "<details open ontoggle=alert(15)>",
)  # fmt: skip
"""Common practice of those who test pages, no source."""
CIRCUIT = """\
circuit "{words}"
statement "{words}"
I1: script  (-E_alert r_x+)  B  (R_onload)  C
I2: C  (+E' r'-)  script
I': C  (R_x)  script
E_alert = 12 V; E' = 11 V; r_x, r' = 1 ohm; R_onload = 2 ohm; R_x = 3 ohm ± 5 %
ask currents
ask voltage script C
"""


def page_of(text: str) -> str:
    solution = solve(Source("hostile.circuit", text))
    return html.write(solution.document, solution.live())


HOSTILE = page_of(CIRCUIT.format(words=" ".join(TRIES)))


@contextmanager
def watched(browser: Browser, text: str, path: Path) -> Iterator[tuple[Page, list[str]]]:
    """Show a page; whatever it opens, asks for or stumbles over is listed."""
    with opened(browser, text, path) as page:
        seen: list[str] = []
        page.on("dialog", lambda dialog: (seen.append(dialog.message), dialog.dismiss()))
        page.on("popup", lambda other: seen.append(other.url))
        page.on("download", lambda file: seen.append(file.url))
        page.on("framenavigated", lambda frame: seen.append(frame.url))
        yield page, seen
        assert seen == []


def test_a_page_of_a_hostile_circuit(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    with watched(browser, HOSTILE, path) as (page, _):
        assert page.evaluate("document.scripts.length") == 2
        assert page.evaluate("document.querySelectorAll('style').length") == 1
        for place in ("h1", "title"):
            assert page.evaluate(f"document.querySelector('{place}').textContent") == " ".join(
                TRIES
            )
        wrong = """[...document.querySelectorAll('*')].filter((e) =>
            ['IMG', 'IFRAME', 'A', 'BASE', 'OBJECT', 'LINK', 'EMBED'].includes(e.tagName)
            || [...e.attributes].some((a) => a.name.startsWith('on') || /javascript:/i.test(a.value)
              && !['title', 'aria-label', 'content'].includes(a.name))).length"""
        assert page.evaluate(wrong) == 0
        # The page lives: what is typed is worked with, and nothing else happens.
        page.fill('[data-input="0"]', "24")
        assert page.locator("html.changed").count() == 1
        for element in page.locator("details.fold > summary").all():
            element.click()
        page.mouse.move(100, 100)


@contextmanager
def listening() -> Iterator[tuple[str, list[bytes]]]:
    """Give the address of a server and what it hears; Chromium may connect and then say nothing."""
    heard: list[bytes] = []

    def listen(server: socket.socket) -> None:
        while True:
            caller, _ = server.accept()
            said = b""
            with caller, suppress(OSError):
                caller.settimeout(1)
                said = caller.recv(1000)
            if said == b"enough":
                return
            heard.extend([said] if said else [])

    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=listen, args=(server,))
        thread.start()
        yield f"http://127.0.0.1:{server.getsockname()[1]}", heard
        with socket.create_connection(server.getsockname()) as last:
            last.sendall(b"enough")
        thread.join()


def test_what_is_asked_for_would_be_heard(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text("<!DOCTYPE html><title>no policy</title>", "utf-8")
    page = browser.new_context().new_page()
    page.goto((tmp_path / "page.html").as_uri())
    with listening() as (place, heard):
        page.evaluate("(place) => { new Image().src = `${place}/x.png`; }", place)
        page.wait_for_timeout(400)
    assert heard
    assert heard[0].startswith(b"GET /x.png")
    page.context.close()


def test_the_policy_stops_what_got_in_all_the_same(browser: Browser, tmp_path: Path) -> None:
    """As if an escape had been forgotten: no script runs and nothing is asked for."""
    path = tmp_path / "page.html"
    path.write_text(HOSTILE, "utf-8")
    page = browser.new_context().new_page()
    told: list[str] = []
    page.on("dialog", lambda dialog: (told.append(dialog.message), dialog.dismiss()))
    page.goto(path.as_uri())
    with listening() as (place, heard):
        page.evaluate(GOT_IN, place)
        page.wait_for_timeout(400)
    assert heard == []
    assert page.evaluate("window.ran") == 0
    assert page.evaluate("getComputedStyle(document.body).color") != "rgb(255, 0, 0)"
    assert told == []
    assert page.url == path.as_uri()
    page.context.close()


GOT_IN = """(place) => {
    window.ran = 0;
    const put = (text) => document.body.insertAdjacentHTML('beforeend', text);
    put(`<img src="${place}/x.png" onerror="window.ran = 1">`);
    put(`<iframe src="${place}/"></iframe><object data="${place}/o"></object>`);
    put(`<form id="out" action="${place}/"><button></button></form>`);
    put(`<link rel="stylesheet" href="${place}/x.css"><video src="${place}/v" autoplay></video>`);
    const script = document.createElement('script');
    script.textContent = 'window.ran = 2; alert(2)';
    const other = document.createElement('script');
    other.src = `${place}/x.js`;
    document.body.append(script, other);
    document.getElementById('out').requestSubmit();
    fetch(`${place}/fetched`).catch(() => {});
    const style = document.createElement('style');
    style.textContent = `body { background: url(${place}/b.png); color: red }`;
    document.head.append(style);
}"""


TYPED = (
    *TRIES, "1" * 100_000, "9" * 15, "-" * 5000, "1e15", "1e-15", "1e16", "1e999999999", "Infinity",
    "NaN", "-0", "+", "-", ".", ",", "e5", "1e", "0x10", "1_000", "1/0", "0/0", "1/-3", "1//2", "1/2/3",
    "--1", "+-1", "1,2,3", "٣", "１２", "²", "½", "\u202e12", "1\u202e2", "\0", "12\n34", " 7 ", "\ufeff8",
    "1\u200b2", "12n", "1n", "()=>1", "toString", "__proto__", "constructor", "[object Object]", "null",
    "undefined", "true", "999999999999/1", "1/999999999999", "0.000000000000001", "1e+5", "1E3", "%00",
)  # fmt: skip


TYPE = """async ([typed, fields]) => {
    const form = document.getElementById('values'), state = document.querySelector('[role=status]');
    const main = () => document.querySelector('main').innerHTML.replace(/<form.*<\\/form>/s, '');
    const before = main(), count = document.querySelectorAll('*').length, found = [];
    for (const [number, text] of typed.entries()) {
        const field = document.querySelector(`[data-input="${number % fields}"]`);
        field.value = text;  // as pasted
        field.dispatchEvent(new Event('input', { bubbles: true }));
        const wrong = form.classList.contains('wrong');
        if (state.childElementCount || !state.textContent) found.push([text, 'status']);
        if (wrong && main() !== before) found.push([text, 'changed']);
        form.reset();
        await new Promise((go) => setTimeout(go, 5));
        if (main() !== before || form.classList.contains('wrong')) found.push([text, 'not reset']);
    }
    if (document.querySelectorAll('*').length !== count) found.push(['', 'elements']);
    return found;
}"""


def test_hostile_values(browser: Browser, tmp_path: Path) -> None:
    """A value is used, or refused in words; the status says words and holds no element."""
    text = page_of((EXAMPLES / "charging.circuit").read_text("utf-8"))
    with watched(browser, text, tmp_path / "page.html") as (page, _):
        fields = page.locator("#values input").count()
        assert page.evaluate(TYPE, [list(TYPED), fields]) == []


def test_a_fault_of_the_page_leaves_no_mixture(browser: Browser, tmp_path: Path) -> None:
    """As if a number had no spelling: the page is that of the file again, and says so."""
    path = tmp_path / "page.html"
    path.write_text(page_of((EXAMPLES / "charging.circuit").read_text("utf-8")), "utf-8")
    page = browser.new_context().new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(path.as_uri())
    main = "document.querySelector('main').innerHTML.replace(/<form.*<\\/form>/s, '')"
    before = page.evaluate(main)
    page.evaluate(
        """() => {
        const own = Element.prototype.insertAdjacentHTML;
        let left = 5;
        Element.prototype.insertAdjacentHTML = function (...given) {
            if (!left--) throw new TypeError('broken');
            return own.apply(this, given);
        };
    }"""
    )
    page.fill('[data-input="0"]', "24")
    assert faults == ["broken"]
    assert page.evaluate(main) == before
    assert page.locator("html.changed").count() == 0
    assert "file" in str(page.text_content("[role=status]"))
    page.context.close()


def test_extreme_values_together(browser: Browser, tmp_path: Path) -> None:
    """The largest and the smallest numbers at once give a page in good time, or are refused."""
    text = page_of((EXAMPLES / "tram_line.circuit").read_text("utf-8"))
    rng = random.Random(3)
    with watched(browser, text, tmp_path / "page.html") as (page, _):
        fields = page.locator("#values input").count()
        for _ in range(2):
            for field in range(fields):
                typed = rng.choice(["1e15", "1e-15", "999999999999/7", "0.123456789012345", "3"])
                page.fill(f'[data-input="{field}"]', typed, timeout=5000)
            assert page.text_content("[role=status]")


@pytest.mark.parametrize("words", [" ".join(TRIES[k::5]) for k in range(5)])
def test_markdown_shown_with_its_html(words: str) -> None:
    """A renderer that lets HTML through finds our comment and our figures, nothing else."""
    told = markdown.write(solve(Source("hostile.circuit", CIRCUIT.format(words=words))).document)
    tokens = MarkdownIt("commonmark", {"html": True}).enable("table").parse(told)
    blocks = [token.content for token in tokens if token.type == "html_block"]
    assert blocks[0] == f"{told.splitlines()[0]}\n"
    assert all(block.startswith("<svg ") for block in blocks[1:])
    inner = {child.type for token in tokens for child in token.children or []}
    assert not inner & {"html_inline", "link_open", "image"}


def test_a_markdown_page_runs_nothing(browser: Browser, tmp_path: Path) -> None:
    told = markdown.write(
        solve(Source("hostile.circuit", CIRCUIT.format(words=" ".join(TRIES)))).document
    )
    page_text = MarkdownIt("commonmark", {"html": True}).enable("table").render(told)
    head = '<!DOCTYPE html><meta charset="utf-8"><title>x</title>'
    with watched(browser, head + page_text, tmp_path / "page.html") as (page, _):
        assert page.evaluate("document.scripts.length") == 0
        page.wait_for_timeout(200)
