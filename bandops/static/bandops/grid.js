/* A grid of cells to type into: Enter and the arrows go down and up, the way a sheet is read. */
(() => {
  const grid = document.querySelector("[data-grid]");
  if (!grid) return;
  let isTyped = false;
  grid.addEventListener("keydown", (event) => {
    const by = { Enter: event.shiftKey ? -1 : 1, ArrowDown: 1, ArrowUp: -1 }[event.key], cell = event.target.closest("td, th");
    if (!by || !cell || !event.target.matches("input")) return;
    event.preventDefault();
    const row = cell.parentElement, next = by > 0 ? row.nextElementSibling : row.previousElementSibling;
    const to = next?.cells[cell.cellIndex]?.querySelector("input");
    if (to) { to.focus(); to.select(); }
  });
  grid.addEventListener("input", () => { isTyped = true; });
  grid.closest("form").addEventListener("submit", () => { isTyped = false; });
  /* Whoever has typed half a sheet is asked before it is left. */
  addEventListener("beforeunload", (event) => { if (isTyped) event.preventDefault(); });
  if (!document.querySelector("[role=alert]")) grid.querySelector("td input")?.focus();
})();
