// What all of the board shares: elements, and figures and times as people write them.
// The parts of the board (board_*.js) are put together into one module by board.py.

const QUIET_MS = 250; // wait after a change before the draft is sent
const PATIENCE_MS = 8000; // after which a learner is told that no answer has come
const ANY = "*";
const OPEN = "?";
const NEVER = "never";
const LONGEST = 400; // letters of an answer in bands

// Read the same figures and times as the marking does, so that nothing unreadable is committed.
const MASS = /^[+-]?(\d{1,3}(,\d{3})*(\.\d+)?|\d+(\.\d+)?|\d+,\d{1,2})(kg|t|lb)?$/i;
const CLOCK = /^\d{1,2}[:h](\d{1,2})((?:[:m]|min)(\d{1,2})?s?)?$/i;
const MINUTES = /^(\d{1,4})min$/i;
const FIGURE = /^[+\-\u2212]?[.,]?\d/; // of another unit than mass: the kernel reads it, and asks again
const SPACES = /[\u00a0\u2009\u202f ]+/g;

export function readable(kind, text, unit = "kg") {
  const bare = text.replace(SPACES, "");
  if (kind === "number") return bare.length <= 20 && (unit === "kg" ? MASS : FIGURE).test(bare);
  if (kind === "time") return seconds(text) !== null;
  if (kind === "bands") return bandsFault(text, 0, Infinity) === "";
  return true;
}

// A time as it was written, in seconds, or null.
function seconds(text) {
  const bare = text.replace(SPACES, "");
  const whole = MINUTES.exec(bare);
  if (whole) return 60 * Number(whole[1]);
  const found = bare.length <= 12 ? CLOCK.exec(bare) : null;
  if (!found || Number(found[1]) > 59 || Number(found[3] || 0) > 59) return null;
  return 3600 * parseInt(bare, 10) + 60 * Number(found[1]) + Number(found[3] || 0);
}

function clock(time) {
  const two = (number) => String(number).padStart(2, "0");
  const whole = Math.round(time);
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

// What keeps a text of bands, such as "0:44:30-1:16:20, 1:31:00-2:40:00", from being read.
function bandsFault(text, start, end) {
  if (text.trim() === NEVER) return "";
  if (text.length > LONGEST) return "make them fewer bands";
  let last = -Infinity;
  for (const piece of text.split(",")) {
    const ends = piece.split("-").map(seconds);
    if (ends.length !== 2 || ends.includes(null)) {
      return "write when each band begins and ends, such as 1:32:00";
    }
    if (ends[0] >= ends[1]) return "a band must end after it begins";
    if (ends[0] < start || ends[1] > end) {
      return `keep every band within ${clock(start)} to ${clock(end)}`;
    }
    if (ends[0] < last) return "two bands overlap; make them one";
    last = ends[1];
  }
  return "";
}

function put(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "text") element.textContent = value;
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value != null) element.setAttribute(name, value);
  }
  element.append(...children);
  return element;
}

const make = (tag, attributes = {}, ...children) =>
  put(document.createElement(tag), attributes, children);

const shape = (tag, attributes = {}, ...children) =>
  put(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);

// A notebook's one-key shortcuts stay away only from elements that carry this mark themselves.
function guard(element) {
  element.setAttribute("data-lm-suppress-shortcuts", "true");
  return element;
}

const button = (attributes) => guard(make("button", { type: "button", ...attributes }));

const stem = (text) => text.replace(/[?.]$/, "");

// A figure and its unit stay on one line, and so do its thousands (as in physics/writing.py).
const held = (text) => text.replace(
  /(\d) (?=\d{3}\b|kg|kN|kPa|hPa|min\b|°C|K\b|%|t\b|lb\b|litres|l\b|L\b|m\b|m³|cm\b|mm\b|ft\b|NM\b|kt\b|h\b|s\b)/g, "$1\u00a0");
