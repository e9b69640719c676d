// Views of one event side by side: the others go to the frame nearest in time to the one that leads.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const { playerOf, forPage } = window.Stancewright;
  const views = [...document.querySelectorAll("[data-view]")].map((box) => ({ box, player: playerOf(box.querySelector("[data-player]")) }));
  if (!views.length) return;
  window.players = views.map((view) => view.player);
  let lead = views[0];
  document.querySelector("[data-commands]").hidden = false;

  // Exact, in whole numbers, ties upwards; the same rule as the server's frame_beside.
  function beside(frame, a, b) {
    const above = BigInt(frame - a.sync_frame) * BigInt(a.rate_den) * BigInt(b.rate_num);
    const below = BigInt(a.rate_num) * BigInt(b.rate_den);
    const twice = 2n * above + below, whole = 2n * below;
    const rounded = twice / whole - (twice % whole < 0n ? 1n : 0n);
    return Number(rounded) + b.sync_frame;
  }
  function go(frame) {
    const at = Math.max(0, Math.min(lead.player.count - 1, frame));
    lead.at = at;
    return Promise.all(views.map((view) => {
      const wanted = view === lead ? at : beside(at, lead.player.data, view.player.data);
      view.box.querySelector("[data-no-picture]").hidden = wanted >= 0 && wanted < view.player.count;
      return view.player.show(wanted);
    }));
  }
  function choose(view) {
    lead = view;
    lead.at = lead.player.wanted;
    for (const one of views) one.box.classList.toggle("leads", one === view);
  }
  const commands = {
    back: () => go(lead.at - 1),
    on: () => go(lead.at + 1),
    "back-10": () => go(lead.at - 10),
    "on-10": () => go(lead.at + 10),
    instant: () => go(lead.player.data.sync_frame),
  };
  for (const view of views) {
    view.box.addEventListener("focusin", () => choose(view));
    view.box.addEventListener("pointerdown", () => choose(view));
  }
  document.addEventListener("keydown", (event) => {
    if (!forPage(event)) return;
    const far = event.shiftKey ? "-10" : "";
    const name = { ArrowLeft: `back${far}`, ArrowRight: `on${far}`, y: "instant", Y: "instant" }[event.key];
    if (!name) return;
    event.preventDefault();
    commands[name]();
  });
  document.querySelector("[data-commands]").addEventListener("click", (event) => {
    const button = event.target.closest("[data-do]");
    if (button) commands[button.dataset.do]();
  });
  choose(views[0]);
  const first = views[0].box.querySelector("[data-frame-now]");
  window.together = { go, beside, views };
  go(Number(first.textContent));
});
