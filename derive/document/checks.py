"""What a result means, how it is checked, and where it calls for caution."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.term import (
    Symbol,
    capacitance,
)
from derive.analysis.hazards import Hazards, cells, find_hazards
from derive.analysis.laws import CHECK
from derive.circuit.elements import Battery
from derive.derivation.algebra import Define, PutInValues
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import JunctionRule, LoopRule
from derive.derivation.step import Conclude, Round
from derive.document import sought_told
from derive.document import wording as w
from derive.document.graphs import potential_figure, power_figure
from derive.document.laws_told import route
from derive.document.model import (
    Align,
    Block,
    Caution,
    Display,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    Relation,
    Row,
    SideBySide,
    SignedTerm,
    Table,
    Text,
)
from derive.document.phrase import joined, listing, paragraph, say
from derive.document.quantities import printed, unsigned
from derive.document.telling import Telling, chain, extended, is_readable, part_symbol
from derive.typesetting.style import Decimal, Expression

_WIDEST_BESIDE_SUM, _WIDEST_BESIDE_TABLE = 92, 110
"""mm; a wider graph stands below the sum of the changes, or below their table."""
_MOST_BESIDE = 5
"""Changes whose sum is short enough to stand in half a line."""
_MOST_BESIDE_BARS = 6
"""Powers whose sums are still short enough to stand in half a line."""

# --- what it means ------------------------------------------------------------------------------


def meaning(telling: Telling) -> Iterator[Block]:
    """Read the signs once: currents against their arrows, batteries that charge."""
    if not telling.full or not telling.has(Goal.POWER):
        return
    found = [(s, telling.rounded(s)) for s in telling.current_conclusions()]
    branch_currents = {branch.current for branch in telling.circuit.branches}
    sizes = [(s, r) for s, r in found if r is not None and s.symbol in branch_currents]
    negative = [(s, r) for s, r in sizes if r.rounded < 0]
    sentences: list[tuple[Inline, ...]] = []
    if telling.has(Goal.TRANSIENT):
        sentences.append(say(w.IN_THE_END))
    if len(negative) == 1:
        step, rounding = negative[0]
        sentences.append(_against(telling, step, rounding))
    elif negative:
        symbols_ = listing((Math(s.symbol) for s, _ in negative), w.AND)
        sentences.append(say(w.AGAINST_MANY, currents=symbols_))
    zero = [Math(s.symbol) for s, r in sizes if r.rounded == 0 and r.exact]
    if zero:
        template = w.ZERO if len(zero) == 1 else w.ZERO_MANY
        sentences.append(say(template, currents=listing(zero, w.AND)))
    if not negative and not zero:
        sentences.append(say(w.AS_DRAWN if len(sizes) > 1 else w.AS_DRAWN_ONE))
    sentences += [*sought_told.turned(telling), *_batteries(telling)]
    yield Paragraph(joined(sentences))


def _against(telling: Telling, step: Conclude, rounding: Round) -> tuple[Inline, ...]:
    branch = next(b for b in telling.circuit.branches if b.current == step.symbol)
    _, decimal = printed(rounding)
    # The only loop begins and ends at one point, which tells no direction.
    template = w.AGAINST_ROUND if branch.head == branch.tail else w.AGAINST_ONE
    return say(
        template, current=Math(step.symbol), start=Math(PointName(branch.head)),
        end=Math(PointName(branch.tail)), size=Math(unsigned(decimal)),
    )  # fmt: skip


def _batteries(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    """Say of each battery whether it delivers, is charged, or does neither.

    A source that depends on a current or a voltage is no cell that could be charged.
    """
    names = "delivers", "charged", "takes", "idle", "reversed", "turned"
    groups: dict[str, list[Math]] = {name: [] for name in names}
    for battery, out, power in _driven(telling):
        letter, depends = Math(battery.emf), telling.circuit.is_dependent(battery.emf)
        if out == 0:
            groups["idle"].append(letter)
        elif (power > 0) == (out > 0) and power:
            taking = "takes" if depends else "charged"
            groups["delivers" if power > 0 else taking].append(letter)
        elif power:
            groups["turned" if depends else "reversed"].append(letter)
    templates = {
        "delivers": (w.DELIVERS_ONE, w.DELIVERS_MANY),
        "charged": (w.CHARGED_ONE, w.CHARGED_MANY),
        "idle": (w.IDLE_ONE, w.IDLE_MANY),
        "reversed": (w.REVERSED_ONE, w.REVERSED_MANY),
        "takes": (w.TAKES_ONE, w.TAKES_MANY),
        "turned": (w.TURNED_ONE, w.TURNED_MANY),
    }
    for name, letters in groups.items():
        if letters:
            one, many = templates[name]
            sources = listing(letters, w.AND)
            yield say(one if len(letters) == 1 else many, sources=sources)
    others = groups["reversed"] + groups["takes"] + groups["turned"]
    alone = not telling.circuit.has_sources and not others
    if alone and len(groups["delivers"]) == 1 and groups["charged"]:
        yield _charges(telling, groups["delivers"][0], groups["charged"])


def _charges(telling: Telling, source: Math, charged: list[Math]) -> tuple[Inline, ...]:
    """Say that the only battery that delivers charges the others, and with what power."""
    if len(charged) > 1:
        return say(w.CHARGES_MANY, source=source, charged=listing(charged, w.AND))
    sizes: dict[str, Math] = {}
    for k in telling.ids(Goal.POWER, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        sizes[step.symbol.name] = Math(unsigned(printed(step)[1]))
    names = {
        Math(b.emf): f"Pd({b.name})" for b in telling.circuit.elements if isinstance(b, Battery)
    }
    return say(
        w.CHARGES_ONE,
        source=source,
        charged=charged[0],
        delivered=sizes[names[source]],
        stored=sizes[names[charged[0]]],
    )


def _driven(telling: Telling) -> Iterator[tuple[Battery, Fraction, Fraction]]:
    """Yield each battery, the current that leaves its + terminal, and the power it delivers."""
    flows = {s.symbol: telling.rounded(s) for s in telling.current_conclusions()}
    powers = {}
    for k in telling.ids(Goal.POWER, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        powers[step.symbol.name] = step.rounded
    for branch in telling.circuit.branches:
        rounding = flows[branch.current]
        assert rounding is not None
        for passage in branch.passages:
            element = passage.element
            if isinstance(element, Battery):
                out = rounding.rounded if passage.along else -rounding.rounded
                yield element, out, powers[f"Pd({element.name})"]


# --- check --------------------------------------------------------------------------------------


def check(telling: Telling) -> Iterator[Block]:
    """Walk a loop that was not used, and balance the power."""
    graph = potential_figure(telling) if telling.full else None
    yield from _check_loop(telling, graph)
    if telling.has(Goal.POWER):
        yield from _power(telling)
    elif telling.full and telling.circuit.branches:
        yield from _put_back(telling)


def _put_back(telling: Telling) -> Iterator[Block]:
    """Say into which equations the formulas were put back."""
    steps = telling.derivation.steps
    reduced = telling.has(Goal.WAY_BACK)
    if reduced or any(isinstance(step, LoopRule) for step in steps):
        single = len(telling.circuit.branches) == 1
        yield paragraph(w.PUT_BACK_ONE if single else w.PUT_BACK)
    elif any(isinstance(step, JunctionRule) for step in steps):
        yield paragraph(w.PUT_BACK_JUNCTIONS)


def _check_loop(telling: Telling, graph: Figure | None) -> Iterator[Block]:
    """Tell the walk of the check and show its graph; or the graph of the only loop there is."""
    stage = next(telling.stages(Goal.CHECK_LOOP), None)
    if stage is None:
        if graph is not None:
            yield paragraph(w.GRAPH_ONE)
            yield graph
        return
    rule = telling.step(stage.first)
    assert isinstance(rule, LoopRule)
    assert rule.name == CHECK
    values = next((s for k in stage.ids if isinstance(s := telling.step(k), PutInValues)), None)
    if values is None:
        return  # all in letters
    readable = is_readable(values.conclusion.left)
    told: Block
    if readable:
        told = Display((Row(chain(rule.conclusion)), Row(chain(values.conclusion))))
    else:
        told = _changes(telling, rule, stage)
    beside = graph is not None and _fits_beside(graph, rule, readable=readable)
    templates = _BESIDE_GRAPH if beside else _ALONE
    yield paragraph(templates[readable], path=route(telling, rule.loop))
    if graph is None:
        yield told
    elif beside:
        yield SideBySide((told,), (graph,), Fraction(45 if readable else 32, 100))
    else:
        yield told
        yield paragraph(w.GRAPH)
        yield graph


_ALONE = {True: w.UNUSED_LOOP, False: w.UNUSED_ROUNDED}
_BESIDE_GRAPH = {True: w.UNUSED_LOOP_GRAPH, False: w.UNUSED_ROUNDED_GRAPH}


def _fits_beside(graph: Figure, rule: LoopRule, *, readable: bool) -> bool:
    """Tell whether a graph finds room beside the changes: their sum, or else a table of them."""
    if readable:
        return graph.drawing.width <= _WIDEST_BESIDE_SUM and len(rule.crossings) <= _MOST_BESIDE
    return graph.drawing.width <= _WIDEST_BESIDE_TABLE


def _changes(telling: Telling, rule: LoopRule, stage: Stage) -> Table:
    """Return the changes on a walk with their rounded values."""
    roundings = (telling.step(k) for k in stage.ids)
    sizes = [step for step in roundings if isinstance(step, Round)]
    rows = []
    for crossing, step in zip(rule.crossings, sizes, strict=True):
        _, decimal = printed(step)
        rows.append(((SignedTerm(crossing.change),), (Math(decimal),)))
    header = ((Text(w.CHANGE),), (Text(w.VALUE),))
    return Table(header, tuple(rows), (Align.LEFT, Align.RIGHT), w.TABLE.format(name=rule.name))


def _power(telling: Telling) -> Iterator[Block]:
    rows = []
    sums: list[tuple[Symbol, Round]] = []
    powers: list[tuple[Symbol, Round]] = []
    for k in telling.ids(Goal.POWER, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        if "(" in step.symbol.name:
            powers.append((step.symbol, step))
        else:
            sums.append((step.symbol, step))
    if powers and not any(step.rounded for _, step in powers):
        return  # nothing delivers and nothing gets warm
    parts = _power_parts(telling)
    batteries = {battery.name for battery in cells(telling.circuit)}
    for symbol, step in powers:
        kind, part = symbol.name[:-1].split("(")
        _, decimal = printed(step)
        does = w.DOES_HEAT
        if kind == "Pd":
            takes = w.DOES_CHARGE if part in batteries else w.DOES_TAKE
            does = takes if step.rounded < 0 else w.DOES_DELIVER
        letter = Math(part_symbol(telling.circuit, part))
        row = ((letter,), (Text(does),), (Math(unsigned(decimal)),))
        rows.append((*row, (Math(parts[part]),)) if parts else row)
    if telling.full:
        words = (w.PART, w.DOES, w.POWER, w.SHARE)[: 4 if parts else 3]
        header = tuple((Text(word),) for word in words)
        columns = (Align.LEFT, Align.LEFT, Align.RIGHT, Align.RIGHT)[: len(words)]
        table = Table(header, tuple(rows), columns, w.POWER_SUMMARY)
        bars = power_figure(telling)
        if bars is not None:
            yield paragraph(w.POWER_TABLE_AND_BARS)
            told = tuple(_power_sums(telling, sums))
            beside = len(powers) <= _MOST_BESIDE_BARS
            yield SideBySide((table, *told) if beside else (table,), (bars,), Fraction(51, 100))
            if not beside:
                yield from told
            return
        yield paragraph(w.POWER_TABLE)
        yield table
    yield from _power_sums(telling, sums)


def _power_parts(telling: Telling) -> dict[str, Decimal]:
    """Return what part of the whole the power of each part is, by its name."""
    found = {}
    for k in telling.ids(Goal.SHARES, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        found[step.symbol.name.removeprefix("share(").removesuffix(")")] = printed(step)[1]
    return found


def _power_sums(telling: Telling, sums: list[tuple[Symbol, Round]]) -> Iterator[Block]:
    rows = []
    for k in telling.ids(Goal.POWER, Define):
        equation = telling.equation(k)
        last: list[tuple[Relation, Expression]] = []
        for symbol, step in sums:
            if symbol == equation.left:
                relation, decimal = printed(step)
                exact = telling.equation(step.premise).right
                if not step.exact and is_readable(exact):
                    last.append((Relation.EQUAL, exact))
                last.append((relation, decimal))
        rows.append(Row(extended(chain(equation), *last)))
    if rows:
        sources = telling.circuit.has_sources or telling.circuit.dependent
        yield paragraph(w.POWER_AGREES_SOURCES if sources else w.POWER_AGREES)
        yield Display(tuple(rows))


# --- cautions and answers -----------------------------------------------------------------------


def cautions(telling: Telling) -> Iterator[Block]:
    """Warn where the circuit can hurt someone."""
    yield from caution(find_hazards(telling.circuit, telling.derivation))


def caution(found: Hazards, *, one_state: bool = False) -> Iterator[Caution]:
    """Say what calls for caution; if so, that some of it holds in `one_state` only."""
    sentences: list[tuple[Inline, ...]] = []
    for template, parts in (
        (w.CAUTION_SHORT, found.shorted),
        (w.CAUTION_CHARGING, found.charged),
        (w.CAUTION_HEAT, found.hot),
        (w.CAUTION_HEAT_INSIDE, found.hot_inside),
        (w.CAUTION_RATING, found.over),
    ):
        if parts:
            sentences.append(say(template, parts=listing((Math(s) for s in parts), w.AND)))
    if found.high_voltage:
        sentences.append(say(w.CAUTION_VOLTAGE))
    for high, amount in ((True, w.STORED_VOLTS), (False, w.STORED_JOULES)):
        names = [s.capacitor for s in found.stored if s.high_voltage is high]
        if len(names) == 1:
            part = Math(capacitance(names[0]))
            sentences.append(say(w.CAUTION_STORED, part=part, amount=amount))
        elif names:
            holders = listing((Math(capacitance(name)) for name in names), w.AND)
            sentences.append(say(w.CAUTION_STORED_MANY, parts=holders, amount=amount))
    if sentences:
        if one_state:
            sentences.append(say(w.IN_ONE_STATE))
        yield Caution(joined((*sentences, say(w.CAUTION_LAST))))
