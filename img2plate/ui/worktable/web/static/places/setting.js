// One setting beside the work that it concerns, with the words and hint of its option.
import { make } from "/static/ask.js";

export class Setting {
  // desk; name: of the field; label: what it is called here, if not as its option; others: settings
  // that make no sense any more when this one changes.
  constructor(desk, name, label, others = []) {
    const field = desk.fields.find((each) => each.name === name);
    Object.assign(this, { desk, name, field, others });
    const id = `here-${name}`;
    this.input = field.kind === "choice" ? make("select", { id }, ...field.words.map((word) => make("option", { value: word }, word)))
      : make("input", { id, type: "text", autocomplete: "off", spellcheck: false, placeholder: field.placeholder });
    if (field.kind === "whole") this.input.inputMode = "numeric";
    this.wrong = make("span", { className: "wrong", id: `${id}-wrong` });
    this.wrong.setAttribute("role", "status");
    const hint = make("span", { className: "hint", id: `${id}-hint` }, field.hint);
    this.input.setAttribute("aria-describedby", `${hint.id} ${this.wrong.id}`);
    this.input.addEventListener("change", () => this.#take());
    this.element = make("div", { className: "field" }, make("label", { htmlFor: id }, label ?? field.label), this.input, hint, this.wrong);
  }

  show(settings) {
    if (this.input === document.activeElement && this.input.value !== this.seen) return;
    this.input.value = settings[this.name] ?? (this.field.kind === "choice" ? this.field.default : "");
    this.seen = this.input.value;
  }

  // Say what is wrong with it.
  blame(words) {
    this.wrong.textContent = words;
    this.input.toggleAttribute("aria-invalid", Boolean(words));
  }

  #take() {
    this.blame("");
    this.seen = this.input.value;
    const kept = this.others.reduce((all, name) => withSetting(all, name, ""), this.desk.state().settings);
    this.desk.change("settings", { settings: withSetting(kept, this.name, this.input.value.trim()) });
  }
}

// Settings with one of them changed; an empty one is left out.
export function withSetting(settings, name, value) {
  const changed = { ...settings, [name]: value };
  if (value === "") delete changed[name];
  return changed;
}
