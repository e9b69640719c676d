// The vocabulary at the cursor: what a term means, and the rest of a term that one has begun to type.
import {
  EditorView, Prec, StateEffect, StateField, acceptCompletion, autocompletion, closeCompletion, completionStatus, hoverTooltip, keymap,
  moveCompletionSelection, selectedCompletionIndex, setSelectedCompletion, showTooltip, startCompletion,
} from "../vendor/codemirror/codemirror.js";

const LEAST_LETTERS = 3;
const MOST_SHOWN = 8;
const MOST_WORDS = 7;
const REST_MS = 550;

// Capitals, kinds of apostrophe and hyphen, and how wide a space is make no other term of a term.
export const fold = (text) =>
  text.normalize("NFKC").replace(/[\u2018\u2019\u02bc]/g, "'").replace(/[\u2010\u2011\u2013]/g, "-").toLowerCase().replace(/\s+/g, " ").trim();

// --- the list of terms, fetched once ---------------------------------------------------------------

let list = null;
const desk = () => document.getElementById("desk");

export const terms = () => {
  list ??= fetch(desk().dataset.terms)
    .then((response) => (response.ok ? response.json() : { terms: [], ordinary: [] }))
    .then(({ terms: rows, ordinary }) => {
      const entries = rows.map(([text, kind, of, style]) => ({ text, kind, of, style, folded: fold(text) }));
      entries.sort((a, b) => (a.folded < b.folded ? -1 : a.folded > b.folded ? 1 : 0));
      const byText = new Map();
      for (const entry of entries) byText.set(entry.folded, [...(byText.get(entry.folded) ?? []), entry]);
      return { entries, byText, ordinary: new Set(ordinary) };
    })
    .catch(() => {
      list = null;
      return { entries: [], byText: new Map(), ordinary: new Set() };
    });
  return list;
};

const singulars = (text) => [text, text.replace(/(?:'s|s')$/, ""), text.replace(/s$/, ""), text.replace(/es$/, "")];

// The longest term of the vocabulary that covers `at` in `text`: [from, to, the term's own text], or null.
export const termAt = (text, at, byText) => {
  const words = [...text.matchAll(/[\p{L}\p{N}][\p{L}\p{N}\p{M}'’/-]*/gu)].map((match) => [match.index, match.index + match[0].length]);
  const here = words.findIndex(([from, to]) => from <= at && at <= to);
  if (here < 0) return null;
  for (let count = MOST_WORDS; count > 0; count -= 1) {
    for (let first = Math.max(0, here - count + 1); first <= here && first + count <= words.length; first += 1) {
      const [from, to] = [words[first][0], words[first + count - 1][1]];
      const found = singulars(fold(text.slice(from, to))).find((one) => byText.has(one));
      if (found) return [from, to, found];
    }
  }
  return null;
};

// `technical`: words that everybody knows bring nothing up by themselves.
const termIn = async (state, at, technical = false) => {
  const { byText, ordinary } = await terms();
  if (at > state.doc.length) return null;
  const line = state.doc.lineAt(at);
  const found = termAt(line.text, at - line.from, byText);
  if (found && technical && ordinary.has(found[2])) return null;
  return found && { from: line.from + found[0], to: line.from + found[1], text: found[2] };
};

// --- what it means ---------------------------------------------------------------------------------

const pages = new Map();
const meaning = async (text) => {
  if (!pages.has(text)) {
    const response = await fetch(`${desk().dataset.entry}&text=${encodeURIComponent(text)}`);
    if (!response.ok) return null;
    pages.set(text, await response.text());
  }
  const holder = document.createElement("template");
  holder.innerHTML = pages.get(text);
  return holder.content;
};

const box = (content, title) => {
  const dom = document.createElement("div");
  dom.className = "meaning";
  dom.setAttribute("role", "dialog");
  dom.setAttribute("aria-label", `What ${title} means`);
  dom.tabIndex = 0; // it may scroll
  dom.append(content);
  return dom;
};

const setMeaning = StateEffect.define();
const meaningField = StateField.define({
  create: () => null,
  update(tooltip, transaction) {
    if (transaction.docChanged) tooltip = null;
    for (const effect of transaction.effects) if (effect.is(setMeaning)) tooltip = effect.value;
    return tooltip;
  },
  provide: (field) => showTooltip.from(field),
});

export const closeMeaning = (view) => view.state.field(meaningField) && view.dispatch({ effects: setMeaning.of(null) });

// Open the meaning of the term at `at`; `enter` moves the focus into it. Says false where there is no term.
export const openMeaning = async (view, at, enter) => {
  const term = await termIn(view.state, at, !enter);
  const content = term && (await meaning(term.text));
  if (!content || term.to > view.state.doc.length) return false;
  const create = () => {
    const dom = box(content, term.text);
    dom.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      event.preventDefault();
      event.stopPropagation();
      view.focus();
      closeMeaning(view);
    });
    dom.addEventListener("focusout", (event) => {
      if (!dom.contains(event.relatedTarget)) window.setTimeout(() => dom.contains(document.activeElement) || closeMeaning(view));
    });
    return { dom, mount: () => enter && dom.focus({ preventScroll: true }) };
  };
  view.dispatch({ effects: setMeaning.of({ pos: term.from, end: term.to, above: false, create }) });
  return true;
};

const hovering = hoverTooltip(
  async (view, at, side) => {
    const term = await termIn(view.state, at, true);
    if (!term || (term.from === at && side < 0) || (term.to === at && side > 0)) return null;
    const content = await meaning(term.text);
    return content && { pos: term.from, end: term.to, above: false, create: () => ({ dom: box(content, term.text) }) };
  },
  { hoverTime: 450, hideOnChange: true },
);

const tapping = EditorView.domEventHandlers({
  pointerup(event, view) {
    if (event.pointerType !== "touch") return;
    const at = view.posAtCoords({ x: event.clientX, y: event.clientY });
    if (at !== null) window.setTimeout(() => openMeaning(view, at, false).then((opened) => opened || closeMeaning(view)));
  },
  keydown(event, view) {
    if (event.key === "Escape") closeMeaning(view);
  },
});

// --- the rest of a term ------------------------------------------------------------------------------

const firstFrom = (entries, prefix) => {
  let [low, high] = [0, entries.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (entries[middle].folded < prefix) low = middle + 1;
    else high = middle;
  }
  return low;
};

const startingWith = (entries, prefix) => {
  const found = new Map();
  for (let at = firstFrom(entries, prefix); at < entries.length && entries[at].folded.startsWith(prefix); at += 1) {
    const entry = entries[at];
    if (entry.folded !== prefix && !found.has(entry.folded)) found.set(entry.folded, entry);
    if (found.size > 300) break;
  }
  return [...found.values()];
};

const RANK = { standard: 0, own: 0, short: 1, plain: 2 };
const FIRST = { muscle: 0, group: 0, motion: 1, joint: 1, nerve: 2, structure: 2 };
const order = (a, b) => RANK[a.style] - RANK[b.style] || (FIRST[a.kind] ?? 3) - (FIRST[b.kind] ?? 3) || a.text.length - b.text.length;
const option = (entry, typed) => {
  const capital = typed[0] !== typed[0].toLowerCase() && entry.text[0] === entry.text[0].toLowerCase();
  const label = capital ? entry.text[0].toUpperCase() + entry.text.slice(1) : entry.text;
  const other = entry.folded === fold(entry.of) || entry.kind === "motion" ? "" : `: ${entry.of}`;
  return { label, detail: `${entry.kind}${other}` };
};

// Nothing comes up over a word of everyday speech, nor in the middle of a word, unless it is asked for.
const complete = async (context) => {
  const { entries, ordinary } = await terms();
  const line = context.state.doc.lineAt(context.pos);
  const before = line.text.slice(0, context.pos - line.from);
  if (/^[\p{L}\p{N}]/u.test(line.text.slice(context.pos - line.from))) return null;
  const starts = [...before.matchAll(/(?<![\p{L}\p{N}'’-])[\p{L}]/gu)].map((match) => match.index).slice(-4);
  for (const start of starts) {
    const typed = before.slice(start);
    const prefix = fold(typed);
    if ((prefix.match(/\p{L}/gu) ?? []).length < LEAST_LETTERS || / $/.test(typed)) continue;
    if (!context.explicit && ordinary.has(prefix)) continue;
    const ranked = startingWith(entries, prefix).filter((entry) => entry.style in RANK).sort(order);
    const found = [...new Map(ranked.reverse().map((entry) => [`${entry.kind}:${entry.of}`, entry])).values()].reverse().slice(0, MOST_SHOWN);
    if (found.length) return { from: line.from + start, options: found.map((entry) => option(entry, typed)), filter: false };
  }
  return null;
};

// Enter stays a new line until one has chosen from the list; Tab leaves the field unless the list is open.
let asked = false;
const acceptFirst = (view) => {
  if (completionStatus(view.state) !== "active") return false;
  if (selectedCompletionIndex(view.state) === null) view.dispatch({ effects: setSelectedCompletion(0) });
  return acceptCompletion(view);
};
const keys = Prec.highest(
  keymap.of([
    { key: "Ctrl-Space", run: (view) => ((asked = true), startCompletion(view)) },
    { key: "Escape", run: closeCompletion },
    { key: "ArrowDown", run: moveCompletionSelection(true) },
    { key: "ArrowUp", run: moveCompletionSelection(false) },
    { key: "Enter", run: acceptCompletion },
    { key: "Tab", run: acceptFirst },
  ]),
);
const chooseFirst = EditorView.updateListener.of((update) => {
  if (!asked || completionStatus(update.state) !== "active" || completionStatus(update.startState) === "active") return;
  asked = false;
  window.setTimeout(() => completionStatus(update.view.state) === "active" && update.view.dispatch({ effects: setSelectedCompletion(0) }));
});

export const vocabulary = [
  autocompletion({
    override: [complete],
    defaultKeymap: false,
    selectOnOpen: false,
    activateOnTypingDelay: REST_MS,
    icons: false,
    closeOnBlur: true,
    maxRenderedOptions: MOST_SHOWN,
    optionClass: () => "words-option",
    tooltipClass: () => "words-options",
  }),
  keys,
  chooseFirst,
  meaningField,
  hovering,
  tapping,
];
