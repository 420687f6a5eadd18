
"use strict";
(() => {
const data = JSON.parse(document.getElementById("recipes").textContent);
const form = document.getElementById("values");
const { style, symbols, words, templates } = data;

// --- exact numbers: n/d in lowest terms, d > 0 ---

const gcd = (a, b) => { while (b) [a, b] = [b, a % b]; return a; };
const size = (n) => (n < 0n ? -n : n);
function ratio(n, d = 1n) {
  if (!d) throw new RangeError("zero");
  const g = gcd(size(n), size(d)) || 1n;
  return d < 0n ? { n: -n / g, d: -d / g } : { n: n / g, d: d / g };
}
function read(text) {
  const [n, d] = text.split("/");
  return ratio(BigInt(n), BigInt(d || 1));
}
const ZERO = ratio(0n), ONE = ratio(1n);
const plus = (a, b) => ratio(a.n * b.d + b.n * a.d, a.d * b.d);
const times = (a, b) => ratio(a.n * b.n, a.d * b.d);
const over = (a, b) => ratio(a.n * b.d, a.d * b.n);
const minus = (a) => ({ n: -a.n, d: a.d });
const less = (a, b) => a.n * b.d < b.n * a.d;
const equal = (a, b) => a.n === b.n && a.d === b.d;
const abs = (a) => ({ n: size(a.n), d: a.d });
const tenTo = (e) => (e < 0 ? ratio(1n, 10n ** BigInt(-e)) : ratio(10n ** BigInt(e)));

// --- terms: a number stands for a symbol, a list for the rest ---

function valueOf(term, known) {
  if (typeof term === "number") {
    if (!known.has(term)) throw new Error("unknown symbol");
    return known.get(term);
  }
  const [kind, ...parts] = term;
  const each = () => parts.map((part) => valueOf(part, known));
  switch (kind) {
    case "n": case "q": return typeof parts[0] === "string" ? read(parts[0]) : parts[0];
    case "-": return minus(valueOf(parts[0], known));
    case "+": return each().reduce(plus, ZERO);
    case "*": return each().reduce(times, ONE);
    case "/": return over(valueOf(parts[0], known), valueOf(parts[1], known));
    case "^": {
      const base = valueOf(parts[0], known);
      return ratio(base.n ** BigInt(parts[1]), base.d ** BigInt(parts[1]));
    }
    case "|": {
      const all = each();
      if (all.some((v) => !v.n)) return ZERO;
      return over(ONE, all.map((v) => over(ONE, v)).reduce(plus, ZERO));
    }
  }
  throw new Error("unknown term");
}

function constant(value, unit) {
  const plain = unit.every((power) => !power);
  const body = plain ? ["n", abs(value)] : ["q", abs(value), unit];
  return value.n < 0n ? ["-", body] : body;
}
const isMinus = (term) => term[0] === "-";
const negate = (term) => (isMinus(term) ? term[1] : ["-", term]);
const isOne = (term) => term[0] === "n" && equal(term[1], ONE);

function product(...factors) {
  const kept = [];
  let negative = false;
  for (let factor of factors) {
    if (isMinus(factor)) { negative = !negative; factor = factor[1]; }
    if (!isOne(factor)) kept.push(factor);
  }
  const made = kept.length > 1 ? ["*", ...kept] : kept[0] || ["n", ONE];
  return negative ? ["-", made] : made;
}

// --- numbers put in: the three ways of the file's page ---

function letters(term, known) {
  if (typeof term === "number") return constant(known.get(term), symbols[term][2]);
  const [kind, ...parts] = term;
  switch (kind) {
    case "n": return ["n", read(parts[0])];
    case "q": return ["q", read(parts[0]), parts[1]];
    case "-": return negate(letters(parts[0], known));
    case "^": return ["^", letters(parts[0], known), parts[1]];
    default: return [kind, ...parts.map((part) => letters(part, known))];
  }
}

const OHM = [0, 1, 0];

function putIn(recipe, known) {
  if (recipe.how === "letters") return letters(recipe.term, known);
  return recipe.how === "batteries" ? batteries(recipe, known) : products(recipe, known);
}

function batteries({ rows, above: own, below, unit }, known) {
  const terms = [];
  for (const [emf, beside] of rows) {
    const factor = valueOf(beside, known);
    if (!factor.n) continue;
    terms.push(product(constant(factor, own), constant(known.get(emf), symbols[emf][2])));
  }
  if (!terms.length) return null;
  const ordered = [...terms.filter((t) => !isMinus(t)), ...terms.filter(isMinus)];
  const above = ordered.length > 1 ? ["+", ...ordered] : ordered[0];
  return below === null ? above : ["/", above, constant(valueOf(below, known), unit)];
}

function products({ term, unit }, known) {
  const step = tenTo(style.ohm);
  const rows = term.slice(1).map((item) => {
    const factors = Array.isArray(item) && item[0] === "*" ? item.slice(1) : [item];
    const bare = factors.flatMap((factor) => {
      if (factor[0] === "n") return [["n", read(factor[1])]];
      const [base, exponent] = factor[0] === "^" ? [factor[1], factor[2]] : [factor, 1];
      return Array(exponent).fill(["n", over(known.get(base), step)]);
    });
    return bare.length > 1 ? ["*", ...bare] : bare[0];
  });
  return ["*", ["+", ...rows], ["q", tenTo(style.ohm * unit[1]), unit]];
}

// --- what is short enough to be read, and rounding ---

function readable(term) {
  if (term[0] === "n" || term[0] === "q") return isShort(term[1]);
  if (term[0] === "^") return readable(term[1]);
  return term.slice(1).every(readable);
}
function isShort(value) {
  const { n, d } = abs(value);
  if (`${n}`.length + `${d}`.length <= 7) return true;
  const scaled = ratio(n * 10n ** 9n, d);
  return scaled.d === 1n && `${scaled.n}`.replace(/^0+|0+$/g, "").length <= 9;
}
const isValue = (term) => ["n", "q"].includes((isMinus(term) ? term[1] : term)[0]);
const same = (a, b) => JSON.stringify(a, big) === JSON.stringify(b, big);
const big = (_, v) => (typeof v === "bigint" ? `${v}` : v);

function magnitude(value) {
  let power = `${value.n}`.length - `${value.d}`.length;
  while (!less(value, tenTo(power + 1))) power += 1;
  while (less(value, tenTo(power))) power -= 1;
  return power;
}

function rounded(value, unit) {
  const power = value.n ? magnitude(abs(value)) : 0;
  const exponent = !value.n || (power >= -1 && power < 3) ? 0 : 3 * Math.floor(power / 3);
  const decimals = value.n ? Math.max(0, data.figures - 1 - (power - exponent)) : 0;
  const place = tenTo(exponent - decimals);
  const half = plus(over(abs(value), place), ratio(1n, 2n));
  const steps = half.n / half.d;
  const near = times(ratio(steps), place);
  let digits = `${steps}`.padStart(decimals + 1, "0");
  if (decimals) digits = `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
  return {
    digits: (value.n < 0n && steps ? "-" : "") + digits, exponent, unit,
    exact: equal(near, abs(value)),
  };
}

// --- how they are set: pieces of MathML with what their neighbours need to know ---

const THIN = "0.1667em";
const SPACES = { "+": "0.2222em", "−": "0.2222em", "⋅": "0.2222em", "×": "0.2222em",
  "∥": "0.2778em", "=": "0.2778em", "≈": "0.2778em" };
const operator = (sign) => ({ html: `<mo form="infix" stretchy="false" lspace="${SPACES[sign]}"`
  + ` rspace="${SPACES[sign]}">${sign}</mo>`, loose: "+−∥".includes(sign) });
const prefix = (sign) => ({ html: `<mo form="prefix" lspace="0" rspace="0">${sign}</mo>`,
  first: true });
const GAP = { html: `<mspace width="${THIN}"></mspace>` };
const html = (row) => row.map((glyph) => glyph.html).join("");
const group = (row) => (row.length === 1 ? html(row) : `<mrow>${html(row)}</mrow>`);
const isLoose = (row) => row[0].first || row.some((glyph) => glyph.loose);
const sign = () => operator(style.comma ? "×" : "⋅");

function bracket(opening, tall) {
  const [form, mark] = opening ? ["prefix", "("] : ["postfix", ")"];
  return `<mo form="${form}" stretchy="${tall}" lspace="0" rspace="0">${mark}</mo>`;
}
function fence(row) {
  const tall = row.some((glyph) => glyph.tall);
  return { html: `<mrow>${bracket(true, tall)}${html(row)}${bracket(false, tall)}</mrow>`, tall,
    fence: true };
}
function fraction(above, below) {
  return { html: `<mfrac>${group(above)}${group(below)}</mfrac>`, tall: true };
}

function figures(digits) {
  const [whole, decimals = ""] = digits.split(".");
  const left = whole.length < 5 ? whole : whole.replace(/\B(?=(\d{3})+$)/g, "\u202f");
  const right = decimals.length < 5 ? decimals : decimals.replace(/(\d{3})(?=\d)/g, "$1\u202f");
  const marker = decimals ? (style.comma ? "," : ".") : "";
  return { html: `<mn>${left}${marker}${right}</mn>`, figures: true };
}

function terminating({ n, d }) {
  if (d === 1n) return `${n}`;
  let rest = d, decimals = 0;
  for (const prime of [2n, 5n]) {
    let count = 0;
    while (rest % prime === 0n) { rest /= prime; count += 1; }
    decimals = Math.max(decimals, count);
  }
  if (rest !== 1n) return null;
  const scaled = `${n * 10n ** BigInt(decimals) / d}`;
  if (scaled.length > 9) return null;
  const padded = scaled.padStart(decimals + 1, "0");
  return `${padded.slice(0, -decimals)}.${padded.slice(-decimals)}`;
}

function setNumber(value) {
  const digits = terminating(value);
  if (digits !== null) return [figures(digits)];
  return [fraction([figures(`${value.n}`)], [figures(`${value.d}`)])];
}

const NAMED = { "1,0,0": "V", "0,1,0": "Ω", "1,-1,0": "A", "2,-1,0": "W", "0,-1,0": "S",
  "1,-1,1": "C", "0,-1,1": "F", "2,-1,1": "J", "0,0,1": "s" };
const PREFIXES = { "-12": "p", "-9": "n", "-6": "µ", "-3": "m", 0: "", 3: "k", 6: "M", 9: "G" };

function unitOf(unit) {
  const name = NAMED[unit.join()];
  if (name) return [[name, 1]];
  return [["V", unit[0]], ["Ω", unit[1]], ["s", unit[2]]].filter(([, power]) => power);
}
function onePrefix(pairs, exponent) {
  if (!exponent) return pairs;
  if (!pairs.length) return null;
  const [[symbol, power], ...rest] = pairs;
  const found = exponent % power === 0 ? PREFIXES[exponent / power] : undefined;
  return found === undefined ? null : [[found + symbol, power], ...rest];
}
const scaleOf = (unit) => unit[0] * style.volt + unit[1] * style.ohm;
function prefixed(unit) {
  const pairs = unitOf(unit);
  if (pairs.length === 1 && pairs[0][1] === 1) return onePrefix(pairs, scaleOf(unit));
  const own = { V: style.volt, "Ω": style.ohm };
  if (pairs.some(([symbol]) => PREFIXES[own[symbol] || 0] === undefined)) return null;
  return pairs.map(([symbol, power]) => [PREFIXES[own[symbol] || 0] + symbol, power]);
}
const power = (exponent) => (exponent < 0
  ? `<mrow><mo form="prefix" lspace="0" rspace="0">−</mo><mn>${-exponent}</mn></mrow>`
  : `<mn>${exponent}</mn>`);
function units(pairs) {
  const spelled = pairs.map(([symbol, exponent]) => {
    const letters = symbol.length === 1
      ? `<mi mathvariant="normal">${symbol}</mi>` : `<mi>${symbol}</mi>`;
    return exponent === 1 ? letters : `<msup>${letters}${power(exponent)}</msup>`;
  });
  return { html: spelled.join(GAP.html), units: true };
}
const tenToThe = (exponent) => [sign(), { html: `<msup><mn>10</mn>${power(exponent)}</msup>` }];

function engineering(value) {
  let exponent = 0;
  while (value.n && less(value, tenTo(exponent))) exponent -= 3;
  while (!less(value, tenTo(exponent + 3))) exponent += 3;
  return exponent;
}
function setQuantity(value, unit) {
  let exponent = scaleOf(unit), pairs = prefixed(unit), ten = [];
  if (pairs === null) {
    pairs = unitOf(unit);
    exponent = engineering(value);
    ten = exponent ? tenToThe(exponent) : [];
  }
  const number = setNumber(over(value, tenTo(exponent)));
  return pairs.length ? [...number, ...ten, GAP, units(pairs)] : number;
}

function setDecimal({ digits, exponent, unit }) {
  const [body, ten] = digits.toLowerCase().split("e");
  let power = Number(ten || 0), pairs = onePrefix(unitOf(unit), exponent);
  if (pairs === null) { power += exponent; pairs = unitOf(unit); }
  const row = body.startsWith("-") ? [prefix("−")] : [];
  row.push(figures(body.replace(/^[+-]/, "")));
  if (power) row.push(...tenToThe(power));
  return pairs.length ? [...row, GAP, units(pairs)] : row;
}

function setTerm(term) {
  const [kind, ...parts] = term;
  const held = (row) => (isLoose(row) ? [fence(row)] : row);
  switch (kind) {
    case "n": return setNumber(parts[0]);
    case "q": return setQuantity(parts[0], parts[1]);
    case "-": return [prefix("−"), ...held(setTerm(parts[0]))];
    case "+": return parts.flatMap((part, k) => {
      const negative = isMinus(part), mark = negative ? "−" : "+";
      const lead = k ? [operator(mark)] : negative ? [prefix(mark)] : [];
      return [...lead, ...held(setTerm(negative ? part[1] : part))];
    });
    case "/": return [fraction(setTerm(parts[0]), setTerm(parts[1]))];
    case "^": {
      const row = setTerm(parts[0]);
      const base = row.length === 1 && (row[0].figures || row[0].fence) ? row[0] : fence(row);
      return [{ html: `<msup>${base.html}${power(parts[1])}</msup>`, tall: base.tall }];
    }
    case "|": return parts.length === 1 ? setTerm(parts[0]) : parts.flatMap((part, k) => {
      const row = setTerm(part);
      return [...(k ? [operator("∥")] : []), ...(part[0] === "*" ? [fence(row)] : held(row))];
    });
    case "*": return setProduct(flat(parts));
  }
  throw new Error("unknown term");
}
const flat = (factors) => factors.flatMap((f) => (f[0] === "*" ? flat(f.slice(1)) : [f]));
const holdsUnit = (term) =>
  term[0] === "q" || term.slice(1).some((part) => Array.isArray(part) && holdsUnit(part));
function setProduct(factors) {
  if (factors.length === 1) return setTerm(factors[0]);
  const row = [];
  const unitless = !factors.slice(0, -1).some(holdsUnit);
  let before = null;
  factors.forEach((factor, k) => {
    const inner = setTerm(factor);
    const bare = factor[0] === "q" && inner.length === 3 && inner[0].html === "<mn>1</mn>";
    if (before !== null && k === factors.length - 1 && bare && unitless) {
      row.push(GAP, inner[2]);
      return;
    }
    const fenced = isLoose(inner);
    if (before !== null) {
      row.push(before && fenced
        ? { html: '<mo lspace="0" rspace="0">\u2062</mo>' } : sign());
    }
    row.push(...(fenced ? [fence(inner)] : inner));
    before = fenced;
  });
  return row;
}

// --- one look at all values ---

class Contradiction extends Error {}

function solve(inputs) {
  const known = new Map(data.constants.map(([symbol, value]) => [symbol, read(value)]));
  data.inputs.forEach((input, k) => known.set(input.symbol, inputs[k].value));
  try {
    for (const [symbol, term] of data.formulas) known.set(symbol, valueOf(term, known));
  } catch (fault) {
    if (fault instanceof RangeError) throw new Contradiction();
    throw fault;
  }
  for (const symbol of data.tied) {
    if (known.get(symbol).n < 0n) {
      throw new SyntaxError(words.tied.replace("{name}", symbols[symbol][0]));
    }
  }
  return known;
}

const letter = (symbol) => symbols[symbol][1];
const bare = (symbol) => letter(symbol).replace(/^<math>|<\/math>$/g, "");
const display = (row, side) => `<math displaystyle="true" data-side="${side}">${html(row)}</math>`;
const inline = (row) => `<math>${html(row)}</math>`;
const shown = (symbol, known) => inline(setDecimal(rounded(known.get(symbol), symbols[symbol][2])));
const sizeOf = (symbol, known) =>
  inline(setDecimal(rounded(abs(known.get(symbol)), symbols[symbol][2])));

// --- chains ---

function chainSides(recipe, known) {
  const value = valueOf(recipe.value, known);
  let sides = recipe.put.map((put) => putIn(put, known))
    .filter((term) => term !== null && (readable(term) || !recipe.rounded))
    .map((term) => ({ term, mark: "=" }));
  const exact = constant(value, recipe.unit);
  if (recipe.exact && (readable(exact) || !recipe.rounded)
    && !sides.some((side) => same(side.term, exact))) sides.push({ term: exact, mark: "=" });
  sides = sides.map((side) => ({ ...side, row: setTerm(side.term) }));
  if (!sides.length && recipe.letters) sides.push({ row: [{ html: recipe.letters }], mark: "=" });
  if (recipe.rounded) {
    const near = rounded(value, recipe.unit);
    const last = sides[sides.length - 1];
    if (near.exact && last && last.term && isValue(last.term)) sides.pop();
    sides.push({ row: setDecimal(near), mark: near.exact ? "=" : "≈" });
  }
  return sides.map((side, k) => display([operator(side.mark), ...side.row], recipe.kept + k));
}

function balanceSides(recipe, known) {
  const terms = [];
  let value = ZERO;
  for (const [, power, current] of data.parts) {
    const own = known.get(power), charged = current !== null && own.n < 0n;
    if ((current !== null && !charged) !== recipe.delivered) continue;
    terms.push([power, charged]);
    value = plus(value, charged ? minus(own) : own);
  }
  const unit = [2, -1, 0], row = [operator("=")];
  terms.forEach(([power, charged], k) => {
    const mark = charged ? "−" : "+";
    row.push(...(k ? [operator(mark)] : charged ? [prefix(mark)] : []), { html: bare(power) });
  });
  if (!terms.length) row.push(figures("0"));
  const near = rounded(value, unit), exact = constant(value, unit), sides = [display(row, 1)];
  if (terms.length && !near.exact && readable(exact)) {
    sides.push(display([operator("="), ...setTerm(exact)], 2));
  }
  if (terms.length) {
    sides.push(display([operator(near.exact ? "=" : "≈"), ...setDecimal(near)], sides.length + 1));
  }
  return sides;
}

// One formula for each change, so that they wrap; numbers too long to be read are rounded.
function zeroSides(put, known) {
  const short = readable(putIn(put, known));
  const items = put.term[0] === "+" ? put.term.slice(1) : [put.term];
  const pieces = items.map((item, k) => {
    let negative, row;
    if (short) {
      const term = putIn({ ...put, term: item }, known);
      negative = isMinus(term);
      row = setTerm(negative ? term[1] : term);
      if (isLoose(row)) row = [fence(row)];
    } else {
      const value = valueOf(item, known);
      negative = value.n < 0n;
      row = setDecimal(rounded(abs(value), [1, 0, 0]));
    }
    const mark = negative ? "−" : "+";
    return display([...(k ? [operator(mark)] : negative ? [prefix(mark)] : []), ...row], 0);
  });
  return [pieces.join(""), display([operator(short ? "=" : "≈"), figures("0")], 1)];
}

// Put sides in the place of those from a number on.
function setSides(element, from, sides) {
  const maths = [...element.querySelectorAll("math[data-side]")];
  const home = element.querySelector(".whole, .right") || element;
  const fragment = sides.join("");
  if (from === 0) {
    const left = element.querySelector(".left");
    if (left) { left.innerHTML = sides[0]; home.innerHTML = sides.slice(1).join(""); }
    else home.innerHTML = fragment;
    return;
  }
  const before = maths.filter((math) => Number(math.dataset.side) < from && home.contains(math));
  for (const math of maths) {
    if (Number(math.dataset.side) < from) continue;
    const line = math.closest(".line"), lines = math.closest(".lines");
    math.remove();
    if (line && !line.childElementCount) line.remove();
    if (lines && !lines.childElementCount) lines.remove();
  }
  const last = before[before.length - 1];
  const place = last ? last.closest(".line") || last.parentNode : home;
  place.insertAdjacentHTML("beforeend", fragment);
}

// --- sentences ---

function listing(items) {
  if (items.length < 2) return items.join("");
  return `${items.slice(0, -1).join(", ")} ${templates.AND} ${items[items.length - 1]}`;
}
const say = (name, slots = {}) =>
  templates[name].replace(/\{(\w+)\}/g, (_, slot) => slots[slot]);

function meaning(known) {
  const value = ([symbol]) => known.get(symbol);
  const negative = data.branches.filter((branch) => value(branch).n < 0n);
  const zero = data.branches.filter((branch) => !value(branch).n);
  const told = [];
  if (negative.length === 1) {
    const [symbol, tail, head] = negative[0];
    told.push(say("AGAINST_ONE", { current: letter(symbol), start: head, end: tail,
      size: sizeOf(symbol, known) }));
  } else if (negative.length) {
    told.push(say("AGAINST_MANY", { currents: listing(negative.map(([s]) => letter(s))) }));
  }
  if (zero.length) told.push(say("ZERO", { currents: listing(zero.map(([s]) => letter(s))) }));
  if (!negative.length && !zero.length) {
    told.push(say(data.branches.length > 1 ? "AS_DRAWN" : "AS_DRAWN_ONE"));
  }
  const groups = { DELIVERS: [], CHARGED: [], IDLE: [], REVERSED: [] };
  for (const [emf, power, current, along] of data.parts) {
    if (current === null) continue;
    const flow = known.get(current).n, out = along ? flow : -flow, given = known.get(power).n;
    if (!out) groups.IDLE.push(letter(emf));
    else if (given && given > 0n === out > 0n) {
      groups[given > 0n ? "DELIVERS" : "CHARGED"].push(letter(emf));
    }
    else if (given) groups.REVERSED.push(letter(emf));
  }
  for (const [name, found] of Object.entries(groups)) {
    const many = found.length === 1 ? "ONE" : "MANY";
    if (found.length) told.push(say(`${name}_${many}`, { sources: listing(found) }));
  }
  return told.join(" ");
}

function caution(known) {
  const charged = [], hot = [];
  for (const [symbol, power, current] of data.parts) {
    const value = known.get(power);
    if (current !== null ? value.n < 0n : less(read(data.hot), value)) {
      (current !== null ? charged : hot).push(letter(symbol));
    }
  }
  const levels = data.levels.map((term) => valueOf(term, known));
  const most = levels.reduce((a, b) => (less(a, b) ? b : a));
  const least = levels.reduce((a, b) => (less(b, a) ? b : a));
  const told = [];
  if (charged.length) told.push(say("CAUTION_CHARGING", { parts: listing(charged) }));
  if (hot.length) told.push(say("CAUTION_HEAT", { parts: listing(hot) }));
  if (less(read(data.high), plus(most, minus(least)))) told.push(say("CAUTION_VOLTAGE"));
  if (told.length) told.push(say("CAUTION_LAST"));
  return told.join(" ");
}

function remark(known) {
  if (data.walks.length < 2) return "";
  const against = data.walks.filter((symbol) => known.get(symbol).n < 0n);
  if (against.length) return say("REMARK_AGAINST", { currents: listing(against.map(letter)) });
  return data.walks.every((symbol) => known.get(symbol).n) ? say("REMARK_DRAWN") : "";
}

// --- each recipe writes its own place ---

function write(element, recipe, known, inputs) {
  switch (recipe.is) {
    case "chain": return setSides(element, recipe.kept, chainSides(recipe, known));
    case "balance": return setSides(element, 1, balanceSides(recipe, known));
    case "zero": return setSides(element, 0, zeroSides(recipe.put, known));
    case "input": {
      const k = data.inputs.findIndex((input) => input.symbol === recipe.symbol);
      const unit = symbols[recipe.symbol][2], { value, digits } = inputs[k];
      const row = digits === null ? setTerm(constant(value, unit))
        : setDecimal({ digits, exponent: data.inputs[k].exponent, unit });
      return setSides(element, 1, [display([operator("="), ...row], 1)]);
    }
    case "powers": return data.parts.forEach(([, power, current], k) => {
      const cells = element.tBodies[0].rows[k].cells, charged = known.get(power).n < 0n;
      cells[1].textContent = templates[current === null ? "DOES_HEAT"
        : charged ? "DOES_CHARGE" : "DOES_DELIVER"];
      cells[2].innerHTML = sizeOf(power, known);
    });
    case "changes": return recipe.terms.forEach((term, k) => {
      const cell = element.tBodies[0].rows[k].cells[1];
      cell.innerHTML = inline(setDecimal(rounded(valueOf(term, known), [1, 0, 0])));
    });
    case "meaning": element.innerHTML = meaning(known); return;
    case "remark": element.innerHTML = remark(known); return;
    case "caution": {
      const told = caution(known);
      element.querySelector(".told").innerHTML = told;
      element.hidden = !told;
    }
  }
}

// --- the page ---

function parse(text, input) {
  const plain = text.trim().replace("−", "-").replace(",", ".").replace(/\s/g, "");
  const name = symbols[input.symbol][0];
  const refuse = (why) => { throw new SyntaxError(words[why].replace("{name}", name)); };
  let value, digits = null;
  if (/^[+-]?\d{1,12}\/\d{1,12}$/.test(plain)) {
    if (/\/0+$/.test(plain)) refuse("number");
    value = read(plain.replace("+", ""));
  } else {
    const found = /^([+-]?)(\d*)(?:\.(\d*))?(?:e([+-]?\d{1,3}))?$/i.exec(plain);
    if (!found || !(found[2] + (found[3] || ""))) refuse("number");
    const [, mark, whole, decimals = "", ten = "0"] = found;
    if (whole.length + decimals.length > 15 || Math.abs(Number(ten)) > 15) refuse("size");
    value = times(ratio(BigInt(whole + decimals)), tenTo(Number(ten) - decimals.length));
    if (mark === "-") value = minus(value);
    const shown = `${whole.replace(/^0+(?=\d)/, "") || "0"}${decimals ? `.${decimals}` : ""}`;
    digits = (mark === "-" ? "-" : "") + shown + (Number(ten) ? `e${Number(ten)}` : "");
  }
  value = times(value, tenTo(input.exponent));
  if (input.positive && value.n <= 0n) refuse("positive");
  return { value, digits: input.written || digits === null || /e/.test(digits) ? digits : null };
}

const fields = [...form.querySelectorAll("input")];
const state = document.getElementById("values-state");
const button = form.querySelector("button");
const file = data.inputs.map((input) => parse(input.digits, input));
const places = [...document.querySelectorAll("[data-live]")]
  .filter((element) => !element.closest("[data-fixed]"))
  .map((element) => ({ element, recipe: data.recipes[Number(element.dataset.live)],
    before: element.innerHTML, hidden: element.hidden }));

// What the recipes make of the values of the file has to be what the page says already.
function agrees({ element, recipe, before, hidden }, known) {
  const plain = element.textContent;
  try {
    write(element, recipe, known, file);
    const lines = recipe.is === "zero" || before.includes('class="lines"');
    return element.hidden === hidden
      && (lines ? element.textContent === plain : element.innerHTML === before);
  } catch {
    return false;
  } finally {
    element.innerHTML = before;
    element.hidden = hidden;
  }
}

const known = solve(file);
const live = places.filter((place) => {
  const good = agrees(place, known);
  if (!good) place.element.setAttribute("data-fixed", "unlike");
  return good;
});
for (const element of document.querySelectorAll("[data-fixed]")) {
  const note = document.createElement("span");
  note.className = "note";
  note.textContent = ` ${words.fixed}`;
  const heading = element.tagName === "SECTION" ? element.querySelector("h2") : element;
  heading.append(note);
}

// What does not fit can be scrolled with the keys.
function scrollable({ element }) {
  for (const part of element.querySelectorAll(".whole, .right")) {
    if (part.scrollWidth <= part.clientWidth + 1 || part.hasAttribute("tabindex")) continue;
    part.setAttribute("tabindex", "0");
    part.setAttribute("role", "group");
    part.setAttribute("aria-label", words.equation);
  }
}

function restore() {
  for (const { element, before, hidden } of live) {
    element.innerHTML = before;
    element.hidden = hidden;
  }
}

function tell(text) { if (state.textContent !== text) state.textContent = text; }

function update() {
  let inputs, found, wrong = null;
  try {
    inputs = data.inputs.map((input, k) => {
      wrong = fields[k];
      return parse(fields[k].value, input);
    });
    wrong = null;
    found = solve(inputs);
  } catch (fault) {
    const told = fault instanceof Contradiction ? words.contradiction : fault.message;
    for (const field of fields) field.toggleAttribute("aria-invalid", false);
    if (wrong) wrong.setAttribute("aria-invalid", "true");
    form.classList.add("wrong");
    button.disabled = false;
    tell(`${told} ${words.kept}`);
    return;
  }
  form.classList.remove("wrong");
  for (const field of fields) field.removeAttribute("aria-invalid");
  const other = inputs.some(({ value }, k) => !equal(value, file[k].value));
  restore();
  if (other) {
    for (const { element, recipe } of live) write(element, recipe, found, inputs);
    live.forEach(scrollable);
  }
  document.documentElement.classList.toggle("changed", other);
  const stale = document.querySelector("[data-fixed]") ? ` ${words.stale}` : "";
  button.disabled = !other && fields.every((field) => field.value === field.defaultValue);
  tell(other ? words.changed + stale : words.back);
}

form.addEventListener("input", update);
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("reset", () => setTimeout(update));
form.autocomplete = "off";
form.reset();
form.hidden = false;

// Folded sections are printed, too.
let folded = [];
addEventListener("beforeprint", () => {
  folded = [...document.querySelectorAll("details.fold:not([open])")];
  for (const section of folded) section.open = true;
});
addEventListener("afterprint", () => { for (const section of folded) section.open = false; });
})();
