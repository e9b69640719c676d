// The script desk: keys, growing textareas, and care that no typed word is ever lost. All of it is
// an addition: every command is a form that works without it.
(() => {
  "use strict";
  document.documentElement.classList.add("js");
  // New pieces answer at once: a key pressed in the moment between swap and settling is not lost.
  htmx.config.defaultSettleDelay = 0;
  const RETRY_MS = 4000;
  const sent = new WeakMap();
  const wasBase = new WeakMap();

  const formOf = (node) => node?.closest?.("form.beat-words");
  const area = (form) => form.querySelector("textarea");
  const field = (form, name) => form.querySelector(`input[name="${name}"]`);
  const plain = (text) => text.replace(/\r\n?/g, "\n");
  const isDirty = (form) => plain(area(form).value) !== plain(field(form, "base_words").value);
  const isUnsent = (form) => isDirty(form) && sent.get(form) !== plain(area(form).value);
  const forms = () => [...document.querySelectorAll("form.beat-words")];

  // Where an editor has taken the field over (words.js) it follows what is done to the field here.
  const tell = (box, what) => box.dispatchEvent(new Event(what, { bubbles: true }));

  // The one stretch in which two texts differ: [start, end in a, end in b].
  const stretch = (a, b) => {
    let start = 0;
    while (start < a.length && start < b.length && a[start] === b[start]) start += 1;
    let tail = 0;
    while (tail < Math.min(a.length, b.length) - start && a.at(-1 - tail) === b.at(-1 - tail)) tail += 1;
    return [start, a.length - tail, b.length - tail];
  };

  // What was typed since `from` was sent, put onto `onto`; null where both changed the same place.
  const rebase = (from, typed, onto) => {
    if (typed === from) return onto;
    const [mineAt, mineEnd, mineNew] = stretch(from, typed);
    const [otherAt, otherEnd, otherNew] = stretch(from, onto);
    if (mineEnd < otherAt) return typed.slice(0, mineNew) + from.slice(mineEnd, otherAt) + onto.slice(otherAt);
    if (otherEnd < mineAt) return onto.slice(0, otherNew) + from.slice(otherEnd, mineAt) + typed.slice(mineAt);
    return null;
  };

  const setValue = (box, value) => {
    const [at, oldEnd, newEnd] = stretch(box.value, value);
    const moved = (caret) => (caret <= at ? caret : Math.max(at, caret + newEnd - oldEnd));
    const { selectionStart, selectionEnd } = box;
    box.value = value;
    if (document.activeElement === box) box.setSelectionRange(moved(selectionStart), moved(selectionEnd));
    grow(box);
    tell(box, "words:set");
  };

  // The layer behind: keep its marks where the text around them is still the same.
  const grow = (box) => {
    const layer = box.parentElement.querySelector(".backdrop");
    const before = layer.textContent.replace(/\u200b$/, "");
    if (before === box.value) return fit(box, layer);
    const [at, oldEnd, newEnd] = stretch(before, box.value);
    let place = 0;
    const marks = [];
    for (const node of layer.childNodes) {
      const end = place + node.textContent.length;
      if (node.nodeName === "MARK" && end <= at) marks.push([place, end, node]);
      if (node.nodeName === "MARK" && place >= oldEnd) marks.push([place + newEnd - oldEnd, end + newEnd - oldEnd, node]);
      place = end;
    }
    const pieces = [];
    place = 0;
    for (const [start, end, old] of marks) {
      const mark = old.cloneNode(false);
      mark.textContent = box.value.slice(start, end);
      pieces.push(box.value.slice(place, start), mark);
      place = end;
    }
    layer.replaceChildren(...pieces, box.value.slice(place) + "\u200b");
    fit(box, layer);
  };

  // A textarea may break lines a little earlier than the layer: give it the room it asks for.
  const fit = (box, layer) => {
    layer.style.minHeight = "";
    if (layer.parentElement.classList.contains("edited")) return;
    if (box.scrollHeight > box.clientHeight + 1) layer.style.minHeight = `${box.scrollHeight}px`;
  };
  const fitAll = () => forms().forEach((form) => grow(area(form)));
  window.addEventListener("resize", fitAll);
  document.addEventListener("DOMContentLoaded", fitAll);
  document.fonts?.ready.then(fitAll);

  document.addEventListener("input", (event) => {
    const form = formOf(event.target);
    if (form && event.target === area(form)) grow(event.target);
  });

  // --- saving ---------------------------------------------------------------------------------
  document.addEventListener("htmx:configRequest", (event) => {
    const form = formOf(event.detail.elt);
    if (!form) return;
    const box = area(form);
    sent.set(form, plain(box.value));
    wasBase.set(form, [field(form, "base_version").value, field(form, "base_words").value]);
    // Places are counted in characters, not in the halves of a pair.
    event.detail.parameters.at = [...plain(box.value).slice(0, box.selectionStart)].length;
  });

  document.addEventListener("htmx:afterRequest", (event) => {
    const form = event.detail.elt;
    if (!form.matches?.("form.beat-words")) return;
    if (!event.detail.xhr || event.detail.xhr.status === 0 || event.detail.xhr.status >= 500) return retry(form);
    const now = plain(field(form, "base_words").value);
    const box = area(form);
    if (event.detail.xhr.status !== 200 || now === sent.get(form)) return;
    const joined = rebase(sent.get(form), plain(box.value), now);
    if (joined === null) {
      [field(form, "base_version").value, field(form, "base_words").value] = wasBase.get(form);
    } else {
      setValue(box, joined);
    }
  });

  const retry = (form) => {
    const line = document.getElementById("here");
    if (line) line.textContent = "Not saved yet: no answer from the server. Trying again…";
    window.setTimeout(() => form.isConnected && isDirty(form) && htmx.trigger(form, "save-now"), RETRY_MS);
  };

  document.addEventListener("focusout", (event) => {
    const form = formOf(event.target);
    const words = event.target.closest?.(".stack");
    if (form && words && !words.contains(event.relatedTarget) && isUnsent(form)) htmx.trigger(form, "save-now");
  });
  window.addEventListener("beforeunload", (event) => {
    if (forms().some(isDirty)) event.preventDefault();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden") forms().filter(isUnsent).forEach((form) => htmx.trigger(form, "save-now"));
  });
  // The page goes for good: send what is left without waiting for an answer, and never come back to it stale.
  window.addEventListener("pagehide", () => {
    for (const form of forms().filter(isUnsent)) {
      fetch(form.action, { method: "POST", body: new FormData(form), keepalive: true, redirect: "manual" });
    }
  });
  window.addEventListener("pageshow", (event) => event.persisted && window.location.reload());

  // The desk is drawn afresh after a command: what was typed meanwhile elsewhere goes with it.
  let carried = [];
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target?.id !== "desk" || !event.detail.shouldSwap) return;
    keepNotes(event.detail.target);
    const own = formOf(event.detail.requestConfig?.elt);
    carried = forms()
      .filter((form) => (form === own ? plain(area(form).value) !== sent.get(form) : isDirty(form)))
      .map((form) => ({
        key: form.closest(".beat").dataset.key,
        action: form.action,
        data: new FormData(form),
        words: plain(area(form).value),
        from: form === own ? sent.get(form) : plain(field(form, "base_words").value),
        base: [field(form, "base_version").value, field(form, "base_words").value],
      }));
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.detail.target?.id === "desk" || event.detail.elt?.id === "desk") fitAll();
    if (inNotes.has("desk")) putBackNotes("desk");
    const again = carried;
    carried = [];
    for (const each of again) {
      const form = document.querySelector(`#beat-${CSS.escape(each.key)} form.beat-words`);
      if (!form) {
        fetch(each.action, { method: "POST", body: each.data, redirect: "manual" });
        continue;
      }
      const joined = rebase(each.from, each.words, plain(field(form, "base_words").value));
      setValue(area(form), joined ?? each.words);
      if (joined === null) [field(form, "base_version").value, field(form, "base_words").value] = each.base;
      htmx.trigger(form, "save-now");
    }
  });

  // Marks that come late belong to the words that were sent; what was typed since is laid over them.
  document.addEventListener("htmx:oobAfterSwap", (event) => {
    const box = event.detail.target?.parentElement?.querySelector?.("textarea");
    if (!event.detail.target?.classList?.contains("backdrop") || !box) return;
    grow(box);
    tell(box, "words:marks");
  });

  // The margin may answer for a beat that this page does not show: one that is just being added, here or elsewhere.
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (!event.detail.requestConfig?.path.endsWith("/margin/") || !event.detail.shouldSwap) return;
    const pieces = document.createElement("template");
    pieces.innerHTML = event.detail.serverResponse;
    const strangers = [...pieces.content.children].filter((piece) => piece.id && !document.getElementById(piece.id));
    if (!strangers.length) return;
    strangers.forEach((piece) => piece.remove());
    event.detail.serverResponse = pieces.innerHTML;
  });

  // Notes come afresh while one is in them: what was opened, typed and focused there stays.
  const inNotes = new Map();
  const keepNotes = (margin) => {
    const here = margin.contains(document.activeElement) ? document.activeElement : null;
    inNotes.set(margin.id, {
      open: [...margin.querySelectorAll("details[open][id]")].map((one) => one.id),
      typed: [...margin.querySelectorAll("details input[id]")].filter((one) => one.value).map((one) => [one.id, one.value]),
      focus: here && (here.id || here.closest("[id]").id),
      selected: here?.matches("input") ? [here.selectionStart, here.selectionEnd] : null,
    });
  };
  const putBackNotes = (id) => {
    const kept = inNotes.get(id);
    inNotes.delete(id);
    for (const one of kept?.open ?? []) document.getElementById(one)?.setAttribute("open", "");
    for (const [one, value] of kept?.typed ?? []) {
      const input = document.getElementById(one);
      if (input) input.value = value;
    }
    if (!kept?.focus || document.activeElement !== document.body) return;
    const again = document.getElementById(kept.focus) ?? document.getElementById(id)?.closest(".beat")?.querySelector("textarea");
    again?.focus();
    if (kept.selected && again?.matches("input")) again.setSelectionRange(...kept.selected);
  };
  document.addEventListener("htmx:oobBeforeSwap", (event) => {
    if (event.detail.target?.matches?.(".margin, .margin-top")) keepNotes(event.detail.target);
  });
  document.addEventListener("htmx:oobAfterSwap", (event) => inNotes.has(event.detail.target?.id) && putBackNotes(event.detail.target.id));
  // "I mean it": the reason is asked for at once.
  document.addEventListener("toggle", (event) => {
    if (event.target.matches?.("details.mean[open]")) event.target.querySelector("input[name=reason]").focus();
  }, true);

  // --- where one is -----------------------------------------------------------------------------
  document.addEventListener("beat-focus", (event) => {
    const { key, part } = event.detail;
    const row = document.getElementById(`beat-${key}`);
    const at = row?.querySelector(part === "picture" ? `#picture-${CSS.escape(key)}` : "textarea");
    at?.focus();
    row?.scrollIntoView({ block: "nearest" });
  });
  document.addEventListener("focusin", (event) => {
    const row = event.target.closest?.(".beat");
    const pointer = document.getElementById("strip-here");
    if (!row || !pointer) return;
    pointer.setAttribute("x", `${row.dataset.start}%`);
    pointer.setAttribute("visibility", "visible");
    const beat = document.querySelectorAll("#history input[name=beat]");
    beat.forEach((input) => (input.value = row.dataset.key));
  });

  // --- keys -------------------------------------------------------------------------------------
  const combo = (event) =>
    [event.ctrlKey || event.metaKey ? "Ctrl" : "", event.altKey ? "Alt" : "", event.shiftKey ? "Shift" : "", event.code === "NumpadEnter" ? "Enter" : event.code]
      .filter(Boolean)
      .join("+");
  let opener = null;
  document.addEventListener("keydown", (event) => {
    if (event.isComposing) return;
    if (event.key === "Escape") return closePanel(event);
    const note = event.target.closest?.(".note");
    if (note && !event.target.matches("input, summary, button, a")) {
      const act = note.querySelector(`.acts [data-key="${CSS.escape(event.key)}"]`);
      if (act) { event.preventDefault(); return act.click(); }
    }
    if (!event.altKey && !event.ctrlKey && !event.metaKey) return;
    const keys = combo(event);
    const row = event.target.closest?.(".beat");
    if (row && event.ctrlKey && ["ArrowUp", "ArrowDown"].includes(event.code)) {
      const next = event.code === "ArrowUp" ? row.previousElementSibling : row.nextElementSibling;
      next?.querySelector("textarea")?.focus();
      return event.preventDefault();
    }
    if (keys === "Alt+KeyM") {
      const all = [...document.querySelectorAll(".note")].filter((one) => one.checkVisibility());
      const after = all[all.indexOf(note) + 1];
      (note ? after ?? all[0] : row?.querySelector(".note") ?? all[0])?.focus();
      return event.preventDefault();
    }
    if (keys === "Ctrl+KeyS") {
      event.preventDefault();
      return forms().filter(isDirty).forEach((form) => htmx.trigger(form, "save-now"));
    }
    const found = row?.querySelector(`[data-keys="${keys}"]`) ?? document.querySelector(`.script-commands [data-keys="${keys}"], #margin-top [data-keys="${keys}"]`);
    if (found && !found.disabled) {
      event.preventDefault();
      if (keys === "Alt+KeyP") opener = found;
      found.click();
    }
  });
  const closePanel = (event) => {
    const panel = event.target.closest?.(".panel");
    if (!panel) return;
    event.preventDefault();
    const row = panel.closest(".beat");
    panel.replaceChildren();
    row.querySelector(".beat-picture a")?.focus();
  };
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[data-select]");
    const box = link && document.querySelector(link.getAttribute("href"));
    if (box) {
      event.preventDefault();
      const places = [0, ...[...box.value].map((letter) => letter.length)];
      const at = (count) => places.slice(0, Number(count) + 1).reduce((sum, length) => sum + length, 0);
      box.focus();
      box.setSelectionRange(...link.dataset.select.split(" ").map(at));
      tell(box, "words:select");
    }
    if (event.target.closest?.("[data-close-panel]") && event.target.closest(".panel")) closePanel(event);
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (!event.detail.target?.classList?.contains("panel")) return;
    const form = event.detail.target;
    (form.querySelector("input:checked") ?? form.querySelector("input:not([type=hidden]), select"))?.focus();
  });
  // Undo comes back to the beat one is in; an undo of the desk must not overtake words still unsaved.
  document.addEventListener("htmx:confirm", (event) => {
    const elt = event.detail.elt;
    if (!elt.closest?.("#desk") || formOf(elt) || elt.closest(".panel") || event.detail.verb !== "post") return;
    const waiting = forms().filter(isUnsent);
    if (!waiting.length) return;
    event.preventDefault();
    Promise.all(waiting.map(saveNow)).then(() => event.detail.issueRequest(true));
  });
  const saveNow = (form) =>
    new Promise((done) => {
      const stop = (event) => {
        if (event.detail.elt !== form) return;
        document.removeEventListener("htmx:afterRequest", stop);
        done();
      };
      document.addEventListener("htmx:afterRequest", stop);
      htmx.trigger(form, "save-now");
    });

  // --- moving a beat with the pointer --------------------------------------------------------------
  let lifted = null;
  const rows = () => [...document.querySelectorAll("#beats > .beat")];
  const clear = () => rows().forEach((row) => row.classList.remove("drop-before", "drop-after", "lifted"));
  const placeAt = (y) => {
    const all = rows().filter((row) => row !== lifted);
    const index = all.findIndex((row) => { const box = row.getBoundingClientRect(); return y < box.top + box.height / 2; });
    return [all, index < 0 ? all.length : index];
  };
  document.addEventListener("pointerdown", (event) => {
    const grip = event.target.closest?.(".grip");
    if (!grip || event.button !== 0) return;
    lifted = grip.closest(".beat");
    grip.setPointerCapture(event.pointerId);
    lifted.classList.add("lifted");
    event.preventDefault();
  });
  document.addEventListener("pointermove", (event) => {
    if (!lifted) return;
    const [all, index] = placeAt(event.clientY);
    clear();
    lifted.classList.add("lifted");
    if (index < all.length) all[index].classList.add("drop-before");
    else all.at(-1)?.classList.add("drop-after");
    if (event.clientY < 60) window.scrollBy(0, -14);
    if (event.clientY > window.innerHeight - 60) window.scrollBy(0, 14);
  });
  const drop = (event) => {
    if (!lifted) return;
    const row = lifted;
    const from = rows().indexOf(row);
    const [, to] = placeAt(event.clientY);
    lifted = null;
    clear();
    if (event.type === "pointercancel" || to === from) return;
    const form = row.querySelector("form.beat-words");
    const down = form.action.replace(/save\/$/, "move/");
    htmx.ajax("POST", down, { source: form, swap: "none", values: { to: to + 1 } });
  };
  document.addEventListener("pointerup", drop);
  document.addEventListener("pointercancel", drop);
})();
