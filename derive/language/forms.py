"""The kinds of statement, how each one looks, and which of them an unknown word is near to."""

from __future__ import annotations

import re

from derive.language.nearest import nearest
from derive.language.syntax import QuestionKind

FORMS = {
    "walk": "a walk reads: I1: A (-E1+) B (R1) C",
    "targets": "a value reads: R1, R4 = 2 ohm",
    "value": "a value reads: R1, R4 = 2 ohm ± 5 %",
    "rating": "a rating reads: rating L1 = 6 V, 3 W",
    "initially": "the voltage at the start reads: initially V(C1) = 2 V",
    "ask": "a question reads: ask currents, or: ask current in R1",
    "use loop": "a loop reads: use loop A B C A",
    "use junction": "a junction reads: use junction C",
    "use method": "a method reads: use method branch currents",
    "eliminate": "an order of elimination reads: eliminate I3, I1",
    "ground": "the point of zero potential reads: ground A",
    "uncharged": "capacitors that begin without charge read: uncharged C1, C2",
    "place": "a place reads: place A at 0 2",
    "symbols emf": "a symbol reads: symbols emf script",
    "resistors": "a symbol reads: resistors zigzag",
    "batteries": "a symbol reads: batteries cells",
    "bridge": "a shape reads: bridge diamond",
    "decimal": "a decimal sign reads: decimal comma",
    "figures": "significant figures read: figures 3",
    "circuit": 'a heading reads: circuit "Two lamps"',
    "title": 'a title reads: title "Two lamps"',
    "statement": 'a statement of the problem reads: statement "Find the currents."',
}
"""Every kind of statement with an example of it."""

QUESTIONS = tuple(
    kind.value
    for kind in QuestionKind
    if kind is QuestionKind.E24_VALUE_OF or not kind.value.endswith(" value of")
)
"""How questions begin; one of the series of preferred values stands for all of them."""

_OPENINGS = tuple(form for form in FORMS if form not in ("walk", "targets", "value"))


def form_of(text: str, offset: int) -> str:
    """Return the kind of statement an author is writing when something goes wrong at an offset.

    Empty when nothing tells.
    """
    words = " ".join(text.split())
    for opening in _OPENINGS:
        if re.match(re.escape(opening) + r"(?![\w'])(?! ?:)", words):
            return opening
    mark = re.search(r"[:=]", text[:offset])
    if mark is not None:
        return "walk" if mark.group() == ":" else "value"
    return "targets" if "=" in text or "," in text[:offset] else ""


def statement_hints(text: str) -> tuple[str, ...]:
    """Return what an author may have meant by a statement that begins like none."""
    words = re.findall(r"[^\W\d][\w']*", text)
    if words:
        if "=" in text and re.match(r"[^\W\d][\w']*\s+[^\W\d]", text):
            return ("names that share a value have commas between them: R1, R2 = 5 ohm",)
        firsts = {opening.split()[0]: None for opening in _OPENINGS}
        first = words[0] if words[0] in firsts else nearest(words[0], firsts)
        if first is not None:
            near = [opening for opening in _OPENINGS if opening.split()[0] == first]
            whole = nearest(" ".join([first, *words[1:2]]), near)
            return tuple(FORMS[opening] for opening in ([whole] if whole else near))
    return (FORMS["walk"], FORMS["value"], FORMS["ask"])


def question_hints(text: str) -> tuple[str, ...]:
    """Return the question an author may have meant, and all that there are."""
    every = f"questions are: {', '.join(QUESTIONS)}"
    words = re.findall(r"[^\W\d][\w']*", text)[1:]
    same = [question for question in QUESTIONS if words and question.split()[0] == words[0]]
    if same:
        return (f"did you mean: {' or '.join(_example(question) for question in same)}", every)
    phrases = (" ".join(words[:count]) for count in (3, 2, 1))
    near = next((found for phrase in phrases if (found := nearest(phrase, QUESTIONS))), None)
    return (every,) if near is None else (f"did you mean: {_example(near)}", every)


def _example(question: str) -> str:
    if question in ("reducible", "currents", "potentials"):
        return f"ask {question}"
    if question in ("voltage", "resistance"):
        return f"ask {question} B A"
    name = {"potential": "B", "power of": "E1", "terminal voltage of": "E1", "charge on": "C1",
            "reading of": "M1", "loading error of": "M1", "transient of": "C1",
            "energy in": "C1", "value of": "E2", "energy of": "E1", "charge of": "E1",
            "short circuit current of": "E1", "open circuit voltage of": "E1",
            "efficiency of": "E1"}.get(question, "R1")  # fmt: skip
    timed = question in ("energy of", "charge through", "charge of")
    return f"ask {question} {name}" + (" over 2 h" if timed else "")
