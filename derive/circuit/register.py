"""The names of a circuit file and what they stand for.

Points, parts, internal resistances and currents share one space of names, so that no sentence of
a solution can mean two things.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from enum import Enum

from derive.algebra.term import Symbol, capacitance, current, emf, resistance, source_current
from derive.circuit.complaints import Complaints
from derive.circuit.lookalikes import Setting, appearances
from derive.diagnostic import Note
from derive.language.nearest import nearest
from derive.language.syntax import (
    BatteryStop,
    CapacitorStop,
    CurrentSourceStop,
    Meter,
    MeterStop,
    Name,
    PartStop,
    PointStop,
    ResistorStop,
    SwitchStop,
    Walk,
)
from derive.source import Span

LONGEST_NAME = 40
MOST_PARTS = 200
MOST_POINTS = 1000


class Kind(Enum):
    """What a name stands for; the value is how a message calls it."""

    POINT = "a point"
    RESISTOR = "a resistor"
    LAMP = "a lamp"
    BATTERY = "a battery"
    INTERNAL = "an internal resistance"
    SOURCE = "a current source"
    SWITCH = "a switch"
    AMMETER = "an ammeter"
    VOLTMETER = "a voltmeter"
    CAPACITOR = "a capacitor"
    CURRENT = "a current"


RESISTORS = (Kind.RESISTOR, Kind.LAMP)
METERS = (Kind.AMMETER, Kind.VOLTMETER)
VALUED = (*RESISTORS, Kind.BATTERY, Kind.SOURCE, *METERS, Kind.CAPACITOR)
"""Parts with a quantity of their own name."""
PARTS = (*VALUED, Kind.SWITCH)


@dataclass(frozen=True, slots=True)
class Entry:
    """One known name."""

    name: str
    kind: Kind
    span: Span
    """Where it is named first."""
    battery: str = ""
    """For an internal resistance: whose it is."""

    @property
    def symbol(self) -> Symbol | None:
        """The quantity of this name; None for what has none. That of a meter is its resistance."""
        match self.kind:
            case Kind.RESISTOR | Kind.LAMP | Kind.INTERNAL | Kind.AMMETER | Kind.VOLTMETER:
                return resistance(self.name)
            case Kind.SOURCE:
                return source_current(self.name)
            case Kind.CAPACITOR:
                return capacitance(self.name)
            case Kind.BATTERY:
                return emf(self.name)
            case Kind.CURRENT:
                return current(self.name)
            case _:
                return None


class Register:
    """Every name of a file."""

    def __init__(
        self, walks: Iterable[Walk], complaints: Complaints, broken: frozenset[str]
    ) -> None:
        """Collect the names of the walks and complain of clashes.

        `broken` holds the words of statements that could not be read: a name among them may
        well be known there, so nobody complains of it.
        """
        self._complaints = complaints
        self._broken = broken
        self._entries: dict[str, Entry] = {}
        self._shown: dict[Hashable, Entry] = {}
        self.missing_currents = False
        """True while the currents of walks without a name are not known."""
        self.too_large = False
        for walk in walks:
            if walk.name is not None:
                self._add(walk.name, Kind.CURRENT)
            for stop in walk.stops:
                if isinstance(stop, PointStop):
                    self._add_point(stop.name)
                else:
                    self._add_part(stop)
        self._check_amounts()
        self._check_print()

    def __contains__(self, name: str) -> bool:
        """Tell whether a name is known."""
        return name in self._entries

    def of_kind(self, *kinds: Kind) -> tuple[Entry, ...]:
        """Return the names of some kinds, in file order."""
        return tuple(entry for entry in self._entries.values() if entry.kind in kinds)

    @property
    def spans(self) -> tuple[tuple[str, Span], ...]:
        """Where each name stands first, in file order."""
        return tuple((entry.name, entry.span) for entry in self._entries.values())

    def name_current(self, span: Span) -> str:
        """Add the current of a walk that had no name, and return the name it gets."""
        name = free_name("I", lambda candidate: self._is_taken(candidate, Kind.CURRENT))
        self._entries[name] = Entry(name, Kind.CURRENT, span)
        self._show(self._entries[name])
        return name

    def find(
        self,
        name: Name,
        wanted: str,
        kinds: tuple[Kind, ...],
        listed: tuple[Kind, ...] | None = None,
    ) -> Entry | None:
        """Return the entry of a name that should be of one of some kinds, or complain.

        `wanted` says in words what is wanted there, such as ``a part``; `listed` are the kinds to
        tell an author of, if not all.
        """
        entry = self._entries.get(name.text)
        if entry is not None and entry.kind in kinds:
            return entry
        if self._complaints.many:
            return None
        near = nearest(name.text, (known.name for known in self.of_kind(*kinds)))
        listed = listed or kinds
        if entry is not None:
            message = f"`{name.text}` is {entry.kind.value}, but {wanted} is needed here"
            self._complaints.error("wrong-kind", message, name.span, *self._hints(near, listed))
        elif not self._may_be_known(name.text, kinds):
            code = "unknown-" + wanted.split()[-1]
            message = f"`{name.text}` is not {wanted} of this circuit"
            self._complaints.error(code, message, name.span, *self._hints(near, listed))
        return None

    def get(self, name: str) -> Entry | None:
        """Return what a name stands for."""
        return self._entries.get(name)

    def _may_be_known(self, name: str, kinds: tuple[Kind, ...]) -> bool:
        unnamed = self.missing_currents and Kind.CURRENT in kinds and name.startswith("I")
        return name in self._broken or unnamed

    def _hints(self, near: str | None, kinds: tuple[Kind, ...]) -> tuple[str, ...]:
        if near is not None:
            return (f"did you mean `{near}`?",)
        known = [entry.name for entry in self.of_kind(*kinds)]
        if not known:
            return ()
        more = ", …" if len(known) > 12 else ""
        return (f"known here: {', '.join(known[:12])}{more}",)

    def _add_point(self, name: Name) -> None:
        known = self._entries.get(name.text)
        if known is None or known.kind is not Kind.POINT:
            self._add(name, Kind.POINT)

    def _add_part(self, stop: PartStop) -> None:
        kind = kind_of(stop)
        self._add(stop.name, kind)
        if isinstance(stop, BatteryStop) and stop.internal is not None:
            self._add(stop.internal, Kind.INTERNAL, stop.name.text)

    def _add(self, name: Name, kind: Kind, battery: str = "") -> None:
        if len(name.text) > LONGEST_NAME:
            self._complaints.error(
                "name-too-long",
                f"this name has {len(name.text)} characters; {LONGEST_NAME} is the most",
                name.span,
                "a short name reads better in a formula: R_load",
            )
        known = self._entries.get(name.text)
        if known is None:
            self._entries[name.text] = Entry(name.text, kind, name.span, battery)
        else:
            self._complain_of_clash(name, kind, known)

    def _complain_of_clash(self, name: Name, kind: Kind, known: Entry) -> None:
        note = Note(f"`{name.text}` is {known.kind.value} here", known.span)
        if kind is Kind.CURRENT and known.kind is Kind.CURRENT:
            self._complaints.error(
                "current-twice",
                f"two walks carry a current of the name `{name.text}`",
                name.span,
                f"give the second one another name, such as {self._free(name.text, kind)}",
                notes=(Note("the first walk of this name is here", known.span),),
            )
        elif kind in PARTS and known.kind in PARTS:
            self._complaints.error(
                "part-twice",
                f"the part `{name.text}` stands on the walks twice",
                name.span,
                f"each part has a name of its own; equal values are written {name.text}, "
                f"{self._free(name.text, kind)} = …",
                notes=(Note("it stands here for the first time", known.span),),
            )
        else:
            self._complaints.error(
                "name-clash",
                f"`{name.text}` cannot be {kind.value} too",
                name.span,
                "points, parts, internal resistances and currents have different names",
                notes=(note,),
            )

    def _free(self, name: str, kind: Kind) -> str:
        stem = name.rstrip("0123456789'") or name
        return free_name(stem, lambda candidate: self._is_taken(candidate, kind))

    def _is_taken(self, name: str, kind: Kind) -> bool:
        forms = (form for form, _ in appearances(name, _setting(kind)))
        return name in self._entries or any(form in self._shown for form in forms)

    def _check_amounts(self) -> None:
        bounds = ((PARTS, MOST_PARTS, "parts"), ((Kind.POINT,), MOST_POINTS, "points"))
        for kinds, most, noun in bounds:
            entries = self.of_kind(*kinds)
            if len(entries) > most:
                self.too_large = True
                self._complaints.error(
                    f"too-many-{noun}",
                    f"the circuit has {len(entries)} {noun}; {most} are the most",
                    entries[most].span,
                    "a derivation of that size could not be read; solve a piece of the circuit",
                )

    def _check_print(self) -> None:
        """Complain of names that a reader of the solution could not tell apart: R_x and Rx."""
        for entry in self._entries.values():
            found = self._show(entry)
            if found is not None:
                first, words = found
                self._complaints.error(
                    "names-look-alike",
                    f"`{first.name}` and `{entry.name}` {words}",
                    entry.span,
                    f"give one of them another name, such as {self._free(entry.name, entry.kind)}",
                    notes=(Note(f"`{first.name}` stands here", first.span),),
                )

    def _show(self, entry: Entry) -> tuple[Entry, str] | None:
        """Keep the forms of a name; return the first name that has one of them already, if any."""
        found = None
        for form, words in appearances(entry.name, _setting(entry.kind)):
            first = self._shown.setdefault(form, entry)
            if first is not entry and found is None:
                found = first, words
        return found


def _setting(kind: Kind) -> Setting:
    """Return how names of a kind are set."""
    settings = {Kind.POINT: Setting.POINT, Kind.BATTERY: Setting.BATTERY}
    return settings.get(kind, Setting.OTHER)


def kind_of(stop: PartStop) -> Kind:
    """Return what a part is."""
    match stop:
        case ResistorStop(lamp=lamp):
            return Kind.LAMP if lamp else Kind.RESISTOR
        case BatteryStop():
            return Kind.BATTERY
        case CurrentSourceStop():
            return Kind.SOURCE
        case SwitchStop():
            return Kind.SWITCH
        case MeterStop(meter=meter):
            return Kind.AMMETER if meter is Meter.AMMETER else Kind.VOLTMETER
        case CapacitorStop():
            return Kind.CAPACITOR


def free_name(stem: str, taken: Callable[[str], bool]) -> str:
    """Return the stem with the smallest number that makes a free name."""
    number = 1
    while taken(f"{stem}{number}"):
        number += 1
    return f"{stem}{number}"
