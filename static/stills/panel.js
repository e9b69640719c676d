// The lists beside the picture and the fields of what is chosen.
import { landmarkWords, suggestedCount, WALK } from "./marks.js";

const AFTER = 900; // ms of rest before a change is read aloud

export class Panel {
  constructor(desk, editor) {
    Object.assign(this, { desk, editor });
    const find = (name) => desk.querySelector(`[data-${name}]`);
    this.parts = Object.fromEntries(
      ["hint", "walk", "walk-name", "inspector", "inspected", "point-name", "of-mark", "text", "x", "y", "marks", "no-marks", "landmarks", "no-landmarks", "aloud", "measures", "problems", "error", "state", "looking"].map((name) => [name, find(name)]),
    );
    this.parts["walk-name"].append(...WALK.map((name) => new Option(landmarkWords(name), name)));
    editor.addEventListener("refresh", () => this.refresh());
    editor.addEventListener("say", (event) => this.aloud(event.detail.text, 150));
    this.wire();
    this.refresh();
  }

  wire() {
    const { editor, parts } = this;
    parts["walk-name"].addEventListener("change", () => { editor.walk = parts["walk-name"].value; this.refresh(); });
    parts.text.addEventListener("input", () => editor.set({ text: parts.text.value }, "change a text"));
    for (const [axis, field] of [parts.x, parts.y].entries()) {
      field.addEventListener("change", () => {
        const at = editor.chosenAt();
        const typed = field.valueAsNumber;
        if (!at || !Number.isFinite(typed)) { this.refresh(); return; }
        editor.moveChosen(at.map((value, place) => (place === axis ? typed : value)), false, false);
      });
    }
    for (const [list, name] of [[parts.marks, "mark"], [parts.landmarks, "landmark"]]) {
      list.addEventListener("click", (event) => {
        const button = event.target.closest("button[data-row]");
        if (!button) return;
        editor.setTool("");
        editor.choose(name === "mark" ? { mark: button.dataset.row, index: -1 } : { landmark: button.dataset.row });
        if (button.dataset.act === "confirm") editor.confirmChosen();
        if (button.dataset.act === "refuse") editor.remove();
      });
    }
  }

  // Said once the hand rests, so that a drag is not read out pixel by pixel.
  aloud(text, after = AFTER) {
    if (!text) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => { this.parts.aloud.textContent = text; }, after);
  }

  error(text) {
    this.parts.error.textContent = text;
    this.parts.error.hidden = !text;
  }

  state(detail) {
    this.parts.state.textContent = detail.text;
    this.parts.state.className = { offline: "near marked", refused: "over marked" }[detail.state] ?? "soft";
    this.desk.querySelector("[data-do=save-now]").hidden = detail.state !== "offline";
  }

  // What the server has drawn and measured of the state that stands.
  drawn(told) {
    this.parts.measures.innerHTML = told.measures_html;
    this.parts.problems.replaceChildren(...told.problems.map((line) => { const p = document.createElement("p"); p.className = "near marked"; p.textContent = line; return p; }));
    this.error("");
    this.lightUp();
    if (told.said !== this.saidLast) this.aloud(told.said);
    this.saidLast = told.said;
  }

  lightUp() { for (const row of this.parts.measures.querySelectorAll("[data-of]")) row.classList.toggle("chosen", row.dataset.of === this.editor.chosen?.mark); }

  refresh() {
    const { editor, parts } = this;
    const hint = editor.hint();
    parts.hint.textContent = hint || (editor.elsewhere ? "" : "Choose a tool, or a point to move.");
    parts.walk.hidden = editor.tool !== "landmark";
    parts["walk-name"].value = editor.walk;
    for (const button of this.desk.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", String(button.dataset.tool === editor.tool));
    this.desk.classList.toggle("drawing", Boolean(editor.tool));
    const count = suggestedCount(editor.doc);
    for (const name of ["confirm-all", "refuse-all"]) this.desk.querySelector(`[data-do=${name}]`).hidden = !count;
    this.desk.querySelector("[data-do=swap]").disabled = !Object.keys(editor.doc.landmarks).length;
    this.inspect();
    this.list();
    this.lightUp();
  }

  inspect() {
    const { editor, parts } = this;
    const { chosen, mark } = editor;
    parts.inspector.hidden = !chosen || editor.elsewhere;
    if (!chosen) return;
    parts["of-mark"].hidden = !mark;
    const row = chosen.landmark ? editor.doc.landmarks[chosen.landmark] : null;
    parts.inspected.textContent = mark ? editor.tools.get(mark.kind).name : landmarkWords(chosen.landmark);
    const follows = mark && chosen.index >= 0 ? mark.points[chosen.index].landmark : "";
    parts["point-name"].textContent = row ? row.state : chosen.index < 0 ? "the whole mark" : `point ${chosen.index + 1} of ${mark.points.length}${follows ? `, follows the ${landmarkWords(follows)}` : ""}`;
    const at = editor.chosenAt();
    for (const [axis, field] of [parts.x, parts.y].entries()) {
      field.disabled = !at;
      if (document.activeElement !== field || !at) field.value = at ? String(Math.round(at[axis] * 100) / 100) : "";
    }
    this.desk.querySelector("[data-do=confirm]").hidden = row?.state !== "suggested";
    if (!mark) return;
    if (document.activeElement !== parts.text) parts.text.value = mark.text ?? "";
    const press = (name, on) => this.desk.querySelector(`[data-do="${name}"]`).setAttribute("aria-pressed", String(on));
    for (const tone of [1, 2, 3]) press(`tone-${tone}`, (mark.tone ?? 1) === tone);
    press("value", Boolean(mark.value));
    press("hide", mark.shown === false);
  }

  list() {
    const { editor, parts } = this;
    const { doc, chosen } = editor;
    const key = JSON.stringify([doc.marks.map((mark) => [mark.id, mark.kind, mark.text, mark.shown]), Object.entries(doc.landmarks).map(([name, row]) => [name, row.state]), chosen?.mark, chosen?.landmark]);
    if (key === this.listed) return;
    this.listed = key;
    const focused = document.activeElement?.dataset?.row;
    const button = (text, row, pressed, act = "") => {
      const made = document.createElement("button");
      Object.assign(made, { type: "button", className: "plain", textContent: text });
      made.dataset.row = row;
      if (act) { made.dataset.act = act; made.setAttribute("aria-label", `${text} ${landmarkWords(row)}`); } else made.setAttribute("aria-pressed", String(pressed));
      return made;
    };
    const row = (...children) => { const made = document.createElement("li"); made.append(...children); return made; };
    parts.marks.replaceChildren(...doc.marks.map((mark) => {
      const name = `${editor.tools.get(mark.kind).name}${mark.text ? ` “${mark.text}”` : ""}`;
      return row(button(name, mark.id, chosen?.mark === mark.id), mark.shown === false ? " hidden" : "");
    }));
    parts.landmarks.replaceChildren(...Object.entries(doc.landmarks).map(([name, one]) => {
      const first = button(landmarkWords(name), name, chosen?.landmark === name);
      if (one.state !== "suggested") return row(first);
      const state = document.createElement("span");
      state.className = "near small";
      state.textContent = "▲ suggested";
      return row(first, state, button("confirm", name, false, "confirm"), button("refuse", name, false, "refuse"));
    }));
    parts["no-marks"].hidden = doc.marks.length > 0;
    parts["no-landmarks"].hidden = Object.keys(doc.landmarks).length > 0;
    if (focused) this.desk.querySelector(`[data-row="${CSS.escape(focused)}"]`)?.focus();
  }
}
