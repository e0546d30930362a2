// The description: a plain text with the numbers of its lines, what is wrong with it, and the files that it names.
import { ask, at, make } from "/static/ask.js";

const PAUSE_MS = 300;  // after the last key, until the drawing follows
const STRETCH_MS = 3000;  // between two saves of one stretch of typing
const LINE = 22;  // CSS pixels, as in the style
const PAD = 10;

export class Text {
  constructor(desk) {
    Object.assign(this, { desk, timer: 0, saved: null, last: 0, many: 0, wrong: 0, sending: 0 });
    this.area = at("text-area");
    this.area.addEventListener("input", () => this.#typed());
    this.area.addEventListener("blur", () => this.#save());
    this.area.addEventListener("scroll", () => this.#follow());
    at("text-go").addEventListener("click", () => this.#reach());
    at("add-files").addEventListener("change", (event) => { this.#add([...event.target.files]); event.target.value = ""; });
    at("description").href = `${desk.address}/description.zip`;
    addEventListener("dragover", (event) => event.preventDefault());
    addEventListener("drop", (event) => { event.preventDefault(); this.#add([...event.dataTransfer.files]); });
    addEventListener("pagehide", () => this.#leave());
  }

  get isUnsaved() {
    return this.timer !== 0 || this.sending > 0;
  }

  show(state) {
    if (!this.isUnsaved && this.area.value !== state.text) {
      const { selectionStart, scrollTop } = this.area;
      this.area.value = state.text;
      this.area.setSelectionRange(selectionStart, selectionStart);
      this.area.scrollTop = scrollTop;
    }
    if (!this.isUnsaved) this.saved = this.area.value;
    const { made, missing } = state;
    const error = made.state === "failed" ? made.error : null;
    this.wrong = Number(error?.line ?? 0);
    this.area.setAttribute("aria-invalid", error !== null);
    at("text-said").className = error ? "said" : "quiet";
    at("text-said").textContent = error ? error.words : { done: "Read and built.", stopped: "Stopped." }[made.state] ?? "Reading …";
    at("text-go").hidden = !this.wrong;
    at("text-go").textContent = `Go to line ${this.wrong}`;
    at("missing").hidden = !missing.length;
    at("missing-list").replaceChildren(...missing.map(({ name, line }) => make("li", {}, `${name} (line ${line})`)));
    at("files-said").textContent = state.files.length ? `Beside it: ${state.files.join(", ")}` : "";
    this.#numbers(true);
  }

  // After another tab saved: what was written here goes on top.
  again() {
    if (this.saved !== null && this.area.value !== this.desk.state().text) { this.timer = 1; this.#save(); }
  }

  #typed() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#save(), PAUSE_MS);
    this.#numbers();
  }

  async #save() {
    if (!this.timer) return;
    clearTimeout(this.timer);
    this.timer = 0;
    const text = this.area.value;
    if (text === this.desk.state().text && !this.sending) return;
    const joined = performance.now() - this.last < STRETCH_MS;
    this.last = performance.now();
    this.sending += 1;
    await this.desk.change("text", { text, joined }).finally(() => { this.sending -= 1; });
    if (!this.isUnsaved) this.show(this.desk.state());
  }

  // The page is closed: what was written last is sent without waiting for an answer.
  #leave() {
    if (!this.timer) return;
    const words = { text: this.area.value, joined: false, version: this.desk.state().version };
    navigator.sendBeacon(`${this.desk.address}/text`, JSON.stringify(words));
  }

  async #add(files) {
    for (const file of files) {
      if (/\.toml$/i.test(file.name)) {
        this.area.value = await file.text();
        this.#typed();
        continue;
      }
      try {
        at("files-said").textContent = `Adding ${file.name} …`;
        await ask(`${this.desk.address}/files?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });
      } catch (error) {
        at("trouble").textContent = error.message;
      }
    }
    if (files.length) await this.desk.look();
  }

  #numbers(anew = false) {
    const many = this.area.value.split("\n").length;
    if (many === this.many && !anew) return;
    this.many = many;
    const before = Math.min(this.wrong ? this.wrong - 1 : many, many);
    const line = (from, to) => Array.from({ length: Math.max(0, to - from) }, (_, i) => from + i + 1).join("\n");
    const numbers = at("text-numbers");
    numbers.replaceChildren(line(0, before) + (before && before < many ? "\n" : ""), ...(before < many ? [make("b", {}, `${before + 1}`), line(before + 1, many)] : []));
    this.#follow();
  }

  #follow() {
    at("text-numbers").scrollTop = this.area.scrollTop;
    const mark = at("text-mark");
    mark.hidden = !this.wrong;
    mark.style.transform = `translateY(${PAD + (this.wrong - 1) * LINE - this.area.scrollTop}px)`;
  }

  // Bring the line that is wrong into view, with the caret at its beginning.
  #reach() {
    const lines = this.area.value.split("\n").slice(0, this.wrong - 1);
    const start = lines.reduce((sum, each) => sum + each.length + 1, 0);
    this.area.focus();
    this.area.setSelectionRange(start, start);
    this.area.scrollTop = Math.max(0, (this.wrong - 4) * LINE);
    this.area.scrollLeft = 0;
  }
}
