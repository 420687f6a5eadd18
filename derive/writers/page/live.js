// What follows the values that a reader types.

const form = document.getElementById("values");

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
  if (recipe.exact && (readable(exact) || recipe.always)
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
  for (const [, power, current, , source] of data.parts) {
    const own = known.get(power), drives = current !== null || source;
    const charged = drives && own.n < 0n;
    if ((drives && !charged) !== recipe.delivered) continue;
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

// A line may end beside a formula whatever stands there, so what belongs to it is tied to it.
function tied(told) {
  return told.replace(/(?:<math\b[^]*?<\/math>|[^ <])+/g, (word) => {
    const text = word.replace(/<math\b[^]*?<\/math>/g, "");
    const together = word.includes("<math") && (text || word.indexOf("<math", 1) > 0);
    if (!together && !text.includes("\u00a0")) return word;
    const plain = word.replace(/\u00a0/g, " ");
    return text.length > 30 ? plain : `<span class="tie">${plain}</span>`;
  });
}

function meaning(known) {
  const value = ([symbol]) => known.get(symbol);
  const negative = data.branches.filter((branch) => value(branch).n < 0n);
  const zero = data.branches.filter((branch) => !value(branch).n);
  const told = [];
  if (negative.length === 1) {
    const [symbol, tail, head] = negative[0];
    told.push(say(head === tail ? "AGAINST_ROUND" : "AGAINST_ONE", { current: letter(symbol),
      start: head, end: tail, size: sizeOf(symbol, known) }));
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
    const one = { told: letter(emf), power };
    if (!out) groups.IDLE.push(one);
    else if (given && given > 0n === out > 0n) {
      groups[given > 0n ? "DELIVERS" : "CHARGED"].push(one);
    }
    else if (given) groups.REVERSED.push(one);
  }
  for (const [name, found] of Object.entries(groups)) {
    const many = found.length === 1 ? "ONE" : "MANY";
    const sources = listing(found.map(({ told }) => told));
    if (found.length) told.push(say(`${name}_${many}`, { sources }));
  }
  const { DELIVERS: from, CHARGED: into } = groups;
  const alone = !groups.REVERSED.length && !data.parts.some(([, , , , source]) => source);
  if (alone && from.length === 1 && into.length) {
    const sized = ({ power }) => sizeOf(power, known), [source] = from;
    told.push(into.length > 1
      ? say("CHARGES_MANY", { source: source.told, charged: listing(into.map(({ told }) => told)) })
      : say("CHARGES_ONE", { source: source.told, charged: into[0].told,
        delivered: sized(source), stored: sized(into[0]) }));
  }
  return told.join(" ");
}

function caution(known) {
  const charged = [], hot = [], inside = [], shorted = [];
  for (const [emf, current, voltage] of data.shorts) {
    const large = less(read(data.large), abs(known.get(current)));
    const joined = voltage === null || known.get(emf).n && !valueOf(voltage, known).n;
    if (large && joined && !shorted.includes(emf)) shorted.push(emf);
  }
  for (const [symbol, power, current, , source, battery] of data.parts) {
    const value = known.get(power);
    if (source) continue;
    if (current !== null) { if (value.n < 0n) charged.push(letter(symbol)); }
    else if (!less(read(data.hot), value)) continue;
    else if (battery === null) hot.push(letter(symbol));
    else if (!shorted.includes(battery)) inside.push(letter(battery));
  }
  const spans = data.levels.map((terms) => {
    const levels = terms.map((term) => valueOf(term, known));
    const most = levels.reduce((a, b) => (less(a, b) ? b : a));
    return plus(most, minus(levels.reduce((a, b) => (less(b, a) ? b : a))));
  });
  const dangerous = read(data.high), volts = [], joules = [];
  for (const [capacity, across] of data.kept) {
    const size = abs(valueOf(across, known)), farads = known.get(capacity) || ZERO;
    const energy = times(times(farads, times(size, size)), read("1/2"));
    if (less(dangerous, size)) volts.push(letter(capacity));
    else if (less(read(data.stored), energy)) joules.push(letter(capacity));
  }
  const told = [];
  for (const [name, parts] of [["SHORT", shorted.map(letter)], ["CHARGING", charged],
    ["HEAT", hot], ["HEAT_INSIDE", inside]]) {
    if (parts.length) told.push(say(`CAUTION_${name}`, { parts: listing(parts) }));
  }
  if (volts.length || spans.some((span) => less(dangerous, span))) {
    told.push(say("CAUTION_VOLTAGE"));
  }
  for (const [found, amount] of [[volts, "STORED_VOLTS"], [joules, "STORED_JOULES"]]) {
    const slots = { part: found[0], parts: listing(found), amount: templates[amount] };
    if (found.length) told.push(say(`CAUTION_STORED${found.length > 1 ? "_MANY" : ""}`, slots));
  }
  if (told.length) told.push(say("CAUTION_LAST"));
  return told.join(" ");
}

function terminal({ emf, inner, current, along }, known) {
  const flow = current === null ? 0n : known.get(current).n, out = along ? flow : -flow;
  const own = known.get(emf).n, drives = own > 0n === out > 0n ? "DELIVERS" : "CHARGED";
  const name = !out ? "IDLE" : !own ? "NO_EMF" : own > 0n ? drives : `TURNED_${drives}`;
  return say(`TERMINAL_${name}`, { part: letter(emf), inner: letter(inner) });
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
    case "powers": {
      const delivered = data.parts.filter(([, power, current, , source]) =>
        (current !== null || source) && known.get(power).n > 0n);
      const whole = delivered.map(([, power]) => known.get(power)).reduce(plus, ZERO);
      return data.parts.forEach(([, power, current, , source], k) => {
        const cells = element.tBodies[0].rows[k].cells, charged = known.get(power).n < 0n;
        cells[1].textContent = templates[current === null && !source ? "DOES_HEAT"
          : !charged ? "DOES_DELIVER" : source ? "DOES_TAKE" : "DOES_CHARGE"];
        cells[2].innerHTML = sizeOf(power, known);
        if (!cells[3]) return;
        cells[3].innerHTML = whole.n ? inline(setShare(abs(known.get(power)), whole)) : "";
      });
    }
    case "power words": {
      const { delivered, taken } = shares(known);
      const drawn = delivered.length && taken.length;
      element.innerHTML = tied(say(drawn ? "POWER_TABLE_AND_BARS" : "POWER_TABLE"));
      return;
    }
    case "changes": return recipe.terms.forEach((term, k) => {
      const cell = element.tBodies[0].rows[k].cells[1];
      cell.innerHTML = inline(setDecimal(rounded(valueOf(term, known), [1, 0, 0])));
    });
    case "potential": return setGraph(element, potentialGraph, recipe, known);
    case "bars": return setGraph(element, powerBars, recipe, known);
    case "meaning": element.innerHTML = tied(meaning(known)); return;
    case "terminal": element.innerHTML = tied(terminal(recipe, known)); return;
    case "remark": element.innerHTML = tied(remark(known)); return;
    case "caution": {
      const told = tied(caution(known));
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

const isGraph = (recipe) => ["potential", "bars"].includes(recipe.is);

// What the recipes make of the values of the file has to be what the page says already.
function agrees({ element, recipe, before, hidden }, known) {
  const plain = element.textContent;
  const shape = isGraph(recipe) && graphShape(element);
  try {
    write(element, recipe, known, file);
    if (shape) return element.hidden === hidden && sameGraph(shape, graphShape(element));
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
    const folded = element.querySelector("details"), open = folded && folded.open;
    element.innerHTML = before;
    element.hidden = hidden;
    if (open) element.querySelector("details").open = true;
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
    try {
      for (const { element, recipe } of live) write(element, recipe, found, inputs);
    } catch (fault) {
      // A page with some numbers of either kind would be worse than that of the file.
      restore();
      form.classList.add("wrong");
      document.documentElement.classList.remove("changed");
      button.disabled = false;
      tell(words.back);
      throw fault;
    }
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
