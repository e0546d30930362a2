// The pack of a figure: made when it is asked for, its files to be saved.
import { at, make } from "/static/ask.js";

const WHAT = { "sheets.pdf": "Sheets to print", "follow.html": "Follow bead by bead", "parts.png": "Each part, its plates", "steps.png": "Steps", "counts.csv": "Counts", "assembled.png": "Together", "exploded.png": "Parts pulled apart", "figure.glb": "To turn in a viewer" };

export class Pack {
  constructor(desk) {
    this.desk = desk;
    at("make-pack").addEventListener("click", () => desk.change("pack"));
    at("paper").addEventListener("change", () => desk.change("choose", { paper: at("paper").value }));
  }

  open() {
    this.isOpen = true;
    this.show(this.desk.state(), this.desk.facts());
  }

  close() {
    this.isOpen = false;
  }

  show(state, facts) {
    const { pack, made } = state;
    at("paper").value = state.paper;
    at("command").textContent = state.command;
    at("make-pack").disabled = made.state !== "done" || ["waiting", "working", "done"].includes(pack.state);
    at("pack-said").className = pack.state === "failed" ? "said" : "quiet";
    at("pack-said").textContent = pack.state === "failed" ? pack.error.words
      : made.state === "failed" ? "Mend its text first; a pack is made of what could be built."
      : { waiting: "It waits its turn.", working: "Drawing the sheets …", done: "It is made." }[pack.state] ?? "";
    at("pack-files").replaceChildren(...sorted(pack.files ?? []).map((name) => make("a", this.link(name, pack.key), WHAT[name] ?? `All of it: ${name}`)));
    if (this.isOpen && facts) {
      const src = `${this.desk.address}/made/${facts.key}/exploded.png`;
      if (at("pack-apart").getAttribute("src") !== src) at("pack-apart").src = src;
      at("pack-apart").hidden = false;
    }
  }

  // The page to follow opens; all else is saved.
  link(name, key) {
    const link = { className: "button", href: `${this.desk.address}/packs/${key}/${encodeURIComponent(name)}` };
    return name !== "follow.html" ? link : { ...link, href: `/f/${this.desk.project}/follow/${key}`, target: "_blank", rel: "noopener" };
  }

  making({ share, stage }) {
    at("pack-said").textContent = stage ? `${stage}, ${Math.round(100 * share)} %` : "Drawing the sheets …";
  }
}

// The whole first, then what is used first.
function sorted(names) {
  const order = Object.keys(WHAT);
  return [...names].sort((one, other) => order.indexOf(one) - order.indexOf(other));
}
