// Marks under the words: what the margin has to say about a stretch of them, and what may stand in its place.
import { Decoration, EditorView, StateEffect, StateField, isolateHistory } from "../vendor/codemirror/codemirror.js";

export const setMarks = StateEffect.define();

// Marks that a change reaches into say nothing of the new words.
const mapped = (set, changes) => {
  const touched = [];
  changes.iterChangedRanges((from, to, start, end) => touched.push([start, end]));
  return set.map(changes).update({
    filter: (from, to) => !touched.some(([start, end]) => (start < to && end > from)),
  });
};

export const marksField = StateField.define({
  create: () => Decoration.none,
  update(set, transaction) {
    if (transaction.docChanged) set = mapped(set, transaction.changes);
    for (const effect of transaction.effects) if (effect.is(setMarks)) set = effect.value;
    return set;
  },
  provide: (field) => EditorView.decorations.from(field),
});

const decoration = (mark) =>
  Decoration.mark({ class: `words-mark ${mark.state}`, attributes: { "data-note": mark.note }, mark });

// Marks as `{note, state, says, from, to, replace: [from, to, text] or null}`, laid on a text of `length` letters.
export const laid = (marks, length) =>
  Decoration.set(
    marks
      .filter((mark) => mark.from < mark.to && mark.to <= length)
      .map((mark) => decoration({ ...mark, replace: mark.replace && [mark.replace[0] - mark.from, mark.replace[1] - mark.from, mark.replace[2]], was: mark.was }).range(mark.from, mark.to)),
    true,
  );

export const mappedMarks = (set, changes) => (changes ? mapped(set, changes) : set);

export const marksOf = (state) => {
  const found = [];
  state.field(marksField).between(0, state.doc.length, (from, to, value) => {
    found.push({ ...value.spec.mark, from, to });
  });
  return found;
};

// The marks in the layer behind, which came with the page or with the last look at the margin.
export const marksBehind = (layer) => {
  const found = [];
  let place = 0;
  for (const node of layer.childNodes) {
    const end = place + node.textContent.length;
    if (node.nodeName === "MARK" && node.dataset.note) {
      found.push({ note: node.dataset.note, state: node.className, says: "", from: place, to: end, replace: null });
    }
    place = end;
  }
  return found;
};

// Of the marks at the cursor the gravest, and of those the shortest.
const GRAVEST = ["over", "near", "offer"];
export const markAt = (state, wanted = () => true) => {
  const at = state.selection.main.head;
  const here = marksOf(state).filter((mark) => mark.from <= at && at <= mark.to && wanted(mark));
  return here.sort((a, b) => GRAVEST.indexOf(a.state) - GRAVEST.indexOf(b.state) || a.to - a.from - (b.to - b.from))[0];
};

// The mark that a key is meant for: at the cursor, else the last one before it, else the first one after.
export const markFor = (state, wanted = () => true) => {
  const at = state.selection.main.head;
  const marks = marksOf(state).filter(wanted);
  return (
    markAt(state, wanted) ??
    marks.filter((mark) => mark.to < at).at(-1) ??
    marks[0] ??
    null
  );
};

// Put the proposed words in place; false where the words are not what was judged.
export const use = (view, mark) => {
  if (!mark.replace) return false;
  const [start, end, text] = [mark.from + mark.replace[0], mark.from + mark.replace[1], mark.replace[2]];
  if (start < 0 || end > view.state.doc.length || view.state.sliceDoc(start, end) !== mark.was) return false;
  view.dispatch({
    changes: { from: start, to: end, insert: text },
    selection: { anchor: start + text.length },
    annotations: isolateHistory.of("full"),
    userEvent: "input.complete",
    scrollIntoView: true,
  });
  return true;
};

// --- asking the server while one types ---------------------------------------------------------------

const PAUSE_MS = 350;

// The server counts characters, the editor counts the halves of a pair.
const placesOf = (text) => {
  if (!/[\ud800-\udbff]/.test(text)) return (at) => at;
  const places = [0];
  for (const letter of text) places.push(places.at(-1) + letter.length);
  return (at) => places[at] ?? text.length;
};

const marksFrom = (answer, text) => {
  const place = placesOf(text);
  return answer.marks.map((mark) => {
    const replace = mark.replace && [place(mark.replace[0]), place(mark.replace[1]), mark.replace[2]];
    const was = replace && text.slice(replace[0], replace[1]);
    return { note: mark.note, state: mark.state, says: mark.says, from: place(mark.start), to: place(mark.end), replace, was };
  });
};

// Asks about the words of one beat after a short stop; an answer is laid on what has been typed meanwhile.
export class Checker {
  constructor(view, form, known, announce) {
    Object.assign(this, { view, form, announce, since: null, timer: 0, asked: null, answered: null });
    this.known = new Set(known);
  }

  changed(changes) {
    this.since = this.since ? this.since.compose(changes) : changes;
    this.later();
  }

  later(wait = PAUSE_MS) {
    window.clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.ask(), wait);
  }

  get isCurrent() {
    return this.answered === this.view.state.doc.toString();
  }

  async ask() {
    const text = this.view.state.doc.toString();
    if (text === this.answered || !this.form.isConnected) return;
    this.asked?.abort();
    const asked = (this.asked = new AbortController());
    this.since = null;
    try {
      const body = new FormData();
      body.append("words", text);
      body.append("csrfmiddlewaretoken", this.form.querySelector("[name=csrfmiddlewaretoken]").value);
      const response = await fetch(this.form.dataset.check, { method: "POST", body, signal: asked.signal, redirect: "error" });
      if (!response.ok) return;
      this.take(await response.json(), text);
    } catch (fault) {
      // Without an answer the marks that are there stay; the margin comes with the next save anyway.
      if (fault.name !== "AbortError" && fault.name !== "TypeError") throw fault;
    }
  }

  take(answer, text) {
    if (!this.form.isConnected) return;
    const marks = marksFrom(answer, text);
    const set = mappedMarks(laid(marks, text.length), this.since);
    this.view.dispatch({ effects: setMarks.of(set) });
    this.answered = this.since ? null : text;
    const told = marks.filter((mark) => mark.state !== "offer");
    const fresh = told.filter((mark) => !this.known.has(mark.note));
    this.known = new Set(told.map((mark) => mark.note));
    if (fresh.length) this.announce(fresh.map((mark) => `${mark.says}.${mark.replace ? " Alt U puts the proposed words in." : ""}`).join(" "));
  }

  stop() {
    window.clearTimeout(this.timer);
    this.asked?.abort();
  }
}
