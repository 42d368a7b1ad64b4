// How long a paper still lasts, counted down on its boards. The clock of Python decides: what is
// left is asked of it, and only counted on here.

const TICK_MS = 1000;
const EXACT = 10; // minutes; with less left, seconds are shown
const TOLD = [10, 5, 1]; // minutes left at which it is read out, without being asked
const UP = "The time is up. What was set by then counts as it stood: hand in.";

class TimeLeft {
  constructor(ask, tell, turn) {
    this.ask = ask;
    this.tell = tell;
    this.turn = turn; // called when the time is up, and when there is some again
    this.isUp = false;
    this.element = make("p", { class: "time-left", role: "timer", hidden: true });
    this.seen = () => { if (!document.hidden) this.ask(); }; // a machine that slept counted nothing
    document.addEventListener("visibilitychange", this.seen);
  }

  set(seconds) {
    this.end = performance.now() + 1000 * seconds;
    clearInterval(this.ticking);
    if (seconds > 0) this.ticking = setInterval(() => this.show(), TICK_MS);
    this.last = undefined;
    this.show();
  }

  show() {
    const left = Math.max(0, Math.ceil((this.end - performance.now()) / 1000));
    this.element.textContent = leftWords(left);
    this.element.hidden = false;
    const due = TOLD.find((minutes) => left <= 60 * minutes && this.last > 60 * minutes);
    if (due) this.tell(leftWords(60 * due));
    if (!left) {
      clearInterval(this.ticking);
      if (this.last > 0) this.tell(UP);
    }
    this.last = left;
    if (this.isUp !== !left) {
      this.isUp = !left;
      this.turn();
      if (this.isUp) this.ask(); // Python, whose clock decides, has something to say then too
    }
  }

  close() {
    this.element.hidden = true;
    clearInterval(this.ticking);
    document.removeEventListener("visibilitychange", this.seen);
  }
}

// Minutes as long as there are many, begun ones counted whole; then minutes and seconds.
export function leftWords(left) {
  if (left <= 0) return UP;
  if (left > 60 * EXACT) return `Time left: ${Math.ceil(left / 60)} min`;
  if (left % 60 === 0) return `Time left: ${left / 60} min`;
  return `Time left: ${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")} min`;
}
