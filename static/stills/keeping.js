// Drawing and saving by the server: the latest state wins, and nothing drawn is lost.

import { rebased } from "./marks.js";

const REST = 700; // ms without a change before marks are saved
const WAITS = [2, 4, 8, 15, 30]; // s between tries

export class Keeping extends EventTarget {
  constructor({ data, token, history, width }) {
    super();
    Object.assign(this, { urls: data.urls, token, history, width });
    this.version = data.version;
    this.saved = JSON.stringify(data.document);
    this.draftKey = `still:${data.key}`;
    this.what = "draw";
    this.tries = 0;
    this.drawing = false;
    this.drawAgain = false;
    this.saving = null;
    history.addEventListener("change", (event) => {
      if (event.detail.quiet) return;
      this.what = event.detail.what;
      this.keepDraft();
      this.draw();
      this.saveSoon();
    });
    window.addEventListener("beforeunload", (event) => { if (this.dirty && !this.leaving) event.preventDefault(); });
    window.addEventListener("online", () => this.dirty && this.save());
    document.addEventListener("visibilitychange", () => { if (document.hidden && this.dirty) this.save(); });
  }

  get dirty() { return JSON.stringify(this.history.doc) !== this.saved; }

  tell(state, text) { this.dispatchEvent(new CustomEvent("state", { detail: { state, text } })); }

  async post(url, body) {
    const answer = await fetch(url, {
      method: "POST",
      credentials: "same-origin",
      redirect: "manual",
      headers: { "X-CSRFToken": this.token, "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(body),
    });
    if (answer.type === "opaqueredirect") throw Object.assign(new Error("You are signed out: sign in in another tab, then try again."), { signedOut: true });
    const text = await answer.text();
    let told = null;
    try { told = JSON.parse(text); } catch { /* a page, not our answer */ }
    if (!told) throw new Error(`The server answered ${answer.status}.`);
    return { status: answer.status, told };
  }

  // --- a draft in the browser, until the server has it -------------------------------------------

  keepDraft() {
    try {
      if (this.dirty) localStorage.setItem(this.draftKey, JSON.stringify({ version: this.version, document: this.history.doc }));
      else localStorage.removeItem(this.draftKey);
    } catch { /* private mode, or no room: the page itself still holds them */ }
  }

  draft() {
    try { return JSON.parse(localStorage.getItem(this.draftKey)); } catch { return null; }
  }

  // --- drawing: one request at a time, then the latest state -------------------------------------

  async draw() {
    if (this.drawing) { this.drawAgain = true; return; }
    this.drawing = true;
    do {
      this.drawAgain = false;
      const doc = this.history.doc;
      try {
        const { status, told } = await this.post(this.urls.draw, { document: doc, width: this.width(), mark: this.told ?? "" });
        if (status === 200) this.dispatchEvent(new CustomEvent("drawn", { detail: { ...told, doc } }));
        else this.tell("refused", told.error);
      } catch (fault) {
        if (!this.dirty) this.tell("offline", fault.signedOut ? fault.message : "The marks can't be drawn anew: no connection.");
      }
    } while (this.drawAgain);
    this.drawing = false;
  }

  // --- saving ------------------------------------------------------------------------------------

  saveSoon(after = REST) {
    clearTimeout(this.timer);
    if (!this.dirty) { this.tell("saved", "saved"); return; }
    this.tell("changed", "not saved yet");
    this.timer = setTimeout(() => this.save(), after);
  }

  save() {
    clearTimeout(this.timer);
    this.saving = (this.saving ?? Promise.resolve()).then(() => this.saveOnce());
    return this.saving;
  }

  async saveOnce() {
    // After a conflict the server has both; saving once more, as the page goes away, would write over the other's marks.
    if (this.leaving) return false;
    if (!this.dirty) return true;
    const doc = this.history.doc, sent = JSON.stringify(doc);
    this.tell("saving", "saving …");
    try {
      const { status, told } = await this.post(this.urls.save, { document: doc, base_version: this.version, what: this.what });
      if (status === 200) return this.kept(told, sent);
      if (status === 409) {
        if (JSON.stringify(this.history.doc) !== sent) return this.saveOnce();
        this.leaving = true;
        this.version = told.version;
        try { localStorage.removeItem(this.draftKey); } catch { /* nothing kept there */ }
        this.dispatchEvent(new CustomEvent("conflict", { detail: told }));
        return false;
      }
      this.tell("refused", told.error ?? `The server answered ${status}.`);
      if (status < 500) return false;
    } catch (fault) {
      const why = fault.signedOut ? fault.message : "no connection; the marks are kept in this page and tried again";
      this.tell("offline", `not saved: ${why}`);
    }
    this.timer = setTimeout(() => this.save(), 1000 * WAITS[Math.min(this.tries, WAITS.length - 1)]);
    this.tries += 1;
    return false;
  }

  kept(told, sent) {
    this.tries = 0;
    this.version = told.version;
    this.saved = sent;
    if (told.outcome === "merged") {
      const joined = rebased(JSON.parse(sent), this.history.doc, told.document);
      this.saved = JSON.stringify(told.document);
      this.history.replace(joined);
      this.tell("saved", "saved, joined with marks that somebody else drew meanwhile");
      this.draw();
    }
    this.keepDraft();
    if (this.dirty) this.saveSoon();
    else if (told.outcome !== "merged") this.tell("saved", "saved");
    return true;
  }

  // A state of an earlier visit, from the server.
  async step(which) {
    if (!(await this.save())) return false;
    const { told } = await this.post(this.urls[which], {});
    if (!told.moved) return false;
    this.version = told.version;
    this.saved = JSON.stringify(told.document);
    this.history.replace(told.document);
    this.draw();
    this.tell("saved", "saved");
    return true;
  }
}
