// What is taken to the craft table: the pack.
import { make } from "/static/ask.js";

const at = (id) => document.getElementById(id);

export class Sheets {
  constructor(desk) {
    this.desk = desk;
    at("make-pack").addEventListener("click", () => desk.change("pack"));
  }

  open() {}
  close() {}

  show({ pack, hand }) {
    const busy = pack.state === "waiting" || pack.state === "working";
    at("make-pack").disabled = busy || !hand.facts;
    at("make-pack").textContent = pack.state === "done" ? "Make it anew" : "Make the pack";
    at("pack-said").textContent = pack.state === "failed" ? pack.error.words
      : busy ? `${pack.stage || "waits its turn"} …` : !hand.facts ? "The plate has to be ready first." : "";
    at("pack-said").className = pack.state === "failed" ? "said" : "";
    const files = pack.state === "done" ? pack.files : [];
    const seen = files.length ? pack.key : "";
    if (at("pack-files").dataset.seen === seen) return;  // a link is not to be taken from under a hand
    at("pack-files").dataset.seen = seen;
    at("pack-files").replaceChildren(...files.map((name) => make("li", {}, make("a",
      { className: "button", href: `${this.desk.address}/packs/${pack.key}/${encodeURIComponent(name)}`, download: name },
      name.endsWith(".zip") ? `All of it: ${name}` : name))));
  }
}
