"""What a page needs for live numbers: fields for the values, and the recipes for its script."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import assert_never

from derive.algebra.dimension import Dimension, unit_of
from derive.algebra.term import (
    Exponential,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
)
from derive.circuit.valuation import Given, Valuation
from derive.document import wording as w
from derive.document.live import (
    BalanceRecipe,
    CautionRecipe,
    ChangesRecipe,
    LiveDocument,
    MeaningRecipe,
    PotentialRecipe,
    PowerBarsRecipe,
    PowersRecipe,
    PowerWordsRecipe,
    Recipe,
    RemarkRecipe,
    TerminalRecipe,
)
from derive.document.live_sides import (
    ChainRecipe,
    How,
    InputRecipe,
    PutIn,
    ZeroRecipe,
    battery_fraction,
)
from derive.document.model import Document, PointName
from derive.document.phrase import with_ties
from derive.typesetting.layout import Units
from derive.typesetting.style import Style
from derive.typesetting.terms import set_expression
from derive.writers import html_graphs, mathml
from derive.writers.html_blocks import FIGURE_SCALE
from derive.writers.html_marking import Json, Marking
from derive.writers.html_text import escape
from derive.writers.words import CAUTION, LIVE

_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


def controls(live: LiveDocument, document: Document) -> str:
    """Return the form for the values; it is hidden until a script that can use it shows it."""
    words = _words(document)
    fields = "\n".join(
        _field(place, valuation, document.style) for place, valuation in enumerate(live.live.inputs)
    )
    return (
        '<form id="values" class="live" hidden aria-labelledby="values-title">\n'
        f'<p class="invite"><strong id="values-title">{escape(words["title"])}.</strong> '
        f"{escape(words['invite'])}</p>\n"
        f'<div class="fields">\n{fields}\n</div>\n'
        f'<p class="state"><button type="reset" disabled>{escape(words["reset"])}</button>\n'
        '<span role="status" id="values-state"></span></p>\n</form>'
    )


def constant(document: Document) -> str:
    """Return the line of a page whose numbers do not follow."""
    return f'<p class="constant">{escape(_words(document)["constant"])}</p>'


def caution(marking: Marking, document: Document) -> str:
    """Return the place of a warning that other values may call for."""
    word = CAUTION.get(document.language, CAUTION["en"])
    mark = marking.mark(CautionRecipe())
    told = '<span class="told"></span>'
    return f'<p class="caution" role="note" hidden{mark}><strong>{word}.</strong> {told}</p>'


def _words(document: Document) -> dict[str, str]:
    return LIVE.get(document.language, LIVE["en"])


def _field(place: int, valuation: Valuation, style: Style) -> str:
    digits, exponent = written(valuation)
    letter = mathml.inline(valuation.symbol, style)
    unit = mathml.spell((Units(((_unit(valuation.symbol, exponent), 1),)),))
    shown = digits.replace(".", ",") if style.decimal_comma else digits
    return (
        f'<label>{letter}<span class="unseen"> = </span><input type="text" inputmode="decimal" '
        f'autocomplete="off" spellcheck="false" size="7" data-input="{place}" '
        f'value="{escape(shown)}"> <math>{unit}</math></label>'
    )


def written(valuation: Valuation) -> tuple[str, int]:
    """Return the digits of a given value and the power of ten of its unit's prefix."""
    assert isinstance(valuation.value, Given)
    if valuation.value.written is not None:
        return valuation.value.written
    return str(valuation.value.value), 0


def _unit(symbol: Symbol, exponent: int) -> str:
    return _PREFIXES[exponent] + unit_of(symbol.dimension)[0][0]


def payload(live: LiveDocument, marking: Marking, document: Document) -> Json:
    """Return what the script reads; it grows by the recipes that the marks have met."""
    coder = _Coder(document.style)
    told = live.told
    return {
        "style": {
            "comma": document.style.decimal_comma,
            "volt": document.style.volt_exponent,
            "ohm": document.style.ohm_exponent,
        },
        "figures": live.figures,
        "scale": FIGURE_SCALE,
        "inputs": [_input(coder, v) for v in live.live.inputs],
        "constants": [
            [coder.symbol(s), str(value)]
            for s, value in live.live.file.items()
            if s not in {v.symbol for v in live.live.inputs} | {s for s, _ in live.live.formulas}
        ],
        "formulas": [[coder.symbol(s), coder.term(t)] for s, t in live.live.formulas],
        "tied": [coder.symbol(s) for s in live.live.tied],
        "recipes": [coder.recipe(recipe) for recipe in marking.used],
        "branches": [
            [coder.symbol(c.symbol), coder.point(c.tail), coder.point(c.head)]
            for c in told.branches
        ],
        "walks": [coder.symbol(s) for s in told.walks],
        "parts": [
            [
                coder.symbol(part.letter),
                coder.symbol(part.power),
                None if part.current is None else coder.symbol(part.current),
                part.along,
                part.is_source,
                None if part.inside is None else coder.symbol(part.inside),
            ]
            for part in told.parts
        ],
        "levels": [[coder.term(term) for term in group] for group in told.levels],
        "kept": [[coder.symbol(c), coder.term(v)] for c, v in told.stored],
        "shorts": [
            [
                coder.symbol(short.emf),
                coder.symbol(short.current),
                None if short.voltage is None else coder.term(short.voltage),
            ]
            for short in told.shorts
        ],
        "large": str(live.large),
        "stored": str(live.stored),
        "hot": str(live.hot),
        "high": str(live.high),
        "templates": {name: with_ties(getattr(w, name)) for name in _TEMPLATES}
        | html_graphs.TEMPLATES,
        "words": dict(_words(document)),
        "symbols": coder.symbols,
    }


_TEMPLATES = (
    "AND", "AGAINST_ONE", "AGAINST_ROUND", "AGAINST_MANY", "ZERO", "AS_DRAWN", "AS_DRAWN_ONE",
    "DELIVERS_ONE", "DELIVERS_MANY", "CHARGED_ONE", "CHARGED_MANY", "CHARGES_ONE", "CHARGES_MANY",
    "IDLE_ONE", "IDLE_MANY", "REVERSED_ONE",
    "REVERSED_MANY", "REMARK_AGAINST", "REMARK_DRAWN", "CAUTION_CHARGING", "CAUTION_HEAT",
    "CAUTION_VOLTAGE", "CAUTION_LAST", "DOES_DELIVER", "DOES_CHARGE", "DOES_TAKE",
    "DOES_HEAT", "CAUTION_STORED", "CAUTION_STORED_MANY", "STORED_VOLTS", "STORED_JOULES",
    "POWER_TABLE", "POWER_TABLE_AND_BARS", "CAUTION_SHORT", "CAUTION_HEAT_INSIDE",
    "TERMINAL_IDLE", "TERMINAL_DELIVERS",
    "TERMINAL_CHARGED", "TERMINAL_NO_EMF", "TERMINAL_TURNED_DELIVERS", "TERMINAL_TURNED_CHARGED",
)  # fmt: skip


def _input(coder: _Coder, valuation: Valuation) -> Json:
    digits, exponent = written(valuation)
    assert isinstance(valuation.value, Given)
    return {
        "symbol": coder.symbol(valuation.symbol),
        "digits": digits,
        "exponent": exponent,
        "written": valuation.value.written is not None,
        "positive": valuation.symbol.kind in (SymbolKind.RESISTANCE, SymbolKind.CAPACITANCE),
    }


@dataclass(frozen=True, slots=True)
class _Coder:
    """Numbers the symbols as they are met, and spells terms as lists."""

    style: Style
    places: dict[Symbol, int] = field(default_factory=dict)
    symbols: list[Json] = field(default_factory=list)

    def symbol(self, symbol: Symbol) -> int:
        if symbol not in self.places:
            self.places[symbol] = len(self.symbols)
            self.symbols.append(
                [symbol.name, mathml.inline(symbol, self.style), _powers(symbol.dimension)]
            )
        return self.places[symbol]

    def point(self, name: str) -> str:
        return mathml.inline(PointName(name), self.style)

    def term(self, term: Term) -> Json:
        match term:
            case Number(value):
                return ["n", str(value)]
            case Quantity(value, dimension):
                return ["q", str(value), _powers(dimension)]
            case Symbol():
                return self.symbol(term)
            case Negative(inner):
                return ["-", self.term(inner)]
            case Sum(terms):
                return ["+", *map(self.term, terms)]
            case Product(factors):
                return ["*", *map(self.term, factors)]
            case Quotient(numerator, denominator):
                return ["/", self.term(numerator), self.term(denominator)]
            case Power(base, exponent):
                return ["^", self.term(base), exponent]
            case Parallel(terms):
                return ["|", *map(self.term, terms)]
            case Exponential():
                raise ValueError("a course in time follows no other values")
            case _:
                assert_never(term)

    def recipe(self, recipe: Recipe) -> Json:
        match recipe:
            case ChainRecipe():
                return {
                    "is": "chain",
                    "kept": recipe.kept,
                    "put": list(map(self.put_in, recipe.put_in)),
                    "value": self.term(recipe.value),
                    "unit": _powers(recipe.unit),
                    "exact": recipe.exact,
                    "always": recipe.always,
                    "rounded": recipe.rounded,
                    "letters": self._letters(recipe),
                }
            case ZeroRecipe(put):
                return {"is": "zero", "put": self.put_in(put)}
            case InputRecipe(symbol):
                return {"is": "input", "symbol": self.symbol(symbol)}
            case BalanceRecipe(delivered):
                return {"is": "balance", "delivered": delivered}
            case ChangesRecipe(terms):
                return {"is": "changes", "terms": list(map(self.term, terms))}
            case PowersRecipe():
                return {"is": "powers"}
            case PowerWordsRecipe():
                return {"is": "power words"}
            case MeaningRecipe():
                return {"is": "meaning"}
            case CautionRecipe():
                return {"is": "caution"}
            case RemarkRecipe():
                return {"is": "remark"}
            case TerminalRecipe(emf, inner, current, along):
                flow = None if current is None else self.symbol(current)
                battery = {"emf": self.symbol(emf), "inner": self.symbol(inner)}
                return {"is": "terminal", **battery, "current": flow, "along": along}
            case PotentialRecipe(walk):
                changes: list[Json] = [self.term(leg.label) for leg in walk.legs]
                drawn = html_graphs.potential(walk, self.style)
                return {"is": "potential", "terms": changes, "graph": drawn}
            case PowerBarsRecipe(parts):
                return {"is": "bars", "graph": html_graphs.bars(parts, self.style)}
            case _:
                assert_never(recipe)

    def _letters(self, recipe: ChainRecipe) -> Json:
        """Return what is shown where the numbers are too long to be read, and nothing else is."""
        first = next(iter(recipe.put_in), None)
        if recipe.kept > 1 or first is None or first.how is not How.LETTERS:
            return None
        return mathml.spell(set_expression(first.term, self.style))

    def put_in(self, put: PutIn) -> Json:
        if put.how is How.BATTERIES:
            return {"how": put.how.value, **dict(self._fraction(put.term))}
        if put.how is How.PRODUCTS:
            return {"how": put.how.value, "term": self.term(put.term), "unit": _powers(put.unit)}
        return {"how": put.how.value, "term": self.term(put.term)}

    def _fraction(self, term: Term) -> Iterator[tuple[str, Json]]:
        fraction = battery_fraction(term)
        assert fraction is not None
        rows: list[Json] = [
            [self.symbol(emf), self.term(term), _powers(unit)] for emf, term, unit in fraction.rows
        ]
        yield "rows", rows
        yield "below", None if fraction.below is None else self.term(fraction.below)
        yield "unit", _powers(fraction.unit_below)


def _powers(dimension: Dimension) -> Json:
    return [dimension.volt, dimension.ohm, dimension.second]
