"""Whether the tables of a page agree with the circuit and with the checked values."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.term import Symbol
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit, Hop, Loop
from derive.derivation.course import CourseAt
from derive.derivation.laws import LoopRule, PotentialRule
from derive.derivation.spread import Shares
from derive.derivation.step import Derivation
from tests.page import names
from tests.page.items import Item, Page, Prose, Run, Table
from tests.page.known import Known
from tests.page.mathematics import Chain, Tree
from tests.page.meaning import solved
from tests.page.worth import Worth, is_rounding, print_of, worth

Cells = tuple[Run, ...]


def faults(page: Page, circuits: list[tuple[Circuit, Derivation]], known: Known) -> Iterator[str]:
    """Yield what a table says otherwise than the circuits and their derivations."""
    checked = _Tables(circuits, known)
    before: Item | None = None
    for item in page.items:
        if isinstance(item, Table):
            for fault in checked.table(item, before):
                yield f"{[_words(cell) for cell in item.rows[0]]}: {fault}"
        if isinstance(item, Prose):
            before = item


def _words(cell: Run) -> str:
    return "".join(piece if isinstance(piece, str) else "…" for piece in cell)


def _tree(cell: Run) -> Tree:
    """Return the one side that is alone in a cell."""
    if len(cell) == 1 and isinstance(cell[0], Chain) and not cell[0].relations:
        return cell[0].sides[0]
    return ("number", "0") if cell == ("0",) else ("nothing",)


def _named(cell: Run) -> str:
    tree = _tree(cell)
    return tree[1] if tree[0] == "name" else ""


class _Tables:
    def __init__(self, circuits: list[tuple[Circuit, Derivation]], known: Known) -> None:
        self.circuits, self.known = circuits, known

    def table(self, table: Table, before: Item | None) -> Iterator[str]:
        header, *rows = table.rows
        match [_words(cell) for cell in header]:
            case ["part", "how we meet it", "change"]:
                yield from self._loop(rows, before)
            case ["part", "what it does", "power", *_]:
                yield from self._powers(rows)
            case ["part", "power", "rating", "what it does"]:
                yield from self._ratings(rows)
            case ["change", "value"]:
                yield from self._changes(rows)
            case ["result", "nominal", "least", "greatest"]:
                yield from self._ranges(rows)
            case ["part", "tolerance", *_]:
                yield from self._shares(header, rows)
            case ["time", "still to go", *_]:
                yield from self._course(header, rows)
            case ["quantity", "before", "after", "change"]:
                yield from self._states(rows)
            case ["point", "how we get there", "potential"]:
                yield from self._ways(rows)
            case ["part", "value", "next below", "next above", "nearest"]:
                yield from self._preferred(rows)
            case other:
                yield f"an unknown table {other}"

    # --- walks ----------------------------------------------------------------------------------

    def _loop(self, rows: list[Cells], before: Item | None) -> Iterator[str]:
        """Walk the loop in the circuit: its points, then every part as it is met."""
        found = before.run if isinstance(before, Prose) else ()
        title = re.match(r"Loop (\w+): ", found[0]) if found and isinstance(found[0], str) else None
        if title is None or not isinstance(found[1], Chain):
            yield f"a walk without a title: {found}"
            return
        told = [list(self._row(row)) for row in rows]
        for circuit, derivation in self.circuits:
            for step in derivation.steps:
                if isinstance(step, LoopRule) and step.name == title[1]:
                    walked = self._walked(circuit, step.loop)
                    points = _points(found[1].sides[0])
                    if told == walked and points == _stops(circuit, step.loop):
                        return
        yield f"no walk of the circuit: {told}"

    def _row(self, row: Cells) -> Iterator[object]:
        part, how, change = row
        yield _named(part)
        yield from (p if isinstance(p, str) else p.sides[0] for p in how)
        yield _tree(change)

    def _walked(self, circuit: Circuit, loop: Loop) -> list[list[object]]:
        """Return the rows of a table as they have to be."""
        rows: list[list[object]] = []
        for hop in loop.hops:
            branch = circuit.branches[hop.branch]
            passages = branch.passages if hop.along else branch.passages[::-1]
            carried: Tree = ("name", names.symbol(branch.current, self.known.emf))
            for passage in passages:
                met = []
                element = passage.element
                if isinstance(element, Battery):
                    met.append(self._emf(element.emf, passage.along == hop.along))
                resistance = element.resistance
                if resistance is not None:
                    met.append(self._resistance(resistance, carried, hop))
                rows += met if hop.along else met[::-1]
        return rows

    def _emf(self, symbol: Symbol, rises: bool) -> list[object]:
        letter: Tree = ("name", names.symbol(symbol, self.known.emf))
        how = "from − to +: a rise" if rises else "from + to −: a fall"
        return [letter[1], how, ("+" if rises else "-", letter)]

    def _resistance(self, symbol: Symbol, carried: Tree, hop: Hop) -> list[object]:
        letter: Tree = ("name", names.symbol(symbol, self.known.emf))
        drop: Tree = ("product", letter, carried)
        if hop.along:
            return [letter[1], "along the arrow of ", carried, ": a fall", ("-", drop)]
        return [letter[1], "against the arrow of ", carried, ": a rise", ("+", drop)]

    def _ways(self, rows: list[Cells]) -> Iterator[str]:
        """Follow the walk that gives the potentials."""
        rules = [
            (names.point(step.point), step)
            for _, derivation in self.circuits
            for step in derivation.steps
            if isinstance(step, PotentialRule)
        ]
        first, *others = rows
        grounds = {names.point(c.ground) for c, _ in self.circuits if c.ground is not None}
        if _named(first[0]) not in grounds or _tree(first[2]) != ("number", "0"):
            yield f"the walk does not begin at the ground: {first}"
        for point, how, _ in others:
            said = [p if isinstance(p, str) else p.sides[0] for p in how]
            if not any(
                point_of == _named(point) and said == self._way(rule) for point_of, rule in rules
            ):
                yield f"not a way to {point}: {said}"

    def _way(self, rule: PotentialRule) -> list[object]:
        start: Tree = ("name", names.point(rule.start))
        if not rule.crossings:
            return ["joined to ", start, ", no change"]
        told: list[object] = ["from ", start]
        for place, row in enumerate(rule.crossings):
            last = place == len(rule.crossings) - 1
            between = " through " if not place else " and " if last else ", "
            after: list[object]
            if row.current is not None:
                current: Tree = ("name", names.symbol(row.current, self.known.emf))
                after = [f" {'along' if row.along else 'against'} ", current]
            elif isinstance(row.change, Symbol) or getattr(row.change, "term", None) is not None:
                after = [" from − to +" if row.along else " from + to −"]
            else:
                after = [", where no current flows"]
            told += [between, ("name", names.symbol(row.quantity, self.known.emf)), *after]
        merged: list[object] = []
        for piece in told:
            if isinstance(piece, str) and merged and isinstance(merged[-1], str):
                merged[-1] += piece
            else:
                merged.append(piece)
        return merged

    # --- values ---------------------------------------------------------------------------------

    def _values(self, name: str) -> list[Worth]:
        return self.known.values.get(print_of(("name", name)), [])

    def _shows(self, cell: Run, name: str, *, size: bool = False) -> bool:
        """Tell whether a cell shows the value of a symbol, or its size."""
        shown = worth(_tree(cell)) if _tree(cell) != ("nothing",) else None
        if shown is None:
            return False
        for exact in self._values(name):
            value = abs(exact.value) if size else exact.value
            fits = exact.dimension == shown.dimension or not exact.value
            if fits and is_rounding(shown, value):
                return True
        return False

    def _powers(self, rows: list[Cells]) -> Iterator[str]:
        for part, does, power, *share in rows:
            looks = names.below(_named(part))
            name = f"P_{looks}"
            if not self._shows(power, name, size=True):
                yield f"{looks}: {power}"
            if share and not self._shows(share[0], f"s_{looks}"):
                yield f"{looks}: a share of {share[0]}"
            size = worth(_tree(power))
            sides = {
                value.value < 0
                for value in self._values(name)
                if size is not None and is_rounding(size, abs(value.value))
            }
            if {"delivers": False, "turns into heat": False}.get(str(does[0]), True) not in sides:
                yield f"{looks} {does[0]}"

    def _ratings(self, rows: list[Cells]) -> Iterator[str]:
        given = {
            names.quantity(rating.part): Fraction(_number(rating.power))
            for circuit, _ in self.circuits
            for rating in circuit.ratings
        }
        for part, power, rating, does in rows:
            name = _named(part)
            if not self._shows(power, f"P_{names.below(name)}"):
                yield f"{name}: {power}"
            shown = worth(_tree(rating))
            if shown is None or shown.value != given.get(name):
                yield f"{name} is not made for {rating}"
                continue
            takes = [value.value for value in self._values(f"P_{names.below(name)}")]
            if not any(_told_load(value, shown.value, str(does[0])) for value in takes):
                yield f"{name} {does[0]}"

    def _changes(self, rows: list[Cells]) -> Iterator[str]:
        for change, value in rows:
            exact, shown = solved(_tree(change), self.known), worth(_tree(value))
            if exact is not None and (shown is None or not is_rounding(shown, exact.value)):
                yield f"{change} is not {value}"

    def _ranges(self, rows: list[Cells]) -> Iterator[str]:
        for result, nominal, least, greatest in rows:
            name = _named(result)
            low, high = worth(_tree(least)), worth(_tree(greatest))
            if not self._shows(nominal, name):
                yield f"{name}: {nominal}"
            if low is None or high is None or (
                print_of(("name", name)), low.value, high.value
            ) not in self.known.ranges:  # fmt: skip
                yield f"{name} from {least} to {greatest}"

    def _shares(self, header: Cells, rows: list[Cells]) -> Iterator[str]:
        steps = [
            step
            for _, derivation in self.circuits
            for step in derivation.steps
            if isinstance(step, Shares)
        ]
        for place, head in enumerate(header[2:], 2):
            own = [s for s in steps if names.symbol(s.symbol, self.known.emf) == _named(head)]
            # Where a switch changes there is one for each state.
            complaints = [list(self._column(step, rows, place)) for step in own]
            if not complaints or all(complaints):
                yield f"{head}: {complaints}"

    def _column(self, step: Shares, rows: list[Cells], place: int) -> Iterator[str]:
        shares = {names.symbol(s.letter, self.known.emf): s.shown for s in step.shares}
        ends = {
            "sum of the sizes": step.total_shown, "exactly, down": step.down,
            "exactly, up": step.up,
        }  # fmt: skip
        for row in rows:
            shown = worth(_tree(row[place])) if row[place] else None
            name, words = _named(row[0]), _words(row[0])
            wanted = shares.get(name) if name else ends.get(words)
            if (None if shown is None else shown.value) != wanted:
                yield f"{row[0]}: {row[place]}, not {wanted}"
            if shown is not None and shown.value and words != "sum of the sizes":
                if _tree(row[place])[0] != ("+" if shown.value > 0 else "-"):
                    yield f"a sign is missing: {row[place]}"

    def _course(self, header: Cells, rows: list[Cells]) -> Iterator[str]:
        steps: dict[tuple[str, int], list[Fraction]] = {}
        for _, derivation in self.circuits:
            for step in derivation.steps:
                if isinstance(step, CourseAt):
                    left = derivation.equation(step.course).left
                    assert isinstance(left, Symbol)
                    key = names.symbol(left, self.known.emf), step.time_constants
                    steps.setdefault(key, []).append(step.rounded)
        for count, row in enumerate(rows):
            time = _tree(row[0])
            wanted: Tree = ("name", "τ")
            wanted = [("number", "0"), wanted][count] if count < 2 else (
                "product", ("number", str(count)), wanted)  # fmt: skip
            if re.sub(r"τ[\w′]*", "τ", repr(time)) != repr(wanted):
                yield f"row {count} is {time}"
            left = Fraction(1)
            for _ in range(count):
                left /= Fraction("2.718281828459045235360287471")
            told = re.fullmatch(r"([\d.,]+) %", str(row[1][0]))
            if told is None or abs(Fraction(told[1].replace(",", ".")) / 100 - left) > Fraction(
                1, 2 * 100 * 10 ** len(told[1].partition(".")[2])
            ):
                yield f"still to go {row[1]}"
            for head, cell in zip(header[2:], row[2:], strict=True):
                shown = worth(_tree(cell))
                if shown is None or shown.value not in steps.get((_named(head), count), ()):
                    yield f"{head} after {count}: {cell}"

    def _states(self, rows: list[Cells]) -> Iterator[str]:
        before, after = (derivation for _, derivation in self.circuits)
        by_state = []
        for derivation in (before, after):
            known = Known(self.known.emf)
            known.add(derivation)
            by_state.append(known)
        for quantity, one, other, change in rows:
            looks = print_of(_tree(quantity))
            exact = [
                {(w.value, w.dimension) for w in known.values.get(looks, ())} for known in by_state
            ]
            shown = [worth(_tree(cell)) for cell in (one, other, change)]
            if any(w is None for w in shown):
                continue  # in letters; every chain has been compared
            first, last, moved = (w for w in shown if w is not None)
            if not any(is_rounding(first, value) for value, _ in exact[0]):
                yield f"{quantity} before: {one}"
            if not any(is_rounding(last, value) for value, _ in exact[1]):
                yield f"{quantity} after: {other}"
            differences = [b - a for a, _ in exact[0] for b, _ in exact[1]]
            if not any(is_rounding(moved, value) for value in differences):
                yield f"{quantity} changes: {change}"

    def _preferred(self, rows: list[Cells]) -> Iterator[str]:
        for part, value, below, above, nearest in rows:
            name = _named(part)
            exact = next(iter(self._values(name)), None)
            if exact is None:
                yield f"no value of {name}"
                continue
            shown = worth(_tree(value))
            if shown is None or not is_rounding(shown, exact.value):
                yield f"{name}: {value}"
            ends = []
            for cell, sign in ((below, -1), (above, 1)):
                end = worth(cell[0].sides[0]) if isinstance(cell[0], Chain) else None
                if end is None or (end.value - exact.value) * sign < 0:
                    yield f"{name}: {cell} on the wrong side"
                    continue
                ends.append(end.value)
                if len(cell) == 3 and isinstance(cell[1], str):
                    yield f"{name}: {cell}"
                if len(cell) > 1 and isinstance(cell[1], Chain | str):
                    off = next(p for p in cell[1:] if isinstance(p, Chain))
                    told = worth(off.sides[0])
                    apart = (end.value - exact.value) / exact.value
                    if told is None or not is_rounding(told, apart):
                        yield f"{name}: {cell} is off by {float(apart)}"
            close = worth(_tree(nearest))
            by_ratio = min(ends, key=lambda e: max(e / exact.value, exact.value / e), default=None)
            if close is None or close.value != by_ratio:
                yield f"{name}: nearest {nearest}"


def _number(value: object) -> Fraction:
    return getattr(value, "value", value)  # type: ignore[return-value]


def _told_load(power: Fraction, rating: Fraction, words: str) -> bool:
    over = "brighter" in words or "more" in words or "over" in words or "above" in words
    return (power > rating) == over


def _points(tree: Tree) -> list[str]:
    parts = tree[1:] if tree[0] == "product" else (tree,)
    return [part[1] for part in parts if part[0] == "name"]


def _stops(circuit: Circuit, loop: Loop) -> list[str]:
    """Return the points of a walk in the circuit, its first again at the end."""
    met: list[str] = []
    for hop in loop.hops:
        stations = circuit.branches[hop.branch].stations
        for points in stations if hop.along else stations[::-1]:
            for point in points if hop.along else points[::-1]:
                if met[-1:] != [point]:
                    met.append(point)
    return [names.point(point) for point in (met if met[0] == met[-1] else [*met, met[0]])]
