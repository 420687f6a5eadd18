"""What every Typst page has in common: sizes, colours, and functions for the kinds of blocks.

Sizes are those of the LaTeX page, so that both look alike: `point` is a point of TeX.
"""

from __future__ import annotations

from derive.writers.svg import MARGIN
from derive.writers.tex_macros import COLOURS

_NAMES = {name.removeprefix("loopwalk"): value for name, value in COLOURS.items()}

_SIZES = """\
#let point = 72pt / 72.27
#let size = 10.95 * point
#let line = 13.6 * point
#let above = 9.5 * point
#let capital = 0.683em
#let roman = ("New Computer Modern", "New Computer Modern Math", "Libertinus Serif")
#let symbols = ("New Computer Modern Math", "New Computer Modern", "Libertinus Serif")
#set page(paper: "a4", margin: (x: 22.5mm, top: 20mm, bottom: 22mm), numbering: "1")
#set page(footer-descent: 22 * point)
#set text(font: roman, size: size, fallback: false)
#set par(justify: true, leading: line - 0.683 * size, spacing: line - 0.683 * size + 5 * point)
#set par(justification-limits: (
  spacing: (min: 66%, max: 150%), tracking: (min: -0.012em, max: 0.018em),
))
#set block(spacing: line - 0.683 * size + 5 * point)
#set heading(numbering: "1")
"""

_RULES = """\
#show title: set text(size: 17.28 * point)
#show title: set block(below: 8 * point)
#show title: set par(justify: false, leading: 10 * point)
#show heading: it => block(above: 21 * point, below: 12 * point, sticky: true, {
  set text(size: 12 * point, fill: tint)
  set par(justify: false, hanging-indent: 1.3em)
  counter(heading).display()
  h(0.7em)
  it.body
})
#show heading.where(numbering: none): it => block(
  above: 30 * point, below: 14 * point, sticky: true, width: 100%, {
    set text(size: 14.4 * point)
    set par(justify: false)
    it.body
    block(above: 8 * point, below: 0pt, std.line(length: 100%, stroke: 0.5 * point + faint))
  },
)
#show strong: set strong(delta: 0)
#show strong: set text(weight: 700)
#show math.equation: set text(font: symbols, weight: 400, fallback: false)
#show math.equation.where(block: true): set align(start)
#show figure.caption: set text(size: 9 * point)
"""

_MATHEMATICS = """\
#let plus = math.class("binary", sym.plus)
#let minus = math.class("binary", sym.minus)
#let times = math.class("binary", sym.dot.op)
#let cross = math.class("binary", sym.times)
#let parallel = math.class("relation", sym.parallel)
#let over = math.class("normal", sym.slash)
#let equals = math.class("relation", sym.eq)
#let approx = math.class("relation", sym.approx)
#let greater = math.class("relation", sym.gt)
#let less = math.class("relation", sym.lt)
#let differs = math.class("relation", sym.eq.not)
#let tends = math.class("relation", sym.arrow.r)
#let atmost = math.class("relation", sym.lt.eq)
#let kern = h(0.08em)
#let slanted(letter) = text(font: "New Computer Modern", style: "italic", letter)
#let formula(says, it) = math.equation(alt: says, it.body)
#let whole(says, it) = box(formula(says, it))
#let after = h(5em / 18, weak: true)
#let shown(says, it) = box(
  inset: (y: 3 * point), math.equation(alt: says, math.display(it.body)),
)
"""

_DISPLAY = """\
// Displayed equations: where their relations stand follows from how wide their sides are.
#let width(..pieces) = measure(math.equation(math.display(pieces.pos().join()))).width
#let tag-width(row) = if "tag" in row { measure(row.tag).width + 1em.to-absolute() } else { 0pt }
#let sizes(row) = {
  let left = width(row.left.body)
  let rights = row.lines.map(it => width(it.body))
  rights.at(0) = width(row.left.body, row.lines.at(0).body) - left
  (left: left, right: calc.max(..rights), last: rights.last(), tag: tag-width(row))
}
// The width of the left sides, and where they begin: so that all stands in the middle of the
// line, or as far to the left of it as a tag needs.
#let place-of(all, room) = {
  let column = calc.max(..all.map(it => it.left))
  let middle = (room - column - calc.max(..all.map(it => it.right))) / 2
  let most = all.map(it => room - it.tag - column - it.last)
  (column, calc.max(0pt, calc.min(middle, ..most)))
}
#let strut = box(width: 0pt, height: line, baseline: line - above)
#let equation(row, column, start, gap, sticky) = {
  let lines = row.lines.map(it => $&$.body + it.body + strut)
  let indent = h(column - width(row.left.body))
  let long = lines.len() > 12
  set par(leading: (if "tall" in row { 7 } else { 3 }) * point)
  show math.equation: set block(breakable: long)
  block(
    above: gap, below: 0pt, inset: (left: start), width: 100%, breakable: long,
    sticky: sticky or "note" in row,
    math.equation(
      block: true, alt: row.says, number-align: end + bottom,
      numbering: if "tag" in row { _ => row.tag },
      indent + row.left.body + lines.join(linebreak()),
    ),
  )
  if "note" in row {
    block(above: 2 * point, below: 0pt, sticky: sticky, width: 100%, align(right, row.note))
  }
}
// Few equations stay together; of many, none is left alone at the end of a page or the start.
#let display(aligned: true, flush: false, rows) = block(
  above: 7 * point, below: 9 * point, width: 100%, breakable: rows.len() > 3,
  layout(room => {
    let all = rows.map(sizes)
    let common = place-of(all, room.width)
    let apart = false
    for (k, row) in rows.enumerate() {
      let (column, start) = if aligned { common } else { place-of((all.at(k),), room.width) }
      let start = if flush { 0pt } else { start }
      let gap = if not aligned { 9 } else if "tall" in row or apart { 7 } else { 3 }
      apart = "tall" in row or "note" in row
      equation(row, column, start, gap * point, k in (0, rows.len() - 2))
    }
  }),
)
"""

_BLOCKS = """\
#let source(body) = text(size: 9 * point, fill: tint, body)
// The name of a point that is words; they are text, whose lines may end between them.
#let place-name(words) = words
#let signed(body) = text(fill: tint, body)
#let rule(stroke) = std.line(length: 100%, stroke: stroke)
#let ruled = block(above: 6 * point, below: 14 * point, rule(0.5 * point + faint))
// As wide as the line: a block as wide as its words would not justify them.
#let held(body) = block(width: 100%, sticky: true, body)

#let drawn(alt: "", size: (), picture: "", labels: (), caption: none) = {
  let body = block(width: size.at(0), height: size.at(1), breakable: false, {
    place(top + left, dx: -margin, dy: -margin, image(
      bytes(picture), format: "svg", alt: alt,
      width: size.at(0) + 2 * margin, height: size.at(1) + 2 * margin,
    ))
    pdf.artifact(labels.map(((x, y, side, size, ink, display, it)) => {
      let room = 80mm
      let start = if side == left { 0mm } else if side == right { room } else { room / 2 }
      set text(size: size, fill: ink)
      set par(justify: false)
      let said = math.equation(alt: " ", if display { math.display(it.body) } else { it.body })
      place(top + left, dx: x - start, dy: y - 20mm, box(width: room, align(side, {
        box(width: 0pt, height: 20mm)
        box(said)
      })))
    }).join())
  })
  let fitted = layout(room => if size.at(0) <= room.width { body } else {
    scale(x: room.width / size.at(0) * 100%, y: room.width / size.at(0) * 100%, reflow: true, body)
  })
  block(breakable: false, width: 100%, {
    set align(center)
    fitted
    if caption != none {
      set text(size: 9 * point)
      block(above: 7 * point, caption)
    }
  })
}

// Narrow columns have no even edge at the right: the spaces of justified lines would gape.
#let beside(shares, at, ..sides) = block(above: 8 * point, below: 6 * point, {
  set par(justify: false)
  grid(columns: shares, align: at, column-gutter: 1fr, ..sides)
})

#let listed(columns, header, rows) = {
  set text(size: 10 * point)
  set par(justify: false, leading: 5 * point)
  let last = columns.len() - 1
  let inset = (x, y) => (
    left: if x == 0 { 0pt } else { 6 * point }, right: if x == last { 0pt } else { 6 * point },
    top: if y == 0 { 5 * point } else if y == 1 { 5.5 * point } else { 2.5 * point },
    bottom: if y == 0 or y == rows.len() { 5.5 * point } else { 2.5 * point },
  )
  let (widths, sides) = (columns.map(c => c.at(0)), columns.map(c => c.at(1)))
  show table: set block(breakable: rows.len() > 30)
  table(
    columns: widths, align: sides, stroke: none, inset: inset,
    table.hline(stroke: 0.9 * point),
    table.header(..header),
    table.hline(stroke: 0.55 * point),
    ..rows.flatten(),
    table.hline(stroke: 0.9 * point),
  )
}

#let given(columns, ..cells) = grid(
  columns: columns, column-gutter: 2em, row-gutter: line + 2 * point - capital, ..cells
)

#let answers(..pieces) = {
  set par(justify: false, leading: 3 * point)
  // Leading of its own: Typst lets what is tall stand out into the leading.
  let whole(it) = box(inset: (right: 1.8em), { set par(leading: 0pt); it; strut })
  // The gap after the last answer of a line may stand out at the right.
  pad(right: -1.8em, pieces.pos().map(whole).join(sym.zws))
}
#let remark(body) = h(1.8em) + box(body)

// What stands beside a title begins at one place on every line.
#let titled(title, ..lines) = context {
  let room = measure(title).width + 1.8em.to-absolute()
  let (first, ..others) = lines.pos()
  let beside = box(width: 0pt, h(-room) + box(title))
  pad(left: room, {
    answers(beside + first.at(0), ..first.slice(1))
    for pieces in others { answers(..pieces) }
  })
}

#let framed(ink, wash, body) = layout(room => {
  let stroke = 0.6 * point + ink
  let closed = block(
    width: room.width, inset: 8 * point, stroke: stroke, fill: wash, breakable: false, body,
  )
  if measure(closed).height < 170mm { closed } else {
    // A box too tall for a page is open at the sides, and may go on overleaf.
    block(sticky: true, rule(stroke))
    block(width: 100%, body)
    rule(stroke)
  }
})

#let caution(word, body) = block(
  width: 100%, inset: 6 * point, stroke: 1 * point, breakable: false, sticky: true,
  strong[#word.] + " " + body,
)
"""


def page() -> str:
    """Return the settings and functions of a page."""
    colours = "".join(f'#let {name} = rgb("{value}")\n' for name, value in _NAMES.items())
    margin = f"#let margin = {MARGIN}mm\n"
    return "".join([_SIZES, colours, margin, _RULES, _MATHEMATICS, _DISPLAY, _BLOCKS])
