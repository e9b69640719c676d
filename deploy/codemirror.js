// What the words editor takes of CodeMirror 6, as one ES module. static/vendor/README.md says how it is bundled.
//
// CodeMirror mounts its rules through style-mod, which writes a <style> element; the site's policy allows none.
// A constructed style sheet is made by script that the policy has allowed already, so the rules go into one of those.
import { StyleModule } from "style-mod";

const mounted = new WeakMap();
StyleModule.mount = (root, modules) => {
  const doc = root.nodeType === Node.DOCUMENT_NODE ? root : root.ownerDocument;
  const known = mounted.get(root) ?? { sheet: new doc.defaultView.CSSStyleSheet(), modules: [] };
  const wanted = [modules].flat();
  const fresh = wanted.filter((one) => !known.modules.includes(one));
  if (!mounted.has(root)) {
    mounted.set(root, known);
    root.adoptedStyleSheets = [known.sheet, ...root.adoptedStyleSheets];
  }
  if (!fresh.length) return;
  // Later modules are overruled by earlier ones, as style-mod orders them.
  known.modules = [...wanted, ...known.modules.filter((one) => !wanted.includes(one))];
  known.sheet.replaceSync(known.modules.map((one) => one.getRules()).join("\n"));
};

export { Annotation, Compartment, EditorSelection, EditorState, Prec, StateEffect, StateField, Text, Transaction } from "@codemirror/state";
export { Decoration, EditorView, hoverTooltip, keymap, placeholder, showTooltip, closeHoverTooltips } from "@codemirror/view";
export { history, historyKeymap, insertNewline, isolateHistory, standardKeymap } from "@codemirror/commands";
export { acceptCompletion, autocompletion, closeCompletion, completionStatus, moveCompletionSelection, selectedCompletionIndex, setSelectedCompletion, startCompletion } from "@codemirror/autocomplete";
