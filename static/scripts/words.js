// The words column as an editor. The textarea stays the form's field and the truth: the editor writes each change into
// it and follows when somebody else does ("words:set", "words:select", "words:marks"). Without this script it is used itself.
import {
  Annotation, EditorState, EditorView, Transaction, history, historyKeymap, insertNewline, keymap, placeholder, standardKeymap,
} from "../vendor/codemirror/codemirror.js";
import { Checker, laid, markAt, markFor, marksBehind, marksField, marksOf, setMarks, use } from "./words_marks.js";
import { openMeaning, terms, vocabulary } from "./words_terms.js";

const fromField = Annotation.define();
const editors = new Map();

const announce = (text) => {
  const line = document.getElementById("aloud");
  if (line) line.textContent = text;
};

// The note whose reason is asked for as soon as it stands in the margin.
let waiting = "";

const layerOf = (area) => area.parentElement.querySelector(".backdrop");
const areas = () => [...document.querySelectorAll("form.beat-words textarea")];

// --- one editor --------------------------------------------------------------------------------------

const keysOfText = standardKeymap.filter((one) => one.key !== "Enter" && one.key !== "Mod-Enter");

const limited = (most) =>
  EditorState.changeFilter.of(
    (transaction) =>
      transaction.annotation(fromField) || transaction.newDoc.length <= most || transaction.newDoc.length <= transaction.startState.doc.length,
  );

const follow = (area) =>
  EditorView.updateListener.of((update) => {
    const { checker } = editors.get(area) ?? {};
    if (update.docChanged) {
      area.value = update.state.doc.toString();
      checker?.changed(update.changes);
    }
    const { from, to } = update.state.selection.main;
    if (update.docChanged || update.selectionSet) area.setSelectionRange(from, to);
    if (update.docChanged && !update.transactions.some((one) => one.annotation(fromField))) {
      area.dispatchEvent(new Event("input", { bubbles: true }));
      waiting = ""; // whoever types on no longer waits for a reason to be asked
    }
    if (update.selectionSet || update.docChanged || update.focusChanged) showNote(update.view);
    if (update.focusChanged && update.view.hasFocus) {
      terms();
      checker?.later(0);
    }
  });

const mount = (area) => {
  if (editors.has(area) || !area.isConnected) return editors.get(area)?.view;
  const label = area.labels[0];
  label.id ||= `label-${area.id}`;
  const attributes = { "aria-labelledby": label.id, spellcheck: "true", autocorrect: "on", autocapitalize: "sentences", translate: "no" };
  const had = document.activeElement === area;
  const view = new EditorView({
    parent: area.parentElement,
    state: EditorState.create({
      doc: area.value,
      selection: { anchor: area.selectionStart, head: area.selectionEnd },
      extensions: [
        history(),
        vocabulary,
        keymap.of([{ key: "Enter", run: insertNewline, shift: insertNewline }, ...keysOfText, ...historyKeymap]),
        EditorView.lineWrapping,
        EditorView.contentAttributes.of(attributes),
        placeholder(area.placeholder),
        limited(area.maxLength),
        marksField,
        follow(area),
      ],
    }),
  });
  editors.set(area, { view, checker: new Checker(view, area.form, notesBehind(area), announce) });
  area.parentElement.classList.add("edited");
  area.tabIndex = -1;
  area.setAttribute("aria-hidden", "true");
  takeMarks(area);
  if (had) view.focus();
  return view;
};

const notesBehind = (area) => marksBehind(layerOf(area)).map((mark) => mark.note);

const takeMarks = (area) => {
  const { view, checker } = editors.get(area);
  if (checker.isCurrent) return;
  view.dispatch({ effects: setMarks.of(laid(marksBehind(layerOf(area)), view.state.doc.length)) });
};

// The textarea was written by somebody else: change only the stretch that differs, so that the cursor stays.
const takeValue = (area) => {
  const { view } = editors.get(area);
  const [old, now] = [view.state.doc.toString(), area.value];
  if (old === now) return;
  let start = 0;
  while (start < old.length && start < now.length && old[start] === now[start]) start += 1;
  let tail = 0;
  while (tail < Math.min(old.length, now.length) - start && old.at(-1 - tail) === now.at(-1 - tail)) tail += 1;
  view.dispatch({
    changes: { from: start, to: old.length - tail, insert: now.slice(start, now.length - tail) },
    annotations: [fromField.of(true), Transaction.addToHistory.of(false)],
  });
};

const isArea = (node) => node?.matches?.("form.beat-words textarea");

document.addEventListener("focusin", (event) => isArea(event.target) && mount(event.target)?.focus());
document.addEventListener("words:set", (event) => editors.has(event.target) && takeValue(event.target));
document.addEventListener("words:marks", (event) => editors.has(event.target) && takeMarks(event.target));
document.addEventListener("words:select", (event) => {
  const view = mount(event.target);
  view?.dispatch({ selection: { anchor: event.target.selectionStart, head: event.target.selectionEnd }, scrollIntoView: true });
});

// --- which beats are edited here: those near what is seen; the others keep their plain field until then -----------

const near = new IntersectionObserver(
  (seen) => seen.filter((one) => one.isIntersecting).forEach((one) => (near.unobserve(one.target), mount(one.target))),
  { rootMargin: "500px 0px" },
);
// A field that is hidden has no place of its own: what is watched is the textarea, before its editor stands.
const watch = () => {
  for (const [area, { view, checker }] of editors) {
    if (area.isConnected) continue;
    checker.stop();
    view.destroy();
    editors.delete(area);
  }
  areas().filter((area) => !editors.has(area)).forEach((area) => near.observe(area));
};
watch();
document.addEventListener("htmx:afterSettle", (event) => {
  if (event.detail.target?.id === "desk" || event.detail.elt?.id === "desk") watch();
});

// --- keys ----------------------------------------------------------------------------------------------

// The note in the margin that belongs to the marked words at the cursor stands out.
const showNote = (view) => {
  const here = view.hasFocus && markAt(view.state);
  document.querySelectorAll(".note.at-cursor").forEach((note) => note.classList.remove("at-cursor"));
  if (here) document.getElementById(`note-${here.note}`)?.classList.add("at-cursor");
};

const sentenceOf = (mark) => mark.says || document.querySelector(`#note-${CSS.escape(mark.note)} .says`)?.textContent || "Marked words";

const goTo = (view, mark) => {
  view.focus();
  view.dispatch({ selection: { anchor: mark.from }, scrollIntoView: true });
  view.dom.closest(".beat").scrollIntoView({ block: "nearest" });
  announce(`${sentenceOf(mark)}: “${view.state.sliceDoc(mark.from, mark.to)}”`);
};

const nextMark = (area) => {
  const all = areas();
  const first = Math.max(0, all.indexOf(area));
  for (let step = 0; step <= all.length; step += 1) {
    const one = all[(first + step) % all.length];
    if (!editors.has(one) && !marksBehind(layerOf(one)).length) continue;
    const view = mount(one);
    const behind = step === 0 && area ? view.state.selection.main.head : -1;
    const mark = marksOf(view.state).find((found) => found.from > behind);
    if (mark) return goTo(view, mark);
  }
  announce("The margin points at no words.");
};

const useProposal = (view) => {
  const mark = markFor(view.state, (one) => one.replace || buttonOf(one));
  if (!mark) return announce("No words are proposed in this beat. Alt N goes to the next marked words.");
  if (use(view, mark)) return announce(`Changed to “${mark.replace[2]}”.`);
  buttonOf(mark)?.click();
};
const buttonOf = (mark) => document.querySelector(`#note-${CSS.escape(mark.note)} button[data-key="Enter"]`);

const meanIt = (view) => {
  const mark = markFor(view.state);
  if (!mark) return announce("No words are marked in this beat. Alt N goes to the next marked words.");
  waiting = mark.note;
  openReason() || htmx.trigger(view.dom.closest("form"), "save-now");
};
const openReason = () => {
  const reason = waiting && document.querySelector(`#note-${CSS.escape(waiting)} .mean`);
  if (!reason) return false;
  waiting = "";
  reason.open = true;
  reason.querySelector("input[name=reason]").focus();
  return true;
};
document.addEventListener("htmx:afterSettle", openReason);
document.addEventListener("htmx:oobAfterSwap", () => waiting && window.setTimeout(openReason));

const explain = async (view) => {
  // At marked words whose first word is no term, the first term in them is meant.
  const at = view.state.selection.main.head;
  const mark = markAt(view.state);
  const others = mark ? [...view.state.sliceDoc(at, mark.to).matchAll(/\S+/g)].map((match) => at + match.index) : [];
  for (const place of [at, ...others]) if (await openMeaning(view, place, true)) return;
  announce("The vocabulary has no term at the cursor.");
};

const KEYS = { KeyN: (view, area) => nextMark(area), KeyU: useProposal, KeyI: meanIt, KeyG: explain };
document.addEventListener("keydown", (event) => {
  if (!event.altKey || event.ctrlKey || event.metaKey || event.shiftKey || event.isComposing || !KEYS[event.code]) return;
  const row = event.target.closest?.(".beat");
  const area = row?.querySelector("form.beat-words textarea") ?? null;
  if (!area && event.code !== "KeyN") return;
  event.preventDefault();
  KEYS[event.code](area && mount(area), area);
});

// A click on marked words shows which note is meant, below the words where there is no room beside them.
document.addEventListener("click", (event) => {
  const mark = event.target.closest?.(".words-mark");
  const note = mark && document.getElementById(`note-${mark.dataset.note}`);
  if (note) note.classList.add("at-cursor");
});
