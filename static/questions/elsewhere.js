// Copies a reply; where the browser has no clipboard the words are selected instead.
(() => {
  "use strict";
  for (const button of document.querySelectorAll("[data-copy]")) {
    button.hidden = false;
    button.addEventListener("click", async () => {
      const field = document.getElementById(button.dataset.copy);
      const said = button.parentElement.querySelector("[role=status]");
      try {
        await navigator.clipboard.writeText(field.value);
        said.textContent = "Copied.";
      } catch {
        field.focus();
        field.select();
        said.textContent = "Selected: copy it with Ctrl C.";
      }
    });
  }
})();
