// Exact numbers, terms, and how a number is put in and rounded. What a page knows is in `data`.

const data = JSON.parse(document.getElementById("recipes").textContent);
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

function batteries({ rows, below, unit }, known) {
  const terms = [];
  for (const [emf, beside, own] of rows) {
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

function rounded(value, unit, figures = data.figures, fixed = null) {
  const power = value.n ? magnitude(abs(value)) : 0;
  const exponent = fixed !== null ? fixed : !value.n || (power >= -1 && power < 3) ? 0 : 3 * Math.floor(power / 3);
  const decimals = value.n ? Math.max(0, figures - 1 - (power - exponent)) : 0;
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
