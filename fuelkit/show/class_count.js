// The show of hands: a line for each option or value heard, with its hands, share and bar.

const MOST_HANDS = 500;
const MOST_VALUES = 6;
const WRITE = { number: "a figure such as 3 250 kg", time: "a time such as 1:32:00" };

const hands = (count) => (count === 1 ? "1\u00a0hand" : `${count || "no"}\u00a0hands`);
const sum = (counts) => Object.values(counts ?? {}).reduce((total, count) => total + count, 0);
const percent = (count, total) => `${Math.round((100 * count) / total)}\u00a0%`;

class ClassCount {
  constructor(board) {
    this.board = board;
    this.element = make("div", {
      class: "panel", role: "group", "aria-labelledby": board.id("text"),
    });
    this.total = make("p", { class: "total" });
    this.more = press({ class: "more", text: "Add a value" }, () => this.addValue());
    this.take();
  }

  // Counts as Python holds them. What was heard is a list, so that rows keep their places.
  take() {
    this.counts = structuredClone(this.board.model.get("counts"));
    this.heard = {};
    for (const ask of this.board.asks.filter((a) => a.kind !== "choice")) {
      const rows = Object.entries(this.counts[ask.id] ?? {});
      this.heard[ask.id] = rows.map(([text, count]) => ({ text, count }));
      if (!rows.length) this.heard[ask.id].push({ text: "", count: 0 });
    }
  }

  build() {
    const { ask, at } = this.board;
    const shown = this.board.shown(ask);
    const hint = [ask.unit, ask.hint].filter(Boolean).join("; ");
    this.lines = [];
    const rows = make("div", { class: "rows" });
    if (ask.kind === "choice") for (const option of ask.options) rows.append(this.line(option));
    else this.heard[ask.id].forEach((row, number) => rows.append(this.line(row.text, number)));
    const under = make("div", { class: "under" }, this.total);
    if (ask.kind !== "choice") under.append(this.more);
    this.element.replaceChildren(
      make("h4", { id: this.board.id("text"), text: `${at + 1}. ${ask.text}` }),
      ...(hint && !shown ? [make("p", { class: "quiet", text: hint })] : []), rows, under);
  }

  // One answer of the class: its name or the value heard, the hands, and their bar.
  line(name, at) {
    const number = this.lines.length;
    const said = name || `value ${at + 1}`;
    const label = at === undefined ? make("span", { class: "name", text: name }) : this.value(name, at);
    const count = this.countField(number, said);
    const step = (words, way, by) => press({
      class: "step", text: by > 0 ? "+" : "−", "aria-label": `One hand ${words} for ${said}`,
      "data-stop": `${way} ${number}`,
    }, () => this.step(number, by));
    const fill = make("span", { class: "fill" }), words = make("span", { class: "words" });
    const sign = make("span", { class: "sign" });
    const row = make("div", { class: "line", role: "group", "aria-label": said }, label, sign,
      make("span", { class: "hands" }, step("fewer", "fewer", -1), count, step("more", "more", 1)),
      words, make("span", { class: "bar", "aria-hidden": "true" }, fill));
    this.lines.push({ name, at, row, count, fill, words, sign, label });
    return row;
  }

  countField(number, said) {
    const field = guard(make("input", {
      type: "text", inputmode: "numeric", role: "spinbutton", autocomplete: "off", class: "count",
      "aria-label": `Hands for ${said}`, "aria-valuemin": 0, "aria-valuemax": MOST_HANDS,
      "data-stop": `count ${number}`,
    }));
    field.addEventListener("input", () => this.typed(number));
    field.addEventListener("focus", () => field.select());
    field.addEventListener("keydown", (event) => this.key(event, number));
    return field;
  }

  value(text, at) {
    const field = guard(make("input", {
      type: "text", class: "name", autocomplete: "off", spellcheck: "false", maxlength: 40,
      "aria-label": `Value ${at + 1} heard from the class`, "data-stop": `value ${at}`,
      readonly: Boolean(this.board.shown(this.board.ask)), placeholder: "value heard",
    }));
    field.value = text;
    field.addEventListener("change", () => this.hear(at, field.value.trim()));
    field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.lines[at].count.focus();
    });
    return field;
  }

  // ------------------------------------------------------------------------------- changing
  hear(at, text) {
    const { ask } = this.board;
    const rows = this.heard[ask.id];
    const fault = rows.some((row, other) => text && other !== at && row.text === text)
      ? `“${text}” is in the list already; count its hands there.`
      : text && ask.kind in WRITE && !readable(ask.kind, text)
        ? `Value is “${text}”; it must be ${WRITE[ask.kind]}.` : "";
    // A value that cannot be taken stays in its field, to be mended, and is not counted.
    rows[at].text = fault ? "" : text;
    this.changed();
    if (fault) this.board.showError(fault);
  }

  addValue() {
    const { ask } = this.board;
    const rows = this.heard[ask.id];
    if (rows.length >= MOST_VALUES || this.board.shown(ask)) return;
    rows.push({ text: "", count: 0 });
    this.board.show();
    this.lines.at(-1).label.focus();
  }

  countOf({ name, at }) {
    const { id } = this.board.ask;
    return at === undefined ? this.counts[id]?.[name] ?? 0 : this.heard[id][at].count;
  }

  set(number, count) {
    if (count > MOST_HANDS) {
      this.board.refresh();
      this.board.showError(`Hands is ${count}; it must be a whole number from 0 to ${MOST_HANDS}.`);
      return;
    }
    const { name, at } = this.lines[number], { id } = this.board.ask;
    if (at === undefined) this.counts[id] = { ...this.counts[id], [name]: count };
    else this.heard[id][at].count = count;
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
    else if (event.key === "Enter") this.after(number).focus();
    else return;
    event.preventDefault();
  }

  // Where Enter goes on from a count.
  after(number) {
    const line = this.lines[number + 1];
    if (!line) return this.more.isConnected && !this.more.hidden ? this.more : this.board.reveal;
    return line.at === undefined ? line.count : line.label;
  }

  changed() {
    const { ask } = this.board;
    if (ask.kind !== "choice") {
      const named = this.heard[ask.id].filter((row) => row.text);
      this.counts[ask.id] = Object.fromEntries(named.map((row) => [row.text, row.count]));
    }
    this.board.changed();
  }

  // -------------------------------------------------------------------------------- drawing
  draw() {
    const { ask } = this.board;
    const shown = this.board.shown(ask), total = sum(this.counts[ask.id]);
    for (const line of this.lines) this.drawLine(line, total, shown);
    const unnamed = (this.heard[ask.id] ?? []).filter((row) => row.count && !row.text).length;
    this.total.textContent = unnamed ? "Write the value that these hands stand for."
      : total ? `${hands(total)} in all` : "No hands counted yet";
    this.total.hidden = Boolean(shown);
    this.more.hidden = Boolean(shown) || this.heard[ask.id]?.length >= MOST_VALUES;
  }

  drawLine(line, total, shown) {
    const count = this.countOf(line), { id } = this.board.ask;
    const text = line.at === undefined ? line.name : this.heard[id][line.at].text;
    const had = text !== "" && Boolean(shown?.had?.includes(text));
    if (line.count.value !== String(count)) line.count.value = count;
    line.count.setAttribute("aria-valuenow", count);
    line.fill.style.width = total && text ? `${(100 * count) / total}%` : "0";
    line.words.textContent = total && text ? `${hands(count)}, ${percent(count, total)}` : hands(count);
    line.row.classList.toggle("right", had);
    line.row.classList.toggle("shown", Boolean(shown));
    line.sign.textContent = had ? "✓ computed" : "";
  }
}
