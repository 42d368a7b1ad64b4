// When is a part in a state? Bands on a time axis: drawn with the mouse, moved by key, or typed.

const TRACK = { top: 38, height: 28, side: 14, foot: 26 }; // px
const KEY_STEPS = {
  ArrowRight: 60, ArrowUp: 60, ArrowLeft: -60, ArrowDown: -60, PageUp: 600, PageDown: -600,
};
const FINE = 1 / 6; // with Shift an arrow moves by 10 s

class BandsField {
  constructor(ask, id, answer, changed) {
    const whole = { start: Math.round(ask.start), end: Math.round(ask.end) }; // as they are shown
    Object.assign(this, { ask: { ...ask, ...whole }, id, changed });
    this.bands = [];
    this.never = false;
    this.locked = false;
    this.build();
    this.show(answer);
  }

  // ------------------------------------------------------------------------------ building
  build() {
    const { ask } = this;
    this.svg = shape("svg", {
      class: "track", role: "group",
      "aria-label": `${ask.label || ask.text}, ${clock(ask.start)} to ${clock(ask.end)}`,
    });
    this.axis = shape("g", { "aria-hidden": "true" });
    this.layer = shape("g");
    this.svg.append(this.axis, this.layer);
    this.svg.addEventListener("pointerdown", (event) => this.press(event));
    this.rows = make("div", { class: "bands" });
    this.adder = button({ text: "Add a band" });
    this.adder.addEventListener("click", () => this.addTyped());
    this.box = guard(make("input", { type: "checkbox" }));
    this.box.addEventListener("change", () => this.setNever(this.box.checked));
    this.element = make("fieldset", { class: "ask wide" }, make("legend", { text: ask.text }),
      this.svg, this.rows, make("div", { class: "row" }, this.adder,
        make("label", { class: "tick" }, this.box, "Not at all in this stretch")));
    if (ask.hint) this.element.append(make("div", { class: "quiet", text: ask.hint }));
    this.focus = this.adder;
    new ResizeObserver(() => this.drawAxis()).observe(this.svg);
  }

  drawAxis() {
    this.width = Math.max(this.svg.clientWidth, 120);
    const { ask, width } = this, { top, height, side, foot } = TRACK;
    const letters = parseFloat(getComputedStyle(this.svg).fontSize) || 14;
    this.svg.setAttribute("height", top + height + foot);
    this.axis.replaceChildren(shape("rect", {
      class: "ground", x: side, y: top, width: width - 2 * side, height, rx: 3,
    }));
    const low = top + height;
    let free = this.write(side, low + letters + 5, clock(ask.start), "start", letters, -Infinity);
    const right = width - side - 0.56 * letters * clock(ask.end).length - 8;
    for (const time of this.wholeTimes()) {
      const x = this.at(time), half = 0.28 * letters * 7;
      this.axis.append(shape("path", { class: "mark", d: `M${x},${low} v6` }));
      if (x - half < free || x + half > right) continue;
      free = this.write(x, low + letters + 5, clock(time), "middle", letters, free);
    }
    this.write(width - side, low + letters + 5, clock(ask.end), "end", letters, -Infinity);
    this.drawPhases(letters);
    this.draw();
  }

  // Times for the axis: so far apart that there are at most about eight.
  wholeTimes() {
    const { start, end } = this.ask;
    const step = [300, 600, 900, 1800, 3600, 7200].find((s) => (end - start) / s <= 8) ?? 14400;
    const times = [];
    for (let t = Math.ceil(start / step) * step; t <= end; t += step) times.push(t);
    return times;
  }

  // Phases above the track: a mark for each, and its word in the first of two rows with room.
  drawPhases(letters) {
    const rows = [TRACK.top - 7, TRACK.top - 8 - letters].map((y) => ({ y, free: -Infinity }));
    for (const { at, words } of this.ask.ticks ?? []) {
      const x = this.at(Math.max(at, this.ask.start));
      const row = rows.find(({ free }) => x >= free);
      const fits = row && x + 0.56 * letters * words.length < this.width;
      const high = fits ? TRACK.top - row.y + letters - 2 : 8;
      this.axis.prepend(shape("path", { class: "mark", d: `M${x},${TRACK.top} v${-high}` },
        shape("title", { text: `${words} from ${clock(at)}` })));
      if (fits) row.free = this.write(x + 3, row.y, words, "start", letters, row.free);
    }
  }

  write(x, y, words, anchor, letters, free) {
    this.axis.append(shape("text", { x, y, "text-anchor": anchor, text: words }));
    const wide = 0.56 * letters * words.length;
    return Math.max(free, x + { start: wide, middle: wide / 2, end: 0 }[anchor] + 5);
  }

  at(time) {
    const share = (time - this.ask.start) / (this.ask.end - this.ask.start);
    return TRACK.side + share * (this.width - 2 * TRACK.side);
  }

  // --------------------------------------------------------------------------- answer as text
  get text() {
    if (this.never) return NEVER;
    const ends = this.bands.map((band) => [band.begins.value, band.ends.value].map(plain));
    if (ends.every((pair) => !pair.some((text) => seconds(text) === null))) {
      ends.sort((a, b) => seconds(a[0]) - seconds(b[0]));
    }
    return ends.map((pair) => pair.join("-")).join(", ");
  }

  // Show an answer that comes from elsewhere; what is being typed stays as it is.
  show(text) {
    if (text === this.text) return;
    this.clear();
    this.never = text === NEVER;
    for (const piece of this.never || !text ? [] : text.split(",")) {
      const [begins, ends] = piece.split("-").map((end) => end.trim());
      this.add(begins ?? "", ends ?? "");
    }
    this.draw();
  }

  fault(text) {
    return bandsFault(text, this.ask.start, this.ask.end);
  }

  tell() {
    this.draw();
    this.changed(this.text);
  }

  // ---------------------------------------------------------------------------------- bands
  clear() {
    for (const band of this.bands) band.remove();
    this.bands = [];
  }

  add(begins, ends) {
    const band = new Band(this, begins, ends);
    this.bands.push(band);
    return band;
  }

  addTyped() {
    if (this.locked) return;
    this.never = false;
    const band = this.add("", "");
    this.tell();
    band.begins.focus();
  }

  drop(band) {
    this.bands = this.bands.filter((other) => other !== band);
    band.remove();
    this.tell();
    this.adder.focus();
  }

  setNever(never) {
    if (never) this.clear();
    this.never = never;
    this.tell();
  }

  lock(locked) {
    this.locked = locked;
    this.adder.hidden = locked;
    this.box.disabled = locked;
    for (const band of this.bands) band.lock(locked);
  }

  draw() {
    this.box.checked = this.never;
    this.bands.forEach((band, number) => band.draw(number + 1));
  }

  // How far an edge may go: to its band's other edge, its neighbours and the ends of the axis.
  room(band, edge) {
    const { start, end } = this.ask, [from, to] = band.times();
    let [low, high] = edge === "begins" ? [start, (to ?? end) - 1] : [(from ?? start) + 1, end];
    for (const other of this.bands) {
      const [first, last] = other.times();
      if (other === band || first === null || last === null) continue;
      if (edge === "begins" && last <= (to ?? from ?? end)) low = Math.max(low, last);
      if (edge === "ends" && first >= (from ?? to ?? start)) high = Math.min(high, first);
    }
    return [low, high];
  }

  // ------------------------------------------------------------------------------ the mouse
  // A mouse cannot be held still to the second: what it sets is a whole number of these.
  get grain() {
    return this.ask.end - this.ask.start > 3600 ? 60 : 10;
  }

  timeOf(event) {
    const { start, end } = this.ask;
    const x = event.clientX - this.svg.getBoundingClientRect().left - TRACK.side;
    const time = start + (x / (this.width - 2 * TRACK.side)) * (end - start);
    return Math.min(Math.max(Math.round(time / this.grain) * this.grain, start), end);
  }

  press(event) {
    if (this.locked || event.button !== 0) return;
    const time = this.timeOf(event);
    let band = this.bands.find((b) => Object.values(b.edges).some((e) => e.contains(event.target)));
    let edge = band?.edges.begins.contains(event.target) ? "begins" : "ends";
    if (!band) {
      if (this.bands.some((b) => b.covers(time))) return;
      this.never = false;
      [band, edge] = [this.begin(time), "ends"];
    }
    event.preventDefault();
    band.edges[edge].focus();
    this.drag(event, band, edge);
  }

  // A press on the free track: a band of a width to take hold of, within what is free there.
  begin(time) {
    const band = this.add(clock(time), "");
    const high = this.room(band, "ends")[1];
    const wide = Math.max(this.grain, Math.round((this.ask.end - this.ask.start) / 24));
    band.ends.value = clock(Math.min(time + wide, high));
    if (band.times()[1] <= time) band.begins.value = clock(Math.max(high - wide, this.ask.start));
    this.tell();
    return band;
  }

  drag(press, band, edge) {
    const move = (event) => {
      if (Math.abs(event.clientX - press.clientX) > 2) band.move(edge, this.timeOf(event));
    };
    const stop = () => {
      this.svg.removeEventListener("pointermove", move);
      this.svg.removeEventListener("pointerup", stop);
      this.svg.removeEventListener("pointercancel", stop);
    };
    this.svg.setPointerCapture(press.pointerId);
    this.svg.addEventListener("pointermove", move);
    this.svg.addEventListener("pointerup", stop);
    this.svg.addEventListener("pointercancel", stop);
  }
}

// One band: two typed fields, and on the track a bar between two edges that can be moved.
class Band {
  constructor(field, begins, ends) {
    this.field = field;
    this.begins = this.input(begins);
    this.ends = this.input(ends);
    this.remover = button({ text: "Remove" });
    this.remover.addEventListener("click", () => field.drop(this));
    this.row = make("div", { class: "band" }, make("label", {}, "begins", this.begins),
      make("label", {}, "ends", this.ends), this.remover);
    this.bar = shape("rect", { class: "bar", y: TRACK.top, height: TRACK.height });
    this.word = shape("text", { class: "on-bar", text: field.ask.state, "aria-hidden": "true" });
    this.edges = { begins: this.edge("begins"), ends: this.edge("ends") };
    field.layer.append(this.bar, this.word, this.edges.begins, this.edges.ends);
    field.rows.append(this.row);
  }

  input(value) {
    const input = guard(make("input", {
      type: "text", autocomplete: "off", spellcheck: "false", placeholder: "h:mm:ss",
    }));
    input.value = value;
    input.addEventListener("input", () => this.field.tell());
    input.addEventListener("change", () => { input.value = plain(input.value); });
    return input;
  }

  edge(name) {
    const { top, height } = TRACK;
    const edge = guard(shape("g", { class: "edge", role: "slider", tabindex: "0" },
      shape("rect", { class: "hold", x: -12, y: top - 2, width: 24, height: height + 4 }),
      shape("rect", { class: "grip", x: -3, y: top - 4, width: 6, height: height + 8, rx: 2 })));
    edge.addEventListener("keydown", (event) => this.key(event, name));
    return edge;
  }

  remove() {
    for (const part of [this.row, this.bar, this.word, ...Object.values(this.edges)]) part.remove();
  }

  lock(locked) {
    this.begins.disabled = this.ends.disabled = locked;
    this.remover.hidden = locked;
    for (const edge of Object.values(this.edges)) edge.setAttribute("aria-disabled", locked);
  }

  times() {
    return [seconds(this.begins.value), seconds(this.ends.value)];
  }

  covers(time) {
    const [from, to] = this.times();
    return from !== null && to !== null && from <= time && time <= to;
  }

  key(event, name) {
    const { field } = this, [low, high] = field.room(this, name);
    let time = this.times()[name === "begins" ? 0 : 1];
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key in KEY_STEPS) {
      const fine = event.shiftKey && event.key.startsWith("Arrow");
      time += KEY_STEPS[event.key] * (fine ? FINE : 1);
    } else if (event.key === "Home") time = low;
    else if (event.key === "End") time = high;
    else return;
    event.preventDefault();
    event.stopPropagation();
    this.move(name, time);
  }

  move(name, time) {
    if (this.field.locked) return;
    const [low, high] = this.field.room(this, name);
    this[name].value = clock(Math.min(Math.max(time, low), high));
    this.field.tell();
  }

  // Put the bar and its edges where the fields say; a band that cannot be read is not drawn.
  draw(number) {
    const { field } = this, [from, to] = this.times();
    const drawn = from !== null && to !== null && from < to
      && from >= field.ask.start && to <= field.ask.end && field.width > 0;
    for (const part of [this.bar, this.word, ...Object.values(this.edges)]) {
      part.style.display = drawn ? "" : "none";
    }
    this.name(number);
    if (drawn) this.place(field.at(from), field.at(to));
  }

  place(left, right) {
    put(this.bar, { x: left, width: right - left }, []);
    const fits = right - left > 9 * this.field.ask.state.length + 12;
    put(this.word, { x: (left + right) / 2, y: TRACK.top + TRACK.height / 2 + 5 }, []);
    if (!fits) this.word.style.display = "none";
    this.edges.begins.setAttribute("transform", `translate(${left} 0)`);
    this.edges.ends.setAttribute("transform", `translate(${right} 0)`);
  }

  name(number) {
    const times = this.times();
    for (const [i, name] of ["begins", "ends"].entries()) {
      this[name].setAttribute("aria-label", `Band ${number} ${name}`);
      const [low, high] = this.field.room(this, name), now = times[i] ?? low;
      put(this.edges[name], {
        "aria-label": `Band ${number}, edge where it ${name}`, "aria-valuemin": low,
        "aria-valuemax": high, "aria-valuenow": now, "aria-valuetext": clock(now),
      }, []);
    }
    this.remover.setAttribute("aria-label", `Remove band ${number}`);
  }
}

// A time in its usual form if it can be read; else as typed, without what would part bands.
function plain(text) {
  const time = seconds(text);
  return time === null ? text.replace(/[,-]/g, " ").trim() : clock(time);
}
