// The projector view of a board: one question at a time, a show of hands, then the answer. Counts
// are drawn here at once and told to Python a little later. Loads nothing from anywhere.

// How wide the question is [% of the screen] and how large the type: the first that fits is taken.
const FITS = [
  [42, 1], [50, 1], [58, 1], [66, 1], [72, 1], [66, 0.9], [72, 0.82], [72, 0.74], [72, 0.66], [72, 0.58],
];

let classBoards = 0;

class ClassBoard {
  constructor(model, el) {
    this.model = model;
    this.number = ++classBoards;
    this.asks = model.get("asks");
    this.at = 0;
    this.views = new ClassViews(this);
    this.count = new ClassCount(this);
    this.build();
    this.views.build();
    el.append(this.root);
    this.listen();
    this.show();
  }

  id(name) {
    return `fuelkit-class-${this.number}-${name}`;
  }

  get ask() {
    return this.asks[this.at];
  }

  get isFull() {
    return document.fullscreenElement === this.root;
  }

  shown(ask) {
    return this.model.get("reveals")[ask.id];
  }

  // ------------------------------------------------------------------------------ building
  build() {
    const { model } = this;
    this.live = make("div", { class: "unseen", "aria-live": "polite" });
    this.error = make("div", { class: "error", role: "alert", hidden: true });
    this.answer = make("div", {
      class: "answer", role: "group", "aria-labelledby": this.id("right"), hidden: true,
    });
    this.body = make("div", { class: "body" }, this.views.element, this.count.element);
    this.inside = make("div", { class: "inside" }, this.header(), this.body, this.answer, this.error,
      this.actions(), this.question(),
      make("p", { class: "quiet safety", text: model.get("safety") }), this.live);
    // Takes the focus when the ground is clicked, so that no key then reaches the notebook.
    this.root = guard(make("section", {
      class: "fuelkit-class", "aria-label": `${model.get("title")}, for the class`, tabindex: "-1",
    }, this.inside));
    this.root.addEventListener("keydown", (event) => this.page(event));
  }

  header() {
    this.jumps = this.asks.map((ask, at) => press({}, () => this.go(at)));
    const list = make("ol", {}, ...this.jumps.map((jump) => make("li", {}, jump)));
    const top = make("div", { class: "top" }, make("h3", { text: this.model.get("title") }),
      make("nav", { "aria-label": `Questions: ${this.model.get("title")}` }, list), this.views.list);
    this.larger = press({ text: "Full screen" }, () => this.toggleFull());
    if (document.fullscreenEnabled) top.append(this.larger);
    return top;
  }

  toggleFull() {
    if (document.fullscreenElement) document.exitFullscreen();
    else this.root.requestFullscreen().catch((problem) => this.showError(String(problem)));
  }

  actions() {
    this.previous = press({ text: "◀ Previous" }, () => this.go(this.at - 1));
    this.next = press({ text: "Next ▶" }, () => this.go(this.at + 1));
    this.reveal = press({ class: "reveal", text: "Reveal" }, () => this.send(
      { kind: "reveal", ask: this.ask.id }));
    this.all = press({ class: "rarely", text: "Reveal all" }, () => this.send({ kind: "reveal all" }));
    this.again = press({ class: "rarely", text: "Hide again" }, () => this.sure(true));
    this.row = make("div", { class: "actions", role: "group", "aria-label": "Go on" },
      this.previous, this.reveal, this.all, this.again, this.views.askedBelow, this.views.enlarge,
      this.next);
    return this.row;
  }

  // The second step before the counts of a class are gone.
  question() {
    const words = make("p", {
      id: this.id("sure"),
      text: "Start again for another class? This clears the counts and hides the answers.",
    });
    const yes = press({ class: "reveal", text: "Yes, start again" }, () => {
      this.sure(false);
      this.send({ kind: "again" });
    });
    this.no = press({ text: "No, keep them" }, () => this.sure(false));
    this.confirm = make("div", {
      class: "actions", role: "group", "aria-labelledby": this.id("sure"), hidden: true,
    }, words, yes, this.no);
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

  // -------------------------------------------------------------------------- the question
  show() {
    this.count.build();
    this.views.draw();
    this.refresh();
    this.fit();
  }

  go(at) {
    if (at < 0 || at >= this.asks.length) return;
    const lost = this.body.contains(document.activeElement);
    this.at = at;
    if (SHEETS.includes(this.views.view)) this.views.backToQuestion();
    this.showError("");
    this.show();
    if (lost && !this.body.contains(document.activeElement)) this.jumps[at].focus();
    this.live.textContent = `Question ${at + 1} of ${this.asks.length}. ${this.ask.text}`;
  }

  // Keys of a presenter's remote; only in full screen, where they have nothing else to do.
  page(event) {
    const steps = { PageDown: 1, PageUp: -1 };
    if (!this.isFull || !(event.key in steps)) return;
    event.preventDefault();
    document.activeElement.dispatchEvent(new Event("change"));
    this.go(this.at + steps[event.key]);
  }

  changed() {
    this.showError("");
    this.refresh();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.sendCounts(), QUIET_MS);
  }

  sendCounts() {
    clearTimeout(this.timer);
    this.timer = undefined;
    this.model.set("counts", structuredClone(this.count.counts));
    this.model.save_changes();
  }

  send(message) {
    if (this.busy) return;
    if (this.timer !== undefined) this.sendCounts();
    this.busy = message.kind;
    this.showError("");
    this.refresh();
    const words = "If its kernel has stopped, restart it (menu Kernel) and run this cell again.";
    this.waiting = setTimeout(() => this.showError(
      `No answer has come yet. If the notebook is busy, wait. ${words}`), PATIENCE_MS);
    try {
      this.model.send(message);
    } catch { // a kernel that was restarted or shut down knows nothing of this board
      clearTimeout(this.waiting);
      this.busy = false;
      this.refresh();
      this.showError(`No answer will come. ${words}`);
    }
  }

  // ---------------------------------------------------------------------- what Python sends
  listen() {
    const { model } = this;
    const rebuild = () => {
      this.views.build();
      this.show();
    };
    this.handlers = [
      ["change:error", () => this.showError(model.get("error"))],
      ["change:reveals", () => this.show()],
      ["change:after_drawing", rebuild],
      ["change:after_table", rebuild],
      ["change:counts", () => this.takeOver()],
      ["msg:custom", (message) => this.answered(message)],
    ];
    for (const [event, handler] of this.handlers) model.on(event, handler);
    this.watch = new ResizeObserver(() => this.fit());
    this.watch.observe(this.root);
    this.onScreen = () => {
      this.larger.textContent = this.isFull ? "Leave full screen" : "Full screen";
      this.fit();
    };
    document.addEventListener("fullscreenchange", this.onScreen);
  }

  close() {
    clearTimeout(this.waiting);
    if (this.timer !== undefined) this.sendCounts();
    this.watch.disconnect();
    document.removeEventListener("fullscreenchange", this.onScreen);
    for (const [event, handler] of this.handlers) this.model.off(event, handler);
  }

  takeOver() {
    const { model, count } = this;
    if (this.timer !== undefined) return;
    if (JSON.stringify(model.get("counts")) === JSON.stringify(count.counts)) return;
    const stop = count.element.contains(document.activeElement) && document.activeElement.dataset.stop;
    count.take();
    this.show();
    if (stop) count.element.querySelector(`[data-stop="${stop}"]`)?.focus();
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
    this.views.backToQuestion();
    this.go(0);
    this.live.textContent = "Counts are cleared and answers hidden. Question 1.";
    this.jumps[0].focus();
  }

  tell(was) {
    const whole = this.model.get("after_drawing")
      ? " All are revealed. What the aircraft did can now be shown." : "";
    this.live.textContent = was === "reveal all" ? `All answers are shown.${whole}`
      : `Right: ${this.shown(this.ask).right}. ${this.share(this.ask)}.${whole}`;
    this.views.backToQuestion();
    this.show();
    this.heading.focus();
  }

  // -------------------------------------------------------------------------------- drawing
  // How many of the class had it, in words; before the reveal, how many hands there are.
  share(ask) {
    const counts = this.count.counts[ask.id] ?? {}, total = sum(counts);
    if (!this.shown(ask)) return hands(total);
    const { had } = this.shown(ask);
    if (!total) return "No hands were counted";
    if (!had) return `${hands(total)}; compare what they said with the answer`;
    const right = had.reduce((all, name) => all + (counts[name] ?? 0), 0);
    return `${right || "None"} of ${hands(total)} had it, ${percent(right, total)}`;
  }

  refresh() {
    const shown = this.shown(this.ask);
    const open = this.asks.filter((ask) => !this.shown(ask)).length;
    const counted = Object.values(this.count.counts).some((counts) => sum(counts));
    this.count.draw();
    this.jumps.forEach((jump, at) => this.drawJump(jump, at));
    this.drawAnswer(shown);
    turnOff(this.previous, this.at === 0);
    turnOff(this.next, this.at === this.asks.length - 1);
    turnOff(this.reveal, shown || this.busy);
    this.reveal.textContent = this.busy ? "Computing …" : shown ? "Revealed" : "Reveal";
    turnOff(this.all, !open || this.busy);
    turnOff(this.again, (open === this.asks.length && !counted) || this.busy);
    const { view, large, wide, pages } = this.views;
    const marks = { wide, large, revealed: shown, reading: SHEETS.includes(view),
      "side-by-side": view === "both", bare: !pages.size };
    for (const [name, is] of Object.entries(marks)) this.inside.classList.toggle(name, Boolean(is));
    this.count.element.hidden = wide;
  }

  drawJump(jump, at) {
    const shown = Boolean(this.shown(this.asks[at]));
    jump.textContent = shown ? `${at + 1} ✓` : `${at + 1}`;
    jump.setAttribute("aria-label",
      `${jump.textContent} Question${shown ? ", revealed" : ""}: ${this.asks[at].text}`);
    if (at === this.at) jump.setAttribute("aria-current", "step");
    else jump.removeAttribute("aria-current");
  }

  drawAnswer(shown) {
    const { answer, ask } = this;
    answer.hidden = !shown;
    if (shown && answer.dataset.for !== ask.id) {
      this.heading = guard(make("h4", {
        id: this.id("right"), tabindex: "-1", text: `✓ Right: ${shown.right}`,
      }));
      this.had = make("p", { class: "had" });
      answer.replaceChildren(make("div", { class: "first" }, this.heading, this.had),
        make("p", { text: shown.reason, hidden: !shown.reason }));
    }
    if (shown) this.had.textContent = this.share(ask);
    else answer.replaceChildren();
    answer.dataset.for = shown ? ask.id : "";
  }

  // In full screen everything fits without scrolling: the question widens, then the type shrinks.
  fit() {
    for (const [share, type] of this.isFull ? FITS : [FITS[0]]) {
      this.root.style.setProperty("--share", `${share}%`);
      this.root.style.setProperty("--type", type);
      this.views.leaf(0);
      if (!this.isFull || this.fits()) break;
    }
  }

  fits() {
    const boxes = [this.inside, this.body, this.count.element, this.views.element];
    return boxes.every((box) => box.scrollHeight <= box.clientHeight + 1
      && box.scrollWidth <= box.clientWidth + 1);
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
