// The button that copies an entry's plain words. Without it they can be selected and copied by hand.
for (const button of document.querySelectorAll("[data-copy]")) {
  const words = document.getElementById(button.dataset.copy);
  const told = document.getElementById("copied");
  if (!words || !navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(words.textContent.trim());
      told.textContent = "Copied.";
    } catch {
      told.textContent = "The browser does not allow it: select the words and copy them.";
    }
  });
}
