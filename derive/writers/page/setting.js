// How terms are set: pieces of MathML with what their neighbours need to know.

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
  if (unit[2] && unitOf(unit).length === 1) {
    // A capacitance, a charge or an energy is far from 1 in the units of a circuit.
    exponent = engineering(value);
    if (unit.join() === "0,0,1") exponent = Math.min(exponent, 0);
    pairs = onePrefix(unitOf(unit), exponent);
  }
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

// A part of the whole, in per cent and without a prefix.
function setShare(part, whole) {
  const near = rounded(times(over(part, whole), tenTo(2)), [0, 0, 0], data.figures, 0);
  return [...setDecimal(near), GAP, units([["%", 1]])];
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
