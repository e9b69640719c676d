// The still's page: ties the editor, the pointer, the keys, the lists and the keeping together.
import { Editor } from "./editor.js";
import { useFrames } from "./frames.js";
import { History } from "./history.js";
import { Keeping } from "./keeping.js";
import { same } from "./marks.js";
import { Panel } from "./panel.js";
import { usePointer } from "./pointer.js";
import { useSuggestions } from "./suggestions.js";
import { Stage } from "./stage.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function open(desk) {
  const data = JSON.parse(document.getElementById("still-data").textContent);
  const frame = desk.querySelector("[data-frame]");
  const shape = [Number(frame.getAttribute("width")), Number(frame.getAttribute("height"))];
  const tools = new Map([...desk.querySelectorAll("[data-tool][data-points]")].map((one) => [one.dataset.tool, {
    kind: one.dataset.tool, name: one.textContent, key: one.dataset.key, least: Number(one.dataset.least), most: Number(one.dataset.most), points: one.dataset.points,
  }]));
  desk.querySelector("[data-tools]").hidden = false;
  desk.classList.add("live");

  const history = new History(data.document);
  const stage = new Stage(desk, data.size, shape);
  const editor = new Editor({ history, stage, tools, data });
  const panel = new Panel(desk, editor);
  // Lines keep their width on the screen, whatever the enlargement.
  const width = () => Math.round(stage.width * stage.zoom);
  const keeping = new Keeping({ data, token: desk.dataset.token, history, width });
  const frames = useFrames({ desk, editor, panel, data, keeping });
  const suggestions = useSuggestions({ desk, editor, panel, data, frame });
  usePointer(editor, stage, { onBox: suggestions.within, refuse: frames.refuse });
  window.still = { editor, keeping, stage, history };

  stage.box.tabIndex = 0;
  stage.box.setAttribute("role", "application");
  stage.box.setAttribute("aria-label", "Picture with marks. Tab walks the points, arrows move them, letters choose a tool.");

  keeping.addEventListener("state", (event) => panel.state(event.detail));
  keeping.addEventListener("drawn", ({ detail }) => {
    if (detail.doc === history.doc) { editor.held = null; panel.drawn(detail); }
    stage.show(detail.svg);
    editor.paint();
  });
  keeping.addEventListener("conflict", () => window.location.reload());
  const buttons = () => {
    const undo = desk.querySelector("[data-do=undo]"), redo = desk.querySelector("[data-do=redo]");
    undo.disabled = !history.before.length && keeping.version < 2;
    redo.disabled = !history.after.length && keeping.noRedo;
  };
  editor.addEventListener("refresh", () => { keeping.told = editor.chosen?.mark ?? ""; buttons(); });
  editor.addEventListener("made", ({ detail }) => { if (detail.mark.kind === "label") desk.querySelector("[data-text]").focus(); });
  keeping.noRedo = true;
  let redraw = 0;
  stage.addEventListener("laid", () => { clearTimeout(redraw); redraw = setTimeout(() => keeping.draw(), 250); });

  // --- going back and forth ---------------------------------------------------------------------

  async function step(which) {
    editor.pending = [];
    if (history[which]()) { panel.aloud(which === "undo" ? "taken back" : "made again", 100); return; }
    // Beyond this visit the server knows more; what was taken back there can be had again until something new is drawn.
    if (await keeping.step(which)) { keeping.noRedo = false; panel.aloud(which === "undo" ? "taken back" : "made again", 100); }
    else panel.aloud(which === "undo" ? "Nothing more to take back." : "Nothing to make again.", 100);
    buttons();
  }

  function leave() {
    if (editor.elsewhere) { frames.back(); return; }
    if (editor.pending.length) { editor.pending = []; editor.refresh(); return; }
    if (editor.tool) { editor.setTool(""); return; }
    if (editor.chosen) editor.choose(null);
  }

  function enter() {
    if (editor.tool === "box") { suggestions.within(null); return; }
    if (editor.tool) {
      if (editor.cursor) editor.put(editor.cursor);
      else if (editor.pending.length) editor.finish();
      else editor.moveCursor(editor.size.map((length) => length / 2));
      return;
    }
    editor.confirmChosen();
  }

  const commands = {
    undo: () => step("undo"),
    redo: () => step("redo"),
    value: () => editor.toggleValue(),
    hide: () => editor.toggleShown(),
    earlier: () => editor.order(-1),
    later: () => editor.order(1),
    delete: () => editor.remove(),
    confirm: () => editor.confirmChosen(),
    "confirm-all": () => editor.confirmAll(),
    "refuse-all": () => editor.refuseAll(),
    swap: () => editor.swap(),
    "walk-skip": () => { editor.walkOn(); editor.refresh(); },
    in: () => stage.zoomTo(stage.zoom * 1.5, editor.chosenAt() ?? editor.cursor ?? undefined),
    out: () => stage.zoomTo(stage.zoom / 1.5, editor.chosenAt() ?? editor.cursor ?? undefined),
    fit: () => stage.zoomTo(1),
    back: () => frames.look(editor.looking - 1),
    on: () => frames.look(editor.looking + 1),
    copy: () => frames.copy(),
    fresh: () => frames.fresh(),
    home: () => frames.back(),
    suggest: () => suggestions.begin(),
    "save-now": () => keeping.save(),
    text: () => { if (editor.mark) { desk.querySelector("[data-text]").focus(); desk.querySelector("[data-text]").select(); } },
  };
  for (const tone of [1, 2, 3]) commands[`tone-${tone}`] = () => editor.setTone(tone);
  const letters = {
    v: "value", h: "hide", "[": "earlier", "]": "later", s: "swap", "+": "in", "=": "in", "-": "out", "−": "out", 0: "fit", ",": "back", ".": "on",
    c: "copy", n: "fresh", g: "suggest", x: "text", 1: "tone-1", 2: "tone-2", 3: "tone-3", Delete: "delete", Backspace: "delete",
  };
  const toolKeys = new Map([["e", ""], ["m", "landmark"], ...[...tools.values()].map((tool) => [tool.key, tool.kind])]);

  desk.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do], [data-tool]");
    if (!button) return;
    if ("tool" in button.dataset) editor.setTool(button.dataset.tool, event.detail === 0);
    else commands[button.dataset.do]();
  });

  function arrows(event) {
    const direction = ARROWS[event.key];
    if (!direction) return false;
    const far = event.altKey ? 0.1 : event.ctrlKey ? 100 : event.shiftKey ? 10 : 1;
    if (editor.nudge(direction.map((value) => value * far))) return true;
    if (direction[1] || event.ctrlKey || event.altKey) return false;
    frames.look(editor.looking + direction[0] * (event.shiftKey ? 10 : 1));
    return true;
  }

  function key(event) {
    const at = event.target;
    const typing = at.closest("input, textarea, select, [contenteditable]");
    if (typing) {
      if (event.key === "Escape" || (event.key === "Enter" && at.matches("[data-text]"))) { stage.box.focus(); return true; }
      return false;
    }
    const small = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if ((event.ctrlKey || event.metaKey) && (small === "z" || small === "y")) { step(small === "y" || event.shiftKey ? "redo" : "undo"); return true; }
    if (arrows(event)) return true;
    if (event.ctrlKey || event.metaKey || event.altKey) return false;
    if (event.key === "Tab") return at === stage.box && !editor.elsewhere && editor.next(event.shiftKey ? -1 : 1);
    if (event.key === "Escape") { leave(); return true; }
    if (event.key === "Enter") {
      if (at.closest("a, button, summary")) return false;
      if (event.shiftKey) editor.confirmAll(); else enter();
      return true;
    }
    if (toolKeys.has(small) && !editor.elsewhere) { editor.setTool(toolKeys.get(small), true); stage.box.focus({ preventScroll: true }); return true; }
    const name = letters[small];
    if (!name || (at.closest("a, button, summary") && small === " ")) return false;
    if (event.repeat && !["back", "on", "in", "out"].includes(name)) return true;
    commands[name]();
    return true;
  }
  document.addEventListener("keydown", (event) => { if (!event.defaultPrevented && key(event)) event.preventDefault(); });

  // --- what an earlier visit could not save -----------------------------------------------------

  const draft = keeping.draft();
  if (draft?.document && !same(draft.document, data.document)) {
    keeping.version = draft.version;
    history.set(draft.document, "put back what was not saved");
    panel.error("");
    panel.aloud("Marks that had not been saved were put back.", 200);
  } else keeping.keepDraft();
  buttons();
}

const desk = document.querySelector("[data-still]");
if (desk) open(desk);
