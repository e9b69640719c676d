// Sends a file in pieces, shows how far it is, and goes on where it stopped.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const form = document.getElementById("upload");
  if (!form) return;
  const input = form.querySelector("input[type=file]");
  const button = form.querySelector("button.first");
  const pause = document.getElementById("upload-stop");
  const work = document.getElementById("upload-progress");
  const bar = work.querySelector("progress");
  const status = work.querySelector("[role=status]");
  const error = document.getElementById("upload-error");
  const token = form.querySelector("[name=csrfmiddlewaretoken]").value;
  const size = Number(form.dataset.pieceBytes);
  let paused = false;

  const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
  const mb = (bytes) => (bytes / 1048576).toFixed(bytes < 104857600 ? 1 : 0);
  const fail = (text) => { error.textContent = text; error.hidden = !text; };

  async function ask(url, options) {
    const answer = await fetch(url, { credentials: "same-origin", redirect: "error", ...options, headers: { "X-CSRFToken": token, ...options.headers } });
    const isJson = (answer.headers.get("Content-Type") || "").startsWith("application/json");
    return { status: answer.status, told: isJson ? await answer.json() : {} };
  }
  function show(told) {
    bar.max = told.total;
    bar.value = told.offset;
    status.textContent = `${mb(told.offset)} of ${mb(told.total)} MB · ${Math.floor((100 * told.offset) / told.total)} %`;
  }
  async function sendAll(file) {
    const begun = await ask(form.dataset.begin, { method: "POST", body: new URLSearchParams({ name: file.name, size: file.size }) });
    if (begun.status !== 201) throw new Error(begun.told.error || "The server did not take the file; sign in again and choose it once more.");
    let told = begun.told, failures = 0;
    work.hidden = pause.hidden = false;
    show(told);
    while (!told.next) {
      if (paused) return null;
      const offset = told.offset;
      let answer = null;
      try {
        answer = await ask(told.piece, { method: "PATCH", body: file.slice(offset, offset + size), headers: { "Upload-Offset": String(offset), "Content-Type": "application/octet-stream" } });
      } catch { answer = null; }
      if (answer && answer.status === 200) { told = answer.told; failures = 0; show(told); continue; }
      if (answer && answer.status === 409) { told = { ...told, offset: answer.told.offset }; if ((failures += 1) < 9) continue; }
      if (answer && answer.status < 500 && answer.status !== 409) throw new Error(answer.told.error || "The upload was refused; choose the file again.");
      if (answer && answer.status === 507) throw new Error(answer.told.error);
      if ((failures += 1) > 8) throw new Error("The connection is gone. Choose the same file again later: it goes on where it stopped.");
      status.textContent = "The connection was lost; trying again…";
      await wait(Math.min(30000, 500 * 2 ** failures));
      try {
        const now = await ask(told.piece, { method: "GET" });
        if (now.status === 200) told = now.told;
      } catch { /* the next piece tells whether the connection is back */ }
    }
    return told.next;
  }
  form.addEventListener("submit", async (event) => {
    const file = input.files[0];
    if (!file) return;
    event.preventDefault();
    fail("");
    paused = false;
    button.disabled = true;
    try {
      const next = await sendAll(file);
      if (next) window.location.assign(next);
      else status.textContent += " · paused";
    } catch (fault) { fail(fault.message); }
    button.disabled = false;
    button.textContent = "Go on";
    pause.hidden = true;
  });
  pause.addEventListener("click", () => { paused = true; });
  window.addEventListener("beforeunload", (event) => { if (button.disabled && !bar.matches("[value='0']") && bar.value < bar.max) event.preventDefault(); });
});
