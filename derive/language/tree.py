"""From lark's tree to the syntax tree."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from unicodedata import normalize

from lark import Token, Tree

from derive.language import syntax
from derive.source import Span

_Node = Token | Tree[Token] | None


class Builder:
    """Builds the records of one statement that begins at an offset of the source."""

    def __init__(self, offset: int) -> None:
        """Remember where the statement begins."""
        self._offset = offset

    def statement(self, tree: Tree[Token]) -> syntax.Statement:
        """Return the record of a whole statement."""
        inner = tree
        while inner.data in ("start", "question", "choice", "look"):
            inner = _trees(inner)[-1]
        build: dict[str, Callable[[Tree[Token]], syntax.Statement]] = {
            "walk": self._walk,
            "value": self._value,
            "rating": self._rating,
            "initial": self._initial,
            "whole_question": self._ask,
            "part_question": self._ask,
            "point_question": self._ask,
            "pair_question": self._ask,
            "use_loop": self._use_loop,
            "use_junction": lambda t: syntax.UseJunction(self._names(t), self._span(tree)),
            "use_method": self._use_method,
            "eliminate": lambda t: syntax.Eliminate(self._names(t), self._span(tree)),
            "ground": lambda t: syntax.Ground(self._names(t)[0], self._span(tree)),
            "uncharged": lambda t: syntax.Uncharged(self._names(t), self._span(tree)),
            "place": self._place,
            "setting": self._setting,
            "figures": lambda t: syntax.Figures(
                self._number(_of_type(t, "DECIMAL")[0]), self._span(tree)
            ),
            "words": self._words,
        }
        return build[inner.data](inner)

    def _span(self, node: Token | Tree[Token]) -> Span:
        if isinstance(node, Token):
            start, end = node.start_pos, node.end_pos
        else:
            start, end = node.meta.start_pos, node.meta.end_pos
        return Span(self._offset + (start or 0), self._offset + (end or 0))

    def _name(self, token: Token) -> syntax.Name:
        return syntax.Name(normalize("NFC", str(token)), self._span(token))

    def _names(self, tree: Tree[Token]) -> tuple[syntax.Name, ...]:
        return tuple(self._name(token) for token in _of_type(tree, "NAME"))

    def _number(self, token: Token) -> syntax.NumberLiteral:
        return syntax.NumberLiteral("".join(str(token).split()), self._span(token))

    # Walks

    def _walk(self, tree: Tree[Token]) -> syntax.Walk:
        first = tree.children[0]
        name = self._name(first) if isinstance(first, Token) else None
        stops = tuple(self._stop(child) for child in _trees(tree))
        return syntax.Walk(name, stops, self._span(tree))

    def _stop(self, tree: Tree[Token]) -> syntax.Stop:
        names = self._names(tree)
        span = self._span(tree)
        match tree.data:
            case "point":
                return syntax.PointStop(names[0])
            case "plain_part":
                return syntax.ResistorStop(names[0], False, span)
            case "battery_rise" | "battery_fall":
                internal = names[1] if len(names) > 1 else None
                return syntax.BatteryStop(names[0], internal, tree.data == "battery_rise", span)
            case "source_along" | "source_against":
                return syntax.CurrentSourceStop(names[0], tree.data == "source_along", span)
            case _:
                return _worded_part(str(tree.children[0]), names[0], span)

    # Values

    def _value(self, tree: Tree[Token]) -> syntax.ValueStatement:
        targets, value, *rest = (child for child in tree.children if child is not None)
        assert isinstance(targets, Tree)
        letters = tuple(self._letter(child) for child in _trees(targets))
        tolerance = None
        for child in rest:
            assert isinstance(child, Tree)
            tolerance = self._number(_of_type(child, "DECIMAL")[0])
        read: syntax.Expression | syntax.Unknown
        if isinstance(value, Token):
            read = syntax.Unknown(self._span(value))
        else:
            read = self._expression(value)
        return syntax.ValueStatement(letters, read, tolerance, self._span(tree))

    def _rating(self, tree: Tree[Token]) -> syntax.Rate:
        amounts = tuple(self._expression(child) for child in _trees(tree))
        return syntax.Rate(self._names(tree), amounts, self._span(tree))

    def _initial(self, tree: Tree[Token]) -> syntax.Initially:
        value = self._expression(_trees(tree)[0])
        return syntax.Initially(self._names(tree)[0], value, self._span(tree))

    def _letter(self, tree: Tree[Token]) -> syntax.Letter:
        names = self._names(tree)
        if tree.data == "letter":
            return names[0]
        return syntax.VoltageName(names[0], names[1], self._span(tree))

    def _expression(self, tree: Tree[Token]) -> syntax.Expression:
        span = self._span(tree)
        match tree.data:
            case "letter" | "voltage":
                return self._letter(tree)
            case "sum":
                return self._sum(tree)
            case "product":
                return self._product(tree)
            case "multiple":
                number, factor = tree.children
                assert isinstance(number, Token)
                assert isinstance(factor, Tree)
                return syntax.Multiple(self._number(number), self._expression(factor), span)
            case _:
                number, *unit = (child for child in tree.children if isinstance(child, Token))
                word = syntax.Text(str(unit[0]), self._span(unit[0])) if unit else None
                return syntax.Measure(self._number(number), word, span)

    def _sum(self, tree: Tree[Token]) -> syntax.Expression:
        addends = []
        minus = False
        for child in tree.children:
            if isinstance(child, Token):
                minus = child.type == "MINUS"
            elif child is not None:
                addends.append(syntax.Addend(minus, self._expression(child)))
        if len(addends) == 1 and not addends[0].minus:
            return addends[0].expression
        return syntax.SumOf(tuple(addends), self._span(tree))

    def _product(self, tree: Tree[Token]) -> syntax.Expression:
        factors = []
        divides = False
        for child in tree.children:
            if isinstance(child, Token):
                divides = child.type == "OVER"
            elif child is not None:
                factors.append(syntax.Factor(divides, self._expression(child)))
        if len(factors) == 1:
            return factors[0].expression
        return syntax.ProductOf(tuple(factors), self._span(tree))

    # Questions, choices and looks

    def _ask(self, tree: Tree[Token]) -> syntax.Ask:
        # A short-circuit current is often written with a hyphen.
        words = " ".join(str(tree.children[0]).replace("-", " ").split())
        kind = syntax.QuestionKind(words)
        durations = [self._duration(child) for child in _trees(tree)]
        duration = durations[0] if durations else None
        return syntax.Ask(kind, self._names(tree), self._span(tree), duration)

    def _duration(self, tree: Tree[Token]) -> syntax.Duration:
        _, number, unit = _tokens(tree)
        word = syntax.Text(str(unit), self._span(unit))
        return syntax.Duration(self._number(number), word, self._span(tree))

    def _use_loop(self, tree: Tree[Token]) -> syntax.UseLoop:
        landmarks = tuple(
            syntax.Landmark(self._names(child)[0], child.data != "point") for child in _trees(tree)
        )
        return syntax.UseLoop(landmarks, self._span(tree))

    def _use_method(self, tree: Tree[Token]) -> syntax.UseMethod:
        names = self._names(tree)
        span = Span(names[0].span.start, names[-1].span.end)
        words = " ".join(name.text for name in names)
        return syntax.UseMethod(syntax.Text(words, span), self._span(tree))

    def _place(self, tree: Tree[Token]) -> syntax.Place:
        x, y = (self._coordinate(child) for child in _trees(tree))
        return syntax.Place(self._names(tree)[0], x, y, self._span(tree))

    def _coordinate(self, tree: Tree[Token]) -> syntax.Coordinate:
        tokens = [child for child in tree.children if isinstance(child, Token)]
        minus = tokens[0].type == "MINUS"
        return syntax.Coordinate(minus, self._number(tokens[-1]))

    def _setting(self, tree: Tree[Token]) -> syntax.Setting:
        words = " ".join(str(tree.children[0]).split())
        return syntax.Setting(syntax.SettingKind(words), self._names(tree)[0], self._span(tree))

    def _words(self, tree: Tree[Token]) -> syntax.Words:
        kind, text = _tokens(tree)
        words = normalize("NFC", " ".join(str(text)[1:-1].split()))
        return syntax.Words(
            syntax.WordsKind(str(kind)), syntax.Text(words, self._span(text)), self._span(tree)
        )


def _worded_part(word: str, name: syntax.Name, span: Span) -> syntax.PartStop:
    match word:
        case "lamp":
            return syntax.ResistorStop(name, True, span)
        case "open" | "closed":
            return syntax.SwitchStop(name, word == "closed", span)
        case "opens" | "closes":
            return syntax.SwitchStop(name, word == "closes", span, changes=True)
        case "capacitor":
            return syntax.CapacitorStop(name, span)
        case _:
            return syntax.MeterStop(name, syntax.Meter(word), span)


def _trees(tree: Tree[Token]) -> list[Tree[Token]]:
    return [child for child in tree.children if isinstance(child, Tree)]


def _tokens(tree: Tree[Token]) -> Iterator[Token]:
    return (child for child in tree.children if isinstance(child, Token))


def _of_type(tree: Tree[Token], kind: str) -> list[Token]:
    return [token for token in _tokens(tree) if token.type == kind]
