// The loupe: a part of the picture three times enlarged, beside the finger that hides it or the key that moves a point.
"use strict";
(() => {
  const ACROSS = 144; // CSS pixels
  const POWER = 3;

  class Loupe {
    // canvas: its own, above the picture. shape: the picture's width and height in square pixels.
    constructor(canvas, shape) {
      this.canvas = canvas;
      this.shape = shape;
    }

    // picture: an image or a video. at: what to look at, in square pixels. scale: CSS pixels of the screen to one of them.
    // screen: where that lies within an area of the size `within`, CSS pixels; origin: where the area begins.
    show({ picture, at, scale, screen, within, origin = [0, 0] }) {
      this.enlarge(picture, at, ACROSS / POWER / scale);
      this.hairs();
      const kept = (x, room) => Math.max(4, Math.min(room - ACROSS - 4, x));
      const above = screen[1] - ACROSS - 36;
      const side = screen[0] > within[0] / 2 ? screen[0] - ACROSS - 40 : screen[0] + 40;
      const [left, top] = above >= -ACROSS / 3 ? [kept(screen[0] - ACROSS / 2, within[0]), above] : [kept(side, within[0]), 4];
      this.canvas.style.transform = `translate(${left + origin[0]}px, ${top + origin[1]}px)`;
      this.canvas.hidden = false;
    }

    hide() { this.canvas.hidden = true; }

    enlarge(picture, at, seen) {
      const pen = this.canvas.getContext("2d"), [w, h] = [this.canvas.width, this.canvas.height];
      pen.fillStyle = "#26292a";
      pen.fillRect(0, 0, w, h);
      const there = picture instanceof HTMLVideoElement ? picture.readyState > 1 && picture.videoWidth : picture instanceof HTMLImageElement && picture.complete && picture.naturalWidth;
      if (!there) return;
      const real = there / this.shape[0];
      pen.imageSmoothingEnabled = seen > 40;
      pen.drawImage(picture, (at[0] - seen / 2) * real, (at[1] - seen / 2) * real, seen * real, seen * real, 0, 0, w, h);
    }

    hairs() {
      const pen = this.canvas.getContext("2d"), [w, h] = [this.canvas.width, this.canvas.height];
      for (const [width, colour] of [[5, "#000"], [2, "#fff"]]) {
        pen.lineWidth = width;
        pen.strokeStyle = colour;
        pen.beginPath();
        pen.moveTo(0, h / 2); pen.lineTo(w / 2 - 10, h / 2); pen.moveTo(w / 2 + 10, h / 2); pen.lineTo(w, h / 2);
        pen.moveTo(w / 2, 0); pen.lineTo(w / 2, h / 2 - 10); pen.moveTo(w / 2, h / 2 + 10); pen.lineTo(w / 2, h);
        pen.stroke();
      }
    }
  }

  window.Stancewright = Object.assign(window.Stancewright || {}, { Loupe });
})();
