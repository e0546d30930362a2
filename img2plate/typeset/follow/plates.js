"use strict";
// Stands after the page's own script on the page of a figure: which plate is built, and how far all are.
// Equal plates are one entry of the list, with ticks of their own for each.
const boardsOf = plates.map((own) => [...tiles.keys()].filter((number) => tiles[number].plate === own));
const beadsOf = boardsOf.map((boards) => boards.reduce((sum, number) => sum + tiles[number].beads, 0));
const placedOn = (own) => boardsOf[own].reduce((sum, number) => sum + placed(number), 0);
const isDone = (own) => placedOn(own) === beadsOf[own];
const groups = plates.flatMap((own, number) => (own.group[0] === number ? [own.group] : []));
const here = () => plates.indexOf(tiles[at.tile].plate);
const firstOpen = (own) => boardsOf[own].find((number) => tiles[number].beads && placed(number) < tiles[number].beads) ?? boardsOf[own].find((number) => tiles[number].beads);
const goToPlate = (own) => goTo(firstOpen(own));
const small = (text) => Object.assign(document.createElement("small"), { textContent: text });
const set = (element, text) => { if (element.textContent !== text) element.textContent = text; };

// A thin line round a plate's outline: a white one would not be seen on a light ground, nor a black one on a dark.
function rim(canvas) {
  const inside = canvas.cloneNode(), { width, height } = canvas;
  inside.getContext("2d").drawImage(canvas, 0, 0);
  canvas.width = width + 6;
  canvas.height = height + 6;
  const pen = canvas.getContext("2d");
  for (const [x, y] of [[0, 0], [6, 0], [0, 6], [6, 6], [3, 0], [3, 6], [0, 3], [6, 3]]) pen.drawImage(inside, x, y);
  pen.globalCompositeOperation = "source-in";
  pen.fillStyle = "#8a979d";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.globalCompositeOperation = "source-over";
  pen.drawImage(inside, 3, 3);
}
const entries = groups.map((group) => {
  const { number, title, press } = plates[group[0]], button = document.createElement("button");
  const picture = document.createElement("canvas"), words = document.createElement("span"), name = document.createElement("b");
  const step = Math.max(1, Math.floor(120 / Math.max(plates[group[0]].width, plates[group[0]].height)));
  drawSmall(picture, plates[group[0]], step);
  rim(picture);
  name.textContent = `${number} ${title}`;
  words.append(name, small([group.length > 1 ? `make ${group.length}` : "", `${press} mm`].filter(Boolean).join(", ")), small(""));
  button.append(picture, words);
  button.onclick = () => { goToPlate(group.find((own) => !isDone(own)) ?? group[0]); $("work").scrollIntoView({ block: "start" }); $("board").focus({ preventScroll: true }); };
  $("plates").append(button);
  return { group, button, far: words.lastChild };
});
function farOf(group) {
  const made = group.filter(isDone).length, beads = group.reduce((sum, own) => sum + placedOn(own), 0);
  if (made === group.length) return group.length > 1 ? `all ${made} placed` : "placed";
  const share = Math.floor((100 * beads) / group.reduce((sum, own) => sum + beadsOf[own], 0));
  return group.length > 1 ? `${made} of ${group.length} placed, ${share}%` : `${share}%`;
}
function showEntries(own) {
  for (const { group, button, far } of entries) {
    set(far, farOf(group));
    button.classList.toggle("done", group.every(isDone));
    button.setAttribute("aria-pressed", group.includes(own));
  }
}
// One of several equal plates: each has its number, under which steps and joints name it.
function showCopies(own) {
  const { group } = plates[own], kept = document.activeElement?.dataset?.copy;
  $("copies").hidden = group.length < 2;
  $("copies").replaceChildren(...(group.length < 2 ? [] : group.map((copy, place) => {
    const button = document.createElement("button");
    button.dataset.copy = copy;
    button.append(`${place + 1} of ${group.length}`, small(`plate ${plates[copy].number}${isDone(copy) ? ", placed" : ""}`));
    button.setAttribute("aria-pressed", copy === own);
    button.onclick = () => goToPlate(copy);
    return button;
  })));
  if (kept !== undefined) $("copies").querySelector(`[data-copy="${kept}"]`)?.focus();
}
const EDGES = { top: "on top", bottom: "below", left: "on the left", right: "on the right", inside: "inside", "": "" }; // no edge: an equal plate that lies turned
const sentence = (words) => `${words[0].toUpperCase()}${words.slice(1)}.`;
function jointWords({ joints }) {
  const words = Object.keys(EDGES).flatMap((edge) => {
    const met = joints.filter((joint) => joint[1] === edge).map(([letter, , other]) => `${letter} to plate ${other}`);
    return met.length ? [`${edge ? `${EDGES[edge]}: ` : ""}${met.join(", ")}`] : [];
  });
  return words.length ? sentence(words.join("; ")) : "None: no other plate meets it.";
}
function showAbout(tile, own) {
  const { title, press, side, number, board: sheet } = tile.plate;
  const board = boardsOf[own].length > 1 ? `, board ${tile.name.slice(number.length + 1)}` : "";
  set($("tile-name"), `${number} ${title}${board}`);
  set($("about"), `Press to ${press} mm${side}.${sheet ? ` It is on the sheet of board ${sheet}.` : ""}`);
  set($("joints"), jointWords(tile.plate));
  $("boards").hidden = $("map").hidden = boardsOf[own].length < 2;
}
// The next plate that is not done, after this one or before it; nothing when all others are done.
function walkPlates(step) {
  for (let far = 1; far < plates.length; far++) {
    const own = (here() + step * far + plates.length) % plates.length;
    if (!isDone(own)) { goToPlate(own); return; }
  }
}
shown = (tile) => {
  const own = here(), made = [...plates.keys()].filter(isDone).length;
  showAbout(tile, own);
  showCopies(own);
  showEntries(own);
  $("far").textContent += `; ${made} of ${plates.length} plates placed`;
  $("next").classList.toggle("main", isDone(own));
  const others = made - (isDone(own) ? 1 : 0);
  $("before").disabled = $("next").disabled = others === plates.length - 1;
};
mapButtons.forEach((button, number) => { button.firstChild.textContent = tiles[number].name.split(" ").pop(); });
if (plate.faceDown) $("way").textContent = "Mirrored: the front faces down on the board.";
$("before").onclick = () => walkPlates(-1);
$("next").onclick = () => walkPlates(1);
$("restart").onclick = () => {
  const own = here();
  if (confirm(`Clear all ticks of plate ${plates[own].number} ${plates[own].title}?`)) clear(boardsOf[own]);
};
$("clear").onclick = () => {
  if (confirm("Clear the ticks of all plates?")) clear([...tiles.keys()]);
};
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "n") walkPlates(1);
  if (event.key === "p") walkPlates(-1);
});
show();
