// What a board shows: drawings, tables and figures that take turns; symbols that can be set.

class Stage {
  constructor(board) {
    this.board = board;
    this.views = make("div", { class: "views", role: "group", "aria-label": "What is shown" });
    this.place = make("div", { class: "stage" });
    this.element = make("div", { class: "figure" }, this.views, this.place);
    this.symbols = [];
  }

  // Each view: name, words on its button, HTML. "both" shows the two drawings that are there.
  contents() {
    const { model } = this.board;
    const done = model.get("committed") && model.get("after_drawing");
    const after = done !== model.get("drawing") && done; // tanks on the stand stay as they are
    const isDrawn = model.get("drawing").includes("<svg");
    const isWalk = String(after).includes("data-decided"); // a walk-around shows decisions
    const table = (after && model.get("after_table")) || model.get("table");
    return [
      ["drawing", after ? "Before" : isDrawn ? "Drawing" : "What is given", model.get("drawing")],
      ["after", isWalk ? "What you decided" : "What the aircraft did", after],
      ["both", "Side by side", after && model.get("drawing") ? " " : ""],
      ["table", "As a table", table],
      ["figures", "Figures you may use", model.get("figures")],
    ].filter((view) => view[2]);
  }

  build(shown) {
    const contents = this.contents();
    this.views.replaceChildren();
    this.place.replaceChildren();
    this.pages = new Map();
    for (const [name, words, html] of contents) this.addView(name, words, html);
    if (document.fullscreenEnabled && this.pages.size) this.views.append(this.larger());
    this.element.hidden = this.pages.size < 1;
    for (const summary of this.place.querySelectorAll("summary")) guard(summary);
    this.buildSymbols();
    const first = this.pages.has("after") ? "after" : contents[0]?.[0];
    this.turn(this.pages.has(shown) ? shown : first);
  }

  addView(name, words, html) {
    const choice = button({ text: words });
    choice.addEventListener("click", () => this.turn(name));
    const page = make("div", { class: `view ${name}` });
    page.innerHTML = html;
    this.pages.set(name, { choice, page });
    this.views.append(choice);
    if (name !== "both") this.place.append(page);
  }

  larger() {
    const { root } = this.board;
    const choice = button({ class: "larger" });
    root.onfullscreenchange = () => {
      choice.textContent = document.fullscreenElement ? "Leave full screen" : "Full screen";
    };
    root.onfullscreenchange();
    choice.addEventListener("click", () => {
      if (document.fullscreenElement) document.exitFullscreen();
      else root.requestFullscreen().catch((problem) => this.board.showError(String(problem)));
    });
    return choice;
  }

  turn(name) {
    this.shown = name;
    const shown = name === "both" ? ["drawing", "after"] : [name];
    for (const [other, { choice, page }] of this.pages) {
      page.hidden = !shown.includes(other);
      choice.setAttribute("aria-pressed", String(other === name));
    }
    this.place.classList.toggle("both", name === "both");
    this.board.layOut();
  }

  // Symbols on the drawing that can be set: each stands for the first ask about its component.
  buildSymbols() {
    this.symbols = [];
    const drawing = this.pages.get("drawing")?.page;
    for (const group of drawing?.querySelectorAll("[data-component]") ?? []) {
      const ask = this.board.asks.find((a) => a.component === group.dataset.component);
      if (!ask) {
        group.querySelector(".asked-area")?.remove();
        continue;
      }
      drawing.querySelector("svg")?.setAttribute("role", "group");
      if (isGiven(ask)) this.makeGiven(group);
      else this.makeSettable(group, ask);
      this.symbols.push({ ask, group });
    }
  }

  // Named, but nothing to press.
  makeGiven(group) {
    group.setAttribute("role", "img");
    group.querySelector(".asked-area")?.remove();
  }

  makeSettable(group, ask) {
    guard(group).setAttribute("role", "button");
    group.setAttribute("tabindex", "0");
    group.addEventListener("click", () => this.board.step(ask, 1));
    group.addEventListener("keydown", (event) => this.key(event, ask));
  }

  key(event, ask) {
    const steps = { Enter: 1, " ": 1, ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
    if (!(event.key in steps) || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    this.board.step(ask, steps[event.key]);
  }

  refresh() {
    for (const symbol of this.symbols) this.drawSymbol(symbol);
  }

  drawSymbol({ ask, group }) {
    const value = this.board.value(ask);
    const variants = [...group.querySelectorAll("[data-variant]")];
    const named = variants.find((v) => v.dataset.variant === (value || OPEN));
    const shown = named ?? variants.find((v) => v.dataset.variant === ANY);
    for (const variant of variants) {
      if (variant === shown) variant.removeAttribute("display");
      else variant.setAttribute("display", "none");
    }
    if (shown && !named) this.writeWords(shown, value || OPEN);
    this.nameSymbol(ask, group, value);
  }

  nameSymbol(ask, group, value) {
    if (isGiven(ask)) {
      group.setAttribute("aria-label", `${ask.text}: ${value}, set for you.`);
      group.classList.add("locked");
      return;
    }
    const locked = this.board.model.get("committed");
    const how = ask.kind === "choice" ? "Press Enter to change." : "Press Enter to type it.";
    group.setAttribute("aria-label",
      `${ask.text}: your prediction ${value || "not set"}.${locked ? "" : ` ${how}`}`);
    group.classList.toggle("locked", locked);
    if (locked) group.setAttribute("aria-disabled", "true");
  }

  writeWords(variant, value) {
    for (const text of variant.querySelectorAll("text, tspan")) {
      const own = [...text.childNodes].filter((node) => node.nodeType === Node.TEXT_NODE);
      const holds = own.some((node) => node.textContent.includes(ANY));
      text.dataset.words ??= holds ? text.textContent : "";
      if (!text.dataset.words) continue;
      text.textContent = text.dataset.words.replace(ANY, value);
      this.widen(text);
    }
  }

  // Make the plate beneath a text as wide as what is written on it now.
  widen(text) {
    const plate = text.previousElementSibling;
    if (plate?.tagName !== "rect") return;
    plate.dataset.place ??= [plate.getAttribute("x"), plate.getAttribute("width")];
    const [left, width] = plate.dataset.place.split(",").map(Number);
    const letter = 0.52 * parseFloat(text.getAttribute("font-size") || 14);
    const more = Math.max(0, (text.textContent.length - text.dataset.words.length) * letter);
    const share = { middle: 0.5, end: 1 }[text.getAttribute("text-anchor")] ?? 0;
    put(plate, { x: left - share * more, width: width + more }, []);
  }
}

// Set by the course, with its reason, and not to be answered.
const isGiven = (ask) => ask.given != null;
