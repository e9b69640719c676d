// The teleprompter: scrolls at a pace in words a minute. Without it the page is simply large words.
(() => {
  "use strict";
  const text = document.getElementById("prompter");
  const keys = document.querySelector(".prompter-keys");
  const told = document.getElementById("pace");
  const run = keys.querySelector('[data-do="run"]');
  const store = (name, value) => { try { localStorage.setItem(`prompter-${name}`, value); } catch { /* private window */ } };
  const stored = (name, other) => { try { return localStorage.getItem(`prompter-${name}`) ?? other; } catch { return other; } };
  let pace = Number(stored("pace", text.dataset.pace)) || 150;
  let size = Number(stored("size", 3));
  let running = false;
  let last = 0;
  let rest = 0;
  keys.hidden = false;

  const show = () => {
    told.textContent = `${pace} words a minute`;
    text.className = `prompter size-${size}${text.classList.contains("mirrored") ? " mirrored" : ""}`;
    run.textContent = running ? "Stop" : "Run";
  };
  const distance = () => [...text.querySelectorAll("section")].reduce((sum, part) => sum + part.offsetHeight, 0);
  const step = (now) => {
    if (!running) return;
    // Text height per word, so that a wider or larger setting keeps the pace.
    const perSecond = (distance() / Math.max(1, Number(text.dataset.words))) * (pace / 60);
    rest += (perSecond * Math.min(now - last, 100)) / 1000;
    last = now;
    const whole = Math.trunc(rest);
    rest -= whole;
    window.scrollBy({ top: whole, behavior: "instant" });
    if (window.innerHeight + window.scrollY >= document.documentElement.scrollHeight - 1) running = false;
    show();
    requestAnimationFrame(step);
  };
  const jump = (by) => {
    const parts = [...text.querySelectorAll("section")];
    const line = window.innerHeight / 4;
    const at = parts.findLastIndex((part) => part.getBoundingClientRect().top <= line + 4);
    const to = parts[Math.max(0, Math.min(parts.length - 1, at + by))];
    if (to) window.scrollBy({ top: to.getBoundingClientRect().top - line, behavior: "instant" });
  };
  const acts = {
    run() { running = !running; last = performance.now(); if (running) requestAnimationFrame(step); },
    slower() { pace = Math.max(60, pace - 5); store("pace", pace); },
    faster() { pace = Math.min(260, pace + 5); store("pace", pace); },
    smaller() { size = Math.max(1, size - 1); store("size", size); },
    larger() { size = Math.min(6, size + 1); store("size", size); },
    mirror() { keys.querySelector('[data-do="mirror"]').setAttribute("aria-pressed", String(text.classList.toggle("mirrored"))); },
    back() { jump(-1); },
    on() { jump(1); },
  };
  const byKey = { " ": "run", ArrowLeft: "slower", ArrowRight: "faster", "-": "smaller", "+": "larger", "=": "larger", m: "mirror", M: "mirror", ArrowUp: "back", ArrowDown: "on", PageUp: "back", PageDown: "on" };
  keys.addEventListener("click", (event) => { const name = event.target.dataset.do; if (name) { acts[name](); show(); } });
  document.addEventListener("keydown", (event) => {
    const name = byKey[event.key];
    if (!name || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === " " && event.target.matches("button, a")) return;
    event.preventDefault();
    acts[name]();
    show();
  });
  show();
})();
