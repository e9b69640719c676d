// The two views follow what is chosen in the form, and the arrow keys step both.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const form = document.querySelector(".two-views-form");
  if (!form) return;
  document.documentElement.classList.add("js");

  // Shown as it would be: the form's own fields in the address, and the frame one stands on.
  function show() {
    const asked = new URLSearchParams(new FormData(form));
    for (const name of ["csrfmiddlewaretoken", "base_picture"]) asked.delete(name);
    const at = document.querySelector('#instants [name="at"]')?.value ?? new URLSearchParams(window.location.search).get("at");
    if (at) asked.set("at", at);
    window.htmx.ajax("GET", `${form.dataset.show}?${asked}`, { target: "#instants", swap: "outerHTML" });
  }
  form.addEventListener("change", show);

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("input, select, textarea")) return;
    const name = `${event.shiftKey ? "Shift+" : ""}${event.key}`;
    const step = document.querySelector(`#instants [data-step="${CSS.escape(name)}"]`);
    if (!step) return;
    event.preventDefault();
    step.click();
  });
});
