// The states that the page can go back to. Beyond them the server keeps those of earlier visits.

const MOST = 300;
const PAUSE = 1200; // ms: changes of one kind without a longer stop are one step

export class History extends EventTarget {
  constructor(doc) {
    super();
    this.doc = doc;
    this.before = [];
    this.after = [];
    this.what = "";
    this.at = 0;
  }

  // A change: kept as a step of its own unless it goes on with the last one.
  set(doc, what, { goesOn = false } = {}) {
    const now = performance.now();
    const joins = goesOn && what === this.what && now - this.at < PAUSE && this.before.length;
    if (!joins) {
      this.before.push(this.doc);
      if (this.before.length > MOST) this.before.shift();
    }
    this.after = [];
    this.doc = doc;
    this.what = what;
    this.at = now;
    this.dispatchEvent(new CustomEvent("change", { detail: { what } }));
  }

  // The state that stands, replaced by the server's word on it; no step.
  replace(doc) {
    this.doc = doc;
    this.dispatchEvent(new CustomEvent("change", { detail: { what: "", quiet: true } }));
  }

  step(from, to, what) {
    if (!from.length) return false;
    to.push(this.doc);
    this.doc = from.pop();
    this.what = "";
    this.dispatchEvent(new CustomEvent("change", { detail: { what } }));
    return true;
  }

  undo() { return this.step(this.before, this.after, "undo"); }

  redo() { return this.step(this.after, this.before, "redo"); }
}
