// Shows exactly the frame asked for, of a video whose frames lie on an even grid.
//
// Frame n is sought in its middle, at (n + 1/2) / rate, and counts as shown only when the browser
// itself says (requestVideoFrameCallback) that the picture it has put up begins at n / rate. Steps
// asked for while one is under way are taken together, so the picture and the number beside it
// always belong together.
"use strict";
(() => {
  const TRIES = 6;
  const PATIENCE = 1500; // ms without a picture before the seek is tried once more
  const LONGEST_WAIT = 30000; // ms for a seek whose bytes are slow to come
  const NUDGES = [0.5, 0.5, 0.35, 0.65, 0.25, 0.75];
  const REVERSE_TICK = 40; // ms between steps backwards

  class FramePlayer extends EventTarget {
    // data: {rate_num, rate_den, frame_count, drop}
    constructor(video, data) {
      super();
      this.video = video;
      this.num = data.rate_num;
      this.den = data.rate_den;
      this.count = data.frame_count;
      this.drop = data.drop;
      this.shown = null; // the frame the browser says is on screen; null while not known
      this.wanted = 0;
      this.busy = null; // promise of the seek under way
      this.speed = 1;
      this.direction = 0;
      this.range = null; // [in, out) to loop over
      this.verifies = "requestVideoFrameCallback" in HTMLVideoElement.prototype;
      video.controls = false;
      video.disablePictureInPicture = true;
      video.addEventListener("ended", () => this.direction > 0 && this._atEnd());
    }

    get rate() { return this.num / this.den; }

    timeOf(frame, share = 0.5) { return ((frame + share) * this.den) / this.num; }

    // The frame that begins at a presentation time; a quarter of a frame is far more than rounding makes.
    frameAt(mediaTime) { return this._held(Math.floor((mediaTime * this.num) / this.den + 0.25)); }

    _held(frame) { return Math.max(0, Math.min(this.count - 1, frame)); }

    // Show a frame; resolves with the number of the frame that is really on screen.
    async show(frame) {
      this._halt();
      return this._show(frame);
    }

    _show(frame) {
      this.wanted = this._held(Math.round(frame));
      if (!this.busy) {
        this.busy = this._chase().finally(() => { this.busy = null; });
      }
      return this.busy;
    }

    // A step counts from the frame last asked for, so that quick presses add up.
    step(by) {
      const from = this.busy || this.direction === 0 ? this.wanted : this.shown ?? this.wanted;
      return this.show(from + by);
    }

    async _chase() {
      await this._loaded();
      while (this.shown !== this.wanted) {
        const target = this.wanted;
        let found = null;
        for (let attempt = 0; attempt < TRIES && found !== target && this.wanted === target; attempt += 1) {
          this._tell(null);
          found = await this._seekOnce(this.timeOf(target, NUDGES[attempt]));
        }
        if (this.wanted !== target) continue;
        this._tell(found);
        if (found !== target) break;
      }
      return this.shown;
    }

    _loaded() {
      if (this.video.readyState >= 1) return Promise.resolve();
      return new Promise((resolve) => this.video.addEventListener("loadedmetadata", resolve, { once: true }));
    }

    // Seek, then wait until the seek has ended and the browser has told of a picture.
    _seekOnce(time) {
      const video = this.video;
      return new Promise((resolve) => {
        let told = null, sought = false, handle = 0, timer = 0;
        const done = (frame) => {
          clearTimeout(timer);
          if (handle) video.cancelVideoFrameCallback(handle);
          video.removeEventListener("seeked", onSeeked);
          resolve(frame);
        };
        const look = (now, meta) => {
          handle = 0;
          told = this.frameAt(meta.mediaTime);
          if (sought && !video.seeking) done(told);
          else handle = video.requestVideoFrameCallback(look);
        };
        const onSeeked = () => {
          sought = true;
          if (!this.verifies) done(this.frameAt(video.currentTime - 0.25 / this.rate));
          else if (told !== null && told === this.frameAt(time - 0.5 / this.rate)) done(told);
        };
        video.addEventListener("seeked", onSeeked);
        if (this.verifies) handle = video.requestVideoFrameCallback(look);
        // While the bytes are still on their way nothing is gained by asking again.
        const began = performance.now();
        const overdue = () => {
          if (video.seeking && performance.now() - began < LONGEST_WAIT) timer = setTimeout(overdue, PATIENCE);
          else done(told);
        };
        timer = setTimeout(overdue, PATIENCE);
        // A seek to the very place where the picture already stands would tell of nothing new.
        video.currentTime = Math.abs(video.currentTime - time) < 1e-6 ? time + 0.05 / this.rate : time;
      });
    }

    _tell(frame) {
      if (this.shown === frame) return;
      this.shown = frame;
      this.dispatchEvent(new Event("frame"));
    }

    // --- playing -----------------------------------------------------------------------------

    async play(speed = this.speed) {
      if (this.busy) await this.busy;
      this._clearReverse();
      this.direction = 1;
      this.speed = speed;
      if (this.range && !(this.shown >= this.range[0] && this.shown < this.range[1] - 1)) await this._show(this.range[0]);
      else if (this.shown === this.count - 1) await this._show(0);
      if (this.direction !== 1) return;
      this.video.playbackRate = speed;
      this._watch();
      try { await this.video.play(); } catch { this.direction = 0; }
      this.dispatchEvent(new Event("state"));
    }

    _watch() {
      if (this.watching) return;
      this.watching = true;
      const look = (now, meta) => {
        if (this.direction !== 1) { this.watching = false; return; }
        const frame = meta ? this.frameAt(meta.mediaTime) : this.frameAt(this.video.currentTime - 0.25 / this.rate);
        this.wanted = frame;
        this._tell(frame);
        if (this.range && frame >= this.range[1] - 1) { this.watching = false; this._again(); return; }
        next();
      };
      const next = () => (this.verifies ? this.video.requestVideoFrameCallback(look) : requestAnimationFrame(() => look()));
      next();
    }

    async _again() {
      this.video.pause();
      await this._show(this.range ? this.range[0] : 0);
      if (this.direction === 1) this.play(this.speed);
    }

    _atEnd() {
      if (this.range) this._again();
      else { this.direction = 0; this.watching = false; this._show(this.count - 1); this.dispatchEvent(new Event("state")); }
    }

    reverse(speed = this.speed) {
      this._halt();
      this.direction = -1;
      this.speed = speed;
      const from = this.shown ?? this.wanted, began = performance.now();
      const top = this.range ? this.range[1] - 1 : this.count - 1, bottom = this.range ? this.range[0] : 0;
      this.ticking = setInterval(() => {
        const back = Math.floor(((performance.now() - began) / 1000) * this.rate * speed);
        const frame = from - back;
        if (frame > bottom) this._show(frame);
        else if (this.range) { this.reverseFrom(top, speed); }
        else { this._halt(); this._show(0); }
      }, REVERSE_TICK);
      this.dispatchEvent(new Event("state"));
    }

    async reverseFrom(frame, speed) {
      this._clearReverse();
      await this._show(frame);
      if (this.direction === -1) this.reverse(speed);
    }

    // Stop on the frame that is on screen, and make sure of it.
    async stop() {
      const was = this.direction;
      this._halt();
      // The clock can lag behind the picture that was told last: never step back from what was seen.
      if (was > 0) this.wanted = Math.max(this.shown ?? 0, this.frameAt(this.video.currentTime - 0.25 / this.rate));
      if (was > 0) this.shown = null;
      return this._show(this.wanted);
    }

    _clearReverse() { clearInterval(this.ticking); this.ticking = 0; }

    _halt() {
      this._clearReverse();
      if (!this.video.paused) this.video.pause();
      const moved = this.direction !== 0;
      this.direction = 0;
      this.watching = false;
      if (moved) this.dispatchEvent(new Event("state"));
    }

    // --- labels (SMPTE ST 12-1; the same rule as the server's) --------------------------------

    label(frame) { return label(frame, this.num, this.den, this.drop); }

    seconds(frame) { return ((frame * this.den) / this.num).toFixed(3); }

    // A frame number, a timecode or seconds with an s; null when it is none of them.
    read(text) {
      const typed = text.trim();
      if (/^\d{1,9}$/.test(typed)) return Number(typed);
      const seconds = /^(\d{1,7}(?:[.,]\d{1,9})?)\s*s$/.exec(typed);
      if (seconds) return Math.floor((Number(seconds[1].replace(",", ".")) * this.num) / this.den + 1e-6);
      return unlabel(typed, this.num, this.den);
    }
  }

  const base = (num, den) => Math.ceil(num / den);
  const two = (number, width = 2) => String(number).padStart(width, "0");

  function label(frame, num, den, drop) {
    const nominal = base(num, den), skip = nominal / 15;
    let count = frame;
    if (drop) {
      const perMinute = nominal * 60 - skip, perTen = nominal * 600 - 9 * skip;
      const tens = Math.floor(frame / perTen), rest = frame % perTen;
      count += 9 * skip * tens + (rest < skip ? 0 : skip * Math.floor((rest - skip) / perMinute));
    }
    const seconds = Math.floor(count / nominal), minutes = Math.floor(seconds / 60);
    const width = Math.max(2, String(nominal - 1).length);
    return `${two(Math.floor(minutes / 60) % 24)}:${two(minutes % 60)}:${two(seconds % 60)}${drop ? ";" : ":"}${two(count % nominal, width)}`;
  }

  function unlabel(text, num, den) {
    const parts = /^(\d{1,2}):(\d{2}):(\d{2})([:;])(\d{2,3})$/.exec(text);
    if (!parts) return null;
    const nominal = base(num, den), skip = nominal / 15, drop = parts[4] === ";";
    const [hh, mm, ss, ff] = [1, 2, 3, 5].map((place) => Number(parts[place]));
    const dropRate = den === 1001 && (num === 30000 || num === 60000);
    if (hh > 23 || mm > 59 || ss > 59 || ff >= nominal || (drop && !dropRate)) return null;
    const frame = (hh * 3600 + mm * 60 + ss) * nominal + ff;
    if (!drop) return frame;
    if (ss === 0 && ff < skip && mm % 10) return null;
    const minutes = hh * 60 + mm;
    return frame - skip * (minutes - Math.floor(minutes / 10));
  }

  // The player of a part of the page, with its readout kept up to date.
  function playerOf(box) {
    const key = box.dataset.player;
    const data = JSON.parse(document.getElementById(`player-data-${key}`).textContent);
    const player = new FramePlayer(box.querySelector("video"), data);
    player.data = data;
    const put = (name, text) => { const place = box.querySelector(`[data-${name}]`); if (place) place.textContent = text; };
    const unsure = box.querySelector("[data-unsure]");
    let late = 0;
    player.addEventListener("frame", () => {
      clearTimeout(late);
      if (player.shown === null) { late = setTimeout(() => { unsure.hidden = false; }, 400); return; }
      unsure.hidden = true;
      put("timecode-now", player.label(player.shown));
      put("frame-now", player.shown);
      put("seconds-now", `${player.seconds(player.shown)} s`);
    });
    const state = () => put("speed-now", player.direction === 0 ? "" : `${player.direction < 0 ? "backwards " : ""}${player.speed === 1 ? "" : `× ${player.speed}`}`);
    player.addEventListener("state", state);
    return player;
  }

  // Is this key meant for the page, or for what is being typed or pressed?
  function forPage(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return false;
    const at = event.target;
    if (at.closest("input:not([type=radio]), textarea, select, [contenteditable]")) return false;
    return !((event.key === "Enter" || event.key === " ") && at.closest("a, button, summary"));
  }

  window.Stancewright = Object.assign(window.Stancewright || {}, { FramePlayer, playerOf, forPage });
})();
