// The graphs of the check, drawn anew. One unit is a millimetre; y runs upwards until it is spelled.

const VOLT = [1, 0, 0], WATT = [2, -1, 0];
const MARGIN = 0.5, CLEARANCE = 0.3, APART = 1.5, HALF = 0.3, LINK = 0.3;

class Unreadable extends Error {}

const spell = (value) => {
  const text = value.toFixed(3).replace(/\.?0+$/, "");
  return text === "-0" ? "0" : text;
};
const place = ([x, y]) => `${spell(x)} ${spell(-y)}`;
const path = (points) => `M${points.map(place).join(" L")}`;
const line = (points, look) => `<path d="${path(points)}" ${look}/>`;
const floor = ({ n, d }) => (n - ((n % d) + d) % d) / d;
const share = (part, whole) => {
  const { n, d } = over(part, whole);
  return Number(n * 10n ** 15n / d) / 1e15;
};

function union(boxes) {
  return [0, 1, 2, 3].map((k) => (k < 2 ? Math.min : Math.max)(...boxes.map((box) => box[k])));
}
const overlap = (a, b, air) =>
  a[0] < b[2] + air && b[0] < a[2] + air && a[1] < b[3] + air && b[1] < a[3] + air;

// --- values and labels ---

// A value with its prefix, or an end of the graph: it has no room for powers of ten.
function worded({ digits, exponent, unit }) {
  const prefix = PREFIXES[exponent];
  if (prefix === undefined) throw new Unreadable();
  const [whole, decimals] = digits.replace("-", "").split(".");
  const minus = digits.startsWith("-") ? "−" : "";
  const marker = decimals ? (style.comma ? "," : ".") + decimals : "";
  return `${minus}${whole}${marker}\u2009${prefix}${NAMED[unit.join()]}`;
}
function widthOf({ digits, exponent }, type) {
  const signs = (digits.startsWith("-") ? type.minus : 0) + (digits.includes(".") ? type.marker : 0);
  return digits.replace(/\D/g, "").length * type.digit + signs + type.units[exponent];
}
function reachOf({ digits, exponent }, type) {
  if (PREFIXES[exponent] === undefined) throw new Unreadable();
  return type[digits.includes(".") ? "parts" : "whole"][exponent];
}

// Text that ends at a place, on a line.
const number = (value, [x, y], type) => `<text x="${spell(x)}" y="${spell(-y)}" text-anchor="end" `
  + `font-size="${spell(type.size)}" fill="${type.fill}">${worded(value)}</text>`;
// A label comes with its middle at the origin.
const put = (label, [x, y]) => `<g transform="translate(${spell(x)} ${spell(-y)})">${label.svg}</g>`;
const heightOf = (label) => label.above + label.below;

// A value in a description: three figures, no zeros at the end.
function amount(value, unit) {
  if (!value.n) return `0 ${NAMED[unit.join()]}`;
  const { digits, exponent } = rounded(value, unit, 3);
  const short = digits.includes(".") ? digits.replace(/\.?0+$/, "") : digits;
  const prefix = PREFIXES[exponent];
  if (prefix === undefined) throw new Unreadable();
  const told = short.replace("-", "−").replace(".", style.comma ? "," : ".");
  return `${told} ${prefix}${NAMED[unit.join()]}`;
}

// --- the potential against the place on a walk ---

function ticks(low, high) {
  const span = plus(high, minus(low)), power = magnitude(span);
  for (const exponent of [power - 1, power]) {
    for (const size of [1n, 2n, 5n]) {
      const step = times(ratio(size), tenTo(exponent)), found = [];
      for (let k = -floor(minus(over(low, step))); k <= floor(over(high, step)); k += 1n) {
        if (found.push(times(ratio(k), step)) > 5) break;
      }
      if (found.length <= 5) return found;
    }
  }
}

// One prefix for all values of an axis, and as many decimals.
function labelled(values, unit) {
  const most = values.map(abs).reduce((a, b) => (less(a, b) ? b : a));
  let exponent = 0;
  while (!less(most, tenTo(exponent + 3))) exponent += 3;
  while (most.n && less(most, tenTo(exponent))
    && !(exponent === 0 && !less(times(most, ratio(10n)), ONE))) exponent -= 3;
  const shown = values.map((value) => over(value, tenTo(exponent)));
  let decimals = 0;
  while (shown.some((value) => times(value, tenTo(decimals)).d !== 1n)) decimals += 1;
  return shown.map((value) => {
    const whole = `${times(abs(value), tenTo(decimals)).n}`.padStart(decimals + 1, "0");
    const split = decimals ? `${whole.slice(0, -decimals)}.${whole.slice(-decimals)}` : whole;
    return { digits: value.n ? (value.n < 0n ? "-" : "") + split : "0", exponent, unit };
  });
}

// The room of a line in small boxes.
function roomOf(points) {
  return points.slice(1).flatMap(([x, y], k) => {
    const [a, b] = points[k], level = a === x || b === y;
    const count = level ? 1 : Math.ceil(Math.abs(y - b) / LINK);
    return Array.from({ length: count }, (_, j) => {
      const xs = [a + (x - a) * j / count, a + (x - a) * (j + 1) / count];
      const ys = [b + (y - b) * j / count, b + (y - b) * (j + 1) / count];
      return [Math.min(...xs) - HALF, Math.min(...ys) - HALF,
        Math.max(...xs) + HALF, Math.max(...ys) + HALF];
    });
  });
}

// Places beside a rise or a fall: where text is pinned, to which side it goes off, and its lift.
function beside([x, y], [end, top], gap, height) {
  const rise = top - y, run = end - x, found = [], steep = Math.abs(rise) > run;
  if (Math.abs(rise) < 3) {
    found.push([(x + end) / 2, Math.max(y, top) + gap, 0, 1]);
    found.push([(x + end) / 2, Math.min(y, top) - gap, 0, -1]);
  }
  const sides = rise > 0 ? [-1, 1] : [1, -1];
  const near = steep ? [0.5] : [0.5, 0.4, 0.6, 0.3, 0.7];
  for (const shares of [near, [0.4, 0.6, 0.3, 0.7], [0.2, 0.8, 0.1, 0.9]]) {
    sides.forEach((side, k) => {
      for (const part of shares) {
        const at = [x + part * run, y + part * rise];
        if (steep) {
          const off = gap + Math.abs(run / rise) * height / 2;
          found.push([at[0] + side * off, at[1], side, 0]);
        } else {
          const lift = k ? -1 : 1;
          found.push([at[0] + side * gap * 0.6, at[1] + lift * gap * 0.9, side, lift]);
        }
      }
    });
  }
  const [high, low] = rise > 0 ? [[end, top], [x, y]] : [[x, y], [end, top]];
  for (const side of [0, -1, 1]) {
    found.push([high[0], high[1] + gap, side, 1], [low[0], low[1] - gap, side, -1]);
  }
  return found;
}

// The first place that is free and away from other labels, or else the one least covered.
function free(label, places, taken, labels) {
  const width = label.width, height = heightOf(label);
  let best = null;
  for (const [x, y, side, lift] of places) {
    const left = x - width * (1 - side) / 2, bottom = y - height * (1 - lift) / 2;
    const box = [left, bottom, left + width, bottom + height];
    let covered = labels.some((other) => overlap(box, other, APART)) ? 1e-9 : 0;
    for (const other of taken) {
      if (!overlap(box, other, CLEARANCE)) continue;
      covered += (Math.min(box[2], other[2]) - Math.max(box[0], other[0]) + CLEARANCE)
        * (Math.min(box[3], other[3]) - Math.max(box[1], other[1]) + CLEARANCE);
    }
    if (best === null || covered < best.covered) best = { box, covered };
  }
  return best.box;
}

function potentialGraph({ terms, graph }, known) {
  const changes = terms.map((term) => valueOf(term, known));
  const levels = [ZERO];
  for (const change of changes) levels.push(plus(levels[levels.length - 1], change));
  const low = levels.reduce((a, b) => (less(b, a) ? b : a));
  const high = levels.reduce((a, b) => (less(a, b) ? b : a));
  const span = plus(high, minus(low));
  if (!span.n) throw new Unreadable();
  const at = (level) => share(plus(level, minus(low)), span) * graph.height;
  const heights = levels.map(at), { stops, legs, pens, values } = graph;
  const end = stops[stops.length - 1][0];
  const marks = stops.map(([x, named], k) => [x, heights[k], named]).filter(([, , named]) => named);
  const curve = [[0, heights[0]]];
  legs.forEach((leg, k) => curve.push([leg.x[0], heights[k]], [leg.x[1], heights[k + 1]]));
  curve.push([end, heights[heights.length - 1]]);
  const lines = marks.slice(1).filter(([x]) => x > 0)
    .map(([x, y]) => [[[x, y], [x, graph.floor]], pens.guide]);
  lines.push([[[0, heights[0]], [end, heights[0]]], pens.start]);
  lines.push([[[0, graph.floor], [0, graph.height + graph.overhang]], pens.axis]);
  const round = ticks(low, high), items = [], labels = [];
  labelled(round, VOLT).forEach((value, k) => {
    const y = at(round[k]), [above, below] = reachOf(value, values);
    const right = -graph.tick - graph.toTick, half = (above + below) / 2;
    lines.push([[[-graph.tick, y], [0, y]], pens.axis]);
    items.push(number(value, [right, y - (above - below) / 2], values));
    labels.push([right - widthOf(value, values), y - half, right, y + half]);
  });
  lines.push([curve, pens.curve]);
  const dots = marks.map(([x, y]) => [x - graph.dot, y - graph.dot, x + graph.dot, y + graph.dot]);
  const rooms = lines.flatMap(([points]) => roomOf(points));
  const taken = [...graph.taken, ...labels, ...dots, ...rooms];
  legs.forEach(({ x, label }, k) => {
    const ends = [[x[0], heights[k]], [x[1], heights[k + 1]]];
    const box = free(label, beside(...ends, graph.gap, heightOf(label)), taken, labels);
    items.push(put(label, [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]));
    labels.push(box);
    taken.push(box);
  });
  const box = union([graph.box, ...taken]);
  const circle = ([x, y]) => `<circle cx="${spell(x)}" cy="${spell(-y)}" r="${graph.dot}" `
    + `class="dot" fill="${values.fill}"/>`;
  const told = [say("WALKED", { start: graph.start })];
  legs.forEach(({ name, ways, there }, k) => {
    const slots = { quantity: name, there, level: amount(levels[k + 1], VOLT),
      size: amount(abs(changes[k]), VOLT), way: ways[Number(changes[k].n > 0n)] };
    told.push(say(changes[k].n ? "CHANGED" : "UNCHANGED", slots));
  });
  told.push(say("BACK"));
  return {
    box: [box[0], box[1] - graph.air, box[2], box[3] + graph.air],
    body: [...lines.map(([points, look]) => line(points, look)), graph.backdrop,
      ...marks.map(circle), ...items].join("\n"),
    long: told.join(" "),
  };
}

// --- the balance of power ---

// The lines that rise at 45 degrees through a box; neighbouring boxes have the same ones.
function slanted([left, bottom, right, top], distance) {
  const found = [];
  for (let k = Math.floor((left - top) / distance) + 1; k * distance < right - bottom; k += 1) {
    const shift = k * distance;
    const start = Math.max(left, bottom + shift), end = Math.min(right, top + shift);
    found.push([[start, start - shift], [end, end - shift]]);
  }
  return found;
}
function hatched(box, use, graph) {
  const [left, bottom, right, top] = box;
  let lines = [];
  if (use === "heat") lines = slanted(box, graph.slanted);
  if (use === "charging") {
    lines = slanted(box, graph.crossed);
    lines = [...lines, ...lines.map((ends) => ends.map(([x, y]) => [left + right - x, y]))];
  }
  const fill = lines.length ? `<path d="${lines.map(path).join(" ")}" ${graph.pens.hatch}/>` : "";
  return `${fill}<rect x="${spell(left)}" y="${spell(-top)}" width="${spell(right - left)}" `
    + `height="${spell(top - bottom)}" ${graph.pens.area}/>`;
}

// Places in falling order, none nearer than a distance, moved as little as possible.
function spread(wanted, distance) {
  const blocks = [];
  wanted.forEach((y, k) => {
    let mean = y + k * distance, size = 1;
    while (blocks.length && blocks[blocks.length - 1][0] < mean) {
      const [before, count] = blocks.pop();
      mean = (before * count + mean * size) / (count + size);
      size += count;
    }
    blocks.push([mean, size]);
  });
  return blocks.flatMap(([mean, size]) => Array(size).fill(mean)).map((y, k) => y - k * distance);
}

function shares(known) {
  const found = { delivered: [], taken: [] };
  data.parts.forEach(([symbol, power, current, , source], k) => {
    const value = known.get(power);
    if (!value.n) return;
    const use = current === null && !source ? "heat" : value.n < 0n ? "charging" : "delivers";
    const side = use === "delivers" ? found.delivered : found.taken;
    side.push({ k, name: symbols[symbol][0], value: abs(value), use, source });
  });
  return found;
}

function powerBars({ graph }, known) {
  const { delivered, taken } = shares(known);
  if (!delivered.length || !taken.length) throw new Unreadable();
  const total = delivered.map((one) => one.value).reduce(plus, ZERO);
  const areas = [], lines = [], items = [], boxes = [], { values, pens, apart, breadth } = graph;
  const onLine = (label, left, base) => {
    const y = base + (label.above - label.below) / 2, half = heightOf(label) / 2;
    items.push(put(label, [left + label.width / 2, y]));
    boxes.push([left, y - half, left + label.width, y + half]);
  };
  [[-1, delivered], [1, taken]].forEach(([side, parts]) => {
    const ends = [side * apart / 2, side * (apart / 2 + breadth)].sort((a, b) => a - b);
    let above = ZERO;
    for (const part of parts) {
      const below = plus(above, part.value);
      const [top, bottom] = [above, below].map((p) => graph.height * (1 - share(p, total)));
      part.box = [ends[0], bottom, ends[1], top];
      areas.push(hatched(part.box, part.use, graph));
      boxes.push(part.box);
      above = below;
      part.label = graph.labels[part.k];
      part.shown = rounded(part.value, WATT);
      if (PREFIXES[part.shown.exponent] === undefined) throw new Unreadable();
    }
    const reaches = parts.flatMap(({ label, shown }) =>
      [[label.above, label.below], reachOf(shown, values)]);
    const [high, deep] = [0, 1].map((k) => Math.max(...reaches.map((reach) => reach[k])));
    const wanted = parts.map(({ box }) => (box[1] + box[3]) / 2);
    const names = Math.max(...parts.map(({ label }) => label.width));
    const widest = Math.max(...parts.map(({ shown }) => widthOf(shown, values)));
    const edge = side > 0 ? ends[1] : ends[0], near = edge + side * graph.leader;
    const left = side > 0 ? near + graph.line : near - graph.line - names - graph.space - widest;
    spread(wanted, high + deep + graph.air).forEach((y, k) => {
      const base = y - (high - deep) / 2, right = left + names + graph.space + widest;
      lines.push(line([[edge, wanted[k]], [edge + side * graph.leader * graph.bend, y], [near, y]],
        pens.line));
      onLine(parts[k].label, left, base);
      items.push(number(parts[k].shown, [right, base], values));
      boxes.push([left, base - deep, right, base + high]);
    });
  });
  for (const y of [0, graph.height]) lines.push(line([[-apart / 2, y], [apart / 2, y]], pens.level));
  const uses = ["heat", "charging"].filter((use) => taken.some((part) => part.use === use));
  const bySource = taken.some((part) => part.source);
  const wordOf = (use) => graph.words[use === "charging" && bySource ? "source" : use];
  const heads = [graph.words.delivered, wordOf(uses.length > 1 ? "taken" : uses[0])];
  const top = Math.max(...boxes.map((box) => box[3])) + graph.headGap;
  const base = top + Math.max(...heads.map((word) => word.below));
  const least = Math.min(...boxes.map((box) => box[1]));
  heads.forEach((word, k) => {
    onLine(word, (k ? 1 : -1) * (apart + breadth) / 2 - word.width / 2, base);
  });
  if (uses.length > 1) {
    const y = least - graph.headGap - graph.key / 2;
    const widths = uses.map((use) => graph.key + graph.air + wordOf(use).width);
    const [above, below] = ["above", "below"].map((reach) =>
      Math.max(...uses.map((use) => wordOf(use)[reach])));
    let x = -(widths.reduce((a, b) => a + b) + graph.betweenKeys) / 2;
    uses.forEach((use, k) => {
      const word = wordOf(use), half = graph.key / 2;
      const box = [x, y - half, x + graph.key, y + half];
      areas.push(hatched(box, use, graph));
      boxes.push(box);
      onLine(word, x + graph.key + graph.air, y - (above - below) / 2);
      x += widths[k] + graph.betweenKeys;
    });
  }
  const box = union(boxes);
  const piece = ({ name, value, use, source }) =>
    say(use === "charging" && !source ? "CHARGED" : "PIECE", { part: name, power: amount(value, WATT) });
  const pieces = (parts) => parts.map(piece).join("; ");
  const names = (parts) => listing(parts.map(({ name }) => name));
  return {
    box: [box[0], box[1] - graph.air, box[2], box[3] + graph.air],
    body: [...areas, ...lines, ...items].join("\n"),
    short: say("BARS", { delivered: names(delivered), taken: names(taken) }),
    long: [say("BARS_HIGH", { total: amount(total, WATT) }),
      say("DELIVERED", { pieces: pieces(delivered) }),
      say("TAKEN", { pieces: pieces(taken) })].join(" "),
  };
}

// Put a graph in the place of that of the file; one that cannot be read is left out.
function setGraph(figure, draw, recipe, known) {
  let drawn;
  try { drawn = draw(recipe, known); } catch (fault) {
    if (!(fault instanceof Unreadable)) throw fault;
    figure.hidden = true;
    return;
  }
  const svg = figure.querySelector("svg"), [left, bottom, right, top] = drawn.box;
  const width = right - left + 2 * MARGIN, height = top - bottom + 2 * MARGIN;
  const factor = (right - left) * data.scale / width;
  svg.setAttribute("viewBox", [left - MARGIN, -top - MARGIN, width, height].map(spell).join(" "));
  svg.setAttribute("width", `${spell(width * factor)}mm`);
  svg.setAttribute("height", `${spell(height * factor)}mm`);
  svg.querySelector("g").innerHTML = `\n${drawn.body}\n`;
  if (drawn.short) svg.querySelector("title").textContent = drawn.short;
  figure.querySelector(".described p").textContent = drawn.long;
}

// What must be alike in two drawings of one graph: lines, areas, sentences and labels.
function graphShape(figure) {
  const numbers = [...figure.querySelectorAll("path.line, rect.area")]
    .flatMap((shape) => ["d", "x", "y", "width", "height"]
      .flatMap((name) => (shape.getAttribute(name) || "").match(/-?[\d.]+/g) || []).map(Number));
  const plain = (element) => element.textContent.replace(/\s+/g, " ").trim();
  const set = [...figure.querySelectorAll("text")].map(plain).sort();
  return { numbers, told: [plain(figure.querySelector("title")),
    plain(figure.querySelector(".described p")), ...set].join("\n") };
}
function sameGraph(one, other) {
  return one.told === other.told && one.numbers.length === other.numbers.length
    && one.numbers.every((value, k) => Math.abs(value - other.numbers[k]) < 0.002);
}
