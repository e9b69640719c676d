// The track page: stepping, placing landmarks in their order, undo, and curves that follow.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const { playerOf, forPage, TrackPicture, suggestOver, pose } = window.Stancewright;
  const desk = document.querySelector("[data-track]");
  if (!desk) return;
  const data = JSON.parse(document.getElementById("track-data").textContent);
  const token = JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRFToken"];
  const one = (name) => desk.querySelector(`[data-${name}]`);
  const panel = one("panel"), said = one("said"), told = one("told");
  const [first, end] = data.span;
  let points = data.landmarks, keys = data.keys, version = data.version, chosen = data.walk[0], frame = null, timer = 0;

  const words = (name) => name.replace("foot_index", "toes").replaceAll("_", " ");
  const fault = (text) => { said.textContent = text; said.hidden = !text; };
  const tell = (text) => { told.textContent = text; };
  const here = () => points[frame] || {};

  // --- the picture ------------------------------------------------------------------------------
  const box = desk.querySelector("[data-player]");
  let player = null, picture = null;
  if (box) {
    player = playerOf(box);
    window.player = player;
    picture = new TrackPicture(player.video, data, {
      place: (x, y) => put(chosen, x, y, true),
      drag: (name, x, y) => { points[frame] = { ...here(), [name]: [x, y, "placed"] }; draw(); },
      dropped: (name, x, y) => put(name, x, y, false),
      choose: (name) => choose(name),
      boxed: () => { picture.boxing = false; desk.querySelector("[data-do=box]").setAttribute("aria-pressed", "false"); tell(picture.box ? "The person in the box is looked for." : "No box."); },
    });
    player.addEventListener("frame", () => {
      if (player.shown === null || player.shown === frame) return;
      if (player.shown < first || player.shown >= end) { player.show(Math.max(first, Math.min(end - 1, player.shown))); return; }
      frame = player.shown;
      moved();
    });
    one("commands").hidden = false;
  }
  const go = (to) => player?.show(Math.max(first, Math.min(end - 1, to)));
  const step = (by) => player && go((player.busy ? player.wanted : frame ?? first) + by);

  function moved() {
    picture.loupe.hide();
    draw();
    for (const now of panel.querySelectorAll("[data-now]")) now.setAttribute("d", `M${frame - first + 0.5} 0v10`);
    for (const field of document.querySelectorAll("[data-frame-field]")) field.value = frame;
    for (const place of document.querySelectorAll("[data-frame-words]")) place.textContent = frame;
    history.replaceState(null, "", `?frame=${frame}`);
    later(250);
  }
  function draw() {
    const count = Object.keys(here()).length;
    picture?.show(here(), chosen, `Frame ${frame}, ${count} landmarks. Click places ${words(chosen)}; with the picture in focus arrows move it.`);
    one("key-here").hidden = !keys.includes(frame);
    for (const button of desk.querySelectorAll(".landmark")) {
      const point = here()[button.dataset.name];
      button.setAttribute("aria-pressed", String(button.dataset.name === chosen));
      button.querySelector("[data-state]").textContent = point ? `${point[2]} ${Math.round(point[0])}, ${Math.round(point[1])}` : "missing";
    }
  }
  function choose(name) { chosen = name; draw(); }

  // --- sending, one after the other -------------------------------------------------------------
  let queue = Promise.resolve();
  const queued = (work) => { queue = queue.then(work).catch((problem) => fault(`Not kept: ${problem.message}. Try again in a moment.`)); return queue; };
  async function answer(response) {
    let state = {};
    try { state = await response.json(); } catch { throw new Error(`the server answered ${response.status}`); }
    if (!response.ok) { fault(state.error); return state.error; }
    fault("");
    version = state.version;
    keys = state.keys;
    if (state.landmarks) points = state.landmarks;
    for (const name of ["undo", "redo"]) desk.querySelector(`[data-do=${name}]`).disabled = !state[name];
    if (state.said) tell(state.said);
    draw();
    later(120);
    return "";
  }
  const send = (body) => fetch(data.urls.points, { method: "POST", headers: { "Content-Type": "application/json", "X-CSRFToken": token }, body: JSON.stringify({ base_version: version, ...body }) }).then(answer);
  const command = (url, fields = {}) => queued(() => fetch(url, { method: "POST", headers: { Accept: "application/json", "X-CSRFToken": token }, body: new URLSearchParams({ frame: frame ?? first, ...fields }) }).then(answer));

  function put(name, x, y, walk) {
    if (frame === null) return;
    const at = frame, point = [Math.round(x * 100) / 100, Math.round(y * 100) / 100, "placed"];
    points[at] = { ...here(), [name]: point };
    queued(() => send({ frames: { [at]: { [name]: point } } }));
    if (walk) onwards(name); else draw();
  }
  function onwards(name) {
    const way = one("way").value;
    tell(`${words(name)} placed on frame ${frame}.`);
    if (way === "landmark") {
      const place = data.names.indexOf(name), last = data.walk.indexOf(name) === data.walk.length - 1;
      choose(last || place === data.names.length - 1 ? data.walk[0] : data.names[place + 1]);
      if (last) step(1);
    } else { draw(); if (way !== "0") step(Number(way)); }
  }
  function along(by) {
    const place = data.names.indexOf(chosen);
    choose(data.names[(place + by + data.names.length) % data.names.length]);
    tell(`${words(chosen)}.`);
  }
  // Where a landmark begins without a pointer: where it was on the nearest frame, else the middle.
  function beginning() {
    const near = Object.keys(points).filter((key) => points[key][chosen]).sort((a, b) => Math.abs(a - frame) - Math.abs(b - frame))[0];
    return near ? points[near][chosen].slice(0, 2) : [data.size[0] / 2, data.size[1] / 2];
  }
  let nudging = 0, looking = 0;
  function nudge(dx, dy) {
    const from = here()[chosen] || beginning();
    const at = frame, point = [from[0] + dx, from[1] + dy, "placed"];
    points[at] = { ...here(), [chosen]: point };
    draw();
    tell(`${words(chosen)} at ${Math.round(point[0])}, ${Math.round(point[1])}.`);
    picture.magnify(point);
    clearTimeout(looking);
    looking = setTimeout(() => picture.loupe.hide(), 1500);
    clearTimeout(nudging);
    const name = chosen;
    nudging = setTimeout(() => queued(() => send({ frames: { [at]: { [name]: points[at]?.[name] ?? null } } })), 350);
  }

  // --- curves -----------------------------------------------------------------------------------
  let asked = 0;
  function later(pause) { clearTimeout(timer); timer = setTimeout(refresh, pause); }
  async function refresh() {
    const mine = (asked += 1);
    const open = [...panel.querySelectorAll("details")].map((part) => part.open);
    const response = await fetch(`${data.urls.panel}?frame=${frame ?? first}`).catch(() => null);
    if (!response?.ok || mine !== asked || panel.contains(document.activeElement)) return;
    panel.innerHTML = await response.text();
    [...panel.querySelectorAll("details")].forEach((part, place) => { part.open = open[place] ?? false; });
    dress();
  }
  function dress() { for (const button of panel.querySelectorAll("[data-copy]")) button.hidden = !navigator.clipboard; }
  dress();
  panel.addEventListener("click", async (event) => {
    const copy = event.target.closest("[data-copy]"), link = event.target.closest("[data-go]"), row = event.target.closest(".strip-row");
    if (copy) {
      await navigator.clipboard.writeText(copy.closest(".said-sentence").querySelector("[data-sentence]").textContent);
      copy.textContent = "copied";
    } else if (link && player) { event.preventDefault(); link.blur(); go(Number(link.dataset.go)); }
    else if (row) { const area = row.getBoundingClientRect(); go(first + Math.floor(((event.clientX - area.left) / area.width) * (end - first))); }
  });

  // --- suggestions ------------------------------------------------------------------------------
  let running = null;
  const why = pose ? pose.available() : "The pose model is not here, so the points have to be set by hand.";
  if (player) one("suggest").hidden = false;
  if (why) { one("suggest-why").textContent = why; for (const name of ["box", "suggest"]) desk.querySelector(`[data-do=${name}]`).disabled = true; }
  async function suggest() {
    if (running) return;
    const skip = one("skip").checked;
    const frames = [];
    for (let n = first; n < end; n += 1) if (!skip || !data.walk.every((name) => points[n]?.[name])) frames.push(n);
    if (!frames.length) { one("suggest-said").textContent = "Every frame has its points."; return; }
    running = new AbortController();
    const run = crypto.randomUUID?.() ?? String(Date.now()), bar = one("suggest-progress");
    const buttons = (on) => { desk.querySelector("[data-do=suggest]").disabled = on; desk.querySelector("[data-do=suggest-stop]").hidden = !on; bar.hidden = !on; };
    buttons(true);
    bar.max = frames.length;
    one("suggest-said").textContent = "The model is being loaded.";
    try {
      const ended = await suggestOver(data, frames, {
        box: picture.box, signal: running.signal,
        send: async (batch) => { let problem = ""; await queued(async () => { problem = await send({ frames: batch, suggest: true, run, base_version: 0 }); }); return problem; },
        progress: ({ done, total }) => { bar.value = done; one("suggest-said").textContent = `${done} of ${total} frames.`; },
      });
      one("suggest-said").textContent = ended.problem || `${ended.found} frames have suggestions${ended.stopped ? "; stopped. Begin again and it goes on where it is missing" : ""}.`;
    } catch (problem) {
      one("suggest-said").textContent = `The suggestion broke off: ${problem.message}`;
    }
    running = null;
    buttons(false);
  }

  // --- commands ---------------------------------------------------------------------------------
  const commands = {
    back: () => step(-1), on: () => step(1), "back-10": () => step(-10), "on-10": () => step(10),
    first: () => go(first), last: () => go(end - 1),
    before: () => along(-1), next: () => along(1),
    here: () => { const at = here()[chosen] || beginning(); put(chosen, at[0], at[1], false); picture?.svg.focus(); tell(`${words(chosen)} placed; arrows move it.`); },
    away: () => { if (here()[chosen]) { const rest = { ...here() }; delete rest[chosen]; points[frame] = rest; const at = frame, name = chosen; queued(() => send({ frames: { [at]: { [name]: null } } })); draw(); } },
    swap: () => command(data.urls.change, { do: "swap" }), "swap-on": () => command(data.urls.change, { do: "swap", onward: "yes" }),
    confirm: () => command(data.urls.change, { do: "confirm" }), "confirm-all": () => command(data.urls.change, { do: "confirm", all: "yes" }),
    key: () => command(data.urls.change, { do: "key" }),
    undo: () => command(data.urls.undo), redo: () => command(data.urls.redo),
    box: () => { picture.boxing = !picture.boxing; if (!picture.boxing) picture.box = null; desk.querySelector("[data-do=box]").setAttribute("aria-pressed", String(picture.boxing)); tell(picture.boxing ? "Draw a box round the person, from corner to corner." : "No box."); picture.draw(); },
    suggest, "suggest-stop": () => { running?.abort(); pose.stop(); },
  };
  desk.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do]"), landmark = event.target.closest(".landmark");
    if (button) commands[button.dataset.do]?.();
    else if (landmark) choose(landmark.dataset.name);
  });
  const KEYS = { ",": "back", ".": "on", Home: "first", End: "last", n: "next", b: "before", p: "here", Delete: "away", s: "swap", S: "swap-on", Enter: "confirm", k: "key", z: "undo", Z: "redo" };
  document.addEventListener("keydown", (event) => {
    if (!player || !forPage(event)) return;
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (arrow && document.activeElement === picture.svg) nudge(...arrow.map((part) => part * (event.shiftKey ? 10 : 1)));
    else if (arrow && arrow[0]) step(arrow[0] * (event.shiftKey ? 10 : 1));
    else if (KEYS[event.key]) commands[KEYS[event.key]]();
    else return;
    event.preventDefault();
  });

  const asked0 = Number(new URLSearchParams(location.search).get("frame"));
  if (player) go(asked0 >= first && asked0 < end ? asked0 : first);
});
