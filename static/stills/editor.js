// What is chosen, what is being drawn, and the commands on both. It knows no keys and no pointers.
import {
  allConfirmed, allRefused, changed, choices, freshId, landmarkWords, linesOf, markOf, moved, placed, placeOf, reordered, rounded, snap, swapped,
  WALK, withLandmark, withMark, withoutLandmark, withoutMark, withPoint,
} from "./marks.js";

const MEASURED = new Set(["angle", "pair", "line"]);
const SNAPS = 11; // CSS pixels

export class Editor extends EventTarget {
  constructor({ history, stage, tools, data }) {
    super();
    Object.assign(this, { history, stage, tools, data });
    this.tool = "";
    this.chosen = null; // {mark, index} or {landmark}; index -1 is the whole mark
    this.pending = [];
    this.cursor = null; // where keys draw, source pixels
    this.over = null; // where the pointer draws
    this.box = null;
    this.held = null;
    this.walk = WALK[0];
    this.tone = 1;
    this.looking = data.frame;
    history.addEventListener("change", () => this.settle());
    stage.addEventListener("laid", () => this.paint());
  }

  get doc() { return this.history.doc; }

  get mark() { return this.chosen?.mark ? markOf(this.doc, this.chosen.mark) : null; }

  get elsewhere() { return this.looking !== this.data.frame; }

  tell(name, detail = {}) { this.dispatchEvent(new CustomEvent(name, { detail })); }

  say(text) { this.tell("say", { text }); }

  change(doc, what, options) { this.history.set(doc, what, options); }

  // After any change: what is gone is no longer chosen.
  settle() {
    const { chosen } = this;
    if (chosen?.mark && !(this.mark && chosen.index < this.mark.points.length)) this.chosen = null;
    if (chosen?.landmark && !this.doc.landmarks[chosen.landmark]) this.chosen = null;
    this.refresh();
  }

  refresh() {
    this.paint();
    this.tell("refresh");
  }

  // --- choosing ---------------------------------------------------------------------------------

  choose(what) {
    this.chosen = what;
    this.refresh();
    const said = this.chosenWords();
    if (said) this.say(said);
  }

  chosenWords() {
    const { chosen, mark } = this;
    if (chosen?.landmark) {
      const row = this.doc.landmarks[chosen.landmark];
      return `${landmarkWords(chosen.landmark)}${row.state === "suggested" ? ", suggested" : ""}, ${row.at.map((value) => value.toFixed(1)).join(" across, ")} down`;
    }
    if (!mark) return "";
    const name = `${this.tools.get(mark.kind)?.name ?? mark.kind}${mark.text ? ` ${mark.text}` : ""}`;
    return chosen.index < 0 ? name : `${name}, point ${chosen.index + 1} of ${mark.points.length}`;
  }

  // Tab: the next point; false past the last one, so that the key goes on to the page.
  next(by) {
    const all = choices(this.doc);
    const now = all.findIndex((one) => (one.landmark ? one.landmark === this.chosen?.landmark : one.mark === this.chosen?.mark && one.index === Math.max(0, this.chosen.index)));
    if (this.tool) {
      const at = this.cursor ?? this.over;
      const here = all.findIndex((one) => at && one.at.every((value, axis) => Math.abs(value - at[axis]) < 0.005));
      const goal = all[here < 0 ? (by > 0 ? 0 : all.length - 1) : here + by];
      if (!goal) return false;
      this.moveCursor(goal.at);
      this.say(goal.landmark ? landmarkWords(goal.landmark) : "a point of a mark");
      return true;
    }
    // From a whole mark the walk begins at its first point.
    const whole = this.chosen?.mark && this.chosen.index < 0 && by > 0;
    const goal = all[now < 0 ? (by > 0 ? 0 : all.length - 1) : whole ? now : now + by];
    if (!goal) { this.choose(null); return false; }
    this.choose(goal.landmark ? { landmark: goal.landmark } : { mark: goal.mark, index: goal.index });
    this.stage.reveal(goal.at);
    return true;
  }

  // --- drawing ----------------------------------------------------------------------------------

  setTool(kind, byKeys = false) {
    if (this.pending.length) this.finish();
    this.pending = [];
    this.box = null;
    this.tool = kind;
    this.over = null;
    this.cursor = kind && byKeys ? this.cursor ?? this.size.map((length) => length / 2) : null;
    if (kind) this.chosen = null;
    if (kind === "landmark" && this.doc.landmarks[this.walk]) this.walkOn();
    this.refresh();
    this.say(this.hint());
  }

  get size() { return this.data.size; }

  // What the next point is.
  hint() {
    if (this.elsewhere) return "";
    if (this.tool === "landmark") return `${landmarkWords(this.walk)}: click it, or move the cross with the arrows and press Enter.`;
    if (this.tool === "box") return "Draw a box round the person, or press Enter to look in the whole picture.";
    if (!this.tool) return "";
    const tool = this.tools.get(this.tool);
    if (this.tool === "freehand") return "freehand: draw along the line with the button or finger down.";
    const names = tool.points.split(", ");
    const which = tool.most > 4 ? `${tool.points}${this.pending.length >= tool.least ? "; Enter twice ends it" : ""}` : tool.kind === "pair" ? ["first line, start", "first line, end", "second line, start", "second line, end"][this.pending.length] : names[this.pending.length];
    return `${tool.name}: ${which ?? names[0]}`;
  }

  within() { return this.stage.scale.map((scale) => SNAPS / scale); }

  snapAt(at, except = null) { return snap(this.doc, at, this.within(), except); }

  moveCursor(at) {
    const [w, h] = this.size;
    this.cursor = [Math.max(0, Math.min(w, at[0])), Math.max(0, Math.min(h, at[1]))];
    this.over = null;
    this.stage.reveal(this.cursor);
    this.paint();
    this.tell("refresh");
  }

  // A point set with the tool in hand. A second one at the same place ends a mark of many points.
  put(at, free = false) {
    if (this.tool === "landmark") { this.placeWalked(at); return; }
    const tool = this.tools.get(this.tool);
    if (!tool) return;
    const caught = free ? null : this.snapAt(at);
    const last = this.pending.at(-1);
    const here = caught ? caught.at : at;
    if (last && tool.most > 4) {
      const there = placeOf(this.doc, last);
      const near = this.within();
      if (Math.hypot((there[0] - here[0]) / near[0], (there[1] - here[1]) / near[1]) < 0.4) { this.finish(); return; }
    }
    this.pending.push(caught ? caught.point : { at: rounded(at) });
    if (this.pending.length >= tool.most) this.finish();
    else { this.paint(); this.tell("refresh"); this.say(this.hint()); }
  }

  finish() {
    const tool = this.tools.get(this.tool);
    const points = this.pending;
    this.pending = [];
    if (!tool || points.length < tool.least) { this.refresh(); return; }
    const mark = { id: freshId(this.doc), kind: tool.kind, points, tone: this.tone, text: "", shown: true, value: MEASURED.has(tool.kind) };
    this.chosen = { mark: mark.id, index: -1 };
    this.held = mark.id;
    this.change(withMark(this.doc, mark), `draw: ${tool.name}`);
    this.tell("made", { mark });
  }

  placeWalked(at) {
    const name = this.walk;
    this.chosen = { landmark: name };
    this.walkOn();
    this.change(placed(this.doc, name, at), "place a landmark");
    this.say(`${landmarkWords(name)} placed. ${this.hint()}`);
  }

  walkOn() {
    const from = WALK.indexOf(this.walk);
    const order = [...WALK.slice(from + 1), ...WALK.slice(0, from + 1)];
    this.walk = order.find((name) => !this.doc.landmarks[name]) ?? order[0];
  }

  // --- changing what is chosen ------------------------------------------------------------------

  // The chosen point, or the whole mark, moved to or by; `goesOn` joins the steps of one drag.
  moveChosen(at, goesOn, snaps = true) {
    const { chosen } = this;
    if (chosen?.landmark) { this.change(placed(this.doc, chosen.landmark, at), "move a landmark", { goesOn }); return; }
    if (!chosen?.mark || chosen.index < 0) return;
    const caught = snaps ? this.snapAt(at) : null;
    this.held = chosen.mark;
    this.change(withPoint(this.doc, chosen.mark, chosen.index, caught ? caught.point : { at: rounded(at) }), "move a point", { goesOn });
  }

  moveMark(by, goesOn) {
    if (!this.mark) return;
    this.held = this.mark.id;
    this.change(moved(this.doc, this.mark.id, by), "move a mark", { goesOn });
  }

  chosenAt() {
    const { chosen, mark } = this;
    if (chosen?.landmark) return this.doc.landmarks[chosen.landmark].at;
    return mark && chosen.index >= 0 ? placeOf(this.doc, mark.points[chosen.index]) : null;
  }

  nudge(by) {
    if (this.tool) { const at = this.cursor ?? this.over ?? this.size.map((length) => length / 2); this.moveCursor([at[0] + by[0], at[1] + by[1]]); return true; }
    if (this.mark && this.chosen.index < 0) { this.moveMark(by, true); return true; }
    const at = this.chosenAt();
    if (!at) return false;
    const goal = [at[0] + by[0], at[1] + by[1]];
    this.moveChosen(goal, true, false);
    this.stage.reveal(goal);
    return true;
  }

  set(values, what) { if (this.mark) this.change(changed(this.doc, this.mark.id, values), what, { goesOn: what === "change a text" }); }

  setTone(tone) {
    this.tone = tone;
    if (this.mark) this.set({ tone }, "change the tone");
    else this.refresh();
  }

  toggleValue() { this.set({ value: !this.mark?.value }, "value on or off"); }

  toggleShown() { this.set({ shown: this.mark?.shown === false }, "show or hide a mark"); }

  order(by) { if (this.mark) this.change(reordered(this.doc, this.mark.id, by), "change the order"); }

  remove() {
    if (this.mark) { const said = this.chosenWords(); this.change(withoutMark(this.doc, this.mark.id), "delete a mark"); this.say(`${said} deleted`); }
    else if (this.chosen?.landmark) this.change(withoutLandmark(this.doc, this.chosen.landmark), "take a landmark out");
  }

  // Enter on a suggested landmark: it is right as it is; on to the next suggested one.
  confirmChosen() {
    const name = this.chosen?.landmark;
    if (!name || this.doc.landmarks[name]?.state !== "suggested") return false;
    this.change(withLandmark(this.doc, name, { state: "confirmed" }), "confirm a landmark");
    const rest = Object.keys(this.doc.landmarks).find((one) => this.doc.landmarks[one].state === "suggested");
    if (rest) this.choose({ landmark: rest });
    return true;
  }

  confirmAll() { this.change(allConfirmed(this.doc), "confirm all landmarks"); }

  refuseAll() { this.change(allRefused(this.doc), "refuse all suggestions"); }

  swap() {
    if (!Object.keys(this.doc.landmarks).length) { this.say("There are no landmarks to swap."); return; }
    this.change(swapped(this.doc), "swap left and right");
    this.say("Left and right are swapped.");
  }

  // --- painting ---------------------------------------------------------------------------------

  places(mark) { return mark.points.map((point) => placeOf(this.doc, point)).filter(Boolean); }

  paint() {
    const { chosen, doc, held } = this;
    if (this.elsewhere) { this.stage.paint({ points: [] }); return; }
    const points = choices(doc).map((one) => ({
      ...one,
      quiet: !one.landmark && one.mark !== chosen?.mark,
      landmark: Boolean(one.landmark),
      suggested: one.landmark && doc.landmarks[one.landmark].state === "suggested",
      unsure: one.landmark && (doc.landmarks[one.landmark].visibility ?? 1) < 0.5,
      chosen: one.landmark ? one.landmark === chosen?.landmark : one.mark === chosen?.mark && one.index === chosen.index,
    }));
    const lines = [];
    const preview = held ? markOf(doc, held) : null;
    if (preview && preview.shown !== false) lines.push(...linesOf(preview.kind, this.places(preview)));
    const at = this.over ?? this.cursor;
    const caught = at && this.tool && !["landmark", "box", "freehand"].includes(this.tool) ? this.snapAt(at) : null;
    if (this.pending.length) {
      const drawn = this.pending.map((point) => placeOf(doc, point)).filter(Boolean);
      const ahead = at && this.tool !== "freehand" ? [...drawn, caught?.at ?? at] : drawn;
      lines.push(...linesOf(this.tool, ahead));
      drawn.forEach((place) => points.push({ at: place, chosen: false }));
    }
    this.stage.hold(preview ? held : null);
    this.stage.paint({ points, lines, box: this.box, snapped: caught?.at, cross: this.tool && this.cursor ? this.cursor : null });
  }
}
