// The front end of benches, questions and forms: labelled native controls, one picture, a line of words,
// and a polite status for screen readers. What the parts are is said by widgets.py.
//
// One message to the kernel is in flight. What changes meanwhile waits as the latest values of all controls
// (and a list of pressed buttons), so a fast drag never queues and the last value is always shown.

const make = (tag, className, properties = {}, ...children) => {
  const node = Object.assign(document.createElement(tag), { className, ...properties });
  node.append(...children);
  return node;
};
const decimals = (step) => Math.min(10, (`${step}`.split(/\.|e-/)[1] || "").length);
const GONE = "The kernel was restarted. Run this cell again to go on.";
const MARKS = { right: "✓", wrong: "✗", error: "!", note: "i" };

function render({ model, el }) {
  const view = Math.random().toString(36).slice(2);
  const root = make("div", "cw", { role: "group" });
  const title = make("p", "cw-title", { id: `${view}-title` });
  const lead = make("p", "cw-lead");
  const form = make("div", "cw-parts");
  const paper = make("div", "cw-paper");
  const result = make("p", "cw-result");
  const status = make("p", "cw-hidden", { role: "status", ariaLive: "polite" });
  const side = make("div", "cw-side", {}, paper, result);
  root.append(title, lead, make("div", "cw-body", {}, form, side), status);
  root.setAttribute("aria-labelledby", title.id);
  root.dataset.lmSuppressShortcuts = "true"; // JupyterLab's shortcuts, arrow keys among them, end here
  for (const kind of ["keydown", "keyup", "keypress"])
    root.addEventListener(kind, (event) => (event.ctrlKey || event.metaKey) || event.stopPropagation());
  root.addEventListener("keydown", (event) => event.key === "Escape" && el.closest(".jp-Cell")?.focus()); // out to the lesson
  el.append(root);

  // ---- talking to the kernel
  // pixels of the screen to each pixel of the picture's stated width: drawn so, it is sharp at every size
  let scale = 0;
  const pixels = () => {
    const ratio = window.devicePixelRatio || 1, [width] = model.get("frame");
    return width && paper.clientWidth ? Math.round(paper.clientWidth * ratio) / width : ratio;
  };
  const typed = new Set(); // names of parts whose newest value the kernel has not been sent
  let values = {}, sent = {}, number = 0, flying = 0, waiting = false, presses = [], heard = false;
  let draft = false; // while a hand drags on a fine screen: half the pixels each way, the sharp picture when it rests
  const ask = (press, dragged = false) => {
    if (root.classList.contains("cw-asleep")) say(GONE, 0); // nobody answers, and that is said to whoever tries
    if (press) presses.push(press);
    if (flying) { waiting = true; return; }
    clearTimeout(timer); // what was not said yet is said, or replaced, once this is answered
    press = presses.shift() || "";
    waiting = presses.length > 0;
    flying = ++number;
    sent = { ...values };
    typed.clear();
    root.classList.add("cw-busy");
    scale = pixels();
    draft = dragged && !press && scale > 1.25;
    model.send({ view, number, press, values: sent, ratio: scale, draft });
    flight = press;
  };
  let flight = "";
  const change = (name, value) => { values[name] = value; typed.add(name); ask(); };

  // ---- a screen reader hears the last sentence once the reader rests; an answer to a button at once
  let timer = 0, said = "", unsaid = "";
  const say = (text, delay) => {
    clearTimeout(timer);
    unsaid = text;
    const now = () => {
      if (!text) return;
      said = text === said ? `${text}\u00a0` : text; // the same words again must still be a change
      status.textContent = said;
      unsaid = "";
    };
    if (delay) timer = setTimeout(now, delay);
    else now(); // at once, or the next question to the kernel would take it back
  };

  // ---- the parts
  let controls = {}, notes = {};
  const id = (name) => `${view}-${name}`;
  const makers = {
    slider(part) {
      const { name, label, low, high, step, unit } = part;
      const write = (value) => value.toFixed(decimals(step));
      const range = make("input", "cw-range", { type: "range", id: id(name), min: low, max: high, step });
      const box = make("input", "cw-box", { type: "number", min: low, max: high, step: "any", ariaLabel: `${label}${unit && `, ${unit}`}` });
      const set = (value) => {
        range.value = value;
        range.setAttribute("aria-valuetext", `${write(value)} ${unit}`);
        if (document.activeElement !== box || Number(box.value) !== value) box.value = write(value);
      };
      range.addEventListener("input", () => { set(Number(range.value)); change(name, Number(range.value)); });
      box.addEventListener("change", () => {
        const value = box.value === "" ? values[name] : Math.min(high, Math.max(low, Number(box.value)));
        box.value = write(value);
        set(value);
        change(name, value);
      });
      box.addEventListener("keydown", (event) => { // arrows go by the slider's step, wherever the value stands
        const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
        if (!way) return;
        event.preventDefault();
        box.value = write(Number(box.value || values[name]) + way * step);
        box.dispatchEvent(new Event("change"));
      });
      const row = make("div", "cw-row", {}, range, box, make("span", "cw-unit", { textContent: unit, ariaHidden: "true" }));
      return { set, focus: range, nodes: [make("label", "cw-label", { htmlFor: range.id, textContent: label }), row] };
    },
    choice(part) {
      const select = make("select", "cw-select", { id: id(part.name) });
      select.append(...part.options.map((option) => new Option(option)));
      select.addEventListener("change", () => change(part.name, select.value));
      return { set: (value) => { select.value = value; }, focus: select, nodes: [label(part), select] };
    },
    radio(part) {
      const inputs = part.options.map((value) => make("input", "", { type: "radio", name: id(part.name), value }));
      for (const one of inputs) one.addEventListener("change", () => change(part.name, one.value));
      const rows = inputs.map((one) => make("label", "cw-option", {}, one, make("span", "", { textContent: one.value })));
      const field = make("fieldset", "cw-radio", {}, make("legend", "cw-label", { textContent: part.label }), ...rows);
      return { set: (value) => inputs.forEach((one) => { one.checked = one.value === value; }), focus: field, nodes: [field] };
    },
    check(part) {
      const input = make("input", "", { type: "checkbox", id: id(part.name) });
      input.addEventListener("change", () => change(part.name, input.checked));
      const row = make("label", "cw-option", {}, input, make("span", "", { textContent: part.label }));
      return { set: (value) => { input.checked = value; }, focus: input, nodes: [row] };
    },
    text(part) {
      const own = part.lines > 1 ? ["textarea", { rows: part.lines }] : ["input", { type: "text", maxLength: 400 }];
      const input = make(own[0], "cw-text", { ...own[1], id: id(part.name), autocomplete: "off", spellcheck: false });
      input.addEventListener("input", () => { values[part.name] = input.value; typed.add(part.name); });
      input.addEventListener("change", () => { if (sent[part.name] !== input.value) ask(); });
      input.addEventListener("keydown", (event) => { if (event.key === "Enter" && part.enter) ask(part.enter); });
      const press = part.press && make("button", "cw-button", { type: "button", textContent: part.press });
      if (press) press.addEventListener("click", () => ask(part.enter));
      const row = press ? make("div", "cw-row", {}, input, press) : input;
      return { set: (value) => { input.value = value; }, focus: input, nodes: [label(part), row] };
    },
    button(part) {
      const node = make("button", "cw-button", { type: "button", id: id(part.name), textContent: part.label });
      node.addEventListener("click", () => ask(part.name));
      return { focus: node, nodes: [node] };
    },
    group(part) {
      const field = make("fieldset", `cw-group${part.columns ? " cw-columns" : ""}`, {}, make("legend", "cw-legend", { textContent: part.label }));
      field.append(...part.parts.map(build));
      return { nodes: [field] };
    },
    fold(part) {
      const list = make("ul", "", {}, ...part.lines.map((line) => make("li", "", { textContent: line })));
      return { nodes: [make("details", "cw-fold", {}, make("summary", "", { textContent: part.label }), list)] };
    },
    words: (part) => ({ nodes: [make("p", "cw-words", { textContent: part.label })] }),
  };
  const label = (part) => make("label", "cw-label", { htmlFor: id(part.name), textContent: part.label });
  const build = (part) => {
    const made = makers[part.kind](part);
    const note = make("p", "cw-note", { id: `${id(part.name)}-note`, hidden: true });
    const about = part.help ? [make("p", "cw-help", { id: `${id(part.name)}-help`, textContent: part.help })] : [];
    made.focus?.setAttribute("aria-describedby", [...about.map((one) => one.id), note.id].join(" "));
    controls[part.name] = made;
    notes[part.name] = note;
    return make("div", `cw-part cw-of-${part.kind}`, {}, ...made.nodes, ...about, note);
  };
  const setControl = (name) => controls[name]?.set?.(values[name]);
  // A part that stays as it was keeps its element: replacing a list while somebody types into it loses keys.
  let drawn = {};
  const afresh = (part, text) => {
    const one = { text, controls: (controls = {}), notes: (notes = {}) };
    return Object.assign(one, { node: build(part) });
  };
  const drawParts = () => {
    const old = form.contains(document.activeElement) ? document.activeElement : null;
    const marked = old && [old.selectionStart, old.selectionEnd, old.selectionDirection];
    const [newest, before] = [values, drawn];
    drawn = {};
    values = { ...model.get("values") };
    for (const name of typed) if (name in values) values[name] = newest[name];
    for (const part of model.get("parts")) {
      const text = JSON.stringify(part);
      drawn[part.name] = before[part.name]?.text === text ? before[part.name] : afresh(part, text);
    }
    const all = Object.values(drawn);
    controls = Object.assign({}, ...all.map((one) => one.controls));
    notes = Object.assign({}, ...all.map((one) => one.notes));
    for (const one of Object.values(before)) if (!all.includes(one)) one.node.remove();
    all.forEach(({ node }, place) => form.children[place] === node || form.insertBefore(node, form.children[place] ?? null));
    Object.keys(values).forEach(setControl);
    const again = old && old !== document.activeElement ? document.getElementById(old.id) : null;
    again?.focus();
    if (again && marked[0] !== null) again.setSelectionRange?.(...marked);
  };
  const drawNotes = () => {
    const given = model.get("notes");
    for (const [name, note] of Object.entries(notes)) {
      const [mark, text] = given[name] || ["", ""];
      note.hidden = !text;
      note.className = `cw-note cw-${mark}`;
      note.replaceChildren(...(text ? [make("span", "cw-mark", { textContent: MARKS[mark], ariaHidden: "true" }), text] : []));
      controls[name].focus?.[mark === "error" ? "setAttribute" : "removeAttribute"]("aria-invalid", "true");
    }
  };

  // ---- the picture: loaded before it takes its place and decoded with it, so that the paper is never blank. One that
  // fails to load leaves the old one. (`decode()` would do as well, 10 ms later: the browser decodes again to paint.)
  const loaded = (next) => new Promise((done, fail) => Object.assign(next, { onload: done, onerror: () => fail(new Error("a picture did not load")) }));
  let image = null, asked = 0, onShow = 0;
  const drawPicture = async (given, alt) => { // PNG bytes, or in the still edition a file's name
    if (!(given?.byteLength ?? given?.length)) return;
    const mine = ++asked;
    const url = typeof given === "string" ? given : URL.createObjectURL(new Blob([given], { type: "image/png" }));
    const next = make("img", "cw-picture", { decoding: "sync", src: url });
    await loaded(next);
    if (mine < onShow) return URL.revokeObjectURL(url); // a later picture was ready first
    onShow = mine;
    if (!image) paper.append((image = next));
    const old = image.src;
    Object.assign(image, { alt, src: url });
    if (old !== url) URL.revokeObjectURL(old);
  };

  // ---- whatever the kernel changed, put on the page
  const shown = {};
  const fresh = (name) => shown[name] !== model.get(name) && ((shown[name] = model.get(name)), true);
  const refresh = () => {
    const [who, which] = model.get("answered");
    const own = Boolean(flying) && who === view && which === flying;
    const press = own && flight;
    if (own) {
      flying = 0;
      root.classList.remove("cw-busy", "cw-asleep");
    }
    if (fresh("title")) title.textContent = model.get("title");
    if (fresh("lead")) lead.textContent = model.get("lead");
    if (fresh("frame")) {
      const [width, height] = model.get("frame");
      root.classList.toggle("cw-pictured", Boolean(width));
      root.style.setProperty("--cw-width", `${width || 0}px`);
      paper.style.aspectRatio = width ? `${width} / ${height}` : "";
      paper.hidden = !width;
    }
    const newParts = fresh("parts");
    if (newParts) root.classList.toggle("cw-bare", !model.get("parts").length);
    if (newParts) drawParts();
    else if (fresh("values"))
      for (const [name, value] of Object.entries(model.get("values")))
        if (own ? value !== sent[name] : value !== values[name]) { values[name] = value; setControl(name); }
    if (fresh("notes") || newParts) drawNotes();
    if (fresh("goal") && own) controls[model.get("goal")[0]]?.focus?.focus();
    if (fresh("result")) result.textContent = model.get("result");
    if (fresh("picture")) drawPicture(model.get("picture"), model.get("alt"));
    else if (image && fresh("alt")) image.alt = model.get("alt");
    if (own) {
      if (fresh("spoken") && heard || press) unsaid = model.get("spoken");
      heard = true;
      if (press) say(unsaid, 0);
      else if (unsaid && !waiting && !draft) say(unsaid, 500);
      if (waiting) ask("", true);
      else if (draft) ask();
    }
    if (newParts && number) ask();
  };
  const asleep = () => { // the kernel that knew this panel is gone
    root.classList.add("cw-asleep");
    result.textContent = GONE;
    delete shown.result;
    // one sentence for all panels of the page: where the reader is, or the first of them
    if (root.contains(document.activeElement) || document.querySelector(".cw-asleep") === root) say(GONE, 0);
  };
  let screen = null; // says when the page is zoomed away from the present ratio of pixels
  const resized = () => {
    screen?.removeEventListener("change", resized);
    screen = window.matchMedia(`(resolution: ${window.devicePixelRatio}dppx)`);
    screen.addEventListener("change", resized);
    if ((paper.hidden || paper.clientWidth) && pixels() !== scale) ask();
  };
  const watch = new ResizeObserver(resized);
  watch.observe(paper);
  model.on("change", refresh);
  model.on("comm_live_update", asleep);
  refresh();
  resized(); // asks for the first picture, or the observer does once there is room for it
  return () => {
    model.off("change", refresh);
    model.off("comm_live_update", asleep);
    screen.removeEventListener("change", resized);
    watch.disconnect();
    clearTimeout(timer);
  };
}

export default { render };
