// All pages of a pack's sheets at true scale; Print waits until every one is there.
import { ask, make } from "/static/ask.js";

const [, , project, , key] = location.pathname.split("/");
const address = `/api/projects/${project}/packs/${key}/pages`;
const said = document.getElementById("said");
const print = document.getElementById("print");

// How large each page is on paper; a page's style may not be written into it, so it is set here.
function lay(sizes) {
  const rules = sizes.map(([wide, high], size) => `
    @page size-${size} { size: ${wide}mm ${high}mm; margin: 0; }
    .size-${size} { page: size-${size}; width: ${wide}mm; }
    @media print { .size-${size} { height: ${high}mm; } }`);
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(rules.join("\n"));
  document.adoptedStyleSheets = [sheet];
}

async function show() {
  const pages = await ask(address);
  const sizes = [...new Set(pages.map(({ mm }) => mm.join()))];
  lay(sizes.map((size) => size.split(",")));
  document.getElementById("title").textContent = `${pages.length} sheets to print`;
  const leaves = pages.map(({ mm, words }, place) => make("img", {
    className: `leaf size-${sizes.indexOf(mm.join())}`, alt: `Page ${place + 1}: ${words}`,
  }));
  document.getElementById("leaves").append(...leaves);
  let ready = 0;
  for (const [place, leaf] of leaves.entries()) {  // one after the other: the first is seen soonest
    leaf.src = `${address}/${place + 1}/print.png`;
    await leaf.decode();
    ready += 1;
    said.textContent = ready < leaves.length ? `${ready} of ${leaves.length} pages are ready …` : "All pages are ready.";
  }
  print.disabled = false;
}

print.addEventListener("click", () => window.print());
try { await show(); } catch (error) { said.className = "said"; said.textContent = error.message; }
