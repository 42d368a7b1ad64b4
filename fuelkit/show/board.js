// The prediction board in the browser. Draws what Python sends; every change of a prediction is
// drawn here at once and told to Python a little later. Loads nothing from anywhere.

const QUIET_MS = 250; // wait after a change before the draft is sent
const PATIENCE_MS = 8000; // after which a learner is told that no answer has come
const ANY = "*";
const OPEN = "?";

// Read the same figures and times as the marking does, so that nothing unreadable is committed.
const MASS = /^[+-]?(\d{1,3}(,\d{3})*(\.\d+)?|\d+(\.\d+)?|\d+,\d{1,2})(kg|t|lb)?$/i;
const CLOCK = /^\d{1,2}[:h](\d{1,2})((?:[:m]|min)(\d{1,2})?s?)?$/i;

let boards = 0;

export function readable(kind, text) {
  const bare = text.replace(/[\u00a0\u2009\u202f ]+/g, "");
  if (kind === "number") return bare.length <= 20 && MASS.test(bare);
  if (kind !== "time") return true;
  const found = bare.length <= 12 ? CLOCK.exec(bare) : null;
  return found !== null && Number(found[1]) < 60 && Number(found[3] || 0) < 60;
}

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

const button = (attributes) => guard(make("button", { type: "button", ...attributes }));

class Board {
  constructor(model, el) {
    this.model = model;
    this.number = ++boards;
    this.answers = { ...model.get("answers") };
    this.view = "drawing";
    this.busy = false;
    this.root = make("section", { class: "fuelkit-board", "aria-label": model.get("title") });
    this.build();
    el.append(this.root);
    this.listen();
    this.refresh();
  }

  id(name) {
    return `fuelkit-${this.number}-${name}`;
  }

  locked() {
    return this.busy || this.model.get("committed");
  }

  // ------------------------------------------------------------------------------ building
  build() {
    const { model } = this;
    this.live = make("div", { class: "unseen", "aria-live": "polite" });
    this.error = make("div", { class: "error", role: "alert", hidden: true });
    this.body = make("div", { class: "body" }, this.figure(), this.panel());
    this.result = make("div", { class: "result", hidden: true });
    this.lead = make("p", { class: "lead", text: model.get("lead"), hidden: !model.get("lead") });
    this.root.append(
      make("h3", { text: model.get("title") }),
      this.lead,
      make("p", { class: "quiet", text: model.get("restored_note"), hidden: !model.get("restored_note") }),
      this.body, this.error, this.result, this.live,
      make("p", { class: "quiet", text: model.get("safety") }),
    );
    this.buildViews();
    for (const summary of this.root.querySelectorAll("summary")) guard(summary);
  }

  figure() {
    const { model } = this;
    this.views = make("div", { class: "views", role: "group", "aria-label": "What is shown" });
    this.stage = make("div", { class: "stage" });
    const figure = make("div", { class: "figure" }, this.views, this.stage);
    if (model.get("figures")) {
      const figures = make("div", { class: "scroll" });
      figures.innerHTML = model.get("figures");
      figure.append(make("details", {}, make("summary", { text: "Figures you may use" }), figures));
    }
    figure.hidden = !model.get("drawing") && !model.get("figures");
    return figure;
  }

  panel() {
    const { model } = this;
    this.controls = new Map();
    const asks = make("div", { class: "asks" });
    for (const ask of model.get("asks")) asks.append(this.ask(ask));
    this.open = make("p", { class: "quiet", id: this.id("open") });
    this.commit = button({
      class: "commit", text: model.get("commit_label"), "aria-describedby": this.id("open"),
    });
    this.commit.addEventListener("click", () => this.send());
    this.form = make("div", { class: "panel", role: "group", "aria-labelledby": this.id("panel") },
      make("h4", { id: this.id("panel"), text: model.get("asks").length ? "Your prediction" : "" }),
      make("p", { text: model.get("when"), hidden: !model.get("when") }),
      asks, make("div", { class: "row" }, this.commit, this.open));
    return this.form;
  }

  ask(ask) {
    if (ask.kind === "choice" && ask.options.length <= 5) return this.radios(ask);
    const field = guard(ask.kind === "choice" ? this.select(ask) : make("input", {
      type: "text", autocomplete: "off", spellcheck: "false",
    }));
    field.id = this.id(ask.id);
    field.value = this.answers[ask.id] ?? "";
    field.addEventListener(ask.kind === "choice" ? "change" : "input",
      () => this.set(ask, field.value));
    const label = make("label", { for: field.id, text: ask.text });
    const hint = this.hint(ask, field);
    this.controls.set(ask.id, {
      ask, focus: field, lock: (locked) => { field.disabled = locked; },
      show: (value) => { if (field.value !== value) field.value = value; },
    });
    return make("div", { class: "ask" }, label, field, ...hint);
  }

  hint(ask, field) {
    const words = [ask.unit, ask.hint].filter(Boolean).join("; ");
    if (!words) return [];
    field.setAttribute("aria-describedby", this.id(`${ask.id}-hint`));
    return [make("div", { class: "quiet", id: this.id(`${ask.id}-hint`), text: words })];
  }

  select(ask) {
    const options = ask.options.map((option) => make("option", { value: option, text: option }));
    return make("select", {}, make("option", { value: "", text: "choose" }), ...options);
  }

  radios(ask) {
    const inputs = ask.options.map((option) => guard(make("input", {
      type: "radio", name: this.id(ask.id), value: option,
    })));
    for (const input of inputs) {
      input.addEventListener("change", () => this.set(ask, input.value));
    }
    const show = (value) => inputs.forEach((input) => { input.checked = input.value === value; });
    show(this.answers[ask.id]);
    this.controls.set(ask.id, {
      ask, focus: inputs[0], show,
      lock: (locked) => inputs.forEach((input) => { input.disabled = locked; }),
    });
    const hint = ask.hint ? [make("div", { class: "quiet", text: ask.hint })] : [];
    return make("fieldset", { class: "ask" }, make("legend", { text: ask.text }),
      make("div", { class: "choices" }, ...inputs.map((input) =>
        make("label", { class: "choice" }, input, make("span", { text: input.value })))), ...hint);
  }

  // --------------------------------------------------------------------- drawings and tables
  buildViews() {
    const { model } = this;
    const after = model.get("committed") && model.get("after_drawing");
    const views = [["drawing", after ? "Before" : "Drawing", model.get("drawing")]];
    if (after) views.push(["after", "What the aircraft did", model.get("after_drawing")]);
    const table = (after && model.get("after_table")) || model.get("table");
    views.push(["table", "As a table", table]);
    this.views.replaceChildren();
    this.stage.replaceChildren();
    this.pages = new Map();
    for (const [name, words, html] of views.filter((view) => view[2])) {
      const choice = button({ text: words });
      choice.addEventListener("click", () => this.turn(name));
      const page = make("div", name === "table" ? { class: "scroll", tabindex: "0" } : {});
      if (name === "table") guard(page).setAttribute("aria-label", "Table");
      if (name === "table") page.setAttribute("role", "region");
      page.innerHTML = html;
      this.pages.set(name, { choice, page });
      this.views.append(choice);
      this.stage.append(page);
    }
    if (document.fullscreenEnabled && this.pages.size) this.views.append(this.larger());
    this.views.hidden = this.pages.size < 1;
    this.buildSymbols();
    this.turn(after ? "after" : "drawing");
  }

  larger() {
    const choice = button({ class: "larger", text: "Full screen" });
    this.root.onfullscreenchange = () => {
      choice.textContent = document.fullscreenElement ? "Leave full screen" : "Full screen";
    };
    choice.addEventListener("click", () => {
      if (document.fullscreenElement) document.exitFullscreen();
      else this.root.requestFullscreen().catch((problem) => this.showError(String(problem)));
    });
    return choice;
  }

  turn(name) {
    for (const [other, { choice, page }] of this.pages) {
      page.hidden = other !== name;
      choice.setAttribute("aria-pressed", String(other === name));
    }
  }

  // Symbols on the drawing that can be set: each stands for the first ask about its component.
  buildSymbols() {
    this.symbols = [];
    const drawing = this.pages.get("drawing")?.page;
    for (const group of drawing?.querySelectorAll("[data-component]") ?? []) {
      const ask = this.model.get("asks").find((a) => a.component === group.dataset.component);
      if (!ask) {
        group.querySelector(".asked-area")?.remove();
        continue;
      }
      drawing.querySelector("svg")?.setAttribute("role", "group");
      guard(group).setAttribute("role", "button");
      group.setAttribute("tabindex", "0");
      group.addEventListener("click", () => this.step(ask, 1));
      group.addEventListener("keydown", (event) => this.key(event, ask));
      this.symbols.push({ ask, group });
    }
  }

  key(event, ask) {
    const steps = { Enter: 1, " ": 1, ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
    if (!(event.key in steps) || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    this.step(ask, steps[event.key]);
  }

  step(ask, by) {
    if (this.locked()) return;
    if (ask.kind !== "choice") {
      this.controls.get(ask.id).focus.focus();
      return;
    }
    const at = ask.options.indexOf(this.answers[ask.id]);
    const next = at < 0 ? (by > 0 ? 0 : ask.options.length - 1) : at + by;
    this.set(ask, ask.options[(next + ask.options.length) % ask.options.length]);
    this.live.textContent = `${ask.text}: ${this.answers[ask.id]}`;
  }

  drawSymbol({ ask, group }) {
    const value = this.answers[ask.id] || OPEN;
    const variants = [...group.querySelectorAll("[data-variant]")];
    const named = variants.find((v) => v.dataset.variant === value);
    const shown = named ?? variants.find((v) => v.dataset.variant === ANY);
    for (const variant of variants) {
      if (variant === shown) variant.removeAttribute("display");
      else variant.setAttribute("display", "none");
    }
    if (shown && !named) this.writeWords(shown, value);
    const locked = this.model.get("committed");
    const how = ask.kind === "choice" ? "Press Enter to change." : "Press Enter to type it.";
    const set = this.answers[ask.id] || "not set";
    group.setAttribute("aria-label",
      `${ask.text}: your prediction ${set}.${locked ? "" : ` ${how}`}`);
    group.classList.toggle("locked", locked);
    if (locked) group.setAttribute("aria-disabled", "true");
  }

  writeWords(variant, value) {
    for (const text of variant.querySelectorAll("text, tspan")) {
      text.dataset.words ??= [...text.childNodes].some(
        (n) => n.nodeType === Node.TEXT_NODE && n.textContent.includes(ANY)) ? text.textContent : "";
      if (text.dataset.words) text.textContent = text.dataset.words.replace(ANY, value);
    }
  }

  // ------------------------------------------------------------------------------- changing
  set(ask, value) {
    if (this.locked()) return;
    this.answers = { ...this.answers, [ask.id]: value };
    this.refresh();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.sendDraft(), QUIET_MS);
  }

  sendDraft() {
    this.timer = undefined;
    this.model.set("answers", { ...this.answers });
    this.model.save_changes();
  }

  // What still keeps the prediction from being committed, as sentences.
  missing() {
    const open = [], unreadable = [];
    for (const ask of this.model.get("asks")) {
      const value = (this.answers[ask.id] ?? "").trim();
      if (!value && ask.kind !== "text") open.push(ask.text);
      else if (value && !readable(ask.kind, value)) unreadable.push(ask);
    }
    const form = { number: "a figure such as 3 250 kg", time: "a time such as 1:32:00" };
    return [
      ...(open.length ? [`Still to answer: ${open.map((t) => t.replace(/[?.]$/, "")).join("; ")}.`] : []),
      ...unreadable.map((ask) => `${ask.text.replace(/[?.]$/, "")}: write ${form[ask.kind]}.`),
    ];
  }

  send() {
    if (this.locked()) return;
    const missing = this.missing();
    if (missing.length) {
      this.live.textContent = missing.join(" ");
      return;
    }
    clearTimeout(this.timer);
    this.timer = undefined;
    this.busy = true;
    this.showError("");
    this.refresh();
    this.model.send({ kind: "commit", answers: { ...this.answers } });
    this.waiting = setTimeout(() => this.showError(
      "No answer has come yet. If the notebook is busy, wait. If its kernel has stopped, restart it"
      + " (menu Kernel) and run this cell again; what you set is kept as a draft."), PATIENCE_MS);
  }

  // ---------------------------------------------------------------------- what Python sends
  listen() {
    const { model } = this;
    this.handlers = [
      ["change:lead", () => { this.lead.textContent = model.get("lead"); }],
      ["change:error", () => this.showError(model.get("error"))],
      ["change:committed", () => this.finish()],
      ["change:answers", () => this.takeOver()],
      ["msg:custom", (message) => this.answered(message)],
    ];
    for (const [event, handler] of this.handlers) model.on(event, handler);
  }

  close() {
    clearTimeout(this.waiting);
    if (this.timer !== undefined) {
      clearTimeout(this.timer);
      this.sendDraft();
    }
    for (const [event, handler] of this.handlers) this.model.off(event, handler);
  }

  answered(message) {
    if (message?.kind !== "answered") return;
    clearTimeout(this.waiting);
    this.busy = false;
    if (this.model.get("committed")) this.showError("");
    else this.showError(this.model.get("error"));
    this.refresh();
    if (this.focusOnResult) this.heading?.focus();
    this.focusOnResult = false;
  }

  takeOver() {
    if (this.timer !== undefined && !this.model.get("committed")) return;
    this.answers = { ...this.model.get("answers") };
    this.refresh();
  }

  finish() {
    this.focusOnResult = this.busy;
    this.answers = { ...this.model.get("answers") };
    this.buildViews();
    this.refresh();
    this.live.textContent = `Committed. ${this.model.get("note")}`;
  }

  // -------------------------------------------------------------------------------- drawing
  refresh() {
    const committed = this.model.get("committed");
    for (const [id, control] of this.controls) {
      control.show(this.answers[id] ?? "");
      control.lock(this.locked());
    }
    for (const symbol of this.symbols) this.drawSymbol(symbol);
    const missing = committed || this.busy ? [] : this.missing();
    this.open.textContent = this.busy ? "Committing …" : missing.join(" ");
    this.commit.setAttribute("aria-disabled", String(this.locked() || missing.length > 0));
    this.commit.hidden = committed;
    this.form.hidden = committed && this.model.get("comparison").length > 0;
    this.body.classList.toggle("two-columns", this.pages.size > 0 && !this.form.hidden);
    if (committed && this.result.hidden) this.showResult();
  }

  showResult() {
    const rows = this.model.get("comparison"), note = this.model.get("note");
    const words = rows.length ? "Your prediction and the computed flight" : "Committed";
    this.heading = guard(make("h4", { tabindex: "-1", text: words }));
    this.result.append(this.heading);
    if (note) this.result.append(make("p", { text: note }));
    if (rows.length) this.result.append(this.comparison(rows));
    this.result.hidden = false;
  }

  comparison(rows) {
    const head = ["Asked", "You", "Computed", "", "Because"];
    const cells = head.map((words) => make("th", { scope: "col", text: words || "Result" }));
    const body = rows.map((row) => make("tr", { class: row.is_right ? "right" : "differs" },
      make("th", { scope: "row", text: row.text }),
      make("td", { text: row.given || "–" }),
      make("td", { text: row.right }),
      make("td", { class: "verdict", text: row.is_right ? "✓ agrees" : "✗ differs" }),
      make("td", { text: row.reason })));
    return make("div", { class: "scroll" }, make("table", {},
      make("caption", { class: "unseen", text: "Prediction and computed flight compared" }),
      make("thead", {}, make("tr", {}, ...cells)), make("tbody", {}, ...body)));
  }

  showError(words) {
    this.error.replaceChildren();
    if (words) this.error.append(make("strong", { text: "Not done. " }), words);
    this.error.hidden = !words;
  }
}

export default {
  render({ model, el }) {
    const board = new Board(model, el);
    return () => board.close();
  },
};
