/* Small comforts; every page works without them. */
(() => {
  const root = document.documentElement;
  if (localStorage.getItem("light") === "sun") root.dataset.light = "sun";
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-sunlight]")) {
      const on = root.dataset.light !== "sun";
      if (on) root.dataset.light = "sun"; else delete root.dataset.light;
      localStorage.setItem("light", on ? "sun" : "");
    }
    if (event.target.closest("[data-print]")) window.print();
  });
  document.addEventListener("htmx:afterSwap", (event) => {
    const heading = event.detail.target.querySelector("h2[tabindex]");
    if (heading) heading.focus({ preventScroll: window.innerWidth > 1100 });
  });
  /* Said where it was tapped. */
  const failed = Object.assign(document.createElement("p"), { className: "note bad", role: "alert" });
  for (const kind of ["response", "send"]) addEventListener(`htmx:${kind}Error`, ({ detail: { elt, xhr } }) => {
    failed.textContent = xhr.status ? `Not done (${xhr.status}): load the page again.` : "No answer came: try again.";
    elt.after(failed);
  });
})();
