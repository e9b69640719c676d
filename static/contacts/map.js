// The contact map with the keyboard: arrows go to the nearest place in their direction; the name of a place is shown.
(function () {
  "use strict";
  const away = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
  const at = (spot) => [Number(spot.dataset.x), Number(spot.dataset.y)];

  function nearest(from, spots, [dx, dy]) {
    const [x, y] = at(from);
    let best = null, least = Infinity;
    for (const spot of spots) {
      const [u, v] = at(spot);
      const along = (u - x) * dx + (v - y) * dy;
      if (spot === from || along <= 0.5) continue;
      const aside = Math.abs((u - x) * dy) + Math.abs((v - y) * dx);
      const cost = along + 2.5 * aside;
      if (cost < least) { least = cost; best = spot; }
    }
    return best;
  }

  document.addEventListener("keydown", (event) => {
    const spot = event.target.closest && event.target.closest("a.spot");
    if (!spot || !away[event.key] || event.ctrlKey || event.altKey || event.metaKey) return;
    const next = nearest(spot, spot.ownerSVGElement.querySelectorAll("a.spot"), away[event.key]);
    if (next) { event.preventDefault(); next.focus({ preventScroll: false }); }
  });

  function tell(event) {
    const spot = event.target.closest && event.target.closest("a.spot");
    const place = document.getElementById("spot-name");
    if (place) place.textContent = spot ? spot.getAttribute("aria-label") : "";
  }
  document.addEventListener("focusin", tell);
  document.addEventListener("pointerover", tell);

  // Copying needs script, so its buttons come with it.
  for (const button of document.querySelectorAll("button.copy")) {
    if (!navigator.clipboard) break;
    button.hidden = false;
    button.addEventListener("click", async () => {
      const text = document.getElementById(button.dataset.copy).textContent;
      try { await navigator.clipboard.writeText(text); button.textContent = "copied"; }
      catch { button.textContent = "the browser did not let it be copied"; }
    });
  }
})();
