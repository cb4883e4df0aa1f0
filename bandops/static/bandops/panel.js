/* The panel of a spot: its list narrows as one types, and the page stays where it was after an action. */
(() => {
  const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().trim();
  const panel = document.getElementById("panel"), KEY = "panel";

  const ready = (part) => { for (const field of part.querySelectorAll("[data-narrow]")) field.hidden = false; };
  ready(document);
  document.addEventListener("input", (event) => {
    const box = event.target.closest("[data-narrow]")?.closest(".who-others");
    if (!box) return;
    const words = plain(event.target.value), names = box.querySelectorAll("li[data-name]");
    let found = 0;
    for (const line of names) {
      line.hidden = !plain(line.dataset.name).includes(words);
      found += line.hidden ? 0 : 1;
    }
    if (words) box.querySelector("details").open = true;
    box.querySelector("[role=status]").textContent = words ? `${found} of ${names.length} shown` : "";
  });
  if (!panel) return;

  document.addEventListener("submit", (event) => {
    if (panel.contains(event.target)) sessionStorage.setItem(KEY, JSON.stringify({ path: location.pathname, y: scrollY }));
  });
  let stays = null;
  try { stays = JSON.parse(sessionStorage.getItem(KEY)); } catch { /* nothing to go back to */ }
  sessionStorage.removeItem(KEY);
  if (stays?.path !== location.pathname || !panel.dataset.spot) stays = null;
  /* What was done is said at the top, which may be out of sight here. */
  if (stays) document.getElementById("messages").classList.add("near");
  if (stays) scrollTo(0, stays.y);

  document.addEventListener("htmx:afterSwap", ({ detail: { target } }) => {
    if (target !== panel) return;
    ready(panel);
    const here = panel.querySelector("[data-spot-page]")?.dataset.spotPage;
    for (const cell of document.querySelectorAll(".cells a")) {
      if (cell.getAttribute("href") === here) cell.setAttribute("aria-current", "true"); else cell.removeAttribute("aria-current");
    }
    panel.scrollTop = 0;
    if (stays) scrollTo(0, stays.y);
    stays = null;
  });
})();
