// Landmarks suggested by the pose model in this browser. Without it the button stays away and all else works by hand.
import { landmarkWords, withSuggestions } from "./marks.js";

const LATE = 20; // looks for the model, half a second apart

export function useSuggestions({ desk, editor, panel, data, frame }) {
  const button = desk.querySelector("[data-do=suggest]");
  const pose = () => window.Stancewright?.pose;
  let busy = false;

  function appear(left = LATE) {
    if (pose()?.available() === "") button.hidden = false;
    else if (left > 0 && !pose()) setTimeout(() => appear(left - 1), 500);
  }
  if (frame instanceof HTMLImageElement) appear();

  function begin() {
    if (button.hidden || busy || editor.elsewhere) return;
    editor.setTool("box", true);
  }

  // area: two corners in source pixels, or null for the whole picture.
  async function within(area) {
    editor.setTool("");
    busy = true;
    button.disabled = true;
    panel.parts.hint.textContent = "Looking for the person …";
    panel.aloud("Looking for the person.", 50);
    const across = frame.naturalWidth / data.size[0], down = frame.naturalHeight / data.size[1];
    try {
      const found = await pose().suggest(frame, area && boxOf(area, across, down), {});
      const rows = Object.entries(found?.landmarks ?? {}).map(([name, row]) => [name, { ...row, at: [row.at[0] / across, row.at[1] / down], space: found.world?.[name] }]);
      if (!rows.length) {
        panel.error(found?.problem || "No person was found there. Draw the box closer round one person, or place the landmarks by hand.");
        return;
      }
      editor.change(withSuggestions(editor.doc, Object.fromEntries(rows)), "suggest landmarks");
      panel.aloud(`${rows.length} landmarks suggested. Look at each: Enter confirms, arrows move, Delete refuses. First: ${landmarkWords(rows[0][0])}`, 100);
      editor.choose({ landmark: rows[0][0] });
    } catch (fault) {
      panel.error(`The landmarks could not be suggested (${fault.message}); place them by hand.`);
    } finally {
      busy = false;
      button.disabled = false;
      editor.refresh();
    }
  }

  function boxOf([[x1, y1], [x2, y2]], across, down) {
    return { x: Math.min(x1, x2) * across, y: Math.min(y1, y2) * down, width: Math.abs(x2 - x1) * across, height: Math.abs(y2 - y1) * down };
  }

  return { begin, within };
}
