/* A grid of cells to type into: Enter and the arrows go down and up, the way a sheet is read. */
document.querySelector("[data-grid]")?.addEventListener("keydown", (event) => {
  const by = { Enter: event.shiftKey ? -1 : 1, ArrowDown: 1, ArrowUp: -1 }[event.key], cell = event.target.closest("td, th");
  if (!by || !cell || !event.target.matches("input")) return;
  event.preventDefault();
  const row = cell.parentElement, next = by > 0 ? row.nextElementSibling : row.previousElementSibling;
  const to = next?.cells[cell.cellIndex]?.querySelector("input");
  if (to) { to.focus(); to.select(); }
});
