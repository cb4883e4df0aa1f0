/* The whole band's spots: arrow keys move among them. The panel of one: its list narrows as one types, and the page stays where it was after an action. */
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

  /* One stop of the tab key for all spots; arrow keys go to the nearest in their direction. */
  const cells = [...document.querySelectorAll(".matrix a, .dot-links a")];
  const enter = (cell) => { for (const one of cells) one.tabIndex = one === cell ? 0 : -1; };
  if (cells.length) enter(cells[0]);
  const middle = (cell) => { const box = cell.getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]; };
  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const towards = (from, [right, down]) => {
    const [x, y] = middle(from);
    let best = null, least = Infinity;
    for (const cell of cells) {
      const [dx, dy] = middle(cell).map((at, axis) => at - [x, y][axis]), ahead = dx * right + dy * down, aside = Math.abs(dx * down) + Math.abs(dy * right);
      if (ahead > 1 && ahead + 3 * aside < least) { best = cell; least = ahead + 3 * aside; }
    }
    return best;
  };
  addEventListener("keydown", (event) => {
    const here = event.target.closest?.(".matrix a, .dot-links a"), to = here && WAYS[event.key] && towards(here, WAYS[event.key]);
    if (to) { event.preventDefault(); enter(to); to.focus(); }
    if (event.key === "Escape" && panel.contains(event.target)) close();
    if (event.target.matches?.("#panel h2") && /^Arrow(Left|Right)$/.test(event.key)) { event.preventDefault(); step(event.key === "ArrowLeft" ? -1 : 1); }
  });
  /* In the panel: the spot before or after, in the order of the ranks; closed, it shows what it showed at first. */
  const first = panel.innerHTML;
  const chosen = () => cells.findIndex((cell) => cell.hasAttribute("aria-current"));
  const step = (by) => cells.at((chosen() + by) % cells.length)?.click();
  const close = () => {
    const cell = cells[chosen()];
    cell?.removeAttribute("aria-current");
    panel.innerHTML = first;
    htmx.process(panel);
    cell?.focus();
  };
  /* A spot opens in the panel; with another button or key it opens as any link does. */
  document.addEventListener("click", (event) => {
    const link = event.target.closest(".matrix a, .dot-links a, .looks a");
    if (!link || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    htmx.ajax("GET", link.getAttribute("href"), { source: link, target: panel, select: "#seat", swap: "innerHTML show:none" });
  });
  panel.addEventListener("click", ({ target }) => {
    const by = target.closest("[data-step]");
    if (by) step(Number(by.dataset.step));
    if (target.closest("[data-close]")) close();
  });

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
    for (const cell of cells) {
      if (cell.getAttribute("href") === here) { cell.setAttribute("aria-current", "true"); enter(cell); } else cell.removeAttribute("aria-current");
    }
    panel.scrollTop = 0;
    if (stays) scrollTo(0, stays.y);
    const heading = panel.querySelector("h2"), at = heading?.getBoundingClientRect();
    if (at && (at.top < 0 || at.bottom > innerHeight)) heading.scrollIntoView({ block: "center" });
    stays = null;
  });
})();
