// The form of settings, made from what the server says of each option.
import { make, swatch } from "/static/ask.js";

let number = 0;

export class Form {
  // fields, palettes: as the server tells them; changed: called with all settings and the name of the one that changed.
  constructor(fields, palettes, changed) {
    this.fields = new Map(fields.map((field) => [field.name, { ...field }]));
    this.palettes = palettes;
    this.changed = changed;
    this.settings = {};
  }

  // Draw the first fields into one element, the others under their headings into another.
  draw(sentence, rest) {
    const headings = new Map();
    for (const field of this.fields.values()) {
      if (field.kind === "file") { this.fields.delete(field.name); continue; }  // it is chosen among the beads
      const drawn = this.#field(field);
      if (field.first) { sentence.append(drawn); continue; }
      if (!headings.has(field.heading)) headings.set(field.heading, [make("h3", {}, field.heading)]);
      headings.get(field.heading).push(drawn);
    }
    rest.append(...[...headings.values()].flat());
  }

  // Show other settings, but not in a field that is being written in, or is still to be mended.
  show(settings) {
    this.settings = settings;
    for (const field of this.fields.values()) {
      const isWritten = field.input === document.activeElement && field.input.value !== field.seen;
      if (!isWritten && !field.wrong.textContent) this.#put(field, settings[field.name]);
    }
  }

  // Forget what was wrong: something else is asked for now.
  forgive() {
    for (const field of this.fields.values()) {
      field.wrong.textContent = "";
      field.input?.removeAttribute("aria-invalid");
    }
  }

  // Say beside a field what is wrong with it, and what can be done; false when there is no such field.
  blame(name, words, ...answers) {
    const field = this.fields.get(name);
    if (!field) return false;
    field.wrong.replaceChildren(words, ...answers);
    field.input?.setAttribute("aria-invalid", "true");
    field.element.closest("details")?.setAttribute("open", "");
    return true;
  }

  #field(field) {
    const id = `field-${++number}`;
    field.wrong = make("span", { className: "wrong", id: `${id}-wrong` });
    field.wrong.setAttribute("role", "status");
    const hint = make("span", { className: "hint", id: `${id}-hint` }, field.hint);
    if (field.kind === "palette") return this.#palettes(field, id, hint);
    if (field.kind === "choice" && field.first) return this.#ways(field, id, hint);
    field.input = this.#input(field, id);
    field.input.setAttribute("aria-describedby", `${hint.id} ${field.wrong.id}`);
    field.input.addEventListener("change", () => this.#take(field));
    const label = make("label", { htmlFor: id }, field.label);
    if (field.kind === "flag") label.prepend(field.input);
    field.element = make("div", { className: `field ${field.kind}` }, label);
    if (field.kind !== "flag") field.element.append(field.input);
    if (field.list) field.element.append(field.list);
    field.element.append(hint, field.wrong);
    return field.element;
  }

  #input(field, id) {
    if (field.kind === "flag") return make("input", { type: "checkbox", id });
    if (field.kind === "choice") {
      const words = field.default ? field.words : ["", ...field.words];
      return make("select", { id }, ...words.map((word) => make("option", { value: word }, word || "as it comes")));
    }
    const input = make("input", { id, type: "text", autocomplete: "off", spellcheck: false });
    input.placeholder = field.placeholder;
    if (field.kind === "whole") input.inputMode = "numeric";
    if (field.kind === "number") input.inputMode = "decimal";
    if (field.words.length) {
      field.list = make("datalist", { id: `${id}-words` }, ...field.words.map((value) => make("option", { value })));
      input.setAttribute("list", field.list.id);
    }
    return input;
  }

  // Few words that matter: all of them in view, one click each.
  #ways(field, id, hint) {
    const box = make("div", { className: "ways" });
    field.radios = field.words.map((word) => {
      const radio = make("input", { type: "radio", name: id, value: word });
      radio.addEventListener("change", () => this.#take(field, word));
      box.append(make("label", {}, radio, make("span", {}, word)));
      return radio;
    });
    field.element = make("fieldset", { className: "field" }, make("legend", {}, field.label), box, hint, field.wrong);
    return field.element;
  }

  // Put other words to one of the ways.
  name(field, value, words) {
    const radio = this.fields.get(field)?.radios?.find((each) => each.value === value);
    if (radio) radio.nextSibling.textContent = words;
  }

  #palettes(field, id, hint) {
    field.said = hint;
    const box = make("div", { className: "palettes" });
    field.radios = this.palettes.map((palette) => {
      const radio = make("input", { type: "radio", name: id, value: palette.name });
      radio.addEventListener("change", () => this.#take(field, radio.value));
      const dots = make("span", { className: "dots" });
      dots.setAttribute("aria-hidden", "true");
      dots.append(...palette.beads.map(({ hex }) => swatch(hex, "dot")));
      box.append(make("label", {}, radio, `${palette.name}, ${palette.beads.length} colours`, dots));
      return radio;
    });
    field.element = make("fieldset", { className: "field" }, make("legend", {}, field.label), box, hint, field.wrong);
    return field.element;
  }

  #put(field, value) {
    if (field.radios) {
      for (const radio of field.radios) radio.checked = radio.value === (value ?? field.default);
      if (field.kind === "palette") field.said.textContent = `The colours that beads are taken from${value?.includes("/") ? `: ${value.split("/").pop()}, a file of yours` : ""}.`;
    } else if (field.kind === "flag") {
      field.input.checked = value === true;
    } else {
      const empty = field.kind === "choice" ? field.default : "";
      field.input.value = Array.isArray(value) ? value.join(", ") : value ?? empty;
      field.seen = field.input.value;
    }
  }

  // Read one field. A size is one way of saying it: another way gives way.
  #take(field, value = field.kind === "flag" ? field.input.checked : field.input.value.trim()) {
    const settings = { ...this.settings, [field.name]: value };
    if (value === "" || value === false) delete settings[field.name];
    else for (const other of OTHER_SIZES[field.name] ?? []) delete settings[other];
    field.seen = field.input?.value;
    this.settings = settings;  // another change may follow before the server has answered
    this.changed(settings, field.name);
  }
}

const OTHER_SIZES = {
  width: ["size", "boards", "mm"], height: ["size", "boards", "mm"],
  size: ["width", "height", "boards", "mm"], boards: ["width", "height", "size", "mm"],
  mm: ["width", "height", "size", "boards"],
};
