// The tank explorer in the browser: controls only. Python computes and draws. Loads nothing.

const QUIET_MS = 700; // after which what is drawn is read out

let explorers = 0;

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

class Explorer {
  constructor(model, el) {
    this.model = model;
    this.number = ++explorers;
    this.wanted = {}; // set, but not yet sent
    this.waiting = false; // for Python to draw
    this.fields = new Map();
    this.build();
    el.append(this.root);
    this.handlers = [
      ["change:controls", () => this.showControls()],
      ["change:drawing", () => this.showDrawing()],
      ["change:table", () => this.showTable()],
      ["change:said", () => this.say()],
      ["change:error", () => this.showError()],
      ["msg:custom", (message) => this.drawn(message)],
    ];
    for (const [event, handler] of this.handlers) model.on(event, handler);
  }

  close() {
    clearTimeout(this.quiet);
    for (const [event, handler] of this.handlers) this.model.off(event, handler);
  }

  build() {
    const { model } = this;
    this.bar = make("div", { class: "controls", role: "group", "aria-label": "Set the tanks" });
    for (const control of model.get("controls")) this.bar.append(this.control(control));
    const again = guard(make("button", { type: "button", text: "Back to the start" }));
    again.addEventListener("click", () => this.ask({ kind: "start" }));
    this.bar.append(make("div", { class: "control" }, again));
    this.error = make("div", { class: "error", role: "alert", hidden: true });
    this.drawing = make("div", { class: "drawing" });
    this.table = make("div", { class: "tables" });
    this.live = make("div", { class: "unseen", "aria-live": "polite" });
    this.root = make("section",
      { class: "fuelkit-page fuelkit-tilt", "aria-label": model.get("title") },
      make("h3", { text: model.get("title") }), this.bar, this.error, this.drawing, this.table,
      this.live, make("p", { class: "note", text: model.get("safety") }));
    this.showControls();
    this.showDrawing();
    this.showTable();
    this.showError();
  }

  control(control) {
    const id = `fuelkit-tilt-${this.number}-${control.id}`;
    const label = make("label", { for: id, text: control.label });
    const field = guard(control.options ? this.choice(control) : make("input", { type: "range" }));
    field.id = id;
    const words = make("output", { for: id });
    field.addEventListener(control.options ? "change" : "input", () => {
      const value = control.options ? field.value : Number(field.value);
      this.wanted[control.id] = value;
      this.sendWanted();
    });
    this.fields.set(control.id, { field, words });
    return make("div", { class: "control" }, label, field, ...(control.options ? [] : [words]));
  }

  choice(control) {
    const options = control.options.map((o) => make("option", { value: o.value, text: o.text }));
    return make("select", {}, ...options);
  }

  // One question at a time: what is set while Python draws is sent together when it has drawn.
  sendWanted() {
    if (this.waiting || !Object.keys(this.wanted).length) return;
    const values = this.wanted;
    this.wanted = {};
    this.ask({ kind: "set", values });
  }

  ask(message) {
    this.waiting = true;
    clearTimeout(this.patience);
    this.patience = setTimeout(() => { this.waiting = false; }, 8000);
    this.model.send(message);
  }

  drawn(message) {
    if (message?.kind !== "drawn") return;
    this.waiting = false;
    clearTimeout(this.patience);
    this.sendWanted();
    if (!this.waiting) this.showControls();
  }

  showControls() {
    for (const control of this.model.get("controls")) {
      const { field, words } = this.fields.get(control.id);
      if (!control.options) {
        field.min = control.low;
        field.max = control.high;
        field.step = control.step;
        words.textContent = control.words;
        field.setAttribute("aria-valuetext", control.words);
      }
      if (!(control.id in this.wanted)) field.value = control.value;
    }
  }

  showDrawing() { this.drawing.innerHTML = this.model.get("drawing"); }

  showTable() { this.table.innerHTML = this.model.get("table"); }

  showError() {
    this.error.textContent = this.model.get("error");
    this.error.hidden = !this.model.get("error");
  }

  say() {
    clearTimeout(this.quiet);
    this.quiet = setTimeout(() => { this.live.textContent = this.model.get("said"); }, QUIET_MS);
  }
}

export default {
  render({ model, el }) {
    const explorer = new Explorer(model, el);
    return () => explorer.close();
  },
};
