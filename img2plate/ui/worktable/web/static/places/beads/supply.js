// What is owned, what is missing, and what to buy.
import { at, make, many, swatch } from "/static/ask.js";

export class Supply {
  constructor(steps) {
    this.steps = steps;
    const wrong = at("stock-wrong");
    at("add-stock").addEventListener("change", async ({ target }) => {
      const word = await steps.send("stock", target.files[0], wrong);
      target.value = "";
      if (word) steps.change("owned", { word }, wrong);
    });
    at("keep-to").addEventListener("change", () => this.#keepTo(at("keep-to").checked));
    at("no-stock").addEventListener("click", () => steps.change("owned", { owned: {} }, wrong));
    at("add-bags").addEventListener("change", async ({ target }) => {
      const bag = await steps.send("bag", target.files[0], at("bag-wrong"));
      target.value = "";
      if (bag) this.#bags({ bag, bag_price: "" });
    });
    for (const [id, name] of [["bag-holds", "bag"], ["bag-costs", "bag_price"]]) {
      at(id).addEventListener("change", () => this.#bags({ [name]: at(id).value.trim() }));
    }
  }

  show(about, hand) {
    const { owned, keeps, files } = about;
    at("stock-said").textContent = owned
      ? `You own ${many(owned.beads, "bead")} in ${many(owned.colours, "colour")}; a colour without a number is not owned.`
      : "Write beside each colour how many beads you own, or add a stock file. Nothing is written yet: any number is at hand.";
    at("keep-to").checked = keeps;
    at("keep-to").disabled = !owned && !keeps;
    at("no-stock").hidden = !owned;
    const { bag = "", bag_price = "" } = this.steps.settings();
    put(at("bag-holds"), files.bag ? "" : bag);
    put(at("bag-costs"), bag_price);
    at("bag-said").textContent = files.bag ? `Bags are as ${nameOf(files.bag)} says.` : "";
    this.#say(about, hand);
    this.#links(files);
  }

  #say({ short, owned, keeps, spare, sold, beads }, hand) {
    const list = at("to-buy");
    list.classList.toggle("before", !short);
    if (!short) {
      const isOver = hand.state === "failed" || hand.state === "stopped";
      if (isOver) list.replaceChildren();
      at("buy-said").textContent = isOver ? "" : list.children.length ? "As it was; the plate is being made." : "The plate has to be ready first.";
      return;
    }
    const spares = `with ${spare} spare beads`;
    const bags = sold ? `, in ${many(short.bags, "bag")}${short.price === null ? "" : `, for ${short.price.toFixed(2)}`}` : "";
    if (!owned) {
      at("buy-said").textContent = `All that the plate takes: ${many(short.missing, "bead")} ${spares}${bags}.`;
    } else if (short.colours.length) {
      const why = keeps ? "The plate keeps to what you own; spare beads are missing: " : "";
      at("buy-said").textContent = `${why}${many(short.missing, "bead")} of ${many(short.colours.length, "colour")}, ${spares}${bags}.`;
    } else {
      at("buy-said").textContent = `You own all of it, ${spares}${keeps ? "; the plate keeps to what you own" : ""}.`;
    }
    const hex = new Map(beads.map((bead) => [bead.code, bead.hex]));
    list.replaceChildren(...(owned ? short.colours : []).map((line) => missing(line, hex.get(line.code), sold)));
  }

  // What a command line needs beside the picture, to be saved there.
  #links(files) {
    const words = [...new Set(Object.values(files))].filter((word) => !word.endsWith(".json"));
    at("beads-files").hidden = !words.length;
    at("beads-files-list").replaceChildren(...words.map((word) => make("li", {}, make("a",
      { href: `${this.steps.address}/files/${word.split("/").map(encodeURIComponent).join("/")}`, className: "button", download: nameOf(word) }, nameOf(word)))));
  }

  #keepTo(keeps) {
    this.steps.change("settings", () => {
      const { stock: _, stock_advice: advice, ...settings } = this.steps.settings();
      if (keeps) Object.assign(settings, { stock: settings.owned }, advice ? { stock_advice: advice } : {});
      return { settings };
    }, at("stock-wrong"));
  }

  #bags(changed) {
    this.steps.change("settings", () => {
      const settings = { ...this.steps.settings(), ...changed };
      if (!settings.bag) delete settings.bag_price;
      return { settings };
    }, at("bag-wrong"));
  }
}

function missing({ code, name, missing: count, owned, wanted, bags, price }, hex, sold) {
  const bead = swatch(hex);
  const cost = sold && bags ? `${many(bags, "bag")}${price === null ? "" : `, ${price.toFixed(2)}`}` : "";
  return make("li", {}, bead, make("span", { className: "name" }, make("b", {}, code), ` ${name}`),
    make("span", { className: "count" }, many(count, "bead")),
    make("span", { className: "quiet" }, `you own ${owned.toLocaleString("en")} of ${wanted.toLocaleString("en")}${cost ? `; ${cost}` : ""}`));
}

function put(input, value) {
  if (input !== document.activeElement || input.value === input.dataset.seen) input.value = value;
  input.dataset.seen = value;
}

function nameOf(word) {
  return word.split("/").pop();
}
