// What stands in the kernel's place in the still edition: benches answer out of stored pictures, questions are checked here
// by the rules of questions/__init__.py. The front end above this file is the workbook's own.

class Model {
  constructor(state) {
    const empty = { title: "", lead: "", parts: [], values: {}, notes: {}, result: "", spoken: "", frame: [], picture: "", alt: "", goal: [], answered: [] };
    this.state = { ...empty, ...state };
    this.listeners = new Set();
  }
  get(name) { return this.state[name]; }
  on(event, listener) { if (event === "change") this.listeners.add(listener); }
  off(event, listener) { this.listeners.delete(listener); }
  send(message) {
    setTimeout(() => {
      Object.assign(this.state, this.answer(message), { answered: [message.view, message.number] });
      this.listeners.forEach((listener) => listener());
    });
  }
}

// ---- benches

const places = (part) => (part.kind === "slider" ? Math.round((part.high - part.low) / part.step) + 1 : part.kind === "check" ? 2 : part.options.length);
const placeOf = (part, value) => {
  if (part.kind === "check") return Number(value);
  if (part.kind !== "slider") return part.options.indexOf(value);
  return Math.min(places(part) - 1, Math.max(0, Math.round((value - part.low) / part.step)));
};
const valueAt = (part, place) => {
  if (part.kind === "check") return Boolean(place);
  return part.kind === "slider" ? Number((part.low + place * part.step).toPrecision(12)) : part.options[place];
};

class Bench extends Model {
  constructor({ together, stills, ...state }) {
    super(state);
    Object.assign(this, { together, stills });
    this.stated = this.places(state.values);
    this.at = this.stated;
    Object.assign(this.state, this.shown(""));
  }
  places(values) { return this.state.parts.map((part) => placeOf(part, values[part.name])); }
  shown(spoken) {
    const [result, alt, picture] = this.stills[this.at.join()];
    return { result, alt, picture, spoken: spoken && result };
  }
  answer({ values }) {
    const wanted = this.places(values);
    const moved = wanted.findIndex((place, part) => place !== this.at[part]);
    // one control at a time: the others go back to their stated values
    if (moved >= 0) this.at = this.together ? wanted : this.stated.map((place, part) => (part === moved ? wanted[part] : place));
    const now = Object.fromEntries(this.state.parts.map((part, place) => [part.name, valueAt(part, this.at[place])]));
    return { values: now, ...this.shown("say") };
  }
}

// ---- reading an answer: a number, then units with whole powers, * and /, one level of brackets (quantities.py has the rules)

class Unreadable extends Error {}
const NUMBER = /^([-+−]?(?:\d{1,3}(?:,\d{3}){1,4}(?!\d)(?:\.\d{0,30})?|\d{1,30}(?:\.\d{0,30})?|\.\d{1,30})(?:[eE][-+]?\d{1,3})?)/;
const TOKEN = /\s*(?:(\*\*|\^)|(inH2O|[A-Za-zΩµμ°%][A-Za-zΩµμ°_]*)|([-+]?\d+)|(·|\*|\/|\(|\)))|\s*([²³])/uy;
const quoted = (text) => `"${(text.length <= 40 ? text : `${text.slice(0, 37)}...`).replaceAll("\n", " ")}"`;

function readUnit(text, whole, units) {
  const refuse = (why) => new Unreadable(`answer: ${quoted(whole)} ${why}; wanted is a number and a unit, for example "85 W" or "0.5 W/(m2 K)".`);
  const powers = new Map(), facts = new Map();
  let pending = null, sign = 1, inside = false, bracketSign = 1, at = 0, expectUnit = true;
  const match = () => { TOKEN.lastIndex = at; const found = TOKEN.exec(text); if (found) at = TOKEN.lastIndex; return found; };
  while (text.slice(at).trim()) {
    const found = match();
    if (!found) throw refuse(`has ${quoted(text.slice(at).trim().slice(0, 1))} where a unit should stand`);
    const [, powerMark, name, plainDigits, mark, superscript] = found;
    if (name) {
      if (!Object.hasOwn(units, name)) throw refuse(`has the unknown unit ${quoted(name)}`);
      const step = sign * bracketSign, own = units[name].name;
      facts.set(own, units[name]);
      powers.set(own, (powers.get(own) || 0) + step);
      [pending, sign, expectUnit] = [[own, step], 1, false];
    } else if (superscript || plainDigits || powerMark) {
      let digits = plainDigits;
      if (powerMark) {
        digits = (match() || [])[3];
        if (!digits) throw refuse("has a power without a whole number");
      }
      const exponent = { "²": 2, "³": 3 }[superscript] || Number(digits);
      if (!pending || Math.abs(exponent) < 1 || Math.abs(exponent) > 4)
        throw refuse("has a power where none can stand (whole powers from 1 to 4, after a unit)");
      powers.set(pending[0], powers.get(pending[0]) + pending[1] * (exponent - 1));
      pending = null;
    } else if (mark === "(") {
      if (inside || (pending && sign === 1 && !expectUnit && !"*/·".includes(text.slice(0, at - 1).trimEnd().slice(-1) || "x")))
        throw refuse("has a bracket where none can stand (one level of brackets, after * or /)");
      [inside, bracketSign, sign, pending, expectUnit] = [true, sign, 1, null, true];
    } else if (mark === ")") {
      if (!inside || expectUnit) throw refuse("has a closing bracket without an opening one");
      [inside, bracketSign, pending] = [false, 1, null];
    } else {
      if (expectUnit && !(mark === "/" && !powers.size)) throw refuse("has two signs in a row");
      [sign, expectUnit, pending] = [mark === "/" ? -1 : 1, true, null];
    }
  }
  if (inside || (expectUnit && text.trim())) throw refuse("ends too early");
  const used = [...powers].filter(([, power]) => power);
  const plain = used.length === 1 && used[0][1] === 1; // a temperature by itself keeps its zero, in a product it is a difference
  let factor = 1, offset = 0, scale = "";
  const dimensions = {};
  for (const [name, power] of used) {
    const unit = facts.get(name);
    factor *= unit.factor ** power;
    if (plain) [offset, scale] = [unit.offset, unit.scale];
    for (const [base, own] of Object.entries(unit.dimensions)) dimensions[base] = (dimensions[base] || 0) + own * power;
  }
  return { factor, offset, scale, dimensions, bare: !used.length };
}
const kindOf = ({ dimensions }) => Object.entries(dimensions).filter(([, power]) => power).sort().join(";");

function readQuantity(text, units) {
  const plain = text.trim();
  if (!plain) throw new Unreadable("answer: nothing is written; wanted is a number with its unit.");
  if (text.length > 80) throw new Unreadable(`answer: ${quoted(text)} is ${text.length} characters long; wanted is a number and a unit in at most 80 characters, for example "85 W".`);
  const match = NUMBER.exec(plain);
  if (!match) throw new Unreadable(`answer: ${quoted(text)} does not start with a number; wanted is a number and a unit, for example "85 W".`);
  const rest = plain.slice(match[0].length);
  if (rest && ",.0123456789*^".includes(rest[0]))
    throw new Unreadable(`answer: ${quoted(text)} is not one plain number with a unit; wanted is digits with a decimal point, then a unit, for example "1280.5 Wh".`);
  const value = Number(match[1].replaceAll(",", "").replace("−", "-"));
  if (!Number.isFinite(value)) throw new Unreadable(`answer: ${quoted(text)} is too large to calculate with; wanted is an ordinary number, for example "85 W".`);
  return { value, unit: readUnit(rest, text, units) };
}

function inUnit(answer, { unit: wanted, facts: target }, units) {
  const { value, unit } = readQuantity(answer, units);
  if (wanted && unit.bare) throw new Unreadable(`answer: ${quoted(answer.trim())} has no unit; wanted is a number with its unit, for example in ${wanted}.`);
  const mixed = unit.scale && target.scale && unit.scale !== target.scale; // a temperature for a difference of two
  if (kindOf(unit) !== kindOf(target) || mixed)
    throw new Unreadable(`answer: ${quoted(answer.trim())} is not of the kind that is asked for; wanted is ${wanted ? `a number with its unit, for example in ${wanted}` : "a plain number"}.`);
  return (value * unit.factor + unit.offset - target.offset) / target.factor;
}

// what an answer is: [right, wrong or error, what the learner is told]
function judge(question, answer, units) {
  const see = `See part ${question.see}.`;
  if (question.options) {
    const place = question.options.indexOf(answer);
    if (place < 0) return ["error", "answer: nothing is chosen; wanted is one of the sentences."];
    return place === question.right ? ["right", "Right."] : ["wrong", `Not yet. ${question.reasons[place]} ${see}`];
  }
  let value;
  try {
    value = inUnit(answer || "", question, units);
  } catch (error) {
    if (error instanceof Unreadable) return ["error", error.message];
    throw error;
  }
  const alike = (target, room) => Math.abs(value - target) <= room;
  if (alike(question.right, question.room)) return ["right", `Right: ${question.told}.`];
  const slip = question.slips.find(([target, room]) => alike(target, room));
  if (slip) return ["wrong", `Not yet. ${slip[2]} ${see}`];
  return ["wrong", `Not yet: the right answer is ${value < question.right ? "more" : "less"}. ${see}`];
}

const MISSES = 3; // after so many the answer is told

class Questions extends Model {
  constructor(questions, units) {
    const parts = questions.map((question, place) => {
      const number = place + 1, check = `check-${number}`;
      const own = question.options
        ? [{ kind: "radio", name: `answer-${number}`, label: question.ask, options: question.options, value: null, help: "" }, { kind: "button", name: check, label: "Check", help: "" }]
        : [{ kind: "words", name: `ask-${number}`, label: question.ask },
           { kind: "text", name: `answer-${number}`, label: question.unit ? "Your answer, with its unit" : "Your answer", value: "", help: "", enter: check, press: "Check", lines: 1 }];
      return { kind: "group", name: `question-${number}`, label: `Question ${number}`, parts: own, columns: false };
    });
    const values = Object.fromEntries(questions.map((question, place) => [`answer-${place + 1}`, question.options ? null : ""]));
    super({ title: "Check yourself", lead: "Answers are checked on this page and not kept.", parts, values });
    Object.assign(this, { questions, units, tries: questions.map(() => []) });
    this.state.result = this.score();
  }
  score() {
    const right = this.tries.filter((tried) => tried.includes("right")).length;
    const first = this.tries.filter((tried) => tried[0] === "right").length;
    return `${right} of ${this.tries.length} right${right ? `, ${first} of them at the first try.` : "."}`;
  }
  answer({ press, values }) {
    if (!press) return {};
    const place = Number(press.split("-")[1]) - 1, question = this.questions[place];
    let [mark, words] = judge(question, values[`answer-${place + 1}`], this.units);
    if (mark !== "error") this.tries[place].push(mark);
    if (mark === "wrong" && this.tries[place].length >= MISSES) words += ` The answer is: ${question.told.replace(/\.$/, "")}.`;
    return { values, notes: { ...this.state.notes, [`answer-${place + 1}`]: [mark, words] }, result: this.score(), spoken: words };
  }
}

// ---- the page

const stored = JSON.parse(document.getElementById("stored").textContent);
document.documentElement.dataset.jpThemeLight = String(!matchMedia("(prefers-color-scheme: dark)").matches);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", (event) => { document.documentElement.dataset.jpThemeLight = String(!event.matches); });
// a machine without a font for mathematics: some browsers then leave subscripts at the height of the line
const probe = make("div", "probe", { innerHTML: "<math><msub><mi>x</mi><mi>x</mi></msub></math>" });
document.body.append(probe);
const [base, below] = [...probe.querySelectorAll("mi")].map((one) => one.getBoundingClientRect().bottom);
document.documentElement.classList.toggle("flat", below - base < 2);
probe.remove();
// a box that holds all it has is no stop for the keyboard
const stops = new ResizeObserver((boxes) => boxes.forEach(({ target }) => { target.tabIndex = target.scrollWidth > target.clientWidth || target.scrollHeight > target.clientHeight + 1 ? 0 : -1; }));
for (const place of document.querySelectorAll("[data-bench], [data-questions]")) {
  const bench = place.dataset.bench !== undefined;
  const model = bench ? new Bench(stored.benches[place.dataset.bench]) : new Questions(stored.questions[place.dataset.questions], stored.units);
  place.replaceChildren();
  render({ model, el: place });
}
for (const paper of document.querySelectorAll(".cw-paper")) { paper.setAttribute("role", "group"); paper.ariaLabel = "Picture"; }
for (const box of document.querySelectorAll(".wrap, .cw-paper")) stops.observe(box);
