// What the projector view shows beside the question: drawings, tables in leaves, all questions.

const SHEETS = ["table", "figures", "list"]; // views of rows, which take the place of the question

const press = (attributes, act) => {
  const made = button(attributes);
  made.addEventListener("click", () => made.getAttribute("aria-disabled") !== "true" && act());
  return made;
};
const turnOff = (element, off) => element.setAttribute("aria-disabled", String(Boolean(off)));

class ClassViews {
  constructor(board) {
    this.board = board;
    this.model = board.model;
    this.view = "before";
    this.large = false;
    this.choices = make("div", { class: "views", role: "group", "aria-label": "What is shown" });
    this.stage = make("div", { class: "stage" });
    this.asked = make("p", { class: "asked-now" }); // above two drawings
    this.askedBelow = make("p", { class: "asked-now" }); // among the buttons, to spare height
    const words = [this.model.get("lead"), this.model.get("when")].filter(Boolean).join("\n");
    this.lead = make("p", { class: "lead", text: words });
    this.sheet = make("div", { class: "sheet" });
    this.pager = this.makePager();
    this.enlarge = press({}, () => this.toggleLarge());
    this.list = press({ text: "All questions" }, () => this.turn("list"));
    this.element = make("div", { class: "figure" }, this.choices, this.asked, this.stage, this.lead);
  }

  // Whether drawings or rows take the place of the question.
  get wide() {
    return this.large || this.view === "both" || SHEETS.includes(this.view);
  }

  // Each view: name, words on its button, HTML.
  contents() {
    const { model } = this;
    const after = model.get("after_drawing"), before = model.get("drawing");
    return [
      ["before", after ? "Before" : "Drawing", before],
      ["after", "What the aircraft did", after],
      ["both", "Side by side", before && after],
      ["table", "Table", model.get("table") + model.get("after_table")],
      ["figures", "Figures", model.get("figures")],
    ].filter((view) => view[2]);
  }

  build() {
    const held = this.choices.contains(document.activeElement) && document.activeElement.textContent;
    this.pages = new Map();
    this.buttons = new Map([["list", this.list]]);
    this.choices.replaceChildren();
    this.stage.replaceChildren();
    for (const [name, words, html] of this.contents()) {
      this.buttons.set(name, press({ text: words }, () => this.turn(name)));
      this.choices.append(this.buttons.get(name));
      if (name === "before" || name === "after") this.addDrawing(name, words, html);
    }
    this.stage.append(this.sheet, this.pager);
    this.enlarge.hidden = !this.pages.size;
    this.symbols = [...this.pages.get("before")?.querySelectorAll("[data-component]") ?? []];
    if (!this.buttons.has(this.view)) this.view = "before";
    [...this.choices.children].find((choice) => choice.textContent === held)?.focus();
  }

  addDrawing(name, words, html) {
    const page = make("figure", {}, make("figcaption", { text: words }));
    page.insertAdjacentHTML("beforeend", html);
    this.pages.set(name, page);
    this.stage.append(page);
  }

  // A second press on rows goes back to the question.
  turn(name) {
    this.view = SHEETS.includes(name) && this.view === name ? "before" : name;
    this.leafAt = 0;
    if (!this.pages.has(this.view)) this.large = false;
    this.board.show();
  }

  toggleLarge() {
    this.large = !this.large;
    if (!this.pages.has(this.view)) this.view = "before";
    this.board.show();
  }

  backToQuestion() {
    this.large = false;
    if (SHEETS.includes(this.view)) this.view = "before";
  }

  draw() {
    const { model, view, large } = this;
    const drawings = view === "both" ? ["before", "after"] : [view];
    for (const [name, page] of this.pages) page.hidden = !drawings.includes(name);
    for (const [name, choice] of this.buttons) {
      choice.setAttribute("aria-pressed", String(name === view));
    }
    this.sheet.hidden = !SHEETS.includes(view);
    this.sheet.innerHTML = view === "table" ? model.get("table") + model.get("after_table")
      : view === "figures" ? model.get("figures") : "";
    if (view === "list") this.sheet.append(this.questions());
    this.enlarge.textContent = large ? "Back to the question" : "Enlarge drawing";
    this.choices.hidden = this.buttons.size < 2 || (large && this.pages.size < 2);
    this.asked.hidden = view !== "both";
    this.askedBelow.hidden = !large;
    this.asked.textContent = `${this.board.at + 1}. ${this.board.ask.text}`;
    this.askedBelow.textContent = this.asked.textContent;
    this.lead.hidden = !this.lead.textContent || this.wide;
    this.stage.hidden = !this.pages.size && !this.wide;
    for (const group of this.symbols) this.drawSymbol(group);
  }

  questions() {
    const { board } = this;
    const cells = (words) => make("th", { scope: "col", text: words });
    const rows = board.asks.map((ask, at) => make("tr", {},
      make("td", {}, press({ text: `${at + 1}. ${ask.text}` }, () => board.go(at))),
      make("td", { text: board.shown(ask)?.right ?? "not revealed" }),
      make("td", { text: board.share(ask) })));
    return make("table", {}, make("caption", { text: "All questions of this board" }),
      make("thead", {}, make("tr", {}, ...["Question", "Computed", "The class"].map(cells))),
      make("tbody", {}, ...rows));
  }

  // What is asked for is outlined on the drawing; what is revealed is written there.
  drawSymbol(group) {
    const { component } = group.dataset;
    const ask = this.board.asks.find((a) => a.component === component);
    const value = (ask && this.board.shown(ask)?.right) || OPEN;
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
    group.classList.toggle("now", this.board.ask.component === component);
  }

  // ------------------------------------------------------------------------- rows in leaves
  makePager() {
    this.rows = make("span", { "aria-live": "polite" });
    this.earlier = press({ text: "▲ Rows before" }, () => this.leaf(-1));
    this.later = press({ text: "▼ Rows after" }, () => this.leaf(1));
    return make("div", { class: "pager", role: "group", "aria-label": "Rows of the table" },
      this.earlier, this.later, this.rows);
  }

  // In full screen rows that are more than the screen holds are turned over; nothing scrolls.
  leaf(by) {
    const rows = [...this.sheet.querySelectorAll("tbody tr")];
    for (const element of this.sheet.querySelectorAll("[hidden]")) element.hidden = false;
    this.pager.hidden = true;
    if (this.sheet.hidden || !this.board.isFull || !rows.length) return;
    if (this.sheet.scrollHeight <= this.sheet.clientHeight + 1) return;
    this.pager.hidden = false;
    const leaves = this.leaves(rows);
    this.leafAt = Math.max(0, Math.min((this.leafAt ?? 0) + by, leaves.length - 1));
    const [from, to] = leaves[this.leafAt];
    rows.forEach((row, at) => { row.hidden = at < from || at >= to; });
    for (const table of this.sheet.querySelectorAll("table")) {
      table.hidden = !table.querySelector("tbody tr:not([hidden])");
    }
    this.rows.textContent = `Rows ${from + 1} to ${to} of ${rows.length}`;
    turnOff(this.earlier, this.leafAt === 0);
    turnOff(this.later, this.leafAt === leaves.length - 1);
  }

  // First and last row of each leaf: as many rows of one table as fit under its heading.
  leaves(rows) {
    const height = (element) => element.getBoundingClientRect().height;
    const tables = [...this.sheet.querySelectorAll("table")];
    const beside = this.sheet.scrollHeight - tables.reduce((all, table) => all + height(table), 0);
    const room = this.sheet.clientHeight - Math.max(beside, 0);
    const found = [];
    let left = 0, last;
    rows.forEach((row, at) => {
      const table = row.closest("table"), high = height(row);
      if (table !== last || high > left) {
        const body = [...table.tBodies].reduce((all, part) => all + height(part), 0);
        found.push([at, at]);
        left = room - (height(table) - body);
        last = table;
      }
      left -= high;
      found.at(-1)[1] = at + 1;
    });
    return found;
  }
}
