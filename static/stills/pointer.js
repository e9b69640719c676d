// Mouse, pen and finger on the picture: setting and dragging points, moving the enlarged picture, pinching.
import { choices, distanceToLine, linesOf } from "./marks.js";

const MOVED = 7; // CSS pixels from which a press is a drag
const HOLD = { mouse: 9, pen: 12, touch: 22 }; // CSS pixels within which a point or line is taken hold of
const STROKE = 3; // CSS pixels between the points of a freehand line

export function usePointer(editor, stage, { onBox, refuse }) {
  const { box } = stage;
  const fingers = new Map();
  let gesture = null, pinch = null;

  const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const coarse = (event) => event.pointerType !== "mouse";

  function pointUnder(screen, reach) {
    let best = null;
    for (const one of choices(editor.doc)) {
      const distance = apart(stage.toScreen(one.at), screen) - (one.mark && one.mark === editor.chosen?.mark ? 2 : 0);
      if (distance <= reach && (!best || distance < best.distance)) best = { distance, one };
    }
    return best && (best.one.landmark ? { landmark: best.one.landmark } : { mark: best.one.mark, index: best.one.index });
  }
  function markUnder(screen, reach) {
    for (const mark of [...editor.doc.marks].reverse()) {
      if (mark.shown === false) continue;
      const places = editor.places(mark).map((at) => stage.toScreen(at));
      const lines = ["angle", "turn", "polyline", "freehand"].includes(mark.kind) ? linesOf("polyline", places) : linesOf(mark.kind, places);
      if (lines.some(([a, b]) => distanceToLine(screen, a, b) <= reach)) return mark;
    }
    return null;
  }

  function take(event, screen, at) {
    const reach = HOLD[event.pointerType] ?? HOLD.mouse;
    const point = pointUnder(screen, reach);
    if (point) {
      editor.choose(point);
      return { kind: "point", from: screen, offset: [editor.chosenAt()[0] - at[0], editor.chosenAt()[1] - at[1]], began: false };
    }
    const mark = markUnder(screen, reach);
    if (mark) {
      editor.choose({ mark: mark.id, index: -1 });
      return { kind: "mark", from: screen, last: at, began: false };
    }
    if (editor.chosen) editor.choose(null);
    return { kind: "pan", from: screen, last: screen };
  }

  function start(event) {
    const screen = stage.screenOf(event), at = stage.toSource(screen);
    if (event.button === 1) return { kind: "pan", from: screen, last: screen };
    if (editor.elsewhere) { refuse(); return null; }
    editor.cursor = null;
    if (!editor.tool) return take(event, screen, at);
    if (editor.tool === "freehand") { editor.pending = []; return { kind: "stroke", from: screen, last: screen, first: at }; }
    if (editor.tool === "box") { editor.box = [at, at]; return { kind: "box", from: screen, first: at }; }
    return { kind: "put", from: screen, first: at, count: editor.pending.length };
  }

  function go(event) {
    const screen = stage.screenOf(event), at = stage.toSource(screen);
    const far = apart(screen, gesture.from) > (gesture.began ? 0 : coarse(event) ? MOVED : 2);
    if (gesture.kind === "pan") { stage.move([screen[0] - gesture.last[0], screen[1] - gesture.last[1]]); gesture.last = screen; return; }
    if (gesture.kind === "box") { editor.box = [gesture.first, at]; editor.paint(); return; }
    if (gesture.kind === "put") {
      // A mouse pressed at one end and let go at the other draws both points.
      if (!coarse(event) && !gesture.drags && apart(screen, gesture.from) > MOVED && editor.tool !== "landmark") {
        gesture.drags = true;
        editor.put(gesture.first, event.altKey);
      }
      editor.over = at;
      editor.paint();
    } else if (gesture.kind === "stroke") {
      if (apart(screen, gesture.last) < STROKE && editor.pending.length) return;
      if (!editor.pending.length) editor.pending.push({ at: gesture.first.map((value) => Math.round(value * 10) / 10) });
      if (editor.pending.length < 2000) editor.pending.push({ at: at.map((value) => Math.round(value * 10) / 10) });
      gesture.last = screen;
      editor.paint();
    } else if (far && gesture.kind === "point") {
      editor.moveChosen([at[0] + gesture.offset[0], at[1] + gesture.offset[1]], gesture.began, !event.altKey);
      gesture.began = true;
    } else if (far && gesture.kind === "mark") {
      editor.moveMark([at[0] - gesture.last[0], at[1] - gesture.last[1]], gesture.began);
      gesture.last = at;
      gesture.began = true;
    }
    if (coarse(event) && gesture.kind !== "mark") stage.magnify(gesture.kind === "point" ? editor.chosenAt() : at);
  }

  function end(event) {
    const at = stage.at(event);
    if (gesture.kind === "put") {
      editor.over = at;
      editor.put(at, event.altKey);
      if (coarse(event)) editor.over = null;
      editor.paint();
    } else if (gesture.kind === "stroke") {
      editor.finish();
    } else if (gesture.kind === "box") {
      const area = editor.box;
      editor.box = null;
      onBox(apart(stage.toScreen(area[0]), stage.toScreen(area[1])) > MOVED ? area : null);
    }
  }

  function quit() {
    if (gesture?.kind === "stroke") editor.pending = [];
    if (gesture?.kind === "box") editor.box = null;
    gesture = null;
    stage.magnify(null);
    editor.paint();
  }

  const middle = () => { const [a, b] = [...fingers.values()]; return { at: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], apart: apart(a, b) }; };

  box.addEventListener("pointerdown", (event) => {
    if (event.button > 1) return;
    box.focus({ preventScroll: true });
    if (event.pointerType === "touch") {
      fingers.set(event.pointerId, stage.screenOf(event));
      if (fingers.size === 2) { quit(); pinch = middle(); return; }
      if (fingers.size > 2) return;
    }
    gesture = start(event);
    if (!gesture) return;
    try { box.setPointerCapture(event.pointerId); } catch { /* the finger has left already */ }
    if (coarse(event) && (editor.tool || gesture.kind === "point")) stage.magnify(gesture.kind === "point" ? editor.chosenAt() : stage.at(event));
    if (event.pointerType === "mouse") event.preventDefault();
    if (gesture.kind === "put") { editor.over = stage.at(event); editor.paint(); }
  });
  box.addEventListener("pointermove", (event) => {
    if (fingers.has(event.pointerId)) fingers.set(event.pointerId, stage.screenOf(event));
    if (pinch && fingers.size === 2) {
      const now = middle();
      stage.zoomTo(stage.zoom * (now.apart / Math.max(1, pinch.apart)), stage.toSource(pinch.at));
      stage.move([now.at[0] - pinch.at[0], now.at[1] - pinch.at[1]]);
      pinch = now;
      return;
    }
    if (gesture) { go(event); return; }
    if (editor.tool && event.pointerType === "mouse" && !editor.elsewhere) { editor.over = stage.at(event); editor.cursor = null; editor.paint(); }
  });
  box.addEventListener("pointerup", (event) => {
    fingers.delete(event.pointerId);
    if (fingers.size < 2) pinch = null;
    if (!gesture) return;
    end(event);
    gesture = null;
    stage.magnify(null);
  });
  box.addEventListener("pointercancel", (event) => { fingers.delete(event.pointerId); pinch = null; quit(); });
  box.addEventListener("pointerleave", () => { if (!gesture && editor.over) { editor.over = null; editor.paint(); } });
  box.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && stage.zoom === 1 && !event.altKey) return;
    event.preventDefault();
    if (event.ctrlKey || event.altKey) stage.zoomTo(stage.zoom * Math.exp(-event.deltaY / 240), stage.at(event));
    else stage.move([-event.deltaX, -event.deltaY]);
  }, { passive: false });
  box.addEventListener("dragstart", (event) => event.preventDefault());
}
