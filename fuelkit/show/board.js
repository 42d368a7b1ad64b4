// The prediction board in the browser. Draws what Python sends; every change of a prediction is
// drawn here at once and told to Python a little later. Loads nothing from anywhere.

const EXAMPLES = { kg: "a figure such as 3 250 kg", "h:mm": "hours and minutes such as 3:25" };
const DOWNLOAD_MS = 60000; // for so long a browser may take to save a sheet
const FEW = 3; // so many open asks are named; more are counted
const SHORT_OPTION = 40; // letters; longer options stand one a line
const WORDS = 20; // letters; so do sentences, unless all of them are but a word or three

let boards = 0;

// What would have been readable, for whoever wrote something that was not.
function example(ask) {
  if (ask.kind === "time") return EXAMPLES[ask.unit] || "a time such as 1:32:00";
  return EXAMPLES[ask.unit || "kg"] || `a figure in ${ask.unit}`;
}

class Board {
  constructor(model, el) {
    this.model = model;
    this.number = ++boards;
    this.asks = model.get("asks");
    this.answers = { ...model.get("answers") };
    this.busy = false;
    const large = model.get("large") ? " large" : "";
    this.root = make("section", {
      class: `fuelkit-board${large}`, "aria-label": this.name(),
    });
    this.build();
    el.append(this.root);
    this.listen();
    this.refresh();
    this.left?.ask();
  }

  id(name) {
    return `fuelkit-${this.number}-${name}`;
  }

  // Practice may bear the title of a board of the lesson; on one page each has a name of its own.
  name() {
    const title = this.model.get("title");
    return this.model.get("another_label") ? `Practice: ${title}` : title;
  }

  locked() {
    return this.busy || this.model.get("committed") || Boolean(this.left?.isUp);
  }

  value(ask) {
    return ask.given ?? this.answers[ask.id] ?? "";
  }

  // Whether verdicts and reasons may be seen: after the learner's own marking, where that is due.
  isTold() {
    const { model } = this;
    if (!model.get("committed")) return false;
    const due = model.get("compares") && model.get("comparison").length > 0;
    return !due || Object.keys(model.get("compared")).length > 0;
  }

  // ------------------------------------------------------------------------------ building
  build() {
    const { model } = this;
    this.live = make("div", { class: "unseen", "aria-live": "polite" });
    this.error = make("div", { class: "error", role: "alert", hidden: true });
    this.stage = new Stage(this);
    this.body = make("div", { class: "body" }, this.stage.element, this.panel());
    this.result = make("div", { class: "result", hidden: true });
    this.lead = make("p", { class: "lead", text: held(model.get("lead")), hidden: !model.get("lead") });
    this.root.append(
      make("h3", { text: model.get("title") }),
      this.lead,
      make("p", {
        class: "quiet restored", text: model.get("restored_note"),
        hidden: !model.get("restored_note"),
      }),
      this.body, this.error, this.result, this.another(), this.live,
      make("p", { class: "quiet safety", text: model.get("safety") }),
    );
    this.stage.build();
  }

  // On a board whose time is limited: how much of it is left, beside what is answered.
  clock() {
    if (!this.model.get("timed")) return [];
    this.left = new TimeLeft(() => this.toPython(() => this.model.send({ kind: "left" })),
      (words) => { this.live.textContent = words; }, () => this.refresh());
    return [this.left.element];
  }

  panel() {
    const { model } = this;
    this.controls = new Map();
    const asks = make("div", { class: "asks" }, ...this.asks.map((ask) => this.ask(ask)));
    this.open = make("p", { class: "quiet", id: this.id("open") });
    this.commit = button({
      class: "commit", text: model.get("commit_label"), "aria-describedby": this.id("open"),
    });
    this.commit.addEventListener("click", () => this.send());
    const heading = this.asks.length ? model.get("panel_heading") : "";
    this.form = make("div", {
      class: "panel", role: "group", "aria-labelledby": heading && this.id("panel"),
    }, make("h4", { id: this.id("panel"), text: heading, hidden: !heading }),
    make("p", { text: model.get("when"), hidden: !model.get("when") }),
    asks, ...this.clock(), make("div", { class: "row" }, this.commit, this.open));
    return this.form;
  }

  another() {
    this.anotherOne = button({ class: "another", text: this.model.get("another_label") });
    this.anotherOne.addEventListener("click", () => {
      if (!this.busy) this.askPython({ kind: "another" });
    });
    return this.anotherOne;
  }

  ask(ask) {
    if (isGiven(ask)) return this.given(ask);
    if (ask.kind === "bands") return this.bands(ask);
    if (ask.kind === "text" && ask.long) return this.words(ask);
    if (ask.kind !== "choice") return this.field(ask, make("input", {
      type: "text", autocomplete: "off", spellcheck: "false",
    }), "input");
    const long = ask.long || ask.options.some((option) => option.length > SHORT_OPTION);
    if (long || ask.options.length <= 5) return this.radios(ask, long);
    return this.field(ask, this.select(ask), "change");
  }

  words(ask) {
    const field = this.field(ask, make("textarea", { rows: 4 }), "input");
    field.classList.add("wide");
    return field;
  }

  given(ask) {
    return make("div", { class: ask.long ? "ask given wide" : "ask given" },
      make("div", { class: "asked-text", text: held(ask.text) }),
      make("div", {}, make("strong", { text: ask.given }),
        make("span", { class: "quiet", text: " set for you" })),
      make("div", { class: "quiet", text: held(ask.reason ?? ""), hidden: !ask.reason }));
  }

  bands(ask) {
    const field = new BandsField(ask, this.id(ask.id), this.value(ask),
      (value) => this.set(ask, value));
    this.controls.set(ask.id, {
      focus: field.focus, lock: (locked) => field.lock(locked),
      show: (value) => field.show(value), fault: (value) => field.fault(value),
    });
    return field.element;
  }

  field(ask, field, event) {
    guard(field).id = this.id(ask.id);
    field.value = this.value(ask);
    field.addEventListener(event, () => this.set(ask, field.value));
    this.controls.set(ask.id, {
      focus: field, lock: (locked) => { field.disabled = locked; },
      show: (value) => { if (field.value !== value) field.value = value; },
      fault: (value) => (readable(ask.kind, value, ask.unit || "kg") ? "" : `write ${example(ask)}`),
    });
    return make("div", { class: "ask" }, make("label", { for: field.id, text: held(ask.text) }), field,
      ...this.hint(ask, field));
  }

  hint(ask, field) {
    const words = [ask.unit, ask.hint].filter(Boolean).join("; ");
    if (!words) return [];
    field.setAttribute("aria-describedby", this.id(`${ask.id}-hint`));
    return [make("div", { class: "quiet", id: this.id(`${ask.id}-hint`), text: held(words) })];
  }

  select(ask) {
    const options = ask.options.map((option) => make("option", { value: option, text: option }));
    return make("select", {}, make("option", { value: "", text: "choose" }), ...options);
  }

  radios(ask, long) {
    const inputs = ask.options.map((option) => guard(make("input", {
      type: "radio", name: this.id(ask.id), value: option,
    })));
    for (const input of inputs) {
      input.addEventListener("change", () => this.set(ask, input.value));
    }
    this.controls.set(ask.id, {
      focus: inputs[0],
      show: (value) => inputs.forEach((input) => { input.checked = input.value === value; }),
      lock: (locked) => inputs.forEach((input) => { input.disabled = locked; }),
    });
    const hint = ask.hint ? [make("div", { class: "quiet", text: held(ask.hint) })] : [];
    const choices = inputs.map((input) =>
      make("label", { class: "choice" }, input, make("span", { text: input.value })));
    const stacked = long && ask.options.some((option) => option.length > WORDS);
    return make("fieldset", { class: long ? "ask wide" : "ask" },
      make("legend", { text: held(ask.text) }),
      make("div", { class: stacked ? "choices stacked" : "choices" }, ...choices), ...hint);
  }

  // ------------------------------------------------------------------------------- changing
  set(ask, value) {
    if (this.locked()) return;
    this.answers = { ...this.answers, [ask.id]: value };
    this.refresh();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.sendDraft(), QUIET_MS);
  }

  // The next option of an ask whose symbol was pressed; what is typed is typed in its field.
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

  sendDraft() {
    this.timer = undefined;
    this.model.set("answers", { ...this.answers });
    this.toPython(() => {
      this.model.save_changes(); // fails unseen where there is no kernel; a message does not
      this.model.send({ kind: "draft" });
    });
  }

  // What still keeps the prediction from being committed, as sentences.
  missing() {
    const open = [], faults = [];
    for (const ask of this.asks.filter((a) => !isGiven(a))) {
      const value = this.value(ask).trim();
      const due = !ask.optional && (ask.kind !== "text" || ask.long);
      if (!value && due) open.push(stem(ask.text));
      const fault = value && this.controls.get(ask.id).fault?.(value);
      if (fault) faults.push(`${stem(ask.text)}: ${fault}.`);
    }
    const named = open.slice(0, open.length > FEW + 1 ? FEW : open.length);
    if (named.length < open.length) named.push(`${open.length - named.length} more`);
    return [...(open.length ? [`Still to answer: ${named.join("; ")}.`] : []), ...faults];
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
    this.askPython({ kind: "commit", answers: { ...this.answers } });
  }

  askPython(message) {
    this.busy = true;
    this.showError("");
    this.refresh();
    this.waiting = setTimeout(() => this.showError(
      "No answer has come yet. If the notebook is busy, wait. If its kernel has stopped, restart it"
      + " (menu Kernel) and run this cell again; what was set before is kept as a draft."),
    PATIENCE_MS);
    this.toPython(() => this.model.send(message));
  }

  // A kernel that was restarted or shut down knows nothing of this board: to send to it fails.
  toPython(send) {
    const failed = () => {
      clearTimeout(this.waiting);
      this.busy = false;
      this.refresh();
      this.showError("This board has lost its kernel, and what is set here now is not kept. Run all"
        + " cells again (menu Run); what was set before is kept as a draft.");
    };
    try {
      send();
    } catch {
      failed();
    }
  }

  // ---------------------------------------------------------------------- what Python sends
  listen() {
    const { model } = this;
    this.handlers = [
      ["change:lead", () => { this.lead.textContent = held(model.get("lead")); }],
      ["change:error", () => this.showError(model.get("error"))],
      ["change:committed", () => this.finish()],
      ["change:compared", () => this.tell()],
      ["change:answers", () => this.takeOver()],
      ["msg:custom", (message) => this.answered(message)],
    ];
    for (const [event, handler] of this.handlers) model.on(event, handler);
  }

  close() {
    this.left?.close();
    clearTimeout(this.waiting);
    if (this.timer !== undefined) {
      clearTimeout(this.timer);
      this.sendDraft();
    }
    for (const [event, handler] of this.handlers) this.model.off(event, handler);
  }

  answered(message) {
    if (message?.kind === "left") this.left?.set(message.seconds);
    if (message?.kind !== "answered") return;
    clearTimeout(this.waiting);
    this.busy = false;
    this.showError(message.done ? "" : this.model.get("error"));
    this.refresh();
    // Whoever has gone on to another board meanwhile is not pulled back.
    const there = document.activeElement?.closest(".fuelkit-board") ?? this.root;
    if (this.focusOnResult && there === this.root) this.heading?.focus();
    this.focusOnResult = false;
  }

  takeOver() {
    if (this.timer !== undefined && !this.model.get("committed")) return;
    this.answers = { ...this.model.get("answers") };
    this.refresh();
  }

  finish() {
    this.left?.close();
    this.left = undefined;
    this.focusOnResult = this.busy;
    this.answers = { ...this.model.get("answers") };
    this.stage.build();
    this.refresh();
    this.live.textContent = `${this.doneWords()}. ${this.model.get("note")}`;
  }

  // The learner has marked themself: verdicts and reasons have come.
  tell() {
    this.focusOnResult = this.busy;
    this.stage.build(this.stage.shown);
    this.refresh();
    this.live.textContent = this.model.get("note");
  }

  // -------------------------------------------------------------------------------- drawing
  refresh() {
    const committed = this.model.get("committed");
    for (const ask of this.asks.filter((a) => !isGiven(a))) {
      const control = this.controls.get(ask.id);
      control.show(this.value(ask));
      control.lock(this.locked());
    }
    this.stage.refresh();
    const missing = committed || this.busy || this.left?.isUp ? [] : this.missing();
    this.open.textContent = this.busy && !committed ? this.busyWords() : missing.join(" ");
    this.commit.setAttribute("aria-disabled", String(this.locked() || missing.length > 0));
    this.commit.hidden = committed || Boolean(this.left?.isUp);
    const isDone = this.model.get("comparison").length > 0 || !this.asks.length;
    this.form.hidden = committed && isDone;
    if (committed) this.showOutcome();
    this.anotherOne.hidden = !this.model.get("another_label") || !this.isTold();
    this.anotherOne.setAttribute("aria-disabled", String(this.busy));
    this.layOut();
  }

  showOutcome() {
    if (this.isTold()) {
      this.comparing?.element.remove();
      this.comparing = undefined;
      if (this.result.hidden) this.showResult();
      return;
    }
    if (!this.comparing) this.showComparing();
    this.comparing.refresh(this.busy);
  }

  showComparing() {
    this.comparing = new Comparing(this.model.get("comparison"), this.id("compare"),
      (marks) => { if (!this.busy) this.askPython({ kind: "compare", marks }); });
    const note = this.model.get("note");
    if (note) this.comparing.heading.after(make("p", { text: note }));
    this.heading = this.comparing.heading;
    this.body.append(this.comparing.element);
  }

  showResult() {
    const rows = this.model.get("comparison"), note = this.model.get("note");
    this.heading = guard(make("h4", { tabindex: "-1", text: this.doneWords() }));
    this.result.append(this.heading);
    if (note) this.result.append(make("p", { text: held(note) }));
    if (this.model.get("download").name) this.result.append(this.download());
    if (rows.length) this.result.append(resultTable(rows, this.model.get("compared")));
    this.result.hidden = false;
  }

  // The answer sheet, byte for byte as it is on disk, into the browser's folder of downloads.
  download() {
    const said = make("span", { class: "quiet" });
    const press = button({ class: "download", text: "Download the answer sheet" });
    press.addEventListener("click", () => {
      const { name, text } = this.model.get("download");
      const place = URL.createObjectURL(new Blob([text], { type: "application/json" }));
      make("a", { href: place, download: name }).click();
      setTimeout(() => URL.revokeObjectURL(place), DOWNLOAD_MS);
      said.textContent = `Given to the browser as ${name}; look in its downloads.`;
      this.live.textContent = said.textContent;
    });
    return make("p", { class: "row" }, press, said);
  }

  doneWords() {
    const rows = this.model.get("comparison").length;
    const usual = rows ? "Your prediction and the computed flight" : "Committed";
    return this.model.get("done_heading") || usual;
  }

  busyWords() {
    return this.model.get("commit_label") === "Commit" ? "Committing …" : "Working …";
  }

  // Beside what is shown where that leaves room for it, else below; the style sheet knows when.
  layOut() {
    const beside = !this.form.hidden || this.comparing !== undefined;
    const { shown, pages } = this.stage;
    const has = (name, on) => this.body.classList.toggle(name, on);
    has("two-columns", pages.size > 0 && beside && shown !== "both");
    has("reading", shown === "table" || shown === "figures");
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
