"""Whether two pages say the same, item by item."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tests.page.items import Figure, Item, Page, Row, Run, Values
from tests.page.mathematics import Chain, Misread, Token, read


def differences(one: Page, other: Page) -> Iterator[str]:
    """Yield what one page says and the other does not, figures left out."""
    ours = [item for item in one.items if not isinstance(item, Figure)]
    theirs = [item for item in other.items if not isinstance(item, Figure)]
    for place, (here, there) in enumerate(zip(ours, theirs, strict=False)):
        if not same(here, there):
            yield f"item {place}: {here}\n    is not {there}"
            return
    if len(ours) != len(theirs):
        rest = (ours if len(ours) > len(theirs) else theirs)[min(len(ours), len(theirs))]
        yield f"{len(ours)} items and {len(theirs)}: only one has {rest}"


def same(here: Item, there: Item) -> bool:
    """Tell whether two items say the same; `there` may have a source in tokens."""
    if isinstance(here, Values) and isinstance(there, Values):
        return sorted(map(repr, here.chains)) == sorted(map(repr, there.chains))
    if isinstance(here, Row) and isinstance(there, Row):
        alike = here.chain == there.chain and here.number == there.number
        return alike and same_source(here.source, there.source)
    return here == there


def same_source(run: Run, other: Run | Sequence[Token]) -> bool:
    """Compare two sources without their white space, of which formulas have none."""
    if any(isinstance(piece, tuple) for piece in other):
        return _told_by(_squeezed(run), list(other))  # type: ignore[arg-type]
    return _squeezed(run) == _squeezed(other)  # type: ignore[arg-type]


def _squeezed(run: Run) -> list[str | Chain]:
    squeezed = ["".join(p.split()) if isinstance(p, str) else p for p in run]
    return [piece for piece in squeezed if piece]


def _told_by(pieces: list[str | Chain], tokens: list[Token]) -> bool:
    """Tell whether tokens spell a run: words letter by letter, formulas by what they say."""
    if not pieces:
        return not tokens
    first, *rest = pieces
    if isinstance(first, str):
        spelled = ""
        for place, token in enumerate(tokens):
            spelled += "".join(_spelled(token).split())
            if spelled == first:
                return _told_by(rest, tokens[place + 1 :])
            if not first.startswith(spelled):
                return False
        return False
    for end in range(1, len(tokens) + 1):
        try:
            found = read(tokens[:end])
        except Misread:
            continue
        if found == first and _told_by(rest, tokens[end:]):
            return True
    return False


def _spelled(token: Token) -> str:
    return token[0] if token[0] in ("(", ")") else str(token[1])
