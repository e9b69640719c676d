// The landmarks over the picture: drawn, dragged and placed, in pixels of the footage.
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const make = (tag, attributes) => {
    const node = document.createElementNS(SVG, tag);
    for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
    return node;
  };

  // on: {place(x, y), drag(name, x, y), dropped(name, x, y), choose(name), boxed(box)}
  class TrackPicture {
    constructor(video, data, on) {
      this.video = video;
      this.data = data;
      this.on = on;
      this.size = [data.size[0] * data.stretch[0], data.size[1] * data.stretch[1]];
      this.svg = make("svg", { class: "track-overlay", viewBox: `0 0 ${this.size[0]} ${this.size[1]}`, tabindex: 0, role: "application" });
      const canvas = Object.assign(document.createElement("canvas"), { className: "loupe", width: 288, height: 288, hidden: true });
      canvas.setAttribute("aria-hidden", "true");
      video.parentElement.append(this.svg, canvas);
      this.loupe = new window.Stancewright.Loupe(canvas, this.size);
      this.boxing = false;
      this.box = null;
      new ResizeObserver(() => this.fit()).observe(video);
      video.addEventListener("loadedmetadata", () => this.fit());
      this.svg.addEventListener("pointerdown", (event) => this.down(event));
      this.svg.addEventListener("pointermove", (event) => this.move(event));
      this.svg.addEventListener("pointerup", (event) => this.up(event));
      this.svg.addEventListener("pointercancel", () => { this.held = null; this.loupe.hide(); });
      this.svg.addEventListener("blur", () => this.loupe.hide());
      this.fit();
    }

    // The part of the video's area that its picture fills.
    fit() {
      const area = this.video.getBoundingClientRect(), home = this.video.parentElement.getBoundingClientRect();
      const scale = Math.min(area.width / this.size[0], area.height / this.size[1]) || 1;
      const [width, height] = [this.size[0] * scale, this.size[1] * scale];
      this.scale = scale;
      this.svg.style.left = `${area.left - home.left + (area.width - width) / 2}px`;
      this.svg.style.top = `${area.top - home.top + (area.height - height) / 2}px`;
      this.svg.style.width = `${width}px`;
      this.svg.style.height = `${height}px`;
      this.draw();
    }

    // From the screen to pixels of the footage.
    at(event) {
      const area = this.svg.getBoundingClientRect();
      return [((event.clientX - area.left) / area.width) * this.data.size[0], ((event.clientY - area.top) / area.height) * this.data.size[1]];
    }

    down(event) {
      if (event.button) return;
      const [x, y] = this.at(event);
      this.svg.setPointerCapture(event.pointerId);
      const name = event.target.dataset?.name;
      if (this.boxing) this.held = { box: [x, y] };
      else if (name) { this.held = { name, from: [x, y] }; this.on.choose(name); }
      else this.held = { place: true };
      if (!this.boxing) this.magnify([x, y]);
    }

    move(event) {
      if (!this.held) return;
      const [x, y] = this.at(event);
      if (this.held.box) this.showBox(this.held.box, [x, y]);
      else if (this.held.name) { this.held.moved = true; this.on.drag(this.held.name, x, y); }
      if (!this.held.box) this.magnify([x, y]);
    }

    up(event) {
      const held = this.held, [x, y] = this.at(event);
      this.held = null;
      this.loupe.hide();
      if (!held) return;
      if (held.box) { this.showBox(held.box, [x, y]); this.on.boxed(this.box); }
      else if (held.name) { if (held.moved) this.on.dropped(held.name, x, y); }
      else this.on.place(x, y);
    }

    // at: pixels of the footage. The loupe stays over the picture, which may be narrower than what it lies in.
    magnify(at) {
      const [x, y] = [at[0] * this.data.stretch[0], at[1] * this.data.stretch[1]];
      const origin = [parseFloat(this.svg.style.left), parseFloat(this.svg.style.top)];
      this.loupe.show({ picture: this.video, at: [x, y], scale: this.scale, screen: [x * this.scale, y * this.scale], within: [this.size[0] * this.scale, this.size[1] * this.scale], origin });
    }

    showBox(one, other) {
      const [x, y] = [Math.min(one[0], other[0]), Math.min(one[1], other[1])];
      const [width, height] = [Math.abs(one[0] - other[0]), Math.abs(one[1] - other[1])];
      this.box = width > 4 && height > 4 ? { x, y, width, height } : null;
      this.draw();
    }

    show(points, chosen, said) {
      this.points = points;
      this.chosen = chosen;
      this.svg.setAttribute("aria-label", said);
      this.draw();
    }

    draw() {
      if (!this.points) return;
      const parts = [], unit = 1 / (this.scale || 1), [sx, sy] = this.data.stretch;
      const place = (point) => `${point[0] * sx} ${point[1] * sy}`;
      for (const [a, b, tone] of this.data.lines) {
        const [one, other] = [this.points[a], this.points[b]];
        if (!one || !other) continue;
        const d = `M${place(one)}L${place(other)}`;
        parts.push(make("path", { class: "bone-case", d }), make("path", { class: `bone t${tone}`, d }));
      }
      for (const [name, point] of Object.entries(this.points)) {
        const state = point[2] === "suggested" && point[3] < 0.5 ? "suggested unsure" : point[2];
        const spot = make("circle", { class: `spot ${state}`, cx: point[0] * sx, cy: point[1] * sy, r: 5.5 * unit, "data-name": name });
        const title = make("title", {});
        title.textContent = `${name.replaceAll("_", " ")}, ${point[2]}`;
        spot.append(title);
        parts.push(spot);
      }
      const chosen = this.points[this.chosen];
      if (chosen) for (const kind of ["case", "ring"]) parts.push(make("circle", { class: `spot chosen-${kind}`, cx: chosen[0] * sx, cy: chosen[1] * sy, r: 10 * unit }));
      if (this.box) parts.push(make("rect", { class: "box-drawn", x: this.box.x * sx, y: this.box.y * sy, width: this.box.width * sx, height: this.box.height * sy }));
      this.svg.replaceChildren(...parts);
    }
  }

  window.Stancewright = Object.assign(window.Stancewright || {}, { TrackPicture });
})();
