// Prediction beside the computed flight: first the learner says what differs, then reasons show.

const MARKS = ["same", "differs"];
const LONG_VALUE = 16; // letters; longer ones get more room, and the choice a line of its own

class Comparing {
  constructor(rows, id, show) {
    Object.assign(this, { rows, id });
    this.marks = {};
    this.open = make("p", { class: "quiet", id: `${id}-open` });
    this.button = button({
      class: "commit", text: "Show the reasons", "aria-describedby": `${id}-open`,
    });
    this.button.addEventListener("click", () => { if (!this.missing()) show({ ...this.marks }); });
    this.heading = guard(make("h4", {
      tabindex: "-1", id: `${id}-heading`, text: "Compare: is it the same?",
    }));
    this.element = make("div", {
      class: "panel comparing", role: "group", "aria-labelledby": `${id}-heading`,
    }, this.heading, make("div", { class: "asks" }, ...rows.map((row, n) => this.row(row, n))),
    make("div", { class: "row" }, this.button, this.open));
  }

  row(row, number) {
    const name = `${this.id}-${number}`;
    const inputs = MARKS.map((mark) => guard(make("input", { type: "radio", name, value: mark })));
    for (const input of inputs) {
      input.addEventListener("change", () => {
        this.marks[row.id] = input.value;
        this.refresh(false);
      });
    }
    const side = (words, value) => make("div", {}, make("span", { class: "quiet", text: words }),
      " ", make("strong", {}, ...pieces(value || "–")));
    const choices = inputs.map((input) =>
      make("label", { class: "choice" }, input, make("span", { text: input.value })));
    const length = Math.max(row.given.length, row.right.length);
    const room = length > SHORT_OPTION ? " long sentences" : length > LONG_VALUE ? " long" : "";
    return make("fieldset", { class: room ? "ask wide" : "ask" }, make("legend", { text: held(row.text) }),
      make("div", { class: `pair${room}` }, side("You", row.given), side("Computed", row.right),
        make("div", { class: "choices" }, ...choices)));
  }

  missing() {
    return this.rows.filter((row) => !this.marks[row.id]).length;
  }

  refresh(busy) {
    const missing = this.missing();
    this.open.textContent = busy ? "Fetching the reasons …"
      : missing ? `${missing} still to mark.` : "";
    this.button.setAttribute("aria-disabled", String(busy || missing > 0));
    for (const input of this.element.querySelectorAll("input")) input.disabled = busy;
  }
}

// Figures, times and bands: broken between them and before the tolerance, nowhere else.
function pieces(text) {
  if (!/^[-\u2212]?\d/.test(text)) return [held(text)];
  return text.split(/(?<=,) | (?=±)/).flatMap((piece, n) =>
    [n ? " " : "", make("span", { class: "piece", text: piece })]);
}

// The table of the result; with the learner's own marking where they marked themself.
function resultTable(rows, marks) {
  const own = Object.keys(marks).length > 0;
  const head = ["Asked", "You", "Computed", "Result", ...(own ? ["You marked"] : []), "Because"];
  const cells = head.map((words) => make("th", { scope: "col", text: words }));
  const body = rows.map((row) => make("tr", { class: row.is_right ? "right" : "differs" },
    make("th", { scope: "row", text: held(row.text) }),
    make("td", {}, ...pieces(row.given || "–")),
    make("td", {}, ...pieces(row.right)),
    make("td", { class: "verdict", text: row.is_right ? "✓ agrees" : "✗ differs" }),
    ...(own ? [make("td", { text: markWords(row, marks[row.id]) })] : []),
    make("td", { text: held(row.reason) })));
  return make("table", {},
    make("caption", { class: "unseen", text: "Prediction and computed flight compared" }),
    make("thead", {}, make("tr", {}, ...cells)), make("tbody", {}, ...body));
}

function markWords(row, mark) {
  if (!mark) return "–";
  const saw = (mark === "same") === row.is_right;
  return `${mark}: ${saw ? "you saw it" : "look again"}`;
}
