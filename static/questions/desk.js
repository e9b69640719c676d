// The desk by keyboard. Every key presses a button or opens a part that is there without it.
(() => {
  "use strict";
  document.documentElement.classList.add("js");
  const desk = () => document.getElementById("desk");
  const work = () => document.getElementById("work");
  const typing = (node) => node?.matches?.("textarea, input, select") ?? false;
  // A click, not a submit: the page learns from the click which button was meant.
  const press = (button) => button?.click();

  // The clock is the server's; between answers it is counted on from what the server said.
  let told = null;
  const tick = () => {
    const box = desk();
    const clock = document.getElementById("clock");
    if (!box || !clock) return;
    if (told?.box !== box) told = { box, left: Number(box.dataset.left), at: performance.now() };
    if (box.dataset.paused) return;
    const left = Math.round(told.left - (performance.now() - told.at) / 1000);
    const all = Math.abs(left);
    clock.textContent = `${left < 0 ? "−" : ""}${Math.floor(all / 60)}:${String(all % 60).padStart(2, "0")}`;
    clock.classList.toggle("over", left < 0);
  };
  setInterval(tick, 500);
  window.addEventListener("pageshow", (event) => { if (event.persisted) window.location.reload(); });

  // What is typed is kept while it is typed.
  let timer = 0;
  const keep = async () => {
    const area = document.getElementById("answer");
    const said = document.getElementById("kept");
    if (!area) return;
    const body = new FormData();
    for (const name of ["csrfmiddlewaretoken", "key", "answer"]) body.set(name, work().elements[name].value);
    try {
      const answer = await fetch(area.dataset.keep, { method: "POST", body, redirect: "manual", headers: { "X-Only-Keep": "1" } });
      if (said) said.textContent = answer.ok ? "Draft kept" : "Not kept just now; it stays on this page. Are you still signed in?";
    } catch {
      if (said) said.textContent = "Not kept just now; it stays on this page.";
    }
  };
  document.addEventListener("input", (event) => {
    if (event.target.id !== "answer") return;
    clearTimeout(timer);
    timer = setTimeout(keep, 1000);
  });
  document.addEventListener("htmx:beforeRequest", () => clearTimeout(timer));
  let open = work()?.elements.key.value;
  // A new question: to its top, and the keys belong to the page.
  document.addEventListener("htmx:afterSwap", (event) => {
    if (event.detail.target?.id !== "desk" && event.target?.id !== "desk") return;
    tick();
    const now = work()?.elements.key.value;
    if (now !== open && document.activeElement !== document.body) document.activeElement?.blur();
    open = now;
    const wrong = desk()?.querySelector("[role=alert]");
    if (wrong) wrong.scrollIntoView({ block: "center" });
  });

  const insert = (text) => {
    const area = document.getElementById("answer");
    const { selectionStart: from, selectionEnd: to, value } = area;
    const block = text.startsWith(">") && from > 0 ? "\n\n" : "";
    area.setRangeText(`${block}${text}${block}`, from, to, "end");
    area.focus();
    area.dispatchEvent(new Event("input", { bubbles: true }));
    document.getElementById("inserts").replaceChildren();
    document.getElementById("insert").value = "";
    return value;
  };
  document.addEventListener("click", (event) => {
    const chosen = event.target.closest("[data-insert]");
    if (chosen) insert(chosen.dataset.insert);
  });

  document.addEventListener("keydown", (event) => {
    const box = desk();
    if (!box || event.isComposing || event.repeat) return;
    const at = event.target;
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      return press(box.querySelector("[data-send]"));
    }
    if (event.key === "Enter" && at.matches?.("input[type=text]")) {
      event.preventDefault();
      if (at.id === "insert") return box.querySelector("[data-insert]")?.click();
      if (at.dataset.flag) return at.closest(".decide").querySelector("button[name=flag]").focus();
      return press(at.closest("details")?.querySelector("[data-enter], button[name=all]"));
    }
    if (event.key === "Escape" && typing(at)) return at.blur();
    if (event.ctrlKey || event.metaKey || (typing(at) && !event.altKey)) return;
    const key = event.altKey ? ({ Minus: "-", Equal: "+" }[event.code] ?? event.code.replace(/^(Key|Digit)/, "").toLowerCase()) : event.key.toLowerCase();
    const topics = box.querySelector(".sorting[open]");
    const found =
      (topics && topics.querySelector(`[data-digit="${key}"]`)) ||
      [...box.querySelectorAll("[data-key], [data-focus-key], [data-open-key]")].find((one) => [one.dataset.key, one.dataset.focusKey, one.dataset.openKey].includes(key));
    if (!found) return;
    event.preventDefault();
    if (found.dataset.openKey) {
      found.open = !found.open;
      if (found.open) found.querySelector("input, select, .choose button")?.focus();
    } else if (found.dataset.focusKey) {
      const part = found.closest("details");
      if (part) part.open = true;
      found.focus();
      found.select?.();
    }
    else press(found);
  });
})();
