// The source page: keys, commands, marks and the strip of the whole length.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const { playerOf, forPage } = window.Stancewright;
  const box = document.querySelector("[data-player]");
  if (!box) return;
  const player = playerOf(box);
  window.player = player;
  const desk = box.closest(".desk");
  const said = desk.querySelector("[data-said]");
  const jump = document.getElementById("jump");
  const fields = () => ({ in: document.getElementById("id_in_frame"), out: document.getElementById("id_out_frame") });
  const marks = { in: null, out: null };
  desk.querySelector("[data-commands]").hidden = false;

  const say = (text) => { said.textContent = text; said.hidden = !text; };

  // --- the strip ------------------------------------------------------------------------------
  const length = desk.querySelector("[data-length]");
  const playhead = length.querySelector("[data-playhead]");
  const marked = length.querySelector("[data-marked]");
  player.addEventListener("frame", () => {
    if (player.shown === null) return;
    for (const end of ["x1", "x2"]) playhead.setAttribute(end, player.shown + 0.5);
  });
  const frameUnder = (event) => {
    const area = length.querySelector("svg").getBoundingClientRect();
    return Math.floor(((event.clientX - area.left) / area.width) * player.count);
  };
  const scrub = length.querySelector("svg");
  scrub.addEventListener("pointerdown", (event) => { scrub.setPointerCapture(event.pointerId); player.show(frameUnder(event)); });
  scrub.addEventListener("pointermove", (event) => { if (event.buttons & 1) player.show(frameUnder(event)); });

  // --- in and out -----------------------------------------------------------------------------
  function drawMarks() {
    const { in: a, out: b } = marks;
    const whole = a !== null && b !== null && b > a;
    marked.setAttribute("x", a ?? (b === null ? 0 : b - 1));
    marked.setAttribute("width", whole ? b - a : a !== null || b !== null ? 1 : 0);
    const told = document.getElementById("marked-length");
    if (told) told.textContent = whole ? `${b - a} frames, ${player.seconds(b - a)} s` : "";
    player.range = player.looping && whole ? [a, b] : null;
    const bad = a !== null && b !== null && b <= a;
    say(bad ? `The out point (frame ${b}) must come after the in point (frame ${a}); move one of them.` : "");
  }
  function mark(side, frame) {
    marks[side] = frame;
    const field = fields()[side];
    if (field) field.value = player.label(frame);
    drawMarks();
  }
  function readFields() {
    for (const side of ["in", "out"]) {
      const text = fields()[side]?.value ?? "";
      const frame = text.trim() ? player.read(text) : null;
      marks[side] = frame !== null && frame <= player.count ? frame : null;
    }
    drawMarks();
  }
  document.addEventListener("change", (event) => { if (event.target.matches("#id_in_frame, #id_out_frame")) readFields(); });

  function make() {
    const form = document.getElementById("new-excerpt");
    if (marks.in === null || marks.out === null) {
      say("Mark an in point (I) and an out point (O) first.");
      return;
    }
    if (marks.in < marks.out) form.requestSubmit();
  }

  // --- commands -------------------------------------------------------------------------------
  const here = () => player.shown ?? player.wanted;
  const faster = (direction) => {
    const going = player.direction === direction;
    const next = going ? Math.min(player.speed * 2, 8) : Math.min(player.speed, 1);
    return direction > 0 ? player.play(next) : player.reverse(next);
  };
  const setSpeed = (speed) => {
    player.speed = speed;
    if (player.direction > 0) player.video.playbackRate = speed;
    if (player.direction < 0) player.reverse(speed);
    for (const [name, value] of [["speed-4", 0.25], ["speed-2", 0.5], ["speed-1", 1]]) press(name, value === speed);
  };
  const press = (name, on) => desk.querySelector(`[data-do="${name}"]`)?.setAttribute("aria-pressed", String(on));
  const commands = {
    reverse: () => faster(-1),
    stop: () => player.stop(),
    play: () => faster(1),
    toggle: () => (player.direction ? player.stop() : player.play(Math.min(player.speed, 1))),
    loop: () => {
      player.looping = !player.looping;
      press("loop", player.looping);
      drawMarks();
      if (player.looping && !player.range) say("Mark an in point and an out point; the loop runs between them.");
    },
    "speed-4": () => setSpeed(0.25),
    "speed-2": () => setSpeed(0.5),
    "speed-1": () => setSpeed(1),
    back: () => player.step(-1),
    on: () => player.step(1),
    "back-10": () => player.step(-10),
    "on-10": () => player.step(10),
    first: () => player.show(0),
    last: () => player.show(player.count - 1),
    in: () => mark("in", here()),
    // The frame on screen is the last one shown, so the out point is the one after it.
    out: () => mark("out", here() + 1),
    make,
    sync: async () => {
      const form = document.getElementById("sync");
      if (!form) return;
      form.elements.frame.value = await player.stop();
      form.requestSubmit();
    },
    keep: async () => {
      const form = document.getElementById("keep-still");
      form.elements.frame.value = await player.stop();
      form.requestSubmit();
    },
    sound: () => { player.video.muted = !player.video.muted; press("sound", !player.video.muted); },
    jump: () => { jump.focus(); jump.select(); },
  };
  const keys = {
    j: "reverse", k: "stop", l: "play", " ": "toggle", "/": "loop", 1: "speed-1", 2: "speed-2", 4: "speed-4", i: "in", o: "out",
    e: "make", Enter: "make", y: "sync", m: "sound", s: "keep", g: "jump", Home: "first", End: "last",
  };
  document.addEventListener("keydown", (event) => {
    if (!forPage(event)) return;
    let name = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (event.key === "ArrowLeft") name = event.shiftKey ? "back-10" : "back";
    if (event.key === "ArrowRight") name = event.shiftKey ? "on-10" : "on";
    if (!name || (name === "sync" && !document.getElementById("sync"))) return;
    event.preventDefault();
    if (event.repeat && !name.startsWith("back") && !name.startsWith("on")) return;
    commands[name]();
  });
  desk.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do]");
    if (button) commands[button.dataset.do]();
  });
  desk.querySelector("[data-jump]").addEventListener("submit", (event) => {
    event.preventDefault();
    const error = document.getElementById("jump-error");
    const frame = player.read(jump.value);
    error.textContent = "";
    if (frame === null) error.textContent = "Write a frame number, a timecode (hh:mm:ss:ff) or seconds with an s.";
    else if (frame >= player.count) error.textContent = `Frame ${frame} lies past the end: the last one is ${player.count - 1}.`;
    else { player.show(frame); jump.blur(); }
  });

  // --- excerpts -------------------------------------------------------------------------------
  document.addEventListener("click", (event) => {
    const link = event.target.closest("[data-go]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    mark("in", Number(link.dataset.go));
    mark("out", Number(link.dataset.out));
    player.show(Number(link.dataset.go));
    desk.scrollIntoView({ block: "nearest" });
  });
  function drawExcerpts() {
    const rows = JSON.parse(document.getElementById("excerpt-data").textContent);
    const group = length.querySelector("[data-excerpt-marks]");
    group.replaceChildren(...rows.map((row) => {
      const rect = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      for (const [name, value] of [["class", "excerpt-mark"], ["x", row.in], ["y", 4], ["width", row.out - row.in], ["height", 14]]) rect.setAttribute(name, value);
      const title = document.createElementNS("http://www.w3.org/2000/svg", "title");
      title.textContent = row.name;
      rect.append(title);
      return rect;
    }));
  }
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (!document.getElementById("excerpt-data") || event.detail.target.id !== "excerpts") return;
    drawExcerpts();
    readFields();
  });

  readFields();
  player.video.addEventListener("error", () => say("The picture can't be loaded; load the page again, and if that does not help, look at the footage's own page for its state."));
  const first = Number(jump.value) || 0;
  jump.value = "";
  player.show(first);
});
