"""Random circuit files: all kinds of parts, questions, names and looks, for pages to be read back.

The circuits are those of `tests.random_parts`; what is asked and how it is to look is drawn here.
Many files are refused, since a question may have no answer; that is no fault.
"""

from __future__ import annotations

import random
import re
from fractions import Fraction

from tests import random_parts
from tests.random_parts import Scene

_POINTS = (
    "A", "B", "G", "Q", "K_1", "K_2", "Mast", "Rail", "north_pole", "X'", "P12", "alpha", "Depot7",
)  # fmt: skip
_RENAMED = {
    "R1": ("R_load", "R'", "Rcoil", "Z_a", "rho_1"), "R2": ("R_b", "R''", "T1", "omega"),
    "E1": ("E_main", "E", "E'", "B1"), "E2": ("E_b", "U2"), "C1": ("C", "C_in"),
    "J1": ("J", "J_s"), "L1": ("L", "L_red"), "M1": ("M_a",), "S1": ("S",),
}  # fmt: skip
_LOOKS = (
    "decimal comma", "symbols emf italic", "symbols emf epsilon", "resistors zigzag", "figures 4",
    "figures 2", "figures 5", "batteries cells",
)  # fmt: skip


def random_file(rng: random.Random) -> str:
    """Return a circuit file."""
    if rng.random() < 0.35:
        text, scene = _plain(rng)
    else:
        scene = random_parts.scene(rng)
        if rng.random() < 0.25:
            scene = random_parts.with_dependent_sources(scene, rng)
        text = scene.text
    lines = text.splitlines()
    chance = rng.random()
    if chance < 0.25:
        lines = _letters(lines, rng, share=1.0 if rng.random() < 0.6 else 0.4)
    elif chance < 0.4:
        lines = _other_sizes(lines, rng)
    if rng.random() < 0.12:
        lines = _tolerances(lines, rng)
    if rng.random() < 0.12:
        lines = _switched(lines, rng)
    lines, inside = _internal(lines, rng)
    lines += _questions(scene, inside, rng)
    lines += [f'circuit "{rng.choice(["A shed", "Ω & 50 % of #1", "Two ~ lamps"])}"']
    lines += [look for look in _LOOKS if rng.random() < 0.15]
    if rng.random() < 0.1:
        lines += ["use method reduction", *rng.choice([[], ["use method branch currents"]])]
    return _renamed("\n".join(lines) + "\n", scene, rng)


def _plain(rng: random.Random) -> tuple[str, Scene]:
    """Return a circuit of few walks with batteries and resistors alone."""
    count = {"E": 0, "R": 0, "L": 0, "P": 0}
    made = Scene()

    def new(letter: str) -> str:
        count[letter] += 1
        return f"{letter}{count[letter]}"

    nodes = ["N1", "N2", "N3", "N4"][: rng.choice([2, 2, 2, 3, 4])]
    ends = [*zip(nodes, nodes[1:] + nodes[:1], strict=True)]
    ends += [tuple(rng.sample(nodes, 2)) for _ in range(rng.randint(0 if len(nodes) > 2 else 1, 2))]
    for place, (tail, head) in enumerate(ends):
        kinds = ["resistor"] * rng.choice([1, 1, 2])
        kinds += ["battery"] * (1 if not place else rng.choice([0, 0, 1]))
        kinds += ["lamp"] * (rng.random() < 0.15)
        rng.shuffle(kinds)
        points = [tail, *(new("P") for _ in kinds[1:]), head]
        made.walks[f"I{place + 1}"] = [
            random_parts.Part(
                kind, new({"battery": "E", "lamp": "L"}.get(kind, "R")), one, other,
                Fraction(rng.randint(1, 24), rng.choice([1, 1, 1, 2, 5, 10])), rng.random() < 0.7,
            )
            for kind, one, other in zip(kinds, points, points[1:], strict=False)
        ]  # fmt: skip
    return made.text, made


def _letters(lines: list[str], rng: random.Random, share: float) -> list[str]:
    """Leave values out, so that answers are in letters."""
    return [line for line in lines if " = " not in line or "*" in line or rng.random() > share]


def _other_sizes(lines: list[str], rng: random.Random) -> list[str]:
    """Give values other units: kΩ, mA, µF, and more digits."""
    units = {"ohm": ["kohm", "Mohm", "mohm"], "V": ["mV", "kV"], "A": ["mA", "uA"], "F": ["uF"]}
    chosen = {unit: rng.choice(others) for unit, others in units.items()}
    found = []
    for line in lines:
        name, equals, value = line.partition(" = ")
        number, _, unit = value.partition(" ")
        if equals and unit in chosen and "*" not in value:
            number = str(
                rng.choice([Fraction(number), Fraction(number) * 137, 47, "4.70", "0.330"])
            )
            line = f"{name} = {number} {chosen[unit]}"
        found.append(line)
    return found


def _tolerances(lines: list[str], rng: random.Random) -> list[str]:
    return [
        f"{line} ± {rng.choice(['5', '1', '0.1', '10'])} %"
        if " = " in line and "*" not in line and rng.random() < 0.3 and line.endswith(("ohm", "V"))
        else line
        for line in lines
    ]


def _switched(lines: list[str], rng: random.Random) -> list[str]:
    """Let a switch close or open, or put one into a walk."""
    found, done = [], False
    for line in lines:
        if ": " in line and not done:
            for word, event in (("(open ", "(closes "), ("(closed ", "(opens ")):
                if word in line:
                    line, done = line.replace(word, event, 1), True
                    break
        found.append(line)
    if not done:
        place = rng.choice([k for k, line in enumerate(found) if line.startswith("I")])
        head = found[place].rsplit(" ", 1)
        found[place] = f"{head[0]} PX ({rng.choice(['closes', 'opens'])} SX) {head[1]}"
    return found


def _internal(lines: list[str], rng: random.Random) -> tuple[list[str], list[str]]:
    """Give some batteries an internal resistance; return the lines and those batteries."""
    text, inside = "\n".join(lines), []
    for name, number in re.findall(r"\([-+](E(\d+))[-+]\)", text):
        if rng.random() < 0.3:
            text = re.sub(rf"\(([-+]){name}([-+])\)", rf"(\g<1>{name} r{number}\g<2>)", text)
            text += f"\nr{number} = {rng.choice(['0.5', '1/3', '2'])} ohm"
            inside.append(name)
    return text.splitlines(), inside


def _questions(scene: Scene, inside: list[str], rng: random.Random) -> list[str]:
    points = sorted({p for part in scene.parts for p in (part.tail, part.head)})
    named = {kind: [p.name for p in scene.parts if p.kind == kind] for kind in (
        "battery", "resistor", "lamp", "capacitor", "voltmeter", "ammeter", "open", "closed",
        "source",
    )}  # fmt: skip
    asked = ["ask currents"] if rng.random() < 0.7 else []
    one, other = rng.sample(points, 2)
    choices = [f"ask voltage {one} {other}", f"ask resistance {one} {other}", "ask reducible"]

    def part(kind: str, *templates: str) -> None:
        if named[kind]:
            for template in templates:
                choices.append(template.format(rng.choice(named[kind])))

    part("resistor", "ask power in {}", "ask current in {}", "ask voltage across {}")
    part("resistor", "ask energy in {} over 2 h", "ask charge through {} over 1.5 min")
    part("resistor", "ask matched load {}")
    named["real battery"] = inside
    part("real battery", "ask terminal voltage of {}", "ask efficiency of {}")
    part("real battery", "ask short circuit current of {}", "ask open circuit voltage of {}")
    part("battery", "ask power of {}")
    part("battery", "ask energy of {} over 3 h", "ask charge of {} over 90 min")
    part("capacitor", "ask charge on {}", "ask energy in {}", "ask voltage across {}")
    part("capacitor", "ask transient of {0}\ninitially V({0}) = 2 V")
    part("voltmeter", "ask reading of {}", "ask loading error of {}")
    part("ammeter", "ask reading of {}")
    part("open", "ask voltage across {}")
    part("source", "ask power of {}")
    part("lamp", "ask power in {0}\nrating {0} = 3 W")
    asked += rng.sample(choices, min(len(choices), rng.randint(1, 4)))
    if rng.random() < 0.15:
        asked += [f"ground {rng.choice(points)}", "ask potentials"]
    return asked


def _renamed(text: str, scene: Scene, rng: random.Random) -> str:
    """Give some points and parts names of other kinds."""
    names: dict[str, str] = {}
    points = sorted({p for part in scene.parts for p in (part.tail, part.head)})
    fresh = list(_POINTS)
    rng.shuffle(fresh)
    for point in points:
        if fresh and rng.random() < 0.4:
            names[point] = fresh.pop()
    for name, others in _RENAMED.items():
        if rng.random() < 0.25:
            names[name] = rng.choice(others)
    return re.sub(r"(?<![\w'])[A-Z][A-Z]?\d*(?![\w'(])", lambda m: names.get(m[0], m[0]), text)
