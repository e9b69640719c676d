// Keeps the draft while it is typed: at the server, and in this tab while the server can't be reached.
(() => {
  "use strict";
  document.documentElement.classList.add("js");
  const form = document.getElementById("ask");
  if (!form) return;
  const kept = document.getElementById("kept");
  const names = ["text", "body_part", "since_when", "tried"];
  const field = (name) => form.elements[name];
  const place = "question-typed";
  const typed = () => Object.fromEntries(names.map((name) => [name, field(name).value]));
  const store = (value) => { try { value ? sessionStorage.setItem(place, JSON.stringify(value)) : sessionStorage.removeItem(place); } catch { /* a full or closed store: the server has it */ } };

  const before = (() => { try { return JSON.parse(sessionStorage.getItem(place)); } catch { return null; } })();
  if (before && names.some((name) => before[name] && before[name] !== field(name).value)) {
    for (const name of names) if (before[name]) field(name).value = before[name];
    kept.textContent = "What you typed in this tab is here again.";
  }

  let timer = 0;
  let sending = false;
  const keep = async () => {
    const body = new FormData(form);
    body.delete("pictures");
    const now = typed();
    try {
      const answer = await fetch(form.dataset.keep, { method: "POST", body, redirect: "manual", headers: { Accept: "application/json" } });
      if (!answer.ok) throw new Error(String(answer.status));
      kept.textContent = `Draft kept ${(await answer.json()).kept}`;
      if (JSON.stringify(now) === JSON.stringify(typed())) store(null);
    } catch {
      if (sending) return;
      const link = document.createElement("a");
      link.href = form.dataset.signIn;
      link.target = "_blank";
      link.rel = "noopener";
      link.textContent = "sign in in another tab";
      kept.replaceChildren("Not kept by the server just now; your words stay in this tab. If you were signed out, ", link, ", then type on.");
    }
  };
  form.addEventListener("input", (event) => {
    if (event.target.type === "file") return;
    store(typed());
    clearTimeout(timer);
    timer = setTimeout(keep, 900);
  });
  form.addEventListener("submit", () => { sending = true; clearTimeout(timer); });
  // Back from a page that sent it: nothing of it shall come up again.
  window.addEventListener("pageshow", () => { sending = false; });
})();
