// The marks document and what can be done with it. Every function gives a new document and leaves the old one as it was.

export const PAIRED = ["shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "foot_index", "ear", "eye"];
export const WALK = [
  "left_shoulder", "right_shoulder", "left_elbow", "right_elbow", "left_wrist", "right_wrist", "left_hip", "right_hip",
  "left_knee", "right_knee", "left_ankle", "right_ankle", "left_heel", "right_heel", "left_foot_index", "right_foot_index",
  "nose", "left_ear", "right_ear", "left_eye", "right_eye",
];

export const landmarkWords = (name) => name.replaceAll("foot_index", "toes").replaceAll("pinky", "little finger").replaceAll("_", " ");

// Pixels of the source are kept to a hundredth.
export const rounded = (at) => at.map((value) => Math.round(value * 100) / 100);

export const freshId = (doc) => {
  const taken = new Set(doc.marks.map((mark) => mark.id));
  let id = "";
  do id = `m${Math.random().toString(36).slice(2, 9)}`; while (taken.has(id));
  return id;
};

export const markOf = (doc, id) => doc.marks.find((mark) => mark.id === id) ?? null;

// Where a point of a mark lies: its own place, or that of the landmark it follows; null when that is not there.
export const placeOf = (doc, point) => ("landmark" in point ? doc.landmarks[point.landmark]?.at ?? null : point.at);

export const withMark = (doc, mark) => {
  const there = markOf(doc, mark.id);
  return { ...doc, marks: there ? doc.marks.map((one) => (one.id === mark.id ? mark : one)) : [...doc.marks, mark] };
};

export const changed = (doc, id, values) => ({ ...doc, marks: doc.marks.map((mark) => (mark.id === id ? { ...mark, ...values } : mark)) });

export const withoutMark = (doc, id) => ({ ...doc, marks: doc.marks.filter((mark) => mark.id !== id) });

// Drawn `by` places later; at the ends nothing changes.
export function reordered(doc, id, by) {
  const from = doc.marks.findIndex((mark) => mark.id === id);
  const to = Math.max(0, Math.min(doc.marks.length - 1, from + by));
  const marks = [...doc.marks];
  marks.splice(to, 0, ...marks.splice(from, 1));
  return { ...doc, marks };
}

// One point of a mark set anew: {at} or {landmark}.
export const withPoint = (doc, id, index, point) =>
  changed(doc, id, { points: markOf(doc, id).points.map((one, place) => (place === index ? point : one)) });

// The whole mark moved; points that followed a landmark let go of it.
export function moved(doc, id, by) {
  const mark = markOf(doc, id);
  const points = mark.points.map((point) => {
    const at = placeOf(doc, point);
    return at ? { at: rounded([at[0] + by[0], at[1] + by[1]]) } : point;
  });
  return changed(doc, id, { points });
}

export const withLandmark = (doc, name, values) => ({ ...doc, landmarks: { ...doc.landmarks, [name]: { ...doc.landmarks[name], ...values } } });

// A landmark moved by hand is placed; what the model said of it no longer holds.
export function placed(doc, name, at) {
  const { visibility, depth, space, ...row } = doc.landmarks[name] ?? {};
  return { ...doc, landmarks: { ...doc.landmarks, [name]: { ...row, at: rounded(at), state: "placed" } } };
}

export function withoutLandmark(doc, name) {
  const { [name]: gone, ...landmarks } = doc.landmarks;
  if (!gone) return doc;
  const stay = (point) => (point.landmark === name ? { at: gone.at } : point);
  const made = { ...doc, landmarks, marks: doc.marks.map((mark) => ({ ...mark, points: mark.points.map(stay) })) };
  if (doc.scale) made.scale = { ...doc.scale, points: doc.scale.points.map(stay) };
  return made;
}

const suggestedNames = (doc) => Object.keys(doc.landmarks).filter((name) => doc.landmarks[name].state === "suggested");
export const suggestedCount = (doc) => suggestedNames(doc).length;
export const allConfirmed = (doc) => suggestedNames(doc).reduce((made, name) => withLandmark(made, name, { state: "confirmed" }), doc);
export const allRefused = (doc) => suggestedNames(doc).reduce(withoutLandmark, doc);

export function swapped(doc) {
  const other = (name) => (name.startsWith("left_") ? `right_${name.slice(5)}` : name.startsWith("right_") ? `left_${name.slice(6)}` : name);
  return { ...doc, landmarks: Object.fromEntries(Object.entries(doc.landmarks).map(([name, row]) => [other(name), row])) };
}

// Suggestions of the model, beside what was placed by hand, which stays. Places in space of one look at the picture don't go
// with those of another.
export function withSuggestions(doc, found) {
  const landmarks = Object.fromEntries(Object.entries(doc.landmarks).map(([name, { space, ...row }]) => [name, row]));
  for (const [name, row] of Object.entries(found)) {
    if (landmarks[name] && landmarks[name].state !== "suggested") continue;
    landmarks[name] = { at: rounded(row.at), state: "suggested" };
    if (Number.isFinite(row.visibility)) landmarks[name].visibility = Math.min(1, Math.max(0, Math.round(row.visibility * 1000) / 1000));
    if (Number.isFinite(row.depth)) landmarks[name].depth = Math.round(row.depth * 100) / 100;
    if (row.space?.every((value) => Math.abs(value) < 5)) landmarks[name].space = row.space.map((value) => Math.round(value * 10000) / 10000);
  }
  return { ...doc, landmarks };
}

export const same = (a, b) => JSON.stringify(sorted(a)) === JSON.stringify(sorted(b));
const sorted = (value) =>
  Array.isArray(value) ? value.map(sorted)
    : value && typeof value === "object" ? Object.fromEntries(Object.keys(value).sort().map((key) => [key, sorted(value[key])]))
      : value;

// What was drawn after `sent` went out, laid upon what the server made of it.
export function rebased(sent, local, told) {
  const join = (was, now, theirs) => {
    const made = {};
    for (const key of new Set([...Object.keys(theirs), ...Object.keys(now)])) {
      const untouched = same(was[key] ?? null, now[key] ?? null);
      const value = untouched ? theirs[key] : now[key];
      if (value !== undefined) made[key] = value;
    }
    return made;
  };
  const byId = (doc) => Object.fromEntries(doc.marks.map((mark) => [mark.id, mark]));
  const marks = join(byId(sent), byId(local), byId(told));
  const order = [...new Set([...told.marks, ...local.marks].map((mark) => mark.id))];
  return { ...told, ...local, landmarks: join(sent.landmarks, local.landmarks, told.landmarks), marks: order.filter((id) => marks[id]).map((id) => marks[id]) };
}

// --- the point to take hold of -----------------------------------------------------------------------

// Everything that can be chosen, in the order that Tab walks: points of marks, then landmarks.
export function choices(doc) {
  const found = [];
  for (const mark of doc.marks) {
    if (mark.shown === false) continue;
    const every = mark.kind === "freehand" ? [0, mark.points.length - 1] : mark.points.keys();
    for (const index of every) {
      const at = placeOf(doc, mark.points[index]);
      if (at) found.push({ mark: mark.id, index, at });
    }
  }
  for (const [name, row] of Object.entries(doc.landmarks)) found.push({ landmark: name, at: row.at });
  return found;
}

// What a point snaps to: landmarks first, then the points of marks. `within` in source pixels, on each axis's own scale.
export function snap(doc, at, within, except = null) {
  const near = (other) => Math.hypot((other[0] - at[0]) / within[0], (other[1] - at[1]) / within[1]);
  let best = null;
  for (const [name, row] of Object.entries(doc.landmarks)) {
    const distance = near(row.at);
    if (name !== except?.landmark && distance <= 1 && (!best || distance < best.distance)) best = { distance, point: { landmark: name }, at: row.at, name: landmarkWords(name) };
  }
  return best;
}

export function distanceToLine(at, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const length = dx * dx + dy * dy;
  const share = length ? Math.max(0, Math.min(1, ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / length)) : 0;
  return Math.hypot(at[0] - a[0] - share * dx, at[1] - a[1] - share * dy);
}

// The lines of a mark as pairs of places, for the plain preview and for taking hold of a mark by its line.
export function linesOf(kind, places) {
  const pairs = (closed) => places.slice(closed ? 0 : 1).map((at, index) => (closed ? [at, places[(index + 1) % places.length]] : [places[index], at]));
  if (kind === "pair") return [places.slice(0, 2), places.slice(2, 4)].filter((line) => line.length === 2);
  if (kind === "point" || kind === "label") return [];
  return pairs(kind === "zone" && places.length > 2);
}
