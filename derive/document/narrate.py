"""From a checked derivation to a document: one section for each stage of the work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from derive.algebra.term import Equation, Negative, Number, Quotient, Term, number
from derive.analysis.reduction import judge
from derive.circuit.model import AskCurrents, AskReducible, Circuit, Loop
from derive.derivation.step import (
    BackSubstitute,
    ChooseUnknowns,
    Collect,
    Combine,
    Conclude,
    Define,
    Derivation,
    GivenValue,
    Isolate,
    JunctionRule,
    LoopRule,
    PowerBalance,
    PutInValues,
    Round,
    SameCurrent,
    Scaled,
    Step,
    StepId,
    Substitute,
)
from derive.document.model import (
    Align,
    AnswerLine,
    Block,
    Box,
    BoxKind,
    Caution,
    Chain,
    Display,
    Document,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    PointPath,
    Reference,
    Relation,
    Row,
    Section,
    SideBySide,
    SignedTerm,
    Strong,
    Style,
    Table,
    Text,
    Values,
)
from derive.document.quantities import printed
from derive.document.wording import (
    CAUTION_CHARGING,
    CAUTION_HEAT,
    CAUTION_VOLTAGE,
    HEADINGS,
    SUBTITLE,
    crossing,
    unknowns,
)
from derive.drawing.schematic import schematic
from derive.drawing.view import View


def narrate(circuit: Circuit, derivation: Derivation, style: Style, digest: str = "") -> Document:
    """Return the solution as a document. Every equation in it is a conclusion of a step."""
    teller = _Teller(circuit, derivation)
    sections = tuple(section for section in teller.sections() if section.blocks)
    return Document(circuit.title, SUBTITLE, sections, style, digest=digest)


def _text(text: str) -> tuple[Inline, ...]:
    return (Text(text),)


def _chain(equation: Equation) -> Chain:
    return Chain((equation.left, equation.right), (Relation.EQUAL,))


@dataclass
class _Teller:
    """Numbers the displayed equations while the sections are made, in reading order."""

    circuit: Circuit
    derivation: Derivation
    numbers: dict[StepId, int] = field(default_factory=dict)

    def sections(self) -> Iterator[Section]:
        yield Section((), self._opening())
        if any(isinstance(question, AskReducible) for question in self.circuit.questions):
            yield self._section("reduce", self._reducible())
        yield self._section("label", self._label())
        yield self._section("junctions", self._junctions())
        yield self._section("loops", self._loops())
        yield self._section("solve", self._solving())
        yield self._section("formula", self._formulas())
        yield self._section("numbers", self._values())
        yield self._section("further", self._further())
        yield self._section("check", self._check())
        yield Section((), tuple(self._cautions()))
        yield Section((), self._answers())

    def _section(self, key: str, blocks: tuple[Block, ...]) -> Section:
        return Section(_text(HEADINGS[key]), blocks)

    def _of(self, kind: type[Step]) -> Iterator[tuple[StepId, Step]]:
        for k, step in enumerate(self.derivation.steps):
            if isinstance(step, kind):
                yield k, step

    def _row(self, step: StepId, source: tuple[Inline, ...] = ()) -> Row:
        self.numbers[step] = len(self.numbers) + 1
        return Row(_chain(self.derivation.equation(step)), self.numbers[step], source)

    def _opening(self) -> tuple[Block, ...]:
        blocks: list[Block] = []
        if self.circuit.statement:
            blocks.append(Paragraph(_text(self.circuit.statement)))
        given = tuple(
            _chain(step.conclusion)
            for _, step in self._of(GivenValue)
            if isinstance(step, GivenValue)
        )
        if given:
            blocks.append(Values(given))
        figure = self._figure(View(loops=self._chosen()), "The circuit with its current arrows.")
        if figure.drawing.width > 100:
            return (*blocks, figure)
        return (SideBySide(tuple(blocks), (figure,), Fraction(42, 100)),)

    def _chosen(self) -> tuple[Loop, ...]:
        return tuple(step.loop for _, step in self._of(LoopRule) if isinstance(step, LoopRule))

    def _figure(self, view: View, short: str) -> Figure:
        caption = () if view.loop is None else _text(f"Loop {view.loop_name}")
        return Figure(schematic(self.circuit, view), caption, short, self._described())

    def _described(self) -> str:
        """Tell the figure in words, giving no result away."""
        told = []
        for branch in self.circuit.branches:
            parts = ", ".join(p.element.name for p in branch.passages) or "a wire"
            told.append(
                f"{branch.current.name} runs from {branch.tail} to {branch.head} through {parts}"
            )
        return "; ".join(told) + "."

    def _reducible(self) -> tuple[Block, ...]:
        verdict = judge(self.circuit)
        answer = "Yes. " if verdict.reducible else "No. "
        return (Paragraph((Strong(_text(answer)), Text(verdict.reason))),)

    def _label(self) -> tuple[Block, ...]:
        for _, step in self._of(ChooseUnknowns):
            assert isinstance(step, ChooseUnknowns)
            return tuple(
                Paragraph(_text(t)) for t in unknowns(step.branches, len(self.circuit.nodes)
                                                      if step.junctions else 0)
            )  # fmt: skip
        return ()

    def _junctions(self) -> tuple[Block, ...]:
        blocks: list[Block] = []
        for k, step in self._of(JunctionRule):
            assert isinstance(step, JunctionRule)
            words: list[Inline] = [Text("At "), Math(PointName(step.node)), Text(" ")]
            for flows, way in ((step.flows_in, "in"), (step.flows_out, "out")):
                words += _listed(flows)
                verb = "flow" if len(flows) > 1 else "flows"
                words.append(Text(f" {verb} {way}" if flows else f"nothing flows {way}"))
                words.append(Text(", " if way == "in" else ":"))
            blocks += [Paragraph(tuple(words)), Display((self._row(k),))]
        return tuple(blocks)

    def _loops(self) -> tuple[Block, ...]:
        blocks: list[Block] = []
        for k, step in self._of(LoopRule):
            assert isinstance(step, LoopRule)
            title = (Text(f"Loop {step.name}: "), Math(PointPath(self._path(step))))
            rows = []
            for row in step.crossings:
                before, after = crossing(is_emf=row.current is None, along=row.along)
                how: tuple[Inline, ...] = (Text(before),)
                if row.current is not None:
                    how = (Text(before), Math(row.current), Text(after))
                rows.append(((Math(row.quantity),), how, (SignedTerm(row.change),)))
            blocks.append(Paragraph((Strong(title),)))
            table = Table(
                (_text("part"), _text("how we meet it"), _text("change")),
                tuple(rows),
                (Align.LEFT, Align.STRETCH, Align.RIGHT),
                f"The potential changes met on the walk round loop {step.name}.",
            )
            view = View(loop=step.loop, loop_name=step.name, loops=self._chosen())
            figure = self._figure(view, f"The circuit with loop {step.name} set off.")
            if figure.drawing.width > 80:
                blocks += [figure, table]
            else:
                blocks.append(SideBySide((figure,), (table,), Fraction(40, 100)))
            blocks.append(Display((self._row(k),)))
        return tuple(blocks)

    def _path(self, rule: LoopRule) -> tuple[str, ...]:
        points: list[str] = []
        for hop in rule.loop.hops:
            branch = self.circuit.branches[hop.branch]
            stations = branch.stations if hop.along else tuple(reversed(branch.stations))
            for names in stations:
                for name in names if hop.along else tuple(reversed(names)):
                    if not points or points[-1] != name:
                        points.append(name)
        return tuple(points)

    def _solving(self) -> tuple[Block, ...]:
        """Show the work between the laws and the result, in the order it was done."""
        rows = []
        last = self._first_formula()
        for k, step in enumerate(self.derivation.steps):
            if k >= last:
                break
            match step:
                case Isolate() | Substitute() | Collect() | Combine() | BackSubstitute():
                    rows.append(self._row(k, self._source(step)))
                case PutInValues():
                    rows.append(self._row(k, self._source(step)))
                case _:
                    continue
        return (Display(tuple(rows)),) if rows else ()

    def _first_formula(self) -> int:
        """Return the step that opens the general formula, or the first conclusion."""
        for k, step in enumerate(self.derivation.steps):
            if isinstance(step, Define | Conclude | Round | SameCurrent):
                return k
        return len(self.derivation.steps)

    def _source(self, step: Step) -> tuple[Inline, ...]:
        match step:
            case Combine(parts=parts):
                return tuple(_combination(self._shown(parts)))
            case Substitute(premise=premise, definitions=used):
                return tuple(self._used(premise, used))
            case Collect(premise=premise):
                return tuple(self._used(premise, ()))
            case Isolate(premise=premise, definitions=used):
                return tuple(self._used(premise, used))
            case BackSubstitute(premise=premise, definitions=used):
                return tuple(self._used(premise, used))
            case PutInValues(premise=premise):
                return (Text("values in "), *self._used(premise, ()))
            case _:
                return ()

    def _shown(self, parts: tuple[Scaled, ...]) -> list[tuple[Term, int]]:
        return [(part.multiplier, self.numbers[part.premise]) for part in parts]

    def _used(self, premise: StepId, definitions: tuple[StepId, ...]) -> Iterator[Inline]:
        known = [self.numbers[k] for k in definitions if k in self.numbers]
        for position, found in enumerate(known):
            if position:
                yield Text(", ")
            yield Reference(found)
        if known:
            yield Text(" in ")
        if premise in self.numbers:
            yield Reference(self.numbers[premise])

    def _conclusions(self) -> Iterator[Conclude]:
        for _, step in self._of(Conclude):
            assert isinstance(step, Conclude)
            yield step

    def _formulas(self) -> tuple[Block, ...]:
        rows = [Row(_chain(step.conclusion)) for _, step in self._of(Define)
                if isinstance(step, Define)]  # fmt: skip
        for step in self._conclusions():
            if isinstance(step.question, AskCurrents) and step.formula is not None:
                rows.append(Row(_chain(self.derivation.equation(step.formula))))
        if not rows:
            return ()
        return (Box(BoxKind.FORMULA, (), (Display(tuple(rows)),)),)

    def _values(self) -> tuple[Block, ...]:
        rows = [
            Row(self._result(step, full=True))
            for step in self._conclusions()
            if isinstance(step.question, AskCurrents) and step.value is not None
        ]
        return (Display(tuple(rows)),) if rows else ()

    def _further(self) -> tuple[Block, ...]:
        rows = [
            Row(self._result(step, full=True))
            for step in self._conclusions()
            if not isinstance(step.question, AskCurrents)
        ]
        return (Display(tuple(rows)),) if rows else ()

    def _result(self, step: Conclude, *, full: bool) -> Chain:
        """Return ``I1 = formula = 17/12 A ≈ 1.42 A``, or only its end."""
        sides: list[object] = [step.symbol]
        relations: list[Relation] = []
        if full and step.formula is not None:
            sides.append(self.derivation.equation(step.formula).right)
            relations.append(Relation.EQUAL)
        rounded = None if step.rounded is None else self.derivation.steps[step.rounded]
        exact = isinstance(rounded, Round) and rounded.exact
        if step.value is not None and full and not exact:
            sides.append(self.derivation.equation(step.value).right)
            relations.append(Relation.EQUAL)
        if isinstance(rounded, Round):
            relation, decimal = printed(rounded)
            sides.append(decimal)
            relations.append(relation)
        elif not full and step.formula is not None:
            sides.append(self.derivation.equation(step.formula).right)
            relations.append(Relation.EQUAL)
        return Chain(tuple(sides), tuple(relations))  # type: ignore[arg-type]

    def _check(self) -> tuple[Block, ...]:
        for k, step in self._of(PowerBalance):
            assert isinstance(step, PowerBalance)
            return (
                Paragraph(_text("Power delivered by the batteries equals power taken in:")),
                Display((Row(_chain(self.derivation.equation(k))),)),
            )
        return (
            Paragraph(
                _text("The formulas were put back into every junction and loop equation; they fit.")
            ),
        )

    def _cautions(self) -> Iterator[Caution]:
        heat: list[Term] = []
        for _, step in self._of(PowerBalance):
            assert isinstance(step, PowerBalance)
            for k in step.taken:
                equation = self.derivation.equation(k)
                left = equation.left
                if getattr(left, "name", "").startswith("Pd("):
                    name = getattr(left, "name", "")[3:-1]
                    yield Caution(_text(name + CAUTION_CHARGING))
                elif getattr(equation.right, "value", Fraction(0)) > 5:
                    heat.append(left)
        for left in heat:
            yield Caution(_text(getattr(left, "name", "")[2:-1] + CAUTION_HEAT))
        emfs = [
            step.conclusion.right
            for _, step in self._of(GivenValue)
            if isinstance(step, GivenValue) and step.symbol.kind.value == "emf"
        ]
        if sum((getattr(e, "value", Fraction(0)) for e in emfs), Fraction(0)) > 60:
            yield Caution(_text(CAUTION_VOLTAGE))

    def _answers(self) -> tuple[Block, ...]:
        chains = tuple(self._result(step, full=False) for step in self._conclusions())
        if not chains:
            return ()
        return (Box(BoxKind.ANSWERS, _text("Answers"), (AnswerLine(chains, ()),)),)


def _listed(items: tuple[Term, ...]) -> list[Inline]:
    words: list[Inline] = []
    for k, item in enumerate(items):
        if k:
            words.append(Text(" and " if k == len(items) - 1 else ", "))
        words.append(Math(item))
    return words


def _combination(parts: list[tuple[Term, int]]) -> Iterator[Inline]:
    """Say ``3·(7) − 2·(8)``."""
    for k, (multiplier, equation) in enumerate(parts):
        negative = isinstance(multiplier, Negative)
        size = multiplier.term if isinstance(multiplier, Negative) else multiplier
        if k or negative:
            yield Text((" " if k else "") + ("−" if negative else "+") + (" " if k else ""))
        if size != number(1):
            yield Math(size)
            if isinstance(size, Number | Quotient):
                yield Text(" · ")
            else:
                yield Text(" ")
        yield Reference(equation)
