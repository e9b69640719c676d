// Looking at the frames beside the still's own, keeping one of them, and copying the marks there.

export function useFrames({ desk, editor, panel, data, keeping }) {
  const picture = desk.querySelector("[data-frame]");
  const overlay = desk.querySelector("[data-overlay]");
  const line = desk.querySelector("[data-looking]");
  const number = desk.querySelector("[data-frame-now]");
  const timecode = desk.querySelector("[data-timecode-now]");

  function look(frame) {
    const goal = Math.max(0, Math.min(data.frame_count - 1, frame));
    if (goal === editor.looking || !(picture instanceof HTMLImageElement)) return;
    if (editor.pending.length) { panel.aloud("Finish the mark first, or press Escape."); return; }
    editor.looking = goal;
    if (editor.tool) editor.setTool("");
    editor.chosen = null;
    picture.src = `${data.urls.frame}${goal}/`;
    picture.alt = `Frame ${goal}`;
    overlay.hidden = editor.elsewhere;
    number.textContent = goal;
    timecode.hidden = editor.elsewhere;
    tell();
    editor.refresh();
  }

  function tell() {
    line.hidden = !editor.elsewhere;
    if (line.hidden) { line.replaceChildren(); return; }
    const by = editor.looking - data.frame;
    const command = (name, text, key) => {
      const button = document.createElement("button");
      Object.assign(button, { type: "button", className: "plain", textContent: text });
      button.dataset.do = name;
      const cap = document.createElement("kbd");
      cap.textContent = key;
      return [button, " ", cap, " "];
    };
    const parts = [`Frame ${editor.looking}, ${Math.abs(by)} ${by > 0 ? "after" : "before"} this still. `];
    const there = data.stills[editor.looking];
    if (there) {
      const link = document.createElement("a");
      link.href = there;
      link.textContent = "open the still kept here";
      parts.push(link, " ");
    }
    parts.push(...command("copy", "copy the marks here", "C"), ...command("fresh", "keep this frame without marks", "N"), ...command("home", "back", "Esc"));
    line.replaceChildren(...parts);
    panel.aloud(`Frame ${editor.looking}`, 300);
  }

  // A form sent as a page, once everything is saved.
  async function send(url, values) {
    if (editor.pending.length) editor.finish();
    if (!(await keeping.save())) { panel.aloud("The marks are not saved yet; try again when they are."); return; }
    const form = document.createElement("form");
    Object.assign(form, { method: "post", action: url, hidden: true });
    for (const [name, value] of Object.entries({ ...values, csrfmiddlewaretoken: desk.dataset.token })) {
      const field = document.createElement("input");
      Object.assign(field, { type: "hidden", name, value });
      form.append(field);
    }
    document.body.append(form);
    keeping.leaving = true;
    form.submit();
  }

  return {
    look,
    back: () => look(data.frame),
    copy: () => send(data.urls.copy, { frame: String(editor.elsewhere ? editor.looking : data.frame + 1) }),
    fresh: () => { if (editor.elsewhere) send(data.urls.make, { frame: String(editor.looking) }); },
    refuse: () => panel.aloud("This is not the still's own frame: press C to copy the marks here, N to keep this frame, Escape to go back.", 50),
  };
}
