// The picture: enlarging and moving it, from the pointer to pixels of the source, the points to take hold of, what the loupe shows.

const SVG = "http://www.w3.org/2000/svg";
const MOST = 16;

const make = (name, values, children = []) => {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(values)) node.setAttribute(key, value);
  node.append(...children);
  return node;
};

export class Stage extends EventTarget {
  // size: pixels of the source, before the pixel aspect. shape: the same with square pixels.
  constructor(desk, size, shape) {
    super();
    this.box = desk.querySelector("[data-stage]");
    this.plane = this.box.querySelector("[data-plane]");
    this.frame = this.box.querySelector("[data-frame]");
    this.overlay = this.box.querySelector("[data-overlay]");
    this.hands = this.box.querySelector("[data-hands]");
    [this.size, this.shape] = [size, shape];
    this.loupe = new window.Stancewright.Loupe(this.box.querySelector("[data-loupe]"), shape);
    this.zoom = 1;
    this.pan = [0, 0]; // CSS pixels by which the plane's top left lies away from the stage's
    new ResizeObserver(() => this.lay()).observe(this.box);
    this.lay();
  }

  get width() { return this.box.clientWidth; }

  get height() { return this.box.clientHeight; }

  // CSS pixels for one pixel of the source, across and down.
  get scale() { return [(this.width * this.zoom) / this.size[0], (this.height * this.zoom) / this.size[1]]; }

  lay() {
    const [w, h] = [this.width, this.height];
    for (const [axis, length] of [[0, w], [1, h]]) this.pan[axis] = Math.min(0, Math.max(length * (1 - this.zoom), this.pan[axis]));
    const style = this.plane.style;
    style.width = `${w * this.zoom}px`;
    style.height = `${h * this.zoom}px`;
    style.transform = `translate(${this.pan[0]}px, ${this.pan[1]}px)`;
    this.hands.setAttribute("viewBox", `0 0 ${w} ${h}`);
    this.box.classList.toggle("enlarged", this.zoom > 1);
    this.dispatchEvent(new Event("laid"));
  }

  // Enlarge about a place of the source that stays where it is on the screen.
  zoomTo(zoom, about) {
    const next = Math.max(1, Math.min(MOST, zoom));
    const at = about ?? this.toSource([this.width / 2, this.height / 2]);
    const [x, y] = this.toScreen(at);
    this.zoom = next;
    const [sx, sy] = this.scale;
    this.pan = [x - at[0] * sx, y - at[1] * sy];
    this.lay();
  }

  move(by) {
    this.pan = [this.pan[0] + by[0], this.pan[1] + by[1]];
    this.lay();
  }

  toSource([x, y]) {
    const [sx, sy] = this.scale;
    return [(x - this.pan[0]) / sx, (y - this.pan[1]) / sy];
  }

  toScreen([x, y]) {
    const [sx, sy] = this.scale;
    return [x * sx + this.pan[0], y * sy + this.pan[1]];
  }

  // Where an event lies in the stage, CSS pixels, and in the source.
  screenOf(event) {
    const area = this.box.getBoundingClientRect();
    return [event.clientX - area.left - this.box.clientLeft, event.clientY - area.top - this.box.clientTop];
  }

  at(event) { return this.toSource(this.screenOf(event)); }

  // A place moved by keys is brought into view.
  reveal(at) {
    const screen = this.toScreen(at);
    const [w, h] = [this.width, this.height];
    const by = screen.map((value, axis) => (value < 20 ? 20 - value : value > [w, h][axis] - 20 ? [w, h][axis] - 20 - value : 0));
    if (this.zoom > 1 && (by[0] || by[1])) this.move(by);
  }

  // --- the drawing and the points ---------------------------------------------------------------

  // The marks as the server draws them. It is our own server's text; it is parsed as a picture, never as a page.
  show(text) {
    const parsed = new DOMParser().parseFromString(text, "image/svg+xml");
    if (parsed.documentElement.localName !== "svg" || parsed.querySelector("parsererror, script, foreignObject")) return;
    this.overlay.replaceChildren(document.importNode(parsed.documentElement, true));
  }

  // The mark under the hand is shown by its plain preview, not twice.
  hold(id) {
    for (const group of this.overlay.querySelectorAll("[data-mark]")) group.classList.toggle("held", group.dataset.mark === id);
  }

  // points: [{at, chosen, landmark, suggested, unsure, name}]; lines: [[at, at]]; cross: at; box: [at, at]; snapped: at
  paint({ points, lines = [], cross = null, box = null, snapped = null }) {
    const parts = [];
    for (const line of lines) {
      const [[x1, y1], [x2, y2]] = line.map((at) => this.toScreen(at));
      parts.push(make("line", { x1, y1, x2, y2, class: "line-under" }), make("line", { x1, y1, x2, y2, class: "line-over" }));
    }
    if (box) {
      const [[x1, y1], [x2, y2]] = box.map((at) => this.toScreen(at));
      const values = { x: Math.min(x1, x2), y: Math.min(y1, y2), width: Math.abs(x2 - x1), height: Math.abs(y2 - y1) };
      parts.push(make("rect", { ...values, class: "line-under" }), make("rect", { ...values, class: "line-over" }));
    }
    points.forEach((point, index) => parts.push(this.hand(point, index)));
    if (snapped) {
      const [cx, cy] = this.toScreen(snapped);
      parts.push(make("circle", { cx, cy, r: 13, class: "snapped" }));
    }
    if (cross) parts.push(this.cross(cross));
    this.hands.replaceChildren(...parts);
  }

  hand(point, index) {
    const [cx, cy] = this.toScreen(point.at);
    const classes = ["hand", point.chosen && "chosen", point.quiet && "quiet", point.landmark && "landmark", point.suggested && "suggested", point.unsure && "unsure"];
    const shape = point.landmark
      ? make("rect", { x: cx - 4.5, y: cy - 4.5, width: 9, height: 9, class: "hand-dot", ...(point.suggested ? { transform: `rotate(45 ${cx} ${cy})` } : {}) })
      : make("circle", { cx, cy, r: 5.5, class: "hand-dot" });
    return make("g", { class: classes.filter(Boolean).join(" "), "data-hand": index }, [make("circle", { cx, cy, r: 15, class: "hand-area" }), shape, ...(point.chosen ? [make("circle", { cx, cy, r: 11, class: "hand-ring" })] : [])]);
  }

  cross(at) {
    const [x, y] = this.toScreen(at);
    const d = `M${x - 18} ${y}H${x - 4}M${x + 4} ${y}H${x + 18}M${x} ${y - 18}V${y - 4}M${x} ${y + 4}V${y + 18}`;
    return make("g", { class: "cross" }, [make("path", { d, class: "line-under" }), make("path", { d, class: "line-over" })]);
  }

  // A part of the picture three times enlarged beside the finger, which hides it.
  magnify(at) {
    if (!at) { this.loupe.hide(); return; }
    const across = this.shape[0] / this.size[0], down = this.shape[1] / this.size[1];
    const scale = (this.width * this.zoom) / this.shape[0];
    this.loupe.show({ picture: this.frame, at: [at[0] * across, at[1] * down], scale, screen: this.toScreen(at), within: [this.width, this.height] });
  }
}
