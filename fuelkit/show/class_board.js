// The projector view of a board: one question at a time, a show of hands, then the answer. Counts
// are drawn here at once and told to Python a little later. Loads nothing from anywhere.

const QUIET_MS = 250; // wait after a count before it is sent
const PATIENCE_MS = 8000; // after which one is told that no answer has come
const MOST_HANDS = 500;
const MOST_VALUES = 6;
const ANY = "*";
const OPEN = "?";
const WIDE = ["both", "table", "figures", "list"]; // views that take the place of the question

// How wide the question is [% of the screen] and how large the type: the first that fits is taken.
const FITS = [[42, 1], [50, 1], [58, 1], [58, 0.9], [66, 0.82], [70, 0.74], [70, 0.66], [70, 0.58]];

let boards = 0;

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "text") element.textContent = value;
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value != null) element.setAttribute(name, value);
  }
  element.append(...children);
  return element;
}

// A notebook's one-key shortcuts stay away only from elements that carry this mark themselves.
function guard(element) {
  element.setAttribute("data-lm-suppress-shortcuts", "true");
  return element;
}

function button(attributes, act) {
  const made = guard(make("button", { type: "button", ...attributes }));
  made.addEventListener("click", () => made.getAttribute("aria-disabled") !== "true" && act());
  return made;
}

const hands = (count) => (count === 1 ? "1 hand" : `${count || "no"} hands`);
const sum = (counts) => Object.values(counts).reduce((total, count) => total + count, 0);
const percent = (count, total) => Math.round((100 * count) / total);

class ClassBoard {
  constructor(model, el) {
    this.model = model;
    this.number = ++boards;
    this.asks = model.get("asks");
    this.at = 0;
    this.view = model.get("drawing") ? "before" : "";
    this.sheetPage = 0;
    this.takeCounts();
    this.build();
    el.append(this.root);
    this.listen();
    this.buildViews();
    this.show();
  }

  id(name) {
    return `fuelkit-class-${this.number}-${name}`;
  }

  get ask() {
    return this.asks[this.at];
  }

  shown(ask) {
    return this.model.get("reveals")[ask.id];
  }

  // ------------------------------------------------------------------------------ building
  build() {
    const { model } = this;
    this.live = make("div", { class: "unseen", "aria-live": "polite" });
    this.error = make("div", { class: "error", role: "alert", hidden: true });
    this.panel = make("div", { class: "panel", role: "group", "aria-labelledby": this.id("text") });
    this.answer = make("div", {
      class: "answer", role: "group", "aria-labelledby": this.id("right"), hidden: true,
    });
    this.body = make("div", { class: "body" }, this.figure(), this.panel);
    this.inside = make("div", { class: "inside" }, this.header(), this.body, this.answer,
      this.error, this.actions(), make("p", { class: "quiet safety", text: model.get("safety") }),
      this.live);
    // Takes the focus when the ground is clicked, so that no key then reaches the notebook.
    this.root = guard(make("section", {
      class: "fuelkit-class", "aria-label": `${model.get("title")}, for the class`, tabindex: "-1",
    }, this.inside));
    this.root.addEventListener("keydown", (event) => this.page(event));
  }

  header() {
    this.jumps = this.asks.map((ask, at) => button({}, () => this.go(at)));
    const list = make("ol", {}, ...this.jumps.map((jump) => make("li", {}, jump)));
    const top = make("div", { class: "top" }, make("h3", { text: this.model.get("title") }),
      make("nav", { "aria-label": "Questions" }, list));
    if (document.fullscreenEnabled) top.append(this.larger());
    return top;
  }

  larger() {
    const choice = button({ class: "larger", text: "Full screen" }, () => {
      if (document.fullscreenElement) document.exitFullscreen();
      else this.root.requestFullscreen().catch((problem) => this.showError(String(problem)));
    });
    this.onScreen = () => {
      choice.textContent = document.fullscreenElement ? "Leave full screen" : "Full screen";
      this.fit();
    };
    return choice;
  }

  figure() {
    const { model } = this;
    this.views = make("div", { class: "views", role: "group", "aria-label": "What is shown" });
    this.stage = make("div", { class: "stage" });
    const words = [model.get("lead"), model.get("when")].filter(Boolean).join("\n");
    this.lead = make("p", { class: "lead", text: words, hidden: !words });
    this.asked = make("p", { class: "asked-now" });
    return make("div", { class: "figure" }, this.views, this.asked, this.stage, this.lead);
  }

  actions() {
    this.previous = button({ text: "◀ Previous" }, () => this.go(this.at - 1));
    this.next = button({ text: "Next ▶" }, () => this.go(this.at + 1));
    this.reveal = button({ class: "reveal", text: "Reveal" }, () => this.send(
      { kind: "reveal", ask: this.ask.id }));
    this.all = button({ text: "Reveal all" }, () => this.send({ kind: "reveal all" }));
    this.again = button({ text: "Hide again" }, () => this.sure(true));
    this.row = make("div", { class: "actions", role: "group", "aria-label": "Go on" },
      this.previous, this.reveal, this.all, this.again, this.next);
    return make("div", {}, this.row, this.question());
  }

  // The second step before a class's counts are gone.
  question() {
    const words = make("p", {
      id: this.id("sure"),
      text: "Start again for another class? This clears the counts and hides the answers.",
    });
    this.yes = button({ class: "reveal", text: "Yes, start again" }, () => {
      this.sure(false);
      this.send({ kind: "again" });
    });
    const no = button({ text: "No, keep them" }, () => this.sure(false));
    this.confirm = make("div", {
      class: "actions", role: "group", "aria-labelledby": this.id("sure"), hidden: true,
    }, words, this.yes, no);
    this.no = no;
    this.confirm.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.sure(false);
    });
    return this.confirm;
  }

  sure(asked) {
    this.confirm.hidden = !asked;
    this.row.hidden = asked;
    this.fit();
    (asked ? this.no : this.again).focus();
  }

  // --------------------------------------------------------------------- drawings and tables
  buildViews() {
    const { model } = this;
    const after = model.get("after_drawing");
    const tables = [model.get("table"), model.get("after_table")].join("");
    const views = [["before", after ? "Before" : "Drawing", model.get("drawing")],
      ["after", "What the aircraft did", after],
      ["both", "Side by side", after && model.get("drawing")], ["table", "Table", tables],
      ["figures", "Figures", model.get("figures")], ["list", "All questions", "list"]];
    this.pages = new Map();
    this.choices = new Map();
    this.sheet = make("div", { class: "sheet" });
    this.pager = this.makePager();
    this.stage.replaceChildren();
    const held = this.views.contains(document.activeElement) && document.activeElement.textContent;
    this.views.replaceChildren();
    for (const [name, words, html] of views.filter((view) => view[2])) {
      this.choices.set(name, button({ text: words }, () => this.turn(name)));
      this.views.append(this.choices.get(name));
      if (name === "before" || name === "after") this.addDrawing(name, words, html);
    }
    this.stage.append(this.sheet, this.pager);
    this.enlarge = button({ class: "larger" }, () => this.toggleLarge());
    if (this.pages.size) this.views.append(this.enlarge);
    this.buildSymbols();
    if (!this.choices.has(this.view)) this.view = this.pages.size ? "before" : "";
    [...this.views.children].find((choice) => choice.textContent === held)?.focus();
  }

  addDrawing(name, words, html) {
    const page = make("figure", {}, make("figcaption", { text: words }));
    page.insertAdjacentHTML("beforeend", html);
    this.pages.set(name, page);
    this.stage.append(page);
  }

  makePager() {
    this.rows = make("span", { "aria-live": "polite" });
    this.earlier = button({ text: "▲ Rows before" }, () => this.leaf(-1));
    this.later = button({ text: "▼ Rows after" }, () => this.leaf(1));
    return make("div", { class: "pager", role: "group", "aria-label": "Rows of the table" },
      this.earlier, this.later, this.rows);
  }

  turn(name) {
    // A second press on a sheet goes back to the question.
    const back = WIDE.includes(name) && this.view === name;
    this.view = back ? (this.pages.size ? "before" : "") : name;
    this.sheetPage = 0;
    if (!this.pages.has(this.view)) this.large = false;
    this.drawView();
    this.fit();
  }

  toggleLarge() {
    this.large = !this.large;
    if (!this.pages.has(this.view)) this.view = "before";
    this.drawView();
    this.fit();
  }

  drawView() {
    const drawings = this.view === "both" ? ["before", "after"] : [this.view];
    for (const [name, page] of this.pages) page.hidden = !drawings.includes(name);
    for (const [name, choice] of this.choices) {
      choice.setAttribute("aria-pressed", String(name === this.view));
    }
    const sheets = { table: this.model.get("table") + this.model.get("after_table"),
      figures: this.model.get("figures") };
    this.sheet.hidden = !(this.view in sheets) && this.view !== "list";
    this.sheet.replaceChildren();
    if (this.view in sheets) this.sheet.innerHTML = sheets[this.view];
    if (this.view === "list") this.sheet.append(this.list());
    this.pager.hidden = true;
    this.enlarge.textContent = this.large ? "Back to the question" : "Enlarge drawing";
    const wide = WIDE.includes(this.view);
    this.inside.classList.toggle("wide", wide);
    this.inside.classList.toggle("large", Boolean(this.large));
    this.inside.classList.toggle("side-by-side", this.view === "both");
    this.inside.classList.toggle("bare", !this.pages.size);
    this.panel.hidden = wide || Boolean(this.large);
    this.asked.hidden = this.view !== "both" && !this.large;
    this.asked.textContent = `${this.at + 1}. ${this.ask.text}`;
    this.lead.hidden = !this.lead.textContent || wide || Boolean(this.large);
  }

  list() {
    const head = ["Question", "Computed", "The class"];
    const rows = this.asks.map((ask, at) => make("tr", {},
      make("td", {}, button({ text: `${at + 1}. ${ask.text}` }, () => this.go(at))),
      make("td", { text: this.shown(ask)?.right ?? "not revealed" }),
      make("td", { text: this.shown(ask) ? this.share(ask) : hands(sum(this.counts[ask.id] ?? {})) })));
    return make("table", {}, make("caption", { text: "All questions of this board" }),
      make("thead", {}, make("tr", {}, ...head.map((words) => make("th", { scope: "col", text: words })))),
      make("tbody", {}, ...rows));
  }

  // What is asked for is outlined on the drawing; what is revealed is written there.
  buildSymbols() {
    this.symbols = [];
    for (const group of this.pages.get("before")?.querySelectorAll("[data-component]") ?? []) {
      const ask = this.asks.find((a) => a.component === group.dataset.component);
      this.symbols.push({ ask, group });
    }
  }

  drawSymbol({ ask, group }) {
    const value = (ask && this.shown(ask)?.right) || OPEN;
    const variants = [...group.querySelectorAll("[data-variant]")];
    const named = variants.find((v) => v.dataset.variant === value);
    const chosen = named ?? variants.find((v) => v.dataset.variant === ANY);
    for (const variant of variants) {
      if (variant === chosen) variant.removeAttribute("display");
      else variant.setAttribute("display", "none");
    }
    for (const text of chosen && !named ? chosen.querySelectorAll("text") : []) {
      text.dataset.words ??= text.textContent;
      text.textContent = text.dataset.words.replace(ANY, value);
    }
    group.classList.toggle("now", Boolean(ask) && this.ask.component === ask.component);
  }

  // -------------------------------------------------------------------------- the question
  show() {
    this.buildPanel();
    this.drawView();
    this.refresh();
    this.fit();
  }

  go(at) {
    if (at < 0 || at >= this.asks.length) return;
    this.at = at;
    if (WIDE.includes(this.view) && this.view !== "both") this.view = this.pages.size ? "before" : "";
    const lost = this.sheet.contains(document.activeElement);
    this.show();
    if (lost) this.jumps[at].focus();
    this.live.textContent = `Question ${at + 1} of ${this.asks.length}. ${this.ask.text}`;
  }

  buildPanel() {
    const { ask } = this;
    const hint = [ask.unit, ask.hint].filter(Boolean).join("; ");
    this.lines = [];
    const rows = make("div", { class: "rows" });
    if (ask.kind === "choice") for (const option of ask.options) rows.append(this.line(option));
    else this.heard[ask.id].forEach((row, at) => rows.append(this.line(row.text, at)));
    this.total = make("p", { class: "total" });
    this.more = button({ class: "more", text: "Add a value" }, () => this.addValue());
    this.panel.replaceChildren(
      make("p", { class: "quiet", text: `Question ${this.at + 1} of ${this.asks.length}` }),
      make("h4", { id: this.id("text"), text: ask.text }),
      ...(hint ? [make("p", { class: "quiet", text: hint })] : []), rows,
      make("div", { class: "under" }, this.total, ...(ask.kind === "choice" ? [] : [this.more])));
  }

  // One answer of the class: its name or the value heard, the hands, and their bar.
  line(name, at) {
    const said = name || `value ${at + 1}`;
    const number = this.lines.length;
    const label = at === undefined ? make("span", { class: "name", text: name }) : this.value(name, at);
    const count = guard(make("input", {
      type: "text", inputmode: "numeric", role: "spinbutton", autocomplete: "off", class: "count",
      "aria-label": `Hands for ${said}`, "aria-valuemin": 0, "aria-valuemax": MOST_HANDS,
      "data-stop": `count ${number}`,
    }));
    const fewer = button({ text: "−", "aria-label": `One hand fewer for ${said}`, class: "step",
      "data-stop": `fewer ${number}` }, () => this.step(number, -1));
    const more = button({ text: "+", "aria-label": `One hand more for ${said}`, class: "step",
      "data-stop": `more ${number}` }, () => this.step(number, 1));
    count.addEventListener("input", () => this.typed(number));
    count.addEventListener("focus", () => count.select());
    count.addEventListener("keydown", (event) => this.key(event, number));
    const fill = make("span", { class: "fill" });
    const words = make("span", { class: "words" });
    const sign = make("span", { class: "sign" });
    const row = make("div", { class: "line", role: "group", "aria-label": said }, label,
      make("span", { class: "hands" }, fewer, count, more), words,
      make("span", { class: "bar", "aria-hidden": "true" }, fill), sign);
    this.lines.push({ name, at, row, count, fill, words, sign, label });
    return row;
  }

  value(text, at) {
    const field = guard(make("input", {
      type: "text", class: "name", autocomplete: "off", spellcheck: "false", maxlength: 40,
      "aria-label": `Value ${at + 1} heard from the class`, "data-stop": `value ${at}`,
      readonly: Boolean(this.shown(this.ask)), placeholder: "value heard",
    }));
    field.value = text;
    field.addEventListener("change", () => this.hear(at, field.value.trim()));
    return field;
  }

  hear(at, text) {
    const rows = this.heard[this.ask.id];
    if (text && rows.some((row, other) => other !== at && row.text === text)) {
      this.showError(`“${text}” is in the list already; count its hands there.`);
      this.lines[at].label.value = rows[at].text;
      return;
    }
    rows[at].text = text;
    this.changed();
  }

  addValue() {
    const rows = this.heard[this.ask.id];
    if (rows.length >= MOST_VALUES || this.shown(this.ask)) return;
    rows.push({ text: "", count: 0 });
    this.show();
    this.lines.at(-1).label.focus();
  }

  // ------------------------------------------------------------------------------- counting
  takeCounts() {
    this.counts = structuredClone(this.model.get("counts"));
    this.heard = {};
    for (const ask of this.asks.filter((a) => a.kind !== "choice")) {
      const rows = Object.entries(this.counts[ask.id] ?? {});
      this.heard[ask.id] = rows.map(([text, count]) => ({ text, count }));
      if (!rows.length) this.heard[ask.id].push({ text: "", count: 0 });
    }
  }

  countOf({ name, at }) {
    return at === undefined ? this.counts[this.ask.id]?.[name] ?? 0 : this.heard[this.ask.id][at].count;
  }

  set(number, count) {
    if (count < 0 || count > MOST_HANDS) {
      this.showError(`Hands is ${count}; it must be a whole number from 0 to ${MOST_HANDS}.`);
      this.refresh();
      return;
    }
    const { name, at } = this.lines[number];
    if (at === undefined) this.counts[this.ask.id] = { ...this.counts[this.ask.id], [name]: count };
    else this.heard[this.ask.id][at].count = count;
    this.changed();
  }

  step(number, by) {
    const count = this.countOf(this.lines[number]) + by;
    if (count >= 0 && count <= MOST_HANDS) this.set(number, count);
  }

  typed(number) {
    const digits = this.lines[number].count.value.replace(/\D/g, "");
    this.set(number, Number(digits.slice(0, 6)));
  }

  key(event, number) {
    const steps = { ArrowUp: 1, ArrowDown: -1 };
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key in steps) this.step(number, steps[event.key]);
    else if (event.key === "Enter") (this.lines[number + 1]?.count ?? this.reveal).focus();
    else return;
    event.preventDefault();
  }

  // Keys of a presenter's remote; only in full screen, where they have nothing else to do.
  page(event) {
    const steps = { PageDown: 1, PageUp: -1 };
    if (!document.fullscreenElement || !(event.key in steps)) return;
    event.preventDefault();
    this.go(this.at + steps[event.key]);
  }

  changed() {
    this.showError("");
    if (this.ask.kind !== "choice") {
      const named = this.heard[this.ask.id].filter((row) => row.text);
      this.counts[this.ask.id] = Object.fromEntries(named.map((row) => [row.text, row.count]));
    }
    this.refresh();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.sendCounts(), QUIET_MS);
  }

  sendCounts() {
    clearTimeout(this.timer);
    this.timer = undefined;
    this.model.set("counts", structuredClone(this.counts));
    this.model.save_changes();
  }

  send(message) {
    if (this.busy) return;
    if (this.timer !== undefined) this.sendCounts();
    this.busy = message.kind;
    this.showError("");
    this.refresh();
    this.model.send(message);
    this.waiting = setTimeout(() => this.showError(
      "No answer has come yet. If the notebook is busy, wait. If its kernel has stopped, restart it"
      + " (menu Kernel) and run this cell again."), PATIENCE_MS);
  }

  // ---------------------------------------------------------------------- what Python sends
  listen() {
    const { model } = this;
    this.handlers = [
      ["change:error", () => this.showError(model.get("error"))],
      ["change:reveals", () => this.show()],
      ["change:after_drawing", () => { this.buildViews(); this.show(); }],
      ["change:after_table", () => { this.buildViews(); this.show(); }],
      ["change:counts", () => this.takeOver()],
      ["msg:custom", (message) => this.answered(message)],
    ];
    for (const [event, handler] of this.handlers) model.on(event, handler);
    document.addEventListener("fullscreenchange", this.onScreen ??= () => this.fit());
    this.watch = new ResizeObserver(() => this.fit());
    this.watch.observe(this.root);
  }

  close() {
    clearTimeout(this.waiting);
    if (this.timer !== undefined) this.sendCounts();
    this.watch.disconnect();
    document.removeEventListener("fullscreenchange", this.onScreen);
    for (const [event, handler] of this.handlers) this.model.off(event, handler);
  }

  takeOver() {
    if (this.timer !== undefined) return;
    if (JSON.stringify(this.model.get("counts")) === JSON.stringify(this.counts)) return;
    const stop = this.panel.contains(document.activeElement) && document.activeElement.dataset.stop;
    this.takeCounts();
    this.show();
    if (stop) this.panel.querySelector(`[data-stop="${stop}"]`)?.focus();
  }

  answered(message) {
    if (message?.kind !== "answered" || !this.busy) return;
    clearTimeout(this.waiting);
    const was = this.busy;
    this.busy = undefined;
    this.showError(this.model.get("error"));
    this.refresh();
    if (was === "again") this.restart();
    else if (this.shown(this.ask)) this.tell(was);
  }

  restart() {
    this.go(0);
    this.live.textContent = "Counts are cleared and answers hidden. Question 1.";
    this.jumps[0].focus();
  }

  tell(was) {
    const whole = this.model.get("after_drawing")
      ? " All are revealed. What the aircraft did can now be shown." : "";
    this.live.textContent = was === "reveal all" ? `All answers are shown.${whole}`
      : `Computed: ${this.shown(this.ask).right}. ${this.share(this.ask)}.${whole}`;
    this.heading.focus();
  }

  // -------------------------------------------------------------------------------- drawing
  // Which share of the class had it, in words.
  share(ask) {
    const counts = this.counts[ask.id] ?? {};
    const total = sum(counts), { had } = this.shown(ask);
    if (!total) return "No hands were counted";
    if (!had) return `${hands(total)}; compare what they said with the answer`;
    const right = had.reduce((all, name) => all + (counts[name] ?? 0), 0);
    return `${right || "None"} of ${hands(total)} had it, ${percent(right, total)} %`;
  }

  refresh() {
    const { ask } = this;
    const shown = this.shown(ask), total = sum(this.counts[ask.id] ?? {});
    for (const line of this.lines) this.drawLine(line, total, shown);
    this.total.textContent = total ? `${hands(total)} in all` : "No hands counted yet";
    this.more.hidden = Boolean(shown) || this.heard[ask.id]?.length >= MOST_VALUES;
    for (const symbol of this.symbols) this.drawSymbol(symbol);
    this.jumps.forEach((jump, at) => this.drawJump(jump, at));
    this.drawAnswer(ask, shown);
    const open = this.asks.filter((a) => !this.shown(a)).length;
    const off = (element, is) => element.setAttribute("aria-disabled", String(Boolean(is)));
    off(this.previous, this.at === 0);
    off(this.next, this.at === this.asks.length - 1);
    off(this.reveal, shown || this.busy);
    this.reveal.textContent = this.busy ? "Computing …" : shown ? "Revealed" : "Reveal";
    off(this.all, !open || this.busy);
    off(this.again, (open === this.asks.length && !Object.values(this.counts).some(sum)) || this.busy);
  }

  drawLine(line, total, shown) {
    const count = this.countOf(line), text = line.at === undefined ? line.name : line.label.value.trim();
    const had = Boolean(shown?.had?.includes(text)) && text !== "";
    if (line.count.value !== String(count)) line.count.value = count;
    line.count.setAttribute("aria-valuenow", count);
    line.fill.style.width = total ? `${(100 * count) / total}%` : "0";
    line.words.textContent = total && text ? `${hands(count)}, ${percent(count, total)} %` : hands(count);
    line.row.classList.toggle("right", had);
    line.row.classList.toggle("shown", Boolean(shown));
    line.sign.textContent = had ? "✓ computed answer" : "";
    line.sign.hidden = !had;
  }

  drawJump(jump, at) {
    const shown = Boolean(this.shown(this.asks[at]));
    jump.textContent = shown ? `${at + 1} ✓` : `${at + 1}`;
    jump.setAttribute("aria-label",
      `Question ${at + 1}${shown ? ", revealed" : ""}: ${this.asks[at].text}`);
    if (at === this.at) jump.setAttribute("aria-current", "step");
    else jump.removeAttribute("aria-current");
  }

  drawAnswer(ask, shown) {
    this.answer.hidden = !shown;
    this.inside.classList.toggle("revealed", Boolean(shown));
    if (!shown) {
      this.answer.replaceChildren();
      delete this.answer.dataset.for;
      return;
    }
    if (this.answer.dataset.for !== ask.id) {
      this.answer.dataset.for = ask.id;
      this.heading = guard(make("h4", { id: this.id("right"), tabindex: "-1",
        text: `✓ Computed: ${shown.right}` }));
      this.had = make("p", { class: "had" });
      this.answer.replaceChildren(make("div", { class: "first" }, this.heading, this.had),
        make("p", { text: shown.reason, hidden: !shown.reason }));
    }
    this.had.textContent = this.share(ask);
  }

  // In full screen everything fits without scrolling: the question widens, then the type shrinks.
  fit() {
    const full = document.fullscreenElement === this.root;
    for (const [share, type] of full ? FITS : [FITS[0]]) {
      this.root.style.setProperty("--share", `${share}%`);
      this.root.style.setProperty("--type", type);
      if (!full || this.fits()) break;
    }
    this.leaf(0);
  }

  fits() {
    const boxes = [this.inside, this.body, this.panel, this.body.firstElementChild];
    return boxes.every((box) => box.scrollHeight <= box.clientHeight + 1
      && box.scrollWidth <= box.clientWidth + 1);
  }

  // A table that is longer than the screen is turned over in leaves; nothing scrolls.
  leaf(by) {
    const full = document.fullscreenElement === this.root;
    const rows = [...this.sheet.querySelectorAll("tr")].filter((row) => row.closest("tbody"));
    for (const hidden of this.sheet.querySelectorAll("[hidden]")) hidden.hidden = false;
    this.pager.hidden = true;
    if (!full || this.sheet.hidden || this.sheet.scrollHeight <= this.sheet.clientHeight + 1) return;
    this.pager.hidden = false;
    const leaves = this.leaves(rows);
    this.sheetPage = Math.max(0, Math.min(this.sheetPage + by, leaves.length - 1));
    const [from, to] = leaves[this.sheetPage];
    rows.forEach((row, at) => { row.hidden = at < from || at >= to; });
    for (const table of this.sheet.querySelectorAll("table")) {
      table.hidden = !table.querySelector("tbody tr:not([hidden])");
    }
    this.rows.textContent = `Rows ${from + 1} to ${to} of ${rows.length}`;
    this.earlier.setAttribute("aria-disabled", String(this.sheetPage === 0));
    this.later.setAttribute("aria-disabled", String(this.sheetPage === leaves.length - 1));
  }

  leaves(rows) {
    const found = [[0, 0]];
    let used = 0;
    rows.forEach((row, at) => {
      const table = row.closest("table"), high = row.getBoundingClientRect().height;
      const head = rows[0].getBoundingClientRect().top - rows[0].closest("table").getBoundingClientRect().top;
      const turned = at > 0 && rows[at - 1].closest("table") !== table;
      if (turned || head + used + high > this.sheet.clientHeight) {
        if (at > found.at(-1)[0]) found.push([at, at]);
        used = 0;
      }
      used += high;
      found.at(-1)[1] = at + 1;
    });
    return found;
  }

  showError(words) {
    this.error.replaceChildren();
    if (words) this.error.append(make("strong", { text: "Not done. " }), words);
    this.error.hidden = !words;
    this.fit();
  }
}

export default {
  render({ model, el }) {
    const board = new ClassBoard(model, el);
    return () => board.close();
  },
};
