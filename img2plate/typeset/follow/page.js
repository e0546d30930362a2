"use strict";
// State is small and flat: which tile, row and colour are looked at, and for each tile the set of
// "row:colour" pairs that are placed. A row of a tile is done when all its colours are.
const plate = JSON.parse(document.getElementById("plate").textContent);
const [WIDTH] = plate.size;
const bytes = Uint8Array.from(atob(plate.cells), (c) => c.charCodeAt(0));
const cells = new Uint16Array(bytes.buffer); // 0: no bead, else 1 + index into plate.colours
const STORE = "img2plate:" + plate.key;
const $ = (id) => document.getElementById(id);
const tiles = plate.tiles.map(([name, x, y, w, h]) => {
  const tile = { name, x, y, w, h, beads: 0, counts: new Map(), rows: [] };
  for (let r = 0; r < h; r++) {
    const row = new Map();
    for (let c = 0; c < w; c++) {
      const bead = cells[(y + r) * WIDTH + x + c];
      if (!bead) continue;
      row.set(bead, (row.get(bead) || 0) + 1);
      tile.counts.set(bead, (tile.counts.get(bead) || 0) + 1);
      tile.beads++;
    }
    tile.rows.push(row);
  }
  return tile;
});
const total = tiles.reduce((sum, tile) => sum + tile.beads, 0);
let at = { tile: 0, row: 0, colour: 0 };
let done = tiles.map(() => new Set());

const pair = (row, colour) => row + ":" + colour;
function placed(number, colour) {
  let beads = 0;
  for (const key of done[number]) {
    const [row, bead] = key.split(":").map(Number);
    if (!colour || bead === colour) beads += tiles[number].rows[row]?.get(bead) || 0;
  }
  return beads;
}
function rowDone(row) {
  const wanted = at.colour ? [at.colour] : [...tiles[at.tile].rows[row].keys()];
  return wanted.every((colour) => done[at.tile].has(pair(row, colour)) || !tiles[at.tile].rows[row].has(colour));
}

function asText() {
  return JSON.stringify({ plate: plate.key, at, done: Object.fromEntries(done.map((set, i) => [tiles[i].name, [...set]])) });
}
function take(text) {
  const saved = JSON.parse(text);
  if (saved.plate !== plate.key) throw new Error("That file belongs to another plate.");
  done = tiles.map((tile) => new Set((saved.done[tile.name] || []).filter((key) => /^\d+:\d+$/.test(key))));
  if (tiles[saved.at?.tile]) at = { tile: saved.at.tile, row: saved.at.row | 0, colour: saved.at.colour | 0 };
  at.row = Math.min(at.row, tiles[at.tile].h - 1);
}
function keep() {
  try { localStorage.setItem(STORE, asText()); }
  catch { say("This browser keeps nothing for local files: save your progress to a file."); }
}
const say = (text) => { $("said").textContent = text; };

function textOn(hex) {
  const light = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255)
    .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
  return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2] > 0.1791 ? "#000000" : "#ffffff";
}
function draw() {
  const tile = tiles[at.tile], canvas = $("board"), css = getComputedStyle(document.documentElement);
  const cell = Math.max(16, Math.min(44, Math.floor((canvas.clientWidth * devicePixelRatio) / (tile.w + 2))));
  canvas.width = cell * (tile.w + 2);
  canvas.height = cell * (tile.h + 2);
  const pen = canvas.getContext("2d"), ink = css.getPropertyValue("--ink"), quiet = css.getPropertyValue("--quiet");
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.font = `${Math.round(cell * 0.5)}px Hyperlegible, sans-serif`;
  pen.fillStyle = quiet;
  for (let c = 0; c < tile.w; c++) {
    if ((tile.x + c + 1) % 5 === 0 || tile.w < 5) {
      pen.fillText(tile.x + c + 1, cell * (c + 1.5), cell * 0.5);
      pen.fillText(tile.x + c + 1, cell * (c + 1.5), cell * (tile.h + 1.5));
    }
  }
  for (let r = 0; r < tile.h; r++) {
    if ((tile.y + r + 1) % 5 === 0 || r === at.row || tile.h < 5) {
      pen.fillStyle = r === at.row ? ink : quiet;
      pen.fillText(tile.y + r + 1, cell * 0.5, cell * (r + 1.5));
      pen.fillText(tile.y + r + 1, cell * (tile.w + 1.5), cell * (r + 1.5));
    }
    for (let c = 0; c < tile.w; c++) drawBead(pen, tile, r, c, cell);
  }
  pen.strokeStyle = css.getPropertyValue("--accent");
  pen.lineWidth = Math.max(2, cell / 9);
  pen.strokeRect(cell, cell * (at.row + 1), cell * tile.w, cell);
}
function drawBead(pen, tile, r, c, cell) {
  const bead = cells[(tile.y + r) * WIDTH + tile.x + c], x = cell * (c + 1.5), y = cell * (r + 1.5);
  pen.globalAlpha = 1;
  if (!bead) {
    pen.fillStyle = "#8a979d";
    pen.beginPath(); pen.arc(x, y, cell * 0.07, 0, 7); pen.fill();
    return;
  }
  const [hex, , , symbol] = plate.colours[bead - 1], lit = !at.colour || at.colour === bead;
  pen.globalAlpha = lit ? 1 : 0.13;
  pen.fillStyle = hex;
  pen.beginPath(); pen.arc(x, y, cell * 0.47, 0, 7); pen.fill();
  if (done[at.tile].has(pair(r, bead))) {
    pen.strokeStyle = textOn(hex);
    pen.lineWidth = cell / 10;
    pen.beginPath(); pen.moveTo(x - cell * 0.2, y); pen.lineTo(x - cell * 0.04, y + cell * 0.17); pen.lineTo(x + cell * 0.22, y - cell * 0.17); pen.stroke();
  } else if (lit) {
    pen.fillStyle = textOn(hex);
    pen.font = `700 ${Math.round(cell * (symbol.length > 1 ? 0.44 : 0.6))}px Hyperlegible, sans-serif`;
    pen.fillText(symbol, x, y + cell * 0.03);
  }
  pen.font = `${Math.round(cell * 0.5)}px Hyperlegible, sans-serif`;
  pen.globalAlpha = 1;
}

function hours(beads) {
  const minutes = Math.round((beads * plate.secondsPerBead) / 60);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
function show() {
  const tile = tiles[at.tile], here = placed(at.tile);
  const all = done.reduce((sum, _, i) => sum + placed(i), 0), part = total ? (100 * all) / total : 0;
  $("far").textContent = `${all.toLocaleString("en")} of ${total.toLocaleString("en")} beads placed, about ${hours(total - all)} left`;
  $("bar").style.width = part + "%";
  $("bar").parentNode.setAttribute("aria-valuenow", Math.round(part));
  $("tile-name").textContent = tile.name;
  $("tile-far").textContent = `columns ${tile.x + 1} to ${tile.x + tile.w}, rows ${tile.y + 1} to ${tile.y + tile.h}: ${here} of ${tile.beads} beads`;
  const row = tile.rows[at.row], bead = at.colour;
  const some = bead ? row.get(bead) || 0 : [...row.values()].reduce((a, b) => a + b, 0);
  const what = bead ? plate.colours[bead - 1][2] : "all colours";
  $("row-text").textContent = `Row ${tile.y + at.row + 1}: ${some} ${some === 1 ? "bead" : "beads"}, ${what}`;
  $("tick").textContent = rowDone(at.row) && some ? "Row is placed: take the tick back" : "Tick this row";
  showColours(tile);
  for (const button of $("map").children) {
    const number = Number(button.dataset.tile);
    button.setAttribute("aria-pressed", number === at.tile);
    const share = tiles[number].beads ? Math.floor((100 * placed(number)) / tiles[number].beads) : 100;
    button.lastChild.textContent = share + " %";
  }
  draw();
}
function colourButton(bead, title, symbol, hex, name, left) {
  const button = document.createElement("button");
  button.dataset.colour = bead;
  button.setAttribute("aria-pressed", at.colour === bead);
  const dot = document.createElement("span");
  dot.className = "bead";
  dot.textContent = symbol;
  if (hex) { dot.style.background = hex; dot.style.color = textOn(hex); }
  const label = document.createElement("span");
  label.className = "name";
  label.textContent = name;
  const count = document.createElement("span");
  count.className = "left";
  count.textContent = left;
  button.title = title;
  button.append(dot, label, count);
  button.onclick = () => { at.colour = at.colour === bead ? 0 : bead; toFirstOpenRow(); change(); };
  return button;
}
function showColours(tile) {
  const focused = document.activeElement?.dataset?.colour;
  const buttons = [colourButton(0, "Show all colours", "", "", "all colours", tile.beads - placed(at.tile) + " left")];
  for (const bead of order(tile)) {
    const [hex, code, name, symbol] = plate.colours[bead - 1], left = tile.counts.get(bead) - placed(at.tile, bead);
    const button = colourButton(bead, code, symbol, hex, name, left ? left + " left" : "done");
    button.classList.toggle("done", !left);
    buttons.push(button);
  }
  $("colours").replaceChildren(...buttons);
  if (focused !== undefined) $("colours").querySelector(`[data-colour="${focused}"]`)?.focus();
}
const order = (tile) => [...tile.counts.keys()].sort((a, b) => tile.counts.get(b) - tile.counts.get(a) || a - b);
function toFirstOpenRow() {
  const tile = tiles[at.tile];
  for (let r = 0; r < tile.h; r++) {
    const has = at.colour ? tile.rows[r].has(at.colour) : tile.rows[r].size;
    if (has && !rowDone(r)) { at.row = r; return; }
  }
}
function change() { keep(); show(); }

function tick() {
  const row = tiles[at.tile].rows[at.row], wanted = at.colour ? [at.colour] : [...row.keys()], back = rowDone(at.row);
  for (const colour of wanted) {
    if (!row.has(colour)) continue;
    if (back) done[at.tile].delete(pair(at.row, colour));
    else done[at.tile].add(pair(at.row, colour));
  }
  if (!back) {
    const here = at.row;
    while (at.row < tiles[at.tile].h - 1 && rowDone(at.row)) at.row++;
    if (rowDone(at.row)) at.row = here;
  }
  change();
}
function walk(step) { at.row = Math.max(0, Math.min(tiles[at.tile].h - 1, at.row + step)); change(); }
function walkColours(step) {
  const list = [0, ...order(tiles[at.tile])], place = list.indexOf(at.colour);
  at.colour = list[(place + step + list.length) % list.length];
  toFirstOpenRow();
  change();
}
function goTo(number) {
  at = { tile: number, row: 0, colour: tiles[number].counts.has(at.colour) ? at.colour : 0 };
  toFirstOpenRow();
  change();
}

$("map").style.gridTemplateColumns = `repeat(${plate.map[0]}, minmax(56px, 96px))`;
tiles.forEach((tile, number) => {
  const button = document.createElement("button");
  button.dataset.tile = number;
  button.append(tile.name, document.createElement("small"));
  button.onclick = () => goTo(number);
  $("map").append(button);
});
$("up").onclick = () => walk(-1);
$("down").onclick = () => walk(1);
$("tick").onclick = tick;
$("board").onclick = (event) => {
  const box = $("board").getBoundingClientRect(), tile = tiles[at.tile];
  // The picture may be letterboxed by object-fit: measure it as it is shown.
  const scale = Math.min(box.width / $("board").width, box.height / $("board").height);
  const cell = ($("board").width / (tile.w + 2)) * scale;
  const left = box.left + (box.width - $("board").width * scale) / 2, top = box.top + (box.height - $("board").height * scale) / 2;
  const c = Math.floor((event.clientX - left) / cell) - 1, r = Math.floor((event.clientY - top) / cell) - 1;
  if (r < 0 || r >= tile.h) return;
  at.row = r;
  const bead = c >= 0 && c < tile.w ? cells[(tile.y + r) * WIDTH + tile.x + c] : 0;
  if (bead) at.colour = at.colour === bead ? 0 : bead;
  change();
};
$("restart").onclick = () => {
  if (!confirm(`Forget all ticks of board ${tiles[at.tile].name}?`)) return;
  done[at.tile].clear();
  toFirstOpenRow();
  change();
};
$("save").onclick = () => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([asText()], { type: "application/json" }));
  link.download = plate.name.replace(/[^\w.-]+/g, "-") + "-progress.json";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
};
$("load").onchange = async (event) => {
  try { take(await event.target.files[0].text()); change(); say("Progress loaded."); }
  catch (error) { say("Not loaded: " + error.message); }
  event.target.value = "";
};
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const onButton = event.target.matches?.("button, input");
  const keys = {
    ArrowUp: () => walk(-1), ArrowDown: () => walk(1),
    ArrowLeft: () => walkColours(-1), ArrowRight: () => walkColours(1),
    Escape: () => { at.colour = 0; change(); },
    ...(onButton ? {} : { " ": tick }),
  };
  if (keys[event.key]) { event.preventDefault(); keys[event.key](); }
});
let lock = null;
if ("wakeLock" in navigator) {
  $("awake").hidden = false;
  const wake = async () => {
    try { lock = await navigator.wakeLock.request("screen"); $("awake").setAttribute("aria-pressed", "true"); }
    catch { lock = null; say("This device does not let a page keep the screen on."); }
  };
  $("awake").onclick = async () => {
    if (lock) { await lock.release(); lock = null; $("awake").setAttribute("aria-pressed", "false"); }
    else await wake();
  };
  document.addEventListener("visibilitychange", () => { if (lock && document.visibilityState === "visible") wake(); });
}
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
addEventListener("resize", draw);
try {
  const saved = localStorage.getItem(STORE);
  if (saved) take(saved); else toFirstOpenRow();
} catch { toFirstOpenRow(); }
document.fonts?.ready.then(draw);
show();
